//! JSON Lines of a log: they are refused, or the log reads back as itself from both formats, and all that looks at it copes.
#![no_main]

use goldward_journal::{Log, jsonl, table};
use goldward_session::log::history;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Ok(log) = jsonl::read(text) {
        assert_eq!(jsonl::read(&jsonl::write(&log)).as_ref(), Ok(&log));
        assert_eq!(table::read(&table::write(&log)).as_ref(), Ok(&log));
        assert_eq!(log.merge(&Log::new()), log);
        let _ = log.check();
        for archer in log.archers() {
            let _ = history(&log, archer);
        }
    }
});
