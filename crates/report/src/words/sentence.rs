//! Sentences about numbers: clicks, places, the advice, notices and patterns.

use goldward_core::advice::{Action, Advice, Reason};
use goldward_core::face::Face;
use goldward_core::group::{Class, Pattern};
use goldward_core::notice::{Notice, Runs};
use goldward_core::pace::Answer;
use goldward_core::plane::Point;
use goldward_core::units::trim_number;

use super::{Done, Language, Word, fill};

/// A number of the language, rounded to `decimals`.
fn number(l: Language, value: f64, decimals: i32) -> String {
    let k = 10_f64.powi(decimals);
    l.number(&trim_number((value * k).round() / k))
}

/// Millimetres as a number: whole from ten on, one decimal below.
#[must_use]
pub fn mm(l: Language, value: f64) -> String {
    if value.abs() >= 9.95 { number(l, value, 0) } else { number(l, value, 1) }
}

/// A length on the face with its unit: millimetres, or inches.
#[must_use]
pub fn length(l: Language, imperial: bool, value_mm: f64) -> String {
    if imperial {
        format!("{} in", number(l, value_mm / 25.4, if value_mm.abs() < 254.0 { 1 } else { 0 }))
    } else if value_mm.abs() >= 100.0 {
        format!("{} cm", number(l, value_mm / 10.0, 0))
    } else {
        format!("{} mm", mm(l, value_mm))
    }
}

/// A shooting distance with its unit.
#[must_use]
pub fn distance(l: Language, imperial: bool, metres: f64) -> String {
    if imperial { format!("{} yd", number(l, metres / 0.9144, 1)) } else { format!("{} m", number(l, metres, 1)) }
}

/// A reading of a scale.
#[must_use]
pub fn reading(l: Language, value: f64) -> String {
    number(l, value, 2)
}

/// A move of whole clicks: `5 clicks up, 1 click left`.
#[must_use]
pub fn clicks(l: Language, clicks: [i32; 2]) -> String {
    moves(l, clicks, |n, way| {
        let word = if n == 1 { Word::OneClick } else { Word::ManyClicks };
        fill(word.text(l), &[&n.to_string(), way])
    })
}

/// The same as short as it can be said: `up 5, left 1`.
#[must_use]
pub fn turns(l: Language, clicks: [i32; 2]) -> String {
    moves(l, clicks, |n, way| format!("{way} {n}"))
}

fn moves(l: Language, [right, up]: [i32; 2], say: impl Fn(u32, &str) -> String) -> String {
    let one = |n: i32, positive: Word, negative: Word| {
        let way = if n > 0 { positive } else { negative };
        (n != 0).then(|| say(n.unsigned_abs(), way.text(l)))
    };
    let parts: Vec<String> =
        [one(up, Word::Up, Word::Down), one(right, Word::Right, Word::Left)].into_iter().flatten().collect();
    if parts.is_empty() { Word::NoClicks.text(l).to_owned() } else { parts.join(", ") }
}

/// A place on the face: `42 mm high, 15 mm left`.
#[must_use]
pub fn place(l: Language, imperial: bool, p: Point) -> String {
    placed(l, p, |v| length(l, imperial, v))
}

/// The same to the millimetre, as the rows of a table want it.
#[must_use]
pub fn place_mm(l: Language, p: Point) -> String {
    placed(l, p, |v| format!("{} mm", mm(l, v)))
}

fn placed(l: Language, p: Point, far: impl Fn(f64) -> String) -> String {
    let one = |value: f64, positive: Word, negative: Word| {
        let way = if value > 0.0 { positive } else { negative };
        (value.abs() >= 0.5).then(|| format!("{} {}", far(value.abs()), way.text(l)))
    };
    let parts: Vec<String> =
        [one(p.y_mm, Word::High, Word::Low), one(p.x_mm, Word::Right, Word::Left)].into_iter().flatten().collect();
    if parts.is_empty() { Word::InTheMiddle.text(l).to_owned() } else { parts.join(", ") }
}

