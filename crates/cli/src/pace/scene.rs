//! From the options to the simulated archer.

use std::str::FromStr;

use goldward_core::face::Face;
use goldward_core::group::{ClassOdds, TRUST_PREDICTED};
use goldward_core::pace::DRIFT_DEFAULT_MRAD;
use goldward_core::pace::rehearsal::{Rule, Scene};
use goldward_core::units::{Distance, Length, parse_decimal};

use super::{PaceArgs, usage};
use crate::failure::Failure;
use goldward_session::pace::Rehearsed;
use goldward_session::problem::Problem;
use goldward_session::settings::{Settings, Wishes};

/// Most shots of a round, sighting shots included: five rounds of 144.
const MOST_SHOTS: usize = 720;

/// A situation that names distance, face and round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Situation {
    /// Sets of three arrows, five at most: 5x3 at 70 m on 122
    Sets,
    /// Fifteen arrows that add up: 5x3 at 50 m on 80-6
    Fifteen,
    /// Sixty arrows indoors: 20x3 at 18 m on 40-3v
    Indoor,
    /// Seventy-two arrows after two sighting ends: 2x6 and 12x6 at 70 m on 122
    Ranking,
    /// Six ends of six at 90, 70, 50 and 30 m: is windage worth carrying from one distance to the next?
    FourDistances,
}

impl Situation {
    /// Distance in metres, face, ends, arrows an end, sighting ends (World Archery 2024, from memory).
    fn usual(self) -> (f64, &'static str, Ends, usize) {
        let ends = |ends, arrows| Ends { ends, arrows };
        match self {
            Self::Sets => (70.0, "122", ends(5, 3), 0),
            Self::Fifteen => (50.0, "80-6", ends(5, 3), 0),
            Self::Indoor => (18.0, "40-3v", ends(20, 3), 0),
            Self::Ranking | Self::FourDistances => (70.0, "122", ends(12, 6), 2),
        }
    }
}

/// Ends and arrows an end: `12x6`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ends {
    /// How many ends.
    pub ends: usize,
    /// How many arrows each.
    pub arrows: usize,
}

/// What is written is no number of ends and arrows.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not ends and arrows: write such as 12x6, with at most 720 arrows")]
pub struct NoEnds(String);

impl FromStr for Ends {
    type Err = NoEnds;

    fn from_str(text: &str) -> Result<Self, NoEnds> {
        let wrong = || NoEnds(text.chars().take(40).collect());
        let (ends, arrows) = text.split_once(['x', 'X', '×']).ok_or_else(wrong)?;
        let number =
            |t: &str| t.trim().parse::<usize>().ok().filter(|n| (1..=MOST_SHOTS).contains(n)).ok_or_else(wrong);
        let ends = Self { ends: number(ends)?, arrows: number(arrows)? };
        if ends.ends * ends.arrows > MOST_SHOTS { Err(wrong()) } else { Ok(ends) }
    }
}

/// Reads a share: `3%` or `0.03`, at most a half.
pub(super) fn parse_share(text: &str) -> Result<f64, String> {
    let (number, scale) = text.trim().strip_suffix('%').map_or((text, 1.0), |t| (t, 0.01));
    match parse_decimal(number).map(|x| x * scale) {
        Some(share) if (0.0..=0.5).contains(&share) => Ok(share),
        _ => Err("it is not a share: write such as 3% or 0.03, at most 50%".to_owned()),
    }
}

/// Reads a drift: `0.1mrad` or `0`.
pub(super) fn parse_drift(text: &str) -> Result<f64, String> {
    let number = text.trim().strip_suffix("mrad").unwrap_or(text);
    match parse_decimal(number) {
        Some(mrad) if (0.0..=100.0).contains(&mrad) => Ok(mrad),
        _ => Err("it is not a drift: write milliradians such as 0.1mrad, from 0 to 100".to_owned()),
    }
}

/// Reads the name of a rule.
pub(super) fn parse_rule(text: &str) -> Result<Rule, String> {
    Rule::named(text.trim()).ok_or_else(|| {
        let names: Vec<&str> = Rule::ALL.iter().map(|r| r.name()).collect();
        format!("no such rule: the rules are {}", names.join(", "))
    })
}

/// `rules` without repetitions.
pub(super) fn unique(rules: &[Rule]) -> Vec<Rule> {
    let mut out = Vec::new();
    for rule in rules {
        if !out.contains(rule) {
            out.push(*rule);
        }
    }
    out
}

/// Settings with the trust of a predicted mark where nothing is said.
pub(super) fn settings(distance: Distance, face: &'static Face, wishes: &Wishes) -> Result<Settings, Failure> {
    let wishes = Wishes { trust: wishes.trust.or(Some(TRUST_PREDICTED)), ..*wishes };
    Settings::new(distance, face, &wishes).map_err(|e| {
        Failure::data("these settings cannot be", Problem { place: e.key.option().to_owned(), ..e.problem })
    })
}

