//! The rehearsals.

use goldward_core::matches::rehearsal::{Matches, Wins};
use goldward_core::pace::rehearsal::{Rehearsal, Rule, Scene};
use goldward_core::score::{Rings, Scorer};
use goldward_report::wire::duel::GameOut;
use goldward_report::wire::rehearsal::RehearsalOut;
use goldward_session::asked::{Asked, Ends, NoEnds, unique};
use goldward_session::game::Game;
use goldward_session::json::{SettingsIn, parse};
use goldward_session::pace::{FirstTouch, Played, Rehearsed, parts, rounds_of};
use goldward_session::problem::{Place, Problem, What, short, within};
use pyo3::prelude::*;
use pythonize::pythonize;
use rayon::prelude::*;

use crate::columns::refused;
use crate::threads;

/// Most rounds of one call, as the program has it.
const MOST_ROUNDS: u64 = 1_000_000;

/// What is asked beside the settings.
#[derive(FromPyObject)]
pub(crate) struct Wanted {
    #[pyo3(item)]
    round: Option<String>,
    #[pyo3(item)]
    sighting: Option<String>,
    #[pyo3(item)]
    first_offset_mm: Option<f64>,
    #[pyo3(item)]
    flyers: Option<f64>,
    #[pyo3(item)]
    drift_mrad_per_end: Option<f64>,
    #[pyo3(item)]
    click_on_face_mm: Option<f64>,
    #[pyo3(item)]
    rules: Vec<String>,
    #[pyo3(item)]
    rounds: u64,
    #[pyo3(item)]
    seed: u64,
}

fn ends(key: &str, text: Option<&String>) -> Result<Option<Ends>, Problem> {
    text.map(|t| t.parse().map_err(|e: NoEnds| Problem::new(key, e))).transpose()
}

fn rule(name: &str) -> Result<Rule, Problem> {
    Rule::named(name.trim()).ok_or_else(|| {
        let known = Rule::ALL.iter().map(|r| r.name()).collect();
        Problem::new("rules", What::UnknownRule { name: short(name), known })
    })
}

/// The settings as told; a rehearsal is of a mark that is predicted, unless told.
fn predicted(settings: &str) -> Result<SettingsIn, Problem> {
    let given: SettingsIn = parse(settings)?;
    let trust = given.trust.or(Some(goldward_core::group::TRUST_PREDICTED));
    Ok(SettingsIn { trust, ..given })
}

/// What was played, what the rules came to, and after how many shots to touch first.
type Told = (Rehearsed, Played, Vec<FirstTouch>);

fn told(settings: &str, wanted: &Wanted) -> Result<Told, Problem> {
    let asked = Asked {
        round: ends("round", wanted.round.as_ref())?,
        sighting: ends("sighting", wanted.sighting.as_ref())?,
        offset_mm: wanted.first_offset_mm,
        flyers: wanted.flyers,
        drift_mrad: wanted.drift_mrad_per_end,
        click_on_face_mm: wanted.click_on_face_mm,
    };
    let rules = wanted.rules.iter().map(|r| rule(r)).collect::<Result<Vec<_>, _>>()?;
    within(wanted.rounds as f64, "", [1.0, MOST_ROUNDS as f64]).map_err(|what| Problem::new("rounds", what))?;
    let settings = predicted(settings)?.settings()?;
    let renamed = |p: Problem| {
        let Place::Named(name) = &p.place else { return p };
        let name = match name.as_str() {
            "offset" => "first_offset_mm",
            "drift" => "drift_mrad_per_end",
            "click_on_face" => "click_on_face_mm",
            other => other,
        };
        let name = name.to_owned();
        p.at(name)
    };
    let rehearsed = asked.of(&settings, wanted.seed).map_err(renamed)?;
    let scorer = Scorer::new(settings.face, settings.shaft);
    let rules = if rules.is_empty() { Rule::ALL.to_vec() } else { unique(&rules) };
    let rehearsal = Rehearsal::new(&rehearsed.scene, &scorer, wanted.seed);
    // One part at a time, so that long and short ones even out.
    let tallies =
        parts(wanted.rounds).into_par_iter().with_max_len(1).map(|part| rehearsal.play(&rules, part)).collect();
    let played = Played::of(wanted.rounds, rehearsal.oracle_points(), tallies);
    let rounds = rounds_of(wanted.rounds);
    let cell = |cell: &(f64, Scene)| {
        let outcomes =
            Rehearsal::new(&cell.1, &scorer, wanted.seed).play(&[Rule::GoldwardCalm], 0..rounds).outcomes(0.0);
        FirstTouch::of(rehearsed.distance, cell, rounds, outcomes.first())
    };
    let first = rehearsed.first_touches().par_iter().with_max_len(1).map(cell).collect();
    Ok((rehearsed, played, first))
}

/// Plays so many matches under `settings` (JSON), in which stands what decides.
fn won(settings: &str, matches: u64, seed: u64) -> Result<GameOut, Problem> {
    within(matches as f64, "", [1.0, MOST_ROUNDS as f64]).map_err(|what| Problem::new("matches", what))?;
    let given = predicted(settings)?;
    let told = given.duel.clone().unwrap_or_default();
    let format = told.format().map_err(|p| p.under("match"))?;
    let settings = SettingsIn { duel: None, ..given }.settings()?;
    let (rings, scorer) = (Rings::new(settings.face, settings.shaft), Scorer::new(settings.face, settings.shaft));
    let game = Game::new(&settings, &rings, format, told.opponent_arrow)
        .map_err(|e| Problem::new("opponent_arrow", e).under("match"))?;
    let played = Matches::new(game.scene.clone(), &scorer, &rings, settings.shaft, seed);
    let tallies: Vec<Wins> =
        parts(matches).into_par_iter().with_max_len(1).map(|part| played.play(&game.rules, part)).collect();
    let mut all = played.play(&game.rules, 0..0);
    tallies.iter().for_each(|t| all.add(t));
    Ok(GameOut::new(&game, &game.won(&all), (matches, seed)))
}

/// Plays matches under `settings` (JSON).
#[pyfunction]
pub(crate) fn rehearse_matches<'py>(
    py: Python<'py>,
    settings: &str,
    matches: u64,
    seed: u64,
    threads: usize,
) -> PyResult<Bound<'py, PyAny>> {
    let told = py.detach(|| threads::with(threads, || won(settings, matches, seed)))?;
    Ok(pythonize(py, &told.map_err(|p| refused(&p))?)?)
}

/// Plays rounds under `settings` (JSON).
#[pyfunction]
pub(crate) fn rehearse<'py>(
    py: Python<'py>,
    settings: &str,
    wanted: Wanted,
    threads: usize,
) -> PyResult<Bound<'py, PyAny>> {
    let told = py.detach(|| threads::with(threads, || told(settings, &wanted)))?;
    let (rehearsed, played, first) = told.map_err(|p| refused(&p))?;
    Ok(pythonize(py, &RehearsalOut::new(&rehearsed, &played, &first))?)
}
