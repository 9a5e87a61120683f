//! The page that tells a person what a group says and what to do: advice first, then what it is worth and why.

use std::fmt::Write as _;

use anstyle::Style;
use goldward_core::advice::Action;
use goldward_core::group::Pattern;
use goldward_core::plane::Point;
use goldward_core::shot::{Call, Place, Shot};
use goldward_core::units::trim_number;
use goldward_journal::Note;

use crate::draw::target::{self, Canvas, Mark};
use crate::item::Item;
use crate::pages::reading::{self, Told};
use crate::teller::Teller;
use crate::text::wrap;
use crate::words::{self, Language, Word, place_mm, remark};
use goldward_session::answer::Answer;
use goldward_session::kit::{Hand, Kit, Scale};
use goldward_session::marks::refined::Refined;
use goldward_session::session::Session;
use goldward_session::settings::Settings;

/// Everything a page tells of.
#[derive(Debug, Clone, Copy)]
pub struct Page<'a> {
    /// The session.
    pub session: &'a Session,
    /// The settings it was read with.
    pub settings: &'a Settings,
    /// The kit.
    pub kit: &'a Kit,
    /// The answer.
    pub answer: &'a Answer,
    /// The elevation through the flight, where there are marks.
    pub refined: Option<&'a Refined>,
    /// Whether the number of arrows left was assumed.
    pub left_assumed: bool,
    /// What was remarked of the session.
    pub notes: &'a [Note],
    /// Columns to fill.
    pub width: usize,
    /// Whether to use colour.
    pub colour: bool,
    /// The language it is told in.
    pub language: Language,
}

