//! Days by name.

/// The day of a time, as 2025-06-01, in UTC.
#[must_use]
pub fn day(at_ms: u64) -> String {
    // Civil calendar from days since 1970, counted in eras of 400 years from March.
    let z = (at_ms / 86_400_000) as i64 + 719_468;
    let (era, of_era) = (z.div_euclid(146_097), z.rem_euclid(146_097));
    let year = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year + year / 4 - year / 100);
    let month = (5 * of_year + 2) / 153;
    let (d, m) = (of_year - (153 * month + 2) / 5 + 1, if month < 10 { month + 3 } else { month - 9 });
    format!("{:04}-{m:02}-{d:02}", year + era * 400 + i64::from(m <= 2))
}

#[cfg(test)]
mod tests {
    use super::day;

    #[test]
    fn days_are_named_as_the_calendar_does() {
        for text in ["1970-01-01", "2024-02-29", "2025-12-31", "2000-03-01"] {
            assert_eq!(day(goldward_journal::plain::noon_ms(text).unwrap()), text);
        }
    }
}
