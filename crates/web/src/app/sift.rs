//! What the sessions of a long log show, worked out a little at a time so that the page answers meanwhile. The log keeps it, and whoever
//! asks afterwards has it at once.

use goldward_journal::{Log, Uuid};
use goldward_session::log::{point_of, sessions, spread_seen};
use leptos::prelude::*;

use super::device;

/// Works without a break are no longer than this, in milliseconds: less than a frame on a slow phone.
pub(super) const BREATH_MS: f64 = 12.0;

/// Works out what the sessions `ids` of `archer` showed of the spread, and for the progress where their arrows went, as long as somebody
/// is `there` to see it; tells after each breath how many are done.
pub(super) async fn sift(
    log: RwSignal<Log>,
    archer: Uuid,
    ids: &[Uuid],
    progress: bool,
    mut there: impl FnMut(usize) -> bool,
) {
    let mut since = device::ticks_ms();
    for (n, id) in ids.iter().enumerate() {
        log.with_untracked(|log| {
            let _ = spread_seen(log, archer, *id);
            if progress {
                let _ = point_of(log, archer, *id);
            }
        });
        if device::ticks_ms() - since > BREATH_MS {
            if !there(n + 1) {
                return;
            }
            device::breathe().await;
            since = device::ticks_ms();
        }
    }
}

/// All sessions of `archer`, the latest first.
pub(super) fn all_of(log: RwSignal<Log>, archer: Uuid) -> Vec<Uuid> {
    log.with_untracked(|log| sessions(log, archer).into_iter().map(|(r, _)| r.id).collect())
}
