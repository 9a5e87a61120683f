//! `goldward face`: a face drawn in the terminal, or the list of faces.

use goldward_report::draw::face::face_svg;
use goldward_report::draw::target::Canvas;
use goldward_report::words::Language;
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
    let text = match args.name {
        Some(face) => {
            if let Some(file) = &args.plot {
                file.write(&face_svg(face))?;
            }
            let mut text = drawing(face, width, terminal.colour);
            if let Some(file) = &args.plot {
                text.push_str(&file.told(Language::English));
            }
            text
        }
        None => list(),
    };
    terminal.out.write_all(text.as_bytes()).map_err(|e| Failure::from_write(&e))?;
    Ok(EXIT_FINE)
}

fn list() -> String {
    let mut text = String::new();
    let longest = Face::all().iter().map(|f| f.name.len()).max().unwrap_or(0);
    for face in Face::all() {
        let _ = writeln!(text, "  {:<longest$}  {}", face.name, face.title);
    }
    let _ = writeln!(text, "\nDimensions: {EDITION}. The rules of the day and the judge decide.");
    text
}

fn drawing(face: &Face, width: usize, colour: bool) -> String {
    let mut text = format!("{}: {}\n\n", face.name, face.title);
    let canvas = Canvas::new(face, 1.03 * face.outer_radius_mm(), width.min(65).saturating_sub(2));
    for line in canvas.lines(colour) {
        let _ = writeln!(text, "{}", format!("  {line}").trim_end());
    }
    let _ = writeln!(text, "\n  zone  colour  diameter");
    if let Some(inner) = face.inner_ten_mm {
        let _ = writeln!(text, "  {:>4}  {:<6}  {:>5} mm", "X", "", trim_number(2.0 * inner));
    }
    for zone in face.zones {
        let name = match zone.colour {
            Colour::Gold => "gold",
            Colour::Red => "red",
            Colour::Blue => "blue",
            Colour::Black => "black",
            Colour::White => "white",
        };
        let _ = writeln!(text, "  {:>4}  {name:<6}  {:>5} mm", zone.value, trim_number(2.0 * zone.radius_mm));
    }
    if face.spots.len() > 1 {
        let spots: Vec<String> = face
            .spots
            .iter()
            .map(|(x, y)| format!("({}, {})", trim_number(x.round()), trim_number(y.round())))
            .collect();
        let _ = writeln!(
            text,
            "\n  {} spots, centred at {} mm of the sheet; shots are measured from their own spot.",
            spots.len(),
            spots.join(", ")
        );
    }
    text.push_str("\n  An arrow scores the higher zone when its shaft touches the line.\n");
    let _ = writeln!(text, "  Dimensions: {EDITION}. The rules of the day and the judge decide.");
    text
}
