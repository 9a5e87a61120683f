//! Aids at the line, from the marks of a kit: wind, slopes, the wrong mark, and elevation through the arrow's flight.

use goldward_core::flight::{Gust, Wind};
use goldward_core::marks::{Fitted, MarksError, PinDown, Scale, elevation_move, slope_mark, wind_aid};
use goldward_core::plane::Point;
use goldward_core::units::Distance;
use goldward_journal::Kit;
pub use goldward_session::log::fit;
use goldward_session::marks::answer;

use crate::item::Item;
use crate::teller::Teller;
use crate::words::{self, Word};
use goldward_session::kit::Kit as Own;

/// The scale of a kit's sight.
#[must_use]
pub fn scale(kit: &Kit) -> Option<Scale> {
    let down = if kit.elevation_grows_up.unwrap_or(false) { PinDown::Falls } else { PinDown::Grows };
    Scale::new(kit.elevation_unit_mm.unwrap_or(1.0), down).ok()
}

fn failed(teller: &Teller<'_>, error: &MarksError) -> Vec<Item> {
    vec![Item::Note(teller.f(Word::CannotTell, &[&error.to_string()]))]
}

fn place(teller: &Teller<'_>, p: Point) -> String {
    words::place(teller.language, teller.imperial, p)
}

/// What a wind of `speed_m_s` from the clock direction `hour` asks for.
#[must_use]
pub fn wind(
    teller: &Teller<'_>,
    kit: &Kit,
    fitted: &Fitted,
    distance: Distance,
    speed_m_s: f64,
    hour: u32,
) -> Vec<Item> {
    let go = || -> Result<Vec<Item>, MarksError> {
        let gust = Gust::new(Wind::from_clock(speed_m_s, f64::from(hour))?, 0.0, 0.0)?;
        let aid = wind_aid(&fitted.flight()?, &Own::from(kit).sight(), distance, &gust)?;
        let metres = teller.distance(distance.metres());
        Ok(vec![
            Item::Answer(teller.f(Word::WindLands, &[&metres, &place(teller, aid.effect.mean)])),
            Item::Text(teller.f(
                Word::WindAim,
                &[
                    &place(teller, aid.aim_off),
                    &words::clicks(teller.language, aid.clicks),
                    &place(teller, aid.left_over),
                    &teller.length(aid.effect.across_mm_per_m_s),
                ],
            )),
            Item::Text(teller.t(Word::WindRule)),
        ])
    };
    go().unwrap_or_else(|e| failed(teller, &e))
}

/// The mark on a slope, uphill positive.
#[must_use]
pub fn slope(teller: &Teller<'_>, kit: &Kit, fitted: &Fitted, distance: Distance, slope_deg: f64) -> Vec<Item> {
    let Some(scale) = scale(kit) else { return Vec::new() };
    let go = || -> Result<Vec<Item>, MarksError> {
        let (radians, metres) = (slope_deg.to_radians(), distance.metres());
        let aid = slope_mark(&fitted.flight()?, &Own::from(kit).sight(), distance, radians)?;
        let (on, level) = (fitted.predict_on(metres, radians)?, fitted.predict(metres)?);
        let at = |mm: f64| teller.number(scale.number_at(mm), 1);
        let mut ends = on.interval_mm;
        if scale.number_at(ends[0]) > scale.number_at(ends[1]) {
            ends.reverse();
        }
        let here = teller.distance(metres);
        let rounded = |m: f64| teller.distance((10.0 * m).round() / 10.0);
        let mut items = vec![Item::Answer(teller.f(
            Word::SlopeMark,
            &[&here, &teller.number(slope_deg, 1), &at(on.reading_mm), &at(ends[0]), &at(ends[1])],
        ))];
        if let Some(m) = aid.level_m {
            items.push(Item::Text(teller.f(Word::SlopeLevel, &[&rounded(m), &here, &at(level.reading_mm)])));
        }
        let error = place(teller, Point::new(0.0, aid.cosine_error_mm));
        items.push(Item::Text(teller.f(Word::SlopeCosine, &[&rounded(aid.cosine_m), &error])));
        if on.extrapolated {
            items.push(Item::Note(format!("{here}: {}", teller.t(Word::Extrapolated))));
        }
        items.push(Item::Text(teller.t(Word::SlopeBend)));
        items.push(Item::Safety(teller.t(Word::MarkUnproven)));
        Ok(items)
    };
    go().unwrap_or_else(|e| failed(teller, &e))
}

