//! The best move on the lattice of clicks.

use super::surface::Surface;
use crate::plane::Point;

/// Most clicks ever advised on one axis.
pub(super) const MOST_CLICKS: f64 = 20_000.0;

/// The best lattice point near `starts`, by a pattern search that halves its step: `(clicks, value)`.
///
/// The surface is smooth on the scale of the spread, so the search steps by about that much first and ends when none of
/// the eight neighbours one click away is better. At most `EVALUATIONS` values are computed.
pub(super) fn climb(surface: &Surface<'_>, click_mm: [f64; 2], starts: &[Point], step_mm: f64) -> ([i32; 2], f64) {
    const EVALUATIONS: usize = 400;
    let value = |c: [i32; 2]| surface.after(Point::new(f64::from(c[0]) * click_mm[0], f64::from(c[1]) * click_mm[1]));
    let to_clicks = |x: f64, click: f64| (x / click).round().clamp(-MOST_CLICKS, MOST_CLICKS) as i32;
    let mut best = ([0, 0], f64::NEG_INFINITY);
    let mut seen: Vec<([i32; 2], f64)> = Vec::with_capacity(64);
    let mut ask = |c: [i32; 2]| {
        if let Some((_, v)) = seen.iter().find(|(k, _)| *k == c) {
            return *v;
        }
        let v = value(c);
        seen.push((c, v));
        v
    };
    for start in starts {
        let c = [to_clicks(start.x_mm, click_mm[0]), to_clicks(start.y_mm, click_mm[1])];
        let v = ask(c);
        if v > best.1 {
            best = (c, v);
        }
    }
    let mut step = [0, 1].map(|i| ((step_mm / click_mm[i]).round() as i32).max(1));
    let mut used = 0;
    loop {
        let at = best.0;
        let mut axis = |i: usize| {
            let neighbour = |sign: i32| {
                let mut c = at;
                c[i] += sign * step[i];
                c
            };
            (ask(neighbour(-1)), ask(neighbour(1)))
        };
        let (left, right) = axis(0);
        let (down, up) = axis(1);
        used += 4;
        // The top of the parabola through the three values of each axis, at most one step away.
        let top = |low: f64, high: f64, step: i32| {
            let bend = low + high - 2.0 * best.1;
            let to = if bend < 0.0 { 0.5 * (low - high) / bend } else { (high - low).signum() };
            (to.clamp(-1.0, 1.0) * f64::from(step)).round() as i32
        };
        let guess = [at[0] + top(left, right, step[0]), at[1] + top(down, up, step[1])];
        let mut candidates = vec![
            ([at[0] - step[0], at[1]], left),
            ([at[0] + step[0], at[1]], right),
            ([at[0], at[1] - step[1]], down),
            ([at[0], at[1] + step[1]], up),
        ];
        if guess != at {
            candidates.push((guess, ask(guess)));
            used += 1;
        }
        let found = candidates.into_iter().fold(best, |a, b| if b.1 > a.1 { b } else { a });
        if found.0 == at {
            if step == [1, 1] {
                // Corners last: the surface may rise along a diagonal only.
                let corners = [[-1, -1], [-1, 1], [1, -1], [1, 1]].map(|d| [at[0] + d[0], at[1] + d[1]]);
                let found = corners.map(|c| (c, ask(c))).into_iter().fold(best, |a, b| if b.1 > a.1 { b } else { a });
                used += 4;
                if found.0 == at || used > EVALUATIONS {
                    return best;
                }
                best = found;
            }
            step = step.map(|s| (s / 4).max(1));
        } else {
            let moved = (found.0[0] - at[0]).abs().max((found.0[1] - at[1]).abs());
            best = found;
            // Once the parabola lands close by, the step need not be wider than what is left.
            step = step.map(|s| s.min((moved / 2).max(1)));
        }
        if used > EVALUATIONS {
            return best;
        }
    }
}
