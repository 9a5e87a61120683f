//! `goldward demo`: an invented club evening, written as files and then read.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use clap::Args;

use crate::failure::{EXIT_FINE, Failure, Fault, said};
use crate::files;
use crate::terminal::Terminal;
use goldward_report::pages::read::Page;
use goldward_report::teller::Teller;
use goldward_report::text::text as page_text;
use goldward_report::words::{Language, Wrong};
use goldward_session::answer::{self, Scorers};
use goldward_session::settings::Settings;

/// Options of `goldward demo`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  goldward demo                      write into goldward-demo and read
  goldward demo my-folder --force    overwrite files that were changed")]
pub struct DemoArgs {
    /// Folder for the files; it is made when missing
    #[arg(value_name = "DIR", default_value = "goldward-demo")]
    pub dir: PathBuf,
    /// Overwrite files of the same names that differ
    #[arg(long)]
    pub force: bool,
    /// Columns of the pages [default: those of the terminal, at most 100]
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=200))]
    pub width: Option<u16>,
}

/// One archer of the evening.
#[derive(Debug)]
pub struct Scene {
    /// Name of the archer, and of the files.
    pub name: &'static str,
    /// What happened.
    pub story: &'static str,
    /// The session.
    pub csv: &'static str,
    /// The kit.
    pub kit: &'static str,
    /// Distance as typed.
    pub distance: &'static str,
    /// Face as typed.
    pub face: &'static str,
    /// Arrows left.
    pub left: u32,
}

/// The evening: four invented archers.
pub static SCENES: [Scene; 4] = [
    Scene {
        name: "ilse",
        story: "Ilse shoots a recurve. Her group is steady, but it is not in the gold.",
        csv: include_str!("../demo/ilse.csv"),
        kit: include_str!("../demo/ilse.toml"),
        distance: "70",
        face: "122",
        left: 54,
    },
    Scene {
        name: "tomas",
        story: "Tomas shoots a compound. Some arrows go elsewhere, and two of them felt bad. His file has semicolons and \
                decimal commas.",
        csv: include_str!("../demo/tomas.csv"),
        kit: include_str!("../demo/tomas.toml"),
        distance: "50",
        face: "80-6",
        left: 60,
    },
    Scene {
        name: "noor",
        story: "Noor began this spring. She calls ring and clock from the line; one arrow missed low left.",
        csv: include_str!("../demo/noor.csv"),
        kit: include_str!("../demo/noor.toml"),
        distance: "18",
        face: "80",
        left: 21,
    },
    Scene {
        name: "wendel",
        story: "Wendel's sight slipped after the first end. After the second he moved the pin and wrote that down.",
        csv: include_str!("../demo/wendel.csv"),
        kit: include_str!("../demo/wendel.toml"),
        distance: "30",
        face: "80",
        left: 18,
    },
];

/// Two evenings of numbered arrows, of which number 7 is not like the others: for `goldward fleet`.
static ARROWS: [(&str, &str); 2] = [
    ("arrows-may.csv", include_str!("../demo/arrows-may.csv")),
    ("arrows-june.csv", include_str!("../demo/arrows-june.csv")),
];

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`] when files of these names differ already, or cannot be written.
pub fn run(args: &DemoArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    write_files(&args.dir, args.force)?;
    let width = args.width.map_or(terminal.width, usize::from);
    let mut text = format!(
        "An invented club evening: {} archers, written into {}.\n",
        SCENES.len(),
        goldward_session::problem::plain(&args.dir.display().to_string())
    );
    for scene in &SCENES {
        text.push_str(&page(scene, &args.dir, width, terminal.colour)?);
    }
    let file = |name: &str| goldward_session::problem::plain(&args.dir.join(name).display().to_string());
    let _ = writeln!(
        text,
        "\nTwo evenings of numbered arrows lie there too:\n$ goldward fleet {} {} --distance 70",
        file(ARROWS[0].0),
        file(ARROWS[1].0)
    );
    text.push_str("\nNow write a file of your own; goldward read --help says how.\n");
    terminal.out.write_all(text.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

fn files() -> impl Iterator<Item = (String, &'static str)> {
    let scenes = SCENES.iter().flat_map(|s| [(format!("{}.csv", s.name), s.csv), (format!("{}.toml", s.name), s.kit)]);
    scenes.chain(ARROWS.iter().map(|(name, csv)| ((*name).to_owned(), *csv)))
}

fn write_files(dir: &Path, force: bool) -> Result<(), Failure> {
    let title = || said(Wrong::NoDemo, [dir.display().into()]);
    let fail =
        |name: &str, e: &std::io::Error| Failure::data(title(), Fault::io(e).at(name).remedy(Wrong::AnotherFolder));
    std::fs::create_dir_all(dir).map_err(|e| fail("", &e))?;
    // All are looked at before any is written.
    let mut differ = Vec::new();
    for (name, text) in files() {
        match std::fs::read(dir.join(&name)) {
            Ok(there) if there != text.as_bytes() => differ.push(Fault::from(Wrong::ThereAndDiffers).at(name)),
            Ok(_) => {}
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => {}
            Err(e) => return Err(fail(&name, &e)),
        }
    }
    if !differ.is_empty() && !force {
        return Err(Failure::all(title(), differ));
    }
    for (name, text) in files() {
        std::fs::write(dir.join(&name), text).map_err(|e| fail(&name, &e))?;
    }
    Ok(())
}

fn page(scene: &Scene, dir: &Path, width: usize, colour: bool) -> Result<String, Failure> {
    let broken = |what: String| Failure::Internal(format!("the demo of {}: {what}", scene.name));
    let kit = files::parse_kit(scene.kit.as_bytes(), &scene.name.into())?;
    let distance = scene.distance.parse().map_err(|e| broken(format!("{e}")))?;
    let face = goldward_core::face::Face::named(scene.face).map_err(|e| broken(e.to_string()))?;
    let mut wishes = kit.wishes;
    wishes.shots_left = Some(scene.left);
    let settings = Settings::new(distance, face, &wishes).map_err(|e| broken(e.to_string()))?;
    let session = files::load_session(scene.csv.as_bytes(), &scene.name.into(), &settings, None)?;
    let scorer = Scorers::default().get(face, settings.shaft);
    let answer = answer::answer(&settings, &session.core_shots(), session.moved_mm, &scorer)
        .map_err(|e| broken(e.to_string()))?;
    let page = Page {
        session: &session,
        settings: &settings,
        kit: &kit,
        answer: &answer,
        refined: None,
        left_assumed: false,
        notes: &[],
    };
    let teller = Teller { language: Language::English, imperial: false, date: &|_| String::new() };
    let mut text = format!("\n{}\n", "─".repeat(width));
    text.push_str(&crate::words::wrap(scene.story, width, 0));
    let file = |ending: &str| dir.join(format!("{}.{ending}", scene.name)).display().to_string();
    let _ = writeln!(
        text,
        "$ goldward read {} --kit {} --distance {} --face {} --left {}\n",
        goldward_session::problem::plain(&file("csv")),
        goldward_session::problem::plain(&file("toml")),
        scene.distance,
        scene.face,
        scene.left
    );
    text.push_str(&page_text(&page.items(&teller), width, colour));
    Ok(text)
}
