//! Warnings as data: what an archer should know beside the advice, and what to do next.
//!
//! A terminal and a screen render the same notices, from their fields; [`Notice::kind`] is a stable name for machines.

use crate::advice::{Action, Advice, Reason};
use crate::face::{Face, RuleLimits};
use crate::group::{Class, Pattern, Reading, TRUST_PREDICTED};
use crate::plane::Point;
use crate::shot::{Place, Ring, Shot};
use crate::stats::roundness;
use crate::units::Shaft;

/// How much a notice matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Weight {
    /// Good to know.
    Note,
    /// The advice may mislead unless this is heeded.
    Warning,
    /// Somebody could be hurt.
    Safety,
}

/// How a line of arrows runs on the face.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Runs {
    /// Within 30 degrees of left and right.
    Sideways,
    /// Within 30 degrees of up and down.
    Upright,
    /// From low left to high right.
    Rising,
    /// From high left to low right.
    Falling,
}

impl Runs {
    fn of(direction_rad: f64) -> Self {
        match direction_rad.to_degrees() {
            d if d.abs() <= 30.0 => Self::Sideways,
            d if d.abs() >= 60.0 => Self::Upright,
            d if d > 0.0 => Self::Rising,
            _ => Self::Falling,
        }
    }
}

/// One thing to know.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Notice {
    /// The evidence is thin.
    TooFewShots {
        /// How many shots there were.
        shots: usize,
        /// How many more would settle the question.
        more: u32,
    },
    /// Two processes took turns.
    TwoClusters {
        /// Probability of the pattern.
        p: f64,
        /// Shots (from 1) that are likely in the first shot's group.
        first: Vec<usize>,
        /// The others.
        second: Vec<usize>,
    },
    /// The group moves steadily.
    Drifting {
        /// Probability of the pattern.
        p: f64,
    },
    /// The group moved once.
    Jumped {
        /// Probability of the pattern.
        p: f64,
        /// The likeliest first shot after the jump, from 1.
        before_shot: usize,
    },
    /// The group is a line rather than round.
    Elongated {
        /// Its extent along the line, in millimetres.
        long_mm: f64,
        /// Its extent across the line, in millimetres.
        short_mm: f64,
        /// How the line runs.
        runs: Runs,
    },
    /// One shot does not belong to the group.
    Stray {
        /// Which shot, from 1.
        shot: usize,
        /// Probability that it is a stray.
        p: f64,
    },
    /// One shot flew wider than the group, though it may belong to the same process.
    Flyer {
        /// Which shot, from 1.
        shot: usize,
        /// Probability that it is a flyer or a stray.
        p: f64,
    },
    /// The centre is so far off that the mark itself must be wrong.
    WrongMark {
        /// Where the centre is, in millimetres.
        centre: Point,
    },
    /// Missed shots count, but tell little of where they went.
    Misses {
        /// How many.
        misses: usize,
    },
    /// The shaft is wider than the rules allow.
    ShaftTooWide {
        /// The shaft, in millimetres.
        shaft_mm: f64,
        /// The limit, in millimetres.
        limit_mm: f64,
        /// Where the limit comes from.
        edition: &'static str,
    },
    /// The search dropped more probability than it should.
    SearchDropped {
        /// How much.
        mass: f64,
    },
    /// An arrow that strayed must be looked at before it is shot again.
    InspectArrow {
        /// Which shot, from 1.
        shot: usize,
    },
    /// A setting nobody has shot is first shot close.
    UnprovenSetting,
}

impl Notice {
    /// A stable name for machines and message catalogues.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Self::TooFewShots { .. } => "too_few_shots",
            Self::TwoClusters { .. } => "two_clusters",
            Self::Drifting { .. } => "drifting",
            Self::Jumped { .. } => "jumped",
            Self::Elongated { .. } => "elongated",
            Self::Stray { .. } => "stray",
            Self::Flyer { .. } => "flyer",
            Self::WrongMark { .. } => "wrong_mark",
            Self::Misses { .. } => "misses",
            Self::ShaftTooWide { .. } => "shaft_too_wide",
            Self::SearchDropped { .. } => "search_dropped",
            Self::InspectArrow { .. } => "inspect_arrow",
            Self::UnprovenSetting => "unproven_setting",
        }
    }

    /// How much it matters.
    #[must_use]
    pub fn weight(&self) -> Weight {
        match self {
            Self::TooFewShots { .. } | Self::Elongated { .. } | Self::Flyer { .. } | Self::Misses { .. } => {
                Weight::Note
            }
            Self::InspectArrow { .. } | Self::UnprovenSetting => Weight::Safety,
            _ => Weight::Warning,
        }
    }
}

/// Everything the notices look at.
#[derive(Debug)]
pub struct Context<'a> {
    /// The shots as they were read.
    pub shots: &'a [Shot],
    /// What they say.
    pub reading: &'a Reading,
    /// What follows from it.
    pub advice: &'a Advice,
    /// The face.
    pub face: &'a Face,
    /// The shaft.
    pub shaft: Shaft,
    /// The limits of the rules.
    pub limits: &'a RuleLimits,
    /// Trust of the setting before the first of these shots.
    pub trust: f64,
}

