//! The fit: launch speed, drag and scale zero from the marks shot.
//!
//! Model: each reading is `zero + L tan theta(distance; speed, drag, eye)` with a normal error of its own standard
//! deviation, or, with probability [`WRONG_MARK_ODDS`], is wrong by another 15 mm. Prior: logarithms of speed and drag
//! coefficient normal
//! ([`Rig`]), the eye's height normal if uncertain, the zero flat. Every set of up to three wrong marks is weighed (at
//! most one fewer than half; beyond one, those that the best smaller sets lead to), so a mistyped mark is left out in
//! proportion to the evidence against it and is named, not averaged in.
//!
//! Method: Newton's steps to the mode of each set, then Gauss-Hermite quadrature over speed and drag with the zero in
//! closed form.

use super::hypothesis::{Data, Node};
use super::response::{Grid, Response};
use super::sighting::check_marks;
use super::{Mark, MarksError, Rig};
use crate::flight::Flight;
use crate::stats::quadrature;

/// Prior odds that a mark is wrong: mistyped, misread, shot on a bad day. Common practice, no source.
pub const WRONG_MARK_ODDS: f64 = 0.02;

/// Nodes an axis.
const NODES: usize = 7;
/// For intervals the posterior is a mixture of normals: centres drawn in by this factor, parts with the rest of the
/// variance.
/// Nodes are about one standard deviation apart, so parts of 0.6 leave no lumps.
pub(super) const SHRINK: f64 = 0.8;

/// A mark that does not belong with the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Which mark, from 0, in the order given.
    pub index: usize,
    /// Its name.
    pub name: String,
    /// Probability that it is wrong.
    pub p_wrong: f64,
    /// What the other marks say it should read, in millimetres; `None` when they make no sense without it either.
    pub expected_mm: Option<f64>,
}

/// A number and its standard deviation.
pub(super) type Estimate = (f64, f64);

/// The posterior, ready to predict.
#[derive(Debug, Clone)]
pub struct Fitted {
    pub(super) rig: Rig,
    pub(super) marks: Vec<Mark>,
    pub(super) grid: Grid,
    pub(super) nodes: Vec<Node>,
    /// The mixture for intervals.
    pub(super) parts: Vec<Node>,
    p_wrong: Vec<f64>,
    p_all_good: f64,
    suspects: Vec<Suspect>,
    centre: [f64; 2],
    speed: Estimate,
    drag: Estimate,
    zero: Estimate,
    eye: Estimate,
    scatter: Option<f64>,
}

/// Fits a kit to the marks shot with it.
///
/// Cost: some hundreds of flights; see `checks` for the time.
///
/// # Errors
/// [`MarksError::NoMarks`], [`MarksError::TooMany`] (60), [`MarksError::Flight`] when the kit cannot reach a marked
/// distance, and [`MarksError::NotSettled`].
pub fn fit(rig: &Rig, marks: &[Mark]) -> Result<Fitted, MarksError> {
    let mut fitted = posterior(rig, marks)?;
    fitted.suspects = fitted.find_suspects();
    Ok(fitted)
}

