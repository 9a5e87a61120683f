//! What the moves of the sight gave, looking back on a distance with all of its shots.
//!
//! Where the shots of an end would have landed on average is not known while they are shot; afterwards it is, better, since the
//! later shots tell of it too. In the frame of the first setting, an axis, call it
//!
//! ```text
//! w_i = centre + sum of drift over the ends before i + sum of setting errors over the touches before i + offset of the end of i
//! ```
//!
//! for every stretch `i` of shots of one end and one setting. All of these are normal with the variances that the readings use; the
//! shots of a stretch measure `w_i` with the spread of a shot, each weighted by what its class leaves of its information. So the `w_i`
//! given all shots are jointly normal (a Kalman smoother, solved here as one dense system: there are few stretches). A setting
//! that had shifted the arrows by `p` scores `F(|w_i - p|)` a shot there, and any other history of settings is weighed against the real
//! one over the same draws of the `w_i`, so that luck is left out of it.
//!
//! Points are those expected of where the sight stood, not those that were scored. A touch that is thought away would have had no setting
//! error either; that is left out of account.

use super::{Event, Pace, PaceError};
use crate::advice::Action;
use crate::group::{ClassShape, GroupError, KNOCKED, Reading};
use crate::plane::{Point, Sym2};
use crate::random::Random;
use crate::score::Spot;
use crate::shot::{Place, Shot};
use crate::stats::cholesky::Cholesky;
use crate::stats::order_statistic;

/// Draws of the truth: pairs, mirrored at the mean.
const DRAWS: usize = 400;
/// Fewer shots with a place than this tell nothing about a move.
const FEWEST: usize = 3;
/// Up to so many stretches each draw has its own say which shots were flyers; with more the mean of that is taken, which is much faster.
const DRAWN_APART: usize = 40;
/// More stretches than this are not looked back on: work grows with their third power.
const MOST_STRETCHES: usize = 150;
/// What the share of flyers that was told is worth, in shots (argued, no source).
const TOLD_SHARES: f64 = 10.0;
/// Asked for its advice after every shot up to this one, then after every end.
const ASKED: usize = 6;

/// What one history of settings was worth against another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worth {
    /// Expected points over the shots that count.
    pub points: f64,
    /// 80 % interval.
    pub interval_points: [f64; 2],
    /// Probability that it was worth anything.
    pub p_gained: f64,
}

/// One move of the sight; touches without a shot between them are one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Move {
    /// After how many shots of the distance it was made.
    pub after: usize,
    /// How many shots had been shot with the setting before it.
    pub since: usize,
    /// Whether the end was not over yet.
    pub within_end: bool,
    /// The pin's move, right and up as the archer sees it, in millimetres at the pin.
    pub pin_mm: Point,
    /// How it shifted the arrows on the face, in the direction of the pin.
    pub shift_mm: Point,
}

/// Shots of one end with one setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// First shot, from 0.
    pub first: usize,
    /// How many.
    pub shots: usize,
    /// How many of them count.
    pub counted: usize,
    /// Which end, counted from 0.
    pub end: usize,
    /// How many of [`Hindsight::moves`] had been made.
    pub moves: usize,
    /// Where the sight stood, as a shift on the face from where it was at first.
    pub sight: Point,
    /// Where it should have stood, in the same frame: the mean of what is known now.
    pub centre: Point,
    /// One standard deviation of that, along each axis, in millimetres.
    pub centre_sd_mm: [f64; 2],
}

/// A distance looked back on.
#[derive(Debug)]
pub struct Hindsight<'a> {
    pace: &'a Pace,
    moves: Vec<Move>,
    stretches: Vec<Stretch>,
    /// Where each shot landed, in the frame of the first setting.
    places: Vec<Point>,
    /// Shares of clean shots and flyers.
    classes: [f64; 2],
    /// Draws of where the shots of each stretch went on average, and of the covariance of a clean shot.
    draws: Vec<(Vec<Point>, Sym2)>,
}

