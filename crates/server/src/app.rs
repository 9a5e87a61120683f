//! The built web app inside the program, for one file that is all there is to install. The app is built first (`cargo xtask web`).

use std::collections::BTreeMap;
use std::sync::LazyLock;

use include_dir::{Dir, include_dir};
use sha2::{Digest as _, Sha256};

static FOLDER: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/../../build/web");

/// Its files by their names, each with a hash of what it holds.
static FILES: LazyLock<BTreeMap<&'static str, (&'static [u8], String)>> = LazyLock::new(|| {
    let hash = |bytes: &[u8]| Sha256::digest(bytes)[..16].iter().map(|byte| format!("{byte:02x}")).collect();
    let mut folders = vec![&FOLDER];
    let mut found = BTreeMap::new();
    while let Some(folder) = folders.pop() {
        folders.extend(folder.dirs());
        found.extend(folder.files().filter_map(|f| Some((f.path().to_str()?, (f.contents(), hash(f.contents()))))));
    }
    found
});

/// A file of it, and a hash of what it holds.
pub(crate) fn find(name: &str) -> Option<(&'static [u8], String)> {
    FILES.get(name).map(|(bytes, hash)| (*bytes, hash.clone()))
}
