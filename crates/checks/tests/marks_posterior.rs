//! Source: `scripts/marks_posterior.py`: the same model summed by brute force over a grid of speed and drag, launch
//! angles by SciPy, scale zero and eye in the covariance of the readings, every set of wrong marks.
//! Tolerance: 2 % of the standard deviation for means and ends of intervals, 2 % for standard deviations, 0.01 for
//! probabilities: what nine flights a distance and seven nodes an axis are meant to hold, and far below what a mark is
//! known to. One mark alone leaves the speed to its wide prior, where the surface is stretched furthest: 4 %.

use checks::{list, near, number, reference};
use goldward_core::flight::{Air, Arrow, Conditions, Drag};
use goldward_core::marks::{Mark, Rig, Sighting, SpeedPrior, Unit, fit};
use goldward_core::units::Distance;

#[test]
fn every_posterior_agrees() {
    let reference = reference("marks_posterior.json");
    let get = |key: &str| number(&reference[key]);
    let arrow = Arrow::new(get("mass_g"), get("diameter_mm"), Drag::constant(get("cd")).unwrap()).unwrap();
    let air = Air::new(get("density_kg_m3"), get("viscosity_pa_s")).unwrap();
    for case in list(&reference["cases"]) {
        let name = case["name"].as_str().unwrap();
        let sighting = Sighting::new(get("eye_to_pin_mm"), get("eye_above_arrow_mm"))
            .and_then(|s| s.with_eye_sd(number(&case["eye_sd_mm"])))
            .unwrap();
        let median = number(&case["speed_prior_m_s"]);
        let speed =
            SpeedPrior::chronograph(median, median * number(&case["speed_ln_sd"]), Unit::MetresPerSecond).unwrap();
        let rig = Rig::new(sighting, arrow)
            .with_conditions(Conditions::in_air(air))
            .with_speed(speed)
            .with_drag_sd(get("drag_ln_sd"))
            .unwrap();
        let marks: Vec<Mark> = list(&case["marks"])
            .iter()
            .map(|m| {
                let distance = Distance::from_metres(number(&m[0])).unwrap();
                Mark::new(distance, number(&m[1]), number(&m[2])).unwrap().on_slope(number(&m[3])).unwrap()
            })
            .collect();
        let fitted = fit(&rig, &marks).unwrap();
        let share = if marks.len() == 1 { 0.04 } else { 0.02 };
        for want in list(&case["predicted"]) {
            let distance = number(&want["distance_m"]);
            let got = fitted.predict(distance).unwrap();
            let sd = number(&want["sd_mm"]);
            eprintln!(
                "{name}, {distance} m: in units of {sd:.3} mm: mean {:.4}, sd {:.4}, ends {:.4} {:.4}",
                (got.reading_mm - number(&want["reading_mm"])) / sd,
                got.sd_mm / sd - 1.0,
                (got.interval_mm[0] - number(&want["interval_mm"][0])) / sd,
                (got.interval_mm[1] - number(&want["interval_mm"][1])) / sd
            );
            let what = |part: &str| format!("{name}, {distance} m: {part}");
            near(&what("mean"), got.reading_mm, number(&want["reading_mm"]), share * sd);
            near(&what("sd"), got.sd_mm, sd, share * sd);
            for k in 0..2 {
                near(&what("interval"), got.interval_mm[k], number(&want["interval_mm"][k]), 0.04 * sd);
            }
        }
        for (what, got, want) in
            [("speed", fitted.speed_m_s(), &case["speed_m_s"]), ("drag", fitted.drag_per_m(), &case["drag_per_m"])]
        {
            let (mean, sd) = (number(&want[0]), number(&want[1]));
            near(&format!("{name}: {what}"), got.0, mean, share * sd);
            near(&format!("{name}: sd of {what}"), got.1, sd, share * sd);
        }
        for (i, (got, want)) in fitted.p_wrong().iter().zip(list(&case["p_wrong"])).enumerate() {
            near(&format!("{name}: mark {i} wrong"), *got, number(want), 0.01);
        }
    }
}
