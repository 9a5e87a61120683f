//! Variance components of one axis by restricted maximum likelihood (REML).
//!
//! The likelihood is profiled: for every ratio `rho` of the ends' variance to that of a shot the ends are absorbed once, and
//! for every `lambda` (arrows) the rest is a matrix with a row for each arrow; the variance of a shot has a closed form.
//! Both ratios are searched by golden sections on their logarithm, with zero as a candidate. Source of the criterion:
//! Patterson & Thompson 1971, "Recovery of inter-block information when block sizes are unequal", Biometrika 58.

use super::ends::{Absorbed, Gathered, Layout, Value};
use super::{FleetError, MOST_ARROWS};

/// Smallest and largest ratio searched, natural logarithms: 1e-6 to 1e3.
const LOG_RATIO: [f64; 2] = [-13.815_510_557_964_274, 6.907_755_278_982_137];
/// A ratio must lower the deviance by this much to be preferred to zero.
const WORTH_IT: f64 = 1e-7;

/// The best `lambda` for absorbed ends: it and its likelihood. `tolerance` is on the logarithm.
pub(super) fn best_lambda(absorbed: &Absorbed, dof: f64, tolerance: f64) -> (f64, Value) {
    let zero = absorbed.value(0.0, dof);
    if absorbed.g.len() < 2 {
        return (0.0, zero);
    }
    let at = golden(LOG_RATIO, tolerance, |log| absorbed.value(log.exp(), dof).deviance);
    let best = absorbed.value(at.exp(), dof);
    if best.deviance < zero.deviance - WORTH_IT { (at.exp(), best) } else { (0.0, zero) }
}

/// Absorbs the ends at the best `rho`, within `bounds` of its logarithm or at zero.
pub(super) fn best_rho(
    gathered: &Gathered,
    layout: &Layout,
    dof: f64,
    bounds: Option<[f64; 2]>,
    tolerance: f64,
) -> Absorbed {
    let deviance = |a: &Absorbed| best_lambda(a, dof, 10.0 * tolerance).1.deviance;
    let zero = gathered.absorb(layout, 0.0);
    if layout.session_of_end.len() == layout.sessions {
        // Every session is one end: nothing tells them apart.
        return zero;
    }
    let at = golden(bounds.unwrap_or(LOG_RATIO), tolerance, |log| deviance(&gathered.absorb(layout, log.exp())));
    let best = gathered.absorb(layout, at.exp());
    if deviance(&best) < deviance(&zero) - WORTH_IT { best } else { zero }
}

/// Where `f` is smallest between the bounds, by golden sections: as many as `tolerance` asks for, at most 100.
fn golden([mut low, mut high]: [f64; 2], tolerance: f64, f: impl Fn(f64) -> f64) -> f64 {
    const RATIO: f64 = 0.618_033_988_749_894_8;
    let mut left = high - RATIO * (high - low);
    let mut right = low + RATIO * (high - low);
    let (mut at_left, mut at_right) = (f(left), f(right));
    for _ in 0..100 {
        if high - low < tolerance {
            break;
        }
        if at_left < at_right {
            high = right;
            (right, at_right) = (left, at_left);
            left = high - RATIO * (high - low);
            at_left = f(left);
        } else {
            low = left;
            (left, at_left) = (right, at_right);
            right = low + RATIO * (high - low);
            at_right = f(right);
        }
    }
    0.5 * (low + high)
}

/// Variance components of one axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Components {
    /// Variance of a shot about its arrow's centre within its end, in squares of the unit of the places.
    pub within: f64,
    /// Variance between the arrows.
    pub arrows: f64,
    /// Variance between the ends of a session.
    pub ends: f64,
    /// Predicted offset of every arrow (best linear unbiased prediction), in the unit of the places.
    pub offsets: Vec<f64>,
    /// Minus twice the restricted log likelihood, but for a constant that the components do not change.
    pub deviance: f64,
}

