//! The one table of what can be told about archer, kit, distance and shot: how each is called in a kit file, on the wire
//! (JSON, the log, the columns of a CSV) and on the command line, in which unit, within which range, and what a good value
//! looks like. The readers of files and objects and the forms of the app take it from here.

use goldward_core::usual::{Bow, Level};

pub use crate::good::Good;

/// One thing that can be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Key {
    /// Shooting distance.
    Distance,
    /// Target face.
    Face,
    /// Which hand draws.
    Hand,
    /// Shaft diameter.
    Shaft,
    /// Spread of the archer.
    Spread,
    /// Arrows that the spread is worth.
    Worth,
    /// Arrows that the sight setting is worth.
    Trust,
    /// What the shots of an end share.
    EndEffect,
    /// Distance from eye to pin.
    EyeToPin,
    /// Size of a click, windage and elevation together.
    Click,
    /// Size of a click of windage.
    ClickWindage,
    /// Size of a click of elevation.
    ClickElevation,
    /// Error of a setting.
    SettingSd,
    /// Where the pin goes when the number of the windage scale grows.
    WindageGrows,
    /// Where the pin goes when the number of the elevation scale grows.
    ElevationGrows,
    /// What the windage scale reads.
    WindageReading,
    /// What the elevation scale reads.
    ElevationReading,
    /// Millimetres of the pin for 1 on the windage scale.
    WindageUnit,
    /// Millimetres of the pin for 1 on the elevation scale.
    ElevationUnit,
    /// Shots still to come.
    ShotsLeft,
    /// What a touch costs.
    TouchCost,
    /// Class probabilities of a shot that was not marked.
    Unmarked,
    /// Class probabilities of a shot that felt bad.
    FeltBad,
    /// Class probabilities of a shot that felt good.
    FeltGood,
    /// Where bad shots go.
    BadMean,
    /// How widely bad shots scatter.
    BadSpread,
    /// What a touch of the sight gives.
    TouchGives,
    /// How the group goes from end to end.
    EndDrift,
    /// How far the spread that is told may be off.
    SpreadDoubt,
    /// How often groups are two, and have moved once.
    PatternShares,
    /// Whether habits are used.
    Habits,
    /// What kind of bow.
    Bow,
    /// How well it is shot.
    Level,
    /// Height of the eye above the arrow.
    EyeAboveArrow,
    /// Mass of an arrow.
    ArrowMass,
    /// Speed of an arrow.
    ArrowSpeed,
    /// The shots.
    Shots,
    /// To the right.
    X,
    /// Up.
    Y,
    /// Ring and clock.
    Call,
    /// How a shot felt.
    Felt,
    /// The pin's move to the right.
    TouchRight,
    /// The pin's move up.
    TouchUp,
}

/// How one thing is written and what it may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Field {
    /// Which one.
    pub key: Key,
    /// Its key in a kit file; empty when it does not stand there.
    pub file: &'static str,
    /// Its name in JSON, in the log and as a column, with its unit.
    pub wire: &'static str,
    /// Its option; empty when it has none.
    pub option: &'static str,
    /// Smallest and largest number it may be, in the unit of its wire name.
    pub range: Option<[f64; 2]>,
    /// What a good value looks like in a kit file.
    pub in_file: Good,
    /// What a good value looks like on the wire.
    pub on_wire: Good,
}

const fn field(key: Key, wire: &'static str, option: &'static str, on_wire: Good) -> Field {
    Field { key, file: "", wire, option, range: None, in_file: on_wire, on_wire }
}

const fn mm(such: &'static str) -> Good {
    Good::Quantity { unit: "mm", such }
}

impl Field {
    const fn file(self, file: &'static str, in_file: Good) -> Self {
        Self { file, in_file, ..self }
    }

    const fn from(self, least: f64, most: f64) -> Self {
        Self { range: Some([least, most]), ..self }
    }

    /// Whether `value` is within the range.
    #[must_use]
    pub fn takes(&self, value: f64) -> bool {
        value.is_finite() && self.range.is_none_or(|[least, most]| (least..=most).contains(&value))
    }

    /// Its keys in a kit file; empty when it does not stand there.
    #[must_use]
    pub fn of_kit(&self) -> &'static str {
        if self.key == Key::Click { "click_windage, click_elevation" } else { self.file }
    }
}

/// The kinds of bow and how well they are shot, in words.
static BOWS: [&str; 4] = [Bow::Recurve.key(), Bow::Compound.key(), Bow::Barebow.key(), Bow::Longbow.key()];
static LEVELS: [&str; 3] = [Level::Beginner.key(), Level::Club.key(), Level::Strong.key()];

