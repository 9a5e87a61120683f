//! Who decides in a match: a function of the second module, which leaves it here for the shooting line.

use std::cell::Cell;

use goldward_core::matches::MatchAdvice;
use goldward_core::pace::Answer;

use crate::sheet::Sheet;

/// Decides by the chance to win what an answer had decided by points.
type Judge = fn(&Sheet, &mut Answer) -> Option<MatchAdvice>;

thread_local! {
    static JUDGE: Cell<Option<Judge>> = const { Cell::new(None) };
}

/// The second module is here.
pub(super) fn leave(judge: Judge) {
    JUDGE.set(Some(judge));
}

/// Decides by the chance to win what `answer` had decided by points, where the session is a match and the second module is here.
pub(super) fn decide(sheet: &Sheet, answer: &mut Answer) -> Option<MatchAdvice> {
    JUDGE.get()?(sheet, answer)
}
