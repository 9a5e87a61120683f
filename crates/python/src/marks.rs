//! Sight marks.

use goldward_report::wire::marks::reply;
use pyo3::prelude::*;
use pythonize::pythonize;

use crate::columns::refused;

/// Predicts marks; the question is the object of docs/formats.md as JSON.
#[pyfunction]
pub(crate) fn marks<'py>(py: Python<'py>, question: &str) -> PyResult<Bound<'py, PyAny>> {
    let told = py.detach(|| reply(question.as_bytes()));
    Ok(pythonize(py, &told.map_err(|p| refused(&p))?)?)
}