/// Points won or lost: `+12`, `-0.3`.
#[must_use]
pub fn points(l: Language, value: f64) -> String {
    let text = if value.abs() >= 9.95 { format!("{value:+.0}") } else { format!("{value:+.1}") };
    let text = if text == "-0.0" { "+0.0".to_owned() } else { text };
    l.number(&text).replace('-', "−")
}

/// A probability, never quite none or all.
#[must_use]
pub fn percent(l: Language, p: f64) -> String {
    match p {
        p if p > 0.99 => Word::OverPercent.text(l).to_owned(),
        p if p < 0.01 => Word::UnderPercent.text(l).to_owned(),
        p => format!("{:.0} %", 100.0 * p),
    }
}

/// How often something is so, in an archer's words: `8 times in 10`, and where that is too coarse `97 times in 100`; never quite none
/// or all.
#[must_use]
pub fn often(l: Language, p: f64) -> String {
    match p {
        p if p > 0.99 => Word::OftenOver.text(l).to_owned(),
        p if p < 0.01 => Word::OftenUnder.text(l).to_owned(),
        p => {
            let of = if (0.1..0.95).contains(&p) { 10.0 } else { 100.0 };
            fill(Word::Often.text(l), &[&format!("{:.0}", of * p), &of.to_string()])
        }
    }
}

/// A pattern in plain words.
#[must_use]
pub fn pattern(l: Language, pattern: Pattern) -> &'static str {
    let word = match pattern {
        Pattern::Steady => Word::PatternSteady,
        Pattern::Split => Word::PatternSplit,
        Pattern::Drifting => Word::PatternDrifting,
        Pattern::Jumped => Word::PatternJumped,
    };
    word.text(l)
}

/// What the archer should do, in a few words.
#[must_use]
pub fn action(l: Language, advice: &Advice) -> String {
    match advice.action {
        Action::Move => fill(Word::TouchNow.text(l), &[&clicks(l, advice.clicks)]),
        Action::Wait => Word::WaitNow.text(l).to_owned(),
        Action::Leave => Word::LeaveIt.text(l).to_owned(),
    }
}

/// What the archer should do, to be read in one look beside the face.
#[must_use]
pub fn headline(l: Language, advice: &Advice) -> String {
    match advice.action {
        // No line begins with the colon.
        Action::Move => fill(Word::TouchNow.text(l), &[&turns(l, advice.clicks)]).replace(" :", "\u{a0}:"),
        _ => action(l, advice),
    }
}

/// Core's reason in the language of the app.
#[must_use]
pub fn why(l: Language, reason: Reason) -> &'static str {
    let word = match reason {
        Reason::NoShots => Word::WhyNoShots,
        Reason::Within => Word::WhyWithin,
        Reason::NoTime => Word::WhyNoTime,
        Reason::MayShow => Word::WhyMore,
        Reason::TooLittle => Word::WhyLess,
        Reason::Now => Word::WhyNow,
        Reason::Teach => Word::WhyTeach,
        Reason::LessThanCost => Word::WhyLessShort,
        Reason::OnlyMisses => Word::WhyOnlyMisses,
        Reason::NoSide => Word::WhyNoSide,
        Reason::OnlyBad => Word::WhyOnlyBad,
    };
    word.text(l)
}

/// What the best move is worth.
#[must_use]
pub fn worth(l: Language, answer: &Answer) -> String {
    if answer.shots_left == 0 || answer.advice.why.is_barred() {
        // Nothing is gained over no arrows, and nothing is known from shots that tell no side: why says so.
        return String::new();
    }
    let arrows = answer.shots_left.to_string();
    let advice = &answer.advice;
    match answer.advice.action {
        Action::Move => fill(
            Word::Worth.text(l),
            &[
                &points(l, advice.best.gain_points),
                &arrows,
                &points(l, advice.gain_interval_points[0]),
                &points(l, advice.gain_interval_points[1]),
            ],
        ),
        Action::Wait => {
            let best = advice.plan.wait.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
            match best {
                Some((k, value)) if *value > advice.plan.now => {
                    let (after, gain) = ((k + 1).to_string(), points(l, value - advice.plan.now));
                    // Where there is no move to compare with, only looking again is spoken of.
                    if advice.best.clicks == [0, 0] {
                        fill(Word::WorthLater.text(l), &[&after, &gain])
                    } else {
                        fill(Word::WorthWait.text(l), &[&clicks(l, advice.best.clicks), &after, &gain])
                    }
                }
                _ => fill(Word::WorthLeave.text(l), &[&points(l, advice.best.gain_points), &arrows]),
            }
        }
        Action::Leave => fill(Word::WorthLeave.text(l), &[&points(l, advice.best.gain_points), &arrows]),
    }
}

