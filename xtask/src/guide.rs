//! `cargo xtask guide`: the documents as a book in build/guide, for the browser, without scripts and without anything from elsewhere.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use crate::run::{cargo, root, run, target};

/// What renders it, from the crates registry.
const MDBOOK: &str = "0.4.52";

/// Renders the book and returns the folder it is in.
pub(crate) fn build() -> Result<PathBuf, String> {
    let program = mdbook()?;
    let folder = root().join("build/guide");
    let mut render = Command::new(program);
    render.arg("build").arg(root().join("docs")).arg("--dest-dir").arg(&folder);
    run("guide", render)?;
    tidy(&folder)?;
    dress(&folder)?;
    let wrong = broken(&folder)?;
    if wrong.is_empty() {
        Ok(folder)
    } else {
        Err(format!("the guide has links to nowhere:\n  {}", wrong.join("\n  ")))
    }
}

/// The same where what renders it is there: nobody waits for it to be built.
pub(crate) fn build_if_quick() -> Result<(), String> {
    if program().exists() { build().map(drop) } else { Ok(()) }
}

fn program() -> PathBuf {
    target().join("tools/bin/mdbook")
}

/// mdBook, built once without what serves and searches.
fn mdbook() -> Result<PathBuf, String> {
    let program = program();
    if program.exists() {
        return Ok(program);
    }
    let mut install = cargo(&["install", "mdbook", "--version", MDBOOK, "--no-default-features", "--locked", "--root"]);
    install.arg(target().join("tools")).env("CARGO_TARGET_DIR", target().join("mdbook"));
    run("mdBook, which renders the guide (about two minutes, once)", install)?;
    fs::remove_dir_all(target().join("mdbook")).map_err(|e| format!("cannot tidy up after mdBook: {e}"))?;
    Ok(program)
}

/// The files in a folder, whatever their depth.
pub(crate) fn all(folder: &Path, found: &mut Vec<PathBuf>) -> Result<(), String> {
    for entry in fs::read_dir(folder).map_err(|e| format!("cannot read {}: {e}", folder.display()))? {
        let path = entry.map_err(|e| e.to_string())?.path();
        if path.is_dir() { all(&path, found)? } else { found.push(path) }
    }
    Ok(())
}

/// Takes away what no page asks for: fonts, scripts, and the sources that lie among them.
fn tidy(folder: &Path) -> Result<(), String> {
    let mut files = Vec::new();
    all(folder, &mut files)?;
    for file in files {
        let name = file.strip_prefix(folder).unwrap_or(&file);
        let page =
            name.extension().is_some_and(|e| e == "html") && !name.ends_with("toc.html") && !name.ends_with("404.html");
        if !(page || name.starts_with("pictures") || name == Path::new("theme/guide.css")) {
            fs::remove_file(&file).map_err(|e| format!("cannot remove {}: {e}", file.display()))?;
        }
    }
    for empty in ["css", "fonts", "FontAwesome/css", "FontAwesome/fonts", "FontAwesome"] {
        // Only folders that are empty now.
        let _ = fs::remove_dir(folder.join(empty));
    }
    Ok(())
}

/// Puts right what the renderer leaves to scripts: where the list of pages leads from a page in a folder; and tells the language of a page that
/// bears its name.
fn dress(folder: &Path) -> Result<(), String> {
    let mut files = Vec::new();
    all(folder, &mut files)?;
    for page in files.iter().filter(|f| f.extension().is_some_and(|e| e == "html")) {
        let cannot = |e| format!("cannot dress {}: {e}", page.display());
        let mut text = fs::read_to_string(page).map_err(cannot)?;
        let depth = page.strip_prefix(folder).unwrap_or(page).components().count().saturating_sub(1);
        if let Some((before, list)) = text.split_once("<nav") {
            text = format!("{before}<nav{}", list.replace(" href=\"", &format!(" href=\"{}", "../".repeat(depth))));
        }
        let name = page.file_stem().and_then(|s| s.to_str()).unwrap_or_default();
        if goldward_report::words::Language::ALL.iter().any(|l| l.code() == name) {
            text = text.replacen("<html lang=\"en\">", &format!("<html lang=\"{name}\">"), 1);
        }
        fs::write(page, text).map_err(cannot)?;
    }
    Ok(())
}

/// What stands in quotes after `key=`.
fn values<'a>(text: &'a str, key: &'a str) -> impl Iterator<Item = &'a str> {
    text.split(key).skip(1).filter_map(|rest| rest.strip_prefix("=\"")?.split('"').next())
}

/// Links that lead to no page, picture or heading of the book.
fn broken(folder: &Path) -> Result<Vec<String>, String> {
    let mut files = Vec::new();
    all(folder, &mut files)?;
    let mut wrong = BTreeSet::new();
    for page in files.iter().filter(|f| f.extension().is_some_and(|e| e == "html")) {
        let text = fs::read_to_string(page).map_err(|e| format!("cannot read {}: {e}", page.display()))?;
        for link in values(&text, " href").chain(values(&text, " src")) {
            if link.contains("://") || link.starts_with("mailto:") {
                continue;
            }
            let (path, heading) = link.split_once('#').unwrap_or((link, ""));
            let to = if path.is_empty() { page.clone() } else { page.parent().unwrap_or(folder).join(path) };
            let has_heading = || fs::read_to_string(&to).is_ok_and(|text| values(&text, " id").any(|id| id == heading));
            let there = to.is_file() && (heading.is_empty() || has_heading());
            if !there {
                let name = page.strip_prefix(folder).unwrap_or(page);
                wrong.insert(format!("{}: {link}", name.display()));
            }
        }
    }
    Ok(wrong.into_iter().collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_to_nowhere_are_found() {
        let folder = std::env::temp_dir().join(format!("goldward-guide-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let page =
            r##"<h1 id="top">A</h1><a href="b.html">b</a><a href="#top">t</a><a href="#gone">g</a><img src="no.svg">"##;
        fs::write(folder.join("a.html"), page).unwrap();
        fs::write(folder.join("b.html"), r#"<a href="a.html#top">a</a><a href="https://example.org/x">x</a>"#).unwrap();
        assert_eq!(broken(&folder).unwrap(), ["a.html: #gone", "a.html: no.svg"]);
        fs::remove_dir_all(&folder).unwrap();
    }
}
