//! What was shot and with what, wherever it was written down, and what core answers.
//!
//! One [`Kit`](kit::Kit), one [`Settings`](settings::Settings), one [`Session`](session::Session), one
//! [`Book`](marks::book::Book) of marks and one [`Group`](group::Group) of placed shots; adapters read them from CSV, TOML, JSON
//! and the log of an archer. What an archer can tell stands in one table, [`keys`]. Every door (command line, app, batch) takes
//! its sessions from here, so that the same shots get the same answer.

pub mod answer;
pub mod asked;
#[cfg(feature = "files")]
pub mod csv;
pub mod demo;
pub mod duel;
pub mod fleet;
pub mod game;
mod good;
pub mod group;
pub mod json;
pub mod keys;
pub mod kit;
pub mod log;
pub mod marks;
pub mod pace;
pub mod problem;
pub mod rounds;
pub mod session;
pub mod settings;
#[cfg(feature = "files")]
pub mod toml;
pub mod usual;
