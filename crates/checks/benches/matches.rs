//! `cargo xtask bench matches`: who wins matches under rules of thumb and under Goldward's.
//!
//!     cargo bench -p checks --bench matches -- [MATCHES] [sets|total] [calm]
#![allow(clippy::print_stdout, reason = "a benchmark prints")]

use checks::duels::{cells, play};
use goldward_core::matches::Format;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|w| w != "--bench").collect();
    let matches = words.iter().find_map(|w| w.parse().ok()).unwrap_or(2000);
    let format = words.iter().find_map(|w| Format::named(w)).or_else(|| Format::named("sets")).expect("a format");
    let calm = words.iter().any(|w| w == "calm");
    println!("{matches} matches a cell, {}, {}", format.key, if calm { "a touch costs half a point" } else { "free" });
    println!("| spread | opponent | first mark off | never | best rule of thumb | Goldward | ahead | touches |");
    println!("|---|---|---|---|---|---|---|---|");
    for c in cells() {
        let t = play(&c, format, matches, calm);
        println!(
            "| {} mrad | {:+} | {} spreads | {:.1} % | {:.1} % {} | {:.1} % | {:+.2} +- {:.2} | {:.1} |",
            c.spread_mrad,
            c.stronger,
            c.first,
            100.0 * t.never,
            100.0 * t.best.1,
            t.best.0.name(),
            100.0 * t.goldward.0,
            100.0 * t.ahead.0,
            100.0 * t.ahead.1,
            t.touches
        );
    }
}
