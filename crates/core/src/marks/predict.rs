//! Marks for distances not shot yet, and the distance that would teach most.

use statrs::function::erf::erfc;

use crate::range::within;
use crate::stats::Z_80;

use super::MarksError;
use super::fit::{Fitted, SHRINK, moments};
use super::response::Response;
use crate::flight::FlightError;

/// A predicted mark.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prediction {
    /// Distance along the line of sight, in metres.
    pub distance_m: f64,
    /// Mean of the reading, in millimetres; grows as the pin goes down.
    pub reading_mm: f64,
    /// Its standard deviation.
    pub sd_mm: f64,
    /// The interval that holds the true mark with probability 80 %, 10 % on either side.
    pub interval_mm: [f64; 2],
    /// The standard deviation seen on the face, `sd D / L`, in millimetres.
    pub sd_on_face_mm: f64,
    /// Whether the distance lies outside those shot: by more than 2 m and 10 %. Suspect marks do not count as shot.
    pub extrapolated: bool,
}

/// The distance to shoot next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Next {
    /// Which distance, in metres.
    pub distance_m: f64,
    /// Root mean square of the standard deviations at the pin over the distances wanted, now, in mm.
    pub sd_now_mm: f64,
    /// The same once this distance is shot.
    pub sd_after_mm: f64,
    /// Whether the distance is an extrapolation: start closer, at a safe distance, and step out.
    pub extrapolated: bool,
}

/// The reading at one distance, node by node: mean and variance.
struct Column(Vec<(f64, f64)>);

/// The value below which a mixture of normals (weight, mean, standard deviation) lies with probability `p`: the
/// Illinois form of false position, bracketed by eight standard deviations and capped, to 1e-4 in probability.
fn quantile(parts: &[(f64, f64, f64)], total: f64, p: f64, mean: f64, sd: f64) -> f64 {
    let below = |x: f64| {
        let sum: f64 = parts.iter().map(|(w, m, s)| w * 0.5 * erfc((m - x) / (s * std::f64::consts::SQRT_2))).sum();
        sum / total - p
    };
    let (mut a, mut b) = (mean - 8.0 * sd, mean + 8.0 * sd);
    let (mut fa, mut fb) = (-p, 1.0 - p);
    let mut x = mean + sd * if p < 0.5 { -Z_80 } else { Z_80 };
    for _ in 0..60 {
        let f = below(x);
        if f.abs() < 1e-4 || b - a < 1e-4 * sd {
            break;
        }
        if f < 0.0 {
            (a, fa) = (x, f);
            fb *= 0.5;
        } else {
            (b, fb) = (x, f);
            fa *= 0.5;
        }
        x = (a * fb - b * fa) / (fb - fa);
    }
    x
}

impl Fitted {
    fn response(&self, distance_m: f64, slope_rad: f64) -> Result<Response, MarksError> {
        let distance_m = within("a distance", distance_m, "m", 1.0, 400.0)?;
        let mut grid = self.grid;
        for _ in 0..3 {
            match Response::new(&self.rig, distance_m, slope_rad, grid) {
                // The slow edge of the posterior falls short: stand closer to its middle and extrapolate to the edge.
                Err(MarksError::Flight(FlightError::OutOfReach { .. })) => grid.half = grid.half.map(|h| 0.4 * h),
                other => return other,
            }
        }
        Response::new(&self.rig, distance_m, slope_rad, grid)
    }

    fn column(&self, response: &Response) -> Column {
        let t = response.per_eye_mm;
        let column = self.nodes.iter().map(|node| {
            let (linear, [zz, ze, ee]) = (&node.linear, node.linear.cov);
            let mean = linear.zero_mm + t * linear.eye_mm + response.pin(node.at).0;
            (mean, zz + 2.0 * t * ze + t * t * ee)
        });
        Column(column.collect())
    }

    fn mean_and_variance(&self, column: &Column) -> (f64, f64) {
        let mut sums = (0.0, 0.0, 0.0);
        for (node, (mean, variance)) in self.nodes.iter().zip(&column.0) {
            sums = (sums.0 + node.weight, sums.1 + node.weight * mean, sums.2 + node.weight * variance);
        }
        let (mean, inner) = (sums.1 / sums.0, sums.2 / sums.0);
        let between: f64 =
            self.nodes.iter().zip(&column.0).map(|(node, (m, _))| node.weight * (m - mean).powi(2)).sum::<f64>()
                / sums.0;
        (mean, between + inner)
    }

