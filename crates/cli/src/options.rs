//! Options that several commands share.

use std::path::{Path, PathBuf};

use clap::Args;
use goldward_core::face::Face;
use goldward_core::units::{Distance, Length, Shaft, Spread};
use goldward_core::usual::Start;
use goldward_report::item::Item;
use goldward_report::teller::Teller;
use goldward_report::text::text;
use goldward_report::words::Language;
use goldward_session::kit::{self, Kit};
use goldward_session::log::Pick;
use goldward_session::settings::Wishes;

use crate::failure::{EXIT_FINE, Failure};
use crate::files::{load_kit, load_usual};
use crate::plot::PlotFile;
use crate::source::{LogSource, Opened};
use crate::terminal::Terminal;

/// Options that stand above the kit file.
#[derive(Debug, Args)]
#[command(next_help_heading = "Above the kit file")]
pub struct OverrideArgs {
    /// Your usual spread: one standard deviation an axis, such as 2.1mrad
    #[arg(long, value_name = "MRAD")]
    pub spread: Option<Spread>,
    /// How many arrows that spread is worth
    #[arg(long, value_name = "ARROWS", value_parser = parse_number)]
    pub worth: Option<f64>,
    /// How many arrows the present setting is worth: a number, or unknown, predicted, verified
    #[arg(long, value_name = "ARROWS|WORD", value_parser = kit::parse_trust)]
    pub trust: Option<f64>,
    /// Shaft diameter, such as 5.5mm
    #[arg(long, value_name = "LENGTH", value_parser = parse_shaft)]
    pub shaft: Option<Shaft>,
    /// Points that a touch must gain to be worth making
    #[arg(long, value_name = "POINTS", value_parser = parse_number)]
    pub touch_cost: Option<f64>,
    /// How far off a setting usually is, at the pin: one standard deviation an axis
    #[arg(long, value_name = "LENGTH")]
    pub setting_sd: Option<Length>,
    /// Distance from eye to pin, such as 88cm
    #[arg(long, value_name = "LENGTH")]
    pub eye_to_pin: Option<Length>,
    /// Size of a click at the pin, such as 0.1mm; windage/elevation when they differ, such as 0.1mm/0.2mm
    #[arg(long, value_name = "LENGTH[/LENGTH]", value_parser = parse_click)]
    pub click: Option<[Length; 2]>,
}

impl OverrideArgs {
    /// The options as wishes.
    #[must_use]
    pub fn wishes(&self) -> Wishes {
        Wishes {
            shaft_mm: self.shaft.map(Shaft::diameter_mm),
            spread_mrad: self.spread.map(Spread::mrad),
            worth: self.worth,
            trust: self.trust,
            eye_to_pin_mm: self.eye_to_pin.map(Length::mm),
            click_windage_mm: self.click.map(|c| c[0].mm()),
            click_elevation_mm: self.click.map(|c| c[1].mm()),
            setting_sd_mm: self.setting_sd.map(Length::mm),
            touch_cost_points: self.touch_cost,
            ..Wishes::default()
        }
    }
}

/// One session or archer: with what, from where, and how the answer is told.
#[derive(Debug, Args)]
pub struct OneArgs {
    /// Kit file (docs/kit.md)
    #[arg(long, short, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// A club's document of what is usual (goldward usual): where you start without a spread of your own and without history
    #[arg(long, value_name = "FILE")]
    pub usual: Option<PathBuf>,
    /// How the answer is told.
    #[command(flatten)]
    pub shown: ShownArgs,
    /// A log in place of a file; distance, face and kit are then those of the session.
    #[command(flatten)]
    pub source: LogSource,
    /// Options that stand above the kit file.
    #[command(flatten)]
    pub over: OverrideArgs,
}

impl OneArgs {
    /// The kit; all defaults when no file is named.
    ///
    /// # Errors
    /// [`Failure`] when the file cannot be read.
    pub fn kit(&self) -> Result<Kit, Failure> {
        kit_of(self.kit.as_deref())
    }

    /// Where an archer with such a kit starts at `distance`, where a document was named.
    ///
    /// # Errors
    /// [`Failure`] when it cannot be read.
    pub fn start(&self, kit: &Kit, distance: Distance) -> Result<Option<Start>, Failure> {
        let Some(path) = &self.usual else { return Ok(None) };
        let Wishes { bow, level, .. } = kit.wishes;
        Ok(Some(load_usual(path)?.start(bow, level, Some(distance))))
    }

    /// The session that is meant of an open log, with what `over` says above all else.
    ///
    /// # Errors
    /// [`Failure`] when it is not there or cannot be read.
    pub fn pick(&self, opened: &Opened, over: &Wishes) -> Result<Pick, Failure> {
        let mut over = *over;
        if self.usual.is_some() {
            let (kit, distance) = opened.shot_with(&self.source.session)?;
            over.usual = self.start(&kit, distance)?;
        }
        opened.pick(&self.source.session, &over)
    }
}

fn kit_of(file: Option<&Path>) -> Result<Kit, Failure> {
    file.map_or_else(|| Ok(Kit::default()), load_kit)
}