impl Worth {
    fn of(mut gains: Vec<f64>) -> Self {
        let n = gains.len() as f64;
        let points = gains.iter().sum::<f64>() / n;
        let p_gained = gains.iter().filter(|g| **g > 0.0).count() as f64 / n;
        gains.sort_by(f64::total_cmp);
        Self { points, interval_points: [0.1, 0.9].map(|p| order_statistic(&gains, p)), p_gained }
    }

    /// The sum over distances or sessions that have nothing to do with each other; `None` of none.
    ///
    /// The variances are added, each taken from its interval, and the sum is taken to be normal.
    #[must_use]
    pub fn sum(of: &[Self]) -> Option<Self> {
        let points = of.iter().map(|w| w.points).sum::<f64>();
        let half = |w: &Self| 0.5 * (w.interval_points[1] - w.interval_points[0]);
        let half = of.iter().map(|w| half(w) * half(w)).sum::<f64>().sqrt();
        match of {
            [] => None,
            [only] => Some(*only),
            _ => {
                let p_gained = if half > 0.0 {
                    1.0 - crate::stats::distribution::normal_above(points * crate::stats::Z_80 / half)
                } else {
                    f64::from(u8::from(points > 0.0))
                };
                Some(Self { points, interval_points: [points - half, points + half], p_gained })
            }
        }
    }
}

impl<'a> Hindsight<'a> {
    /// Looks back on `pace`; nothing when the sight was not moved, or no shot that counts came after it, or too few shots have a place,
    /// or there are more than 150 stretches.
    ///
    /// # Errors
    /// [`GroupError`], which [`Pace::take`] has ruled out for the events it took.
    pub fn of(pace: &'a Pace) -> Result<Option<Self>, GroupError> {
        let (mut moves, mut stretches) = walk(pace);
        let counted_after = |k: usize| stretches.iter().any(|s| s.moves > k && s.counted > 0);
        if moves.is_empty() || !counted_after(0) || stretches.len() > MOST_STRETCHES {
            return Ok(None);
        }
        // Only what has a place will weigh: not read for nothing.
        if pace.shots().iter().filter(|s| is_placed(s)).count() < FEWEST {
            return Ok(None);
        }
        // A move after the last shot that counts gave nothing.
        moves = (0..moves.len()).filter(|k| counted_after(*k)).map(|k| moves[k]).collect();
        let reading = pace.read()?;
        let shots = pace.shots();
        let present = pace.pin_shift();
        let places: Vec<Point> = reading.places.iter().map(|p| *p + present).collect();
        let shapes = pace.settings().unmarked.shapes();
        let weights: Vec<f64> = shots.iter().zip(&reading.p_class).map(|(s, p)| weight(s, *p, &shapes)).collect();
        let centred: Vec<Point> =
            places.iter().zip(&reading.p_class).map(|(at, p)| *at - usual_offset(*p, &shapes)).collect();
        if weights.iter().filter(|w| **w > 0.0).count() < FEWEST {
            return Ok(None);
        }
        let told = pace.settings().prior.spread_mm().powi(2) / pace.settings().prior.trust();
        let smooth = |weights: &[f64], centred: &[Point], first: f64| {
            smoothed(pace, &stretches, &reading, weights, centred, first)
        };
        let Some(widely) = smooth(&weights, &centred, told * KNOCKED) else { return Ok(None) };
        let p_knocked = knocked(pace.settings().prior.doubt().setting, told, &widely);
        let mut random = Random::seeded(0x7A11);
        let dof = reading.next.dof();
        let mut draws = Vec::with_capacity(DRAWS);
        let apart = stretches.len() <= DRAWN_APART;
        let usual = if apart { None } else { smooth(&weights, &centred, told * (1.0 + (KNOCKED - 1.0) * p_knocked)) };
        for _ in 0..DRAWS / 2 {
            let drawn = apart.then(|| {
                // Which shots were flyers is not known either, nor whether the first setting was what was told.
                let mut at = places.clone();
                let mut drawn = weights.clone();
                for ((w, at), p) in drawn.iter_mut().zip(&mut at).zip(&reading.p_class).filter(|((w, _), _)| **w > 0.0)
                {
                    let shape = &shapes[random.choose(p)];
                    (*w, *at) = (shape.information(1.0), *at - shape.mean_mm);
                }
                smooth(&drawn, &at, if random.uniform() < p_knocked { KNOCKED * told } else { told })
            });
            let Some([x, y]) = drawn.as_ref().unwrap_or(&usual) else { return Ok(None) };
            let (dx, dy) = (x.deviation(&mut random), y.deviation(&mut random));
            let spread = reading.spread * (0.5 * dof / random.gamma(0.5 * dof));
            for sign in [1.0, -1.0] {
                let at = |i: usize| Point::new(x.mean[i] + sign * dx[i], y.mean[i] + sign * dy[i]);
                draws.push(((0..stretches.len()).map(at).collect::<Vec<_>>(), spread));
            }
        }
        for (i, stretch) in stretches.iter_mut().enumerate() {
            let n = draws.len() as f64;
            stretch.centre = draws.iter().fold(Point::default(), |sum, (at, _)| sum + at[i]) * (1.0 / n);
            let variance = |get: fn(Point) -> f64| {
                draws.iter().map(|(at, _)| get(at[i] - stretch.centre).powi(2)).sum::<f64>() / n
            };
            stretch.centre_sd_mm = [variance(|p| p.x_mm).sqrt(), variance(|p| p.y_mm).sqrt()];
        }
        // What is told of flyers counts like some shots, these shots themselves in full.
        let odds = pace.settings().unmarked.get();
        let share = |class: usize| {
            let seen: f64 = reading.p_class.iter().map(|p| p[class]).sum();
            (TOLD_SHARES * odds[class] + seen) / (TOLD_SHARES + reading.p_class.len() as f64)
        };
        let classes = [share(0), share(1)];
        Ok(Some(Self { pace, moves, stretches, places, classes, draws }))
    }

