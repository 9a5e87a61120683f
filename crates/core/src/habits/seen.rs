//! A session as habits are learnt from it.

use crate::group::spread::{Landed, Spot, SpreadEstimate, estimate};
use crate::plane::Point;
use crate::shot::{Cell, Felt};

/// What lies farther out than so many spreads is no arrow of this archer.
const REACH: f64 = 30.0;
/// A session of which fewer shots than this share name a side says nothing of where bad ones go.
const LEAST_PLACED: f64 = 0.5;
/// Fewer shots with a place say too little.
const FEWEST: usize = 6;

/// A shot of an earlier session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenShot {
    /// Where it landed, and what touches since have moved the arrows by.
    pub landed: Landed,
    /// How it felt.
    pub felt: Felt,
    /// Shots with the same number were shot in one end with one setting of the sight.
    pub stretch: u32,
}

/// Where a shot is known to have landed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Known {
    /// Here, in the frame of the last setting.
    At(Point),
    /// In this cell of the frame that this carry takes off.
    In(Cell, Point),
}

/// One shot, or several of which the same is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Item {
    pub known: Known,
    pub mark: usize,
    pub stretch: usize,
    pub times: f64,
}

/// What a session says: its shots, about which centre and with which spread to begin. Lengths in millimetres on the face.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionSeen {
    pub(super) items: Vec<Item>,
    pub(super) stretches: usize,
    pub(super) centre: Point,
    pub(super) spread_mm: f64,
    shots: usize,
}

impl SessionSeen {
    /// Of the shots of a session. Nothing where fewer than six have a side, or most have none, or all lie in one place. A ring without a
    /// clock and a miss are censored; a call with a clock stands in the middle of its cell.
    #[must_use]
    pub fn of(shots: &[SeenShot]) -> Option<Self> {
        let landed: Vec<Landed> = shots.iter().map(|s| s.landed).collect();
        Self::around(&estimate(&landed)?, shots)
    }

    /// The same for shots whose estimate is at hand.
    #[must_use]
    pub fn around(start: &SpreadEstimate, shots: &[SeenShot]) -> Option<Self> {
        let (mut items, mut numbers) = (Vec::<Item>::with_capacity(shots.len()), Vec::<u32>::new());
        let mut placed = 0;
        for shot in shots {
            let known = match shot.landed.place {
                Spot::At(p) => Known::At(p - shot.landed.carry),
                Spot::In(cell) => match cell.middle().filter(|_| cell.is_directed()) {
                    Some(p) => Known::At(p - shot.landed.carry),
                    None => Known::In(cell, shot.landed.carry),
                },
            };
            if let Known::At(p) = known {
                let off = (p - start.centre).radius_mm();
                if off.is_nan() || off > REACH * start.spread_mm {
                    continue;
                }
                placed += 1;
            }
            let stretch = numbers.iter().position(|n| *n == shot.stretch).unwrap_or_else(|| {
                numbers.push(shot.stretch);
                numbers.len() - 1
            });
            let item = Item { known, mark: super::mark(shot.felt), stretch, times: 1.0 };
            let same = |i: &&mut Item| {
                matches!(known, Known::In(..)) && i.known == known && i.mark == item.mark && i.stretch == stretch
            };
            match items.iter_mut().find(same) {
                Some(i) => i.times += 1.0,
                None => items.push(item),
            }
        }
        let count: f64 = items.iter().map(|i| i.times).sum();
        let enough = placed >= FEWEST && placed as f64 >= LEAST_PLACED * count;
        (enough && start.spread_mm > 1e-3).then_some(Self {
            items,
            stretches: numbers.len(),
            centre: start.centre,
            spread_mm: start.spread_mm,
            shots: count as usize,
        })
    }

    /// How many shots it is from.
    #[must_use]
    pub fn shots(&self) -> usize {
        self.shots
    }
}
