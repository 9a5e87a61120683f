//! The mathematics of Goldward.
//!
//! Pure functions on numbers: no I/O, no clock, no logging, no global random source. It compiles to WebAssembly. See
//! `ARCHITECTURE.md` for the map and the words.

pub mod advice;
pub mod face;
pub mod fleet;
pub mod flight;
pub mod group;
pub mod handicap;
pub mod marks;
pub mod matches;
pub mod notice;
pub mod pace;
pub mod plane;
pub mod random;
pub mod score;
pub mod shot;
pub mod sight;
pub mod stats;
pub mod units;