/// Everything that can be told, in the order in which it is listed.
pub static FIELDS: [Field; 43] = [
    field(Key::Distance, "distance_m", "--distance", Good::Quantity { unit: "m", such: "70" }).from(1.0, 400.0),
    field(Key::Face, "face", "--face", Good::Face),
    field(Key::Hand, "hand", "", Good::OneOf(&["right", "left"])).file("hand", Good::OneOf(&["right", "left"])),
    field(Key::Shaft, "shaft_mm", "--shaft", mm("5.5")).file("shaft", Good::Length("5.5mm")).from(0.0, 30.0),
    field(Key::EyeToPin, "eye_to_pin_mm", "--eye-to-pin", mm("880"))
        .file("eye_to_pin", Good::Length("88cm"))
        .from(100.0, 3000.0),
    field(Key::Click, "click_mm", "--click", Good::Clicks("[0.1,0.1]")),
    field(Key::ClickWindage, "click_windage_mm", "", mm("0.1"))
        .file("click_windage", Good::Length("0.1mm"))
        .from(0.001, 20.0),
    field(Key::ClickElevation, "click_elevation_mm", "", mm("0.1"))
        .file("click_elevation", Good::Length("0.1mm"))
        .from(0.001, 20.0),
    field(Key::SettingSd, "setting_sd_mm", "--setting-sd", mm("0.05"))
        .file("setting_sd", Good::Length("0.05mm"))
        .from(0.0, 20.0),
    field(Key::WindageGrows, "windage_grows_right", "", Good::Flag)
        .file("windage_grows", Good::Grows(&["right", "left"])),
    field(Key::ElevationGrows, "elevation_grows_up", "", Good::Flag)
        .file("elevation_grows", Good::Grows(&["up", "down"])),
    field(Key::WindageReading, "windage_reading", "", Good::Reading("12.4"))
        .file("windage_reading", Good::Reading("12.4")),
    field(Key::ElevationReading, "elevation_reading", "", Good::Reading("53.5"))
        .file("elevation_reading", Good::Reading("53.5")),
    field(Key::WindageUnit, "windage_unit_mm", "", mm("1"))
        .file("windage_unit", Good::ScaleUnit("1mm"))
        .from(0.01, 100.0),
    field(Key::ElevationUnit, "elevation_unit_mm", "", mm("1"))
        .file("elevation_unit", Good::ScaleUnit("1mm"))
        .from(0.01, 100.0),
    field(Key::Spread, "spread_mrad", "--spread", Good::Quantity { unit: "mrad", such: "2.1" })
        .file("spread_mrad", Good::Quantity { unit: "mrad", such: "2.1" })
        .from(0.01, 100.0),
    field(Key::Worth, "worth", "--worth", Good::Arrows("40")).file("worth", Good::Arrows("40")).from(0.1, 10_000.0),
    field(Key::Trust, "trust", "--trust", Good::Arrows("8")).file("trust", Good::Trust).from(0.0001, 10_000.0),
    field(Key::EndEffect, "end_effect", "", Good::Pair("[0.5,0.2]"))
        .file("end_effect", Good::Pair("[0.5, 0.2]"))
        .from(0.0, 10.0),
    field(Key::TouchCost, "touch_cost_points", "--touch-cost", Good::Points("0.5"))
        .file("touch_cost_points", Good::Points("0.5"))
        .from(0.0, 10_000.0),
    field(Key::FeltBad, "felt_bad", "", Good::Chances("[0.3,0.6,0.1]"))
        .file("felt_bad", Good::Chances("[0.3, 0.6, 0.1]")),
    field(Key::FeltGood, "felt_good", "", Good::Chances("[0.985,0.01,0.005]"))
        .file("felt_good", Good::Chances("[0.985, 0.01, 0.005]")),
    field(Key::Unmarked, "unmarked", "", Good::Chances("[0.91,0.08,0.01]"))
        .file("unmarked", Good::Chances("[0.91, 0.08, 0.01]")),
    field(Key::BadMean, "bad_mean", "", Good::InSpreads { least: "-20", most: "20", such: "[2.5,0.4]" })
        .file("bad_mean", Good::InSpreads { least: "-20", most: "20", such: "[2.5, 0.4]" })
        .from(-20.0, 20.0),
    field(Key::BadSpread, "bad_spread", "", Good::InSpreads { least: "0.4", most: "30", such: "[1.5,1.5]" })
        .file("bad_spread", Good::InSpreads { least: "0.4", most: "30", such: "[1.5, 1.5]" })
        .from(0.4, 30.0),
    field(Key::TouchGives, "touch_gives", "", Good::Two { least: "0.25", most: "4", such: "[1.1,1.1]" })
        .file("touch_gives", Good::Two { least: "0.25", most: "4", such: "[1.1, 1.1]" })
        .from(0.25, 4.0),
    field(Key::EndDrift, "end_drift", "", Good::InSpreads { least: "-5", most: "5", such: "[0,-0.1]" })
        .file("end_drift", Good::InSpreads { least: "-5", most: "5", such: "[0, -0.1]" })
        .from(-5.0, 5.0),
    field(Key::SpreadDoubt, "spread_doubt", "", Good::Two { least: "0", most: "4", such: "[1.2,0.75]" })
        .file("spread_doubt", Good::Two { least: "0", most: "4", such: "[1.2, 0.75]" })
        .from(0.0, 4.0),
    field(Key::PatternShares, "pattern_shares", "", Good::Two { least: "0.001", most: "0.4", such: "[0.08,0.03]" })
        .file("pattern_shares", Good::Two { least: "0.001", most: "0.4", such: "[0.08, 0.03]" })
        .from(0.001, 0.4),
    field(Key::Habits, "habits", "", Good::Flag).file("habits", Good::OneOf(&["on", "off"])),
    field(Key::Bow, "bow", "", Good::OneOf(&BOWS)).file("bow", Good::OneOf(&BOWS)),
    field(Key::Level, "level", "", Good::OneOf(&LEVELS)).file("level", Good::OneOf(&LEVELS)),
    field(Key::ShotsLeft, "shots_left", "--left", Good::Whole("36")).from(0.0, 100_000.0),
    field(Key::EyeAboveArrow, "eye_above_arrow_mm", "", mm("115")).from(-100.0, 400.0),
    field(Key::ArrowMass, "arrow_mass_g", "", Good::Quantity { unit: "g", such: "21" }).from(1.0, 200.0),
    field(Key::ArrowSpeed, "arrow_speed_m_s", "", Good::Quantity { unit: "m/s", such: "57" }).from(5.0, 200.0),
    field(Key::Shots, "shots", "", Good::Such("[{\"x_mm\":12,\"y_mm\":-30},{\"call\":\"9@4:30\"}]")),
    field(Key::X, "x_mm", "", mm("-12.5")).from(-100_000.0, 100_000.0),
    field(Key::Y, "y_mm", "", mm("-30")).from(-100_000.0, 100_000.0),
    field(Key::Call, "call", "", Good::Call),
    field(Key::Felt, "felt", "", Good::Felt),
    field(Key::TouchRight, "touch_right_mm", "", mm("0.2")).from(-200.0, 200.0),
    field(Key::TouchUp, "touch_up_mm", "", mm("-0.5")).from(-200.0, 200.0),
];

