//! The one table of what can be told about archer, kit, distance and shot: how each is called in a kit file, on the wire
//! (JSON, the log, the columns of a CSV) and on the command line, in which unit, within which range, and what a good value
//! looks like. The readers of files and objects and the forms of the app take it from here.

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
    /// Whether habits are used.
    Habits,
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
    /// How the command line names it in an error.
    pub option: &'static str,
    /// Smallest and largest number it may be, in the unit of its wire name.
    pub range: Option<[f64; 2]>,
    /// What a good value looks like in a kit file.
    pub in_file: &'static str,
    /// What a good value looks like on the wire.
    pub on_wire: &'static str,
}

const MM: &str = "give a number of millimetres";
const NUMBER: &str = "give a number";

const fn field(key: Key, wire: &'static str, option: &'static str, on_wire: &'static str) -> Field {
    Field { key, file: "", wire, option, range: None, in_file: "", on_wire }
}

impl Field {
    const fn file(self, file: &'static str, in_file: &'static str) -> Self {
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
}

/// Everything that can be told, in the order in which it is listed.
pub const FIELDS: [Field; 37] = [
    field(Key::Distance, "distance_m", "--distance", "give a number of metres such as 70").from(1.0, 400.0),
    field(Key::Face, "face", "--face", "give the name of a face in quotes such as \"122\""),
    field(Key::Hand, "hand", "kit key hand", "give \"right\" or \"left\"").file("hand", "write \"right\" or \"left\""),
    field(Key::Shaft, "shaft_mm", "--shaft (kit key shaft)", MM)
        .file("shaft", "write the diameter, such as \"5.5mm\"")
        .from(0.0, 30.0),
    field(Key::EyeToPin, "eye_to_pin_mm", "--eye-to-pin (kit key eye_to_pin)", MM)
        .file("eye_to_pin", "write the distance, such as \"88cm\"")
        .from(100.0, 3000.0),
    field(
        Key::Click,
        "click_mm",
        "--click (kit keys click_windage, click_elevation)",
        "give two numbers of millimetres, windage and elevation, such as [0.1,0.1]",
    ),
    field(Key::ClickWindage, "click_windage_mm", "kit key click_windage", MM)
        .file("click_windage", "write what a click moves the pin, such as \"0.1mm\"")
        .from(0.001, 20.0),
    field(Key::ClickElevation, "click_elevation_mm", "kit key click_elevation", MM)
        .file("click_elevation", "write what a click moves the pin, such as \"0.1mm\"")
        .from(0.001, 20.0),
    field(Key::SettingSd, "setting_sd_mm", "--setting-sd (kit key setting_sd)", MM)
        .file("setting_sd", "write a length, such as \"0.05mm\"")
        .from(0.0, 20.0),
    field(Key::WindageGrows, "windage_grows_right", "kit key windage_grows", "give true or false")
        .file("windage_grows", "write \"right\" or \"left\": where the pin goes when the scale's number grows"),
    field(Key::ElevationGrows, "elevation_grows_up", "kit key elevation_grows", "give true or false")
        .file("elevation_grows", "write \"up\" or \"down\": where the pin goes when the scale's number grows"),
    field(Key::WindageReading, "windage_reading", "kit key windage_reading", NUMBER)
        .file("windage_reading", "write the number on the scale, such as 12.4"),
    field(Key::ElevationReading, "elevation_reading", "kit key elevation_reading", NUMBER)
        .file("elevation_reading", "write the number on the scale, such as 53.5"),
    field(Key::WindageUnit, "windage_unit_mm", "kit key windage_unit", MM)
        .file("windage_unit", "write how far the pin moves when the number grows by 1, such as \"1mm\"")
        .from(0.01, 100.0),
    field(Key::ElevationUnit, "elevation_unit_mm", "kit key elevation_unit", MM)
        .file("elevation_unit", "write how far the pin moves when the number grows by 1, such as \"1mm\"")
        .from(0.01, 100.0),
    field(Key::Spread, "spread_mrad", "--spread (kit key spread_mrad)", "give a number of milliradians such as 2.1")
        .file("spread_mrad", "write a number of milliradians, such as 2.1")
        .from(0.01, 100.0),
    field(Key::Worth, "worth", "--worth (kit key worth)", NUMBER)
        .file("worth", "write a number of arrows, such as 40")
        .from(0.1, 10_000.0),
    field(Key::Trust, "trust", "--trust (kit key trust)", NUMBER)
        .file("trust", "write a number of arrows, or \"unknown\", \"predicted\" or \"verified\"")
        .from(0.0001, 10_000.0),
    field(
        Key::EndEffect,
        "end_effect",
        "kit key end_effect",
        "give two numbers, windage and elevation, in spreads, such as [0.5,0.2]",
    )
    .file("end_effect", "write two numbers, windage and elevation, in spreads, such as [0.5, 0.2]")
    .from(0.0, 10.0),
    field(Key::TouchCost, "touch_cost_points", "--touch-cost (kit key touch_cost_points)", NUMBER)
        .file("touch_cost_points", "write a number of points, such as 0.5")
        .from(0.0, 10_000.0),
    field(Key::FeltBad, "felt_bad", "kit key felt_bad", "give three probabilities such as [0.3,0.6,0.1]")
        .file("felt_bad", "write the chances of clean, flyer and stray when it felt bad, such as [0.3, 0.6, 0.1]"),
    field(Key::FeltGood, "felt_good", "kit key felt_good", "give three probabilities such as [0.985,0.01,0.005]").file(
        "felt_good",
        "write the chances of clean, flyer and stray when it felt good, such as [0.985, 0.01, 0.005]",
    ),
    field(Key::Unmarked, "unmarked", "kit key unmarked", "give three probabilities such as [0.91,0.08,0.01]").file(
        "unmarked",
        "write the chances of clean, flyer and stray when nothing was felt, such as [0.91, 0.08, 0.01]",
    ),
    field(
        Key::BadMean,
        "bad_mean",
        "kit key bad_mean",
        "give two numbers from -20 to 20, right and up, in spreads, such as [2.5,0.4]",
    )
    .file("bad_mean", "write two numbers between -20 and 20, right and up, in spreads, such as [2.5, 0.4]")
    .from(-20.0, 20.0),
    field(
        Key::BadSpread,
        "bad_spread",
        "kit key bad_spread",
        "give two numbers from 0.4 to 30, windage and elevation, in spreads, such as [1.5,1.5]",
    )
    .file("bad_spread", "write two numbers between 0.4 and 30, windage and elevation, in spreads, such as [1.5, 1.5]")
    .from(0.4, 30.0),
    field(Key::Habits, "habits", "kit key habits", "give true or false").file("habits", "write \"on\" or \"off\""),
    field(Key::ShotsLeft, "shots_left", "--left", "give a whole number such as 36").from(0.0, 100_000.0),
    field(Key::EyeAboveArrow, "eye_above_arrow_mm", "marks key eye_above_arrow", MM).from(-100.0, 400.0),
    field(Key::ArrowMass, "arrow_mass_g", "marks key arrow.mass_g", "give a number of grams").from(1.0, 200.0),
    field(Key::ArrowSpeed, "arrow_speed_m_s", "marks key arrow.speed", "give metres a second").from(5.0, 200.0),
    field(
        Key::Shots,
        "shots",
        "the shots",
        "give a list of shots such as [{\"x_mm\":12,\"y_mm\":-30},{\"call\":\"9@4:30\"}]",
    ),
    field(Key::X, "x_mm", "column x_mm", MM).from(-100_000.0, 100_000.0),
    field(Key::Y, "y_mm", "column y_mm", MM).from(-100_000.0, 100_000.0),
    field(Key::Call, "call", "column call", "give ring and clock in quotes such as \"9@4:30\", \"X\" or \"M\""),
    field(Key::Felt, "felt", "column felt", "give \"good\" or \"bad\", or leave it out"),
    field(Key::TouchRight, "touch_right_mm", "column touch_right_mm", MM).from(-200.0, 200.0),
    field(Key::TouchUp, "touch_up_mm", "column touch_up_mm", MM).from(-200.0, 200.0),
];

impl Key {
    /// How it is written and what it may be.
    #[must_use]
    pub fn field(self) -> &'static Field {
        static TABLE: [Field; 37] = FIELDS;
        TABLE.iter().find(|f| f.key == self).unwrap_or_else(|| unreachable!("every key has its row"))
    }

    /// The key of the JSON object.
    #[must_use]
    pub fn json(self) -> &'static str {
        self.field().wire
    }

    /// The option of the command line and the key of the kit file.
    #[must_use]
    pub fn option(self) -> &'static str {
        self.field().option
    }

    /// The largest number it may be, either way.
    #[must_use]
    pub fn most(self) -> f64 {
        self.field().range.map_or(f64::MAX, |[_, most]| most)
    }
}

/// The keys of a kit file.
pub fn of_kit_file() -> impl Iterator<Item = &'static Field> {
    static TABLE: [Field; 37] = FIELDS;
    TABLE.iter().filter(|f| !f.file.is_empty())
}

/// What a good value looks like of what the wire calls `name`.
#[must_use]
pub fn on_wire(name: &str) -> Option<&'static str> {
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
            assert_eq!(a.file.is_empty(), a.in_file.is_empty(), "{a:?}");
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
