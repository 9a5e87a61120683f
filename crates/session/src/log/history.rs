//! Progress: the spread over time, and points lost to the sight against points lost to the spread.

use goldward_core::group::spread::SpreadEstimate;
use goldward_core::handicap;
use goldward_core::plane::{Point, Sym2};
use goldward_core::score::expected_normal;
use goldward_core::stats::Z_80;
use goldward_journal::{Body, Log, Record, Session};
use uuid::Uuid;

use super::seen::estimate_of;
use super::{SessionView, Total};

/// Where the points of a session went. The four parts and the score add up to the most that could be had.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lost {
    /// Points of the same arrows if all had scored highest.
    pub possible: f64,
    /// Expected points with this spread and a perfectly set sight.
    pub perfect_sight: f64,
    /// Points lost to the spread: `possible - perfect_sight`.
    pub to_spread: f64,
    /// Points lost to where the sight stood: `perfect_sight` less the expected points about the centres that were shot.
    pub to_sight: f64,
    /// The rest, with flyers and luck; negative when luck was good.
    pub to_chance: f64,
}

/// One session in the history of a distance.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionPoint {
    /// The session, or the record of a score alone.
    pub id: Uuid,
    /// When, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// Name of the round.
    pub round: Option<String>,
    /// Name of the face.
    pub face: String,
    /// The score of the ends that count.
    pub total: Total,
    /// Spread in milliradians with its 80 % interval, when there are shots enough.
    pub spread_mrad: Option<(f64, f64, f64)>,
    /// Where the points went, when that can be said.
    pub lost: Option<Lost>,
    /// The handicap that the score stands for (2023 formula, see [`goldward_core::handicap`]).
    pub handicap: Option<u32>,
    /// Shots the spread is from, sighting shots included.
    pub spread_shots: usize,
    /// All shots of which it is known where they landed, sighting shots included.
    pub shots: usize,
}

/// The spread of the latest sessions against those before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Spread now over spread before; below 1 is better.
    pub ratio: f64,
    /// Lower end of its 80 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Sessions counted as now.
    pub sessions_now: usize,
    /// Sessions counted as before.
    pub sessions_before: usize,
}

/// The history of one distance, oldest first.
#[derive(Debug, Clone, PartialEq)]
pub struct DistanceHistory {
    /// Distance, in metres.
    pub distance_m: f64,
    /// Its sessions.
    pub sessions: Vec<SessionPoint>,
    /// What changed, when there are three sessions or more with a spread.
    pub change: Option<Change>,
}

/// All sessions of an archer, newest first, without tombstones.
#[must_use]
pub fn sessions(log: &Log, archer: Uuid) -> Vec<(&Record, &Session)> {
    let mut out: Vec<(&Record, &Session)> = log
        .heads(archer)
        .filter_map(|r| match &r.body {
            Body::Session(s) => Some((r, s)),
            _ => None,
        })
        .collect();
    out.sort_unstable_by_key(|(r, s)| std::cmp::Reverse((s.at_ms, r.id)));
    out
}

/// The history of each distance of an archer, shortest first. Sessions that cannot be read are left out.
#[must_use]
pub fn history(log: &Log, archer: Uuid) -> Vec<DistanceHistory> {
    let mut points: Vec<(f64, SessionPoint)> = log
        .heads(archer)
        .filter_map(|r| match &r.body {
            Body::Session(s) => Some((s.distance_m, point_of(log, archer, r.id)?)),
            Body::Score(s) => Some((
                s.distance_m,
                SessionPoint {
                    id: r.id,
                    at_ms: s.at_ms,
                    round: s.round.clone(),
                    face: s.face.clone(),
                    total: Total { points: s.points, shots: s.shots, ..Total::default() },
                    spread_mrad: None,
                    lost: None,
                    handicap: handicap_of(&s.face, s.distance_m, None, s.points, s.shots),
                    spread_shots: 0,
                    shots: s.shots as usize,
                },
            )),
            _ => None,
        })
        .collect();
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| (a.1.at_ms, a.1.id).cmp(&(b.1.at_ms, b.1.id))));
    let mut out: Vec<DistanceHistory> = Vec::new();
    for (distance_m, point) in points {
        match out.last_mut() {
            Some(last) if last.distance_m.total_cmp(&distance_m).is_eq() => last.sessions.push(point),
            _ => out.push(DistanceHistory { distance_m, sessions: vec![point], change: None }),
        }
    }
    for history in &mut out {
        history.change = change(&history.sessions);
    }
    out
}

