//! No circle among the files of a crate: which modules import which, read from the source.
//!
//! Modules are compared with their siblings at every level: a folder with what lies in it counts as one at the level of the
//! folder. That a folder's `mod.rs` and its files know each other is no circle. Tests (`#[cfg(test)]`) are left out.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use crate::run::root;

type Module = Vec<String>;

/// Looks through all crates and adds what is wrong.
pub(crate) fn check(wrong: &mut Vec<String>) -> Result<(), String> {
    let crates = root().join("crates");
    let cannot = |e: std::io::Error| format!("cannot read {}: {e}", crates.display());
    let mut names: Vec<String> = Vec::new();
    for entry in fs::read_dir(&crates).map_err(cannot)? {
        names.push(entry.map_err(cannot)?.file_name().to_string_lossy().into_owned());
    }
    names.sort();
    for name in names {
        let source = crates.join(&name).join("src");
        if !source.is_dir() {
            continue;
        }
        let mut files = BTreeMap::new();
        read(&source, &mut Vec::new(), &mut files)?;
        for (folder, members) in circles(&files) {
            wrong.push(format!(
                "{name}: the modules {} {}import each other in a circle: move what two of them need into a file below both",
                members.join(", "),
                if folder.is_empty() { String::new() } else { format!("of {folder} ") }
            ));
        }
    }
    Ok(())
}

fn read(folder: &Path, at: &mut Module, files: &mut BTreeMap<Module, String>) -> Result<(), String> {
    let cannot = |e: std::io::Error| format!("cannot read {}: {e}", folder.display());
    for entry in fs::read_dir(folder).map_err(cannot)? {
        let path = entry.map_err(cannot)?.path();
        let stem = path.file_stem().unwrap_or_default().to_string_lossy().into_owned();
        if path.is_dir() {
            at.push(stem);
            read(&path, at, files)?;
            at.pop();
        } else if path.extension().is_some_and(|e| e == "rs") {
            let mut module = at.clone();
            if !["mod", "lib", "main"].contains(&stem.as_str()) {
                module.push(stem);
            }
            let text = fs::read_to_string(&path).map_err(|e| format!("cannot read {}: {e}", path.display()))?;
            files.entry(module).or_default().push_str(&text);
        }
    }
    Ok(())
}

/// The circles of a crate: the folder and the members of each.
fn circles(files: &BTreeMap<Module, String>) -> Vec<(String, Vec<String>)> {
    // For each folder, which of its members imports which.
    let mut levels: BTreeMap<Module, BTreeMap<String, BTreeSet<String>>> = BTreeMap::new();
    for (from, text) in files {
        for path in paths(text) {
            let Some(to) = target(from, &path, files) else { continue };
            let common = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
            if let (Some(a), Some(b)) = (from.get(common), to.get(common)) {
                let level = levels.entry(from[..common].to_vec()).or_default();
                level.entry(a.clone()).or_default().insert(b.clone());
            }
        }
    }
    let mut out = Vec::new();
    for (folder, graph) in levels {
        let reach: BTreeMap<&String, BTreeSet<&String>> = graph.keys().map(|m| (m, reachable(m, &graph))).collect();
        let mut done: BTreeSet<&String> = BTreeSet::new();
        for (member, far) in &reach {
            if !far.contains(*member) || done.contains(*member) {
                continue;
            }
            let circle: Vec<String> = reach
                .iter()
                .filter(|(other, back)| far.contains(**other) && back.contains(*member))
                .map(|(other, _)| (*other).clone())
                .collect();
            done.extend(reach.keys().filter(|m| circle.contains(m)));
            out.push((folder.join("::"), circle));
        }
    }
    out
}

fn reachable<'a>(from: &String, graph: &'a BTreeMap<String, BTreeSet<String>>) -> BTreeSet<&'a String> {
    let (mut seen, mut open) = (BTreeSet::new(), vec![from]);
    while let Some(next) = open.pop() {
        for to in graph.get(next).into_iter().flatten() {
            if seen.insert(to) {
                open.push(to);
            }
        }
    }
    seen
}