/// The fit without a name for what is wrong.
fn posterior(rig: &Rig, marks: &[Mark]) -> Result<Fitted, MarksError> {
    check_marks(marks)?;
    let prior = [(rig.speed().median_m_s().ln(), rig.speed().ln_sd()), (0.0, rig.drag_ln_sd())];
    let mut grid = Grid { centre: [prior[0].0, prior[1].0], half: [prior[0].1.max(0.01), prior[1].1.max(0.01)] };
    let wide = grid;
    let responses = |grid: Grid| -> Result<Vec<Response>, MarksError> {
        marks.iter().map(|m| Response::new(rig, m.distance_m(), m.slope_rad(), grid)).collect()
    };
    let rule = quadrature::normal(NODES);
    let mut hypotheses = Vec::new();
    let (mut nodes, mut parts, mut weights) = (Vec::new(), Vec::new(), Vec::new());
    // First on the prior's grid, then on one that spans the posterior.
    for round in 0..2 {
        let responses = match responses(grid) {
            Ok(responses) => responses,
            // Contradictory marks may pull the speed to where they cannot be reached: the prior's grid has to do.
            Err(MarksError::Flight(_)) if round == 1 => {
                grid = wide;
                break;
            }
            Err(error) => return Err(error),
        };
        let data = Data {
            marks,
            responses: &responses,
            prior,
            eye_sd_mm: rig.sighting().eye_above_arrow_sd_mm(),
            wrong_ln_odds: WRONG_MARK_ODDS.ln(),
        };
        hypotheses = data.search(grid.centre)?;
        (nodes, parts, weights) = (Vec::new(), Vec::new(), Vec::new());
        let best = hypotheses[0].ln_weight;
        for hypothesis in &hypotheses {
            let scale = (hypothesis.ln_weight - best).exp();
            let mut own = data.nodes(hypothesis, &rule, 1.0);
            own.iter_mut().for_each(|node| node.weight *= scale);
            let weight = own.iter().map(|node| node.weight).sum::<f64>();
            let mut mixture = data.nodes(hypothesis, &rule, SHRINK);
            let share = weight / mixture.iter().map(|node| node.weight).sum::<f64>();
            mixture.iter_mut().for_each(|node| node.weight *= share);
            weights.push(weight);
            nodes.extend(own);
            parts.extend(mixture);
        }
        let total: f64 = weights.iter().sum();
        if !(total.is_finite() && total > 0.0) {
            return Err(MarksError::NotSettled { iterations: NODES * NODES });
        }
        weights.iter_mut().for_each(|w| *w /= total);
        nodes.iter_mut().chain(&mut parts).for_each(|node| node.weight /= total);
        if round == 0 {
            for k in 0..2 {
                let (mean, sd) = moments(&nodes, |node| node.at[k]);
                grid.centre[k] = mean;
                // Wide enough for every hypothesis kept, narrow enough to be exact.
                grid.half[k] = (1.7 * sd).clamp(0.01, 0.25);
            }
            grid.centre = data.confine(grid.centre);
        }
    }
    nodes.retain(|node: &Node| node.weight > 1e-9);
    parts.retain(|node: &Node| node.weight > 1e-7);
    let p_wrong: Vec<f64> = (0..marks.len())
        .map(|i| {
            hypotheses.iter().zip(&weights).filter(|(h, _)| h.wrong >> i & 1 == 1).map(|(_, w)| w).sum::<f64>().min(1.0)
        })
        .collect();
    let p_all_good = hypotheses.iter().zip(&weights).filter(|(h, _)| h.wrong == 0).map(|(_, w)| w).sum();
    let air = rig.conditions().air();
    let drag_of = |node: &Node| rig.arrow().with_drag_factor(node.at[1].exp()).drag_per_m(&air, node.at[0].exp());
    let linear = |mean: fn(&Node) -> f64, variance: fn(&Node) -> f64| {
        let (centre, sd) = moments(&nodes, mean);
        let inner: f64 = nodes.iter().map(|node| node.weight * variance(node)).sum();
        (centre, (sd * sd + inner).sqrt())
    };
    let zero = linear(|n| n.linear.zero_mm, |n| n.linear.cov[0]);
    let eye = linear(|n| n.linear.eye_mm, |n| n.linear.cov[2]);
    let degrees = marks.len() - 1;
    Ok(Fitted {
        rig: *rig,
        marks: marks.to_vec(),
        grid,
        centre: [moments(&nodes, |node| node.at[0]).0, moments(&nodes, |node| node.at[1]).0],
        speed: moments(&nodes, |node| node.at[0].exp()),
        drag: moments(&nodes, drag_of),
        zero,
        eye: (rig.sighting().eye_above_arrow_mm() + eye.0, eye.1),
        scatter: (degrees > 0).then(|| (hypotheses[0].misfit / degrees as f64).sqrt()),
        nodes,
        parts,
        p_wrong,
        p_all_good,
        suspects: Vec::new(),
    })
}

/// Mean and standard deviation over nodes whose weights add up to 1.
pub(super) fn moments(nodes: &[Node], value: impl Fn(&Node) -> f64) -> Estimate {
    let (mut total, mut mean) = (0.0, 0.0);
    for node in nodes {
        total += node.weight;
        mean += node.weight * value(node);
    }
    mean /= total;
    let variance: f64 = nodes.iter().map(|node| node.weight * (value(node) - mean).powi(2)).sum();
    (mean, (variance / total).sqrt())
}

impl Fitted {
    /// When it is likelier than not that something is wrong: the marks at least half as likely to be it as the
    /// likeliest. Two marks that contradict each other are both named.
    fn find_suspects(&self) -> Vec<Suspect> {
        let top = self.p_wrong.iter().fold(0.0_f64, |a, b| a.max(*b));
        let bar = 0.5 * top;
        let mut suspects = Vec::new();
        if self.p_all_good >= 0.5 {
            return suspects;
        }
        for (index, p) in self.p_wrong.iter().enumerate().filter(|(_, p)| **p > bar) {
            let mark = &self.marks[index];
            let others: Vec<Mark> =
                self.marks.iter().enumerate().filter(|(i, _)| *i != index).map(|(_, m)| m.clone()).collect();
            // The others may still hold another wrong one, so they are weighed afresh.
            let expected_mm = posterior(&self.rig, &others)
                .and_then(|fitted| fitted.predict_on(mark.distance_m(), mark.slope_rad()))
                .map(|prediction| prediction.reading_mm)
                .ok();
            suspects.push(Suspect { index, name: mark.name().to_owned(), p_wrong: *p, expected_mm });
        }
        suspects
    }

