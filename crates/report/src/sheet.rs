//! A picture as a drawing that stands alone: title, what it shows, and the paint of its shapes within it, on white.

use std::fmt::Write as _;

use goldward_core::units::parse_decimal;

use crate::escape::escape;
use crate::item::{Item, Picture};
use crate::text::wrap;

/// Width of the sheet, the margin about the picture, in pixels.
const WIDTH: f64 = 720.0;
const MARGIN: f64 = 40.0;

/// How the classes of a picture are painted. usvg knows no variables, so each class has its colour.
const PAINT: &str = "path,ellipse,circle,polyline{fill:none;stroke:#14181a;stroke-width:1}text{fill:#14181a;font-size:8px}\
.way{fill:#4a5458;font-size:7.5px}.axes{stroke:#767f83;opacity:.6}.rule{stroke-width:2}\
.limit{stroke:#4a5458;stroke-dasharray:2 4;stroke-width:1.2}.known{stroke-width:1;stroke-dasharray:4 3}\
.known.flyer{stroke-dasharray:none;stroke-width:1.6}.spot{stroke:#ffffff}.dot{stroke-width:1.1}.curve{stroke-width:2}\
.label{font-weight:bold;font-size:9px}.label.flyer{font-size:11px}";

/// The classes that tell one kind of mark from another, each with its colour.
const KINDS: [(&str, &str); 4] =
    [("clean", "#00625c"), ("other", "#5f2a94"), ("flyer", "#9a4a00"), ("stray", "#9c0f46")];

/// The pictures among `items`.
pub fn pictures(items: &[Item]) -> impl Iterator<Item = &Picture> {
    items.iter().filter_map(|i| if let Item::Picture(p) = i { Some(p) } else { None })
}

/// What stands above a drawing of `items`: the first thing to act on, or the answer, or the heading.
#[must_use]
pub fn title(items: &[Item]) -> &str {
    let first = |wanted: fn(&Item) -> Option<&String>| items.iter().find_map(wanted);
    let act = first(|i| if let Item::Warning(t) | Item::Answer(t) = i { Some(t) } else { None });
    act.or_else(|| first(|i| if let Item::Heading(t) = i { Some(t) } else { None })).map_or("", String::as_str)
}

/// Four numbers of the picture's own view: where it begins, how wide and how high it is. A picture that names none is square.
fn view(svg: &str) -> [f64; 4] {
    let named = svg.split_once("viewBox=\"").and_then(|(_, rest)| rest.split_once('"')).map(|(v, _)| v);
    let mut numbers = named.unwrap_or_default().split_whitespace().map(|n| parse_decimal(n).unwrap_or(0.0));
    let view = [(); 4].map(|()| numbers.next().unwrap_or(0.0));
    if view[2] > 0.0 && view[3] > 0.0 { view } else { [0.0, 0.0, 1.0, 1.0] }
}

/// `picture` under `title` as an SVG of its own.
#[must_use]
pub fn document(title: &str, picture: &Picture) -> String {
    let wide = WIDTH - 2.0 * MARGIN;
    let [.., w, h] = view(&picture.svg);
    let high = wide * h / w;
    let mut text = String::new();
    let mut y = 18.0;
    for (size, columns, line, colour) in [(20.0, 54, title, "#14181a"), (12.5, 96, picture.label.as_str(), "#4a5458")] {
        for part in wrap(line, columns, 0).lines().filter(|l| !l.is_empty()) {
            y += 1.3 * size;
            let _ = writeln!(
                text,
                "<text x=\"{MARGIN}\" y=\"{y:.1}\" style=\"font-size:{size}px;fill:{colour}\">{}</text>",
                escape(part)
            );
        }
        y += 6.0;
    }
    let mut paint = PAINT.to_owned();
    for (kind, colour) in KINDS {
        let _ = write!(
            paint,
            ".known.{kind},.dot.{kind},.curve.{kind}{{stroke:{colour}}}.spot.{kind},.label.{kind}{{fill:{colour}}}"
        );
    }
    let place = format!("<svg x=\"{MARGIN}\" y=\"{:.1}\" width=\"{wide}\" height=\"{high:.1}\"", y + 10.0);
    let inner = picture.svg.replacen("<svg", &place, 1);
    let total = y + high + 10.0 + MARGIN;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{total:.0}\" viewBox=\"0 0 {WIDTH} {total:.0}\" \
         role=\"img\" font-family=\"DejaVu Sans, sans-serif\">\n<title>{}</title>\n<desc>{}</desc>\n<style>{paint}</style>\n\
         <rect width=\"{WIDTH}\" height=\"{total:.0}\" style=\"fill:#ffffff\"/>\n{text}{inner}\n</svg>\n",
        escape(title),
        escape(&picture.label)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sheet_holds_its_picture_in_its_own_shape() {
        let picture = Picture {
            label: "What <it> shows".to_owned(),
            svg: "<svg viewBox=\"-10 -20 100 50\" role=\"img\"><path class=\"rule\" d=\"M0 0H5\"/></svg>".to_owned(),
            signs: None,
        };
        let got = document("Inspect & act", &picture);
        assert!(got.contains("width=\"640\" height=\"320.0\" viewBox=\"-10 -20 100 50\""), "{got}");
        assert!(
            got.contains("Inspect &amp; act") && got.contains("What &lt;it&gt; shows") && got.contains(".spot.stray")
        );
        assert!(view("<svg>").iter().zip([0.0, 0.0, 1.0, 1.0]).all(|(a, b)| (a - b).abs() < 1e-12));
        let items = [Item::Heading("H".to_owned()), Item::Answer("A".to_owned()), Item::Picture(picture)];
        assert_eq!((title(&items), title(&items[..1]), title(&[]), pictures(&items).count()), ("A", "H", "", 1));
    }
}