/// The one line after a shot, for screen readers and reports: what to do and what it is worth.
#[must_use]
pub fn advice_line(l: Language, answer: &Answer) -> String {
    format!("{}. {}", action(l, &answer.advice), worth(l, answer)).trim_end().to_owned()
}

/// A notice in the language of the app.
#[must_use]
pub fn notice(l: Language, imperial: bool, notice: &Notice) -> String {
    let list = |shots: &[usize]| shots.iter().map(usize::to_string).collect::<Vec<_>>().join(", ");
    match notice {
        Notice::TooFewShots { shots, more } => fill(Word::NoteFew.text(l), &[&shots.to_string(), &more.to_string()]),
        Notice::TwoClusters { p, first, second } => {
            fill(Word::NoteSplit.text(l), &[&often(l, *p), &list(first), &list(second)])
        }
        Notice::Drifting { p } => fill(Word::NoteDrift.text(l), &[&often(l, *p)]),
        Notice::Jumped { p, before_shot } => fill(Word::NoteJump.text(l), &[&often(l, *p), &before_shot.to_string()]),
        Notice::Elongated { long_mm, short_mm, runs } => {
            let word = match runs {
                Runs::Sideways => Word::NoteLineSideways,
                Runs::Upright => Word::NoteLineUpright,
                _ => Word::NoteLineSlanting,
            };
            fill(word.text(l), &[&length(l, imperial, *long_mm), &length(l, imperial, *short_mm)])
        }
        Notice::Stray { shot, p } => fill(Word::NoteStray.text(l), &[&shot.to_string(), &often(l, *p)]),
        Notice::Flyer { shot, p } => fill(Word::NoteFlyer.text(l), &[&shot.to_string(), &often(l, *p)]),
        Notice::WrongMark { centre } => fill(Word::NoteWrongMark.text(l), &[&length(l, imperial, centre.radius_mm())]),
        Notice::Misses { misses } => fill(Word::NoteMisses.text(l), &[&misses.to_string()]),
        Notice::ShaftTooWide { shaft_mm, limit_mm, edition } => {
            let mm = |v: f64| format!("{} mm", number(l, v, 2));
            fill(Word::NoteWide.text(l), &[&mm(*shaft_mm), &mm(*limit_mm), edition])
        }
        Notice::SearchDropped { mass } => fill(Word::NoteSearch.text(l), &[&percent(l, *mass)]),
        Notice::InspectArrow { shot } => fill(Word::NoteInspect.text(l), &[&shot.to_string()]),
        Notice::UnprovenSetting => Word::NoteUnproven.text(l).to_owned(),
        // Core may know more one day; its name is better than silence.
        other => other.kind().replace('_', " "),
    }
}

