//! Logs as files.

use std::io::Write as _;
use std::path::Path;

use goldward_journal::{Body, Log, Record, Session, Shot, Touch, Uuid, Writer, jsonl, plain, table};

use super::{Format, ImportArgs, text_of};
use crate::failure::{EXIT_FINE, Failure, Fault, Said, said};
use crate::terminal::Terminal;
use goldward_report::words::Wrong;
use goldward_session::problem::{Place, What};
use goldward_session::settings::{Settings, Wishes};

/// Largest file read, in bytes.
const LARGEST: u64 = 1 << 30;

fn not_read(file: &Path) -> Said {
    said(Wrong::NotRead, [file.display().into()])
}

fn nothing_taken(file: &Path) -> Said {
    said(Wrong::NotReadNothingTaken, [file.display().into()])
}

pub(super) fn bytes(file: &Path) -> Result<Vec<u8>, Failure> {
    let fail = |e: std::io::Error| Failure::data(not_read(file), Fault::io(&e).remedy(Wrong::CheckTheName));
    let meta = std::fs::metadata(file).map_err(fail)?;
    if meta.len() > LARGEST {
        return Err(Failure::data(not_read(file), said(Wrong::Large, ["1 GiB".into()])));
    }
    std::fs::read(file).map_err(fail)
}

fn utf8<'a>(file: &Path, bytes: &'a [u8]) -> Result<&'a str, Failure> {
    if bytes.starts_with(b"SQLite format 3\0") {
        return Err(Failure::data(not_read(file), Wrong::IsAStore));
    }
    std::str::from_utf8(bytes)
        .map_err(|e| Failure::data(not_read(file), Fault::of(Place::Byte(e.valid_up_to()), What::NotUtf8)))
}

fn lines(file: &Path, errors: Vec<jsonl::LineError>) -> Failure {
    Failure::all(nothing_taken(file), errors)
}

fn first_line(text: &str) -> String {
    text.trim_start_matches('\u{feff}').lines().next().unwrap_or_default().to_lowercase()
}

fn is_table(text: &str) -> bool {
    let first = first_line(text);
    first.split(',').any(|c| c == "schema") && first.split(',').any(|c| c == "counter")
}

/// Reads a log from a file.
pub(crate) fn get(file: &Path) -> Result<Log, Failure> {
    let bytes = bytes(file)?;
    let text = utf8(file, &bytes)?;
    if is_table(text) { table::read(text) } else { jsonl::read(text) }.map_err(|e| lines(file, e))
}

/// Writes a log into a file, whole or not at all, or to standard output.
pub(super) fn put(
    log: &Log,
    out: Option<&Path>,
    format: Option<Format>,
    terminal: &mut Terminal<'_>,
) -> Result<u8, Failure> {
    let by_name = out.and_then(Path::extension).is_some_and(|e| e.eq_ignore_ascii_case("csv"));
    let text = text_of(log, format.unwrap_or(if by_name { Format::Csv } else { Format::Jsonl }));
    match out {
        None => terminal.out.write_all(text.as_bytes()).map_err(|e| Failure::from_write(&e))?,
        Some(path) => write(path, &text)?,
    }
    Ok(EXIT_FINE)
}

/// Writes a text into a file, whole or not at all.
pub(crate) fn write(path: &Path, text: &str) -> Result<(), Failure> {
    let failed = |e: std::io::Error| {
        Failure::data(said(Wrong::NotWritten, [path.display().into()]), Fault::io(&e).remedy(Wrong::CheckFolder))
    };
    // A device, a pipe or a socket is written to; a file put in its place would be another thing.
    if std::fs::metadata(path).is_ok_and(|m| !m.is_file() && !m.is_dir()) {
        let written = std::fs::OpenOptions::new().write(true).open(path).and_then(|mut f| f.write_all(text.as_bytes()));
        return written.map_err(&failed);
    }
    let mut part = path.as_os_str().to_owned();
    part.push(".part");
    let written = std::fs::File::create(&part)
        .and_then(|mut f| f.write_all(text.as_bytes()).and_then(|()| f.sync_all()))
        .and_then(|()| std::fs::rename(&part, path));
    written.map_err(|e| {
        let _ = std::fs::remove_file(&part);
        failed(e)
    })
}