    /// Launch speed: mean and standard deviation, in m/s.
    #[must_use]
    pub fn speed_m_s(&self) -> (f64, f64) {
        self.speed
    }

    /// `k` in `a = -k v^2` at the launch speed: mean and standard deviation, per metre.
    #[must_use]
    pub fn drag_per_m(&self) -> (f64, f64) {
        self.drag
    }

    /// Reading at which the pin would look parallel to the arrow: mean and standard deviation, in millimetres.
    #[must_use]
    pub fn scale_zero_mm(&self) -> (f64, f64) {
        self.zero
    }

    /// Height of the eye above the arrow: mean and standard deviation, in millimetres.
    #[must_use]
    pub fn eye_above_arrow_mm(&self) -> (f64, f64) {
        self.eye
    }

    /// Probability that each mark is wrong, in the order given.
    #[must_use]
    pub fn p_wrong(&self) -> &[f64] {
        &self.p_wrong
    }

    /// Probability that no mark is wrong.
    #[must_use]
    pub fn p_all_good(&self) -> f64 {
        self.p_all_good
    }

    /// Marks to look at again; empty when all belong together.
    #[must_use]
    pub fn suspects(&self) -> &[Suspect] {
        &self.suspects
    }

    /// How much the marks scatter for the standard deviations they claim, suspects left out: about 1 when honest, well
    /// above 1 when the claims are too bold. `None` for a single mark.
    #[must_use]
    pub fn scatter(&self) -> Option<f64> {
        self.scatter
    }

    /// The kit that was fitted.
    #[must_use]
    pub fn rig(&self) -> &Rig {
        &self.rig
    }

