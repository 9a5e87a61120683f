//! The few SVG elements that the drawings need, with numbers rounded and text escaped.

use std::fmt::Write as _;

pub(crate) use crate::escape::escape;

/// The family that the drawings ask for.
pub const FAMILY: &str = "DejaVu Sans";

/// An SVG document in the making; lengths are in pixels of the drawing or in millimetres of paper, y downwards.
#[derive(Debug)]
pub struct Svg {
    body: String,
    width: f64,
    height: f64,
    unit: &'static str,
}

/// How a shape is painted: fill, stroke and the stroke's width.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Paint<'a> {
    pub(crate) fill: &'a str,
    pub(crate) stroke: &'a str,
    pub(crate) width: f64,
}

impl<'a> Paint<'a> {
    pub(crate) const fn fill(fill: &'a str) -> Self {
        Self { fill, stroke: "none", width: 0.0 }
    }

    pub(crate) const fn line(stroke: &'a str, width: f64) -> Self {
        Self { fill: "none", stroke, width }
    }

    fn attributes(&self) -> String {
        let mut text = format!("fill=\"{}\"", self.fill);
        if self.width > 0.0 {
            let _ = write!(text, " stroke=\"{}\" stroke-width=\"{}\"", self.stroke, n(self.width));
        }
        text
    }
}

/// Where a text is anchored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// A number with at most two decimals.
pub(crate) fn n(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

impl Svg {
    pub(crate) fn new(width: f64, height: f64) -> Self {
        Self { body: String::new(), width, height, unit: "" }
    }

    /// A page whose lengths are millimetres of paper.
    #[must_use]
    pub fn millimetres(width: f64, height: f64) -> Self {
        Self { unit: "mm", ..Self::new(width, height) }
    }

    /// Adds an element as it stands.
    pub fn raw(&mut self, text: &str) {
        self.body.push_str(text);
        self.body.push('\n');
    }

    pub(crate) fn rect(&mut self, [x, y, w, h]: [f64; 4], paint: Paint<'_>) {
        let (x, y, w, h) = (n(x), n(y), n(w), n(h));
        self.raw(&format!("<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" {}/>", paint.attributes()));
    }

    pub(crate) fn circle(&mut self, x: f64, y: f64, r: f64, paint: Paint<'_>) {
        self.raw(&format!("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" {}/>", n(x), n(y), n(r), paint.attributes()));
    }

    pub(crate) fn ellipse(
        &mut self,
        (x, y): (f64, f64),
        (rx, ry): (f64, f64),
        turn_deg: f64,
        paint: Paint<'_>,
        dash: &str,
    ) {
        let dash = if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dash}\"") };
        self.raw(&format!(
            "<ellipse rx=\"{}\" ry=\"{}\" transform=\"translate({} {}) rotate({})\" {}{dash}/>",
            n(rx),
            n(ry),
            n(x),
            n(y),
            n(turn_deg),
            paint.attributes()
        ));
    }

    /// Adds a line.
    pub fn line(&mut self, (x1, y1): (f64, f64), (x2, y2): (f64, f64), stroke: &str, width: f64) {
        let (x1, y1, x2, y2, w) = (n(x1), n(y1), n(x2), n(y2), n(width));
        self.raw(&format!(
            "<line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\" stroke=\"{stroke}\" stroke-width=\"{w}\" \
             stroke-linecap=\"round\"/>"
        ));
    }

    pub(crate) fn polyline(&mut self, points: &[(f64, f64)], stroke: &str, width: f64, dash: &str) {
        let list: Vec<String> = points.iter().map(|(x, y)| format!("{},{}", n(*x), n(*y))).collect();
        let dash = if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{dash}\"") };
        self.raw(&format!(
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{stroke}\" stroke-width=\"{}\" \
             stroke-linejoin=\"round\"{dash}/>",
            list.join(" "),
            n(width)
        ));
    }

    pub(crate) fn polygon(&mut self, points: &[(f64, f64)], paint: Paint<'_>) {
        let list: Vec<String> = points.iter().map(|(x, y)| format!("{},{}", n(*x), n(*y))).collect();
        self.raw(&format!("<polygon points=\"{}\" stroke-linejoin=\"round\" {}/>", list.join(" "), paint.attributes()));
    }

    pub(crate) fn path(&mut self, d: &str, paint: Paint<'_>) {
        self.raw(&format!("<path d=\"{d}\" stroke-linejoin=\"round\" {}/>", paint.attributes()));
    }

    pub(crate) fn text(&mut self, (x, y): (f64, f64), size: f64, anchor: Anchor, fill: &str, text: &str) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        self.raw(&format!(
            "<text x=\"{}\" y=\"{}\" font-size=\"{}\" text-anchor=\"{anchor}\" fill=\"{fill}\">{}</text>",
            n(x),
            n(y),
            n(size),
            escape(text)
        ));
    }

    /// The document, with `title` and `description` for those who cannot see it.
    #[must_use]
    pub fn finish(self, title: &str, description: &str) -> String {
        let (w, h, unit) = (n(self.width), n(self.height), self.unit);
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}{unit}\" height=\"{h}{unit}\" viewBox=\"0 0 {w} {h}\" \
             role=\"img\" \
             font-family=\"{FAMILY}, sans-serif\">\n<title>{}</title>\n<desc>{}</desc>\n{}</svg>\n",
            escape(title),
            escape(description),
            self.body
        )
    }
}
