//! Sessions from files, as the core takes them: angles instead of millimetres.

use std::path::{Path, PathBuf};

use clap::Args;
use goldward_core::face::Face;
use goldward_core::fleet::ArrowShot;
use goldward_core::plane::Point;
use goldward_core::shot;
use goldward_core::units::Distance;

use crate::failure::{Failure, Fault, Value, name_of, said};
use crate::files;
use crate::options::{ShownArgs, WithArgs};
use crate::source::{LogSource, Opened};
use crate::terminal::Terminal;
use goldward_journal::Uuid;
use goldward_report::pages::gather::Gathered;
use goldward_report::words::Wrong;
use goldward_session::csv;
use goldward_session::group::Group;
use goldward_session::kit::Kit;
use goldward_session::log::Which;
use goldward_session::problem::Place;
use goldward_session::session::Session;
use goldward_session::settings::{Settings, Wishes};

/// Groups that are held against each other: from where they are, what they were shot with, and how the answer is told.
#[derive(Debug, Args)]
pub struct GroupsArgs {
    /// Shooting distance: one for all groups, or one for each (of `tune` each pair), separated by commas
    #[arg(
        long,
        short,
        value_name = "DISTANCE",
        required_unless_present = "log",
        conflicts_with = "log",
        value_delimiter = ','
    )]
    pub distance: Vec<Distance>,
    /// Face and kit of the files.
    #[command(flatten)]
    pub with: WithArgs,
    /// How the answer is told.
    #[command(flatten)]
    pub shown: ShownArgs,
    /// A log in place of files, whose distances, faces and kit are then those of the sessions
    #[command(flatten)]
    pub source: LogSource,
}

impl GroupsArgs {
    /// The sessions of the log that is open, or else of `files`.
    ///
    /// # Errors
    /// [`Failure`].
    pub fn load(
        &self,
        opened: Option<&Opened>,
        files: &[PathBuf],
        kit: &Kit,
        terminal: &mut Terminal<'_>,
    ) -> Result<Vec<Loaded>, Failure> {
        match opened {
            Some(opened) => from_log(opened, &self.source.session, &kit.wishes, terminal),
            None => load(files, &Source { distances: &self.distance, face: self.with.face, kit }, terminal),
        }
    }
}

/// What is common to all files of a command.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// Distances: one for all files, or one for each.
    pub distances: &'a [Distance],
    /// The face, where calls need one.
    pub face: Option<&'static Face>,
    /// The kit.
    pub kit: &'a Kit,
}

/// One file.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// Its name, for messages.
    pub name: Value,
    /// What pages call it: the name of a file without its folder.
    pub title: String,
    /// The distance it was shot at.
    pub distance: Distance,
    /// The settings it was read with.
    pub settings: Settings,
    /// The shots whose place is known, each with the name of its arrow (may be empty).
    pub shots: Vec<(ArrowShot, String)>,
    /// Places in millimetres, in the frame of the last setting, of the same shots.
    pub places: Vec<Point>,
    /// How many shots were left out, since a miss or a ring alone has no place.
    pub placeless: usize,
    /// All of these as they were gathered.
    pub group: Group,
    /// How many were calls, taken at the middle of their cells.
    pub called: usize,
}

/// The distance of file `i` of `n`.
///
/// # Errors
/// [`Failure::Usage`] when there are neither one nor `n` distances.
pub fn distance_of(distances: &[Distance], i: usize, n: usize) -> Result<Distance, Failure> {
    match distances {
        [one] => Ok(*one),
        many if many.len() == n => Ok(many[i]),
        many => Err(Failure::usage("--distance", said(Wrong::DistancesForGroups, [many.len().into(), n.into()]))),
    }
}

/// Loads the files, file `i` as session `i`.
///
/// # Errors
/// [`Failure`].
pub fn load(files: &[PathBuf], source: &Source<'_>, terminal: &mut Terminal<'_>) -> Result<Vec<Loaded>, Failure> {
    let mut all = Vec::with_capacity(files.len());
    for (i, file) in files.iter().enumerate() {
        let distance = distance_of(source.distances, i, files.len())?;
        let loaded = one(file, distance, i, source, terminal)?;
        warn(&loaded, terminal)?;
        all.push(loaded);
    }
    Ok(all)
}

