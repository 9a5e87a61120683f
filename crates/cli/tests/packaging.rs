//! What starts the program where it is installed: the words of the service and of the container are words it knows.

use std::path::PathBuf;

use clap::Parser as _;
use goldward::args::Cli;

fn packaging(name: &str) -> String {
    let path = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../packaging").join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn must_be_understood(words: &[&str]) {
    if let Err(e) = Cli::try_parse_from(std::iter::once("goldward").chain(words.iter().copied())) {
        panic!("{words:?}: {e}");
    }
}

#[test]
fn the_service_starts_what_there_is() {
    let (service, default) = (packaging("goldward.service"), packaging("default"));
    let start = service.lines().find_map(|l| l.strip_prefix("ExecStart=/usr/bin/goldward ")).unwrap();
    let db = service.lines().find_map(|l| l.strip_prefix("Environment=GOLDWARD_DB=")).unwrap();
    assert!(db.starts_with("/var/lib/goldward/") && service.contains("\nStateDirectory=goldward\n"), "{db}");
    let start = start.replace("${GOLDWARD_DB}", db);
    // As it is, and with each line that is offered.
    let offered = |key: &str| {
        let lines = default.lines().filter_map(|l| l.strip_prefix('#')?.trim().strip_prefix(key)?.strip_prefix('='));
        lines.map(|l| l.trim_matches('"').to_owned()).collect::<Vec<_>>()
    };
    let more: Vec<String> = std::iter::once(String::new()).chain(offered("GOLDWARD_ARGS")).collect();
    assert!(more.len() > 1 && offered("GOLDWARD_DB").len() == 1, "{default}");
    for more in more {
        let words = start.replace("$GOLDWARD_ARGS", &more);
        must_be_understood(&words.split_whitespace().collect::<Vec<_>>());
    }
}

#[test]
fn the_container_starts_what_there_is() {
    let recipe = packaging("Containerfile");
    let command = recipe.lines().find_map(|l| l.strip_prefix("CMD ")).unwrap();
    let words: Vec<String> = serde_json::from_str(command).unwrap();
    must_be_understood(&words.iter().map(String::as_str).collect::<Vec<_>>());
    let guide = include_str!("../../../docs/install.md");
    let mut told = 0;
    for line in guide.lines().filter(|l| l.trim_start().starts_with("docker run") && l.contains(" goldward ")) {
        let words = line.rsplit_once(" goldward ").unwrap().1.split(" < ").next().unwrap();
        must_be_understood(&words.split_whitespace().collect::<Vec<_>>());
        told += 1;
    }
    assert!(told > 0);
}
