//! Folders of files that belong together.

use std::fs;
use std::path::Path;

/// Copies all files of a folder into another.
pub(crate) fn copy(from: &Path, to: &Path) -> Result<(), String> {
    for entry in fs::read_dir(from).map_err(|e| format!("cannot read {}: {e}", from.display()))?.flatten() {
        fs::copy(entry.path(), to.join(entry.file_name()))
            .map_err(|e| format!("cannot copy {}: {e}", entry.path().display()))?;
    }
    Ok(())
}

/// The files of the app, in the order of their names; neither the service worker, which lists them, nor compressed copies, nor the guide.
pub(crate) fn files(folder: &Path) -> Result<Vec<String>, String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .map_err(|e| format!("cannot read {}: {e}", folder.display()))?
        .flatten()
        .filter(|e| e.path().is_file())
        .filter_map(|e| e.file_name().into_string().ok())
        .filter(|name| name != "sw.js" && !name.ends_with(".br"))
        .collect();
    names.sort();
    Ok(names)
}

/// FNV-1a, 64 bits: tells versions apart, and proves nothing.
pub(crate) struct Fingerprint(pub(crate) u64);

impl Default for Fingerprint {
    fn default() -> Self {
        Self(0xcbf2_9ce4_8422_2325)
    }
}

impl Fingerprint {
    pub(crate) fn mix(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.0 = (self.0 ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3);
        }
    }
}
