//! Drawings for paper and terminal, made of the findings: one SVG each that a program turns into what it needs, and a face in
//! characters.

pub mod card;
pub mod curves;
pub mod face;
pub mod svg;
pub mod target;
