//! Pages that answer a question about many sessions: what is said, as data, so that every door says the same.

pub mod aids;
pub mod arrows;
pub mod compare;
pub mod gather;
pub mod moves;
mod power;
pub mod progress;
pub mod reading;
pub mod tune;

pub use crate::html::{escape, html};
pub use crate::item::Item;
pub use crate::teller::Teller;
