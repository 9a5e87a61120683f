//! Adds a mark to a marks file without ever losing it: remarks and order are kept, the new text is read back before it
//! takes the old one's place, and it takes that place in one step.

use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use goldward_core::units::trim_number;

use crate::failure::{Failure, Fault, said};
use goldward_report::words::Wrong;
use goldward_session::marks::book::{Book, Entry};
use goldward_session::marks::toml as read;
use goldward_session::problem::Place;

/// What to do with marks of the same distance that are there already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Twice {
    /// Refuse.
    Refuse,
    /// Put the new one in their place.
    Replace,
    /// Keep both.
    Both,
}

/// Text in quotes, as TOML has it.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// A number that reads back as the same number.
fn number(value: f64) -> String {
    let text = trim_number(value);
    if text.parse() == Ok(value) { text } else { value.to_string() }
}

/// The mark as a table of the file.
fn table(entry: &Entry) -> String {
    let mut text = String::from("[[mark]]\n");
    let unit = if entry.range.is_yards() { "yd" } else { "m" };
    let _ = writeln!(text, "distance = \"{}{unit}\"", number(entry.range.number()));
    let _ = writeln!(text, "reading = {}", number(entry.reading));
    if let Some(sd) = entry.sd {
        let _ = writeln!(text, "sd = {}", number(sd));
    }
    if let Some(arrows) = entry.arrows {
        let _ = writeln!(text, "arrows = {arrows}");
    }
    let _ = writeln!(text, "proof = \"{}\"", if entry.shot { "shot" } else { "predicted" });
    if entry.slope_deg != 0.0 {
        let _ = writeln!(text, "slope_deg = {}", number(entry.slope_deg));
    }
    if let Some(date) = &entry.date {
        let _ = writeln!(text, "date = {date}");
    }
    if let Some(note) = &entry.note {
        let _ = writeln!(text, "note = {}", quoted(note));
    }
    text
}

/// The head of a new marks file.
#[must_use]
pub fn new_head(eye_to_pin_mm: f64, eye_above_arrow_mm: f64, mass_g: f64, diameter_mm: f64) -> String {
    let [pin, above, mass, wide] = [eye_to_pin_mm, eye_above_arrow_mm, mass_g, diameter_mm].map(number);
    format!(
        "# Sight marks. Every key is described in docs/marks.md of Goldward.\n\
         eye_to_pin = \"{pin}mm\"\n\
         eye_above_arrow = \"{above}mm\"\n\
         elevation_unit = \"1mm\"    # how far the pin moves when the number on the scale grows by 1\n\
         elevation_grows = \"down\"  # where the pin goes when the number grows\n\n\
         [arrow]\nmass_g = {mass}\ndiameter_mm = {wide}\n"
    )
}

/// The text of a file with `entry` added, and the book that it then is. `text` is that of the file as it is.
///
/// # Errors
/// Every [`Fault`]: the file cannot be read, has such a mark already, or is laid out so that nothing can be added.
pub fn added(text: &str, entry: &Entry, twice: Twice) -> Result<(String, Book), Vec<Fault>> {
    let before = read::parse(text).map_err(|problems| problems.into_iter().map(Fault::from).collect::<Vec<_>>())?;
    let same: Vec<usize> =
        before.marks.iter().enumerate().filter(|(_, m)| m.same_place(entry)).map(|(i, _)| i).collect();
    if let (Some(first), Twice::Refuse) = (same.first(), twice) {
        let old = &before.marks[*first];
        let there = said(Wrong::MarkThere, [old.name().into(), number(old.reading).into()]);
        return Err(vec![Fault::from(there).at(Place::Mark(first + 1))]);
    }
    let mut want = before.clone();
    let mut lines: Vec<&str> = text.split_inclusive('\n').collect();
    if twice == Twice::Replace && !same.is_empty() {
        lines = without(&lines, &same);
        want.marks =
            before.marks.iter().enumerate().filter(|(i, _)| !same.contains(i)).map(|(_, m)| m.clone()).collect();
    }
    want.marks.push(entry.clone());
    let mut out = lines.concat();
    if !out.is_empty() && !out.ends_with('\n') {
        out.push('\n');
    }
    if !out.trim_end().is_empty() && !out.ends_with("\n\n") {
        out.push('\n');
    }
    out.push_str(&table(entry));
    // Whatever the layout of the file, it is only written when it reads back as it should.
    match read::parse(&out) {
        Ok(book) if book == want => Ok((out, book)),
        _ => Err(vec![Wrong::NoPlaceForMark.into()]),
    }
}

/// The lines without the tables of the given marks; remarks above a table belong to what stands before.
fn without<'a>(lines: &[&'a str], gone: &[usize]) -> Vec<&'a str> {
    let (mut number, mut dropping, mut out) = (0_usize, false, Vec::new());
    for line in lines {
        let head = line.trim_start();
        if head.starts_with('[') {
            let mark = head.strip_prefix("[[").is_some_and(|rest| rest.trim_start().starts_with("mark"));
            dropping = mark && gone.contains(&number);
            number += usize::from(mark);
        }
        if !dropping || head.starts_with('#') {
            out.push(*line);
        }
    }
    out
}

