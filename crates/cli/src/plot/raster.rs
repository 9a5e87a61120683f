//! PNG and PDF from the SVG, with the font that the program carries (DejaVu Sans; licence in `assets`).

use std::sync::Arc;

use resvg::{tiny_skia, usvg};

use crate::failure::Failure;

static FONT: &[u8] = include_bytes!("../../assets/DejaVuSans.ttf");
/// The family that the drawings ask for.
pub(super) const FAMILY: &str = "DejaVu Sans";
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
    svg2pdf::to_pdf(&tree(svg)?, svg2pdf::ConversionOptions::default(), svg2pdf::PageOptions::default())
        .map_err(|e| Failure::Internal(format!("the page cannot be made: {e}")))
}
