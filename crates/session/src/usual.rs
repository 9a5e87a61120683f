//! The document of a club's usual values: numbers only, as JSON. Described in `docs/formats.md`.

use goldward_core::units::Distance;
use goldward_core::usual::{Band, Bow, Budget, Cell, DELTA, FEWEST_ARCHERS, Level, Row, Start, argued};
use serde::{Deserialize, Serialize};

use crate::keys::Good;
use crate::problem::{Problem, What, within};

/// The schema of the document.
pub const SCHEMA: u32 = 1;
/// Largest document that is read, in bytes: many times what all cells take.
pub const LARGEST: usize = 100_000;

/// What is usual in a club, as it is handed on.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Usual {
    /// The schema.
    pub schema: u32,
    /// What the document is.
    pub what: String,
    /// When it was made: a day such as 2026-11-27.
    pub made: String,
    /// How much it may tell of one archer: epsilon and delta of differential privacy.
    pub epsilon: f64,
    /// The same.
    pub delta: f64,
    /// Fewest archers of a cell that is told.
    pub least_archers: usize,
    /// The cells.
    pub cells: Vec<CellOut>,
}

/// One cell.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CellOut {
    /// What kind of bow.
    pub bow: String,
    /// How well it is shot.
    pub level: String,
    /// How far.
    pub band: String,
    /// About how many archers it is from.
    pub archers: u32,
    /// Spread of the archer in the middle, in milliradians.
    pub spread_mrad: f64,
    /// How well that is known, one standard deviation of the natural logarithm.
    pub spread_ln_sd: f64,
    /// How far sessions of these archers scatter about it, one standard deviation of the natural logarithm.
    pub scatter_ln_sd: f64,
    /// Share of shots that go astray.
    pub astray: f64,
    /// What the shots of an end share, as a factor on what is usual at the distance.
    pub end_factor: f64,
}

/// What the document is called.
const WHAT: &str = "goldward usual values";

fn rounded(x: f64) -> f64 {
    (x * 10_000.0).round() / 10_000.0
}

impl Usual {
    /// Of `rows` that were made with `budget` on the day `made`.
    #[must_use]
    pub fn of(rows: &[Row], budget: Budget, made: String) -> Self {
        let cell = |r: &Row| CellOut {
            bow: r.cell.bow.key().to_owned(),
            level: r.cell.level.key().to_owned(),
            band: r.cell.band.key().to_owned(),
            archers: r.archers,
            spread_mrad: rounded(r.spread_mrad),
            spread_ln_sd: rounded(r.spread_sd),
            scatter_ln_sd: rounded(r.scatter),
            astray: rounded(r.bad_share),
            end_factor: rounded(r.end_factor),
        };
        Self {
            schema: SCHEMA,
            what: WHAT.to_owned(),
            made,
            epsilon: budget.epsilon(),
            delta: DELTA,
            least_archers: FEWEST_ARCHERS,
            cells: rows.iter().map(cell).collect(),
        }
    }

    /// Reads a document.
    ///
    /// # Errors
    /// A [`Problem`] with its place.
    pub fn parse(text: &str) -> Result<Self, Problem> {
        if text.len() > LARGEST {
            return Err(Problem::new("", What::Unusable(format!("{} bytes", text.len()))));
        }
        let reader = &mut serde_json::Deserializer::from_str(text.strip_prefix('\u{feff}').unwrap_or(text));
        let usual: Self = serde_path_to_error::deserialize(reader).map_err(|e| {
            let place = e.path().to_string();
            Problem::new(if place == "." || place == "?" { "" } else { &place }, What::Reader(e.inner().to_string()))
        })?;
        if usual.what != WHAT {
            let good = Good::Such("\"goldward usual values\"");
            return Err(Problem::new("what", What::Unusable(usual.what)).good(good));
        }
        if usual.schema != SCHEMA {
            return Err(Problem::new("schema", What::Unusable(usual.schema.to_string())).good(Good::Whole("1")));
        }
        for i in 0..usual.cells.len() {
            usual.row(i)?;
        }
        Ok(usual)
    }

