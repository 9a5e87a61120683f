//! Plain tables of scores: for taking over what was kept in a spreadsheet.

use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use goldward_core::face::Face;

use crate::body::{Body, Score};
use crate::id::new_id;
use crate::jsonl::{BadLine, LineError, Wanted};
use crate::record::{Record, Writer};

/// An id that is always the same for the same text of the same archer: reading a table twice does not double it.
#[must_use]
pub fn steady_id(archer: Uuid, at_ms: u64, text: &str) -> Uuid {
    let mut hash = Sha256::new();
    hash.update(archer.as_bytes());
    hash.update(text.as_bytes());
    let mut random = [0; 10];
    random.copy_from_slice(&hash.finalize()[..10]);
    new_id(at_ms, random)
}

/// Noon UTC of a day such as `2025-06-01`, in milliseconds since 1970; nothing when it is none, or before 1970.
#[must_use]
pub fn noon_ms(date: &str) -> Option<u64> {
    let mut parts = date.trim().splitn(3, '-');
    let mut number = |digits: usize| {
        let part = parts.next()?;
        (part.len() == digits && part.bytes().all(|b| b.is_ascii_digit())).then(|| part.parse::<i64>().ok())?
    };
    let (year, month, day) = (number(4)?, number(2)?, number(2)?);
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let length = [31, if leap { 29 } else { 28 }, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let longest = *length.get(usize::try_from(month).ok()?.checked_sub(1)?)?;
    if year < 1970 || !(1..=longest).contains(&day) {
        return None;
    }
    // Days from the civil calendar, counted from March so that the leap day comes last.
    let (y, m) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let days = 365 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + day - 1 - 719_468;
    u64::try_from(days * 86_400_000 + 43_200_000).ok()
}

/// Reads a table of scores with the columns `date` (2025-06-01), `distance` (70, 70m, 60yd), `face`, `shots`, `points` and, if
/// it has one, `round`; cells are separated by commas or semicolons. Each row becomes a [`Score`].
///
/// # Errors
/// Every bad line, at most 20 of them; nothing is made then.
pub fn read_scores(text: &str, writer: &mut Writer, now_ms: u64) -> Result<Vec<Record>, Vec<LineError>> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let first = text.lines().next().unwrap_or_default();
    let separator = if first.contains(';') {
        b';'
    } else if first.contains('\t') {
        b'\t'
    } else {
        b','
    };
    let mut rows = csv::ReaderBuilder::new().delimiter(separator).trim(csv::Trim::All).from_reader(text.as_bytes());
    let bad = |line: usize, what: BadLine| LineError { line, what };
    let header: Vec<String> = rows
        .headers()
        .map_err(|e| vec![bad(1, BadLine::NoRow(e.to_string()))])?
        .iter()
        .map(str::to_lowercase)
        .collect();
    let known = ["date", "distance", "face", "shots", "points", "round"];
    if let Some(name) = header.iter().find(|h| !known.contains(&h.as_str())) {
        return Err(vec![bad(1, BadLine::UnknownColumn(name.clone()))]);
    }
    if let Some(name) = known[..5].iter().find(|k| !header.iter().any(|h| h == *k)) {
        return Err(vec![bad(1, BadLine::NoColumn(name))]);
    }
    let (mut bodies, mut errors) = (Vec::new(), Vec::new());
    for row in rows.records() {
        let row = match row {
            Ok(row) => row,
            Err(e) => {
                let line = e.position().map_or(0, |p| p.line() as usize);
                errors.push(bad(line, BadLine::NoRow(e.to_string())));
                continue;
            }
        };
        let line = row.position().map_or(0, |p| p.line() as usize);
        let cell = |name: &str| header.iter().position(|h| h == name).and_then(|i| row.get(i)).unwrap_or_default();
        match score(&cell) {
            Ok(score) => bodies.push((format!("{line} {}", row.iter().collect::<Vec<_>>().join("\u{1f}")), score)),
            Err(what) => errors.push(bad(line, what)),
        }
        if errors.len() >= 20 {
            break;
        }
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    Ok(bodies
        .into_iter()
        .map(|(text, score)| {
            let id = steady_id(writer.archer, score.at_ms, &text);
            Record::new(writer.archer, id, writer.clock.next(now_ms), Body::Score(score))
        })
        .collect())
}

fn score<'a>(cell: &impl Fn(&str) -> &'a str) -> Result<Score, BadLine> {
    let wrong = |name: &str, wanted| BadLine::Cell { column: name.to_owned(), cell: cell(name).to_owned(), wanted };
    let number = |name: &str| cell(name).parse::<u32>().map_err(|_| wrong(name, Wanted::Whole));
    let at_ms = noon_ms(cell("date")).ok_or_else(|| wrong("date", Wanted::Day))?;
    let distance = cell("distance").parse::<goldward_core::units::Distance>().map_err(BadLine::Distance)?;
    let face = Face::named(cell("face")).map_err(BadLine::Face)?;
    let (shots, points) = (number("shots")?, number("points")?);
    if shots == 0 || points > shots.saturating_mul(u32::from(face.highest_value())) {
        return Err(BadLine::Points { points, shots, face: face.name });
    }
    Ok(Score {
        at_ms,
        distance_m: distance.metres(),
        face: face.name.to_owned(),
        shots,
        points,
        round: Some(cell("round").to_owned()).filter(|r| !r.is_empty()),
        kit: None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_counted_as_the_calendar_does() {
        // Python: int(datetime(...,12,tzinfo=utc).timestamp() * 1000).
        assert_eq!(noon_ms("1970-01-01"), Some(43_200_000));
        assert_eq!(noon_ms("2024-02-29"), Some(1_709_208_000_000));
        assert_eq!(noon_ms("2025-12-31"), Some(1_767_182_400_000));
        for wrong in ["2025-02-29", "1969-12-31", "2025-13-01", "2025-00-10", "1-2-3", "2025-1-01", "", "é025-01-01"] {
            assert_eq!(noon_ms(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn a_table_of_scores_is_read_and_reading_it_twice_gives_the_same_ids() {
        let table =
            "date;distance;face;shots;points;round\n2025-06-01;70;122;72;590;club\n2025-06-08;60yd;122;36;300;\n";
        let mut writer = Writer::new(Uuid::nil(), Uuid::max());
        let first = read_scores(table, &mut writer, 5).unwrap();
        let again = read_scores(table, &mut writer, 9).unwrap();
        assert_eq!(first.len(), 2);
        assert!(first.iter().zip(&again).all(|(a, b)| a.id == b.id && b.stamp > a.stamp));
        let errors =
            read_scores("date,distance,face,shots,points\n1,2,3,4,5\n2025-06-01,70,122,1,11\n", &mut writer, 5)
                .unwrap_err();
        assert_eq!(errors.iter().map(|e| e.line).collect::<Vec<_>>(), [2, 3]);
    }
}