/// Share of flyers unless given: what Goldward assumes of an archer without history.
pub(super) fn flyers(args: &PaceArgs) -> f64 {
    args.flyers.unwrap_or(ClassOdds::default().get()[1])
}

/// What is played at `place`, the distance and face, where they are known.
pub(super) fn rehearsed(
    args: &PaceArgs,
    place: (Option<Distance>, Option<&'static Face>),
    wishes: &Wishes,
) -> Result<(Rehearsed, Settings), Failure> {
    let usual = args.situation.map(Situation::usual);
    let (distance, face) = match (place.0, place.1, usual) {
        (Some(distance), Some(face), _) => (distance, face),
        (distance, face, Some((metres, name, _, _))) => (
            distance.map_or_else(|| Distance::from_metres(metres).map_err(internal), Ok)?,
            face.map_or_else(|| Face::named(name).map_err(internal), Ok)?,
        ),
        _ => return Err(usage("", "--distance and --face are needed, or --match", "see goldward pace --help")),
    };
    let settings = settings(distance, face, wishes)?;
    let round = args.round.or(usual.map(|u| u.2)).unwrap_or(Ends { ends: 12, arrows: 6 });
    let sighting_ends = match args.sighting {
        Some(sighting) if sighting.arrows != round.arrows => {
            let remedy = format!("write such as --sighting {}x{}", sighting.ends, round.arrows);
            return Err(usage("--sighting", "sighting ends have as many arrows as those that count", &remedy));
        }
        Some(sighting) => sighting.ends,
        None => usual.filter(|_| args.round.is_none()).map_or(0, |u| u.3),
    };
    if (round.ends + sighting_ends) * round.arrows > MOST_SHOTS {
        return Err(usage("--sighting", "too many arrows", "round and sighting ends may have 720 arrows together"));
    }
    let spread_mm = settings.prior.spread_mm();
    let offset_mm = args.offset.map_or(spread_mm / settings.prior.trust().sqrt(), Length::mm);
    if !(0.0..=10_000.0).contains(&offset_mm) {
        return Err(usage("--offset", "the first offset is out of range", "it must lie between 0 and 10000 mm"));
    }
    let click_mm = match args.click_on_face.map(Length::mm) {
        Some(mm) if !(0.01..=1000.0).contains(&mm) => {
            return Err(usage("--click-on-face", "the click is out of range", "it must lie between 0.01 and 1000 mm"));
        }
        Some(mm) => [mm; 2],
        None => settings.sight.click_on_face_mm(distance),
    };
    let drift_mrad = args.drift.unwrap_or(DRIFT_DEFAULT_MRAD);
    let scene = Scene {
        drift_mm: drift_mrad * distance.metres(),
        setting_mm: settings.sight.setting_variance_on_face(distance).sqrt(),
        click_mm,
        sighting_ends,
        ends: round.ends,
        shots_per_end: round.arrows,
        touch_cost: settings.ahead.touch_cost_points,
        worth: settings.prior.worth(),
        jump: 0.0,
        ..Scene::ranking_round(spread_mm, offset_mm, flyers(args))
    };
    let trust = args.offset.is_none().then_some(settings.prior.trust());
    Ok((Rehearsed { distance, face, scene, trust, seed: args.seed }, settings))
}

/// A situation of ours that the core does not know would be our fault.
fn internal(error: impl std::error::Error) -> Failure {
    Failure::Internal(error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn options_are_read_or_refused() {
        assert_eq!("12x6".parse(), Ok(Ends { ends: 12, arrows: 6 }));
        assert_eq!(" 2 X 3".parse(), Ok(Ends { ends: 2, arrows: 3 }));
        for text in ["", "12", "0x6", "12x0", "x", "1000x6", "-1x6", "99999999999999999999x1"] {
            assert!(text.parse::<Ends>().is_err(), "{text}");
        }
        assert_eq!(parse_share("3%"), Ok(0.03));
        assert_eq!(parse_share("0,03"), Ok(0.03));
        assert!(parse_share("51%").is_err() && parse_share("-1%").is_err() && parse_share("%").is_err());
        assert_eq!(parse_drift("0.1mrad"), Ok(0.1));
        assert_eq!(parse_drift("0"), Ok(0.0));
        assert!(parse_drift("nan").is_err() && parse_drift("1mm").is_err());
        assert_eq!(parse_rule("harmonic"), Ok(Rule::Harmonic));
        assert!(parse_rule("guess").unwrap_err().contains("perfect-learner"));
    }
}
