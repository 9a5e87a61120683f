//! From the options to the simulated archer.

use goldward_core::face::Face;
use goldward_core::pace::rehearsal::Rule;
use goldward_core::units::{Distance, Length, parse_decimal};

use super::PaceArgs;
use crate::failure::{Failure, said};
use goldward_report::words::Wrong;
use goldward_session::asked::{self, Asked, Ends};
use goldward_session::pace::Rehearsed;
use goldward_session::problem::{Place, Problem};
use goldward_session::settings::{Settings, Wishes};

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
    /// Distance in metres, face, ends, arrows an end, sighting ends (World Archery 2024).
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

/// Settings with the trust of a predicted mark where nothing is said.
pub(crate) fn settings(distance: Distance, face: &'static Face, wishes: &Wishes) -> Result<Settings, Failure> {
    asked::predicted(distance, face, wishes).map_err(Failure::setting)
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
        _ => return Err(Failure::usage("", said(Wrong::NeedsDistance, ["goldward pace".into()]))),
    };
    let sighting = usual.filter(|u| args.round.is_none() && u.3 > 0).map(|u| Ends { ends: u.3, arrows: u.2.arrows });
    let asked = Asked {
        round: args.round.or(usual.map(|u| u.2)),
        sighting: args.sighting.or(sighting),
        offset_mm: args.offset.map(Length::mm),
        flyers: args.flyers,
        drift_mrad: args.drift,
        click_on_face_mm: args.click_on_face.map(Length::mm),
    };
    let option = |p: Problem| {
        let option =
            if let Place::Named(name) = &p.place { format!("--{}", name.replace('_', "-")) } else { String::new() };
        Failure::Usage(p.at(option).into())
    };
    let settings = settings(distance, face, wishes)?;
    Ok((asked.of(&settings, args.seed).map_err(option)?, settings))
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
