//! Ids: UUIDs of version 7 (RFC 9562), which sort by the time they were made at.

use uuid::{Builder, Uuid};

/// Ten random bytes, from the caller's random source.
pub type RandomBytes = [u8; 10];

/// The UUIDv7 of the millisecond `now_ms` since 1970 UTC and `random`.
///
/// Layout: 48 bits of time, 4 of version (7), 12 random, 2 of variant, 62 random (RFC 9562, section 5.7). Of the 80 random
/// bits passed in, the 6 that version and variant cover are lost.
#[must_use]
pub fn new_id(now_ms: u64, random: RandomBytes) -> Uuid {
    Builder::from_unix_timestamp_millis(now_ms, &random).into_uuid()
}

/// The time of an id, in milliseconds since 1970 UTC; nothing when it is not of version 7.
#[must_use]
pub fn made_at_ms(id: Uuid) -> Option<u64> {
    (id.get_version_num() == 7).then(|| (id.as_u128() >> 80) as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 9562, appendix A.6: 2022-02-22 14:22:22.000 GMT-5, `rand_a` 0xCC3, `rand_b` 0x18C4DC0C0C07398F.
    #[test]
    fn the_example_of_the_rfc() {
        let id = new_id(0x017F_22E2_79B0, [0x0C, 0xC3, 0x18, 0xC4, 0xDC, 0x0C, 0x0C, 0x07, 0x39, 0x8F]);
        assert_eq!(id.to_string(), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f");
        assert_eq!(made_at_ms(id), Some(1_645_557_742_000));
    }

    #[test]
    fn ids_sort_by_time() {
        assert!(new_id(1, [255; 10]) < new_id(2, [0; 10]));
        assert_eq!(made_at_ms(Uuid::nil()), None);
    }
}
