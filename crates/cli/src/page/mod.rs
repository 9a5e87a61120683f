//! The page that tells a person what a group says and what to do: advice first, then what it is worth and why.

pub mod drawing;
pub mod target;

use std::fmt::Write as _;

use anstyle::Style;
use goldward_core::advice::Action;
use goldward_core::group::{Class, Pattern};
use goldward_core::notice::{Notice, Weight};
use goldward_core::plane::Point;
use goldward_core::shot::{Call, Felt, Place, Shot};
use goldward_core::stats::{ELLIPSE_80, HALF_RADIUS};
use goldward_core::units::trim_number;

use crate::refined::Refined;
use crate::words;
use goldward_session::answer::Answer;
use goldward_session::kit::{Hand, Kit, Scale};
use goldward_session::session::Session;
use goldward_session::settings::Settings;
use target::{Canvas, Mark};

/// The cautions that close every page.
pub const CAUTIONS: &str = "Safety: inspect your arrows before you shoot them again; shoot a new or predicted mark first at a \
                            close distance with a safe overshoot behind the target; the range captain and the rules come first.";

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
    /// Columns to fill.
    pub width: usize,
    /// Whether to use colour.
    pub colour: bool,
}

/// The advice in one line.
#[must_use]
pub fn headline(answer: &Answer) -> String {
    match answer.advice.action {
        Action::Move => format!("Move the sight: {}", words::clicks(answer.advice.clicks)),
        Action::Wait => "Shoot on, the sight as it is".to_owned(),
        Action::Leave => "Leave the sight".to_owned(),
    }
}

/// What the best move is worth, in one sentence.
#[must_use]
pub fn worth(answer: &Answer, settings: &Settings) -> String {
    let (advice, left) = (&answer.advice, settings.ahead.shots_left);
    if left == 0 {
        return "No arrows are left at this distance, so no move can gain anything now.".to_owned();
    }
    let left = if left == 1 { "arrow left".to_owned() } else { format!("{left} arrows left") };
    if advice.best.clicks == [0, 0] {
        return format!("No move of the sight is expected to gain anything over the {left}.");
    }
    let [low, high] = advice.gain_interval_points.map(words::points);
    let what = match advice.action {
        Action::Move => "It is worth".to_owned(),
        Action::Wait | Action::Leave => format!("The best move ({}) would be worth", words::clicks(advice.best.clicks)),
    };
    let mut text = format!(
        "{what} about {} points over the {left} (80 % between {low} and {high}); the chance that it helps is {}.",
        words::points(advice.best.gain_points),
        words::percent(advice.p_better)
    );
    if advice.action == Action::Leave && advice.best.gain_points < settings.ahead.touch_cost_points {
        let cost = trim_number(settings.ahead.touch_cost_points);
        let _ = write!(text, " That is less than the {cost} points a touch has to gain.");
    }
    text
}