/// What the files of a command were shot with.
#[derive(Debug, Clone, Args)]
pub struct WithArgs {
    /// Target face, needed where shots are calls
    #[arg(long, short, value_name = "NAME", value_parser = parse_face)]
    pub face: Option<&'static Face>,
    /// Kit file (docs/kit.md)
    #[arg(long, short, value_name = "FILE")]
    pub kit: Option<PathBuf>,
}

impl WithArgs {
    /// The kit; all defaults when no file is named.
    ///
    /// # Errors
    /// [`Failure`] when the file cannot be read.
    pub fn kit(&self) -> Result<Kit, Failure> {
        kit_of(self.kit.as_deref())
    }
}

/// How the answer is told.
#[derive(Debug, Clone, Copy, Default, Args)]
pub struct ShownArgs {
    /// Print one JSON object
    #[arg(long)]
    pub json: bool,
    /// Tell the page in English, German or French, as the app does: en, de or fr [default: that of the environment]
    #[arg(long, value_name = "LANGUAGE", conflicts_with = "json")]
    pub language: Option<Language>,
    /// Columns of the page [default: those of the terminal, at most 100]
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=200))]
    pub width: Option<u16>,
}

impl ShownArgs {
    /// Columns to fill.
    #[must_use]
    pub fn columns(&self, terminal: &Terminal<'_>) -> usize {
        self.width.map_or(terminal.width, usize::from)
    }

    /// Prints what `json` gives, or what `say` tells as a page, and draws what `svg` gives into `file`.
    ///
    /// # Errors
    /// [`Failure`] of `json`, and where something cannot be written.
    pub fn drawn(
        &self,
        terminal: &mut Terminal<'_>,
        file: Option<&PlotFile>,
        svg: impl FnOnce(&Teller<'_>) -> String,
        say: impl FnOnce(&Teller<'_>) -> Vec<Item>,
        json: impl FnOnce() -> Result<String, Failure>,
    ) -> Result<u8, Failure> {
        let date = |_| String::new();
        if let Some(file) = file {
            file.write(&svg(&Teller { language: terminal.language(), imperial: false, date: &date }))?;
        }
        let code = self.answer(terminal, &[], &date, say, json)?;
        if let Some(file) = file.filter(|_| !self.json) {
            terminal.out.write_all(file.told(terminal.language()).as_bytes()).map_err(|e| Failure::from_write(&e))?;
        }
        Ok(code)
    }

    /// Prints what `json` gives, or what `say` tells as a page: `when` names a session's time. Of `plots` the first is drawn the page's first picture into, the second its second.
    ///
    /// # Errors
    /// [`Failure`] of `json`, and where something cannot be written.
    pub fn answer(
        &self,
        terminal: &mut Terminal<'_>,
        plots: &[Option<&PlotFile>],
        when: &dyn Fn(u64) -> String,
        say: impl FnOnce(&Teller<'_>) -> Vec<Item>,
        json: impl FnOnce() -> Result<String, Failure>,
    ) -> Result<u8, Failure> {
        // What is only for machines needs no page, but for its pictures.
        let items = if self.json && plots.iter().all(Option::is_none) {
            Vec::new()
        } else {
            say(&Teller { language: terminal.language(), imperial: false, date: when })
        };
        for (which, file) in plots.iter().enumerate() {
            if let Some(file) = file {
                file.write_picture(&items, which)?;
            }
        }
        let out = if self.json {
            json()?
        } else {
            let page = text(&items, self.columns(terminal), terminal.colour);
            plots.iter().flatten().fold(page, |page, file| page + &file.told(terminal.language()))
        };
        terminal.out.write_all(out.as_bytes()).map_err(|e| Failure::from_write(&e))?;
        Ok(EXIT_FINE)
    }
}

/// Reads the name of a face.
///
/// # Errors
/// [`goldward_core::face::UnknownFace`].
pub fn parse_face(text: &str) -> Result<&'static Face, goldward_core::face::UnknownFace> {
    Face::named(text)
}

fn parse_number(text: &str) -> Result<f64, String> {
    goldward_core::units::parse_decimal(text).ok_or_else(|| "it is not a number: write one such as 0.5".to_owned())
}

fn parse_shaft(text: &str) -> Result<Shaft, goldward_core::units::UnitError> {
    Shaft::from_diameter_mm(text.parse::<Length>()?.mm())
}

fn parse_click(text: &str) -> Result<[Length; 2], goldward_core::units::UnitError> {
    let (windage, elevation) = text.split_once('/').unwrap_or((text, text));
    Ok([windage.parse()?, elevation.parse()?])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clicks_are_read_singly_and_in_pairs() {
        let mm = |text| parse_click(text).map(|c| c.map(Length::mm));
        assert_eq!(mm("0.1mm"), Ok([0.1, 0.1]));
        assert_eq!(mm("0.1/0,25 mm"), Ok([0.1, 0.25]));
        assert!(mm("0.1/").is_err());
    }
}
