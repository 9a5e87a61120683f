//! One session of a world: what was shot, and what is to come.

use goldward_core::group::KAPPA;
use goldward_core::plane::{Point, Sym2};
use goldward_core::random::Random;
use goldward_core::score::{Scorer, Spot};
use goldward_core::shot::Shot;
use goldward_core::units::Shaft;

use super::{AHEAD, Calls, END, World, face, told};

/// How often the arrows to come are drawn for the long run.
const TIMES: usize = 4;

/// An arrow to come: all that is drawn but its own last deviate, which is averaged over.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrow {
    /// Where it lands on average, from where the centre is.
    pub mean: Point,
    /// Its covariance.
    pub cov: Sym2,
}

/// One session.
#[derive(Debug, Clone)]
pub struct Trial {
    /// Where the shots landed, oldest first.
    pub places: Vec<Point>,
    /// The end of each shot, from 0.
    pub ends: Vec<usize>,
    /// Class of each shot.
    pub classes: Vec<usize>,
    /// The shots as told.
    pub shots: Vec<Shot>,
    /// Where the centre is.
    pub centre: Point,
    /// The arrows to come, so many times [`AHEAD`] of them.
    pub arrows: Vec<Arrow>,
}

/// Draws the shots of a session one by one.
#[derive(Debug)]
pub struct Source<'a> {
    world: &'a World,
    /// What the shots of this end share, its gust, and who is in it.
    end: (Point, Point, [bool; END]),
    next: usize,
}

impl<'a> Source<'a> {
    /// The session of `world` from its shot number `first` (from 0).
    #[must_use]
    pub fn new(world: &'a World, first: usize, random: &mut Random) -> Self {
        let mut source = Self { world, end: Default::default(), next: first };
        source.begin_end(random);
        source
    }

    fn begin_end(&mut self, random: &mut Random) {
        let (x, y) = random.normal_pair();
        let gust = Point::new(self.world.gust_mm * random.normal(), 0.0);
        let mut inside = [true, true, false, false, false, false];
        random.shuffle(&mut inside);
        self.end = (Point::new(self.world.end_mm[0] * x, self.world.end_mm[1] * y), gust, inside);
    }

    /// The next arrow from the centre, its class, and where it landed.
    pub fn arrow(&mut self, random: &mut Random) -> (Arrow, usize, Point) {
        let (world, i) = (self.world, self.next);
        if i % END == 0 {
            self.begin_end(random);
        }
        self.next += 1;
        let class = random.choose(&world.odds);
        let mut k = world.widening(i) * KAPPA[class].sqrt();
        if let Some(dof) = world.dof {
            k /= (random.gamma(0.5 * dof) / (0.5 * dof)).sqrt();
        }
        let [sx, sy] = world.spread_mm.map(|s| s * k);
        let (a, b) = random.normal_pair();
        let rho = world.correlation;
        let own = Point::new(sx * a, sy * (rho * a + (1.0 - rho * rho).sqrt() * b));
        let (shared, gust, inside) = self.end;
        let mut mean = if inside[i % END] { shared + gust } else { shared };
        let mut cov = Sym2::new(sx * sx, rho * sx * sy, sy * sy);
        let mut at = mean + own;
        if world.bad_to_the_right && class > 0 {
            // Half a normal: what is left is as wide as that, about its mean, which is near enough for a score.
            at.x_mm = mean.x_mm + own.x_mm.abs();
            mean.x_mm += sx * (2.0 / std::f64::consts::PI).sqrt();
            cov.xx *= 1.0 - 2.0 / std::f64::consts::PI;
        }
        (Arrow { mean, cov }, class, at)
    }
}

impl Trial {
    /// Session number `number` of `world` with `n` shots so far: the same for every way of setting the sight.
    #[must_use]
    pub fn draw(world: &World, n: usize, number: u64) -> Self {
        let mut random = Random::stream(0x7247, number);
        let (x, y) = random.normal_pair();
        let k = 1.0 / world.trust.sqrt();
        let centre = Point::new(x * k * world.spread_mm[0], y * k * world.spread_mm[1]);
        let mut source = Source::new(world, 0, &mut random);
        let mut trial = Self {
            places: Vec::new(),
            ends: (0..n).map(|i| i / END).collect(),
            classes: Vec::new(),
            shots: Vec::new(),
            centre,
            arrows: Vec::with_capacity(TIMES * AHEAD),
        };
        for i in 0..n {
            let (_, class, at) = source.arrow(&mut random);
            trial.places.push(centre + at);
            trial.classes.push(class);
            trial.shots.push(told::shot(centre + at, i / END, world.calls));
        }
        // The arrows to come begin a new end.
        let first = n.div_ceil(END) * END;
        for _ in 0..TIMES {
            let mut source = Source::new(world, first, &mut random);
            trial.arrows.extend((0..AHEAD).map(|_| source.arrow(&mut random).0));
        }
        trial
    }

    /// Points expected of the arrows to come when the sight has been moved by `shift` (mm on the face): in the long run,
    /// and of the one string that comes.
    #[must_use]
    pub fn points(&self, scorer: &Scorer, shift: Point) -> Points {
        let off = self.centre - shift;
        let mut first = 0.0;
        let mut total = 0.0;
        for (i, arrow) in self.arrows.iter().enumerate() {
            let p = scorer.expected(off + arrow.mean, &Spot::new(arrow.cov));
            total += p;
            if i < AHEAD {
                first += p;
            }
        }
        Points { long_run: total / TIMES as f64, this_string: first }
    }
}

/// Points of [`AHEAD`] arrows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Points {
    /// Over the winds, flyers and gusts that may come.
    pub long_run: f64,
    /// Of those that come.
    pub this_string: f64,
}

impl std::ops::Sub for Points {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { long_run: self.long_run - other.long_run, this_string: self.this_string - other.this_string }
    }
}

/// Whether a shot that landed there misses the face.
#[must_use]
pub fn misses(at: Point) -> bool {
    face().score(at, Shaft::default()).value == 0
}

impl Calls {
    /// Whether a shot that landed at `at` is told as a call, and of what kind: with an hour or without.
    #[must_use]
    pub fn as_call(self, at: Point) -> Option<bool> {
        match self {
            Self::Places => None,
            Self::Clock => Some(true),
            Self::Rings => Some(false),
            Self::Misses => misses(at).then_some(false),
        }
    }
}
