//! `cargo xtask web`: compiles the app to wasm and puts everything a browser needs into `build/web`.

use std::collections::BTreeMap;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

use goldward_report::words::Language;

use crate::folder::{Fingerprint, copy, files};
use crate::modules::{FIRST, LATER, later, seal, split};
use crate::run::{root, run, target};

const TARGET: &str = "wasm32-unknown-unknown";
/// First load, everything compressed, must stay below this.
const MOST_BYTES: u64 = 650 * 1024;
/// How the names of the files of texts begin.
const WORDS: &str = "words-";
/// Colours of an icon.
const MOST_COLOURS: usize = 32;
/// Debian's packages that build for the web: a compiler, its cargo, the source of the standard library, a linker and an optimiser.
const PACKAGES: [&str; 5] = ["rustc-web", "cargo-web", "rust-web-src", "lld", "binaryen"];

/// What the optimiser of binaryen is asked for: a function that stands twice stands once, and nothing is handed over that nobody
/// reads. Its usual order of passes makes the module smaller and what is sent of it larger: brotli finds less that repeats.
const PASSES: [&str; 8] = [
    "--duplicate-function-elimination",
    "--dae-optimizing",
    "--duplicate-function-elimination",
    "--rse",
    "--precompute-propagate",
    "--simplify-locals-nostructure",
    "--vacuum",
    "--duplicate-function-elimination",
];
/// What a compiler for the web uses of WebAssembly today without being asked.
const FEATURES: [&str; 6] =
    ["bulk-memory", "nontrapping-float-to-int", "sign-ext", "mutable-globals", "reference-types", "multivalue"];

/// A way to compile for the web.
enum Toolchain {
    /// The toolchain that runs xtask has the target.
    Own,
    /// Debian's packages; the standard library is built along with us.
    Debian {
        /// The linker.
        linker: PathBuf,
    },
}

/// Builds the app and returns the folder it is in.
pub(crate) fn build() -> Result<PathBuf, String> {
    let toolchain = toolchain()?;
    let wasm = compile(&toolchain)?;
    let folder = root().join("build/web");
    let fresh = root().join("build/web.new");
    if fresh.exists() {
        fs::remove_dir_all(&fresh).map_err(|e| format!("cannot empty {}: {e}", fresh.display()))?;
    }
    fs::create_dir_all(&fresh).map_err(|e| format!("cannot make {}: {e}", fresh.display()))?;
    let wasm = split(&wasm, &fresh)?;
    eprintln!("== interface to the browser");
    let mut bindgen = wasm_bindgen_cli_support::Bindgen::new();
    bindgen.input_path(&wasm).typescript(false).omit_default_module_path(false).remove_producers_section(true);
    // The later modules take what they share with the first one by the names that the linker gave.
    bindgen.remove_name_section(true).keep_lld_exports(true);
    bindgen.web(true).and_then(|b| b.generate(&fresh)).map_err(|e| format!("wasm-bindgen: {e:#}"))?;
    squeeze(&fresh)?;
    seal(&fresh)?;
    copy(&root().join("crates/web/static"), &fresh)?;
    icons(&fresh)?;
    words(&fresh)?;
    let pages = guide(&fresh)?;
    worker(&fresh, &pages)?;
    let (total, after) = compress(&fresh)?;
    eprintln!(
        "the app is {} KB compressed (at most {} KB), and {} KB that come after the first screen",
        total.div_ceil(1024),
        MOST_BYTES / 1024,
        after.div_ceil(1024)
    );
    // Without a standard library of our own making the app is somewhat larger; the limit is for the one that is measured.
    if total > MOST_BYTES && matches!(toolchain, Toolchain::Debian { .. }) {
        return Err(format!("the app has grown to {total} bytes compressed: more than {MOST_BYTES}"));
    }
    // The old folder goes at the last moment, so that a server on it is never without files for long.
    if folder.exists() {
        fs::remove_dir_all(&folder).map_err(|e| format!("cannot replace {}: {e}", folder.display()))?;
    }
    fs::rename(&fresh, &folder).map_err(|e| format!("cannot rename {}: {e}", fresh.display()))?;
    Ok(folder)
}

fn output(command: &mut Command) -> Option<String> {
    let output = command.output().ok()?;
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
}

