//! The second factor: codes that an authenticator makes anew every 30 seconds (RFC 6238: SHA-1, six digits, as all of them can), and
//! recovery codes for whoever has lost it.

use totp_rs::{Algorithm, TOTP};

use crate::auth::{hash_secret, random};

/// Seconds for which a code is shown.
const STEP_S: u64 = 30;

/// So many steps may the clock of an authenticator be off, each way.
const SKEW: u64 = 1;

/// Digits of a code.
const DIGITS: usize = 6;

/// Recovery codes made at once.
const RECOVERY: usize = 10;

/// What stands before the name in an authenticator.
const ISSUER: &str = "Goldward";

/// A fresh secret: 160 bits, as RFC 4226 recommends (section 4, R6).
#[must_use]
pub fn fresh() -> Vec<u8> {
    random::<20>().to_vec()
}

fn totp(secret: &[u8], name: &str) -> Option<TOTP> {
    // A colon parts the two in the address.
    let name = name.replace(':', " ");
    TOTP::new(Algorithm::SHA1, DIGITS, 1, STEP_S, secret.to_vec(), Some(ISSUER.to_owned()), name).ok()
}

/// A secret as it is shown: for typing in (base 32), and as an `otpauth://` address, for a picture to scan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// In groups of four.
    pub text: String,
    /// The address.
    pub uri: String,
}

/// How the secret of the account called `name` is shown.
#[must_use]
pub fn shown(secret: &[u8], name: &str) -> Shown {
    let Some(totp) = totp(secret, name) else { return Shown { text: String::new(), uri: String::new() } };
    let plain: Vec<char> = totp.get_secret_base32().chars().collect();
    let text = plain.chunks(4).map(|four| four.iter().collect::<String>()).collect::<Vec<_>>().join(" ");
    Shown { text, uri: totp.get_url() }
}

/// The step of which `code` is, when it is one of those around `now_ms`.
#[must_use]
pub fn step_of(secret: &[u8], code: &str, now_ms: u64) -> Option<u64> {
    let code: String = code.chars().filter(|c| !c.is_whitespace()).collect();
    let totp = totp(secret, "")?;
    let now = now_ms / 1000 / STEP_S;
    // The latest first: one code is of two steps only once in a million.
    let mut steps = (now.saturating_sub(SKEW)..=now + SKEW).rev();
    steps.find(|step| same(totp.generate(step * STEP_S).as_bytes(), code.as_bytes()))
}

/// Compares in a time that tells nothing of where they differ.
fn same(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len() && a.iter().zip(b).fold(0, |differ, (a, b)| differ | (a ^ b)) == 0
}

/// Fresh recovery codes of 80 bits, told once, and their hashes, which are all that is kept.
#[must_use]
pub fn recovery_codes() -> (Vec<String>, Vec<[u8; 32]>) {
    (0..RECOVERY)
        .map(|_| {
            // 32 letters and digits, without those that look alike: five bits each.
            const LETTERS: &[u8; 32] = b"abcdefghjkmnpqrstuvwxyz023456789";
            let text: String = random::<16>().iter().map(|b| char::from(LETTERS[usize::from(b % 32)])).collect();
            let code = [&text[..4], &text[4..8], &text[8..12], &text[12..]].join("-");
            let hash = recovery_hash(&code);
            (code, hash)
        })
        .unzip()
}

/// The hash of a recovery code however it is typed.
#[must_use]
pub fn recovery_hash(code: &str) -> [u8; 32] {
    let plain: String = code.chars().filter(char::is_ascii_alphanumeric).map(|c| c.to_ascii_lowercase()).collect();
    hash_secret(&plain)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 6238, appendix B, table 1: SHA-1, eight digits, the secret of ASCII "12345678901234567890". Six digits are the last six.
    const RFC_6238: [(u64, &str); 6] = [
        (59, "94287082"),
        (1_111_111_109, "07081804"),
        (1_111_111_111, "14050471"),
        (1_234_567_890, "89005924"),
        (2_000_000_000, "69279037"),
        (20_000_000_000, "65353130"),
    ];
    const SECRET: &[u8] = b"12345678901234567890";

    #[test]
    fn codes_are_those_of_rfc_6238() {
        for (seconds, code) in RFC_6238 {
            let now = seconds * 1000;
            assert_eq!(step_of(SECRET, &code[2..], now), Some(seconds / 30), "{seconds}");
            let spaced = format!(" {} {}", &code[2..5], &code[5..]);
            assert_eq!(step_of(SECRET, &spaced, now), Some(seconds / 30), "with a space");
            // A clock that is off by half a minute.
            assert_eq!(step_of(SECRET, &code[2..], now + 30_000), Some(seconds / 30));
            assert_eq!(step_of(SECRET, &code[2..], now - 30_000), Some(seconds / 30));
            assert_eq!(step_of(SECRET, &code[2..], now + 90_000), None);
        }
        for wrong in ["", "000000", "94287082", "28708", "287082x", "２８７０８２"] {
            assert_eq!(step_of(SECRET, wrong, 59_000), None, "{wrong}");
        }
    }

    #[test]
    fn a_secret_is_shown_as_text_and_as_an_address() {
        let shown = shown(SECRET, "Anna: Berg & Söhne");
        // RFC 4648, base 32 of the same bytes: computed with Python's base64.b32encode.
        assert_eq!(shown.text, "GEZD GNBV GY3T QOJQ GEZD GNBV GY3T QOJQ");
        assert!(shown.uri.starts_with("otpauth://totp/Goldward:Anna%20"), "{}", shown.uri);
        assert!(shown.uri.contains("secret=GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"), "{}", shown.uri);
        assert!(shown.uri.contains("issuer=Goldward") && !shown.uri.contains(' '), "{}", shown.uri);
        assert_ne!(fresh(), fresh());
        assert_eq!(fresh().len(), 20);
    }

    #[test]
    fn recovery_codes_are_found_however_they_are_typed() {
        let (codes, hashes) = recovery_codes();
        assert_eq!(codes.iter().collect::<std::collections::BTreeSet<_>>().len(), 10);
        for (code, hash) in codes.iter().zip(&hashes) {
            assert_eq!(code.len(), 19);
            assert_eq!(recovery_hash(&code.to_uppercase().replace('-', " ")), *hash);
        }
        assert_ne!(recovery_hash(&codes[0]), hashes[1]);
    }
}