    /// The moves, in order.
    #[must_use]
    pub fn moves(&self) -> &[Move] {
        &self.moves
    }

    /// The stretches, in order: the sight against where it should have been.
    #[must_use]
    pub fn stretches(&self) -> &[Stretch] {
        &self.stretches
    }

    /// What the moves gave of which `these` says yes, all others as they were.
    #[must_use]
    pub fn gave(&self, these: impl Fn(usize, &Move) -> bool) -> Worth {
        let thought_away: Vec<bool> = self.moves.iter().enumerate().map(|(k, m)| these(k, m)).collect();
        self.without(|k, _| thought_away[k])
    }

    /// What it gave not to wait with the moves made within an end until it was over; nothing when there was none.
    #[must_use]
    pub fn gave_over_waiting(&self) -> Option<Worth> {
        let end_of = |m: &Move| self.stretches.iter().rfind(|s| s.first < m.after).map(|s| s.end);
        let ends: Vec<Option<usize>> = self.moves.iter().map(|m| end_of(m).filter(|_| m.within_end)).collect();
        ends.iter().any(Option::is_some).then(|| self.without(|k, s| ends[k] == Some(s.end)))
    }

    /// What Goldward's advice would have given beyond the moves that were made: asked after each of the first shots and after every end,
    /// told what the settings say, with the same arrows. Shots without a place are left out.
    ///
    /// # Errors
    /// [`GroupError`], which [`Pace::take`] has ruled out for the events it took.
    pub fn goldward_beyond(&self) -> Result<Worth, GroupError> {
        let all = self.pace.shots();
        let mut other = Pace::new(self.pace.settings().clone());
        let take = |other: &mut Pace, event: Event| match other.take(event) {
            Err(PaceError::Group(e)) => Err(e),
            // What is out of range is left out, as a person would.
            _ => Ok(()),
        };
        for event in self.pace.events().iter().take_while(|e| !matches!(e, Event::Shot(_))) {
            take(&mut other, *event)?;
        }
        let mut sight = self.stretches.first().map_or(Point::default(), |s| s.sight);
        let (mut held, mut told) = (Vec::with_capacity(self.stretches.len()), false);
        for (k, stretch) in self.stretches.iter().enumerate() {
            for i in stretch.first..stretch.first + stretch.shots {
                held.push(Held { stretch: k, counted: usize::from(stretch.counted > 0), sight });
                if is_placed(&all[i]) {
                    let place = self.places[i] - sight;
                    let shot = Shot { felt: all[i].felt, ..Shot::at(place.x_mm, place.y_mm) };
                    take(&mut other, Event::Shot(shot))?;
                    told = true;
                }
                let last = i + 1 == stretch.first + stretch.shots;
                let over = last && self.stretches.get(k + 1).is_none_or(|next| next.end != stretch.end);
                if over {
                    take(&mut other, Event::EndOfEnd)?;
                }
                if told && (over || i < ASKED) && i + 1 < all.len() {
                    let advice = other.answer()?.advice;
                    if advice.action == Action::Move {
                        take(&mut other, Event::Touch(advice.pin_mm))?;
                        sight = sight + advice.shift_mm;
                    }
                }
            }
        }
        let Worth { points, interval_points: [low, high], p_gained } = self.worth_against(&held);
        Ok(Worth { points: -points, interval_points: [-high, -low], p_gained: 1.0 - p_gained })
    }

