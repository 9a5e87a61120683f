//! Rules that need no computer.

use goldward_core::plane::Point;

/// A rule of thumb: how far to move after a group.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rival {
    /// By the mean.
    Mean,
    /// By the mean of all but the one farthest from the mean of the others.
    WithoutTheWorst,
    /// By the mean times `n / (n + trust)`.
    Shrunk,
}

impl Rival {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Mean, Self::WithoutTheWorst, Self::Shrunk];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Mean => "mean",
            Self::WithoutTheWorst => "mean without the worst",
            Self::Shrunk => "mean shrunk",
        }
    }

    /// The shift that it makes of `places`, with a setting that was told to be worth `trust`.
    #[must_use]
    pub fn shift(self, places: &[Point], trust: f64) -> Point {
        match self {
            Self::Mean => mean(places),
            Self::Shrunk => {
                let n = places.len() as f64;
                mean(places) * (n / (n + trust))
            }
            Self::WithoutTheWorst if places.len() < 3 => mean(places),
            Self::WithoutTheWorst => {
                let without = |i: usize| {
                    let others: Vec<Point> =
                        places.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, p)| *p).collect();
                    mean(&others)
                };
                let far = |i: usize| (places[i] - without(i)).radius_mm();
                let worst = (0..places.len()).max_by(|a, b| far(*a).total_cmp(&far(*b))).unwrap_or(0);
                without(worst)
            }
        }
    }
}

/// The plain mean.
#[must_use]
pub fn mean(places: &[Point]) -> Point {
    places.iter().fold(Point::default(), |a, b| a + *b) * (1.0 / places.len().max(1) as f64)
}
