//! Aids at the line, from the marks of a kit: wind, slopes, the wrong mark, and elevation through the arrow's flight.

use goldward_core::flight::Gust;
use goldward_core::marks::{MarksError, SlopeMark, WindAid, WrongMark, elevation_move, slope_mark, wind_aid};
use goldward_core::plane::Point;
use goldward_core::units::Distance;
use goldward_session::marks::answer::{self, Known};
use goldward_session::marks::quantity::Range;

use super::marks::suspects;
use crate::item::Item;
use crate::teller::Teller;
use crate::words::{self, Word};

/// What cannot be told, and why.
#[must_use]
pub fn failed(teller: &Teller<'_>, error: &MarksError) -> Vec<Item> {
    vec![Item::Note(teller.f(Word::CannotTell, &[&words::error::marks(teller.language, error)]))]
}

fn place(teller: &Teller<'_>, p: Point) -> String {
    words::place(teller.language, teller.imperial, p)
}

/// What a wind does at `range`.
///
/// # Errors
/// Where the arrow's flight does not reach.
pub fn wind_at(known: &Known, range: Range, gust: &Gust) -> Result<WindAid, MarksError> {
    wind_aid(&known.fitted.flight()?, &known.setup.sight, range.distance(), gust)
}

/// What a wind asks for; `gusts` where it changes from shot to shot.
#[must_use]
pub fn wind(teller: &Teller<'_>, range: Range, aid: &WindAid, gusts: bool) -> Vec<Item> {
    let mut items = vec![
        Item::Answer(teller.f(Word::WindLands, &[&teller.range(range), &place(teller, aid.effect.mean)])),
        Item::Text(teller.f(
            Word::WindAim,
            &[
                &place(teller, aid.aim_off),
                &words::clicks(teller.language, aid.clicks),
                &place(teller, aid.left_over),
                &teller.length(aid.effect.across_mm_per_m_s),
            ],
        )),
    ];
    if gusts {
        items.push(Item::Text(teller.f(Word::WindGusts, &[&teller.length(aid.effect.cov.xx.sqrt())])));
    }
    items.push(Item::Text(teller.t(Word::WindRule)));
    items
}

/// The mark on a slope.
#[derive(Debug, Clone, PartialEq)]
pub struct OnSlope {
    /// What the slope does.
    pub aid: SlopeMark,
    /// The mark there.
    pub on: goldward_core::marks::Prediction,
    /// The mark on the level, as far away.
    pub level: goldward_core::marks::Prediction,
}

/// The mark for `range` on a slope, uphill positive.
///
/// # Errors
/// Where the arrow's flight does not reach.
pub fn slope_at(known: &Known, range: Range, slope_deg: f64) -> Result<OnSlope, MarksError> {
    let radians = slope_deg.to_radians();
    let fitted = &known.fitted;
    Ok(OnSlope {
        aid: slope_mark(&fitted.flight()?, &known.setup.sight, range.distance(), radians)?,
        on: fitted.predict_on(range.m(), radians)?,
        level: fitted.predict(range.m())?,
    })
}

/// The mark on a slope.
#[must_use]
pub fn slope(teller: &Teller<'_>, known: &Known, range: Range, slope_deg: f64, found: &OnSlope) -> Vec<Item> {
    let OnSlope { aid, on, level } = found;
    let numbers = known.numbers();
    let number = |text: String| teller.language.number(&text);
    let here = teller.range(range);
    // In the unit of the distance that was asked about.
    let rounded = |m: f64| words::distance(teller.language, range.is_yards(), (10.0 * m).round() / 10.0);
    let [low, high] = numbers.interval(on.interval_mm).map(number);
    let at = |mm: f64| number(numbers.at(mm));
    let told = [here.clone(), teller.number(slope_deg, 1), at(on.reading_mm), low, high];
    let mut items = vec![Item::Answer(teller.f(Word::SlopeMark, &told.each_ref().map(String::as_str)))];
    items.push(Item::Text(match aid.level_m {
        Some(m) => teller.f(Word::SlopeLevel, &[&rounded(m), &here, &at(level.reading_mm)]),
        None => teller.f(Word::SlopeLevelNone, &[&here, &at(level.reading_mm)]),
    }));
    let error = place(teller, Point::new(0.0, aid.cosine_error_mm));
    items.push(Item::Text(teller.f(Word::SlopeCosine, &[&rounded(aid.cosine_m), &error])));
    if on.extrapolated {
        items.push(Item::Note(format!("{here}: {}", teller.t(Word::Extrapolated))));
    }
    items.push(Item::Text(teller.t(Word::SlopeBend)));
    items.push(Item::Safety(teller.t(Word::MarkUnproven)));
    items
}

