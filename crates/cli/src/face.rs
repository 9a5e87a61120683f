//! `goldward face`: a face drawn in the terminal, or the list of faces.

use goldward_report::draw::face::face_svg;
use goldward_report::draw::target::Canvas;
use goldward_report::words::{Done, Language, face_in_full};
use std::fmt::Write as _;

use clap::Args;
use goldward_core::face::{Colour, EDITION, Face};
use goldward_core::units::trim_number;

use crate::failure::{EXIT_FINE, Failure};
use crate::options::parse_face;
use crate::plot::PlotFile;
use crate::terminal::Terminal;

/// Options of `goldward face`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  goldward face                      list the faces
  goldward face 122                  draw one
  goldward face 40-3v --plot face.pdf")]
pub struct FaceArgs {
    /// Name of the face; without it the faces are listed
    #[arg(value_name = "NAME", value_parser = parse_face)]
    pub name: Option<&'static Face>,
    /// Also draw the face into a .svg, .png or .pdf file
    #[arg(long, value_name = "FILE", requires = "name")]
    pub plot: Option<PlotFile>,
    /// Columns of the drawing [default: those of the terminal, at most 100]
    #[arg(long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=200))]
    pub width: Option<u16>,
}

/// Runs the command; returns the exit code.
///
/// # Errors
/// [`Failure`] when something cannot be written.
pub fn run(args: &FaceArgs, terminal: &mut Terminal<'_>) -> Result<u8, Failure> {
    let width = args.width.map_or(terminal.width, usize::from);
    let l = terminal.language();
    let text = match args.name {
        Some(face) => {
            if let Some(file) = &args.plot {
                file.write(&face_svg(face))?;
            }
            let mut text = drawing(l, face, width, terminal.colour);
            if let Some(file) = &args.plot {
                text.push_str(&file.told(l));
            }
            text
        }
        None => list(l),
    };
    terminal.out.write_all(text.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

fn list(l: Language) -> String {
    let mut text = String::new();
    let longest = Face::all().iter().map(|f| f.name.len()).max().unwrap_or(0);
    for face in Face::all() {
        let _ = writeln!(text, "  {:<longest$}  {}", face.name, face_in_full(l, face));
    }
    let _ = writeln!(text, "\n{}", Done::Dimensions.with(l, &[EDITION]));
    text
}

fn colour_name(colour: Colour) -> Done {
    match colour {
        Colour::Gold => Done::Gold,
        Colour::Red => Done::Red,
        Colour::Blue => Done::Blue,
        Colour::Black => Done::Black,
        Colour::White => Done::White,
    }
}

fn drawing(l: Language, face: &Face, width: usize, colour: bool) -> String {
    let mut text = format!("{}: {}\n\n", face.name, face_in_full(l, face));
    let canvas = Canvas::new(face, 1.03 * face.outer_radius_mm(), width.min(65).saturating_sub(2));
    for line in canvas.lines(colour) {
        let _ = writeln!(text, "{}", format!("  {line}").trim_end());
    }
    let [zone, hue, across] = [Done::HeadZone, Done::HeadColour, Done::HeadDiameter].map(|d| d.text(l));
    let wide = hue.chars().count();
    let _ = writeln!(text, "\n  {zone}  {hue}  {across}");
    let mut row = |value: &str, name: &str, radius_mm: f64| {
        let mm = l.number(&trim_number(2.0 * radius_mm));
        let _ = writeln!(text, "  {value:>4}  {name:<wide$}  {mm:>5} mm");
    };
    if let Some(inner) = face.inner_ten_mm {
        row("X", "", inner);
    }
    for zone in face.zones {
        row(&zone.value.to_string(), colour_name(zone.colour).text(l), zone.radius_mm);
    }
    if face.spots.len() > 1 {
        let spots: Vec<String> = face
            .spots
            .iter()
            .map(|(x, y)| format!("({}, {})", trim_number(x.round()), trim_number(y.round())))
            .collect();
        let _ = writeln!(text, "\n  {}", Done::SpotsAt.with(l, &[&spots.len().to_string(), &spots.join(", ")]));
    }
    let _ = writeln!(text, "\n  {}\n  {}", Done::LineScores.text(l), Done::Dimensions.with(l, &[EDITION]));
    text
}