/// Reads whatever the file holds: a log, a table of scores, or the shots of a session. Also tells whether it is a plain table,
/// whose records bear no stamps of their own.
pub(super) fn imported(
    args: &ImportArgs,
    bytes: &[u8],
    archer: Option<Uuid>,
    now_ms: u64,
) -> Result<(Log, bool), Failure> {
    let file = args.file.as_path();
    let text = utf8(file, bytes)?;
    if text.trim_start_matches('\u{feff}').trim_start().starts_with('{') {
        return jsonl::read(text).map(|log| (log, false)).map_err(|e| lines(file, e));
    }
    if is_table(text) {
        return table::read(text).map(|log| (log, false)).map_err(|e| lines(file, e));
    }
    let Some(archer) = archer else {
        return Err(Failure::usage("--archer", Wrong::WhoseFile));
    };
    // One device stands for all imports: what it writes is later than what it wrote before.
    let mut writer = Writer::new(archer, Uuid::from_u128(0x6f6c_6472_6563_7000_8000_0000_0000_0001));
    let first = first_line(text);
    let records = if first.contains("date") && first.contains("points") {
        plain::read_scores(text, &mut writer, now_ms).map_err(|e| lines(file, e))?
    } else {
        shots(args, bytes, &mut writer, now_ms)?
    };
    Ok((Log::from_records(records), true))
}

/// The shots of a session, in the format that `goldward read` takes.
fn shots(args: &ImportArgs, bytes: &[u8], writer: &mut Writer, now_ms: u64) -> Result<Vec<Record>, Failure> {
    let missing = |option: &str, such: &str| {
        Failure::usage(option, said(Wrong::ShotsDoNotSay, [format!("{option} {such}").into()]))
    };
    let distance = args.distance.ok_or_else(|| missing("--distance", "70"))?;
    let face = args.face.ok_or_else(|| missing("--face", "122"))?;
    let at_ms = args.date.as_deref().and_then(plain::noon_ms).ok_or_else(|| missing("--date", "2025-06-01"))?;
    let settings = Settings::new(distance, face, &Wishes::default()).map_err(Failure::setting)?;
    let session = goldward_session::csv::read(bytes, &settings)
        .map_err(|problems| Failure::all(nothing_taken(&args.file), problems))?;
    let text = String::from_utf8_lossy(bytes);
    let id = |what: &str| plain::steady_id(writer.archer, at_ms, &format!("{what} {text}"));
    let session_id = id("session");
    // Ends in the order in which they come; shots are numbered within their end.
    let mut ends: Vec<&str> = Vec::new();
    let mut bodies: Vec<(Uuid, Body)> = Vec::new();
    let mut places: Vec<(u32, u32)> = Vec::new();
    for (n, listed) in session.shots.iter().enumerate() {
        let same = ends.last().is_some_and(|e| *e == listed.end);
        if !same {
            ends.push(&listed.end);
        }
        let end = ends.len() as u32;
        let index = if same { places.last().map_or(1, |p| p.1 + 1) } else { 1 };
        places.push((end, index));
        let (x_mm, y_mm, call) = match listed.shot.place {
            goldward_core::shot::Place::At(p) => (Some(p.x_mm), Some(p.y_mm), None),
            goldward_core::shot::Place::Called(call) => (None, None, Some(call.to_string())),
        };
        let felt = match listed.shot.felt {
            goldward_core::shot::Felt::Unmarked => None,
            goldward_core::shot::Felt::Bad => Some(goldward_journal::Felt::Bad),
            goldward_core::shot::Felt::Good => Some(goldward_journal::Felt::Good),
        };
        let arrow = Some(listed.arrow.clone()).filter(|a| !a.is_empty());
        let shot = Shot { session: session_id, end, index, x_mm, y_mm, call, felt, arrow, spot: None, at_ms: None };
        bodies.push((id(&format!("shot {n}")), Body::Shot(shot)));
    }
    for (n, touch) in session.touches.iter().enumerate() {
        let (after_end, after_index) =
            touch.after_shots.checked_sub(1).and_then(|i| places.get(i)).copied().unwrap_or((0, 0));
        let touch = Touch {
            session: session_id,
            after_end,
            after_index,
            right_mm: touch.pin_mm.x_mm,
            up_mm: touch.pin_mm.y_mm,
            advised_right_mm: None,
            advised_up_mm: None,
            at_ms: None,
        };
        bodies.push((id(&format!("touch {n}")), Body::Touch(touch)));
    }
    let per_end = places.iter().map(|p| p.1).max().unwrap_or(1);
    let session = Session {
        at_ms,
        distance_m: distance.metres(),
        face: face.name.to_owned(),
        round: None,
        kit: None,
        mark: None,
        sighting_ends: 0,
        ends: ends.len() as u32,
        shots_per_end: per_end,
        proven: None,
        match_by: None,
        opponent_arrow: None,
    };
    bodies.insert(0, (session_id, Body::Session(session)));
    let archer = writer.archer;
    Ok(bodies.into_iter().map(|(id, body)| Record::new(archer, id, writer.clock.next(now_ms), body)).collect())
}