/// Another distance's mark that seems to be set, and the reading, in millimetres, of the one that belongs there.
pub type WrongSet = Option<(WrongMark, f64)>;

/// Whether a group `high_mm` above the middle, known to `sd_mm`, looks like another distance's mark: one of the book or of `among`.
///
/// # Errors
/// Where the arrow's flight does not reach.
pub fn wrong_at(
    teller: &Teller<'_>,
    known: &Known,
    range: Range,
    [high_mm, sd_mm]: [f64; 2],
    among: &[Range],
) -> Result<WrongSet, MarksError> {
    let all: Vec<(f64, String)> = others(known, among).iter().map(|r| (r.m(), teller.range(*r))).collect();
    answer::wrong(&known.fitted, range.m(), high_mm, sd_mm, &all)
}

/// The distances whose marks may be set.
fn others(known: &Known, among: &[Range]) -> Vec<Range> {
    let mut ranges: Vec<Range> = Vec::new();
    for range in known.book.marks.iter().map(|m| m.range).chain(among.iter().copied()) {
        if !ranges.iter().any(|r| r.same_as(range)) {
            ranges.push(range);
        }
    }
    ranges
}

/// That the group looks like another distance's mark, and what to do about it.
#[must_use]
pub fn wrong_mark(teller: &Teller<'_>, known: &Known, range: Range, (w, right_mm): &(WrongMark, f64)) -> String {
    let expected = place(teller, Point::new(0.0, w.expected_mm));
    let reading = teller.language.number(&known.numbers().at(*right_mm));
    let (here, often) = (teller.range(range), teller.often(w.p));
    let told = [&w.name, &here, &often, &expected, &reading];
    teller.f(Word::WrongMarkIs, &told.map(String::as_str))
}

/// What [`wrong_at`] found.
#[must_use]
pub fn wrong(
    teller: &Teller<'_>,
    known: &Known,
    range: Range,
    high_mm: f64,
    among: &[Range],
    found: &WrongSet,
) -> Vec<Item> {
    let here = teller.range(range);
    let lies = place(teller, Point::new(0.0, high_mm));
    let Some(set) = found else {
        let known: Vec<String> =
            others(known, among).into_iter().filter(|r| !r.same_as(range)).map(|r| teller.range(r)).collect();
        let compared = match known.as_slice() {
            [] => teller.t(Word::WrongAlone),
            known => teller.f(Word::WrongCompared, &[&known.join(", ")]),
        };
        return vec![Item::Answer(teller.f(Word::WrongNot, &[&lies, &here])), Item::Text(compared)];
    };
    let mut items = vec![Item::Warning(wrong_mark(teller, known, range, set))];
    if let Some((name, p)) = set.0.runner_up.as_ref().filter(|(_, p)| *p > 0.05) {
        items.push(Item::Text(teller.f(Word::WrongNext, &[name, &teller.often(*p)])));
    }
    items.extend(suspects(teller, known));
    items
}

