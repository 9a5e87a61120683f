//! Pages that answer a question about many sessions: what is said, as data, so that every door says the same.

pub mod aids;
pub mod arrows;
pub mod compare;
pub mod distances;
pub mod drawn;
pub mod duel;
pub mod first_touch;
pub mod gather;
pub mod habits;
pub mod marks;
pub mod moves;
pub mod pace;
mod power;
pub mod progress;
pub mod read;
pub mod reading;
mod single;
pub mod tune;
pub mod usual;

pub use crate::html::{escape, html};
pub use crate::item::Item;
pub use crate::teller::Teller;
