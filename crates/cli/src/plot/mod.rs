//! Drawings for paper and screen: one SVG of our own, and PNG and PDF made from it.

#[cfg(feature = "plot")]
mod raster;

use std::path::PathBuf;
use std::str::FromStr;

use goldward_report::words::{Language, Phrase, Wrong};
pub use raster::{pdf, pdf_true_size, png};

use crate::failure::{Failure, Fault, said};
#[cfg(not(feature = "plot"))]
mod raster {
    use goldward_report::words::Wrong;

    use crate::failure::Failure;

    fn missing() -> Failure {
        Failure::usage("--plot", Wrong::BuiltWithoutPictures)
    }

    /// Nothing: pictures are not part of this build.
    ///
    /// # Errors
    /// Always.
    pub fn png(_: &str) -> Result<Vec<u8>, Failure> {
        Err(missing())
    }

    /// Nothing: pages are not part of this build.
    ///
    /// # Errors
    /// Always.
    pub fn pdf(_: &str) -> Result<Vec<u8>, Failure> {
        Err(missing())
    }

    /// Nothing: pages are not part of this build.
    ///
    /// # Errors
    /// Always.
    pub fn pdf_true_size(_: &str) -> Result<Vec<u8>, Failure> {
        Err(missing())
    }
}

use goldward_report::item::Item;
use goldward_report::sheet;
use goldward_session::problem::plain;

/// The kinds of file that can be drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Scalable vector graphics.
    Svg,
    /// A picture of pixels.
    Png,
    /// A page.
    Pdf,
}

/// A file to draw into; its ending names the format.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlotFile {
    /// Where.
    pub path: PathBuf,
    /// What.
    pub format: Format,
}

/// The ending names no format known.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` does not say which format: end the name in .svg, .png or .pdf")]
pub struct UnknownFormat(String);

impl FromStr for PlotFile {
    type Err = UnknownFormat;

    fn from_str(text: &str) -> Result<Self, UnknownFormat> {
        let path = PathBuf::from(text);
        let ending = path.extension().and_then(|e| e.to_str()).unwrap_or("").to_lowercase();
        let format = match ending.as_str() {
            "svg" => Format::Svg,
            "png" => Format::Png,
            "pdf" => Format::Pdf,
            _ => return Err(UnknownFormat(text.to_owned())),
        };
        Ok(Self { path, format })
    }
}

impl PlotFile {
    /// Writes the drawing `svg` in the file's format.
    ///
    /// # Errors
    /// [`Failure`] when the file cannot be written.
    pub fn write(&self, svg: &str) -> Result<(), Failure> {
        self.write_with(svg, pdf)
    }

    /// Writes a drawing that is measured in millimetres of paper: a page is of true size.
    ///
    /// # Errors
    /// [`Failure`] when the file cannot be written.
    pub fn write_true_size(&self, svg: &str) -> Result<(), Failure> {
        self.write_with(svg, pdf_true_size)
    }

    /// Writes one of the pictures of a page.
    ///
    /// # Errors
    /// [`Failure`] when the file cannot be written.
    pub fn write_picture(&self, items: &[Item], which: usize) -> Result<(), Failure> {
        let Some(picture) = sheet::pictures(items).nth(which) else {
            return Err(Failure::data(said(Wrong::NotDrawn, [self.path.display().into()]), Wrong::NothingToDraw));
        };
        self.write(&sheet::document(sheet::title(items), picture))
    }

    /// What is said when the drawing is done, after a page.
    #[must_use]
    pub fn told(&self, language: Language) -> String {
        format!("\n{}\n", Phrase::DrawnInto.with(language, &[&plain(&self.path.display().to_string())]))
    }

    fn write_with(&self, svg: &str, pdf: fn(&str) -> Result<Vec<u8>, Failure>) -> Result<(), Failure> {
        let bytes = match self.format {
            Format::Svg => svg.as_bytes().to_vec(),
            Format::Png => png(svg)?,
            Format::Pdf => pdf(svg)?,
        };
        std::fs::write(&self.path, bytes).map_err(|e| {
            Failure::data(
                said(Wrong::NotWritten, [self.path.display().into()]),
                Fault::io(&e).remedy(Wrong::CheckFolder),
            )
        })
    }
}
