//! What the rounds came to: the JSON object, and the curves to draw.

use goldward_core::pace::rehearsal::Rule;
use goldward_report::draw::curves::{Curve, Curves};
use goldward_report::pages::pace;
use goldward_report::teller::Teller;
use goldward_report::wire::rehearsal::RehearsalOut;
use goldward_report::words::Phrase;
use goldward_session::pace::{FirstTouch, Played, Rehearsed};

use crate::failure::Failure;

/// The curves of every rule but the oracle, which loses nothing.
pub(super) fn curves(t: &Teller<'_>, rehearsed: &Rehearsed, played: &Played) -> Curves {
    Curves {
        title: Phrase::PaceCurves.text(t.language).to_owned(),
        subtitle: pace::archer(t, rehearsed),
        language: t.language,
        sighting_shots: rehearsed.sighting_shots(),
        shots_per_end: rehearsed.scene.shots_per_end,
        curves: played
            .outcomes
            .iter()
            .filter(|o| o.rule != Rule::Oracle)
            .map(|o| Curve {
                label: pace::rule(t, o.rule),
                lost_at: o.lost_at.clone(),
                ours: matches!(o.rule, Rule::Goldward | Rule::GoldwardCalm),
            })
            .collect(),
    }
}

/// The JSON object, on one line.
pub(super) fn json(rehearsed: &Rehearsed, played: &Played, first: &[FirstTouch]) -> Result<String, Failure> {
    let out = RehearsalOut::new(rehearsed, played, first);
    serde_json::to_string(&out).map(|text| text + "\n").map_err(|e| Failure::Internal(e.to_string()))
}
