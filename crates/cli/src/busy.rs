//! A line of progress for long work: only on a terminal, and only after a short delay.

use std::time::Duration;

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressState, ProgressStyle};

/// How long work runs before progress is shown.
const DELAY: Duration = Duration::from_millis(1500);

/// Progress of a batch of unknown length, or of work of a known one.
#[derive(Debug)]
pub struct Busy {
    bar: Option<ProgressBar>,
}

impl Busy {
    /// Progress, shown when `on_terminal`.
    #[must_use]
    pub fn new(on_terminal: bool) -> Self {
        let bar = on_terminal.then(|| {
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
            if let Ok(style) = ProgressStyle::with_template("{spinner} {human_pos} groups read, {rate}, {elapsed}") {
                let rate = |state: &ProgressState, out: &mut dyn std::fmt::Write| {
                    // A rate that cannot be written is not shown.
                    let _ = write!(out, "{:.0} a second", state.per_sec());
                };
                bar.set_style(style.with_key("rate", rate));
            }
            bar
        });
        Self { bar }
    }

    /// Progress of `total` things of a kind, such as `rounds played`, shown when `on_terminal`.
    #[must_use]
    pub fn of(total: u64, kind: &str, on_terminal: bool) -> Self {
        let bar = on_terminal.then(|| {
            let bar = ProgressBar::with_draw_target(Some(total), ProgressDrawTarget::hidden());
            let template = format!("{{bar:30}} {{human_pos}} of {{human_len}} {kind}, {{eta}} to go");
            if let Ok(style) = ProgressStyle::with_template(&template) {
                bar.set_style(style);
            }
            bar
        });
        Self { bar }
    }

    /// Counts `lines` more.
    pub fn add(&self, lines: u64) {
        if let Some(bar) = &self.bar {
            if bar.is_hidden() && bar.elapsed() > DELAY {
                bar.set_draw_target(ProgressDrawTarget::stderr());
            }
            bar.inc(lines);
        }
    }

    /// Clears the line.
    pub fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