/// What an archer should know beside the advice, the weightiest first.
#[must_use]
pub fn notices(context: &Context<'_>) -> Vec<Notice> {
    let Context { shots, reading, advice, face, shaft, limits, trust } = context;
    let mut out = Vec::new();

    // A touch is far when it moves the arrows by more than half the face: then the next arrow's flight is unproven.
    let far = advice.shift_mm.radius_mm() > 0.5 * face.outer_radius_mm();
    let wrong_mark = {
        // Beyond the blue on an ordinary face, and by far more than its own uncertainty.
        let off = reading.centre.radius_mm();
        !shots.is_empty() && off > 0.5 * face.outer_radius_mm() && off > 4.0 * reading.centre_cov.mean_sd()
    };
    let lost = advice.why == Reason::OnlyMisses;
    if advice.action == Action::Move && far || wrong_mark || lost || (*trust < TRUST_PREDICTED && shots.len() < 3) {
        out.push(Notice::UnprovenSetting);
    }
    for (i, p) in reading.p_class.iter().enumerate() {
        match reading.class(i) {
            Class::Stray => {
                out.push(Notice::Stray { shot: i + 1, p: p[2] });
                out.push(Notice::InspectArrow { shot: i + 1 });
            }
            Class::Flyer => out.push(Notice::Flyer { shot: i + 1, p: p[1] + p[2] }),
            Class::Clean | Class::Other => {}
        }
    }
    if wrong_mark {
        out.push(Notice::WrongMark { centre: reading.centre });
    }
    let p = |pattern| reading.probability(pattern);
    if p(Pattern::Split) > 0.5 {
        let (second, first): (Vec<usize>, Vec<usize>) =
            (1..=shots.len()).partition(|i| reading.other_group[i - 1] > 0.5);
        out.push(Notice::TwoClusters { p: p(Pattern::Split), first, second });
    }
    if p(Pattern::Drifting) > 0.5 {
        out.push(Notice::Drifting { p: p(Pattern::Drifting) });
    }
    if p(Pattern::Jumped) > 0.5 {
        let before_shot = reading.jumped_before().map_or(1, |i| i + 1);
        out.push(Notice::Jumped { p: p(Pattern::Jumped), before_shot });
    }
    out.extend(elongated(shots, reading));
    // Where the shots do not speak of the sight more of the same settle nothing.
    if advice.more_shots > 0 && !shots.is_empty() && !advice.why.is_barred() {
        out.push(Notice::TooFewShots { shots: shots.len(), more: advice.more_shots });
    }
    let misses = shots.iter().filter(|s| matches!(s.place, Place::Called(c) if c.ring == Ring::Miss)).count();
    if misses > 0 {
        out.push(Notice::Misses { misses });
    }
    if shaft.diameter_mm() > limits.shaft_max_mm {
        out.push(Notice::ShaftTooWide {
            shaft_mm: shaft.diameter_mm(),
            limit_mm: limits.shaft_max_mm,
            edition: limits.edition,
        });
    }
    if reading.dropped_mass > 0.01 {
        out.push(Notice::SearchDropped { mass: reading.dropped_mass });
    }
    out.sort_by_key(|n| std::cmp::Reverse(n.weight()));
    out
}

/// Chance of a line where there is none, at which it is told.
const LINE_P: f64 = 0.002;