fn one(
    file: &Path,
    distance: Distance,
    index: usize,
    source: &Source<'_>,
    terminal: &mut Terminal<'_>,
) -> Result<Loaded, Failure> {
    let name = name_of(file);
    let bytes = files::load(file, terminal)?;
    // Measured places need no face; the 122 cm face stands in.
    let face = match source.face.map_or_else(|| Face::named("122"), Ok) {
        Ok(face) => face,
        Err(e) => return Err(Failure::Internal(e.to_string())),
    };
    let settings = Settings::new(distance, face, &source.kit.wishes).map_err(Failure::setting)?;
    let session = csv::read(&bytes, &settings).map_err(|problems| Failure::all(files::not_read(&name), problems))?;
    if source.face.is_none() {
        // Only a face tells where a call is.
        if let Some(listed) = session.shots.iter().find(|l| matches!(l.shot.place, shot::Place::Called(_))) {
            let fault = Fault::from(Wrong::CallNeedsFace).at(Place::Line(listed.line));
            return Err(Failure::data(files::not_read(&name), fault));
        }
    }
    files::warn_of(terminal, &name, &session)?;
    let bare = file.file_name().filter(|f| *f != "-");
    let title = bare.map_or_else(|| name.text(terminal.language()), |f| f.to_string_lossy().into_owned());
    Ok(Loaded::new(name, title, settings, &session, index))
}

impl Loaded {
    fn new(name: Value, title: String, settings: Settings, session: &Session, index: usize) -> Self {
        let group = Group::of(session, &settings);
        Self {
            title,
            name,
            distance: settings.distance,
            shots: group.shots.iter().map(|s| (group.angle(s, index), s.arrow.clone())).collect(),
            places: group.shots.iter().map(|s| s.at).collect(),
            placeless: group.placeless,
            called: group.called,
            settings,
            group,
        }
    }
}

/// The sessions of a log that are meant, each as a session of its own; all that have shots where none is named.
///
/// # Errors
/// [`Failure`].
fn from_log(
    opened: &Opened,
    which: &[Which],
    over: &Wishes,
    terminal: &mut Terminal<'_>,
) -> Result<Vec<Loaded>, Failure> {
    // These pages judge marks and flyers for themselves.
    let over = &Wishes { habits: Some(false), ..*over };
    let all = if which.is_empty() { opened.all() } else { which.to_vec() };
    let mut out = Vec::with_capacity(all.len());
    for (i, pick) in opened.picks(&all, over)?.into_iter().enumerate() {
        let name = opened.name_of(&pick);
        files::warn_of(terminal, &name, &pick.session)?;
        let title = name.text(terminal.language());
        let loaded = Loaded::new(name, title, pick.settings, &pick.session, i);
        warn(&loaded, terminal)?;
        out.push(loaded);
    }
    if out.is_empty() {
        return Err(Failure::data(said(Wrong::NoSessionOf, [opened.name().into()]), Wrong::NoSessionWithShot));
    }
    Ok(out)
}

/// The sessions as pages take them. Where a file does not say when, its place in the list stands for that.
#[must_use]
pub fn gathered(files: &[Loaded]) -> Vec<Gathered> {
    let one =
        |(i, f): (usize, &Loaded)| Gathered { id: Uuid::nil(), at_ms: i as u64, kit: None, group: f.group.clone() };
    files.iter().enumerate().map(one).collect()
}

/// What pages call the session at that place of the list.
pub fn when(files: &[Loaded]) -> impl Fn(u64) -> String + '_ {
    |i| files.get(i as usize).map_or_else(String::new, |f| f.title.clone())
}

/// Says which shots were left out or stand for a cell.
fn warn(loaded: &Loaded, terminal: &mut Terminal<'_>) -> Result<(), Failure> {
    let l = terminal.language();
    for (count, what) in [(loaded.placeless, Wrong::Placeless), (loaded.called, Wrong::TakenAtMiddle)] {
        if count > 0 {
            files::warn(terminal, &what.with(l, &[&loaded.name.text(l), &count.to_string()]))?;
        }
    }
    Ok(())
}

/// A failure of the core, told of `name`.
pub fn core_failure(name: &Value, place: &str, error: goldward_core::fleet::FleetError) -> Failure {
    Failure::data(said(Wrong::NoAnswer, [name.clone()]), Fault::of(place, error))
}
