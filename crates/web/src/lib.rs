//! Goldward on the shooting line: the installable app.
//!
//! [`finish`], [`geometry`], [`numbers`], [`sheet`], [`pages`], [`practice`], [`prefs`] and [`roster`] are plain and tested natively; `app` needs a browser and is
//! compiled for the web only. The app does no archery of its own: it asks `goldward-core`, and keeps what happened in a
//! `goldward-journal` log.

#[cfg(target_arch = "wasm32")]
mod app;
pub mod clock;
pub mod finish;
pub mod geometry;
pub mod numbers;
pub mod pages;
pub mod practice;
pub mod prefs;
pub mod roster;
pub mod sheet;

pub use goldward_report::{drawing, words};

#[cfg(target_arch = "wasm32")]
pub use app::start;