/// Whether the clean shots with a place of their own lie in a line. A group that is two, or that moved, has its own notice.
fn elongated(shots: &[Shot], reading: &Reading) -> Option<Notice> {
    // Two groups that are told apart by a line would be taken for one.
    if reading.probability(Pattern::Steady) < 0.8 {
        return None;
    }
    let clean = |i: &usize| reading.class(*i) == Class::Clean;
    let place = |i: usize| if let Place::At(p) = shots[i].place { Some(p) } else { None };
    let places: Vec<Point> = (0..shots.len()).filter(clean).filter_map(place).collect();
    let shape = roundness::shape(&places).ok().filter(|s| s.p < LINE_P && s.long > 3.0 * s.short)?;
    Some(Notice::Elongated { long_mm: shape.long, short_mm: shape.short, runs: Runs::of(shape.direction_rad) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::face::DEFAULT_LIMITS;
    use crate::group::{ClassOdds, Prior, read};
    use crate::score::Scorer;
    use crate::sight::Sight;
    use crate::units::{Distance, Spread};

    /// What is said of a group whose second shot has these class probabilities.
    fn said(p: [f64; 3]) -> (Class, Vec<Notice>) {
        let (face, shaft) = (Face::named("122").unwrap(), Shaft::default());
        let distance = Distance::from_metres(70.0).unwrap();
        let prior = Prior::new(Spread::from_mrad(3.0).unwrap(), distance, 4.0, 6.0).unwrap();
        let shots: Vec<Shot> = (0..4).map(|i| Shot::at(f64::from(i) * 30.0, 10.0)).collect();
        let mut reading = read(&shots, &prior, ClassOdds::default(), face, shaft).unwrap();
        reading.p_class[1] = p;
        let ahead = crate::advice::Ahead::new(12, 1.0);
        let scorer = Scorer::new(face, shaft);
        let advice =
            crate::advice::advise(&reading, &scorer, &Sight::default(), distance, ClassOdds::default(), &ahead);
        let limits = &DEFAULT_LIMITS;
        let said =
            notices(&Context { shots: &shots, reading: &reading, advice: &advice, face, shaft, limits, trust: 6.0 });
        (reading.class(1), said)
    }

    #[test]
    fn a_string_of_arrows_is_told_and_a_round_group_is_not() {
        let (face, shaft) = (Face::named("122").unwrap(), Shaft::default());
        let distance = Distance::from_metres(70.0).unwrap();
        let prior = Prior::new(Spread::from_mrad(1.5).unwrap(), distance, 4.0, 6.0).unwrap();
        let told = |shots: &[Shot]| {
            let reading = read(shots, &prior, ClassOdds::default(), face, shaft).unwrap();
            elongated(shots, &reading)
        };
        let string = [(-125.0, 4.0), (-70.0, -6.0), (-20.0, 6.0), (30.0, -3.0), (80.0, 2.0), (125.0, -1.0)];
        let sideways = [3, 0, 5, 1, 4, 2].map(|i: usize| Shot::at(string[i].0, string[i].1));
        assert!(matches!(told(&sideways), Some(Notice::Elongated { runs: Runs::Sideways, .. })));
        let mixed = [3, 0, 5, 1, 4, 2].map(|i: usize| Shot::at(string[i].1, string[i].0));
        let Some(notice @ Notice::Elongated { long_mm, short_mm, .. }) = told(&mixed) else { panic!() };
        assert!((long_mm - 250.0).abs() < 4.0 && (short_mm - 12.0).abs() < 4.0);
        assert!(matches!(notice, Notice::Elongated { runs: Runs::Upright, .. }), "{notice:?}");
        // Four in the gold and two low left lie on a line too.
        let two = [(3.0, 5.0), (-10.0, 14.0), (15.0, -16.0), (-18.0, 5.0), (-177.0, -190.0), (-183.0, -203.0)];
        assert_eq!(told(&two.map(|(u, v)| Shot::at(u, v))), None);
        let round = [(-90.0, 40.0), (70.0, -60.0), (-20.0, 96.0), (30.0, -83.0), (80.0, 42.0), (-60.0, -31.0)];
        assert_eq!(told(&round.map(|(u, v)| Shot::at(u, v))), None);
    }

    #[test]
    fn of_misses_alone_the_cautions_are_told_and_no_number() {
        let (face, shaft) = (Face::named("122").unwrap(), Shaft::default());
        let distance = Distance::from_metres(70.0).unwrap();
        let prior = Prior::new(Spread::from_mrad(1.5).unwrap(), distance, 4.0, 6.0).unwrap();
        let shots = ["M", "M", "M"].map(|c| Shot::called(c.parse().unwrap()));
        let reading = read(&shots, &prior, ClassOdds::default(), face, shaft).unwrap();
        let scorer = Scorer::new(face, shaft);
        let ahead = crate::advice::Ahead::new(36, 0.5);
        let odds = ClassOdds::default();
        let advice = crate::advice::advise(&reading, &scorer, &Sight::default(), distance, odds, &ahead);
        assert_eq!(advice.why, Reason::OnlyMisses);
        let limits = &DEFAULT_LIMITS;
        let said =
            notices(&Context { shots: &shots, reading: &reading, advice: &advice, face, shaft, limits, trust: 6.0 });
        assert!(said.contains(&Notice::UnprovenSetting) && said.contains(&Notice::Misses { misses: 3 }), "{said:?}");
        assert!(!said.iter().any(|n| matches!(n, Notice::TooFewShots { .. })), "{said:?}");
    }

    #[test]
    fn a_shot_that_is_likeliest_a_stray_is_inspected_also_below_one_half() {
        let (class, notices) = said([0.3, 0.3, 0.4]);
        assert_eq!(class, Class::Stray);
        assert!(
            notices.contains(&Notice::Stray { shot: 2, p: 0.4 }) && notices.contains(&Notice::InspectArrow { shot: 2 })
        );
        let (class, notices) = said([0.4, 0.35, 0.25]);
        assert_eq!(class, Class::Flyer);
        assert!(notices.iter().any(|n| matches!(n, Notice::Flyer { shot: 2, .. })), "{notices:?}");
        let (class, notices) = said([0.6, 0.3, 0.1]);
        assert_eq!(class, Class::Clean);
        assert!(!notices.iter().any(|n| matches!(n, Notice::Flyer { .. } | Notice::Stray { .. })), "{notices:?}");
    }
}