    /// Both ends of the 80 % interval of the reading: those of the mixture of normals, then brought to the mean and
    /// standard deviation that the nodes give.
    fn interval(&self, response: &Response, mean: f64, sd: f64) -> [f64; 2] {
        let spread = 1.0 - SHRINK * SHRINK;
        let t = response.per_eye_mm;
        let parts: Vec<(f64, f64, f64)> = self
            .parts
            .iter()
            .map(|node| {
                let (pin, by) = response.pin(node.at);
                let (linear, [zz, ze, ee]) = (&node.linear, node.linear.cov);
                let slope = [0, 1].map(|k| by[k] + linear.slopes[0][k] + t * linear.slopes[1][k]);
                let along = node.reach.map(|step| (step[0] * slope[0] + step[1] * slope[1]).powi(2));
                let variance = zz + 2.0 * t * ze + t * t * ee + spread * (along[0] + along[1]);
                (node.weight, linear.zero_mm + t * linear.eye_mm + pin, variance.sqrt())
            })
            .collect();
        let total: f64 = parts.iter().map(|p| p.0).sum();
        let centre = parts.iter().map(|p| p.0 * p.1).sum::<f64>() / total;
        let own = (parts.iter().map(|p| p.0 * ((p.1 - centre).powi(2) + p.2 * p.2)).sum::<f64>() / total).sqrt();
        [0.1, 0.9].map(|p| mean + sd / own * (quantile(&parts, total, p, centre, own) - centre))
    }

    /// Whether a distance lies outside those shot.
    #[must_use]
    pub fn extrapolated(&self, distance_m: f64) -> bool {
        let suspect = |i: usize| self.suspects().iter().any(|s| s.index == i);
        let shot = self.marks.iter().enumerate().filter(|(i, _)| !suspect(*i)).map(|(_, m)| m.distance_m());
        let (near, far) = shot.fold((f64::INFINITY, 0.0_f64), |(a, b), d| (a.min(d), b.max(d)));
        let margin = |d: f64| (0.1 * d).max(2.0) + 1e-9;
        distance_m > far + margin(far) || distance_m < near - margin(near)
    }

    /// The mark at `distance_m` on the level.
    ///
    /// # Errors
    /// [`MarksError::Unit`] outside 1 to 400 m; [`MarksError::Flight`] when the arrow does not get there.
    pub fn predict(&self, distance_m: f64) -> Result<Prediction, MarksError> {
        self.predict_on(distance_m, 0.0)
    }

    /// The mark at `distance_m` along a line of sight `slope_rad` above the horizon.
    ///
    /// # Errors
    /// As [`Fitted::predict`]; slopes within 1.4 rad.
    pub fn predict_on(&self, distance_m: f64, slope_rad: f64) -> Result<Prediction, MarksError> {
        let response = self.response(distance_m, slope_rad)?;
        let (mean, variance) = self.mean_and_variance(&self.column(&response));
        let sd = variance.sqrt();
        Ok(Prediction {
            distance_m,
            reading_mm: mean,
            sd_mm: sd,
            interval_mm: self.interval(&response, mean, sd),
            sd_on_face_mm: sd * distance_m * 1000.0 / self.rig.sighting().eye_to_pin_mm(),
            extrapolated: self.extrapolated(distance_m),
        })
    }

    /// Mean and standard deviation of the reading at `b_m` less that at `a_m`, on the level, in millimetres: how far
    /// to move the pin between two distances.
    ///
    /// # Errors
    /// As [`Fitted::predict`].
    pub fn difference_mm(&self, a_m: f64, b_m: f64) -> Result<(f64, f64), MarksError> {
        let (from, to) = (self.response(a_m, 0.0)?, self.response(b_m, 0.0)?);
        let (a, b, leverage) = (self.column(&from), self.column(&to), to.per_eye_mm - from.per_eye_mm);
        // The scale zero cancels; the eye's height counts by the difference of its leverages.
        let columns = a.0.iter().zip(&b.0).zip(&self.nodes);
        let difference = columns.map(|((p, q), node)| (q.0 - p.0, leverage * leverage * node.linear.cov[2]));
        let (mean, variance) = self.mean_and_variance(&Column(difference.collect()));
        Ok((mean, variance.max(0.0).sqrt()))
    }

    /// The distance that, shot with a mark of standard deviation `sd_mm`, leaves the least mean predictive variance
    /// over the `wanted` distances, on the level; chosen among `candidates`.
    ///
    /// The variance is that at the pin, which is the angular one: a wide group at a long distance is not counted
    /// twice. It is reduced as in a linear normal model, `var_j - cov_jd^2 / (var_d + sd^2)`, with the covariances of
    /// the posterior.
    ///
    /// # Errors
    /// [`MarksError::NoDistances`] when either list is empty; else as [`Fitted::predict`].
    pub fn next_distance(&self, wanted_m: &[f64], candidates_m: &[f64], sd_mm: f64) -> Result<Next, MarksError> {
        let sd_mm = within("the standard deviation of a mark", sd_mm, "mm", 0.005, 50.0)?;
        let columns = |distances: &[f64]| -> Result<Vec<_>, MarksError> {
            distances.iter().map(|d| self.response(*d, 0.0).map(|r| (self.column(&r), r.per_eye_mm))).collect()
        };
        let (wanted, candidates) = (columns(wanted_m)?, columns(candidates_m)?);
        let summary: Vec<_> = wanted.iter().map(|(column, _)| self.mean_and_variance(column)).collect();
        let mean_of = |total: f64| (total / wanted.len() as f64).max(0.0).sqrt();
        let now: f64 = summary.iter().map(|(_, variance)| variance).sum();
        let mut best: Option<(f64, f64)> = None;
        for ((column, t), distance) in candidates.iter().zip(candidates_m) {
            let (mean_d, variance_d) = self.mean_and_variance(column);
            let mut after = now;
            for ((other, t_other), (mean_j, _)) in wanted.iter().zip(&summary) {
                let mut cov = 0.0;
                for ((node, (d, _)), (j, _)) in self.nodes.iter().zip(&column.0).zip(&other.0) {
                    let [zz, ze, ee] = node.linear.cov;
                    let inner = zz + (t + t_other) * ze + t * t_other * ee;
                    cov += node.weight * ((d - mean_d) * (j - mean_j) + inner);
                }
                after -= cov * cov / (variance_d + sd_mm * sd_mm);
            }
            if best.is_none_or(|(_, least)| after < least) {
                best = Some((*distance, after));
            }
        }
        match best {
            Some((distance_m, after)) if !wanted.is_empty() => Ok(Next {
                distance_m,
                sd_now_mm: mean_of(now),
                sd_after_mm: mean_of(after),
                extrapolated: self.extrapolated(distance_m),
            }),
            _ => Err(MarksError::NoDistances),
        }
    }

