//! Source: `scripts/marks_flights.py`: pin positions for a reference archer by SciPy, at short range, on slopes and at
//! target distances; and the sight rule of similar triangles from the trade.

use checks::{list, near, number, reference};
use goldward_core::flight::{Air, Arrow, Conditions, Drag, Flight};
use goldward_core::marks::{Sighting, elevation_move};
use goldward_core::sight::Sight;
use goldward_core::units::Distance;
use serde_json::Value;

fn flight(reference: &Value) -> (Flight, Sighting) {
    let archer = &reference["reference"];
    let get = |key: &str| number(&archer[key]);
    let drag = Drag::constant(number(&archer["drag"][0])).unwrap();
    let arrow = Arrow::new(get("mass_g"), get("diameter_mm"), drag).unwrap();
    let air = Air::new(number(&reference["density_kg_m3"]), number(&reference["viscosity_pa_s"])).unwrap();
    let flight = Flight::new(arrow, Conditions::in_air(air), get("speed_m_s"), get("eye_above_arrow_mm")).unwrap();
    (flight, Sighting::new(get("eye_to_pin_mm"), get("eye_above_arrow_mm")).unwrap())
}

/// Tolerance: 2e-9 m on the face, the promise of the search, is 1e-6 mm at the pin at the shortest distance.
#[test]
fn pins_agree_at_every_distance_and_slope() {
    let reference = reference("marks_flights.json");
    let (flight, sighting) = flight(&reference);
    let archer = &reference["reference"];
    for (distances, pins) in
        [(&reference["distances_m"], &archer["pin_mm"]), (&archer["short_m"], &archer["short_pin_mm"])]
    {
        for (distance, pin) in list(distances).iter().zip(list(pins)) {
            let got = sighting.pin_below_mm(flight.angle_for(number(distance)).unwrap());
            near(&format!("{distance} m"), got, number(pin), 2e-6);
        }
    }
    for row in list(&archer["sloped"]) {
        let sloped = flight.with_conditions(flight.conditions().with_slope(number(&row[1])).unwrap());
        let got = sighting.pin_below_mm(sloped.angle_for(number(&row[0])).unwrap());
        near(&format!("{row}"), got, number(&row[2]), 2e-6);
    }
}

/// At short range the pin goes down again: least near `v sqrt(2 h / g)` (8.7 m here), by the geometry of the eye above
/// the arrow.
#[test]
fn the_mark_turns_back_at_short_range() {
    let reference = reference("marks_flights.json");
    let (flight, sighting) = flight(&reference);
    let pin = |d: f64| sighting.pin_below_mm(flight.angle_for(d).unwrap());
    let lowest = (20..300).map(|i| f64::from(i) / 10.0).min_by(|a, b| pin(*a).total_cmp(&pin(*b))).unwrap();
    let expected = 57.0 * (2.0 * 0.115 / 9.806_65_f64).sqrt();
    near("distance of the least reading", lowest, expected, 0.02 * expected);
    assert!(pin(5.0) > pin(lowest) + 3.0 && pin(5.0) > pin(12.0) && pin(30.0) > pin(18.0));
}

/// Source: the trade's rule that 30 cm at 60 yd is about 5 mm at the pin (common practice, no source; similar
/// triangles with the pin about 0.9 m from the eye). Tolerance: 0.25 mm for "about"; the flight's own figure within 5
/// % of the rule.
#[test]
fn thirty_centimetres_at_sixty_yards_is_about_five_millimetres() {
    let reference = reference("marks_flights.json");
    let (flight, _) = flight(&reference);
    let sight = Sight::new(900.0, [0.1, 0.1], 0.0).unwrap();
    let got = elevation_move(&flight, &sight, Distance::from_yards(60.0).unwrap(), 300.0).unwrap();
    near("similar triangles", got.similar_mm, 5.0, 0.25);
    near("through the flight", got.refined_mm, got.similar_mm, 0.05 * got.similar_mm);
}
