//! Source: `scripts/marks_flights.py`: true marks of simulated archers by SciPy's `solve_ivp` and `brentq`, in the
//! frame of the ground. Noise is ours, seeded.
//!
//! The bar: marks at 18, 30 and 50 m known to 0.3 mm predict 70 m within 3 cm on the face and 90 m within 6 cm, root
//! mean square over noise; and 80 % intervals hold 80 % within 4 points.

use checks::{list, near, number, reference};
use goldward_core::flight::{Air, Arrow, Conditions, Drag, Flight};
use goldward_core::marks::{Mark, Rig, Sighting, SpeedPrior, Unit, fit, mark_sd_mm};
use goldward_core::random::Random;
use goldward_core::units::Distance;
use serde_json::Value;

const SHOT_M: [f64; 3] = [18.0, 30.0, 50.0];

/// What the fit is told: geometry, mass, diameter and air, but neither speed nor drag.
fn rig(archer: &Value, reference: &Value) -> Rig {
    let get = |key: &str| number(&archer[key]);
    let arrow = Arrow::new(get("mass_g"), get("diameter_mm"), Drag::default()).unwrap();
    let air = Air::new(number(&reference["density_kg_m3"]), number(&reference["viscosity_pa_s"])).unwrap();
    let sighting = Sighting::new(get("eye_to_pin_mm"), get("eye_above_arrow_mm")).unwrap();
    Rig::new(sighting, arrow).with_conditions(Conditions::in_air(air))
}

fn pin_mm(archer: &Value, reference: &Value, distance_m: f64) -> f64 {
    let distances = list(&reference["distances_m"]);
    let i = distances.iter().position(|d| (number(d) - distance_m).abs() < 1e-9).unwrap();
    number(&archer["pin_mm"][i])
}

#[derive(Clone, Copy, PartialEq)]
enum Noise {
    /// Anything within 0.3 mm either way.
    Within,
    /// Normal, 0.3 mm one standard deviation.
    Normal,
    /// By the centre of so many arrows of a spread of 1.5 mrad, and a scale set and read to a tenth of a millimetre.
    Arrows(u32),
}

/// Spread of the archers whose marks come from arrows, in milliradians.
const SPREAD_MRAD: f64 = 1.5;

impl Noise {
    fn draw(self, eye_to_pin_mm: f64, random: &mut Random) -> f64 {
        match self {
            Self::Arrows(n) => {
                let mean = (0..n).map(|_| random.normal()).sum::<f64>() / f64::from(n);
                mean * SPREAD_MRAD / 1000.0 * eye_to_pin_mm + 0.1 * random.normal()
            }
            Self::Within => 0.3 * (2.0 * random.uniform() - 1.0),
            Self::Normal => 0.3 * random.normal(),
        }
    }

    fn sd(self, eye_to_pin_mm: f64) -> f64 {
        match self {
            Self::Arrows(n) => mark_sd_mm(eye_to_pin_mm, SPREAD_MRAD, n),
            Self::Within => 0.3 / 3.0_f64.sqrt(),
            Self::Normal => 0.3,
        }
    }
}

/// Errors on the face, root mean square, and how often the 80 % interval held, at 70 and at 90 m.
#[derive(Debug, Default, Clone, Copy)]
struct Tally {
    count: f64,
    square_mm2: [f64; 2],
    held: [f64; 2],
}

impl Tally {
    fn add(&mut self, rig: &Rig, archer: &Value, reference: &Value, noise: Noise, shot_m: &[f64], random: &mut Random) {
        let eye_to_pin_mm = rig.sighting().eye_to_pin_mm();
        let zero = 20.0 * random.normal();
        let marks: Vec<Mark> = shot_m
            .iter()
            .map(|d| {
                let reading = zero + pin_mm(archer, reference, *d) + noise.draw(eye_to_pin_mm, random);
                Mark::new(Distance::from_metres(*d).unwrap(), reading, noise.sd(eye_to_pin_mm)).unwrap()
            })
            .collect();
        let fitted = fit(rig, &marks).unwrap();
        self.count += 1.0;
        for (k, far) in [70.0, 90.0].into_iter().enumerate() {
            let got = fitted.predict(far).unwrap();
            let truth = zero + pin_mm(archer, reference, far);
            let on_face = (got.reading_mm - truth) * far * 1000.0 / rig.sighting().eye_to_pin_mm();
            self.square_mm2[k] += on_face * on_face;
            if (got.interval_mm[0]..=got.interval_mm[1]).contains(&truth) {
                self.held[k] += 1.0;
            }
        }
    }

    fn rms_mm(&self) -> [f64; 2] {
        self.square_mm2.map(|s| (s / self.count).sqrt())
    }

