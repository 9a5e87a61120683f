//! Words of the command line; those of the pages are in `goldward_report`.

pub mod share;

pub use goldward_report::text::wrap;
