//! The crates we build on: each under a licence that lets Goldward be MIT, and none in two versions without need.
//!
//! Advisories are not looked up here: that needs a database from the network. `cargo deny check advisories` or `cargo audit`
//! do it where there is one.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

use serde_json::Value;

use crate::run::cargo;

/// Licences under which a crate may be linked into an MIT program: they ask for no more than a notice.
const LICENCES: &[&str] = &[
    "MIT",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "0BSD",
    "BSL-1.0",
    "CDLA-Permissive-2.0",
    "ISC",
    "Unicode-3.0",
    "Unlicense",
    "Zlib",
];

/// Crates that come in two versions, since crates we build on have not agreed on one yet.
const DOUBLED: &[&str] = &[
    "base64",
    "bitflags",
    "foldhash",
    "getrandom",
    "gimli",
    "hashbrown",
    "itertools",
    "kurbo",
    "miniz_oxide",
    "rand",
    "rand_chacha",
    "rand_core",
    "syn",
    "wasm-encoder",
    "wasmparser",
    "webpki-roots",
];

/// Looks through what is linked on this machine and adds what is wrong.
pub(crate) fn check(wrong: &mut Vec<String>) -> Result<(), String> {
    let version = Command::new("rustc").arg("-vV").output().map_err(|e| format!("rustc could not be started: {e}"))?;
    let version = String::from_utf8_lossy(&version.stdout).into_owned();
    let host = version.lines().find_map(|l| l.strip_prefix("host: ")).ok_or("rustc does not say its host")?;
    let output = cargo(&["metadata", "--format-version", "1", "--locked", "--filter-platform", host])
        .output()
        .map_err(|e| format!("cargo metadata could not be started: {e}"))?;
    if !output.status.success() {
        return Err(format!("cargo metadata failed: {}", String::from_utf8_lossy(&output.stderr)));
    }
    let metadata: Value =
        serde_json::from_slice(&output.stdout).map_err(|e| format!("cargo metadata is no JSON: {e}"))?;
    let empty = Vec::new();
    let list = |value: &Value| value.as_array().unwrap_or(&empty).clone();
    let used: BTreeSet<String> =
        list(&metadata["resolve"]["nodes"]).iter().filter_map(|n| n["id"].as_str().map(str::to_owned)).collect();
    let mut versions: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for package in list(&metadata["packages"]) {
        let text = |key: &str| package[key].as_str().unwrap_or_default().to_owned();
        if !used.contains(&text("id")) {
            continue;
        }
        if !allowed(&text("license")) {
            wrong.push(format!("{} {} is under {:?}", text("name"), text("version"), text("license")));
        }
        versions.entry(text("name")).or_default().insert(text("version"));
    }
    for (name, all) in versions.iter().filter(|(_, all)| all.len() > 1) {
        if !DOUBLED.contains(&name.as_str()) {
            let all: Vec<&str> = all.iter().map(String::as_str).collect();
            wrong.push(format!("{name} is built in {} versions: {}", all.len(), all.join(", ")));
        }
    }
    Ok(())
}

/// Whether an expression of licences (SPDX, or the older form with slashes) lets us take one of [`LICENCES`] for every part.
fn allowed(expression: &str) -> bool {
    let text = expression.replace('/', " OR ");
    let parts = split(&text, " AND ");
    if parts.len() > 1 {
        return parts.iter().all(|p| allowed(p));
    }
    let choices = split(&text, " OR ");
    if choices.len() > 1 {
        return choices.iter().any(|c| allowed(c));
    }
    let one = text.trim();
    match one.strip_prefix('(').and_then(|t| t.strip_suffix(')')) {
        Some(inner) => allowed(inner),
        None => LICENCES.contains(&one),
    }
}

/// Splits at `word` outside of parentheses.
fn split<'a>(text: &'a str, word: &str) -> Vec<&'a str> {
    let (mut depth, mut start, mut out) = (0_i32, 0, Vec::new());
    for (i, c) in text.char_indices() {
        depth += i32::from(c == '(') - i32::from(c == ')');
        if depth == 0 && i >= start && text[i..].starts_with(word) {
            out.push(&text[start..i]);
            start = i + word.len();
        }
    }
    out.push(&text[start..]);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_part_needs_one_choice_that_is_allowed() {
        for fine in
            ["MIT", "GPL-3.0 OR MIT", "MIT/Apache-2.0", "(MIT OR Apache-2.0) AND Unicode-3.0", "Apache-2.0 / MIT"]
        {
            assert!(allowed(fine), "{fine}");
        }
        for bad in ["", "GPL-3.0", "MIT AND GPL-3.0", "(GPL-2.0 OR AGPL-3.0) AND MIT", "AGPL-3.0-only"] {
            assert!(!allowed(bad), "{bad}");
        }
    }
}