    /// Against the settings without the moves of which `gone` says yes for a stretch.
    fn without(&self, gone: impl Fn(usize, &Stretch) -> bool) -> Worth {
        let held = self.stretches.iter().enumerate().map(|(stretch, s)| {
            let made = self.moves.iter().take(s.moves).enumerate();
            let sight = made.filter(|(k, _)| gone(*k, s)).fold(s.sight, |p, (_, m)| p - m.shift_mm);
            Held { stretch, counted: s.counted, sight }
        });
        self.worth_against(&held.collect::<Vec<_>>())
    }

    /// The real settings against others.
    fn worth_against(&self, held: &[Held]) -> Worth {
        let other: Vec<&Held> =
            held.iter().filter(|h| h.counted > 0 && h.sight != self.stretches[h.stretch].sight).collect();
        let shapes = self.pace.settings().unmarked.shapes();
        let gains = self.draws.iter().map(|(centres, spread)| {
            // A stray gains next to nothing from a better centre.
            let of_class = |class: usize| {
                let shape = &shapes[class];
                let spot = self.pace.scorer().prepare(&Spot::new(shape.widened(*spread)).roughly());
                let gain = |h: &&Held| {
                    let centre = centres[h.stretch] + shape.mean_mm;
                    h.counted as f64 * (spot.at(centre - self.stretches[h.stretch].sight) - spot.at(centre - h.sight))
                };
                self.classes[class] * other.iter().map(gain).sum::<f64>()
            };
            of_class(0) + of_class(1)
        });
        Worth::of(gains.collect())
    }
}

/// A setting as it might have been.
struct Held {
    /// For shots of this stretch.
    stretch: usize,
    /// How many of them, counted.
    counted: usize,
    /// Where it would have stood.
    sight: Point,
}

/// Whether it is known to which side a shot went.
fn is_placed(shot: &Shot) -> bool {
    match shot.place {
        Place::At(_) => true,
        Place::Called(call) => call.clock.is_some(),
    }
}

/// What a shot tells of where the sight sends arrows, in shots that are surely clean.
fn weight(shot: &Shot, p_class: [f64; 3], shapes: &[ClassShape; 3]) -> f64 {
    if is_placed(shot) { p_class.iter().zip(shapes).map(|(p, s)| s.information(*p)).sum() } else { 0.0 }
}

/// How far such a shot lies beside the centre on average, each class weighing as much as it tells.
fn usual_offset(p_class: [f64; 3], shapes: &[ClassShape; 3]) -> Point {
    let (mut weight, mut sum) = (0.0, Point::default());
    for (p, shape) in p_class.iter().zip(shapes) {
        let told = shape.information(*p);
        weight += told;
        sum = sum + shape.mean_mm * told;
    }
    if weight > 0.0 { sum * (1.0 / weight) } else { sum }
}