    fn coverage(&self) -> [f64; 2] {
        self.held.map(|h| h / self.count)
    }
}

fn told(what: &str, tally: &Tally) {
    let (rms, held) = (tally.rms_mm(), tally.coverage());
    eprintln!(
        "{what}: {} fits; 70 m {:.1} mm, held {:.3}; 90 m {:.1} mm, held {:.3}",
        tally.count, rms[0], held[0], rms[1], held[1]
    );
}

fn reference_tally(reference: &Value, noise: Noise, rig: &Rig) -> Tally {
    let mut random = Random::seeded(70);
    let mut tally = Tally::default();
    for _ in 0..1000 {
        tally.add(rig, &reference["reference"], reference, noise, &SHOT_M, &mut random);
    }
    tally
}

/// The bar, for one reference archer (57 m/s, 21 g, 5.5 mm, drag coefficient 1.95 where the fit expects 1.85 within 22
/// %), with readings anywhere within 0.3 mm of the truth.
#[test]
fn the_bar() {
    let reference = reference("marks_flights.json");
    let tally = reference_tally(&reference, Noise::Within, &rig(&reference["reference"], &reference));
    told("reference archer, within 0.3 mm", &tally);
    let rms = tally.rms_mm();
    assert!(rms[0] < 30.0 && rms[1] < 60.0, "{rms:?}");
}

/// With a normal error of 0.3 mm (one standard deviation) no unbiased method can meet that bar: a method that is told
/// the drag and must find speed and scale zero has, by Cramer & Rao, at least the error computed here. Ours, told
/// neither, stays within
/// a fifth of it.
#[test]
fn a_normal_error_of_the_same_size_is_met_as_well_as_it_can_be() {
    let reference = reference("marks_flights.json");
    let archer = &reference["reference"];
    let rig = rig(archer, &reference);
    let get = |key: &str| number(&archer[key]);
    let drag = Drag::constant(number(&archer["drag"][0])).unwrap();
    let arrow = Arrow::new(get("mass_g"), get("diameter_mm"), drag).unwrap();
    let by_speed = |distance: f64| {
        let pin = |speed: f64| {
            let flight = Flight::new(arrow, rig.conditions(), speed, get("eye_above_arrow_mm")).unwrap();
            rig.sighting().pin_below_mm(flight.angle_for(distance).unwrap())
        };
        (pin(57.01) - pin(56.99)) / 0.02
    };
    let slopes = SHOT_M.map(by_speed);
    let mean = slopes.iter().sum::<f64>() / 3.0;
    let square: f64 = slopes.iter().map(|s| (s - mean).powi(2)).sum();
    let bound = [70.0, 90.0].map(|far| {
        let sd_mm = 0.3 * (1.0 / 3.0 + (by_speed(far) - mean).powi(2) / square).sqrt();
        sd_mm * far * 1000.0 / rig.sighting().eye_to_pin_mm()
    });
    let tally = reference_tally(&reference, Noise::Normal, &rig);
    told("reference archer, normal 0.3 mm", &tally);
    eprintln!("bound with the drag known: {bound:?}");
    assert!(bound[0] > 30.0 && bound[1] > 60.0, "{bound:?}");
    for (rms, bound) in tally.rms_mm().iter().zip(bound) {
        assert!(*rms < 1.2 * bound, "{rms} against {bound}");
    }
}

/// A mark shot in with six arrows is not known to 0.3 mm: whoever says so has intervals that hold far less than they say.
#[test]
fn a_mark_is_known_as_well_as_its_arrows() {
    near("six arrows at 1.5 mrad and 88 cm", mark_sd_mm(880.0, SPREAD_MRAD, 6), 0.548, 0.001);
    let reference = reference("marks_flights.json");
    let (mut honest, mut bold, mut count) = ([0.0; 2], [0.0; 2], 0.0);
    let mut random = Random::seeded(6);
    for archer in list(&reference["archers"]) {
        let rig = rig(archer, &reference);
        let eye_to_pin_mm = rig.sighting().eye_to_pin_mm();
        let readings: Vec<(f64, f64)> = [18.0, 30.0, 50.0, 60.0]
            .iter()
            .map(|d| (*d, pin_mm(archer, &reference, *d) + Noise::Arrows(6).draw(eye_to_pin_mm, &mut random)))
            .collect();
        count += 1.0;
        for (held, sd) in [(&mut honest, mark_sd_mm(eye_to_pin_mm, SPREAD_MRAD, 6)), (&mut bold, 0.3)] {
            let marks: Vec<Mark> =
                readings.iter().map(|(d, r)| Mark::new(Distance::from_metres(*d).unwrap(), *r, sd).unwrap()).collect();
            let fitted = fit(&rig, &marks).unwrap();
            for (share, at) in held.iter_mut().zip([25.0, 40.0]) {
                let got = fitted.predict(at).unwrap().interval_mm;
                *share += f64::from(u8::from((got[0]..=got[1]).contains(&pin_mm(archer, &reference, at))));
            }
        }
    }
    let share = |held: [f64; 2]| held.map(|h| h / count);
    let (honest, bold) = (share(honest), share(bold));
    eprintln!("share held at 25 and 40 m by their arrows {honest:?}, known to 0.3 mm {bold:?}");
    // 240 archers: a standard error of 2.6 points.
    assert!(honest.iter().all(|h| (0.72..0.88).contains(h)) && bold.iter().all(|h| *h < 0.72), "{honest:?} {bold:?}");
}

