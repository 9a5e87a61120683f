//! The app in two modules: what draws the shooting line, and the screens beside it, which come later (`app/later.rs` of the app).

use std::fs;
use std::path::{Path, PathBuf};

use crate::folder::{Fingerprint, files};

/// The module that draws the line.
pub(crate) const FIRST: &str = "goldward_web_bg.wasm";
/// How the names of the modules begin that come after it.
pub(crate) const LATER: &str = "split_";
/// How the loader asks for one.
const STREAMED: &str = "WebAssembly.instantiateStreaming(src, imports)";

/// Splits off what is not needed at the line (`app/later.rs`) into modules of their own, and returns the first one.
pub(crate) fn split(wasm: &Path, folder: &Path) -> Result<PathBuf, String> {
    eprintln!("== two modules");
    let bytes = fs::read(wasm).map_err(|e| format!("cannot read {}: {e}", wasm.display()))?;
    let first = wasm.with_file_name("first").join("goldward_web.wasm");
    fs::create_dir_all(first.with_file_name("")).map_err(|e| format!("cannot make {}: {e}", first.display()))?;
    let mut options = wasm_split_cli_support::Options::new(&bytes);
    (options.output_dir, options.main_out_path) = (folder, &first);
    (options.link_name, options.main_module) = ("./modules.js", "./goldward_web.js");
    wasm_split_cli_support::transform(options).map_err(|e| format!("cannot split the app: {e:#}"))?;
    // By the list of what the compiler may use the interface would be written for browsers newer than needed.
    let split = fs::read(&first).map_err(|e| format!("cannot read {}: {e}", first.display()))?;
    fs::write(&first, without(&split, |name| name == "target_features")?)
        .map_err(|e| format!("cannot write {}: {e}", first.display()))?;
    for name in later(folder)? {
        let path = folder.join(name);
        let part = fs::read(&path).map_err(|e| format!("cannot read {}: {e}", path.display()))?;
        fs::write(&path, without(&part, |_| true)?).map_err(|e| format!("cannot write {}: {e}", path.display()))?;
    }
    Ok(first)
}

/// The module without the custom sections that are `unwanted`.
fn without(module: &[u8], unwanted: impl Fn(&str) -> bool) -> Result<Vec<u8>, String> {
    let mut out = wasm_encoder::Module::new();
    for part in wasmparser::Parser::new(0).parse_all(module) {
        let part = part.map_err(|e| format!("cannot read the app's module: {e}"))?;
        if matches!(&part, wasmparser::Payload::CustomSection(own) if unwanted(own.name())) {
            continue;
        }
        if let Some((id, range)) = part.as_section() {
            let data = &module[range.start as usize..range.end as usize];
            out.section(&wasm_encoder::RawSection { id, data });
        }
    }
    Ok(out.finish())
}

/// The modules that come later.
pub(crate) fn later(folder: &Path) -> Result<Vec<String>, String> {
    Ok(files(folder)?.into_iter().filter(|n| n.starts_with(LATER) && n.ends_with(".wasm")).collect())
}

/// Names the later modules by what the first one is: one of another version is not found, and never mixed in.
pub(crate) fn seal(folder: &Path) -> Result<(), String> {
    let bad = |e: std::io::Error| format!("cannot name the later modules: {e}");
    let first = fs::read(folder.join(FIRST)).map_err(bad)?;
    let mut mark = Fingerprint::default();
    mark.mix(&first);
    let path = folder.join("modules.js");
    let mut links = fs::read_to_string(&path).map_err(bad)?;
    for name in later(folder)? {
        let sealed = name.replace(".wasm", &format!("-{:016x}.wasm", mark.0));
        links = links.replace(&name, &sealed);
        fs::rename(folder.join(&name), folder.join(sealed)).map_err(bad)?;
    }
    // A host that does not know what wasm is may say that it is something else.
    let plain = links.replace(
        STREAMED,
        "src.then((answer) => answer.arrayBuffer()).then((bytes) => WebAssembly.instantiate(bytes, imports))",
    );
    if plain == links {
        return Err("the loader of the later modules is not the one that was expected".to_owned());
    }
    fs::write(&path, plain).map_err(bad)
}
