//! Why a command could not do its work, and how that is told: what is wrong, where, and the remedy apart from it.

use std::fmt::Write as _;

use goldward_session::problem::{Problem, plain};

/// Exit code: all went well.
pub const EXIT_FINE: u8 = 0;
/// Exit code: the input or the archer's data is wrong.
pub const EXIT_DATA: u8 = 1;
/// Exit code: the command was called wrongly.
pub const EXIT_USAGE: u8 = 2;
/// Exit code: the program itself is at fault.
pub const EXIT_INTERNAL: u8 = 70;

/// Most problems listed at once.
pub const MOST_PROBLEMS: usize = 20;

/// Why a command stopped.
#[derive(Debug)]
#[non_exhaustive]
pub enum Failure {
    /// The input or the archer's data is wrong.
    Data {
        /// What could not be done.
        title: String,
        /// All that is wrong.
        problems: Vec<Problem>,
    },
    /// Options that contradict each other or make no sense.
    Usage(Problem),
    /// Whoever reads the output has gone away: no fault.
    NobodyReads,
    /// The program itself is at fault.
    Internal(String),
}

impl Failure {
    /// A failure of the data with one problem.
    pub fn data(title: impl Into<String>, problem: Problem) -> Self {
        Self::Data { title: title.into(), problems: vec![problem] }
    }

    /// Output that could not be written.
    #[must_use]
    pub fn from_write(error: &std::io::Error) -> Self {
        use std::io::ErrorKind::{BrokenPipe, FileTooLarge, QuotaExceeded, StorageFull};
        match error.kind() {
            BrokenPipe => Self::NobodyReads,
            StorageFull | QuotaExceeded | FileTooLarge => {
                Self::data("the output could not be written", Problem::new("", error.to_string(), "make room"))
            }
            _ => Self::Internal(format!("the output could not be written: {error}")),
        }
    }

    /// The exit code that tells it.
    #[must_use]
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Data { .. } => EXIT_DATA,
            Self::Usage(_) => EXIT_USAGE,
            Self::NobodyReads => EXIT_FINE,
            Self::Internal(_) => EXIT_INTERNAL,
        }
    }

    /// The failure as told to a person, ending in a line break; empty when there is nothing to tell.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text = String::new();
        match self {
            Self::Data { title, problems } => {
                let _ = writeln!(text, "error: {}", plain(title));
                for problem in problems.iter().take(MOST_PROBLEMS) {
                    let _ = writeln!(text, "  {}", plain(&placed(problem)));
                    if !problem.remedy.is_empty() {
                        let _ = writeln!(text, "    hint: {}", plain(&problem.remedy));
                    }
                }
                if problems.len() > MOST_PROBLEMS {
                    let _ = writeln!(text, "  and {} more", problems.len() - MOST_PROBLEMS);
                }
            }
            Self::Usage(problem) => {
                let _ = writeln!(text, "error: {}", plain(&placed(problem)));
                if !problem.remedy.is_empty() {
                    let _ = writeln!(text, "hint: {}", plain(&problem.remedy));
                }
            }
            Self::NobodyReads => {}
            Self::Internal(what) => {
                let _ = writeln!(text, "internal error: {}", plain(what));
                text.push_str(
                    "hint: this is a fault of the program, not of your data; please report it with the input\n",
                );
            }
        }
        text
    }
}

fn placed(problem: &Problem) -> String {
    if problem.place.is_empty() { problem.message.clone() } else { format!("{}: {}", problem.place, problem.message) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_is_cut_and_control_characters_do_not_reach_the_terminal() {
        let problems =
            (0..30).map(|i| Problem::new(format!("line {i}"), "bad \u{1b}[31m\u{202e}", "mend it")).collect();
        let text = Failure::Data { title: "f cannot be read".into(), problems }.text();
        assert!(text.contains("line 19") && !text.contains("line 20") && text.contains("and 10 more"));
        assert!(!text.contains(['\u{1b}', '\u{202e}']));
    }
}
