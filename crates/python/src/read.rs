//! Readings of many groups.

use goldward_report::wire::ReadingOut;
use goldward_report::words::problem::one_line;
use goldward_session::answer::{Answer, Scorers, answer};
use goldward_session::json::{SettingsIn, ShotIn, ShotsIn, parse};
use goldward_session::problem::{Problem, What};
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use pyo3::types::{PyList, PyString};
use pythonize::pythonize;
use rayon::prelude::*;

use crate::columns::Columns;
use crate::threads;

/// One group.
struct Job<'a> {
    settings: &'a str,
    shots: Vec<ShotIn>,
    moved_mm: Option<[f64; 2]>,
}

impl Job<'_> {
    fn answer(self, scorers: &Scorers) -> Result<Answer, Problem> {
        let settings = parse::<SettingsIn>(self.settings)?.settings()?;
        let told = ShotsIn { shots: Some(self.shots), moved_mm: self.moved_mm };
        let (shots, moved) = (told.shots(&settings)?, told.moved()?);
        let scorer = scorers.get(settings.face, settings.shaft);
        Ok(answer(&settings, &shots, moved, &scorer)?)
    }

    /// The same, and a fault of ours costs one group.
    fn guarded(self, scorers: &Scorers) -> Result<Answer, Problem> {
        let work = std::panic::AssertUnwindSafe(|| self.answer(scorers));
        std::panic::catch_unwind(work).unwrap_or_else(|_| Err(Problem::new("", What::Fault)))
    }
}

/// Reads groups: group `i` has the next `lengths[i]` shots of the columns, the settings `settings[which[i]]` (JSON) and has been moved
/// by `moved_mm[i]`. A dict for each, or a text that says what is wrong with it.
#[pyfunction]
pub(crate) fn read<'py>(
    py: Python<'py>,
    settings: Vec<String>,
    which: Vec<usize>,
    lengths: Vec<usize>,
    columns: Columns,
    moved_mm: Vec<Option<[f64; 2]>>,
    threads: usize,
) -> PyResult<Bound<'py, PyList>> {
    let mut all = columns.shots()?.into_iter();
    let groups = lengths.len();
    if which.len() != groups || moved_mm.len() != groups || which.iter().any(|w| *w >= settings.len()) {
        return Err(PyValueError::new_err("not every group has its settings"));
    }
    let jobs: Vec<Job<'_>> = (0..groups)
        .map(|i| Job {
            settings: &settings[which[i]],
            shots: all.by_ref().take(lengths[i]).collect(),
            moved_mm: moved_mm[i],
        })
        .collect();
    let answers: Vec<Result<Answer, Problem>> = py.detach(|| {
        let scorers = Scorers::default();
        threads::with(threads, || jobs.into_par_iter().map(|job| job.guarded(&scorers)).collect())
    })?;
    let out = PyList::empty(py);
    for answered in &answers {
        match answered {
            Ok(answer) => out.append(pythonize(py, &ReadingOut::new(answer, false))?)?,
            Err(problem) => out.append(PyString::new(py, &one_line(problem)))?,
        }
    }
    Ok(out)
}
