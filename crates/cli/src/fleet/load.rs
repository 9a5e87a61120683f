//! Sessions from files, as the core takes them: angles instead of millimetres.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use goldward_core::face::Face;
use goldward_core::fleet::{ArrowShot, Offset};
use goldward_core::plane::Point;
use goldward_core::shot::Place;
use goldward_core::units::Distance;

use crate::failure::{Failure, Problem};
use crate::kit::Kit;
use crate::read;
use crate::session;
use crate::settings::Settings;
use crate::terminal::Terminal;

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
    pub name: String,
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
        many => Err(Failure::Usage(Problem::new(
            "--distance",
            format!("{} distances for {n} groups", many.len()),
            "give one for all, or one for each, separated by commas: --distance 70,50",
        ))),
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
        for (count, what) in [
            (loaded.placeless, "without a place (a miss, or a ring without a clock) left out"),
            (loaded.called, "called by ring and clock, taken at the middle of the cell"),
        ] {
            if count > 0 {
                let shots = if count == 1 { "1 shot".to_owned() } else { format!("{count} shots") };
                read::writeln(terminal.err, &format!("warning: {}: {shots} {what}", loaded.name))?;
            }
        }
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
    let name = if file.as_os_str() == "-" { "standard input".to_owned() } else { file.display().to_string() };
    let bytes = read::load(file, &name, terminal)?;
    // Measured places need no face; the 122 cm face stands in.
    let face = match source.face.map_or_else(|| Face::named("122"), Ok) {
        Ok(face) => face,
        Err(e) => return Err(Failure::Internal(e.to_string())),
    };
    let settings = Settings::new(distance, face, &source.kit.wishes).map_err(|e| {
        Failure::data("these settings cannot be", Problem { place: e.key.option().to_owned(), ..e.problem })
    })?;
    let fail = |problems| Failure::Data { title: format!("{name} cannot be read"), problems };
    let session = session::read(&bytes, &settings).map_err(fail)?;
    for remark in &session.remarks {
        read::writeln(terminal.err, &format!("warning: {name}, {remark}"))?;
    }
    let mut loaded = Loaded {
        name: name.clone(),
        distance,
        settings,
        shots: Vec::new(),
        places: Vec::new(),
        placeless: 0,
        called: 0,
    };
    let mut end = 0;
    for listed in &session.shots {
        if let Ok(number) = listed.end.parse() {
            end = number;
        }
        let at = match listed.shot.place {
            Place::At(p) => p,
            Place::Called(call) => {
                if source.face.is_none() {
                    let problem = Problem::new(
                        format!("line {}", listed.line),
                        "a call needs the face it was made on",
                        "add --face, or give measured places",
                    );
                    return Err(Failure::data(format!("{name} cannot be read"), problem));
                }
                let cell = call
                    .cell(face, settings.shaft)
                    .map_err(|e| Failure::data(format!("{name} cannot be read"), Problem::from_core("", &e)))?;
                let Some(middle) = cell.middle() else {
                    loaded.placeless += 1;
                    continue;
                };
                loaded.called += 1;
                middle
            }
        } - listed.shot.carry;
        let shot =
            ArrowShot { session: index, end, arrow: 0, at: Offset::from_mm(at, distance), felt: listed.shot.felt };
        loaded.shots.push((shot, listed.arrow.clone()));
        loaded.places.push(at);
    }
    Ok(loaded)
}

/// The shots of numbered arrows of all files, the names of the arrows in their order (numbers before names), and how many
/// shots had no arrow's name.
#[must_use]
pub fn fleet(files: &[Loaded]) -> (Vec<ArrowShot>, Vec<String>, usize) {
    let key = |name: &str| (name.parse::<u64>().unwrap_or(u64::MAX), name.to_owned());
    let all = || files.iter().flat_map(|f| &f.shots);
    let mut numbers: BTreeMap<(u64, String), usize> =
        all().filter(|(_, n)| !n.is_empty()).map(|(_, n)| (key(n), 0)).collect();
    numbers.values_mut().enumerate().for_each(|(i, v)| *v = i);
    let shots =
        all().filter_map(|(s, n)| numbers.get(&key(n)).map(|arrow| ArrowShot { arrow: *arrow, ..*s })).collect();
    let nameless = all().filter(|(_, n)| n.is_empty()).count();
    (shots, numbers.into_keys().map(|(_, name)| name).collect(), nameless)
}

/// A failure of the core, told of `name`.
pub fn core_failure(name: &str, error: &goldward_core::fleet::FleetError) -> Failure {
    Failure::data(format!("{name} cannot be answered"), Problem::from_core("", error))
}
