//! What is said, as plain data: the items of a page. Renderers turn them into HTML ([`crate::html`]), text ([`crate::text`]) and
//! drawings that stand alone ([`crate::sheet`]).

use goldward_core::fleet::FleetError;

use crate::draw::target::Target;
use crate::map::Map;
use crate::teller::Teller;
use crate::words::error;

/// One thing on a page.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A heading.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// The answer in one sentence.
    Answer(String),
    /// Something to act on.
    Warning(String),
    /// A caution.
    Safety(String),
    /// What holds for every answer, at the end of a page.
    Caution(String),
    /// Something to know.
    Note(String),
    /// A picture.
    Picture(Picture),
    /// A table: what it holds, its head, its rows. The first cell of a row names it.
    Table(String, Vec<String>, Vec<Vec<String>>),
}

/// A picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// What it shows, in words.
    pub label: String,
    /// As an SVG whose shapes are painted by their classes.
    pub svg: String,
    /// The same in characters, where it can be drawn so.
    pub signs: Option<Signs>,
}

/// A picture that can be drawn in characters.
#[derive(Debug, Clone, PartialEq)]
pub enum Signs {
    /// A map of arrows.
    Map(Map),
    /// A target with shots.
    Target(Target),
}

impl Picture {
    /// A picture that is no map.
    #[must_use]
    pub fn drawn(label: String, svg: String) -> Item {
        Item::Picture(Self { label, svg, signs: None })
    }

    /// A map that says `label`.
    #[must_use]
    pub fn of(map: Map, teller: &Teller<'_>, label: String) -> Item {
        let svg = map.svg(teller, &label);
        Item::Picture(Self { label, svg, signs: Some(Signs::Map(map)) })
    }
}

/// Why core has no answer.
#[must_use]
pub fn why_not(teller: &Teller<'_>, error: &FleetError) -> Item {
    Item::Note(error::fleet(teller.language, error))
}