/// A file about to be replaced: the new text grows beside it under a name that also keeps others away.
#[derive(Debug)]
pub struct Replacing {
    target: PathBuf,
    beside: PathBuf,
    file: fs::File,
    finished: bool,
}

impl Replacing {
    /// Starts to replace `path`, which need not exist yet.
    ///
    /// # Errors
    /// [`Failure::Data`] when another program is at it or the folder cannot be written.
    pub fn start(path: &Path) -> Result<Self, Failure> {
        // Through a link, so that the link stays one.
        let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
        let title = || said(Wrong::NotWritten, [path.display().into()]);
        if fs::metadata(&target).is_ok_and(|m| !m.is_file()) {
            return Err(Failure::data(title(), Wrong::NotAFile));
        }
        let mut name = target.file_name().unwrap_or_default().to_owned();
        name.push(".new");
        let beside = target.with_file_name(name);
        let file = fs::File::create_new(&beside).map_err(|e| {
            if e.kind() == std::io::ErrorKind::AlreadyExists {
                return Failure::data(title(), said(Wrong::AnotherAddsMark, [beside.display().into()]));
            }
            let fault = Fault::io(&e).remedy(Wrong::CheckFolder);
            Failure::data(title(), fault.at(beside.display().to_string()))
        })?;
        Ok(Self { target, beside, file, finished: false })
    }

    /// Puts `text` in the file's place: it is safe on the disk before the old one goes.
    ///
    /// # Errors
    /// [`Failure::Data`]; the old file is then untouched.
    pub fn finish(mut self, text: &str) -> Result<(), Failure> {
        let done = self.file.write_all(text.as_bytes()).and_then(|()| {
            if let Ok(old) = fs::metadata(&self.target) {
                fs::set_permissions(&self.beside, old.permissions())?;
            }
            self.file.sync_all()?;
            fs::rename(&self.beside, &self.target)
        });
        self.finished = done.is_ok();
        done.map_err(|e| {
            let title = said(Wrong::NotWritten, [self.target.display().into()]);
            Failure::data(title, Fault::io(&e).remedy(Wrong::CheckFolder))
        })
    }
}

impl Drop for Replacing {
    /// What was not finished leaves nothing behind; once finished, the name may be another's.
    fn drop(&mut self) {
        if !self.finished {
            let _ = fs::remove_file(&self.beside);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use goldward_report::words::Language;
    use goldward_session::marks::quantity::Range;

    const FILE: &str = "# mine\neye_to_pin = 880\n\n[[mark]]\ndistance = 18 # indoor\nreading = 14.9\n\n# spring\n[[mark]]\n\
                        distance = \"60yd\"\nreading = 50\n\n[air]\nhumidity = 0.4";

    fn entry(metres: f64, reading: f64) -> Entry {
        Entry { note: Some("a \"quiet\" day\\".into()), ..Entry::shot(Range::metres(metres).unwrap(), reading) }
    }

    #[test]
    fn a_mark_is_added_and_remarks_stay() {
        let (text, book) = added(FILE, &entry(30.0, 23.45), Twice::Refuse).unwrap();
        assert!(text.starts_with(FILE) && book.marks.len() == 3, "{text}");
        assert_eq!(book.marks[2], entry(30.0, 23.45));
    }

    #[test]
    fn the_same_distance_is_refused_replaced_or_kept_twice() {
        let refused = added(FILE, &entry(18.0, 15.0), Twice::Refuse).unwrap_err();
        let told = refused[0].one_line();
        assert!(told.contains("--replace") && told.contains("18 m"), "{told}");
        let (text, book) = added(FILE, &entry(18.0, 15.0), Twice::Replace).unwrap();
        assert!(!text.contains("14.9") && text.contains("# spring") && text.contains("# mine"), "{text}");
        assert_eq!(book.marks.len(), 2);
        assert_eq!(added(FILE, &entry(18.0, 15.0), Twice::Both).unwrap().1.marks.len(), 3);
    }

    #[test]
    fn a_layout_that_cannot_take_it_is_refused() {
        let inline = "mark = [{distance = 18, reading = 14.9}]\n";
        assert!(added(inline, &entry(30.0, 20.0), Twice::Refuse).unwrap_err()[0].one_line().contains("[[mark]]"));
        let tricky = "[[mark]]\ndistance = 18\nreading = 1\nnote = \"\"\"\n[[mark]]\n\"\"\"\n[[mark]]\ndistance = 30\nreading = 2\n";
        match added(tricky, &entry(30.0, 3.0), Twice::Replace) {
            Ok((text, book)) => assert_eq!((read::parse(&text).unwrap(), book.marks.len()), (book.clone(), 2)),
            Err(faults) => assert!(!faults[0].told(Language::English).remedy.is_empty()),
        }
    }
}
