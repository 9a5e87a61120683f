//! Items as text for a terminal.

use anstyle::Style;
use goldward_session::problem::plain;

use crate::item::{Item, Signs};
pub use crate::wrap::wrap;

/// The items as text, no line longer than `width`; in `colour` headings are bold and targets have the colours of the face.
#[must_use]
pub fn text(items: &[Item], width: usize, colour: bool) -> String {
    let style = if colour { Style::new().bold() } else { Style::new() };
    let bold = |t: &str| format!("{style}{t}{style:#}");
    let mut out = String::new();
    for item in items {
        match item {
            Item::Heading(t) => {
                if !out.is_empty() && !out.ends_with("\n\n") {
                    out.push('\n');
                }
                out.push_str(&bold(&plain(t)));
                out.push('\n');
            }
            Item::Answer(t) => out.push_str(&bold(&wrap(&plain(t), width, 0))),
            Item::Text(t) | Item::Note(t) => out.push_str(&wrap(&plain(t), width, 2)),
            Item::Warning(t) | Item::Safety(t) => {
                // The mark stands out of the text that follows it.
                let wrapped = wrap(&plain(t), width, 4);
                out.push_str("  ! ");
                out.push_str(&wrapped[4..]);
            }
            Item::Picture(picture) => {
                // Other drawings are for a screen; what they show stands in the items beside them.
                match &picture.signs {
                    Some(Signs::Map(map)) => {
                        out.push('\n');
                        out.push_str(&map.text(41.min(width.saturating_sub(4)), 4));
                        out.push_str(&wrap(&plain(&picture.label), width, 2));
                        out.push('\n');
                    }
                    Some(Signs::Target(target)) => {
                        out.push('\n');
                        let (lines, legend) = target.lines(width.min(63).saturating_sub(2), colour);
                        for line in lines {
                            out.push_str(format!("  {line}").trim_end());
                            out.push('\n');
                        }
                        out.push_str(&wrap(&legend, width, 2));
                    }
                    None => {}
                }
            }
            Item::Caution(t) => {
                if !out.ends_with("\n\n") {
                    out.push('\n');
                }
                out.push_str(&wrap(&plain(t), width, 0));
            }
            Item::Table(label, head, rows) => {
                out.push('\n');
                if !label.is_empty() {
                    out.push_str(&wrap(&plain(label), width, 2));
                }
                table(&mut out, head, rows);
                out.push('\n');
            }
        }
    }
    out
}

/// Columns as wide as what stands in them: the first, and those of words, to the left, the others to the right.
fn table(out: &mut String, head: &[String], rows: &[Vec<String>]) {
    let all: Vec<Vec<String>> = std::iter::once(head)
        .chain(rows.iter().map(Vec::as_slice))
        .map(|r| r.iter().map(|c| plain(c)).collect())
        .collect();
    let columns = all.iter().map(Vec::len).max().unwrap_or(0);
    let width = |c: usize| all.iter().filter_map(|r| r.get(c)).map(|t| t.chars().count()).max().unwrap_or(0);
    let words = |c: usize| {
        let cells: Vec<&str> = all.iter().skip(1).filter_map(|r| r.get(c)).map(String::as_str).collect();
        let word = |t: &&str| t.chars().count() > 2 && t.starts_with(char::is_alphabetic);
        cells.iter().any(|t| t.contains(", ")) || (!cells.is_empty() && cells.iter().all(word))
    };
    let left: Vec<bool> = (0..columns).map(|c| c == 0 || words(c)).collect();
    for row in &all {
        let mut line = String::from(" ");
        for (c, cell) in row.iter().enumerate().take(columns) {
            let gap = width(c) - cell.chars().count();
            let (before, after) = if left[c] { (0, gap) } else { (gap, 0) };
            line.push(' ');
            line.push_str(&" ".repeat(before + usize::from(c > 0)));
            line.push_str(cell);
            line.push_str(&" ".repeat(after));
        }
        out.push_str(line.trim_end());
        out.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tables_line_up_and_nothing_typed_reaches_the_terminal() {
        let rows = vec![vec!["4".to_owned(), "12 mm".to_owned()], vec!["\u{1b}[31m".to_owned(), "5 mm".to_owned()]];
        let items = [
            Item::Heading("By arrow".to_owned()),
            Item::Warning("one two three".to_owned()),
            Item::Table("All".to_owned(), vec!["arrow".to_owned(), "off".to_owned()], rows),
        ];
        let got = text(&items, 12, false);
        assert_eq!(
            got,
            "By arrow\n  ! one two\n    three\n\n  All\n  arrow    off\n  4      12 mm\n  \u{fffd}[31m   5 mm\n\n"
        );
    }
}
