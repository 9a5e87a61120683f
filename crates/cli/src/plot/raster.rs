//! PNG and PDF from the SVG, with the font that the program carries (DejaVu Sans; licence in `assets`).

use std::sync::Arc;

use resvg::{tiny_skia, usvg};

use crate::failure::Failure;
use goldward_report::draw::svg::FAMILY;

static FONT: &[u8] = include_bytes!("../../assets/DejaVuSans.ttf");
/// Pixels of the picture for one of the drawing.
const PIXELS: f32 = 2.0;

fn tree(svg: &str) -> Result<usvg::Tree, Failure> {
    let mut fonts = usvg::fontdb::Database::new();
    fonts.load_font_data(FONT.to_vec());
    fonts.set_sans_serif_family(FAMILY);
    let options = usvg::Options { fontdb: Arc::new(fonts), font_family: FAMILY.to_owned(), ..usvg::Options::default() };
    usvg::Tree::from_str(svg, &options).map_err(|e| Failure::Internal(format!("the drawing is no SVG: {e}")))
}

/// The drawing as a PNG picture.
///
/// # Errors
/// [`Failure::Internal`] when the drawing is broken.
pub fn png(svg: &str) -> Result<Vec<u8>, Failure> {
    let tree = tree(svg)?;
    let size = tree.size();
    let side = |x: f32| (x * PIXELS).ceil() as u32;
    let mut picture = tiny_skia::Pixmap::new(side(size.width()), side(size.height()))
        .ok_or_else(|| Failure::Internal("the drawing has no size".to_owned()))?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(PIXELS, PIXELS), &mut picture.as_mut());
    picture.encode_png().map_err(|e| Failure::Internal(format!("the picture cannot be encoded: {e}")))
}

/// The drawing as a PDF page.
///
/// # Errors
/// [`Failure::Internal`] when the drawing is broken.
pub fn pdf(svg: &str) -> Result<Vec<u8>, Failure> {
    page(svg, svg2pdf::ConversionOptions::default(), svg2pdf::PageOptions::default())
}

/// Pixels of an SVG to the inch: what a length in millimetres becomes.
const PIXELS_AN_INCH: f32 = 96.0;

/// A drawing whose width and height are given in millimetres, as a PDF page of that size.
///
/// # Errors
/// [`Failure::Internal`] when the drawing is broken.
pub fn pdf_true_size(svg: &str) -> Result<Vec<u8>, Failure> {
    page(svg, svg2pdf::ConversionOptions::default(), svg2pdf::PageOptions { dpi: PIXELS_AN_INCH })
}

fn page(svg: &str, conversion: svg2pdf::ConversionOptions, options: svg2pdf::PageOptions) -> Result<Vec<u8>, Failure> {
    svg2pdf::to_pdf(&tree(svg)?, conversion, options)
        .map_err(|e| Failure::Internal(format!("the page cannot be made: {e}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Horizontal lines that a page draws, as lengths in points: the content's own matrices followed by hand.
    fn level_lines_pt(pdf: &[u8]) -> Vec<f64> {
        let text = String::from_utf8_lossy(pdf);
        let (mut matrix, mut stack) = ([1.0, 0.0, 0.0, 1.0, 0.0, 0.0], Vec::new());
        let (mut numbers, mut at, mut found): (Vec<f64>, (f64, f64), Vec<f64>) = (Vec::new(), (0.0, 0.0), Vec::new());
        for word in text.split_ascii_whitespace() {
            if let Ok(number) = word.parse() {
                numbers.push(number);
                continue;
            }
            match (word, numbers.as_slice()) {
                ("q", _) => stack.push(matrix),
                ("Q", _) => matrix = stack.pop().unwrap_or(matrix),
                ("cm", &[.., a, b, c, d, e, f]) => {
                    let m: [f64; 6] = matrix;
                    matrix = [
                        a * m[0] + b * m[2],
                        a * m[1] + b * m[3],
                        c * m[0] + d * m[2],
                        c * m[1] + d * m[3],
                        e * m[0] + f * m[2] + m[4],
                        e * m[1] + f * m[3] + m[5],
                    ];
                }
                ("m", &[.., x, y]) => at = (x, y),
                ("l", &[.., x, y]) => {
                    let (dx, dy) = (x - at.0, y - at.1);
                    let moved = (dx * matrix[0] + dy * matrix[2], dx * matrix[1] + dy * matrix[3]);
                    if moved.1.abs() < 1e-6 {
                        found.push(moved.0.abs());
                    }
                    at = (x, y);
                }
                _ => {}
            }
            numbers.clear();
        }
        found
    }

    #[test]
    fn a_page_in_millimetres_is_of_true_size() {
        let mut svg = goldward_report::draw::svg::Svg::millimetres(210.0, 297.0);
        svg.line((20.0, 30.0), (70.0, 30.0), "#000", 0.3);
        let svg = svg.finish("a ruler", "");
        let plain = svg2pdf::ConversionOptions { compress: false, ..svg2pdf::ConversionOptions::default() };
        let pdf = page(&svg, plain, svg2pdf::PageOptions { dpi: PIXELS_AN_INCH }).unwrap();
        // 50 mm are 50 / 25.4 * 72 = 141.732 points.
        let lines = level_lines_pt(&pdf);
        assert!(lines.iter().any(|pt| (pt - 141.732).abs() < 0.01), "{lines:?}");
    }
}
