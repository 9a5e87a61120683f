//! The page that tells a person what a group says and what to do: advice first, then what it is worth and why.

use goldward_core::advice::Action;
use goldward_core::group::Pattern;
use goldward_core::plane::Point;
use goldward_core::shot::{Call, Place, Shot};
use goldward_core::units::trim_number;

use crate::draw::target::{self, Mark, Target};
use crate::item::{Item, Picture, Signs};
use crate::pages::drawn;
use crate::pages::reading;
pub use crate::pages::single::Page;
use crate::teller::Teller;
use crate::words::{self, Word, place_mm, remark};
use goldward_session::kit::Scale;
use goldward_session::marks::refined::Refined;
use goldward_session::session::Listed;
use goldward_session::settings::Settings;

impl Page<'_> {
    /// The whole page.
    #[must_use]
    pub fn items(&self, t: &Teller<'_>) -> Vec<Item> {
        let told = self.told();
        let mut items = Vec::new();
        if let Some(wrong) = self.refined.and_then(|r| r.wrong.as_ref()) {
            // A mark of another distance is no fine adjustment: it is told before any click.
            items.push(Item::Answer(t.f(Word::CheckMark, &[&wrong.name])));
            let here = self.settings.distance.to_string();
            items.push(Item::Text(t.f(Word::CheckMarkTold, &[&t.percent(wrong.p), &here, &wrong.reading])));
        }
        items.push(Item::Answer(format!("{}.", told.headline(t))));
        items.extend(self.move_lines(t).into_iter().map(Item::Text));
        let assumed = t.f(Word::ReadAssumed, &[&self.settings.ahead.shots_left.to_string()]);
        let touched = self
            .session
            .touches
            .iter()
            .map(|touch| t.f(Word::ReadTouched, &[&touch.after_shots.to_string(), &reading::pin(t, touch.pin_mm)]));
        items.extend(told.sections(
            t,
            self.left_assumed.then_some(assumed),
            self.group_title(t),
            &touched.collect::<Vec<_>>(),
        ));
        items.push(self.target(t));
        items.push(Item::Heading(t.t(Word::ReadShots)));
        items.push(self.table(t));
        let remarked = self.notes.iter().map(|note| remark(t.language, note)).filter(|line| !line.is_empty());
        let remarked: Vec<Item> = remarked.map(Item::Text).collect();
        if !remarked.is_empty() {
            items.push(Item::Heading(t.t(Word::Remarks)));
            items.extend(remarked);
        }
        let notices = told.notices(t);
        if !notices.is_empty() {
            items.push(Item::Heading(t.t(Word::ReadToKnow)));
            items.extend(notices.into_iter().map(|notice| match notice {
                Item::Safety(text) => Item::Safety(t.f(Word::ReadSafety, &[&text])),
                other => other,
            }));
        }
        items.push(Item::Caution(t.t(Word::ReadCautions)));
        items
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

    /// The target and its legend.
    fn target(&self, t: &Teller<'_>) -> Item {
        let (reading, face) = (&self.answer.reading, self.settings.face);
        let goal = reading.centre - self.answer.advice.shift_mm;
        let moved = self.answer.advice.action == Action::Move;
        let mut marks: Vec<(Point, Mark)> =
            reading.places.iter().enumerate().map(|(i, place)| (*place, Mark::from(reading.class(i)))).collect();
        let other = if reading.likeliest() == Pattern::Jumped { Word::BeforeTheJump } else { Word::OtherGroup };
        let names = [
            (Mark::Clean, Word::Clean),
            (Mark::Other, other),
            (Mark::Flyer, Word::LegendFlyer),
            (Mark::Stray, Word::LegendStray),
            (Mark::Centre, Word::LegendCentre),
            (Mark::Goal, Word::LegendGoal),
        ];
        let mut seen = reading.places.clone();
        seen.push(reading.centre);
        let radius_mm = target::view_radius_mm(face, &seen);
        marks.push((reading.centre, Mark::Centre));
        marks.extend(moved.then_some((goal, Mark::Goal)));
        let used = names.iter().filter(|(mark, _)| marks.iter().any(|(_, m)| m == mark));
        let legend = used.map(|(mark, word)| format!("{} {}", mark.sign(), t.t(*word))).collect();
        let way = moved.then_some([reading.centre, goal]);
        let target = Target { face, radius_mm, marks, way, legend, pile: t.t(Word::LegendPile) };
        Item::Picture(Picture {
            label: format!("{}. {}", self.told().headline(t), self.group_title(t)),
            svg: drawn::reading_svg(self, t),
            signs: Some(Signs::Target(target)),
        })
    }

    /// One row a shot: where it landed, what it scored, and what was made of it.
    fn table(&self, t: &Teller<'_>) -> Item {
        let told = self.told();
        let shots = &self.session.shots;
        let (ends, arrows) = (shots.iter().any(|s| !s.end.is_empty()), shots.iter().any(|s| !s.arrow.is_empty()));
        let carried = shots.iter().any(|s| s.shot.carry != Point::default());
        let columns = [
            (true, Word::ColShot),
            (ends, Word::ColEnd),
            (arrows, Word::ColArrow),
            (true, Word::ColLanded),
            (true, Word::ColRing),
            (carried, Word::ColNow),
            (true, Word::ColCounts),
        ];
        let row = |(i, listed): (usize, &Listed)| {
            let cells = [
                (i + 1).to_string(),
                listed.end.clone(),
                listed.arrow.clone(),
                landed(t, &listed.shot),
                ring(&listed.shot, self.settings),
                place_mm(t.language, self.answer.reading.places[i]),
                told.counts_as(t, i, listed.shot.felt),
            ];
            cells.into_iter().zip(columns).filter(|(_, (shown, _))| *shown).map(|(cell, _)| cell).collect()
        };
        let head = columns.iter().filter(|(shown, _)| *shown).map(|(_, word)| t.t(*word)).collect();
        Item::Table(String::new(), head, shots.iter().enumerate().map(row).collect())
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
