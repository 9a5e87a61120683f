//! The page: title, funnel, strip, table, legend, ruler and caution.

use super::{Card, FAINT, GOLD, INK, SOFT, TooLong, cross, funnel, heavy, sign, strip};
use crate::draw::svg::{Anchor, Svg, n};
use crate::words::{Phrase, Word};
use crate::wrap::wrap;
use goldward_session::marks::answer::{CardMark, Standing};

/// Margin of the paper.
const MARGIN: f64 = 12.0;
/// Where the body begins: under title and funnel, or under the title alone.
const BODY: f64 = 74.0;
const STRIPS: f64 = 36.0;
/// What the foot takes.
const FOOT: f64 = 31.0;
/// Width of the strip on the page.
const STRIP_MM: f64 = 14.0;
/// Widths of the strips on a page of strips.
const WIDTHS: [f64; 3] = [14.0, 10.0, 8.0];
/// Least height of a row.
const ROW_MM: f64 = 4.0;

impl Card<'_> {
    /// The page with table, strip and all.
    ///
    /// # Errors
    /// [`TooLong`].
    pub fn sheet(&self) -> Result<String, TooLong> {
        let [w, h] = self.paper;
        let mut svg = self.begin();
        let bottom = h - MARGIN - FOOT;
        self.fits(bottom - BODY)?;
        svg.text((MARGIN, 35.0), 2.7, Anchor::Start, INK, self.told(Phrase::CardFunnel));
        funnel::draw(&mut svg, self, [MARGIN + 4.0, 36.5, w - 2.0 * MARGIN - 8.0, 30.0]);
        strip::draw(&mut svg, self, (MARGIN + 4.0, BODY), STRIP_MM);
        let under = BODY + strip::length_mm(strip::marks_of(self)) + 3.5;
        self.strip_words(&mut svg, [MARGIN, under, 30.0, bottom], 2.1);
        self.table(&mut svg, [MARGIN + 32.0, BODY, w - 2.0 * MARGIN - 32.0, bottom - BODY - 7.0]);
        self.legend(&mut svg, (MARGIN + 32.0, bottom - 2.0));
        self.foot(&mut svg, bottom + 5.0);
        Ok(self.end(svg))
    }

    /// A page of strips only.
    ///
    /// # Errors
    /// [`TooLong`].
    pub fn strips(&self) -> Result<String, TooLong> {
        let h = self.paper[1];
        let mut svg = self.begin();
        let bottom = h - MARGIN - FOOT;
        self.fits(bottom - STRIPS)?;
        let mut x = MARGIN + 6.0;
        for width in WIDTHS {
            strip::draw(&mut svg, self, (x, STRIPS), width);
            x += width + 16.0;
        }
        self.strip_words(&mut svg, [x, STRIPS + 5.0, self.paper[0] - MARGIN - x, bottom], 3.0);
        self.foot(&mut svg, bottom + 5.0);
        Ok(self.end(svg))
    }

    /// Whether the strip fits into `room`.
    fn fits(&self, room: f64) -> Result<(), TooLong> {
        let length = strip::length_mm(strip::marks_of(self));
        if length <= room - 4.0 {
            return Ok(());
        }
        Err(TooLong { length_mm: length, room_mm: room - 4.0 })
    }

    fn begin(&self) -> Svg {
        let [w, h] = self.paper;
        let mut svg = Svg::millimetres(w, h);
        svg.rect([0.0, 0.0, w, h], crate::draw::svg::Paint::fill("#ffffff"));
        svg.rect([MARGIN, 12.0, 2.2, 15.0], crate::draw::svg::Paint::fill(GOLD));
        let name = self.known.book.name.clone().unwrap_or_else(|| self.told(Phrase::MarksTitle).to_owned());
        heavy(&mut svg, (MARGIN + 5.0, 18.0), 6.2, "start", &cut(&name, 48));
        for (i, line) in self.facts().iter().enumerate() {
            svg.text((MARGIN + 5.0, 22.8 + 4.0 * i as f64), 2.8, Anchor::Start, SOFT, line);
        }
        svg
    }

    fn end(&self, svg: Svg) -> String {
        let shot: Vec<String> =
            self.marks.iter().filter(|m| m.standing == Standing::Shot).map(|m| m.range.to_string()).collect();
        let (all, n) = (self.marks.len().to_string(), shot.len().to_string());
        let shot = self.language.number(&shot.join(", "));
        let description = self.with(Phrase::CardMarks, &[&all, &n, &shot, self.told(Phrase::MarksCaution)]);
        svg.finish(self.told(Phrase::MarksTitle), &description)
    }

    /// Arrow, bow and how fresh the marks are.
    fn facts(&self) -> [String; 2] {
        let kit = &self.known.setup.rig;
        let (speed, sd) = self.known.fitted.speed_m_s();
        let dates = self.known.book.marks.iter().filter(|m| m.shot).filter_map(|m| m.date.as_deref());
        let latest = dates.max().map_or_else(String::new, |d| self.with(Phrase::CardLatest, &[d]));
        let number = |v: f64| self.language.number(&n(v));
        let (arrow, bow) = (kit.arrow(), kit.sighting());
        let scale = match self.numbers.unit() {
            Some(unit) => self.with(Phrase::CardUnit, &[&number(unit)]),
            None => self.told(Phrase::CardInMm).to_owned(),
        };
        let from = [
            self.known.setup.shot.len().to_string(),
            latest,
            number(arrow.mass_g()),
            number(arrow.diameter_mm()),
            self.language.decimals(speed, 1),
            self.language.decimals(sd, 1),
        ];
        [
            self.with(Phrase::CardFrom, &from.each_ref().map(String::as_str)),
            self.with(Phrase::CardBow, &[&number(bow.eye_to_pin_mm()), &number(bow.eye_above_arrow_mm()), &scale]),
        ]
    }

    /// How to lay the strip.
    fn strip_words(&self, svg: &mut Svg, [x, y, width, bottom]: [f64; 4], size: f64) {
        let text = self.told(Phrase::CardStrip);
        lines(svg, (x, y), size, width, bottom, text);
    }

    /// The table: as many columns as its rows need.
    fn table(&self, svg: &mut Svg, [x, y, w, h]: [f64; 4]) {
        let columns = (1..=3).find(|c| self.marks.len().div_ceil(*c) as f64 * 5.6 <= h - 6.0).unwrap_or(3);
        let rows = self.marks.len().div_ceil(columns);
        let pitch = ((h - 6.0) / rows as f64).clamp(ROW_MM, 7.0);
        let gap = 6.0;
        let wide = ((w - gap * (columns as f64 - 1.0)) / columns as f64).min(62.0);
        for (c, block) in self.marks.chunks(rows).enumerate() {
            let left = x + c as f64 * (wide + gap);
            svg.text((left + 0.36 * wide, y + 2.6), 2.2, Anchor::End, SOFT, self.told(Phrase::HeadDistance));
            svg.text((left + 0.7 * wide, y + 2.6), 2.2, Anchor::End, SOFT, self.told(Phrase::HeadMark));
            svg.text((left + wide, y + 2.6), 2.2, Anchor::End, SOFT, "80 %");
            svg.line((left, y + 4.2), (left + wide, y + 4.2), INK, 0.3);
            for (i, mark) in block.iter().enumerate() {
                self.row(svg, [left, y + 4.4 + pitch * i as f64, wide, pitch], mark);
            }
        }
    }

    fn row(&self, svg: &mut Svg, [x, y, w, pitch]: [f64; 4], mark: &CardMark) {
        let size = (0.66 * pitch).min(4.2);
        let base = y + 0.5 * pitch + 0.36 * size;
        let place = (x + 1.6, y + 0.5 * pitch);
        if mark.suspect && mark.standing != Standing::Shot {
            cross(svg, place, 0.32 * size);
        } else {
            sign(svg, place, 0.3 * size, mark.standing);
        }
        let distance = self.language.number(&mark.range.to_string());
        let reading = self.language.number(&self.numbers.at(mark.reading_mm));
        let half = self.numbers.length(0.5 * (mark.interval_mm[1] - mark.interval_mm[0]));
        let half = self.language.number(&format!("± {half}"));
        let columns = [(x + 0.36 * w, distance), (x + 0.7 * w, reading)];
        for (right, text) in columns {
            match mark.standing {
                Standing::Shot => heavy(svg, (right, base), size, "end", &text),
                Standing::Between => svg.text((right, base), size, Anchor::End, INK, &text),
                Standing::Beyond => svg.text((right, base), size, Anchor::End, SOFT, &text),
            }
        }
        svg.text((x + w, base), 0.72 * size, Anchor::End, SOFT, &half);
        let five = self.multiple(mark.range, 5.0);
        svg.line((x, y + pitch), (x + w, y + pitch), if five { SOFT } else { FAINT }, if five { 0.2 } else { 0.1 });
    }

    fn legend(&self, svg: &mut Svg, (x, y): (f64, f64)) {
        let mut left = x + 1.0;
        let mut entries = vec![
            (Some(Standing::Shot), self.told(Phrase::CardShot)),
            (Some(Standing::Between), self.told(Phrase::CardBetween)),
            (Some(Standing::Beyond), self.told(Phrase::CardBeyond)),
        ];
        if self.marks.iter().any(|m| m.suspect) {
            entries.push((None, Word::ShotDoubted.text(self.language)));
        }
        for (standing, words) in entries {
            match standing {
                Some(standing) => sign(svg, (left, y), 0.9, standing),
                None => cross(svg, (left, y), 0.9),
            }
            svg.text((left + 2.2, y + 0.9), 2.4, Anchor::Start, INK, words);
            left += 8.0 + 1.42 * words.chars().count() as f64;
        }
    }

    /// The ruler of 50 mm and the caution.
    fn foot(&self, svg: &mut Svg, y: f64) {
        let x = MARGIN + 1.0;
        svg.raw("<g id=\"ruler-50mm\">");
        svg.line((x, y + 8.0), (x + 50.0, y + 8.0), INK, 0.3);
        for mm in 0..=50 {
            let long = if mm % 10 == 0 {
                4.0
            } else if mm % 5 == 0 {
                2.8
            } else {
                1.6
            };
            let here = x + f64::from(mm);
            svg.raw(&format!(
                "<path d=\"M{} {}v-{}\" stroke=\"{INK}\" stroke-width=\"{}\"/>",
                n(here),
                n(y + 8.0),
                n(long),
                if mm % 10 == 0 { "0.3" } else { "0.14" }
            ));
        }
        svg.raw("</g>");
        for cm in 0..=5 {
            svg.text((x + 10.0 * f64::from(cm), y + 3.2), 2.2, Anchor::Middle, SOFT, &(10 * cm).to_string());
        }
        lines(svg, (x, y + 12.0), 2.4, 54.0, f64::INFINITY, self.told(Phrase::CardRuler));
        let right = x + 62.0;
        svg.line((right - 4.0, y), (right - 4.0, y + 18.0), GOLD, 1.0);
        heavy(svg, (right, y + 3.0), 3.0, "start", self.told(Phrase::CardSafety));
        let caution = self.told(Phrase::MarksCaution);
        let caution = caution.split_once(": ").map_or(caution, |(_, rest)| rest);
        let text = self.with(Phrase::CardGuess, &[caution]);
        lines(svg, (right, y + 7.4), 2.8, self.paper[0] - MARGIN - right, f64::INFINITY, &text);
    }
}

/// Text in lines as wide as `width`, none below `bottom`.
fn lines(svg: &mut Svg, (x, y): (f64, f64), size: f64, width: f64, bottom: f64, text: &str) {
    // The font's letters are 0.57 of its size on average, spaces included.
    let columns = (width / (0.57 * size)).max(8.0) as usize;
    for (i, line) in wrap(text, columns, 0).lines().enumerate() {
        let base = y + 1.4 * size * i as f64;
        if base <= bottom {
            svg.text((x, base), size, Anchor::Start, INK, line);
        }
    }
}

fn cut(text: &str, most: usize) -> String {
    if text.chars().count() <= most { text.to_owned() } else { text.chars().take(most - 1).chain(['…']).collect() }
}
