//! What is said about what was shot: findings as plain data, the catalogue of words in every language, and renderers.
//!
//! [`words`] is the catalogue with its sentences, [`pages`] say what a question about many sessions finds, as [`item::Item`]s,
//! [`html`] and [`text`] render them, [`sheet`] makes a picture a drawing that stands alone, [`map`] and [`drawing`] hold the shapes of
//! pictures.

pub mod draw;
pub mod drawing;
mod escape;
pub mod html;
pub mod item;
pub mod map;
pub mod pages;
pub mod sheet;
pub mod teller;
pub mod text;
#[cfg(feature = "wire")]
pub mod wire;
pub mod words;
mod wrap;
