//! CSV of a log: it is refused, or the log reads back as itself from both formats.
#![no_main]

use goldward_journal::{jsonl, table};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Ok(log) = table::read(text) {
        assert_eq!(table::read(&table::write(&log)).as_ref(), Ok(&log));
        assert_eq!(jsonl::read(&jsonl::write(&log)).as_ref(), Ok(&log));
    }
});
