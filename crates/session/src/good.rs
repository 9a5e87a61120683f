//! What a good value looks like, as data: the remedy where one cannot be used.

/// What to give.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Good {
    /// A number such as this.
    Number(&'static str),
    /// A whole number such as this.
    Whole(&'static str),
    /// A number in a unit.
    Quantity {
        /// The unit.
        unit: &'static str,
        /// A good one.
        such: &'static str,
    },
    /// A length with its unit, such as this.
    Length(&'static str),
    /// A number of arrows.
    Arrows(&'static str),
    /// A number of points.
    Points(&'static str),
    /// A number of arrows, or a word for them.
    Trust,
    /// One of these words.
    OneOf(&'static [&'static str]),
    /// One of these directions, in which the pin goes when the scale's number grows.
    Grows(&'static [&'static str]),
    /// The number on a scale.
    Reading(&'static str),
    /// How far the pin moves when the number of a scale grows by 1.
    ScaleUnit(&'static str),
    /// How well something is known.
    Sd(&'static str),
    /// Windage and elevation, in spreads.
    Pair(&'static str),
    /// Two numbers of spreads, right and up, between two others.
    InSpreads {
        /// Smallest.
        least: &'static str,
        /// Largest.
        most: &'static str,
        /// Good ones.
        such: &'static str,
    },
    /// Two numbers between two others.
    Two {
        /// Smallest.
        least: &'static str,
        /// Largest.
        most: &'static str,
        /// Good ones.
        such: &'static str,
    },
    /// Windage and elevation, in millimetres.
    Clicks(&'static str),
    /// Chances of clean, flyer and stray.
    Chances(&'static str),
    /// True or false.
    Flag,
    /// Nothing but true.
    True,
    /// The name of a face.
    Face,
    /// Ring and clock.
    Call,
    /// How a shot felt.
    Felt,
    /// A speed with its unit.
    Speed,
    /// A draw weight with its unit.
    DrawWeight,
    /// A date.
    Date,
    /// Text in quotes, not too long.
    Text,
    /// As it is written here.
    Such(&'static str),
    /// The settings of the next distance.
    Distance,
    /// Both coordinates of a shot.
    Coordinates,
    /// A line of the marks file.
    InMarks(&'static str),
    /// A line of the marks file, or the kit file.
    InMarksOrKit(&'static str),
}