impl Page<'_> {
    /// The whole page.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::new();
        let (t, told) = (self.teller(), self.told());
        if let Some(wrong) = self.refined.and_then(|r| r.wrong.as_ref()) {
            // A mark of another distance is no fine adjustment: it is told before any click.
            let _ = writeln!(out, "{}", self.bold(&t.f(Word::CheckMark, &[&wrong.name])));
            let here = self.settings.distance.to_string();
            let text = t.f(Word::CheckMarkTold, &[&t.percent(wrong.p), &here, &wrong.reading]);
            out.push_str(&wrap(&text, self.width, 2));
        }
        let _ = writeln!(out, "{}.", self.bold(&told.headline(&t)));
        for line in self.move_lines(&t) {
            out.push_str(&wrap(&line, self.width, 2));
        }
        let mut worth = vec![told.worth(&t)];
        worth.extend(told.plan(&t));
        if self.left_assumed {
            worth.push(t.f(Word::ReadAssumed, &[&self.settings.ahead.shots_left.to_string()]));
        }
        self.section(&mut out, &t.t(Word::ReadWorthTitle), &worth);
        let mut group = told.group(&t);
        group.push(told.numbers(&t));
        for touch in &self.session.touches {
            let moved = reading::pin(&t, touch.pin_mm);
            group.push(t.f(Word::ReadTouched, &[&touch.after_shots.to_string(), &moved]));
        }
        self.section(&mut out, &self.group_title(&t), &group);
        out.push('\n');
        out.push_str(&self.target(&t));
        let _ = writeln!(out, "\n{}", self.bold(&t.t(Word::ReadShots)));
        out.push_str(&self.table(&t));
        let remarked = self.notes.iter().map(|note| remark(self.language, note)).filter(|line| !line.is_empty());
        let remarked: Vec<String> = remarked.collect();
        if !remarked.is_empty() {
            self.section(&mut out, &t.t(Word::Remarks), &remarked);
        }
        let notices = told.notices(&t);
        if !notices.is_empty() {
            let _ = writeln!(out, "\n{}", self.bold(&t.t(Word::ReadToKnow)));
            for notice in notices {
                let line = match notice {
                    Item::Safety(text) => t.f(Word::ReadSafety, &[&text]),
                    Item::Warning(text) | Item::Note(text) => text,
                    _ => continue,
                };
                // The dash stands out of the text that follows it.
                let wrapped = wrap(&line, self.width, 4);
                let _ = write!(out, "  - {}", &wrapped[4..]);
            }
        }
        out.push('\n');
        out.push_str(&wrap(&t.t(Word::ReadCautions), self.width, 0));
        out
    }

    /// How it is told.
    #[must_use]
    pub fn teller(&self) -> Teller<'static> {
        Teller { language: self.language, imperial: false, date: &|_| String::new() }
    }

    /// What core said.
    #[must_use]
    pub fn told(&self) -> Told<'_> {
        Told {
            reading: &self.answer.reading,
            advice: &self.answer.advice,
            notices: &self.answer.notices,
            shots_left: self.settings.ahead.shots_left,
            touch_cost_points: self.settings.ahead.touch_cost_points,
            distance_m: self.settings.distance.metres(),
        }
    }

    fn bold(&self, text: &str) -> String {
        if !self.colour {
            return text.to_owned();
        }
        let style = Style::new().bold();
        format!("{style}{text}{style:#}")
    }

    fn section(&self, out: &mut String, title: &str, lines: &[String]) {
        let _ = writeln!(out, "\n{}", self.bold(title));
        for line in lines {
            out.push_str(&wrap(line, self.width, 2));
        }
    }

    fn move_lines(&self, t: &Teller<'_>) -> Vec<String> {
        let advice = &self.answer.advice;
        if advice.action != Action::Move {
            return Vec::new();
        }
        let mut lines = vec![t.f(Word::ReadPin, &[&reading::pin(t, advice.pin_mm)])];
        lines.extend(
            [
                scale_words(t, Word::ReadElevation, &self.kit.elevation, advice.pin_mm.y_mm),
                scale_words(t, Word::ReadWindage, &self.kit.windage, advice.pin_mm.x_mm),
            ]
            .into_iter()
            .flatten(),
        );
        lines.extend(self.refined.and_then(|r| refined_line(t, r, advice.clicks[1])));
        lines
    }

    pub(crate) fn group_title(&self, t: &Teller<'_>) -> String {
        let arrows = self.session.shots.len().to_string();
        let mut title = t.f(Word::ReadGroup, &[&arrows, &self.settings.distance.to_string(), self.settings.face.title]);
        if let Some(hand) = self.kit.hand {
            title.push_str(", ");
            title.push_str(&t.t(match hand {
                Hand::Right => Word::RightHanded,
                Hand::Left => Word::LeftHanded,
            }));
        }
        title
    }

    /// The target and its legend.
    fn target(&self, t: &Teller<'_>) -> String {
        let (reading, face) = (&self.answer.reading, self.settings.face);
        let goal = reading.centre - self.answer.advice.shift_mm;
        let mut seen = reading.places.clone();
        seen.push(reading.centre);
        let columns = self.width.min(63).saturating_sub(2);
        let mut canvas = Canvas::new(face, target::view_radius_mm(face, &seen), columns);
        let moved = self.answer.advice.action == Action::Move;
        if moved {
            canvas.way(reading.centre, goal);
            canvas.put(goal, Mark::Goal);
        }
        canvas.put(reading.centre, Mark::Centre);
        let mut used = [false; 4];
        const SHOWN: [Mark; 4] = [Mark::Clean, Mark::Other, Mark::Flyer, Mark::Stray];
        for (i, place) in reading.places.iter().enumerate() {
            let mark = Mark::from(reading.class(i));
            canvas.put(*place, mark);
            if let Some(k) = SHOWN.iter().position(|m| *m == mark) {
                used[k] = true;
            }
        }
        let mut out = String::new();
        for line in canvas.lines(self.colour) {
            let _ = writeln!(out, "{}", format!("  {line}").trim_end());
        }
        let other = if reading.likeliest() == Pattern::Jumped { Word::BeforeTheJump } else { Word::OtherGroup };
        let names = [Word::Clean, other, Word::LegendFlyer, Word::LegendStray];
        let mut legend: Vec<String> = SHOWN
            .iter()
            .zip(names)
            .zip(used)
            .filter(|(_, u)| *u)
            .map(|((m, n), _)| format!("{} {}", m.sign(), t.t(n)))
            .collect();
        legend.push(format!("{} {}", Mark::Centre.sign(), t.t(Word::LegendCentre)));
        if moved {
            legend.push(format!("{} {}", Mark::Goal.sign(), t.t(Word::LegendGoal)));
        }
        if canvas.has_pile() {
            legend.push(t.t(Word::LegendPile));
        }
        out.push_str(&wrap(&legend.join("   "), self.width, 2));
        out
    }

    /// One row a shot: where it landed, what it scored, and what was made of it.
    fn table(&self, t: &Teller<'_>) -> String {
        let told = self.told();
        let shots = &self.session.shots;
        let (ends, arrows) = (shots.iter().any(|s| !s.end.is_empty()), shots.iter().any(|s| !s.arrow.is_empty()));
        let carried = shots.iter().any(|s| s.shot.carry != Point::default());
        let mut rows = Vec::with_capacity(shots.len() + 1);
        let mut head = vec![t.t(Word::ColShot)];
        if ends {
            head.push(t.t(Word::ColEnd));
        }
        if arrows {
            head.push(t.t(Word::ColArrow));
        }
        head.extend([t.t(Word::ColLanded), t.t(Word::ColRing)]);
        if carried {
            head.push(t.t(Word::ColNow));
        }
        head.push(t.t(Word::ColCounts));
        rows.push(head);
        for (i, listed) in shots.iter().enumerate() {
            let mut row = vec![(i + 1).to_string()];
            if ends {
                row.push(goldward_session::problem::plain(&listed.end));
            }
            if arrows {
                row.push(goldward_session::problem::plain(&listed.arrow));
            }
            row.extend([landed(t, &listed.shot), ring(&listed.shot, self.settings)]);
            if carried {
                row.push(place_mm(t.language, self.answer.reading.places[i]));
            }
            row.push(told.counts_as(t, i, listed.shot.felt));
            rows.push(row);
        }
        let columns = rows[0].len();
        let widths: Vec<usize> =
            (0..columns).map(|c| rows.iter().map(|r| r[c].chars().count()).max().unwrap_or(0)).collect();
        let mut out = String::new();
        for row in rows {
            let cells: Vec<String> = row.iter().zip(&widths).map(|(cell, w)| format!("{cell:<w$}")).collect();
            let _ = writeln!(out, "  {}", cells.join("  ").trim_end());
        }
        out
    }
}

