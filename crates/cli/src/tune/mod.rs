//! `goldward tune`: bareshafts against fletched arrows, and groups that walk sideways with distance.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use goldward_core::fleet::tuning::{Bareshaft, Centre, Possibility, Walk, WalkShape, walk};
use goldward_core::group;
use goldward_core::units::{Distance, Spread};
use serde::Serialize;

use crate::failure::{Failure, Fault, Value, said};
use crate::files::not_read;
use crate::groups::{GroupsArgs, Loaded, Source, core_failure, distance_of, gathered, load, when};
use crate::plot::PlotFile;
use crate::terminal::Terminal;
use crate::wire::SCHEMA;
use crate::wire::rows;
use goldward_report::pages::{
    self,
    compare::Sides,
    tune::{Asked, Question},
};
use goldward_report::teller::Teller;
use goldward_report::words::Wrong;
use goldward_session::kit::{Hand, Kit};
use goldward_session::problem::What;

/// The hand that draws, as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum HandArg {
    /// The right hand draws.
    Right,
    /// The left hand draws.
    Left,
}

/// Options of `goldward tune`.
#[derive(Debug, Args)]
#[command(after_help = "\
Give pairs of groups: fletched arrows and bareshafts, shot in turn at the same sight, one pair for each distance. Or, with
--walk, one group of fletched arrows for each distance, all shot with the same windage at a vertical line.
What a picture suggests is common practice, no source: possibilities, never verdicts.

Examples:
  goldward tune fletched.csv bare.csv --distance 18 --hand right
  goldward tune f18.csv b18.csv f30.csv b30.csv --distance 18,30
  goldward tune --walk at18.csv at30.csv at50.csv --distance 18,30,50 --plot walk.svg

Safety: a bareshaft flies less surely. Shoot it at a close, safe distance with a clear overshoot area.")]
pub struct TuneArgs {
    /// CSV files of shots: FLETCHED BARE for each distance, or with --walk one for each distance
    #[arg(value_name = "FILE", required_unless_present = "log", conflicts_with = "log")]
    pub files: Vec<PathBuf>,
    /// Groups of fletched arrows at several distances with one windage setting
    #[arg(long)]
    pub walk: bool,
    /// The hand that draws [default: from the kit]
    #[arg(long, value_name = "HAND", value_enum)]
    pub hand: Option<HandArg>,
    /// Your usual spread: one standard deviation an axis, such as 2.1mrad [default: from the kit, or 3mrad]
    #[arg(long, value_name = "MRAD")]
    pub spread: Option<Spread>,
    /// Also draw it into a .svg, .png or .pdf file
    #[arg(long, value_name = "FILE")]
    pub plot: Option<PlotFile>,
    /// From where the groups are, and how the answer is told.
    #[command(flatten)]
    pub groups: GroupsArgs,
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &TuneArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let mut kit = args.groups.with.kit()?;
    if let Some(spread) = args.spread {
        kit.wishes.spread_mrad = Some(spread.mrad());
    }
    let opened = args.groups.source.open()?;
    let groups = if opened.is_some() { args.groups.source.session.len() } else { args.files.len() };
    let pairs = groups / 2;
    if !args.walk && (groups % 2 != 0 || pairs == 0) {
        let place = if opened.is_some() { "--session" } else { "FILE" };
        return Err(Failure::usage(place, said(Wrong::NoPairs, [groups.into()])));
    }
    let files = match opened {
        Some(opened) => args.groups.load(Some(&opened), &[], &kit, terminal)?,
        None => from_files(args, &kit, pairs, terminal)?,
    };
    let centres = files.iter().map(centre).collect::<Result<Vec<Centre>, Failure>>()?;
    let hand = match args.hand {
        Some(HandArg::Right) => Some(Hand::Right),
        Some(HandArg::Left) => Some(Hand::Left),
        None => kit.hand,
    };
    let json = if args.walk {
        if centres.len() < 2 {
            return Err(Failure::data(Wrong::NoWalk, Wrong::OneWalk));
        }
        walk_json(&centres, &walk(&centres).map_err(|e| core_failure(&Value::Said(Wrong::TheWalk.into()), "", e))?)?
    } else {
        Found::new(&centres, hand)?.json()?
    };
    let bare = |i: usize| !args.walk && i % 2 == 1;
    let say = |teller: &Teller<'_>| {
        let gathered = gathered(&files);
        let chosen = gathered.iter().enumerate().map(|(i, g)| (g, Sides { a: !bare(i), b: bare(i) }));
        let hand = hand.map(|h| match h {
            Hand::Right => goldward_journal::Hand::Right,
            Hand::Left => goldward_journal::Hand::Left,
        });
        let asked = if args.walk { Asked::Walk } else { Asked::Bare };
        pages::tune::asked(teller, &chosen.collect::<Vec<_>>(), &Question { bare: Vec::new(), hand }, asked)
    };
    args.groups.shown.answer(terminal, &[args.plot.as_ref()], &when(&files), say, || Ok(json))
}

/// The groups of the files named.
fn from_files(args: &TuneArgs, kit: &Kit, pairs: usize, terminal: &mut Terminal<'_>) -> Result<Vec<Loaded>, Failure> {
    let distances: Vec<Distance> = (0..args.files.len())
        .map(|i| {
            if args.walk {
                distance_of(&args.groups.distance, i, args.files.len())
            } else {
                distance_of(&args.groups.distance, i / 2, pairs)
            }
        })
        .collect::<Result<_, Failure>>()?;
    load(&args.files, &Source { distances: &distances, face: args.groups.with.face, kit }, terminal)
}

