//! Numbers for Prometheus, in its text format. They tell of nobody.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

/// Upper ends of the buckets, in seconds.
const BUCKETS: [f64; 9] = [0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 5.0];

#[derive(Debug, Default, Clone, Copy)]
struct Series {
    buckets: [u64; BUCKETS.len()],
    count: u64,
    seconds: f64,
}

/// What has happened since the start.
#[derive(Debug, Default)]
pub struct Metrics {
    requests: Mutex<BTreeMap<(String, &'static str, u16), Series>>,
    accepted: AtomicU64,
    sent: AtomicU64,
    failed_logins: AtomicU64,
}

/// A method as it is counted: whoever asks can make up others without end.
pub(crate) fn method(method: &axum::http::Method) -> &'static str {
    match method.as_str() {
        "GET" => "GET",
        "HEAD" => "HEAD",
        "POST" => "POST",
        "PUT" => "PUT",
        "DELETE" => "DELETE",
        "OPTIONS" => "OPTIONS",
        _ => "other",
    }
}

impl Metrics {
    /// `route` is a pattern of the router, of which there are few.
    pub(crate) fn request(&self, method: &'static str, route: &str, status: u16, took: Duration) {
        let mut requests = self.requests.lock().unwrap_or_else(PoisonError::into_inner);
        let series = requests.entry((route.to_owned(), method, status)).or_default();
        let seconds = took.as_secs_f64();
        series.count += 1;
        series.seconds += seconds;
        for (bucket, end) in series.buckets.iter_mut().zip(BUCKETS) {
            *bucket += u64::from(seconds <= end);
        }
    }

    pub(crate) fn synced(&self, accepted: u64, sent: u64) {
        self.accepted.fetch_add(accepted, Ordering::Relaxed);
        self.sent.fetch_add(sent, Ordering::Relaxed);
    }

    pub(crate) fn failed_login(&self) {
        self.failed_logins.fetch_add(1, Ordering::Relaxed);
    }

    pub(crate) fn text(&self) -> String {
        let mut out = String::new();
        for (name, help, value) in [
            ("goldward_records_accepted_total", "Versions taken into a log.", &self.accepted),
            ("goldward_records_sent_total", "Versions given to a device.", &self.sent),
            ("goldward_failed_logins_total", "Logins with a wrong name or password.", &self.failed_logins),
        ] {
            let value = value.load(Ordering::Relaxed);
            let _ = writeln!(out, "# HELP {name} {help}\n# TYPE {name} counter\n{name} {value}");
        }
        out.push_str("# HELP goldward_request_seconds Time from the request to the answer's head.\n");
        out.push_str("# TYPE goldward_request_seconds histogram\n");
        for ((route, method, status), series) in &*self.requests.lock().unwrap_or_else(PoisonError::into_inner) {
            let labels = format!("method=\"{method}\",route=\"{route}\",status=\"{status}\"");
            for (bucket, end) in series.buckets.iter().zip(BUCKETS) {
                let _ = writeln!(out, "goldward_request_seconds_bucket{{{labels},le=\"{end}\"}} {bucket}");
            }
            let _ = writeln!(out, "goldward_request_seconds_bucket{{{labels},le=\"+Inf\"}} {}", series.count);
            let _ = writeln!(out, "goldward_request_seconds_sum{{{labels}}} {}", series.seconds);
            let _ = writeln!(out, "goldward_request_seconds_count{{{labels}}} {}", series.count);
        }
        out
    }
}
