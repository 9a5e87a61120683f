//! The walls of the house: which crate may import which, what the pure crates never do, and what [`crate::circles`] and
//! [`crate::crates`] look for.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::run::{cargo, root};

/// Each crate with the crates of this workspace it may import.
const ALLOWED: &[(&str, &[&str])] = &[
    ("goldward-core", &[]),
    ("goldward-journal", &["goldward-core"]),
    ("goldward-session", &["goldward-journal", "goldward-core"]),
    ("goldward-report", &["goldward-session", "goldward-journal", "goldward-core"]),
    ("goldward-store", &["goldward-journal"]),
    ("goldward-server", &["goldward-store", "goldward-journal"]),
    ("goldward-web", &["goldward-report", "goldward-session", "goldward-journal", "goldward-core"]),
    (
        "goldward",
        &[
            "goldward-core",
            "goldward-journal",
            "goldward-session",
            "goldward-report",
            "goldward-store",
            "goldward-server",
        ],
    ),
    ("goldward-python", &["goldward-report", "goldward-session", "goldward-core"]),
    ("checks", &["goldward-core"]),
    // The texts of the languages become files of the app.
    ("xtask", &["goldward-report"]),
];

/// What the source of core, journal and session must not mention: the outside world, and numbers that change from run to run.
const NOT_IN_PURE: &[&str] = &[
    "std::fs",
    "std::net",
    "std::env",
    "std::io",
    "std::process",
    "std::thread",
    "SystemTime",
    "Instant",
    "println!",
    "rand::",
];

/// Checks both; an error lists every arrow that should not be there.
pub(crate) fn check() -> Result<(), String> {
    eprintln!("== arrows");
    let mut wrong = Vec::new();
    let output = cargo(&["metadata", "--no-deps", "--format-version", "1"])
        .output()
        .map_err(|e| format!("cargo metadata could not be started: {e}"))?;
    let metadata: Value =
        serde_json::from_slice(&output.stdout).map_err(|e| format!("cargo metadata is no JSON: {e}"))?;
    let empty = Vec::new();
    let packages = metadata["packages"].as_array().unwrap_or(&empty);
    for package in packages {
        let name = package["name"].as_str().unwrap_or_default();
        let Some((_, allowed)) = ALLOWED.iter().find(|(n, _)| *n == name) else {
            wrong.push(format!("{name} has no place in the table of xtask/src/arrows.rs"));
            continue;
        };
        for dependency in package["dependencies"].as_array().unwrap_or(&empty) {
            let imported = dependency["name"].as_str().unwrap_or_default();
            if ALLOWED.iter().any(|(n, _)| *n == imported) && !allowed.contains(&imported) {
                wrong.push(format!("{name} must not import {imported}"));
            }
        }
    }
    if packages.is_empty() {
        wrong.push("cargo metadata lists no packages".to_owned());
    }
    for name in ["core", "journal", "session", "report"] {
        look_through(name, &root().join("crates").join(name).join("src"), &mut wrong)?;
    }
    crate::circles::check(&mut wrong)?;
    crate::crates::check(&mut wrong)?;
    if wrong.is_empty() { Ok(()) } else { Err(format!("the architecture is broken:\n  {}", wrong.join("\n  "))) }
}

fn look_through(name: &str, folder: &Path, wrong: &mut Vec<String>) -> Result<(), String> {
    let cannot = |e| format!("cannot read {}: {e}", folder.display());
    for entry in fs::read_dir(folder).map_err(cannot)? {
        let path = entry.map_err(cannot)?.path();
        if path.is_dir() {
            look_through(name, &path, wrong)?;
        } else if path.extension().is_some_and(|e| e == "rs") {
            let text = fs::read_to_string(&path).map_err(|e| format!("cannot read {}: {e}", path.display()))?;
            for (number, line) in text.lines().enumerate() {
                let code = line.split("//").next().unwrap_or_default();
                for word in NOT_IN_PURE.iter().filter(|w| code.contains(**w)) {
                    wrong.push(format!("{}:{}: {name} must not use {word}", path.display(), number + 1));
                }
            }
        }
    }
    Ok(())
}
