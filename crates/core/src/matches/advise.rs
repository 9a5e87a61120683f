//! Move, wait or leave in a match.

use super::{Duel, MatchError, MatchPlan, Verdict, plan};
use crate::advice::{Action, Advice, Course, MID_END_SHARE, Reason, outlook};
use crate::group::{ClassOdds, Reading};
use crate::plane::Point;
use crate::score::Rings;
use crate::sight::Sight;
use crate::units::Distance;

/// A touch that adds less than this to the chance to win is not worth a touch, whatever it costs: one match in two thousand.
pub const LEAST_GAIN: f64 = 0.0005;

/// What to do in a match.
#[derive(Debug, Clone, PartialEq)]
pub struct MatchAdvice {
    /// Move, wait or leave.
    pub action: Action,
    /// Why.
    pub why: Reason,
    /// Whole clicks to make now, right and up as the archer sees the pin; zeros unless the action is to move.
    pub clicks: [i32; 2],
    /// The same in millimetres at the pin.
    pub pin_mm: Point,
    /// The same on the face.
    pub shift_mm: Point,
    /// Chance to win when the advice is followed, what a touch costs taken off.
    pub chance: f64,
    /// After how many arrows to look at the sight again.
    pub look_after: Option<u32>,
    /// The chances of touching now, of waiting and of leaving.
    pub plan: MatchPlan,
}

/// Advises on the sight in a match: how far to move as `by_points` says, from the same `reading`; whether and when by the chance to win.
///
/// In the middle of an end a touch must gain clearly more than at its end, as by points. `drift_variance` is that of the centre between
/// ends, an axis, in mm^2.
///
/// # Errors
/// [`MatchError`].
#[expect(clippy::too_many_arguments, reason = "what a reading was made with, and the match")]
pub fn advise(
    reading: &Reading,
    by_points: &Advice,
    rings: &Rings,
    sight: &Sight,
    distance: Distance,
    unmarked: ClassOdds,
    [touch_cost_points, drift_variance]: [f64; 2],
    duel: &Duel,
) -> Result<MatchAdvice, MatchError> {
    let course = Course { shots: &[], left: 0.0, touch_cost_points, between_ends: true, drift_variance };
    let o = outlook(reading, sight, distance, unmarked, &course);
    let plan = plan(rings, &o, unmarked, duel)?;
    let standing = duel.standing.settled(&duel.format);
    let over = matches!(standing.verdict(&duel.format), Verdict::Won | Verdict::Lost);
    let (later, waiting) = plan.best_later();
    let (action, why) = if over {
        (Action::Leave, Reason::NoShots)
    } else if by_points.why.is_barred() {
        (Action::Wait, by_points.why)
    } else {
        decide(&plan, by_points.best.clicks, !standing.mine.end_shots.is_multiple_of(duel.format.shots_per_end), duel)
    };
    let clicks = if action == Action::Move { by_points.best.clicks } else { [0, 0] };
    let pin_mm = sight.pin_mm(clicks);
    let look_after = match action {
        Action::Move | Action::Leave => None,
        Action::Wait => later.or(Some(1)),
    };
    Ok(MatchAdvice {
        action,
        why,
        clicks,
        pin_mm,
        shift_mm: sight.shift_mm(pin_mm, distance),
        chance: match action {
            Action::Move => plan.now,
            Action::Wait | Action::Leave => waiting,
        },
        look_after,
        plan,
    })
}

fn decide(plan: &MatchPlan, best: [i32; 2], in_end: bool, duel: &Duel) -> (Action, Reason) {
    let (later, waiting) = plan.best_later();
    let waiting_pays = later.is_some() && waiting > plan.never + LEAST_GAIN;
    if best == [0, 0] {
        return if waiting_pays { (Action::Wait, Reason::MayShow) } else { (Action::Leave, Reason::Within) };
    }
    if plan.now <= plan.never + LEAST_GAIN {
        return if waiting_pays { (Action::Wait, Reason::MayShow) } else { (Action::Leave, Reason::TooLittle) };
    }
    let left = duel.format.shots_per_end.saturating_sub(duel.standing.mine.end_shots);
    let at_end = plan.wait.iter().find(|(k, _)| *k == left).map_or(plan.never, |(_, p)| *p);
    let clearly = !in_end || plan.now - at_end > MID_END_SHARE * plan.cost;
    if plan.now > waiting && clearly {
        (Action::Move, Reason::Now)
    } else if later.is_some() {
        (Action::Wait, Reason::Teach)
    } else {
        (Action::Leave, Reason::LessThanCost)
    }
}
