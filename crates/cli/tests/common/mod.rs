//! Runs the program in memory, with a fixed width and no colour.

#![allow(dead_code, reason = "each test file uses its own part of this")]

use std::ffi::OsString;

use goldward::terminal::Terminal;
use goldward_journal::{Body, Log, Uuid, Writer};
use goldward_report::words::Language;

/// What a run left behind.
#[derive(Debug)]
pub struct Outcome {
    pub code: u8,
    pub out: String,
    pub err: String,
}

/// Writes bodies into `log`, numbered on from `n`, and tells the id of each.
pub fn writing<'a>(log: &'a mut Log, writer: &'a mut Writer, n: &'a mut u64) -> impl FnMut(Body) -> Uuid + 'a {
    |body| {
        *n += 1;
        let mut noise = [0; 10];
        noise[..8].copy_from_slice(&n.to_be_bytes());
        let record = writer.write(*n, noise, body);
        let id = record.id;
        log.insert(record);
        id
    }
}

/// Runs `goldward ARGS` with `input` on standard input.
pub fn run_with(args: &[&str], input: &[u8]) -> Outcome {
    run_as(None, args, input)
}

/// The same where the environment asks for `language`.
pub fn run_in(language: Language, args: &[String], input: &[u8]) -> Outcome {
    run_as(Some(language), &args.iter().map(String::as_str).collect::<Vec<_>>(), input)
}

fn run_as(language: Option<Language>, args: &[&str], input: &[u8]) -> Outcome {
    let mut input = input;
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let args = std::iter::once("goldward").chain(args.iter().copied()).map(OsString::from);
    let code = goldward::run(
        args,
        &mut Terminal {
            input: &mut input,
            out: &mut out,
            err: &mut err,
            colour: false,
            width: 80,
            out_is_terminal: false,
            err_is_terminal: false,
            cores: 2,
            token: None,
            language,
        },
    );
    Outcome { code, out: String::from_utf8(out).unwrap(), err: String::from_utf8(err).unwrap() }
}

/// Runs `goldward ARGS` without input.
pub fn run(args: &[&str]) -> Outcome {
    run_with(args, b"")
}

/// Reads a CSV from standard input at 70 m on the 122 face.
pub fn read_csv(csv: &[u8], more: &[&str]) -> Outcome {
    let args: Vec<&str> = ["read", "-", "--distance", "70", "--face", "122"].iter().chain(more).copied().collect();
    run_with(&args, csv)
}