    /// The marks that were fitted.
    #[must_use]
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// The flight at the middle of the posterior, in the kit's conditions: for drift, slopes and moves.
    ///
    /// # Errors
    /// [`MarksError::Unit`] when speed or eye height came out beyond what a flight accepts.
    pub fn flight(&self) -> Result<Flight, MarksError> {
        let arrow = self.rig.arrow().with_drag_factor(self.centre[1].exp());
        Ok(Flight::new(arrow, self.rig.conditions(), self.centre[0].exp(), self.eye.0)?)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{PinDown, Scale, Sighting};
    use super::*;
    use crate::flight::{Arrow, Drag, FlightError};
    use crate::units::Distance;

    fn rig() -> Rig {
        Rig::new(Sighting::new(880.0, 115.0).unwrap(), Arrow::new(21.0, 5.5, Drag::default()).unwrap())
    }

    fn metres(m: f64) -> Distance {
        Distance::from_metres(m).unwrap()
    }

    /// Marks of a 57 m/s arrow with its zero at 20 mm, off by `errors`.
    fn marks(errors: &[(f64, f64)]) -> Vec<Mark> {
        let flight = rig().flight(57.0_f64.ln(), 0.0, 0.0).unwrap();
        let shot = |&(d, off): &(f64, f64)| {
            let reading = 20.0 + 880.0 * flight.angle_for(d).unwrap().tan() + off;
            Mark::new(metres(d), reading, 0.3).unwrap()
        };
        errors.iter().map(shot).collect()
    }

    #[test]
    fn one_mark_alone_is_repeated_and_little_else() {
        let marks = marks(&[(30.0, 0.0)]);
        let fitted = fit(&rig(), &marks).unwrap();
        let (here, far) = (fitted.predict(30.0).unwrap(), fitted.predict(70.0).unwrap());
        assert!((here.reading_mm - marks[0].reading_mm()).abs() < 0.01 && (here.sd_mm - 0.3).abs() < 0.01, "{here:?}");
        assert!(far.sd_mm > 10.0 && far.extrapolated && !fitted.extrapolated(32.0), "{far:?}");
        assert!(fitted.suspects().is_empty() && fitted.scatter().is_none());
    }

    #[test]
    fn two_marks_that_contradict_each_other_are_both_named() {
        let fitted = fit(&rig(), &marks(&[(30.0, 0.0), (50.0, -60.0)])).unwrap();
        let named: Vec<&str> = fitted.suspects().iter().map(|s| s.name.as_str()).collect();
        assert_eq!(named, ["30 m", "50 m"], "{:?}", fitted.p_wrong());
        let agreeing = fit(&rig(), &marks(&[(30.0, 0.2), (50.0, -0.2)])).unwrap();
        assert!(agreeing.suspects().is_empty() && agreeing.p_all_good() > 0.95);
    }

    #[test]
    fn many_wild_marks_still_give_an_answer() {
        let wild: Vec<(f64, f64)> =
            (0..12).map(|i| (15.0 + 5.0 * f64::from(i), 40.0 * f64::from((i * 7) % 5 - 2))).collect();
        let fitted = fit(&rig(), &marks(&wild)).unwrap();
        assert!(fitted.scatter().unwrap() > 5.0 && fitted.predict(40.0).unwrap().sd_mm.is_finite());
    }

    #[test]
    fn nonsense_marks_never_break_the_fit() {
        let (mut random, mut unsettled) = (crate::random::Random::seeded(3), 0);
        for _ in 0..120 {
            let eye_sd = if random.uniform() < 0.5 { 0.0 } else { 8.0 };
            let sighting = Sighting::new(300.0 + 900.0 * random.uniform(), 150.0 * random.uniform()).unwrap();
            let arrow =
                Arrow::new(12.0 + 30.0 * random.uniform(), 4.0 + 6.0 * random.uniform(), Drag::slim_arrow()).unwrap();
            let rig = Rig::new(sighting.with_eye_sd(eye_sd).unwrap(), arrow);
            let count = 1 + (8.0 * random.uniform()) as usize;
            let marks: Vec<Mark> = (0..count)
                .map(|_| {
                    let (d, reading) = (2.0 + 88.0 * random.uniform(), 400.0 * (random.uniform() - 0.5));
                    Mark::new(metres(d), reading, 0.01 + 2.0 * random.uniform().powi(4)).unwrap()
                })
                .collect();
            let fitted = match fit(&rig, &marks) {
                Ok(fitted) => fitted,
                // No speed and drag explain any part of them: said so, and rarely.
                Err(MarksError::NotSettled { .. }) => {
                    unsettled += 1;
                    continue;
                }
                Err(e) => panic!("{e}: {rig:?} {marks:?}"),
            };
            for d in [3.0, 18.0, 90.0] {
                let p = match fitted.predict(d) {
                    Ok(p) => p,
                    Err(MarksError::Flight(FlightError::OutOfReach { .. })) if d > 80.0 => continue,
                    Err(e) => panic!("{e}: {rig:?} {marks:?}"),
                };
                assert!(p.sd_mm > 0.0 && p.interval_mm[0] < p.interval_mm[1] && p.reading_mm.is_finite(), "{p:?}");
            }
            assert!(fitted.p_wrong().iter().all(|p| (0.0..=1.0).contains(p)));
        }
        assert!(unsettled <= 6, "{unsettled}");
    }

    #[test]
    fn marks_pull_speed_and_zero_to_the_truth() {
        let fitted = fit(&rig(), &marks(&[(18.0, 0.1), (30.0, -0.1), (50.0, 0.1), (70.0, -0.1), (90.0, 0.0)])).unwrap();
        let ((v, sd_v), (zero, sd_zero)) = (fitted.speed_m_s(), fitted.scale_zero_mm());
        assert!((v - 57.0).abs() < 2.0 * sd_v && sd_v < 0.6 && (zero - 20.0).abs() < 2.0 * sd_zero, "{v} {zero}");
        assert!((fitted.flight().unwrap().speed_m_s() - v).abs() < 0.05);
        assert!(fitted.speed_drag_correlation() > 0.3);
    }

    #[test]
    fn the_scale_may_run_either_way_in_any_unit() {
        let plain = fit(&rig(), &marks(&[(18.0, 0.1), (30.0, -0.1), (50.0, 0.1)])).unwrap().predict(60.0).unwrap();
        let scale = Scale::new(2.5, PinDown::Falls).unwrap();
        let turned: Vec<Mark> = marks(&[(18.0, 0.1), (30.0, -0.1), (50.0, 0.1)])
            .iter()
            .map(|m| {
                let number = scale.number_at(m.reading_mm());
                Mark::on_scale(metres(m.distance_m()), number, scale.units(m.sd_mm()), &scale).unwrap()
            })
            .collect();
        let other = fit(&rig(), &turned).unwrap().predict(60.0).unwrap();
        assert!((plain.reading_mm - other.reading_mm).abs() < 1e-9 && (plain.sd_mm - other.sd_mm).abs() < 1e-9);
        assert!(scale.number_at(other.reading_mm) < 0.0);
    }

    #[test]
    fn no_marks_and_marks_out_of_reach_are_errors() {
        assert_eq!(fit(&rig(), &[]).unwrap_err(), MarksError::NoMarks);
        let far = [Mark::new(metres(400.0), 500.0, 0.3).unwrap()];
        assert!(matches!(fit(&rig(), &far), Err(MarksError::Flight(_))));
    }
}