/// Weight and weighted mean of a stretch along one axis.
fn measured(s: &Stretch, weights: &[f64], places: &[Point], get: fn(Point) -> f64) -> (f64, f64) {
    let of = s.first..s.first + s.shots;
    let weight: f64 = weights[of.clone()].iter().sum();
    let sum: f64 = of.map(|i| weights[i] * get(places[i])).sum();
    (weight, if weight > 0.0 { sum / weight } else { 0.0 })
}

/// The moves, and the shots of each end with each setting.
fn walk(pace: &Pace) -> (Vec<Move>, Vec<Stretch>) {
    let s = pace.settings();
    let (mut moves, mut stretches): (Vec<Move>, Vec<Stretch>) = (Vec::new(), Vec::new());
    let (mut sight, mut shots, mut since) = (Point::default(), 0, 0);
    let mut number = None;
    for (event, of_end, counts) in pace.course() {
        match event {
            Event::Shot(_) => {
                let same_end = number == Some(of_end);
                let before = stretches.last().map_or(0, |s| s.end);
                let end = if same_end || stretches.is_empty() { before } else { before + 1 };
                number = Some(of_end);
                if let Some(made) = moves.last_mut().filter(|m| m.after == shots) {
                    made.within_end = same_end;
                }
                if stretches.last().is_none_or(|last| last.end != end || last.moves != moves.len()) {
                    let (centre, centre_sd_mm) = (Point::default(), [0.0; 2]);
                    let made = moves.len();
                    stretches.push(Stretch {
                        first: shots,
                        shots: 0,
                        counted: 0,
                        end,
                        moves: made,
                        sight,
                        centre,
                        centre_sd_mm,
                    });
                }
                if let Some(last) = stretches.last_mut() {
                    last.shots += 1;
                    last.counted += usize::from(counts);
                }
                (shots, since) = (shots + 1, since + 1);
            }
            Event::Touch(pin) => {
                let shift = s.sight.shift_mm(pin, s.distance);
                sight = sight + shift;
                match moves.last_mut() {
                    Some(last) if last.after == shots => {
                        last.pin_mm = last.pin_mm + pin;
                        last.shift_mm = last.shift_mm + shift;
                    }
                    // What is set before the first shot is the first setting.
                    _ if shots == 0 => {}
                    _ => moves.push(Move { after: shots, since, within_end: false, pin_mm: pin, shift_mm: shift }),
                }
                since = 0;
            }
            Event::EndOfEnd | Event::Felt { .. } | Event::TimeLeft(_) | Event::Theirs { .. } | Event::Nearer(_) => {}
        }
    }
    (moves, stretches)
}

/// Probability that the first setting was not what was told (`doubt` before the shots), its variance being larger then: by how well
/// either explains where the first shots went.
fn knocked(doubt: f64, told: f64, axes: &[Smoothed<'_>; 2]) -> f64 {
    let log_density = |variance: f64| {
        axes.iter().fold(0.0, |sum, a| {
            let v = variance + a.sd[0] * a.sd[0];
            sum - 0.5 * (v.ln() + (a.mean[0] - a.axis.start).powi(2) / v)
        })
    };
    let odds = doubt / (1.0 - doubt).max(1e-9) * (log_density(told * KNOCKED) - log_density(told)).exp();
    if odds.is_finite() { odds / (1.0 + odds) } else { 1.0 }
}

/// Where the shots of each stretch went on average, along each axis, with a first setting of the variance `first`. `None` only where
/// numbers run out of range.
fn smoothed<'a>(
    pace: &Pace,
    stretches: &'a [Stretch],
    reading: &Reading,
    weights: &[f64],
    places: &[Point],
    first: f64,
) -> Option<[Smoothed<'a>; 2]> {
    let s = pace.settings();
    let axis = |get: fn(Point) -> f64, spread: f64, end: f64| {
        Axis {
            stretches,
            measured: stretches.iter().map(|s| measured(s, weights, places, get)).collect(),
            start: get(s.prior.centre()),
            spread,
            first,
            drift: s.drift_variance(),
            setting: s.sight.setting_variance_on_face(s.distance),
            end: spread * end,
        }
        .smoothed()
    };
    let (spread, [ex, ey]) = (reading.spread, reading.next.end);
    Some([axis(|p| p.x_mm, spread.xx, ex)?, axis(|p| p.y_mm, spread.yy, ey)?])
}

