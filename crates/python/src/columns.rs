//! Shots as columns: what Python hands over, one entry a shot.

use goldward_report::words::problem::one_line;
use goldward_session::json::ShotIn;
use goldward_session::problem::Problem;
use pyo3::exceptions::PyValueError;
use pyo3::{FromPyObject, PyErr};

/// The columns of some shots, those of several groups one after the other.
#[derive(FromPyObject)]
pub(crate) struct Columns {
    /// To the right in millimetres, as 64-bit floats in the machine's order; not a number where it is not told.
    #[pyo3(item)]
    x_mm: Vec<u8>,
    /// Up, likewise.
    #[pyo3(item)]
    y_mm: Vec<u8>,
    /// Ring and clock, where any shot has them.
    #[pyo3(item)]
    call: Option<Vec<Option<String>>>,
    /// How each felt, where any shot says.
    #[pyo3(item)]
    felt: Option<Vec<Option<String>>>,
    /// Numbers of the ends, where any shot has one.
    #[pyo3(item)]
    end: Option<Vec<Option<u32>>>,
}

/// A problem as Python's `ValueError`.
pub(crate) fn refused(problem: &Problem) -> PyErr {
    PyValueError::new_err(one_line(problem))
}

fn numbers(bytes: &[u8]) -> impl Iterator<Item = Option<f64>> + '_ {
    bytes.chunks_exact(8).map(|b| Some(f64::from_ne_bytes(b.try_into().unwrap_or_default())).filter(|x| !x.is_nan()))
}

impl Columns {
    /// The shots. Columns of unequal length would be a fault of ours.
    pub(crate) fn shots(self) -> Result<Vec<ShotIn>, PyErr> {
        let n = self.x_mm.len() / 8;
        let uneven = self.y_mm.len() != self.x_mm.len()
            || self.call.as_ref().is_some_and(|c| c.len() != n)
            || self.felt.as_ref().is_some_and(|c| c.len() != n)
            || self.end.as_ref().is_some_and(|c| c.len() != n);
        if uneven {
            return Err(PyValueError::new_err("the columns of the shots are not equally long"));
        }
        let (mut call, mut felt) =
            (self.call.unwrap_or_default().into_iter(), self.felt.unwrap_or_default().into_iter());
        let mut end = self.end.unwrap_or_default().into_iter();
        let xy = numbers(&self.x_mm).zip(numbers(&self.y_mm));
        Ok(xy
            .map(|(x_mm, y_mm)| ShotIn {
                x_mm,
                y_mm,
                call: call.next().flatten(),
                felt: felt.next().flatten(),
                end: end.next().flatten(),
            })
            .collect())
    }
}
