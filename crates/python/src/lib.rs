//! The native half of the Python package `goldward`: it takes columns, lets go of Python's lock, answers on all cores, and hands back
//! the very objects that the program writes as JSON. What it is given has been brought into shape by `python/goldward`.

mod columns;
mod fleet;
mod marks;
mod read;
mod rehearse;
mod threads;

use goldward_core::face::{EDITION, Face};
use goldward_core::pace::rehearsal::Rule;
use goldward_report::wire::SCHEMA;
use pyo3::prelude::*;

/// Names of the faces.
#[pyfunction]
fn faces() -> Vec<&'static str> {
    Face::all().iter().map(|f| f.name).collect()
}

/// Names of the rules for touching the sight.
#[pyfunction]
fn rules() -> Vec<&'static str> {
    Rule::ALL.iter().map(|r| r.name()).collect()
}

#[pymodule]
fn _native(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("SCHEMA", SCHEMA)?;
    module.add("FACES_FROM", EDITION)?;
    module.add("__version__", env!("CARGO_PKG_VERSION"))?;
    module.add_function(wrap_pyfunction!(faces, module)?)?;
    module.add_function(wrap_pyfunction!(rules, module)?)?;
    module.add_function(wrap_pyfunction!(read::read, module)?)?;
    module.add_function(wrap_pyfunction!(fleet::fleet, module)?)?;
    module.add_function(wrap_pyfunction!(rehearse::rehearse, module)?)?;
    module.add_function(wrap_pyfunction!(rehearse::rehearse_matches, module)?)?;
    module.add_function(wrap_pyfunction!(marks::marks, module)?)
}