/// The module that a path of `from` leads to.
fn target(from: &Module, path: &str, files: &BTreeMap<Module, String>) -> Option<Module> {
    let mut parts = path.split("::").filter(|p| !p.is_empty()).peekable();
    let mut at = match parts.next()? {
        "crate" => Module::new(),
        "super" => from[..from.len().checked_sub(1)?].to_vec(),
        _ => from.clone(),
    };
    while parts.next_if_eq(&"super").is_some() {
        at.pop();
    }
    at.extend(parts.map(str::to_owned));
    while !files.contains_key(&at) {
        at.pop()?;
    }
    (at != *from).then_some(at)
}

/// Every path that begins with `crate`, `super` or `self`, braces opened.
fn paths(text: &str) -> Vec<String> {
    let text: String =
        text.split("#[cfg(test)]").next().unwrap_or_default().lines().fold(String::new(), |mut all, line| {
            all.push_str(line.split("//").next().unwrap_or_default());
            all.push('\n');
            all
        });
    let mut out = Vec::new();
    let mut rest = text.as_str();
    let starts = ["crate::", "super::", "self::"];
    while let Some(at) = starts.iter().filter_map(|s| rest.find(s)).min() {
        let whole_word = !rest[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_');
        let end = end_of_path(&rest[at..]);
        if whole_word {
            expand(&rest[at..at + end], &mut out);
        }
        rest = &rest[at + end.max(1)..];
    }
    out
}

fn end_of_path(text: &str) -> usize {
    let mut depth = 0_usize;
    for (i, c) in text.char_indices() {
        match c {
            '{' if depth > 0 || text[..i].ends_with("::") => depth += 1,
            '}' if depth > 0 => {
                depth -= 1;
                if depth == 0 {
                    return i + 1;
                }
            }
            _ if depth > 0 || c.is_alphanumeric() || c == '_' || c == ':' => {}
            _ => return i,
        }
    }
    text.len()
}

fn expand(path: &str, out: &mut Vec<String>) {
    let Some((before, inner)) = path.split_once('{') else {
        let plain = path.split(" as ").next().unwrap_or_default().trim();
        return out.push(plain.to_owned());
    };
    let inner = inner.strip_suffix('}').unwrap_or(inner);
    let (mut depth, mut start) = (0, 0);
    for (i, c) in inner.char_indices().chain([(inner.len(), ',')]) {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                if !inner[start..i].trim().is_empty() {
                    expand(&format!("{}{}", before.trim(), inner[start..i].trim()), out);
                }
                start = i + 1;
            }
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn files(all: &[(&str, &str)]) -> BTreeMap<Module, String> {
        let module = |name: &str| name.split("::").filter(|p| !p.is_empty()).map(str::to_owned).collect();
        all.iter().map(|(name, text)| (module(name), (*text).to_owned())).collect()
    }

    #[test]
    fn a_circle_is_found_at_every_level_and_parents_are_none() {
        let plain = files(&[("", "mod a; mod b;"), ("a", "use crate::b::B;"), ("b", "pub struct B;")]);
        assert!(circles(&plain).is_empty());
        let circle = files(&[
            ("", ""),
            ("a", "use crate::{b::{self, B}, c};"),
            ("b", "fn f() { crate::c::g() }"),
            ("c", "use super::a;"),
        ]);
        assert_eq!(circles(&circle), [(String::new(), vec!["a".to_owned(), "b".to_owned(), "c".to_owned()])]);
        let inner = files(&[
            ("", ""),
            ("m", "use x::X;"),
            ("m::x", "use super::y::Y;\nuse super::T;"),
            ("m::y", "use super::x;"),
        ]);
        assert_eq!(circles(&inner), [("m".to_owned(), vec!["x".to_owned(), "y".to_owned()])]);
    }

    #[test]
    fn comments_and_tests_do_not_import() {
        let quiet = files(&[
            ("", ""),
            ("a", "// use crate::b;\n#[cfg(test)]\nmod tests { use crate::b; }"),
            ("b", "use crate::a;"),
        ]);
        assert!(circles(&quiet).is_empty());
    }
}
