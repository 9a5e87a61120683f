//! `goldward tune`: bareshafts against fletched arrows, and groups that walk sideways with distance.

use std::fmt::Write as _;
use std::path::PathBuf;

use clap::{Args, ValueEnum};
use goldward_core::fleet::tuning::{Bareshaft, Centre, Possibility, Walk, WalkShape, walk};
use goldward_core::group;
use goldward_core::units::{Distance, Spread, trim_number};
use serde::Serialize;

use crate::failure::{EXIT_FINE, Failure};
use crate::groups::{Loaded, Source, core_failure, distance_of, from_log, gathered, load, when};
use crate::options::{ShownArgs, WithArgs};
use crate::plot::PlotFile;
use crate::plot::map::{Map, Spot};
use crate::source::LogSource;
use crate::terminal::Terminal;
use crate::wire::SCHEMA;
use crate::wire::rows;
use crate::words::angles::{length, mrad, offset};
use crate::words::{percent, wrap};
use goldward_report::pages::{self, compare::Sides, tune::Question};
use goldward_session::kit::{Hand, Kit};
use goldward_session::problem::Problem;

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
    /// Shooting distances: one for each pair, or with --walk one for each file, separated by commas
    #[arg(
        long,
        short,
        value_name = "DISTANCE",
        required_unless_present = "log",
        conflicts_with = "log",
        value_delimiter = ','
    )]
    pub distance: Vec<Distance>,
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
    /// Face and kit of the files.
    #[command(flatten)]
    pub with: WithArgs,
    /// How the answer is told.
    #[command(flatten)]
    pub shown: ShownArgs,
    /// A log in place of files: --session names the sessions in the same order
    #[command(flatten)]
    pub source: LogSource,
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`].
pub fn run(args: &TuneArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let mut kit = args.with.kit()?;
    if let Some(spread) = args.spread {
        kit.wishes.spread_mrad = Some(spread.mrad());
    }
    let opened = args.source.open()?;
    let groups = if opened.is_some() { args.source.session.len() } else { args.files.len() };
    let pairs = groups / 2;
    if !args.walk && (groups % 2 != 0 || pairs == 0) {
        let (place, what) = if opened.is_some() { ("--session", "sessions") } else { ("FILE", "files") };
        let remedy = "give FLETCHED BARE for each distance, or add --walk for fletched groups alone";
        return Err(Failure::Usage(Problem::new(place, format!("{groups} {what} are no pairs"), remedy)));
    }
    let files = match opened {
        Some(opened) => from_log(&opened, &args.source.session, &kit.wishes, terminal)?,
        None => from_files(args, &kit, pairs, terminal)?,
    };
    let centres = files.iter().map(centre).collect::<Result<Vec<Centre>, Failure>>()?;
    let hand = match args.hand {
        Some(HandArg::Right) => Some(Hand::Right),
        Some(HandArg::Left) => Some(Hand::Left),
        None => kit.hand,
    };
    let width = args.shown.columns(terminal);
    let (mut text, map) = if args.walk {
        if centres.len() < 2 {
            let problem = Problem::new("", "one group cannot walk", "give groups at two distances or more");
            return Err(Failure::data("the walk cannot be answered", problem));
        }
        let found = walk(&centres).map_err(|e| core_failure("the walk", &e))?;
        let text = if args.shown.json {
            walk_json(&centres, &found)?
        } else {
            walk_page(&centres, &found, width, terminal.colour)
        };
        (text, walk_map(&centres, &found))
    } else {
        let found = Found::new(&centres, hand)?;
        let text = if args.shown.json { found.json()? } else { found.page(width, terminal.colour) };
        (text, found.map())
    };
    let bare = |i: usize| !args.walk && i % 2 == 1;
    let told = args.shown.page(terminal, &when(&files), |teller| {
        let gathered = gathered(&files);
        let chosen = gathered.iter().enumerate().map(|(i, g)| (g, Sides { a: !bare(i), b: bare(i) }));
        let hand = hand.map(|h| match h {
            Hand::Right => goldward_journal::Hand::Right,
            Hand::Left => goldward_journal::Hand::Left,
        });
        pages::tune::page(teller, &chosen.collect::<Vec<_>>(), &Question { bare: Vec::new(), hand })
    });
    text = told.unwrap_or(text);
    if let Some(file) = &args.plot {
        file.write(&map.svg())?;
        if !args.shown.json {
            text.push_str(&file.told());
        }
    }
    terminal.out.write_all(text.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

/// The groups of the files named.
fn from_files(args: &TuneArgs, kit: &Kit, pairs: usize, terminal: &mut Terminal<'_>) -> Result<Vec<Loaded>, Failure> {
    let distances: Vec<Distance> = (0..args.files.len())
        .map(|i| {
            if args.walk {
                distance_of(&args.distance, i, args.files.len())
            } else {
                distance_of(&args.distance, i / 2, pairs)
            }
        })
        .collect::<Result<_, Failure>>()?;
    load(&args.files, &Source { distances: &distances, face: args.with.face, kit }, terminal)
}

/// The centre of a group by the model of a group.
fn centre(file: &Loaded) -> Result<Centre, Failure> {
    let title = || format!("{} cannot be read", file.name);
    if file.places.len() > group::MOST_SHOTS {
        let message =
            format!("{} shots are more than the {} that one group takes", file.places.len(), group::MOST_SHOTS);
        return Err(Failure::data(title(), Problem::new("", message, "keep the latest ones, or split the file")));
    }
    file.group.centre(&file.group.shots).map_err(|e| Failure::data(title(), Problem::from_core("", &e)))
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
        let fail = |e: goldward_core::fleet::FleetError| core_failure("the pairs", &e);
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

    fn page(&self, width: usize, colour: bool) -> String {
        let style = if colour { anstyle::Style::new().bold() } else { anstyle::Style::new() };
        let mut out = String::new();
        let _ = writeln!(out, "{style}Bareshafts against fletched arrows{style:#}");
        for (distance, b) in &self.each {
            let [x, y] = [b.cov_mrad2.xx.sqrt(), b.cov_mrad2.yy.sqrt()];
            let line = format!(
                "At {distance} the bareshafts land {} of the fletched: {:+.2} ± {x:.2} mrad to the right, {:+.2} ± {y:.2} mrad up.",
                offset(b.offset, *distance),
                b.offset.right_mrad,
                b.offset.up_mrad
            );
            out.push_str(&wrap(&line, width, 2));
        }
        let t = &self.together;
        if self.each.len() > 1 {
            let agree = if self.p_agree < 0.1 {
                format!(
                    "The distances disagree (chance {}): speed, clearance or the wind may be at work.",
                    percent(self.p_agree)
                )
            } else {
                "The distances agree.".to_owned()
            };
            let line = format!(
                "All distances together: {:+.2} mrad to the right, {:+.2} mrad up. {agree}",
                t.offset.right_mrad, t.offset.up_mrad
            );
            out.push_str(&wrap(&line, width, 2));
        }
        out.push('\n');
        out.push_str(&self.map().text(33, 4));
        out.push('\n');
        let side = if t.p_right >= 0.5 { ("right", t.p_right) } else { ("left", 1.0 - t.p_right) };
        let high = if t.p_up >= 0.5 { ("high", t.p_up) } else { ("low", 1.0 - t.p_up) };
        let sure = format!("They land {} with {}, {} with {}.", side.0, percent(side.1), high.0, percent(high.1));
        out.push_str(&wrap(&sure, width, 0));
        let possible = self.possibilities();
        if possible.is_empty() {
            out.push_str(&wrap("Nothing to suggest yet: more arrows of both would tell.", width, 0));
        }
        for (p, probability) in &possible {
            out.push_str(&wrap(&format!("Possible: {} ({}).", words(*p), percent(*probability)), width, 0));
        }
        if self.hand.is_none() {
            let line = "What left and right suggest depends on the hand that draws: add --hand right or --hand left.";
            out.push_str(&wrap(line, width, 0));
        }
        out.push_str(&wrap(PRACTICE, width, 0));
        out
    }

    fn map(&self) -> Map {
        let spots = self
            .each
            .iter()
            .map(|(d, b)| Spot {
                label: if self.each.len() > 1 { format!("{} m", trim_number(d.metres())) } else { "bare".to_owned() },
                at: b.offset,
                cov_mrad2: b.cov_mrad2,
                accent: true,
            })
            .collect();
        let nearest = self.each.iter().skip(1).fold(self.each[0].0, |n, e| if e.0 < n { e.0 } else { n });
        Map {
            title: "Bareshafts against fletched arrows".to_owned(),
            subtitle:
                "Where the bareshafts land, the fletched arrows in the middle, as the archer sees it; 80 % ellipses."
                    .to_owned(),
            spots,
            shots: Vec::new(),
            circle: None,
            metres: nearest.metres(),
        }
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

const PRACTICE: &str = "Common practice, no source: these are possibilities, never verdicts. Form, clearance, wind and a bareshaft \
                        that is lighter than its sisters make the same pictures; change one thing at a time, and shoot again.";

fn words(p: Possibility) -> &'static str {
    match p {
        Possibility::ActsStiff => {
            "the shaft acts too stiff (a softer button, more draw weight or a heavier point go the other way)"
        }
        Possibility::ActsWeak => {
            "the shaft acts too weak (a stiffer button, less draw weight or a lighter point go the other way)"
        }
        Possibility::NockLow => "the nocking point is low (raise it a little)",
        Possibility::NockHigh => "the nocking point is high (lower it a little)",
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

fn sideways(mm: f64) -> String {
    format!("{} {}", length(mm), if mm < 0.0 { "left" } else { "right" })
}

fn walk_page(centres: &[Centre], w: &Walk, width: usize, colour: bool) -> String {
    let style = if colour { anstyle::Style::new().bold() } else { anstyle::Style::new() };
    let mut out = String::new();
    let headline = match w.shape() {
        WalkShape::Windage if w.windage_mrad[0].abs() < 2.0 * w.windage_mrad[1] => {
            "The groups stay on the line at every distance"
        }
        WalkShape::Windage => "One windage setting puts every distance right",
        WalkShape::Slant => "The groups walk along a slanting line that no windage setting puts right",
        WalkShape::Curve => "The groups walk along a curve",
    };
    let _ = writeln!(out, "{style}{headline}{style:#}\n");
    let mut order: Vec<&Centre> = centres.iter().collect();
    order.sort_by(|a, b| a.distance.metres().total_cmp(&b.distance.metres()));
    let reach = order.iter().map(|c| c.at.x_mm.abs() + c.cov_mm2.xx.sqrt()).fold(10.0, f64::max);
    let room = (width.saturating_sub(44)).clamp(15, 45) | 1;
    let column = |x: f64| (((x / reach + 1.0) / 2.0 * room as f64) as usize).min(room - 1);
    for c in &order {
        let mut line = vec![' '; room];
        line[room / 2] = '│';
        let sd = c.cov_mm2.xx.sqrt();
        for cell in &mut line[column(c.at.x_mm - sd)..=column(c.at.x_mm + sd)] {
            *cell = '─';
        }
        line[column(c.at.x_mm)] = '●';
        let line: String = line.into_iter().collect();
        let _ = writeln!(out, "  {:>6}  {line}  {} (± {})", c.distance.to_string(), sideways(c.at.x_mm), length(sd));
    }
    out.push('\n');
    let [b, sb] = w.windage_mrad;
    let mut lines = vec![format!(
        "As a windage error alone: {} to the {} (± {}); chance of groups this far off that: {}.",
        mrad(b.abs()),
        if b < 0.0 { "left" } else { "right" },
        mrad(sb),
        percent(w.p_windage_alone)
    )];
    match w.shape() {
        WalkShape::Windage => lines.push("Move the windage; nothing speaks for the button or the centre shot.".to_owned()),
        WalkShape::Slant => {
            let [a, sa] = w.at_bow_mm;
            lines.push(format!(
                "The line through the groups slants by {} and passes the bow {} of the aim (± {}): a sight set right at one \
                 distance is wrong at the next.",
                mrad(w.slope_mrad[0].abs()),
                sideways(a),
                length(sa)
            ));
            lines.push("Possible: the centre shot (the button's place), or a sight bar that does not run along the arrow.".to_owned());
        }
        WalkShape::Curve => lines.push(format!(
            "A straight line does not fit (chance {}). Possible: the button's stiffness, the spine, or a steady side wind.",
            percent(w.p_straight.unwrap_or(1.0))
        )),
    }
    if w.p_straight.is_none() {
        lines.push("Two distances cannot tell a line from a curve; a third one can.".to_owned());
    }
    lines.push(PRACTICE.to_owned());
    for line in lines {
        out.push_str(&wrap(&line, width, 0));
    }
    out
}

/// The groups as angles, so that a pure windage error puts them all above each other.
fn walk_map(centres: &[Centre], w: &Walk) -> Map {
    let spot = |c: &Centre| {
        let m = c.distance.metres();
        Spot {
            label: format!("{} m", trim_number(m)),
            // Sideways only: elevation marks differ. The distance goes upwards, a milliradian for ten metres.
            at: goldward_core::fleet::Offset { right_mrad: c.at.x_mm / m, up_mrad: m / 10.0 },
            cov_mrad2: goldward_core::plane::Sym2::new(c.cov_mm2.xx / (m * m), 0.0, 1e-6),
            accent: w.shape() != WalkShape::Windage,
        }
    };
    Map {
        title: "How the groups walk with distance".to_owned(),
        subtitle: "Sideways angle of each group, the nearest distance lowest. A windage error alone puts them all above each other."
            .to_owned(),
        spots: centres.iter().map(spot).collect(),
        shots: Vec::new(),
        circle: None,
        metres: centres.first().map_or(1.0, |c| c.distance.metres()),
    }
}
