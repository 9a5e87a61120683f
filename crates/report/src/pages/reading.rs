//! What one group says: what to do, what it is worth, the group itself, and what to know beside it.

use goldward_core::advice::{Action, Advice};
use goldward_core::group::{Class, Pattern, Reading};
use goldward_core::notice::{Notice, Weight};
use goldward_core::shot::Felt;
use goldward_core::stats::{ELLIPSE_80, HALF_RADIUS};
use goldward_core::units::trim_number;

use crate::item::Item;
use crate::teller::Teller;
use crate::words::{self, Word};

/// What core said of a group, wherever the group came from.
#[derive(Debug, Clone, Copy)]
pub struct Told<'a> {
    /// What the shots say.
    pub reading: &'a Reading,
    /// What to do.
    pub advice: &'a Advice,
    /// What to know beside it.
    pub notices: &'a [Notice],
    /// Shots to come.
    pub shots_left: u32,
    /// Points that a touch has to gain.
    pub touch_cost_points: f64,
    /// Shooting distance, in metres.
    pub distance_m: f64,
}

impl Told<'_> {
    /// What to do, in one line without an end.
    #[must_use]
    pub fn headline(&self, t: &Teller<'_>) -> String {
        words::action(t.language, self.advice)
    }

    /// What the best move is worth, in one sentence or two.
    #[must_use]
    pub fn worth(&self, t: &Teller<'_>) -> String {
        let (l, advice, left) = (t.language, self.advice, self.shots_left.to_string());
        if self.shots_left == 0 {
            return t.t(Word::ReadNoneLeft);
        }
        if advice.best.clicks == [0, 0] || advice.why.is_barred() {
            return t.f(Word::ReadNoGain, &[&left]);
        }
        let [low, high] = advice.gain_interval_points.map(|g| words::points(l, g));
        let gain = words::points(l, advice.best.gain_points);
        let chance = t.percent(advice.p_better);
        let mut text = match advice.action {
            Action::Move => t.f(Word::ReadWorth, &[&gain, &left, &low, &high, &chance]),
            Action::Wait | Action::Leave => {
                let clicks = words::clicks(l, advice.best.clicks);
                t.f(Word::ReadWorthBest, &[&gain, &left, &low, &high, &chance, &clicks])
            }
        };
        if advice.action == Action::Leave && advice.best.gain_points < self.touch_cost_points {
            text.push(' ');
            text.push_str(&t.f(Word::ReadWorthCost, &[&t.number(self.touch_cost_points, 2)]));
        }
        text
    }

    /// Why, what an arrow is expected to score, and when to look again.
    #[must_use]
    pub fn plan(&self, t: &Teller<'_>) -> Vec<String> {
        let (l, advice) = (t.language, self.advice);
        let mut lines = vec![words::why(l, advice.why).to_owned()];
        if advice.why.is_barred() {
            return lines;
        }
        lines.extend(advice.look_after.map(|k| t.f(Word::ReadLook, &[&k.to_string()])));
        let cost = t.number(self.touch_cost_points, 2);
        match advice.more_shots {
            // Where no move promises anything there is nothing to settle.
            0 if advice.best.clicks == [0, 0] => {}
            0 => lines.push(t.f(Word::ReadMoreNone, &[&cost])),
            144.. => lines.push(t.f(Word::ReadMoreMany, &[&cost])),
            k => lines.push(t.f(Word::ReadMore, &[&k.to_string(), &cost])),
        }
        let mut score = t.f(Word::ExpectedNow, &[&l.decimals(advice.expected_score_now, 2)]);
        if advice.action == Action::Move && self.shots_left > 0 {
            let after = advice.expected_score_now + advice.best.gain_points / f64::from(self.shots_left);
            score.push(' ');
            score.push_str(&t.f(Word::ReadScoreAfter, &[&l.decimals(after, 2)]));
        }
        lines.push(score);
        let rule = advice.mean_rule;
        let mut text = t.f(Word::MeanRule, &[&words::clicks(l, rule.clicks)]);
        if rule.clicks != [0, 0] {
            text.push(' ');
            text.push_str(&t.f(Word::ReadMeanWorth, &[&words::points(l, rule.gain_points)]));
        }
        lines.push(text);
        lines
    }

    /// The group in words: its pattern, its centre, its size.
    #[must_use]
    pub fn group(&self, t: &Teller<'_>) -> Vec<String> {
        let (l, reading) = (t.language, self.reading);
        let likeliest = reading.likeliest();
        let chance = |p: Pattern| t.often(reading.probability(p));
        let mut lines = vec![t.f(Word::PatternIs, &[words::pattern(l, likeliest), &chance(likeliest)])];
        let mut others: Vec<Pattern> =
            Pattern::ALL.into_iter().filter(|p| *p != likeliest && reading.probability(*p) > 0.05).collect();
        others.sort_by(|a, b| reading.probability(*b).total_cmp(&reading.probability(*a)));
        if !others.is_empty() {
            let named = others.iter().map(|p| format!("{} ({})", words::pattern(l, *p), chance(*p)));
            lines.push(t.f(Word::PatternElse, &[&named.collect::<Vec<_>>().join(", ")]));
        }
        let centre = words::place(l, t.imperial, reading.centre);
        let word = if likeliest == Pattern::Split { Word::CentreOfBoth } else { Word::CentreIs };
        lines.push(t.f(word, &[&centre, &t.length(ELLIPSE_80 * reading.centre_cov.mean_sd())]));
        lines.push(t.f(Word::SpreadIs, &[&t.length(HALF_RADIUS * reading.spread.mean_sd())]));
        lines
    }

    /// The same in the words of statistics, for whoever asks for them.
    #[must_use]
    pub fn numbers(&self, t: &Teller<'_>) -> String {
        let spread = self.reading.spread.mean_sd();
        t.f(Word::SpreadNumbers, &[&t.length(spread), &t.mrad(spread / self.distance_m)])
    }

    /// What to know beside it; how many more arrows would settle it is said by the plan.
    #[must_use]
    pub fn notices(&self, t: &Teller<'_>) -> Vec<Item> {
        let told = self.notices.iter().filter(|n| !matches!(n, Notice::TooFewShots { .. }));
        told.map(|n| {
            let text = words::notice(t.language, t.imperial, n);
            match n.weight() {
                Weight::Safety => Item::Safety(text),
                Weight::Warning => Item::Warning(text),
                Weight::Note => Item::Note(text),
            }
        })
        .collect()
    }

    /// What is made of shot `i`, and how it felt.
    #[must_use]
    pub fn counts_as(&self, t: &Teller<'_>, i: usize, felt: Felt) -> String {
        let p = self.reading.p_class[i];
        let mut text = match self.reading.class(i) {
            Class::Stray => t.f(Word::CountsStray, &[&t.percent(p[2])]),
            Class::Flyer => t.f(Word::CountsFlyer, &[&t.percent(p[1] + p[2])]),
            class => {
                let other = match (class, self.reading.likeliest()) {
                    (Class::Other, Pattern::Jumped) => Some(Word::BeforeTheJump),
                    (Class::Other, _) => Some(Word::OtherGroup),
                    (_, Pattern::Split) => Some(Word::FirstGroup),
                    _ => None,
                };
                let clean = format!("{} {}", t.t(Word::Clean), t.percent(p[0]));
                other.map_or(clean.clone(), |word| format!("{clean}, {}", t.t(word)))
            }
        };
        let felt = match felt {
            Felt::Bad => Some(Word::FeltBad),
            Felt::Good => Some(Word::FeltGood),
            Felt::Unmarked => None,
        };
        if let Some(word) = felt {
            text = format!("{text} ({})", t.t(word).to_lowercase());
        }
        text
    }

    /// Everything that needs no list of the shots, as a page.
    #[must_use]
    pub fn page(&self, t: &Teller<'_>) -> Vec<Item> {
        self.sections(t, None, t.t(Word::ReadingTitle), &[])
    }

    /// What it is worth, with what was assumed of it, and the group under `title`, with what was done to the sight.
    pub(crate) fn sections(
        &self,
        t: &Teller<'_>,
        assumed: Option<String>,
        title: String,
        done: &[String],
    ) -> Vec<Item> {
        let mut items = vec![Item::Heading(t.t(Word::ReadWorthTitle)), Item::Text(self.worth(t))];
        items.extend(self.plan(t).into_iter().chain(assumed).map(Item::Text));
        items.push(Item::Heading(title));
        items.extend(self.group(t).into_iter().map(Item::Text));
        items.push(Item::Text(self.numbers(t)));
        items.extend(done.iter().cloned().map(Item::Text));
        items
    }
}

/// A move of the pin: `0.5 mm up, 0.2 mm left`.
#[must_use]
pub fn pin(t: &Teller<'_>, p: goldward_core::plane::Point) -> String {
    let one = |value: f64, positive: Word, negative: Word| {
        let text = t.language.number(&trim_number((100.0 * value.abs()).round() / 100.0));
        (text != "0").then(|| format!("{text} mm {}", t.t(if value > 0.0 { positive } else { negative })))
    };
    let parts: Vec<String> =
        [one(p.y_mm, Word::Up, Word::Down), one(p.x_mm, Word::Right, Word::Left)].into_iter().flatten().collect();
    if parts.is_empty() { t.t(Word::NoClicks) } else { parts.join(", ") }
}
