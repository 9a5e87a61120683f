//! A plain table of scores: it is refused, or gives records that a log takes, the same ones each time.
#![no_main]

use goldward_journal::{Log, Uuid, Writer, jsonl, plain};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    let read = || {
        let mut writer = Writer::new(Uuid::from_u128(1), Uuid::from_u128(2));
        plain::read_scores(text, &mut writer, 1_700_000_000_000)
    };
    if let Ok(records) = read() {
        assert!(records.iter().all(|r| r.validate().is_ok()));
        assert_eq!(read().as_ref(), Ok(&records));
        let log = Log::from_records(records);
        assert_eq!(jsonl::read(&jsonl::write(&log)).as_ref(), Ok(&log));
    }
});