/// What could be behind a pattern and a centre that is off, for this hand: possibilities, likeliest to look at first.
///
/// `left_handed` is whether the left hand draws. Common practice among coaches, no source.
#[must_use]
pub fn causes(answer: &Answer, face_mm: f64, left_handed: bool) -> Vec<Word> {
    let mut out = Vec::new();
    match answer.reading.likeliest() {
        Pattern::Split => out.extend([Word::CauseTwoArrows, Word::CauseTwoAnchors]),
        Pattern::Drifting => out.push(Word::CauseTiring),
        Pattern::Jumped => out.extend([Word::CauseSlip, Word::CauseNocking]),
        Pattern::Steady => {}
    }
    let c = answer.reading.centre;
    let sd = answer.reading.centre_cov;
    let off = |value: f64, variance: f64| value.abs() > 2.0 * variance.max(0.0).sqrt() && value.abs() > 0.04 * face_mm;
    if off(c.x_mm, sd.xx) {
        // A right hand that swings out sends arrows to the left, a left hand to the right.
        match (c.x_mm < 0.0, left_handed) {
            (true, false) => out.push(Word::CauseReleaseLeft),
            (false, true) => out.push(Word::CauseReleaseRight),
            _ => {}
        }
        out.extend([Word::CauseAlignment, Word::CauseWindSide]);
    }
    if off(c.y_mm, sd.yy) {
        out.push(if c.y_mm > 0.0 { Word::CauseAnchorHigh } else { Word::CauseAnchorLow });
        if !out.contains(&Word::CauseNocking) {
            out.push(Word::CauseNocking);
        }
    }
    let wide = |i| matches!(answer.reading.class(i), Class::Flyer | Class::Stray);
    if (0..answer.reading.p_class.len()).any(wide) {
        out.push(Word::CauseDamaged);
    }
    if out.is_empty() {
        out.push(Word::CauseNothing);
    }
    out
}

/// A face in a few signs: its size, spots, and what its zones count.
#[must_use]
pub fn face_title(l: Language, face: &Face) -> String {
    let cm = face.name.split('-').find(|p| p.chars().all(|c| c.is_ascii_digit())).unwrap_or("");
    let values = |a: u8, b: u8| format!("{a}–{b}");
    let range = values(face.highest_value(), face.zones.last().map_or(0, |z| z.value));
    let spots = if face.spots.len() > 1 { format!(" ×{}", face.spots.len()) } else { String::new() };
    let shape = match (face.name.contains("3v"), face.name.contains("3t")) {
        (true, _) => " ⋮",
        (_, true) => " ∴",
        _ => "",
    };
    let compound = if face.name.ends_with("-c") { format!(" · {} X", face.highest_value()) } else { String::new() };
    let field = if face.name.starts_with("field") {
        match l {
            Language::English => "field ",
            Language::German => "Feld ",
            Language::French => "campagne ",
        }
    } else {
        ""
    };
    format!("{field}{cm} cm{spots}{shape} · {range}{compound}")
}

/// What a face is, in full.
#[must_use]
pub fn face_in_full(l: Language, face: &Face) -> String {
    let parts: Vec<&str> = face.name.split('-').collect();
    let cm = parts.iter().find(|p| p.parse::<u16>().is_ok_and(|n| n > 9)).copied().unwrap_or_default();
    let what = match parts[..] {
        [_] => Done::FaceTen,
        [_, "6"] => Done::FaceSix,
        [_, "5"] => Done::FaceFive,
        [_, "3v"] => Done::FaceColumn,
        [_, "3t"] => Done::FaceTriangle,
        [_, "c"] => Done::FaceCompound,
        [_, "3v", "c"] => Done::FaceColumnCompound,
        ["field", _] => Done::FaceField,
        _ => return face.title.to_owned(),
    };
    what.with(l, &[cm])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn signs_become_words_in_every_language() {
        assert_eq!(clicks(Language::English, [-1, 5]), "5 clicks up, 1 click left");
        assert_eq!(clicks(Language::German, [2, 0]), "2 Klicks rechts");
        assert_eq!(clicks(Language::French, [0, 0]), "aucun clic");
        assert_eq!(place(Language::English, false, Point::new(-15.2, 42.4)), "42 mm high, 15 mm left");
        assert_eq!(place(Language::German, false, Point::new(0.1, -3.25)), "3,3 mm tief");
        assert_eq!(points(Language::German, 1.25), "+1,2");
        assert_eq!(distance(Language::English, true, 54.864), "60 yd");
        assert_eq!(length(Language::French, false, 253.0), "25 cm");
    }

    #[test]
    fn every_face_has_its_title_in_every_language() {
        for face in Face::all() {
            assert_eq!(face_in_full(Language::English, face), face.title);
            assert_ne!(face_in_full(Language::German, face), face.title, "{}", face.name);
            assert_ne!(face_in_full(Language::French, face), face.title, "{}", face.name);
        }
    }
}
