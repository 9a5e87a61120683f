//! Sight marks and what stands behind them: one book, read from a file or from the log, and what its marks say.

pub mod answer;
pub mod book;
pub mod numbers;
pub mod quantity;
pub mod refined;
#[cfg(feature = "files")]
pub mod toml;
