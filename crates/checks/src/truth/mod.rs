//! Archers whom the model does and does not describe, and what the answer is worth to them.
//!
//! A [`World`] says how the arrows of one archer truly fly and what that archer tells the program, which need not be
//! true. A [`Trial`] is one session of it: the shots so far, where the centre really is, and the arrows to come, each
//! drawn anew. [`regret`] asks what every way of setting the sight loses against one who knows the centre, [`honesty`]
//! whether what is told comes true as often as it is told, [`rounds`] what whole rounds are worth. Everything goes
//! through the public API of the core, by way of [`told`] alone.

mod crowd;
pub mod honesty;
pub mod known;
pub mod regret;
pub mod rivals;
pub mod rounds;
pub mod told;
mod trial;
mod world;

pub use crowd::{Mean, crowd};
pub use trial::{Arrow, Trial};
pub use world::{Calls, Told, World};

use goldward_core::face::Face;
use goldward_core::units::Distance;

/// Spread that a shot has in milliradians, unless the world says otherwise.
pub const SPREAD_MRAD: f64 = 1.5;
/// The same on the face, in millimetres.
pub const SPREAD_MM: f64 = 105.0;
/// Arrows to come.
pub const AHEAD: usize = 36;
/// Arrows an end.
pub const END: usize = 6;

/// 70 m.
///
/// # Panics
/// Never: it is a distance.
#[must_use]
pub fn distance() -> Distance {
    Distance::from_metres(70.0).expect("a distance")
}

/// The 122 cm face.
#[must_use]
pub fn face() -> &'static Face {
    crate::face_122()
}