/// The clicks of elevation through the arrow's flight, when they differ by at least one from `clicks` by the trade rule.
#[must_use]
pub fn refined_clicks(known: &Known, distance: Distance, clicks: i32) -> Option<i32> {
    let sight = &known.setup.sight;
    let click = sight.click_mm()[1];
    let offset = f64::from(clicks) * click * sight.face_per_pin(distance);
    let by = elevation_move(&known.fitted.flight().ok()?, sight, distance, offset).ok()?;
    by.differ(click).then(|| (by.refined_mm / click).round() as i32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::Language;
    use goldward_core::flight::Wind;
    use goldward_core::flight::{Arrow, Conditions, Drag, Flight};
    use goldward_journal::{Kit, Mark, Proven};

    fn kit() -> Kit {
        Kit {
            eye_to_pin_mm: Some(880.0),
            eye_above_arrow_mm: Some(115.0),
            arrow_mass_g: Some(21.0),
            shaft_mm: Some(5.5),
            click_elevation_mm: Some(0.1),
            click_windage_mm: Some(0.1),
            ..Kit::default()
        }
    }

    /// Marks of a 57 m/s arrow.
    fn known() -> Known {
        let arrow = Arrow::new(21.0, 5.5, Drag::default()).unwrap();
        let flight = Flight::new(arrow, Conditions::default(), 57.0, 115.0).unwrap();
        let mark = |d: &f64| Mark {
            kit: goldward_journal::id::new_id(1, [1; 10]),
            distance_m: *d,
            elevation_reading: 880.0 * flight.angle_for(*d).unwrap().tan(),
            windage_reading: None,
            reading_sd: None,
            proven: Proven::Shot,
            at_ms: 0,
            slope_deg: None,
            arrows: None,
        };
        goldward_session::log::known(&kit(), &[18.0, 30.0, 50.0, 70.0].map(|d| mark(&d)), false).unwrap().unwrap()
    }

    fn tell<T>(say: impl FnOnce(&Teller<'_>) -> T) -> T {
        say(&Teller { language: Language::English, imperial: false, date: &|_| String::new() })
    }

    fn metres(m: f64) -> Range {
        Range::metres(m).unwrap()
    }

    fn first(items: &[Item]) -> String {
        match &items[0] {
            Item::Answer(t) | Item::Warning(t) | Item::Text(t) | Item::Note(t) => t.clone(),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_wind_from_the_right_lands_left_and_asks_for_left() {
        let told = |speed: f64| {
            let gust = Gust::new(Wind::from_clock(speed, 3.0).unwrap(), 0.0, 1.0).unwrap();
            wind_at(&known(), metres(70.0), &gust).map(|aid| tell(|t| wind(t, metres(70.0), &aid, true)))
        };
        let items = told(4.0).unwrap();
        assert!(first(&items).contains("left") && !first(&items).contains("right"), "{items:?}");
        assert!(matches!(&items[1], Item::Text(t) if t.contains("clicks left")), "{items:?}");
        assert!(matches!(&items[2], Item::Text(t) if t.contains("gusts")), "{items:?}");
        assert!(Wind::from_clock(40.0, 3.0).is_err());
    }

    #[test]
    fn slopes_come_with_the_caution() {
        for degrees in [-20.0, 20.0] {
            let found = slope_at(&known(), metres(50.0), degrees).unwrap();
            let items = tell(|t| slope(t, &known(), metres(50.0), degrees, &found));
            assert!(items.iter().any(|i| matches!(i, Item::Safety(_))), "{items:?}");
            assert!(matches!(&items[1], Item::Text(t) if t.contains("4") && t.contains("on the level")), "{items:?}");
        }
    }

    #[test]
    fn the_seventy_metre_mark_at_fifty_is_recognised() {
        let known = known();
        let flight = known.fitted.flight().unwrap();
        let high = 1000.0 * flight.fly(flight.angle_for(70.0).unwrap(), 50.0).unwrap().height_m;
        let told = |high: f64| {
            let found = tell(|t| wrong_at(t, &known, metres(50.0), [high, 20.0], &[])).unwrap();
            tell(|t| wrong(t, &known, metres(50.0), high, &[], &found))
        };
        let items = told(high);
        assert!(first(&items).starts_with("This looks like the 70 m mark"), "{items:?}");
        let items = told(30.0);
        assert!(first(&items).contains("does not look like"), "{items:?}");
        assert!(matches!(&items[1], Item::Text(t) if t.contains("18 m, 30 m, 70 m")), "{items:?}");
    }

    #[test]
    fn the_flight_matters_only_for_long_moves() {
        let at = Distance::from_metres(70.0).unwrap();
        assert_eq!(refined_clicks(&known(), at, 10), None);
        let far = refined_clicks(&known(), at, 200).unwrap();
        assert!(far != 200 && (far - 200).abs() < 20, "{far}");
    }
}
