//! Sessions of a log in place of files.

use clap::Args;
use goldward_core::units::Distance;
use goldward_journal::{Body, Kit, Log, Mark, Uuid};
use goldward_report::words::Wrong;
use goldward_session::log::{Pick, PickError, Which, archer_named, meant, read, sessions};
use goldward_session::settings::Wishes;
use goldward_store::Place;

use crate::failure::{Failure, Fault, Value, said};
use crate::log::{get, load, with_store_to_read};

/// Options that take shots from a log.
#[derive(Debug, Clone, Args)]
pub struct LogSource {
    /// Take the shots from a log, as the app has it: the file of a store, a postgres:// address, or a .jsonl or .csv file
    #[arg(long, value_name = "FILE|URL", help_heading = "From a log")]
    pub log: Option<Place>,
    /// Whose, by name or id [default: the only archer there]
    #[arg(long, value_name = "NAME", requires = "log", help_heading = "From a log")]
    pub archer: Option<String>,
    /// Which session: latest, or its id; several are separated by commas
    #[arg(long, value_name = "latest|ID", requires = "log", value_delimiter = ',', help_heading = "From a log")]
    pub session: Vec<Which>,
}

/// An archer's log, open.
#[derive(Debug)]
pub struct Opened {
    /// The log.
    pub log: Log,
    /// Whose sessions are meant.
    pub archer: Uuid,
    name: String,
}

impl LogSource {
    /// The log, when one is named.
    ///
    /// # Errors
    /// [`Failure`] when it cannot be read, or when it is not clear whose sessions are meant.
    pub fn open(&self) -> Result<Option<Opened>, Failure> {
        let Some(place) = &self.log else { return Ok(None) };
        let name = place.to_string();
        let log = match place {
            Place::File(path) if path.extension().is_some_and(|e| e == "jsonl" || e == "csv") => get(path)?,
            place => with_store_to_read(place, async |store| load(store, None).await)?,
        };
        let archer = archer_named(&log, self.archer.as_deref()).map_err(|e| cannot(&name, e))?;
        Ok(Some(Opened { log, archer, name }))
    }
}

fn cannot(name: &str, error: PickError) -> Failure {
    Failure::data(said(Wrong::NoSessionOf, [name.into()]), error)
}

impl Opened {
    /// The sessions that are meant, read with what `over` says above all else.
    ///
    /// # Errors
    /// [`Failure`] when one of them is not there or cannot be read.
    pub fn picks(&self, which: &[Which], over: &Wishes) -> Result<Vec<Pick>, Failure> {
        let one = |which: &Which| read(&self.log, self.archer, *which, over).map_err(|e| cannot(&self.name, e));
        which.iter().map(one).collect()
    }

    /// The one session that is meant: the latest unless another is named.
    ///
    /// # Errors
    /// [`Failure`]; [`Failure::Usage`] when several are named.
    pub fn pick(&self, which: &[Which], over: &Wishes) -> Result<Pick, Failure> {
        match which {
            [] => Ok(self.picks(&[Which::Latest], over)?.remove(0)),
            [one] => Ok(self.picks(&[*one], over)?.remove(0)),
            _ => Err(Failure::usage("--session", Wrong::OneSession)),
        }
    }

    /// With what the session that is meant was shot, and how far.
    ///
    /// # Errors
    /// As [`Opened::pick`].
    pub fn shot_with(&self, which: &[Which]) -> Result<(goldward_session::kit::Kit, Distance), Failure> {
        let which = match which {
            [] => Which::Latest,
            [one] => *one,
            _ => return Err(Failure::usage("--session", Wrong::OneSession)),
        };
        let view = meant(&self.log, self.archer, which).map_err(|e| cannot(&self.name, e))?;
        Ok((view.own, view.distance))
    }

    /// All sessions with shots, oldest first.
    #[must_use]
    pub fn all(&self) -> Vec<Which> {
        let mut all: Vec<Which> = sessions(&self.log, self.archer).into_iter().map(|(r, _)| Which::Id(r.id)).collect();
        all.retain(|w| read(&self.log, self.archer, *w, &Wishes { habits: Some(false), ..Wishes::default() }).is_ok());
        all.reverse();
        all
    }

    /// The kit called `name` (or of that id) with its marks; without a name the latest that has marks.
    ///
    /// # Errors
    /// [`Failure`] when there is none.
    pub fn kit(&self, name: Option<&str>) -> Result<(Kit, Vec<Mark>), Failure> {
        let of = |id: Uuid, kit: &Kit| -> Vec<Mark> {
            goldward_session::log::marks_of(&self.log, self.archer, id, kit).into_iter().map(|(_, m)| m).collect()
        };
        let kits = self.log.of(|b| if let Body::Kit(k) = b { Some(k.as_ref()) } else { None }).into_iter();
        let mut kits = kits.filter(|(r, _)| r.archer == self.archer).map(|(r, k)| (r.id, k, of(r.id, k)));
        let meant = |(id, kit, marks): &(Uuid, &Kit, Vec<Mark>)| match name {
            Some(name) => kit.name.trim().eq_ignore_ascii_case(name.trim()) || id.to_string() == name.trim(),
            None => !marks.is_empty(),
        };
        match kits.rfind(meant) {
            Some((_, kit, marks)) => Ok((kit.clone(), marks)),
            None => {
                let fault = match name {
                    Some(name) => Fault::from(said(Wrong::NoSuchKit, [name.into()])).at("--bow"),
                    None => Wrong::NoKitWithMarks.into(),
                };
                Err(Failure::data(said(Wrong::NoMarksOf, [self.name.as_str().into()]), fault))
            }
        }
    }

    /// What messages call the log.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// What messages call a session.
    #[must_use]
    pub fn name_of(&self, pick: &Pick) -> Value {
        let (day, distance) = (crate::day::day(pick.at_ms), pick.settings.distance);
        Value::Said(said(Wrong::SessionOf, [day.into(), distance.into()]))
    }
}
