//! Shares, as they are typed.

/// Reads a share between 0 and 1: `10%` or `0.1`.
///
/// # Errors
/// What is wrong and the remedy, in words.
pub fn parse_share(text: &str) -> Result<f64, String> {
    let bare = text.trim().trim_end_matches('%').trim_end();
    let scale = if text.contains('%') { 0.01 } else { 1.0 };
    match goldward_core::units::parse_decimal(bare) {
        Some(v) if v * scale > 0.0 && v * scale < 1.0 => Ok(v * scale),
        Some(_) => Err("it is out of range: write a share between 0% and 100%, such as 10%".to_owned()),
        None => Err("it is not a share: write one such as 10%".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_needs_its_sign_or_a_point() {
        assert!((parse_share("10 %").unwrap() - 0.1).abs() < 1e-12 && parse_share("10").is_err());
    }
}
