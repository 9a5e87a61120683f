//! Work on all cores.

use pyo3::PyErr;
use pyo3::exceptions::PyRuntimeError;

/// Does `work` with so many threads; 0 is one a core.
pub(crate) fn with<T: Send>(threads: usize, work: impl FnOnce() -> T + Send) -> Result<T, PyErr> {
    if threads == 0 {
        return Ok(work());
    }
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
    Ok(pool.map_err(|e| PyRuntimeError::new_err(e.to_string()))?.install(work))
}