    fn row(&self, i: usize) -> Result<Row, Problem> {
        let c = &self.cells[i];
        let at = |key: &str| format!("cells[{i}].{key}");
        let word =
            |key: &str, text: &str, good: Good| Problem::new(&*at(key), What::Unusable(text.to_owned())).good(good);
        let bow = Bow::named(&c.bow).ok_or_else(|| word("bow", &c.bow, crate::keys::Key::Bow.field().on_wire))?;
        let level =
            Level::named(&c.level).ok_or_else(|| word("level", &c.level, crate::keys::Key::Level.field().on_wire))?;
        let bands = Good::OneOf(&["short", "middle", "long"]);
        let band = Band::named(&c.band).ok_or_else(|| word("band", &c.band, bands))?;
        for (key, value, unit, range) in [
            ("spread_mrad", c.spread_mrad, "mrad", [0.05, 50.0]),
            ("spread_ln_sd", c.spread_ln_sd, "", [0.0, 2.0]),
            ("scatter_ln_sd", c.scatter_ln_sd, "", [0.05, 2.0]),
            ("astray", c.astray, "", [0.001, 0.5]),
            ("end_factor", c.end_factor, "", [0.1, 10.0]),
        ] {
            within(value, unit, range).map_err(|what| Problem::new(&*at(key), what))?;
        }
        Ok(Row {
            cell: Cell { bow, level, band },
            archers: c.archers,
            spread_mrad: c.spread_mrad,
            spread_sd: c.spread_ln_sd,
            scatter: c.scatter_ln_sd,
            bad_share: c.astray,
            end_factor: c.end_factor,
        })
    }

    /// All rows.
    #[must_use]
    pub fn rows(&self) -> Vec<Row> {
        (0..self.cells.len()).filter_map(|i| self.row(i).ok()).collect()
    }

    /// The row for a bow and a level, which are a recurve and a club archer where they are not told, at a distance, or else, at whatever distance, the one of
    /// most archers.
    #[must_use]
    pub fn row_for(&self, bow: Option<Bow>, level: Option<Level>, distance: Option<Distance>) -> Option<Row> {
        let (bow, level) = (bow.unwrap_or_default(), level.unwrap_or_default());
        let mut rows = self.rows();
        rows.retain(|r| r.cell.bow == bow && r.cell.level == level);
        let band = distance.map(|d| Band::of(d.metres()));
        rows.iter().find(|r| Some(r.cell.band) == band).or_else(|| rows.iter().max_by_key(|r| r.archers)).copied()
    }

    /// Where such an archer starts: as the club has it, else as the shipped table.
    #[must_use]
    pub fn start(&self, bow: Option<Bow>, level: Option<Level>, distance: Option<Distance>) -> Start {
        self.row_for(bow, level, distance).map_or_else(|| argued(bow, level), |r| r.start())
    }

    /// As a file.
    #[must_use]
    pub fn to_json(&self) -> String {
        serde_json::to_string_pretty(self).map_or_else(|_| unreachable!("text and numbers alone"), |text| text + "\n")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::problem::Place;

    fn document() -> Usual {
        let cell = |band| Cell { bow: Bow::Recurve, level: Level::Club, band };
        let row = |band, archers, spread_mrad| Row {
            cell: cell(band),
            archers,
            spread_mrad,
            spread_sd: 0.05,
            scatter: 0.3,
            bad_share: 0.12,
            end_factor: 1.2,
        };
        Usual::of(&[row(Band::Short, 60, 2.2), row(Band::Long, 40, 2.6)], Budget::USUAL, "2026-11-27".to_owned())
    }

    #[test]
    fn a_document_comes_back_and_finds_its_row() {
        let usual = document();
        assert_eq!(Usual::parse(&usual.to_json()).unwrap(), usual);
        let at = |m| usual.row_for(None, None, Distance::from_metres(m).ok()).unwrap().spread_mrad;
        for (metres, mrad) in [(18.0, 2.2), (70.0, 2.6), (30.0, 2.2)] {
            assert!((at(metres) - mrad).abs() < 1e-12, "{metres} m");
        }
        assert_eq!(usual.start(Some(Bow::Compound), None, None), argued(Some(Bow::Compound), None));
        assert!(usual.start(None, None, None).octaves.is_some());
    }

    #[test]
    fn what_is_wrong_is_named_with_its_place() {
        let check = |from: &str, to: &str, place: &str| {
            let text = document().to_json();
            assert!(text.contains(from), "{from}");
            let problem = Usual::parse(&text.replacen(from, to, 1)).unwrap_err();
            assert_eq!(problem.place, Place::from(place), "{problem:?}");
        };
        check("\"recurve\"", "\"crossbow\"", "cells[0].bow");
        check("\"short\"", "\"far\"", "cells[0].band");
        check("2.2", "-2.2", "cells[0].spread_mrad");
        check("2.2", "\"wide\"", "cells[0].spread_mrad");
        check("\"schema\": 1", "\"schema\": 2", "schema");
        check("usual values", "log", "what");
        assert_eq!(Usual::parse("{").unwrap_err().place, Place::Nowhere);
        assert!(Usual::parse(&" ".repeat(LARGEST + 1)).is_err());
    }
}