fn handicap_of(face: &str, distance_m: f64, shaft_mm: Option<f64>, points: u32, shots: u32) -> Option<u32> {
    let face = goldward_core::face::Face::named(face).ok()?;
    let distance = goldward_core::units::Distance::from_metres(distance_m).ok()?;
    let shaft = shaft_mm.map_or_else(
        || Some(goldward_core::units::Shaft::default()),
        |mm| goldward_core::units::Shaft::from_diameter_mm(mm).ok(),
    )?;
    handicap::of_score(face, distance, shaft, shots, points)
}

/// What session `id` of that archer comes to; nothing when it cannot be read. Worked out once, and kept until it changes.
#[must_use]
pub fn point_of(log: &Log, archer: Uuid, id: Uuid) -> Option<SessionPoint> {
    let of = || SessionView::of(log, archer, id).ok().map(|view| SessionPoint::of(log, &view));
    (*log.kept(archer, id, of)).clone()
}

/// Its points; nothing when it cannot be read. Worked out once, and kept until it changes.
#[must_use]
pub fn total_of(log: &Log, archer: Uuid, id: Uuid) -> Option<Total> {
    *log.kept(archer, id, || SessionView::of(log, archer, id).ok().map(|view| view.total()))
}

impl SessionPoint {
    /// Of one session of the log.
    fn of(log: &Log, view: &SessionView<'_>) -> Self {
        let total = view.total();
        let estimate = estimate_of(log, view, &view.carried());
        let d = view.session.distance_m;
        Self {
            id: view.record.id,
            at_ms: view.session.at_ms,
            round: view.session.round.clone(),
            face: view.session.face.clone(),
            total,
            spread_mrad: estimate.map(|e| {
                let (low, high) = e.interval_mm(Z_80);
                (e.spread_mm / d, low / d, high / d)
            }),
            lost: estimate.and_then(|e| lost(view, &e, total)),
            handicap: handicap_of(&view.session.face, d, Some(view.shaft.diameter_mm()), total.points, total.shots),
            spread_shots: estimate.map_or(0, |e| e.shots),
            shots: view.shots.len(),
        }
    }
}

/// Where the points went.
///
/// The centre of each setting is the common centre, carried; its square is less by what chance alone would make of it,
/// `2 spread^2 / n`, and not below 0 (so the loss to the sight is not overstated, on average).
fn lost(view: &SessionView<'_>, e: &SpreadEstimate, total: Total) -> Option<Lost> {
    if total.shots == 0 {
        return None;
    }
    let cov = Sym2::isotropic(e.spread_mm * e.spread_mm);
    let expected = |off_mm: f64| expected_normal(view.face, view.shaft, Point::new(off_mm, 0.0), cov).ok();
    let perfect = expected(0.0)?;
    let noise = 2.0 * e.spread_mm * e.spread_mm / e.shots as f64;
    let mut to_sight = 0.0;
    let mut known: Option<(Point, f64)> = None;
    for (shot, (_, body)) in view.carried().iter().zip(&view.shots) {
        if !view.counts(body.end) {
            continue;
        }
        let lost = match known {
            Some((carry, lost)) if carry == shot.carry => lost,
            _ => {
                let off2 = ((e.centre + shot.carry).radius_mm().powi(2) - noise).max(0.0);
                perfect - expected(off2.sqrt())?
            }
        };
        known = Some((shot.carry, lost));
        to_sight += lost;
    }
    let possible = f64::from(total.shots) * f64::from(view.face.highest_value());
    let perfect_sight = perfect * f64::from(total.shots);
    Some(Lost {
        possible,
        perfect_sight,
        to_spread: possible - perfect_sight,
        to_sight,
        to_chance: perfect_sight - to_sight - f64::from(total.points),
    })
}

/// The last third of the sessions (at least one, at most five) against those before.
///
/// The logarithm of a spread of `dof` degrees of freedom has a variance of about `1 / (2 dof)`.
fn change(sessions: &[SessionPoint]) -> Option<Change> {
    let seen: Vec<(f64, f64)> =
        sessions.iter().filter_map(|s| Some((s.spread_mrad?.0, 2.0 * (s.spread_shots as f64 - 1.0)))).collect();
    if seen.len() < 3 {
        return None;
    }
    let sessions_now = (seen.len() / 3).clamp(1, 5);
    let (before, now) = seen.split_at(seen.len() - sessions_now);
    let pooled = |part: &[(f64, f64)]| {
        let dof: f64 = part.iter().map(|p| p.1).sum();
        (part.iter().map(|p| p.1 * p.0 * p.0).sum::<f64>() / dof, dof)
    };
    let ((v0, dof0), (v1, dof1)) = (pooled(before), pooled(now));
    let ratio = (v1 / v0).sqrt();
    let sd = (0.5 / dof0 + 0.5 / dof1).sqrt();
    Some(Change {
        ratio,
        low: ratio * (-Z_80 * sd).exp(),
        high: ratio * (Z_80 * sd).exp(),
        sessions_now,
        sessions_before: before.len(),
    })
}
