//! The mathematics of Goldward.
//!
//! Pure functions on numbers: no I/O, no clock, no logging, no global random source. It compiles to WebAssembly. See
//! `ARCHITECTURE.md` for the map and the words.
//!
//! Begin with [`units`], [`face`] and [`shot`]; [`group::read`] says where a group is, [`advice::advise`] whether to move the sight.
//!
//! ```
//! use goldward_core::advice::{Action, Ahead, advise};
//! use goldward_core::face::Face;
//! use goldward_core::group::{ClassOdds, Prior, TRUST_PREDICTED, read};
//! use goldward_core::score::Scorer;
//! use goldward_core::shot::Shot;
//! use goldward_core::sight::Sight;
//! use goldward_core::units::{Distance, Shaft, Spread};
//!
//! let distance = Distance::from_metres(70.0)?;
//! let (face, shaft) = (Face::named("122")?, Shaft::default());
//! // What is known beforehand: an archer of 2.1 mrad, worth six arrows, on a mark that was only predicted.
//! let prior = Prior::new(Spread::from_mrad(2.1)?, distance, 6.0, TRUST_PREDICTED)?;
//! let shots = [(-60.0, 310.0), (-20.0, 350.0), (-75.0, 295.0)].map(|(x_mm, y_mm)| Shot::at(x_mm, y_mm));
//! let odds = ClassOdds::default();
//!
//! let reading = read(&shots, &prior, odds, face, shaft)?;
//! assert!(reading.centre.y_mm > 200.0);
//! let advice = advise(&reading, &Scorer::new(face, shaft), &Sight::default(), distance, odds, &Ahead::new(66, 0.5));
//! // The group is high: the sight follows the arrows, the pin goes up.
//! assert!(matches!(advice.action, Action::Move) && advice.clicks[1] > 0);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub mod advice;
pub mod face;
pub mod fleet;
pub mod flight;
pub mod group;
pub mod habits;
pub mod handicap;
pub mod marks;
pub mod matches;
pub mod notice;
pub mod pace;
pub mod plane;
pub mod random;
pub mod range;
pub mod score;
pub mod shot;
pub mod sight;
pub mod stats;
pub mod units;
pub mod usual;