/// Fits `y = session + arrow + end + error` to the places of one axis: sessions fixed, arrows and ends random, no flyers.
///
/// - units: any, the same for all places; `arrow[i]` counts arrows from 0, `end[i]` counts ends over all sessions from 0,
///   `session_of_end` gives the session of each end;
/// - domain: at least two arrows and three more shots than sessions;
/// - limits: the ratios of the components to the variance of a shot are searched between 1e-6 and 1e3, and 0.
///
/// # Errors
/// [`FleetError::Shape`] when the lists do not fit together, [`FleetError::TooFew`] when there is nothing to fit.
pub fn components(
    places: &[f64],
    arrow: &[usize],
    end: &[usize],
    session_of_end: &[usize],
) -> Result<Components, FleetError> {
    let fits = arrow.len() == places.len()
        && end.len() == places.len()
        && end.iter().all(|e| *e < session_of_end.len())
        && arrow.iter().all(|a| *a < MOST_ARROWS)
        && places.iter().all(|y| y.is_finite());
    if !fits {
        return Err(FleetError::Shape);
    }
    let arrows = arrow.iter().max().map_or(0, |a| a + 1);
    let layout = Layout::new(arrows, session_of_end.to_vec(), end.to_vec(), arrow.to_vec());
    if arrows < 2 || places.len() < layout.sessions + 3 {
        return Err(FleetError::TooFew { shots: places.len(), needed: layout.sessions + 3 });
    }
    let dof = (places.len() - layout.sessions) as f64;
    let gathered = layout.gather(places, &vec![1.0; places.len()]);
    let absorbed = best_rho(&gathered, &layout, dof, None, 1e-8);
    let (lambda, best) = best_lambda(&absorbed, dof, 1e-9);
    Ok(Components {
        within: best.sigma2,
        arrows: lambda * best.sigma2,
        ends: absorbed.rho * best.sigma2,
        offsets: absorbed.offsets(lambda),
        deviance: best.deviance,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A balanced design without ends: the REML components are those of the analysis of variance.
    #[test]
    fn balanced_data_give_the_analysis_of_variance() {
        let groups = [[1.0, 2.0, 1.5, 2.5], [3.0, 4.5, 3.5, 4.0], [0.5, 1.0, 2.0, 0.0]];
        let places: Vec<f64> = groups.iter().flatten().copied().collect();
        let arrow: Vec<usize> = (0..12).map(|i| i / 4).collect();
        let got = components(&places, &arrow, &[0; 12], &[0]).unwrap();
        let means: Vec<f64> = groups.iter().map(|g| g.iter().sum::<f64>() / 4.0).collect();
        let all = means.iter().sum::<f64>() / 3.0;
        let within =
            groups.iter().zip(&means).flat_map(|(g, m)| g.iter().map(move |y| (y - m).powi(2))).sum::<f64>() / 9.0;
        let between = (4.0 * means.iter().map(|m| (m - all).powi(2)).sum::<f64>() / 2.0 - within) / 4.0;
        // The search stops at 1e-8 of the logarithm, but the deviance is flat to rounding within about 1e-7 of it.
        assert!((got.within / within - 1.0).abs() < 1e-6, "{got:?} {within} {between}");
        assert!((got.arrows / between - 1.0).abs() < 1e-5, "{got:?} {between}");
        let shrink = got.arrows / (got.arrows + got.within / 4.0);
        assert!((got.offsets[1] - shrink * (means[1] - all)).abs() < 1e-6);
    }

    #[test]
    fn equal_means_give_no_component() {
        let got = components(&[1.0, -1.0, 1.0, -1.0, 1.0, -1.0], &[0, 0, 1, 1, 2, 2], &[0; 6], &[0]).unwrap();
        assert!(got.arrows.abs() < 1e-12 && got.ends.abs() < 1e-12 && got.offsets.iter().all(|b| b.abs() < 1e-12));
        assert!(matches!(components(&[1.0], &[0, 1], &[0], &[0]), Err(FleetError::Shape)));
        assert!(matches!(components(&[1.0, 2.0], &[0, 1], &[0, 0], &[0]), Err(FleetError::TooFew { .. })));
    }
}