impl Page<'_> {
    /// The whole page.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::new();
        if let Some(wrong) = self.refined.and_then(|r| r.wrong.as_ref()) {
            // A mark of another distance is no fine adjustment: it is told before any click.
            let title = format!("Check the mark first: this looks like the {} mark", wrong.name);
            let _ = writeln!(out, "{}.", self.bold(&title));
            let text = format!(
                "The group lies where that mark would put it (chance {}). The mark of {} is {}: read the scale, set it, and shoot \
                 again close and with a safe overshoot. Only if it was set right, the sight wants this:",
                words::percent(wrong.p),
                self.settings.distance,
                wrong.reading
            );
            out.push_str(&words::wrap(&text, self.width, 2));
        }
        let _ = writeln!(out, "{}.", self.bold(&headline(self.answer)));
        for line in self.move_lines() {
            out.push_str(&words::wrap(&line, self.width, 2));
        }
        self.section(&mut out, "What it is worth", &self.worth_lines());
        self.section(&mut out, &self.group_title(), &self.group_lines());
        out.push('\n');
        out.push_str(&self.target());
        let _ = writeln!(out, "\n{}", self.bold("Which shots counted"));
        out.push_str(&self.table());
        let notices = self.notice_lines();
        if !notices.is_empty() {
            let _ = writeln!(out, "\n{}", self.bold("To know"));
            for line in notices {
                // The dash stands out of the text that follows it.
                let wrapped = words::wrap(&line, self.width, 4);
                let _ = write!(out, "  - {}", &wrapped[4..]);
            }
        }
        out.push('\n');
        out.push_str(&words::wrap(CAUTIONS, self.width, 0));
        out
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
            out.push_str(&words::wrap(line, self.width, 2));
        }
    }

    fn move_lines(&self) -> Vec<String> {
        let advice = &self.answer.advice;
        if advice.action != Action::Move {
            return Vec::new();
        }
        let way: Vec<&str> = [
            (advice.clicks[1] > 0, "up"),
            (advice.clicks[1] < 0, "down"),
            (advice.clicks[0] < 0, "left"),
            (advice.clicks[0] > 0, "right"),
        ]
        .into_iter()
        .filter_map(|(is, text)| is.then_some(text))
        .collect();
        let mut lines = vec![format!(
            "That is {} at the pin as you see it. The sight follows the arrows: the pin goes {}, where they land.",
            words::pin(advice.pin_mm),
            way.join(" and ")
        )];
        let scales: Vec<String> = [
            ("elevation", &self.kit.elevation, advice.pin_mm.y_mm),
            ("windage", &self.kit.windage, advice.pin_mm.x_mm),
        ]
        .into_iter()
        .filter_map(|(name, scale, pin_mm)| scale_words(name, scale, pin_mm))
        .collect();
        if !scales.is_empty() {
            lines.push(format!("{}.", capital(&scales.join("; "))));
        }
        lines.extend(self.refined.and_then(|r| r.line(advice.clicks[1])));
        lines
    }

    fn worth_lines(&self) -> Vec<String> {
        let (advice, ahead) = (&self.answer.advice, &self.settings.ahead);
        let mut lines = vec![worth(self.answer, self.settings)];
        let mut score = format!("As it is, an arrow is expected to score {:.2}", advice.expected_score_now);
        if advice.action == Action::Move && ahead.shots_left > 0 {
            let after = advice.expected_score_now + advice.best.gain_points / f64::from(ahead.shots_left);
            let _ = write!(score, "; after the move, {after:.2}");
        }
        lines.push(score + ".");
        lines.push(words::why(advice.why).to_owned());
        lines.extend(words::look(advice));
        lines.extend(words::more(advice, ahead.touch_cost_points));
        let rule = advice.mean_rule;
        lines.push(if rule.clicks == [0, 0] {
            "Rule of thumb (move by the mean of all arrows): no clicks.".to_owned()
        } else {
            format!(
                "Rule of thumb (move by the mean of all arrows): {}, worth about {} points.",
                words::clicks(rule.clicks),
                words::points(rule.gain_points)
            )
        });
        if self.left_assumed {
            lines.push(format!("{} arrows left are assumed; say --left to change that.", ahead.shots_left));
        }
        lines
    }

    fn group_title(&self) -> String {
        let mut title = format!(
            "The group: {} at {} on {}",
            words::arrows(self.session.shots.len()),
            self.settings.distance,
            self.settings.face.title
        );
        if let Some(hand) = self.kit.hand {
            title.push_str(match hand {
                Hand::Right => ", right-handed",
                Hand::Left => ", left-handed",
            });
        }
        title
    }

    fn group_lines(&self) -> Vec<String> {
        let reading = &self.answer.reading;
        let spread = reading.spread.mean_sd();
        let mut lines = vec![
            format!(
                "{} {}; with 80 % certainty within {} mm of there.",
                if reading.likeliest() == Pattern::Split { "The centre of both together is" } else { "Its centre is" },
                words::place(reading.centre),
                words::mm(ELLIPSE_80 * reading.centre_cov.mean_sd())
            ),
            format!(
                "Its size: half of the clean arrows land within {} mm of its centre (spread {} mm an axis, {:.1} mrad).",
                words::mm(HALF_RADIUS * spread),
                words::mm(spread),
                spread / self.settings.distance.metres()
            ),
        ];
        let likeliest = reading.likeliest();
        let mut pattern =
            format!("Its pattern: {} ({}", words::pattern(likeliest), words::percent(reading.probability(likeliest)));
        if likeliest == Pattern::Jumped {
            let _ = write!(pattern, ", before shot {}", reading.jumped_before().map_or(1, |i| i + 1));
        }
        let second = Pattern::ALL
            .into_iter()
            .filter(|p| *p != likeliest)
            .max_by(|a, b| reading.probability(*a).total_cmp(&reading.probability(*b)));
        if let Some(p) = second.filter(|p| reading.probability(*p) > 0.15) {
            let _ = write!(pattern, "; else {}, {}", words::pattern(p), words::percent(reading.probability(p)));
        }
        lines.push(pattern + ").");
        for touch in &self.session.touches {
            lines.push(format!(
                "After shot {} the pin was moved {}: the shots before are drawn where they would land now.",
                touch.after_shots,
                words::pin(touch.pin_mm)
            ));
        }
        lines
    }

    /// The target and its legend.
    fn target(&self) -> String {
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
        let other = if reading.likeliest() == Pattern::Jumped { "before the jump" } else { "second group" };
        let names = ["clean", other, "flyer", "stray"];
        let mut legend: Vec<String> = SHOWN
            .iter()
            .zip(names)
            .zip(used)
            .filter(|(_, u)| *u)
            .map(|((m, n), _)| format!("{} {n}", m.sign()))
            .collect();
        legend.push(format!("{} centre", Mark::Centre.sign()));
        if moved {
            legend.push(format!("{} where the move takes it", Mark::Goal.sign()));
        }
        if canvas.has_pile() {
            legend.push("2 to 9: shots in one place".to_owned());
        }
        out.push_str(&words::wrap(&legend.join("   "), self.width, 2));
        out
    }

    /// One row a shot: where it landed, what it scored, and what was made of it.
    fn table(&self) -> String {
        let shots = &self.session.shots;
        let (ends, arrows) = (shots.iter().any(|s| !s.end.is_empty()), shots.iter().any(|s| !s.arrow.is_empty()));
        let carried = shots.iter().any(|s| s.shot.carry != Point::default());
        let mut rows = Vec::with_capacity(shots.len() + 1);
        let mut head = vec!["shot".to_owned()];
        if ends {
            head.push("end".to_owned());
        }
        if arrows {
            head.push("arrow".to_owned());
        }
        head.extend(["landed".to_owned(), "ring".to_owned()]);
        if carried {
            head.push("would land now".to_owned());
        }
        head.push("counts as".to_owned());
        rows.push(head);
        for (i, listed) in shots.iter().enumerate() {
            let mut row = vec![(i + 1).to_string()];
            if ends {
                row.push(goldward_session::problem::plain(&listed.end));
            }
            if arrows {
                row.push(goldward_session::problem::plain(&listed.arrow));
            }
            row.extend([landed(&listed.shot), ring(&listed.shot, self.settings)]);
            if carried {
                row.push(words::place(self.answer.reading.places[i]));
            }
            row.push(self.counts_as(i));
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

    fn counts_as(&self, i: usize) -> String {
        let p = self.answer.reading.p_class[i];
        let mut text = match self.answer.reading.class(i) {
            Class::Stray => format!("stray {}, hardly counts", words::percent(p[2])),
            Class::Flyer => format!("flyer {}, counts little", words::percent(p[1] + p[2])),
            class => {
                let other = match (class, self.answer.reading.likeliest()) {
                    (Class::Other, Pattern::Jumped) => ", before the jump",
                    (Class::Other, _) => ", second group",
                    (_, Pattern::Split) => ", first group",
                    _ => "",
                };
                format!("clean {}{other}", words::percent(p[0]))
            }
        };
        match self.session.shots[i].shot.felt {
            Felt::Bad => text.push_str(" (felt bad)"),
            Felt::Good => text.push_str(" (felt good)"),
            Felt::Unmarked => {}
        }
        text
    }

    fn notice_lines(&self) -> Vec<String> {
        // The page has its own words for how many more would settle it.
        let told = |n: &&Notice| !matches!(n, Notice::TooFewShots { .. });
        let said = |n: &Notice| match n.weight() {
            Weight::Safety => format!("SAFETY: {}", n.text()),
            Weight::Warning | Weight::Note => n.text(),
        };
        self.answer.notices.iter().filter(told).map(said).collect()
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

fn scale_words(name: &str, scale: &Scale, pin_mm: f64) -> Option<String> {
    if pin_mm.abs() < 1e-9 {
        return None;
    }
    if let Some((now, then)) = scale.readings(pin_mm) {
        return Some(format!("{name} scale {} -> {}", trim_number(now), trim_number(then)));
    }
    let grows = scale.grows_positive? == (pin_mm > 0.0);
    Some(format!("the {name} scale counts {}", if grows { "up" } else { "down" }))
}

fn landed(shot: &Shot) -> String {
    match shot.place {
        Place::At(p) => words::place(p),
        Place::Called(call) => format!("called {call}"),
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
