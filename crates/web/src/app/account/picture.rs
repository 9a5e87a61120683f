//! A picture that another phone scans.

use std::fmt::Write as _;

use qrcodegen::{QrCode, QrCodeEcc};

use crate::pages::escape;

/// Light squares around it, which scanners need.
const QUIET: i32 = 4;

/// `text` as a picture; nothing when it is too long for one.
pub(super) fn picture(text: &str, label: &str) -> String {
    let Ok(code) = QrCode::encode_text(text, QrCodeEcc::Medium) else { return String::new() };
    let side = code.size() + 2 * QUIET;
    let mut out = format!(
        "<svg class=\"scan\" viewBox=\"-{QUIET} -{QUIET} {side} {side}\" role=\"img\" aria-label=\"{}\" shape-rendering=\"crispEdges\"><path d=\"",
        escape(label)
    );
    for y in 0..code.size() {
        for x in (0..code.size()).filter(|x| code.get_module(*x, y)) {
            let _ = write!(out, "M{x} {y}h1v1h-1z");
        }
    }
    out + "\"/></svg>"
}