/// One axis before the shots are taken in. Variances in mm^2.
struct Axis<'a> {
    stretches: &'a [Stretch],
    /// Weight and weighted mean of the shots of each stretch.
    measured: Vec<(f64, f64)>,
    start: f64,
    spread: f64,
    first: f64,
    drift: f64,
    setting: f64,
    end: f64,
}

/// The same after that.
struct Smoothed<'a> {
    axis: Axis<'a>,
    mean: Vec<f64>,
    sd: Vec<f64>,
    /// What a stretch takes over of the (scaled) surprise of each other one, row by row.
    gain: Vec<f64>,
}

impl<'a> Axis<'a> {
    fn covariance(&self, i: usize, j: usize) -> f64 {
        let (a, b) = (&self.stretches[i], &self.stretches[j]);
        let same_end = if a.end == b.end { self.end } else { 0.0 };
        self.first + self.drift * a.end.min(b.end) as f64 + self.setting * a.moves.min(b.moves) as f64 + same_end
    }

    /// Square root of what a stretch is measured with.
    fn root(&self, i: usize) -> f64 {
        (self.measured[i].0 / self.spread).sqrt()
    }

    /// `None` only where numbers run out of range.
    fn smoothed(self) -> Option<Smoothed<'a>> {
        let n = self.stretches.len();
        let mut m = vec![0.0; n * n];
        for i in 0..n {
            for j in 0..n {
                m[i * n + j] = self.root(i) * self.covariance(i, j) * self.root(j) + f64::from(u8::from(i == j));
            }
        }
        let solver = Cholesky::new(n, &m)?;
        let mut gain = Vec::with_capacity(n * n);
        let mut sd = Vec::with_capacity(n);
        for i in 0..n {
            let row: Vec<f64> = (0..n).map(|j| self.covariance(i, j) * self.root(j)).collect();
            let solved = solver.solve(&row);
            let taken: f64 = solved.iter().zip(&row).map(|(a, b)| a * b).sum();
            sd.push((self.covariance(i, i) - taken).max(0.0).sqrt());
            gain.extend(solved);
        }
        let mut out = Smoothed { axis: self, mean: Vec::new(), sd, gain };
        let surprise: Vec<f64> = (0..n).map(|i| out.axis.root(i) * (out.axis.measured[i].1 - out.axis.start)).collect();
        out.mean = out.taken_over(&surprise).iter().map(|d| out.axis.start + d).collect();
        Some(out)
    }
}

impl Smoothed<'_> {
    fn taken_over(&self, surprise: &[f64]) -> Vec<f64> {
        let n = surprise.len();
        (0..n).map(|i| self.gain[i * n..(i + 1) * n].iter().zip(surprise).map(|(g, s)| g * s).sum()).collect()
    }

    /// One draw's deviation from the mean: a draw before the shots, corrected by shots drawn from it.
    fn deviation(&self, random: &mut Random) -> Vec<f64> {
        let a = &self.axis;
        let (mut at, mut offset) = (random.normal() * a.first.sqrt(), 0.0);
        let mut before: Option<&Stretch> = None;
        let drawn: Vec<f64> = a
            .stretches
            .iter()
            .map(|s| {
                let (ends, moves) = before.map_or((s.end, s.moves), |b| (s.end - b.end, s.moves - b.moves));
                at += random.normal() * (a.drift * ends as f64 + a.setting * moves as f64).sqrt();
                if before.is_none_or(|b| b.end != s.end) {
                    offset = random.normal() * a.end.sqrt();
                }
                before = Some(s);
                at + offset
            })
            .collect();
        let surprise: Vec<f64> = (0..drawn.len()).map(|i| -a.root(i) * drawn[i] - random.normal()).collect();
        self.taken_over(&surprise).iter().zip(&drawn).map(|(c, d)| c + d).collect()
    }
}
