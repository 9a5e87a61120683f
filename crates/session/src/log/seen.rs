//! What each session of the log shows: of its spread, its ends, its bad shots, and how its centre went.

use std::sync::Arc;

use goldward_core::group::EndsSeen;
use goldward_core::group::spread::{Landed, Spot, SpreadEstimate, estimate};
use goldward_core::habits::{CourseSeen, SeenShot, SessionSeen, Stretch};
use goldward_core::plane::Point;
use goldward_core::shot::{self, Felt, Place};
use goldward_core::sight::Sight;
use goldward_journal::{self as journal, Body, Log, Session};
use uuid::Uuid;

use super::SessionView;

/// A touch is of whole clicks where it is within this share of one.
const WHOLE: f64 = 0.02;

/// The spread that one session showed.
#[derive(Debug, Clone, PartialEq)]
pub struct SpreadSeen {
    /// When, in milliseconds since 1970 UTC.
    pub at_ms: u64,
    /// At which distance, in metres.
    pub distance_m: f64,
    /// One standard deviation an axis, in milliradians.
    pub spread_mrad: f64,
    /// How many shots it is from.
    pub shots: usize,
    /// Its ends, where they tell what their shots share.
    pub ends: Option<EndsSeen>,
    /// Its shots, where they tell of habits.
    pub shown: Option<SessionSeen>,
    /// How its centre went, where that can be told.
    pub course: Option<CourseSeen>,
    /// The sight it was shot with.
    pub sight: SightTold,
}

/// A sight as the kit tells it: what touches give is learnt of one sight at a time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SightTold {
    /// The kit's name; empty without a kit.
    pub kit: String,
    /// The numbers of its sight, without the error of a setting.
    pub numbers: [f64; 3],
    /// Whether every touch of the session was of whole clicks of this sight: else it was another one then, or told otherwise.
    pub whole: bool,
}

impl SightTold {
    /// That of a kit.
    pub(super) fn with(kit: Option<&journal::Kit>, sight: &Sight) -> Self {
        let [windage, elevation] = sight.click_mm();
        Self {
            kit: kit.map(|k| k.name.clone()).unwrap_or_default(),
            numbers: [sight.eye_to_pin_mm(), windage, elevation],
            whole: true,
        }
    }

    /// That of a session.
    fn of(view: &SessionView<'_>) -> Self {
        let [windage, elevation] = view.sight.click_mm();
        let whole = |mm: f64, click: f64| (mm / click - (mm / click).round()).abs() < WHOLE;
        let touches = view.touches.iter().all(|(_, t)| whole(t.right_mm, windage) && whole(t.up_mm, elevation));
        Self { whole: touches, ..Self::with(view.kit, &view.sight) }
    }
}

/// How the centre of a session went: shots that felt bad, and those of which nobody knows to which side they went, tell nothing of it.
fn course_of(view: &SessionView<'_>, carried: &[shot::Shot]) -> Option<CourseSeen> {
    let per_pin = view.sight.face_per_pin(view.distance);
    let mut stretches: Vec<Stretch> = Vec::new();
    for shot in carried.iter().filter(|s| s.felt != Felt::Bad) {
        let Some(place) = shot.place.middle(view.face, view.shaft) else { continue };
        // What the touches since have moved the arrows by is how far the pin stood back then.
        let pin_mm = shot.carry * (-1.0 / per_pin);
        match stretches.last_mut() {
            Some(last) if last.end == shot.end && last.pin_mm == pin_mm => last.places.push(place),
            _ => stretches.push(Stretch { places: vec![place], end: shot.end, pin_mm }),
        }
    }
    CourseSeen::of(&stretches, per_pin)
}

/// What the session says of its spread and centre; nothing when it has too few shots on the face.
/// Kept in the log until the session changes.
pub(super) fn estimate_of(log: &Log, view: &SessionView<'_>, carried: &[shot::Shot]) -> Option<SpreadEstimate> {
    *log.kept(view.record.archer, view.record.id, || {
        let landed: Vec<Landed> = landed(view, carried).into_iter().map(|(at, _)| at).collect();
        estimate(&landed)
    })
}

/// The ends of a session as they lie on the face. A ring without a clock and a miss name no place, so they are left out.
fn ends_of(view: &SessionView<'_>, carried: &[shot::Shot]) -> Option<EndsSeen> {
    let mut ends: Vec<(u32, Vec<Point>)> = Vec::new();
    for shot in carried {
        let Some(place) = shot.place.middle(view.face, view.shaft) else { continue };
        match ends.last_mut() {
            Some((end, places)) if *end == shot.end => places.push(place - shot.carry),
            _ => ends.push((shot.end, vec![place - shot.carry])),
        }
    }
    EndsSeen::of(&ends.into_iter().map(|e| e.1).collect::<Vec<_>>())
}

/// What session `id` of that archer showed; nothing when it cannot be read. Worked out once, and kept until it changes.
#[must_use]
pub fn spread_seen(log: &Log, archer: Uuid, id: Uuid) -> Option<Arc<SpreadSeen>> {
    let of = || {
        let view = SessionView::of(log, archer, id).ok()?;
        let carried = view.carried();
        let e = estimate_of(log, &view, &carried)?;
        Some(Arc::new(SpreadSeen {
            at_ms: view.session.at_ms,
            distance_m: view.session.distance_m,
            spread_mrad: e.spread_mm / view.session.distance_m,
            shots: e.shots,
            ends: ends_of(&view, &carried),
            shown: seen_of(&e, &landed(&view, &carried)),
            course: course_of(&view, &carried),
            sight: SightTold::of(&view),
        }))
    };
    (*log.kept(archer, id, of)).clone()
}

/// The spread that each session of the archer showed, oldest first. Sessions that cannot be read are left out.
#[must_use]
pub fn spreads_seen(log: &Log, archer: Uuid) -> Vec<Arc<SpreadSeen>> {
    spreads_where(log, archer, |_| true)
}

pub(super) fn spreads_where(log: &Log, archer: Uuid, wanted: impl Fn(&Session) -> bool) -> Vec<Arc<SpreadSeen>> {
    let mut seen: Vec<Arc<SpreadSeen>> = log
        .heads(archer)
        .filter(|r| matches!(&r.body, Body::Session(s) if wanted(s)))
        .filter_map(|r| spread_seen(log, archer, r.id))
        .collect();
    seen.sort_by_key(|s| s.at_ms);
    seen
}

/// Where each shot of a session landed, as far as that can be read.
fn landed(view: &SessionView<'_>, carried: &[shot::Shot]) -> Vec<(Landed, shot::Shot)> {
    let of = |shot: &shot::Shot| {
        let place = match shot.place {
            Place::At(p) => Spot::At(p),
            Place::Called(call) => Spot::In(call.cell(view.face, view.shaft).ok()?),
        };
        Some((Landed { place, carry: shot.carry }, *shot))
    };
    carried.iter().filter_map(of).collect()
}

/// The session as habits are learnt from it.
fn seen_of(estimate: &SpreadEstimate, landed: &[(Landed, shot::Shot)]) -> Option<SessionSeen> {
    let mut stretch = 0;
    let mut seen: Vec<SeenShot> = Vec::with_capacity(landed.len());
    for (i, (at, shot)) in landed.iter().enumerate() {
        if i > 0 && (landed[i - 1].1.end != shot.end || landed[i - 1].0.carry != at.carry) {
            stretch += 1;
        }
        seen.push(SeenShot { landed: *at, felt: shot.felt, stretch });
    }
    SessionSeen::around(estimate, &seen)
}
