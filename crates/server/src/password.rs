//! What may be a password.

use zxcvbn::{Score, zxcvbn};

/// Fewest characters of a password.
pub const SHORTEST_PASSWORD: usize = 10;

/// Most bytes of one.
pub const LONGEST_PASSWORD: usize = 1000;

/// Beginning of a password that is looked at: what is longer than this is not guessed by words.
const LOOKED_AT: usize = 64;

/// Refuses what is tried first by whoever guesses; `known` is what they know, such as the account's name.
///
/// Tried first are passwords that many have, words, names and dates with what is usually put around them, keys that lie side by side
/// and repetitions: below some million guesses by the measure of D. L. Wheeler, "zxcvbn: low-budget password strength
/// estimation" (USENIX Security 2016).
///
/// # Errors
/// What is wrong with the password, in words.
pub fn check(password: &str, known: &[&str]) -> Result<(), String> {
    if password.chars().count() < SHORTEST_PASSWORD || password.len() > LONGEST_PASSWORD {
        return Err(format!("a password has {SHORTEST_PASSWORD} to {LONGEST_PASSWORD} characters"));
    }
    let start: String = password.chars().take(LOOKED_AT).collect();
    // A name in parts and as one word.
    let parts = known.iter().flat_map(|k| k.split(|c: char| !c.is_alphanumeric()));
    let joined: Vec<String> = known.iter().map(|k| k.chars().filter(|c| c.is_alphanumeric()).collect()).collect();
    let known: Vec<&str> =
        parts.chain(joined.iter().map(String::as_str)).chain(["goldward", "archery", "archer"]).collect();
    if zxcvbn(&start, &known).score() < Score::Two {
        return Err(
            "this password is among the first to be guessed: take four words that have nothing to do with each \
                    other, or let a password manager make one"
                .to_owned(),
        );
    }
    Ok(())
}

/// The hash of a password in the PHC format, with a fresh salt. What may be a password, [`check`] says.
///
/// # Errors
/// What is wrong, in words.
pub fn hash(password: &str) -> Result<String, String> {
    crate::hashing::Memory::default().fresh(password)
}

#[cfg(test)]
mod tests {
    use super::check;

    #[test]
    fn what_is_guessed_first_is_refused() {
        // Long enough, and known to everybody.
        for weak in [
            "1234567890",
            "password123",
            "Password1!",
            "qwertyuiop",
            "aaaaaaaaaaaa",
            "iloveyou123",
            "abcdefghijkl",
            "goldward2026",
            "annaberg1990",
            "1qaz2wsx3edc",
        ] {
            let said = check(weak, &["Anna Berg"]);
            assert!(said.as_ref().is_err_and(|e| e.contains("guessed")), "{weak}: {said:?}");
        }
        for short in ["", "123456789", "x"] {
            assert!(check(short, &[]).unwrap_err().contains("10 to 1000"), "{short}");
        }
        assert!(check(&"x".repeat(1001), &[]).is_err());
    }

    #[test]
    fn what_nobody_guesses_may_be_one() {
        for fine in ["correct horse battery", "Regen auf dem Teich 7", "q7Xv-92hLm-pp4", "ответственный жёлтый кит"]
        {
            assert_eq!(check(fine, &["anna"]), Ok(()), "{fine}");
        }
        // A long one is not looked at for ever.
        assert_eq!(check(&"a sentence of some length, and then another one. ".repeat(20), &[]), Ok(()));
    }
}