/// The centre of a group by the model of a group.
fn centre(file: &Loaded) -> Result<Centre, Failure> {
    if file.places.len() > group::MOST_SHOTS {
        return Err(Failure::data(not_read(&file.name), Fault::of("", What::TooManyShots(file.places.len()))));
    }
    file.group.centre(&file.group.shots).map_err(|e| Failure::data(not_read(&file.name), Fault::of("", e)))
}

/// Bareshafts against fletched arrows.
struct Found {
    each: Vec<(Distance, Bareshaft)>,
    together: Bareshaft,
    p_agree: f64,
    hand: Option<Hand>,
}

impl Found {
    fn new(centres: &[Centre], hand: Option<Hand>) -> Result<Self, Failure> {
        let fail = |e: goldward_core::fleet::FleetError| core_failure(&Value::Said(Wrong::ThePairs.into()), "", e);
        let each = centres
            .chunks(2)
            .map(|pair| Bareshaft::of(&pair[0], &pair[1]).map(|b| (pair[0].distance, b)))
            .collect::<Result<Vec<_>, _>>()
            .map_err(fail)?;
        let all: Vec<Bareshaft> = each.iter().map(|e| e.1).collect();
        let (together, p_agree) = Bareshaft::together(&all).map_err(fail)?;
        Ok(Self { each, together, p_agree, hand })
    }

    fn possibilities(&self) -> Vec<(Possibility, f64)> {
        // Without a hand only the nocking point can be spoken of.
        let all = self.together.possibilities(self.hand != Some(Hand::Left));
        let known = |p: &Possibility| self.hand.is_some() || matches!(p, Possibility::NockHigh | Possibility::NockLow);
        all.into_iter().filter(|(p, _)| known(p)).collect()
    }

    fn json(&self) -> Result<String, Failure> {
        let one = |b: &Bareshaft, distance: Option<Distance>| BareOut {
            distance_m: distance.map(Distance::metres),
            offset_mrad: [b.offset.right_mrad, b.offset.up_mrad],
            offset_cov_mrad2: rows(b.cov_mrad2),
            p_right: b.p_right,
            p_up: b.p_up,
        };
        let out = TuneOut {
            schema: SCHEMA,
            each: self.each.iter().map(|(d, b)| one(b, Some(*d))).collect(),
            together: one(&self.together, None),
            p_agree: self.p_agree,
            hand: self.hand.map(|h| if h == Hand::Right { "right" } else { "left" }),
            possibilities: self.possibilities().iter().map(|(p, probability)| (key(*p), *probability)).collect(),
        };
        serde_json::to_string(&out).map(|text| text + "\n").map_err(|e| Failure::Internal(e.to_string()))
    }
}

fn key(p: Possibility) -> &'static str {
    match p {
        Possibility::ActsStiff => "acts_stiff",
        Possibility::ActsWeak => "acts_weak",
        Possibility::NockLow => "nock_low",
        Possibility::NockHigh => "nock_high",
    }
}

#[derive(Serialize)]
struct TuneOut {
    schema: u8,
    each: Vec<BareOut>,
    together: BareOut,
    p_agree: f64,
    hand: Option<&'static str>,
    possibilities: Vec<(&'static str, f64)>,
}

#[derive(Serialize)]
struct BareOut {
    #[serde(skip_serializing_if = "Option::is_none")]
    distance_m: Option<f64>,
    offset_mrad: [f64; 2],
    offset_cov_mrad2: [[f64; 2]; 2],
    p_right: f64,
    p_up: f64,
}

#[derive(Serialize)]
struct WalkOut {
    schema: u8,
    groups: Vec<GroupOut>,
    shape: &'static str,
    windage_mrad: f64,
    windage_sd_mrad: f64,
    p_windage_alone: f64,
    slope_mrad: f64,
    slope_sd_mrad: f64,
    at_bow_mm: f64,
    at_bow_sd_mm: f64,
    p_straight: Option<f64>,
    bend_mm_m2: Option<f64>,
    bend_sd_mm_m2: Option<f64>,
}

#[derive(Serialize)]
struct GroupOut {
    distance_m: f64,
    centre_mm: [f64; 2],
    centre_cov_mm2: [[f64; 2]; 2],
}

fn walk_json(centres: &[Centre], w: &Walk) -> Result<String, Failure> {
    let out = WalkOut {
        schema: SCHEMA,
        groups: centres
            .iter()
            .map(|c| GroupOut {
                distance_m: c.distance.metres(),
                centre_mm: [c.at.x_mm, c.at.y_mm],
                centre_cov_mm2: rows(c.cov_mm2),
            })
            .collect(),
        shape: match w.shape() {
            WalkShape::Windage => "windage",
            WalkShape::Slant => "slant",
            WalkShape::Curve => "curve",
        },
        windage_mrad: w.windage_mrad[0],
        windage_sd_mrad: w.windage_mrad[1],
        p_windage_alone: w.p_windage_alone,
        slope_mrad: w.slope_mrad[0],
        slope_sd_mrad: w.slope_mrad[1],
        at_bow_mm: w.at_bow_mm[0],
        at_bow_sd_mm: w.at_bow_mm[1],
        p_straight: w.p_straight,
        bend_mm_m2: w.bend_mm_m2.map(|b| b[0]),
        bend_sd_mm_m2: w.bend_mm_m2.map(|b| b[1]),
    };
    serde_json::to_string(&out).map(|text| text + "\n").map_err(|e| Failure::Internal(e.to_string()))
}