    /// Correlation of speed and drag in the posterior: near 1 when the marks cannot tell a fast draggy arrow from a
    /// slower slick one.
    #[must_use]
    pub fn speed_drag_correlation(&self) -> f64 {
        let ((a, sa), (b, sb)) = (moments(&self.nodes, |n| n.at[0]), moments(&self.nodes, |n| n.at[1]));
        let covariance: f64 = self.nodes.iter().map(|n| n.weight * (n.at[0] - a) * (n.at[1] - b)).sum();
        (covariance / (sa * sb).max(f64::MIN_POSITIVE)).clamp(-1.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Mark, Rig, Sighting, fit};
    use super::*;
    use crate::flight::{Arrow, Drag};
    use crate::units::Distance;

    fn fitted(shot: &[f64]) -> Fitted {
        let rig = Rig::new(Sighting::new(880.0, 115.0).unwrap(), Arrow::new(21.0, 5.5, Drag::default()).unwrap());
        let flight = rig.flight(57.0_f64.ln(), 0.0, 0.0).unwrap();
        let mark = |d: &f64| {
            let reading = 880.0 * flight.angle_for(*d).unwrap().tan();
            Mark::new(Distance::from_metres(*d).unwrap(), reading, 0.3).unwrap()
        };
        fit(&rig, &shot.iter().map(mark).collect::<Vec<_>>()).unwrap()
    }

    #[test]
    fn the_next_distance_fulfils_what_it_promises() {
        let (before, wanted) = (fitted(&[18.0, 30.0]), [18.0, 30.0, 50.0, 70.0]);
        let next = before.next_distance(&wanted, &wanted, 0.3).unwrap();
        assert!(next.distance_m > 40.0 && next.extrapolated && next.sd_after_mm < next.sd_now_mm, "{next:?}");
        let rms_with = |shot: f64| {
            let after = fitted(&[18.0, 30.0, shot]);
            let variance: f64 = wanted.iter().map(|d| after.predict(*d).unwrap().sd_mm.powi(2)).sum();
            (variance / wanted.len() as f64).sqrt()
        };
        // What was promised averages over readings that make a mark suspect; a third mark that fits does better.
        let real = rms_with(next.distance_m);
        assert!(real < next.sd_after_mm && real > 0.5 * next.sd_after_mm, "{next:?} {real}");
        assert!(wanted.iter().all(|d| real < 1.05 * rms_with(*d)));
        assert_eq!(before.next_distance(&[], &wanted, 0.3).unwrap_err(), MarksError::NoDistances);
        assert_eq!(before.next_distance(&wanted, &[], 0.3).unwrap_err(), MarksError::NoDistances);
    }

    #[test]
    fn the_way_between_two_shot_distances_is_known_better_than_either_far_mark() {
        let fitted = fitted(&[18.0, 30.0, 50.0]);
        let (way, sd) = fitted.difference_mm(30.0, 50.0).unwrap();
        let (near, far) = (fitted.predict(30.0).unwrap(), fitted.predict(50.0).unwrap());
        assert!((way - (far.reading_mm - near.reading_mm)).abs() < 1e-9 && sd > 0.0 && sd < 0.45);
        assert!(fitted.predict(90.0).unwrap().sd_mm > far.sd_mm);
    }

    #[test]
    fn downhill_and_uphill_marks_read_less_than_level_ones() {
        let fitted = fitted(&[18.0, 30.0, 50.0]);
        let level = fitted.predict(45.0).unwrap().reading_mm;
        for slope in [-0.4, 0.4] {
            assert!(fitted.predict_on(45.0, slope).unwrap().reading_mm < level - 2.0);
        }
        assert!(fitted.predict(0.5).is_err() && fitted.predict(f64::NAN).is_err());
    }
}