/// 80 % intervals hold 80 % of the time within 4 points, over a population wider than any club, a quarter of it with a
/// drag coefficient that changes in flight, which the fit does not know. With few marks most of what is unknown is the
/// archer's drag:
/// there are 240 of them, so a share has a standard error up to 2.6 points; seeds are fixed.
#[test]
fn intervals_hold_what_they_say() {
    let reference = reference("marks_flights.json");
    let sets: [&[f64]; 4] =
        [&SHOT_M, &[18.0, 50.0], &[10.0, 18.0, 25.0, 30.0, 40.0, 50.0, 60.0], &[30.0, 40.0, 50.0, 60.0]];
    for noise in [Noise::Within, Noise::Normal, Noise::Arrows(6)] {
        for shot in sets {
            let mut random = Random::seeded(18);
            let mut tally = Tally::default();
            for archer in list(&reference["archers"]) {
                for _ in 0..5 {
                    tally.add(&rig(archer, &reference), archer, &reference, noise, shot, &mut random);
                }
            }
            told(&format!("population, marks at {shot:?}"), &tally);
            for held in tally.coverage() {
                near("share held", held, 0.80, 0.04);
            }
        }
    }
}

/// A chronograph (within 1 m/s) and a mistyped mark among five: it is named and the prediction is as good as without
/// it.
#[test]
fn a_mistyped_mark_is_named_and_left_out() {
    let reference = reference("marks_flights.json");
    let (mut named, mut others, mut total, mut square) = (0, 0, 0, [0.0_f64; 2]);
    let mut random = Random::seeded(5);
    for archer in list(&reference["archers"]) {
        let speed = SpeedPrior::chronograph(number(&archer["speed_m_s"]) + random.normal(), 1.0, Unit::MetresPerSecond);
        let rig = rig(archer, &reference).with_speed(speed.unwrap());
        let wrong = (5.0 * random.uniform()) as usize;
        let slip = (4.0 + 16.0 * random.uniform()) * if random.uniform() < 0.5 { -1.0 } else { 1.0 };
        let shot = [18.0, 25.0, 30.0, 40.0, 50.0];
        let marks: Vec<Mark> = shot
            .iter()
            .map(|d| {
                let reading = pin_mm(archer, &reference, *d) + 0.3 * random.normal();
                Mark::new(Distance::from_metres(*d).unwrap(), reading, 0.3).unwrap()
            })
            .collect();
        let clean = fit(&rig, &[&marks[..wrong], &marks[wrong + 1..]].concat()).unwrap();
        let mut typed = marks;
        let slipped = typed[wrong].reading_mm() + slip;
        typed[wrong] = Mark::new(Distance::from_metres(shot[wrong]).unwrap(), slipped, 0.3).unwrap();
        let fitted = fit(&rig, &typed).unwrap();
        total += 1;
        for suspect in fitted.suspects() {
            if suspect.index == wrong && suspect.name == typed[wrong].name() {
                named += 1;
                near("what it should read", suspect.expected_mm.unwrap(), slipped - slip, 4.0);
            } else {
                others += 1;
            }
        }
        for (k, fit) in [&clean, &fitted].into_iter().enumerate() {
            square[k] += (fit.predict(60.0).unwrap().reading_mm - pin_mm(archer, &reference, 60.0)).powi(2);
        }
    }
    let rms = square.map(|s| (s / f64::from(total)).sqrt());
    eprintln!(
        "named {named} of {total}, falsely {others}; error at 60 m {rms:?} mm, without and with the mistyped mark"
    );
    assert!(f64::from(named) >= 0.97 * f64::from(total) && f64::from(others) <= 0.02 * f64::from(total));
    assert!(rms[1] < 1.25 * rms[0], "{rms:?}");
}
