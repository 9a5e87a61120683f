//! Pages of the app: what `goldward-report` says, and controls as text for the screen.

pub mod controls;

pub use goldward_report::pages::*;