/// Whether a group `high_mm` above the middle looks like another distance's mark.
#[must_use]
pub fn wrong(
    teller: &Teller<'_>,
    kit: &Kit,
    fitted: &Fitted,
    distance: Distance,
    high_mm: f64,
    sd_mm: f64,
) -> Vec<Item> {
    let Some(scale) = scale(kit) else { return Vec::new() };
    let go = || -> Result<Vec<Item>, MarksError> {
        let ranges: Vec<(f64, String)> =
            fitted.marks().iter().map(|m| (m.distance_m(), teller.distance(m.distance_m()))).collect();
        let here = teller.distance(distance.metres());
        let lies = place(teller, Point::new(0.0, high_mm));
        let Some((w, right_mm)) = answer::wrong(fitted, distance.metres(), high_mm, sd_mm, &ranges)? else {
            return Ok(vec![Item::Text(teller.f(Word::WrongNot, &[&lies, &here]))]);
        };
        let expected = place(teller, Point::new(0.0, w.expected_mm));
        let reading = teller.number(scale.number_at(right_mm), 1);
        Ok(vec![Item::Warning(teller.f(Word::WrongMarkIs, &[&w.name, &here, &teller.often(w.p), &expected, &reading]))])
    };
    go().unwrap_or_else(|e| failed(teller, &e))
}

/// The clicks of elevation through the arrow's flight, when they differ by at least one from `clicks` by the trade rule.
#[must_use]
pub fn refined_clicks(kit: &Kit, fitted: &Fitted, distance: Distance, clicks: i32) -> Option<i32> {
    let sight = Own::from(kit).sight();
    let click = sight.click_mm()[1];
    let offset = f64::from(clicks) * click * sight.face_per_pin(distance);
    let by = elevation_move(&fitted.flight().ok()?, &sight, distance, offset).ok()?;
    by.differ(click).then(|| (by.refined_mm / click).round() as i32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::Language;
    use goldward_core::flight::{Arrow, Conditions, Drag, Flight};
    use goldward_journal::{Mark, Proven};

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
    fn fitted() -> Fitted {
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
        fit(&kit(), &[18.0, 30.0, 50.0, 70.0].map(|d| mark(&d)), |d| format!("{d} m")).unwrap().unwrap()
    }

    fn tell<T>(say: impl FnOnce(&Teller<'_>) -> T) -> T {
        say(&Teller { language: Language::English, imperial: false, date: &|_| String::new() })
    }

    fn metres(m: f64) -> Distance {
        Distance::from_metres(m).unwrap()
    }

    fn first(items: &[Item]) -> String {
        match &items[0] {
            Item::Answer(t) | Item::Warning(t) | Item::Text(t) | Item::Note(t) => t.clone(),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn a_wind_from_the_right_lands_left_and_asks_for_left() {
        let items = tell(|t| wind(t, &kit(), &fitted(), metres(70.0), 4.0, 3));
        assert!(first(&items).contains("left") && !first(&items).contains("right"), "{items:?}");
        assert!(matches!(&items[1], Item::Text(t) if t.contains("clicks left")), "{items:?}");
        let calm = tell(|t| wind(t, &kit(), &fitted(), metres(70.0), 40.0, 3));
        assert!(matches!(&calm[..], [Item::Note(_)]));
    }

    #[test]
    fn slopes_come_with_the_caution() {
        for degrees in [-20.0, 20.0] {
            let items = tell(|t| slope(t, &kit(), &fitted(), metres(50.0), degrees));
            assert!(items.iter().any(|i| matches!(i, Item::Safety(_))), "{items:?}");
            assert!(matches!(&items[1], Item::Text(t) if t.contains("4") && t.contains("on the level")), "{items:?}");
        }
    }

    #[test]
    fn the_seventy_metre_mark_at_fifty_is_recognised() {
        let fitted = fitted();
        let flight = fitted.flight().unwrap();
        let high = 1000.0 * flight.fly(flight.angle_for(70.0).unwrap(), 50.0).unwrap().height_m;
        let items = tell(|t| wrong(t, &kit(), &fitted, metres(50.0), high, 20.0));
        assert!(first(&items).starts_with("This looks like the 70 m mark"), "{items:?}");
        let items = tell(|t| wrong(t, &kit(), &fitted, metres(50.0), 30.0, 20.0));
        assert!(first(&items).contains("does not look like"), "{items:?}");
    }

    #[test]
    fn the_flight_matters_only_for_long_moves() {
        assert_eq!(refined_clicks(&kit(), &fitted(), metres(70.0), 10), None);
        let far = refined_clicks(&kit(), &fitted(), metres(70.0), 200).unwrap();
        assert!(far != 200 && (far - 200).abs() < 20, "{far}");
    }
}