fn toolchain() -> Result<Toolchain, String> {
    let rustc = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let sysroot = output(Command::new(rustc).args(["--print", "sysroot"])).unwrap_or_default();
    if Path::new(&sysroot).join("lib/rustlib").join(TARGET).join("lib").exists() {
        return Ok(Toolchain::Own);
    }
    if let Some(found) = debian() {
        return Ok(found);
    }
    if may_install() {
        install(&PACKAGES)?;
        if debian().is_none() {
            // Some releases have the right linker under a versioned name only.
            install(&["lld-22"])?;
        }
        if let Some(found) = debian() {
            return Ok(found);
        }
    }
    Err(format!("the app is compiled for the web, which this toolchain cannot yet: run `rustup target add {TARGET}`"))
}

/// Whether this is root on Debian.
fn may_install() -> bool {
    Path::new("/etc/debian_version").exists() && output(Command::new("id").arg("-u")).as_deref() == Some("0")
}

/// Installs Debian packages; only root can.
pub(crate) fn install(packages: &[&str]) -> Result<(), String> {
    let mut update = Command::new("apt-get");
    update.args(["update", "--quiet"]);
    run("package lists", update)?;
    let mut install = Command::new("apt-get");
    install.args(["install", "--yes", "--quiet", "--no-install-recommends"]).args(packages);
    install.env("DEBIAN_FRONTEND", "noninteractive");
    run("packages", install)
}

/// A command of Debian's toolchain, without what the environment says of others.
fn plain(program: &str) -> Command {
    let mut command = Command::new(program);
    for name in ["RUSTUP_TOOLCHAIN", "RUSTUP_HOME", "LD_LIBRARY_PATH", "RUSTFLAGS", "CARGO_ENCODED_RUSTFLAGS", "CARGO"]
    {
        command.env_remove(name);
    }
    command
}

fn debian() -> Option<Toolchain> {
    let version = output(plain("/usr/bin/rustc").arg("--version"))?;
    let minor: u32 = version.split('.').nth(1)?.parse().ok()?;
    let sysroot = output(plain("/usr/bin/rustc").args(["--print", "sysroot"]))?;
    let source = Path::new(&sysroot).join("lib/rustlib/src/rust/library/std");
    // The newest linker: an old one does not know the features that the compiler uses.
    let mut linkers: Vec<(u32, PathBuf)> = fs::read_dir("/usr/bin")
        .ok()?
        .flatten()
        .filter_map(|e| Some((e.file_name().to_str()?.strip_prefix("wasm-ld-")?.parse().ok()?, e.path())))
        .collect();
    linkers.sort();
    let (newest, linker) = linkers.pop()?;
    (minor >= 85 && newest >= 19 && source.exists()).then_some(Toolchain::Debian { linker })
}

/// Panics tell their file, but not where on this machine the source lies. (Never `erase_components`: it saves a fifteenth of the app
/// and leaves dead nodes and handlers behind.)
fn flags() -> String {
    let home = std::env::var_os("CARGO_HOME").map(PathBuf::from);
    let home = home.or_else(|| Some(PathBuf::from(std::env::var_os("HOME")?).join(".cargo"))).unwrap_or_default();
    format!(
        "-Clink-args=--emit-relocs --remap-path-prefix={}= --remap-path-prefix={}=crates",
        root().display(),
        home.join("registry/src").display()
    )
}

fn compile(toolchain: &Toolchain) -> Result<PathBuf, String> {
    let target = target().join("web");
    let mut command = match toolchain {
        Toolchain::Own => {
            let mut command = Command::new(env!("CARGO"));
            command.env("RUSTFLAGS", flags());
            command
        }
        Toolchain::Debian { linker } => {
            let mut command = plain("/usr/bin/cargo");
            command
                .arg("-Zbuild-std=std,panic_abort")
                // Every kind of list that is sorted brings its own copy of the sort: the small one.
                .arg("-Zbuild-std-features=optimize_for_size")
                .env("RUSTC", "/usr/bin/rustc")
                .env("RUSTDOC", "/usr/bin/rustdoc")
                // A fault names its file and not its line: thousands of places would be a part of the app that counts.
                .env("RUSTFLAGS", format!("-Zlocation-detail=file {}", flags()))
                // Building the standard library is not yet a stable wish.
                .env("RUSTC_BOOTSTRAP", "1")
                .env("CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER", linker);
            let path = std::env::var_os("PATH").unwrap_or_default();
            let mut first = std::ffi::OsString::from("/usr/bin:");
            first.push(path);
            command.env("PATH", first);
            command
        }
    };
    command.current_dir(root()).args(["build", "--package", "goldward-web", "--lib", "--locked", "--profile", "web"]);
    command.args(["--target", TARGET, "--target-dir"]).arg(&target);
    run("app", command)?;
    Ok(target.join(TARGET).join("web/goldward_web.wasm"))
}

