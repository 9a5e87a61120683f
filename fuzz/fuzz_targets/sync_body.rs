//! The body of a sync: it is refused, or reads back as the same request.
#![no_main]

use goldward_journal::sync::SyncRequest;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|body: &[u8]| {
    if let Ok(request) = SyncRequest::read(body) {
        let again = serde_json::to_vec(&request).expect("a request is JSON");
        assert_eq!(SyncRequest::read(&again).as_ref(), Ok(&request));
    }
});
