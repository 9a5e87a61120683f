//! The bound: one who knows every parameter of the world, but not where the centre is.
//!
//! On a grid of centres the shots of an end are independent given what they share, which is normal: the likelihood of an
//! end is blurred along the axis by it. The shift is then the posterior mean, which the score's slow curve makes the best
//! within a few hundredths of a point. Of a call the density is summed over a net of places that would be called the same; a miss is
//! what no place on the face is. Nothing of the core is used but its constants, and the face's count of rings for what a
//! place is called.

use std::f64::consts::TAU;

use goldward_core::group::KAPPA;
use goldward_core::plane::Point;
use goldward_core::units::Shaft;

use super::{Calls, Trial, World, face, told};

/// Steps of the net of a call outwards a ring, and around.
const NET: (usize, usize) = (5, 48);

/// Steps of the grid to each side, in half a spread over the root of the number of shots.
const SIDE: i32 = 28;

/// Log density of a shot that is `d` from the centre, without its constant.
fn log_density(world: &World, d: Point, k: f64) -> f64 {
    let [sx, sy] = world.spread_mm.map(|s| s * k);
    let rho = world.correlation;
    let (x, y) = (d.x_mm / sx, d.y_mm / sy);
    let quadratic = (x * x - 2.0 * rho * x * y + y * y) / (1.0 - rho * rho);
    let scale = -(sx * sy).ln();
    match world.dof {
        None => scale - 0.5 * quadratic,
        Some(dof) => scale - 0.5 * (dof + 2.0) * (1.0 + quadratic / dof).ln(),
    }
}

/// Density of shot `i` that is `d` from its centre.
fn density(world: &World, d: Point, i: usize) -> f64 {
    let widening = world.widening(i);
    (0..3)
        .filter(|c| world.odds[*c] > 0.0)
        .map(|c| {
            let mut p = world.odds[c];
            if c > 0 && world.bad_to_the_right {
                p *= if d.x_mm > 0.0 { 2.0 } else { 0.0 };
            }
            p * log_density(world, d, widening * KAPPA[c].sqrt()).exp()
        })
        .sum()
}

/// What a shot may have been: one place, or all those with their areas that are called the same; or none of those on the face.
enum Shot {
    At(Point),
    In(Vec<(Point, f64)>),
    Beside(Vec<(Point, f64)>),
}

/// The places of a net over the face, with their areas.
fn net() -> impl Iterator<Item = (Point, f64)> {
    let (outwards, around) = NET;
    let step = face().outer_radius_mm() / (10 * outwards) as f64;
    (0..=10 * outwards).flat_map(move |k| {
        let r = (k as f64 + 0.5) * step;
        (0..around).map(move |a| {
            let angle = TAU * (a as f64 + 0.5) / around as f64;
            (Point::new(r * angle.cos(), r * angle.sin()), r * step * TAU / around as f64)
        })
    })
}

/// The shots as one sees them who is told what the program is told.
fn seen(world: &World, trial: &Trial) -> Vec<Shot> {
    let value = |at: Point| face().score(at, Shaft::default()).value;
    let called = |at: &Point| match world.calls.as_call(*at) {
        None => Shot::At(*at),
        Some(_) if value(*at) == 0 => Shot::Beside(net().filter(|(p, _)| value(*p) > 0).collect()),
        Some(hour) => Shot::In(
            net().filter(|(p, _)| value(*p) == value(*at) && (!hour || told::hour(*p) == told::hour(*at))).collect(),
        ),
    };
    trial.places.iter().map(called).collect()
}

/// Likelihood of shot `i` when the centre is `c`.
fn likelihood(world: &World, shot: &Shot, c: Point, i: usize) -> f64 {
    let over = |all: &[(Point, f64)]| all.iter().map(|(p, area)| area * density(world, *p - c, i)).sum::<f64>();
    match shot {
        Shot::At(p) => density(world, *p - c, i),
        Shot::In(all) => over(all),
        // The net is coarse where the centre is well on the face, and the density has lost its constant.
        Shot::Beside(all) => TAU - over(all),
    }
    .max(1e-300)
}