/// Makes the module smaller where the optimiser is there or can be installed.
fn squeeze(folder: &Path) -> Result<(), String> {
    let there = || output(plain("wasm-opt").arg("--version")).is_some();
    if !there() && may_install() {
        install(&["binaryen"])?;
    }
    if !there() {
        eprintln!("== without wasm-opt (Debian's package binaryen) the app stays a fiftieth larger");
        return Ok(());
    }
    for name in later(folder)?.into_iter().chain([FIRST.to_owned()]) {
        let wasm = folder.join(name);
        let mut optimise = plain("wasm-opt");
        optimise.args(FEATURES.map(|f| format!("--enable-{f}"))).args(PASSES).arg(&wasm).arg("-o").arg(&wasm);
        run("smaller", optimise)?;
    }
    Ok(())
}

/// Writes the texts of the languages that are not built into the app as files, and tells the start of the app which these are.
fn words(folder: &Path) -> Result<(), String> {
    let mut codes = Vec::new();
    for language in Language::ALL.into_iter().filter(|l| *l != Language::English) {
        let name = format!("{WORDS}{}.txt", language.code());
        let texts =
            goldward_report::words::file(language).ok_or_else(|| format!("{} is not built in", language.name()))?;
        fs::write(folder.join(&name), texts).map_err(|e| format!("cannot write {name}: {e}"))?;
        codes.push(format!("\"{}\"", language.code()));
    }
    let path = folder.join("boot.js");
    let start = fs::read_to_string(&path).map_err(|e| format!("cannot read the start of the app: {e}"))?;
    fs::write(&path, start.replace("\"@LANGUAGES@\"", &codes.join(", ")))
        .map_err(|e| format!("cannot write boot.js: {e}"))
}

/// Draws the icon in the sizes that home screens ask for.
fn icons(folder: &Path) -> Result<(), String> {
    let text = fs::read_to_string(folder.join("icon.svg")).map_err(|e| format!("cannot read the icon: {e}"))?;
    let tree = resvg::usvg::Tree::from_str(&text, &resvg::usvg::Options::default()).map_err(|e| e.to_string())?;
    for side in [192_u32, 512] {
        let mut pixels = resvg::tiny_skia::Pixmap::new(side, side).ok_or("no picture of that size")?;
        let scale = side as f32 / tree.size().width();
        resvg::render(&tree, resvg::tiny_skia::Transform::from_scale(scale, scale), &mut pixels.as_mut());
        fs::write(folder.join(format!("icon-{side}.png")), indexed_png(&pixels)?)
            .map_err(|e| format!("cannot write the icon: {e}"))?;
    }
    Ok(())
}

/// A PNG of at most 256 colours: the commonest, the others by the nearest of them. Flat colours stay as they are.
fn indexed_png(pixels: &resvg::tiny_skia::Pixmap) -> Result<Vec<u8>, String> {
    let colours: Vec<[u8; 3]> = pixels.pixels().iter().map(|p| [p.red(), p.green(), p.blue()]).collect();
    let mut counts = BTreeMap::new();
    for c in &colours {
        *counts.entry(*c).or_insert(0_u32) += 1;
    }
    let mut palette: Vec<([u8; 3], u32)> = counts.into_iter().collect();
    palette.sort_by_key(|(c, n)| (std::cmp::Reverse(*n), *c));
    palette.truncate(MOST_COLOURS);
    let distance = |a: [u8; 3], b: [u8; 3]| -> u32 { (0..3).map(|k| u32::from(a[k].abs_diff(b[k])).pow(2)).sum() };
    let index = |c: &[u8; 3]| {
        let nearest = (0..palette.len()).min_by_key(|i| distance(palette[*i].0, *c)).unwrap_or(0);
        // At most 256 of them.
        nearest as u8
    };
    let data: Vec<u8> = colours.iter().map(index).collect();
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(palette.iter().flat_map(|(c, _)| *c).collect::<Vec<u8>>());
    encoder.set_compression(png::Compression::Best);
    let written = encoder.write_header().and_then(|mut w| w.write_image_data(&data));
    written.map_err(|e| format!("cannot draw the icon: {e}"))?;
    Ok(out)
}

