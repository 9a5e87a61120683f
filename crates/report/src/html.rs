//! Items as HTML.

use std::fmt::Write as _;

pub use crate::escape::escape;
use crate::item::{Item, Picture};

/// The items as HTML; all text in it is escaped.
#[must_use]
pub fn html(items: &[Item]) -> String {
    let mut out = String::new();
    for item in items {
        let (tag, class, text) = match item {
            Item::Heading(t) => ("h2", "", t),
            Item::Text(t) | Item::Caution(t) => ("p", "", t),
            Item::Answer(t) => ("p", "told-answer", t),
            Item::Warning(t) => ("p", "notice", t),
            Item::Safety(t) => ("p", "notice safety", t),
            Item::Note(t) => ("p", "notice note", t),
            Item::Picture(Picture { label, svg, .. }) => {
                let _ = write!(
                    out,
                    "<figure class=\"map\">{svg}<figcaption class=\"hint\">{}</figcaption></figure>",
                    escape(label)
                );
                continue;
            }
            Item::Table(label, head, rows) => {
                table(&mut out, label, head, rows);
                continue;
            }
        };
        let _ = write!(out, "<{tag} class=\"{class}\">{}</{tag}>", escape(text));
    }
    out
}

fn table(out: &mut String, label: &str, head: &[String], rows: &[Vec<String>]) {
    let _ = write!(
        out,
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{}\"><table><thead><tr>",
        escape(label)
    );
    for h in head {
        let _ = write!(out, "<th scope=\"col\">{}</th>", escape(h));
    }
    out.push_str("</tr></thead><tbody>");
    for row in rows {
        out.push_str("<tr>");
        for (i, cell) in row.iter().enumerate() {
            let kind = if is_short(cell) { " class=\"short\"" } else { "" };
            let cell = escape(cell);
            let _ = if i == 0 {
                write!(out, "<th scope=\"row\"{kind}>{cell}</th>")
            } else {
                write!(out, "<td{kind}>{cell}</td>")
            };
        }
        out.push_str("</tr>");
    }
    out.push_str("</tbody></table></div>");
}

/// Whether a cell is a number with its unit, or a range of two, which are not torn apart.
fn is_short(cell: &str) -> bool {
    cell.chars().count() <= 14 && cell.contains(|c: char| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_typed_becomes_markup() {
        let bad = "<img src=x onerror=\"a&b\">".to_owned();
        let page = html(&[
            Item::Text(bad.clone()),
            Item::Table(bad.clone(), vec![bad.clone()], vec![vec![bad.clone(), bad.clone()]]),
            Picture::drawn(bad, String::new()),
        ]);
        assert!(
            is_short("± 3.6 mm") && is_short("43,2 – 43,8") && !is_short("shot") && !is_short("2 of 3 arrows astray")
        );
        assert!(!page.contains("<img") && page.contains("&lt;img src=x onerror=&quot;a&amp;b&quot;&gt;"), "{page}");
    }
}