/// The columns that a CSV of shots may have.
pub const COLUMNS: [&str; 8] = ["end", "arrow", "x_mm", "y_mm", "call", "felt", "touch_right_mm", "touch_up_mm"];

impl Key {
    /// How it is written and what it may be.
    #[must_use]
    pub fn field(self) -> &'static Field {
        FIELDS.iter().find(|f| f.key == self).unwrap_or_else(|| unreachable!("every key has its row"))
    }

    /// The key of the JSON object.
    #[must_use]
    pub fn json(self) -> &'static str {
        self.field().wire
    }

    /// The largest number it may be, either way.
    #[must_use]
    pub fn most(self) -> f64 {
        self.field().range.map_or(f64::MAX, |[_, most]| most)
    }
}

/// The keys of a kit file.
pub fn of_kit_file() -> impl Iterator<Item = &'static Field> {
    FIELDS.iter().filter(|f| !f.file.is_empty())
}

/// What a good value looks like of what the wire calls `name`.
#[must_use]
pub fn on_wire(name: &str) -> Option<Good> {
    FIELDS.iter().find(|f| f.wire == name).map(|f| f.on_wire)
}

#[cfg(test)]
mod tests {
    use super::*;
    use goldward_core::face::Face;
    use goldward_core::units::Distance;

    use crate::settings::{Settings, Wishes};

    #[test]
    fn every_key_has_one_row_and_every_name_is_its_own() {
        for (i, a) in FIELDS.iter().enumerate() {
            assert_eq!(a.key.field(), a);
            for b in &FIELDS[..i] {
                assert!(a.key != b.key && a.wire != b.wire && (a.file.is_empty() || a.file != b.file), "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn the_ranges_are_those_that_core_keeps() {
        let (distance, face) = (Distance::from_metres(70.0).unwrap(), Face::named("122").unwrap());
        type Set = fn(&mut Wishes, f64);
        let all: [(Key, Set); 8] = [
            (Key::Shaft, |w, v| w.shaft_mm = Some(v)),
            (Key::EyeToPin, |w, v| w.eye_to_pin_mm = Some(v)),
            (Key::ClickWindage, |w, v| w.click_windage_mm = Some(v)),
            (Key::ClickElevation, |w, v| w.click_elevation_mm = Some(v)),
            (Key::SettingSd, |w, v| w.setting_sd_mm = Some(v)),
            (Key::Spread, |w, v| w.spread_mrad = Some(v)),
            (Key::Worth, |w, v| w.worth = Some(v)),
            (Key::Trust, |w, v| w.trust = Some(v)),
        ];
        for (key, set) in all {
            let [least, most] = key.field().range.unwrap();
            let taken = |value: f64| {
                let mut wishes = Wishes::default();
                set(&mut wishes, value);
                Settings::new(distance, face, &wishes).is_ok()
            };
            assert!(taken(least) && taken(most), "{key:?}");
            assert!(!taken(least - 1e-6 - 1e-6 * least.abs()) && !taken(1.000_001 * most), "{key:?}");
        }
        assert!(Distance::from_metres(0.999).is_err() && Distance::from_metres(400.1).is_err());
    }
}