/// Puts the guide beside the app where it has been rendered, and tells the app's page; returns its files.
fn guide(folder: &Path) -> Result<Vec<String>, String> {
    const HERE: &str = "<link rel=\"help\" href=\"guide/\">\n</head>";
    let from = root().join("build/guide");
    if !from.join("index.html").exists() {
        return Ok(Vec::new());
    }
    let mut copy = Command::new("cp");
    copy.arg("-R").arg(&from).arg(folder.join("guide"));
    run("guide beside the app", copy)?;
    let page = folder.join("index.html");
    let text = fs::read_to_string(&page).map_err(|e| format!("cannot read {}: {e}", page.display()))?;
    fs::write(&page, text.replace("</head>", HERE)).map_err(|e| format!("cannot write {}: {e}", page.display()))?;
    let mut found = Vec::new();
    crate::guide::all(&from, &mut found)?;
    let mut names: Vec<String> =
        found.iter().filter_map(|f| f.strip_prefix(&from).ok()?.to_str().map(|n| format!("guide/{n}"))).collect();
    names.sort();
    Ok(names)
}

/// Writes the list of files, the `pages` of the guide, and their common fingerprint into the service worker, so that any change is a new
/// version.
fn worker(folder: &Path, pages: &[String]) -> Result<(), String> {
    let names = files(folder)?;
    let path = folder.join("sw.js");
    let template = fs::read_to_string(&path).map_err(|e| format!("cannot read the service worker: {e}"))?;
    let mut version = Fingerprint::default();
    version.mix(template.as_bytes());
    for name in names.iter().chain(pages) {
        version.mix(name.as_bytes());
        version.mix(&fs::read(folder.join(name)).map_err(|e| format!("cannot read {name}: {e}"))?);
    }
    let list = |names: &[String]| names.iter().map(|n| format!("\"./{n}\"")).collect::<Vec<_>>().join(", ");
    let text = template
        .replace("@VERSION@", &format!("{:016x}", version.0))
        .replace("\"@FILES@\"", &list(&names))
        .replace("\"@GUIDE@\"", &list(pages));
    fs::write(&path, text).map_err(|e| format!("cannot write the service worker: {e}"))
}

/// Puts a brotli copy beside each file that gains from one, and returns what a first load transfers (of the texts, only those of the
/// largest language) and what comes later.
fn compress(folder: &Path) -> Result<(u64, u64), String> {
    eprintln!("== compression");
    let (mut total, mut texts, mut after) = (0, 0, 0);
    for name in files(folder)?.into_iter().chain(["sw.js".to_owned()]) {
        let bytes = fs::read(folder.join(&name)).map_err(|e| format!("cannot read {name}: {e}"))?;
        let mut packed = Vec::new();
        {
            let mut writer = brotli::CompressorWriter::new(&mut packed, 1 << 16, 11, 22);
            writer.write_all(&bytes).map_err(|e| format!("cannot compress {name}: {e}"))?;
        }
        let small = packed.len() + 64 < bytes.len();
        let size = if small { packed.len() } else { bytes.len() };
        eprintln!("   {name:<26} {:>8} {size:>8}", bytes.len());
        if name.starts_with(WORDS) {
            texts = texts.max(size as u64);
        } else if name.starts_with(LATER) {
            after += size as u64;
        } else {
            total += size as u64;
        }
        if small {
            fs::write(folder.join(format!("{name}.br")), packed).map_err(|e| format!("cannot write {name}.br: {e}"))?;
        }
    }
    Ok((total + texts, after))
}