/// The clicks of elevation through the flight, where they differ from `similar` by the rule of similar triangles.
fn refined_line(t: &Teller<'_>, refined: &Refined, similar: i32) -> Option<String> {
    let clicks = |n: i32| words::clicks(t.language, [0, n]);
    let told = [refined.marks.to_string(), clicks(refined.clicks), clicks(similar)];
    refined.differ.then(|| t.f(Word::RefinedLine, &told.each_ref().map(String::as_str)))
}

fn scale_words(t: &Teller<'_>, name: Word, scale: &Scale, pin_mm: f64) -> Option<String> {
    if pin_mm.abs() < 1e-9 {
        return None;
    }
    if let Some((now, then)) = scale.readings(pin_mm) {
        let number = |v: f64| t.language.number(&trim_number(v));
        return Some(t.f(name, &[&format!("{} -> {}", number(now), number(then))]));
    }
    let grows = scale.grows_positive? == (pin_mm > 0.0);
    Some(t.f(name, &[&t.t(if grows { Word::CountsUp } else { Word::CountsDown })]))
}

fn landed(t: &Teller<'_>, shot: &Shot) -> String {
    match shot.place {
        Place::At(p) => place_mm(t.language, p),
        Place::Called(call) => t.f(Word::CalledAs, &[&call.to_string()]),
    }
}

/// What a shot scored as it was shot.
fn ring(shot: &Shot, settings: &Settings) -> String {
    let named = |value: u8, inner: bool| match (value, inner) {
        (_, true) => "X".to_owned(),
        (0, _) => "M".to_owned(),
        (value, _) => value.to_string(),
    };
    match shot.place {
        Place::At(p) => {
            let score = settings.face.score(p, settings.shaft);
            named(score.value, score.inner_ten)
        }
        Place::Called(call) => Call { ring: call.ring, clock: None }.to_string(),
    }
}