/// The posterior mean of the centre for one who knows the world; `None` where nothing was shot.
#[must_use]
pub fn shift(world: &World, trial: &Trial) -> Option<Point> {
    if trial.places.is_empty() {
        return None;
    }
    let seen = seen(world, trial);
    let n = trial.places.len() as f64;
    let median = |of: fn(&Point) -> f64| {
        let mut v: Vec<f64> = trial.places.iter().map(of).collect();
        v.sort_by(f64::total_cmp);
        v[v.len() / 2]
    };
    let wide = world.spread_mm.map(|s| s.hypot(world.gust_mm / 2.0).hypot(world.end_mm[0]));
    // Of calls the centre may be anywhere about the middle: the net is wide there.
    let places = world.calls == Calls::Places;
    let step = wide.map(|s| if places { 0.25 * s / n.sqrt().min(2.0) } else { 0.2 * s });
    let shrink = if places { n / (n + world.trust) } else { 0.0 };
    let about = Point::new(median(|p| p.x_mm) * shrink, median(|p| p.y_mm) * shrink);
    let width = (2 * SIDE + 1) as usize;
    let at = |ix: usize, iy: usize| {
        Point::new(
            about.x_mm + step[0] * (ix as f64 - f64::from(SIDE)),
            about.y_mm + step[1] * (iy as f64 - f64::from(SIDE)),
        )
    };
    let mut log = vec![0.0; width * width];
    for (ix, column) in log.chunks_mut(width).enumerate() {
        for (iy, value) in column.iter_mut().enumerate() {
            let c = at(ix, iy);
            let q = (c.x_mm / world.spread_mm[0]).powi(2) + (c.y_mm / world.spread_mm[1]).powi(2);
            *value = -0.5 * world.trust * q;
        }
    }
    let last = trial.ends.last().copied().unwrap_or(0);
    for end in 0..=last {
        let shots: Vec<usize> = (0..trial.places.len()).filter(|i| trial.ends[*i] == end).collect();
        let of_end: Vec<f64> = (0..width * width)
            .map(|k| {
                let c = at(k / width, k % width);
                let p = |i: &usize, gust: f64| likelihood(world, &seen[*i], c + Point::new(gust, 0.0), *i);
                if world.gust_mm > 0.0 {
                    gusty(&shots, world.gust_mm, p)
                } else {
                    shots.iter().map(|i| p(i, 0.0).ln()).sum()
                }
            })
            .collect();
        let shared = if world.end_mm[0] > 0.0 { blurred(&of_end, width, world.end_mm[0] / step[0]) } else { of_end };
        log.iter_mut().zip(shared).for_each(|(a, b)| *a += b);
    }
    let top = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (mut total, mut sum) = (0.0, Point::default());
    for (k, l) in log.iter().enumerate() {
        let w = (l - top).exp();
        total += w;
        sum = sum + at(k / width, k % width) * w;
    }
    Some(sum * (1.0 / total))
}

/// Log likelihood of an end of which two shots of every six are in one gust: summed over its size, each shot in it with a
/// chance of a third (which two is forgotten: a bound for one who knows almost all).
fn gusty(shots: &[usize], gust_mm: f64, p: impl Fn(&usize, f64) -> f64) -> f64 {
    let sum: f64 = (-8..=8)
        .map(|k| {
            let z = 0.4 * f64::from(k);
            let each = |i: &usize| 2.0 / 3.0 * p(i, 0.0) + p(i, z * gust_mm) / 3.0;
            (-0.5 * z * z + shots.iter().map(|i| each(i).ln()).sum::<f64>()).exp()
        })
        .sum();
    sum.max(1e-300).ln()
}

/// The likelihood blurred along x by a normal of `sd` steps.
fn blurred(log: &[f64], width: usize, sd: f64) -> Vec<f64> {
    let reach = (4.0 * sd).ceil() as i32;
    let weights: Vec<(i32, f64)> = (-reach..=reach).map(|k| (k, (-0.5 * (f64::from(k) / sd).powi(2)).exp())).collect();
    let top = log.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let value: Vec<f64> = log.iter().map(|l| (l - top).exp()).collect();
    (0..log.len())
        .map(|k| {
            let (ix, iy) = ((k / width) as i32, k % width);
            let sum: f64 = weights
                .iter()
                .filter(|(d, _)| (0..width as i32).contains(&(ix + d)))
                .map(|(d, w)| w * value[(ix + d) as usize * width + iy])
                .sum();
            sum.max(1e-300).ln()
        })
        .collect()
}
