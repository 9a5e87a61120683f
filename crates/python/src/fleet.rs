//! Arrow by arrow.

use goldward_core::fleet::{FDR_DEFAULT, Question};
use goldward_core::units::Spread;
use goldward_report::wire::fleet::FleetOut;
use goldward_session::fleet::{Named, answer};
use goldward_session::group::Group;
use goldward_session::json::{SettingsIn, ShotIn, parse};
use goldward_session::problem::{Problem, within};
use goldward_session::session::{Builder, Listed};
use goldward_session::settings::Settings;
use pyo3::prelude::*;
use pythonize::pythonize;

use crate::columns::{Columns, refused};

/// The sessions as core takes them, with the name of each arrow.
fn group(session: usize, text: &str, shots: &[ShotIn], arrows: Vec<String>) -> Result<(Settings, Group), Problem> {
    let at = |p: Problem| p.under(&format!("sessions[{session}]"));
    let settings = parse::<SettingsIn>(text).and_then(|s| s.settings()).map_err(at)?;
    let mut builder = Builder::new(&settings);
    for (i, (shot, arrow)) in shots.iter().zip(arrows).enumerate() {
        let end = shot.end.map_or_else(String::new, |e| e.to_string());
        let shot = shot.shot(&format!("shots[{i}]"), &settings).map_err(at)?;
        builder.shot(Listed { shot, end, arrow, line: 0 });
    }
    let group = Group::of(&builder.done(), &settings);
    Ok((settings, group))
}

/// Reads arrows: session `i` has the next `lengths[i]` shots and the settings `settings[i]` (JSON); `arrows` names the arrow of each shot.
#[pyfunction]
pub(crate) fn fleet<'py>(
    py: Python<'py>,
    settings: Vec<String>,
    lengths: Vec<usize>,
    columns: Columns,
    arrows: Vec<String>,
    amount_mrad: Option<f64>,
    fdr: Option<f64>,
) -> PyResult<Bound<'py, PyAny>> {
    let shots = columns.shots()?;
    let told = py.detach(|| {
        let fdr = fdr.unwrap_or(FDR_DEFAULT);
        within(fdr, "", [0.0, 0.5]).map_err(|what| Problem::new("fdr", what))?;
        if let Some(mrad) = amount_mrad {
            Spread::from_mrad(mrad).map_err(|e| Problem::new("amount_mrad", e))?;
        }
        let (mut from, mut sessions, mut unmarked) = (0, Vec::new(), None);
        for (i, (text, n)) in settings.iter().zip(lengths).enumerate() {
            let range = from..(from + n).min(shots.len()).min(arrows.len());
            from = range.end;
            let (settings, group) = group(i, text, &shots[range.clone()], arrows[range].to_vec())?;
            unmarked.get_or_insert(settings.unmarked);
            let named = |s: &goldward_session::group::Placed| (group.angle(s, i), s.arrow.clone());
            sessions.push(group.shots.iter().map(named).collect::<Vec<_>>());
        }
        let unmarked = unmarked.unwrap_or_default();
        let question = Question { amount_mrad, fdr, unmarked };
        let sessions: Vec<&Named> = sessions.iter().map(Vec::as_slice).collect();
        answer(&sessions, &question).map_err(|e| {
            let place = e.session.map_or_else(String::new, |i| format!("sessions[{i}]"));
            Problem::new(place, e.error)
        })
    });
    Ok(pythonize(py, &FleetOut::from(&told.map_err(|p| refused(&p))?))?)
}
