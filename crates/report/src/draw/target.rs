//! A small target drawn in characters.
//!
//! A character cell is about twice as high as wide. Without colour the lines between the zones are dotted; with colour the
//! zones are filled with their print colours.

use anstyle::{Ansi256Color, Color, Style};
use goldward_core::face::{Colour, Face};
use goldward_core::group::Class;
use goldward_core::plane::Point;

/// What stands on the target.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// On the way from the centre to where it will be.
    Way,
    /// A clean shot.
    Clean,
    /// A clean shot of the second of two groups, or from before a jump.
    Other,
    /// A flyer.
    Flyer,
    /// A stray.
    Stray,
    /// Where the centre will be after the move.
    Goal,
    /// The centre of the group.
    Centre,
}

impl From<Class> for Mark {
    fn from(class: Class) -> Self {
        match class {
            Class::Clean => Self::Clean,
            Class::Other => Self::Other,
            Class::Flyer => Self::Flyer,
            Class::Stray => Self::Stray,
        }
    }
}

impl Mark {
    /// Its character.
    #[must_use]
    pub const fn sign(self) -> char {
        match self {
            Self::Way => '·',
            Self::Clean => '●',
            Self::Other => '○',
            Self::Flyer => '◆',
            Self::Stray => '▲',
            Self::Goal => '◎',
            Self::Centre => '╋',
        }
    }

    const fn is_shot(self) -> bool {
        matches!(self, Self::Clean | Self::Other | Self::Flyer | Self::Stray)
    }
}

/// How much of the face to draw: half the side of the square shown, in millimetres.
///
/// All of `points` that are on the face; never less than the two innermost zones.
#[must_use]
pub fn view_radius_mm(face: &Face, points: &[Point]) -> f64 {
    let furthest = points.iter().map(|p| p.x_mm.abs().max(p.y_mm.abs())).fold(0.0, f64::max);
    let least = face.zones.get(1).map_or(face.outer_radius_mm(), |z| z.radius_mm);
    let wanted = (1.15 * furthest).clamp(1.1 * least, 1.06 * face.outer_radius_mm());
    // Up to a zone line and a little, so that the picture ends where the eye expects it.
    face.zones.iter().map(|z| 1.06 * z.radius_mm).find(|r| *r >= wanted).unwrap_or(wanted)
}

/// A target with what stands on it, to be drawn as wide as there is room.
#[derive(Debug, Clone, PartialEq)]
pub struct Target {
    /// The face.
    pub face: &'static Face,
    /// Half the side of the square shown, in millimetres.
    pub radius_mm: f64,
    /// What stands where.
    pub marks: Vec<(Point, Mark)>,
    /// From where to where a move goes.
    pub way: Option<[Point; 2]>,
    /// What the signs mean.
    pub legend: Vec<String>,
    /// What a digit means, where several shots share a place.
    pub pile: String,
}

impl Target {
    /// The drawing, line by line, and its legend.
    #[must_use]
    pub fn lines(&self, columns: usize, colour: bool) -> (Vec<String>, String) {
        let mut canvas = Canvas::new(self.face, self.radius_mm, columns);
        if let Some([from, to]) = self.way {
            canvas.way(from, to);
        }
        self.marks.iter().for_each(|(place, mark)| canvas.put(*place, *mark));
        let mut legend = self.legend.clone();
        legend.extend(canvas.has_pile().then(|| self.pile.clone()));
        (canvas.lines(colour), legend.join("   "))
    }
}

#[derive(Clone, Copy)]
struct CellState {
    mark: Option<Mark>,
    shots: u32,
}

/// A drawing in progress.
#[derive(Debug)]
pub struct Canvas<'a> {
    face: &'a Face,
    radius_mm: f64,
    columns: usize,
    rows: usize,
    cells: Vec<CellState>,
}

impl std::fmt::Debug for CellState {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:?}", self.mark)
    }
}

impl<'a> Canvas<'a> {
    /// A drawing of `face` to `radius_mm` each way, about `columns` wide.
    #[must_use]
    pub fn new(face: &'a Face, radius_mm: f64, columns: usize) -> Self {
        // Odd both ways, so that the middle of the face is the middle of a cell.
        let rows = (columns / 2) | 1;
        let columns = columns | 1;
        Self { face, radius_mm, columns, rows, cells: vec![CellState { mark: None, shots: 0 }; columns * rows] }
    }

    /// Puts a mark; one outside the picture goes to its edge.
    pub fn put(&mut self, p: Point, mark: Mark) {
        let index = |x: f64, n: usize| {
            let at = (x / self.radius_mm + 1.0) / 2.0 * n as f64;
            (at.floor().max(0.0) as usize).min(n - 1)
        };
        let at = index(-p.y_mm, self.rows) * self.columns + index(p.x_mm, self.columns);
        let cell = &mut self.cells[at];
        cell.shots += u32::from(mark.is_shot());
        cell.mark = cell.mark.max(Some(mark));
    }

    /// Dots from `a` to `b`.
    pub fn way(&mut self, a: Point, b: Point) {
        let cell_mm = 2.0 * self.radius_mm / self.columns as f64;
        let steps = ((b - a).radius_mm() / (2.0 * cell_mm)).ceil().clamp(1.0, 200.0) as u32;
        for k in 1..steps {
            self.put(a + (b - a) * (f64::from(k) / f64::from(steps)), Mark::Way);
        }
    }

    /// Whether several shots share a place, so that a digit stands for them.
    #[must_use]
    pub fn has_pile(&self) -> bool {
        self.cells.iter().any(|c| c.shots > 1 && c.mark.is_some_and(Mark::is_shot))
    }

    fn middle(&self, row: usize, column: usize) -> Point {
        let at = |i: usize, n: usize| ((i as f64 + 0.5) / n as f64 * 2.0 - 1.0) * self.radius_mm;
        Point::new(at(column, self.columns), -at(row, self.rows))
    }

    fn zone(&self, row: usize, column: usize) -> usize {
        let r = self.middle(row, column).radius_mm();
        self.face.zones.iter().position(|z| r <= z.radius_mm).unwrap_or(self.face.zones.len())
    }

    /// Whether a zone line is to be dotted between this cell and the next one outwards; where the zones are filled, only
    /// between zones of one colour.
    fn on_line(&self, row: usize, column: usize, filled: bool) -> bool {
        let zone = self.zone(row, column);
        let outwards = |i: usize, n: usize| if i > n / 2 { i + 1 } else { i.wrapping_sub(1) };
        let (r, c) = (outwards(row, self.rows), outwards(column, self.columns));
        let differs =
            |r: usize, c: usize| r < self.rows && c < self.columns && self.parted(zone, self.zone(r, c), filled);
        (row != self.rows / 2 && differs(r, column)) || (column != self.columns / 2 && differs(row, c))
    }

    /// Whether a line is drawn between two zones: where zones are narrow, only between colours.
    fn parted(&self, a: usize, b: usize, filled: bool) -> bool {
        let cell_mm = 2.0 * self.radius_mm / self.columns as f64;
        let narrow = self.face.outer_radius_mm() / self.face.zones.len().max(1) as f64 / cell_mm < 3.0;
        let coloured = self.colour(a) != self.colour(b);
        match (filled, narrow) {
            (true, true) => false,
            (true, false) => a != b && !coloured,
            (false, true) => coloured,
            (false, false) => a != b,
        }
    }

    /// The colour of a zone; none outside the face.
    fn colour(&self, zone: usize) -> Option<Colour> {
        self.face.zones.get(zone).map(|z| z.colour)
    }

    /// The values of the zones along the horizontal axis, where there is room for them.
    fn labels(&self) -> Vec<(usize, String)> {
        let cell_mm = 2.0 * self.radius_mm / self.columns as f64;
        let mut inner = 0.0;
        let mut labels = Vec::new();
        for zone in self.face.zones {
            let text = zone.value.to_string();
            let at = self.columns / 2 + ((inner + zone.radius_mm) / 2.0 / cell_mm).round() as usize;
            if (zone.radius_mm - inner) / cell_mm >= text.len() as f64 + 1.0 && at + text.len() < self.columns {
                labels.push((at, text));
            }
            inner = zone.radius_mm;
        }
        labels
    }

    /// The drawing, line by line, without line ends.
    #[must_use]
    pub fn lines(&self, colour: bool) -> Vec<String> {
        let labels = self.labels();
        (0..self.rows).map(|row| self.line(row, colour, &labels)).collect()
    }

    fn line(&self, row: usize, colour: bool, labels: &[(usize, String)]) -> String {
        let mut signs: Vec<char> = (0..self.columns)
            .map(|column| {
                let cell = self.cells[row * self.columns + column];
                match cell.mark {
                    // Several shots in one place are counted.
                    Some(mark) if mark.is_shot() && cell.shots > 1 => {
                        char::from_digit(cell.shots.min(9), 10).unwrap_or('9')
                    }
                    Some(Mark::Way) if !colour => '*',
                    Some(mark) => mark.sign(),
                    None if self.on_line(row, column, colour) => '·',
                    None => ' ',
                }
            })
            .collect();
        if row == self.rows / 2 {
            for (at, text) in labels {
                let room = *at..*at + text.len();
                if room.clone().all(|i| self.cells[row * self.columns + i].mark.is_none()) {
                    for (i, c) in room.zip(text.chars()) {
                        signs[i] = c;
                    }
                }
            }
        }
        if !colour {
            return signs.into_iter().collect::<String>().trim_end().to_owned();
        }
        let mut out = String::new();
        let mut now = None;
        for (column, sign) in signs.into_iter().enumerate() {
            let ground = self.colour(self.zone(row, column));
            if now != Some(ground) {
                out.push_str(&format!("{}{}", anstyle::Reset, style(ground)));
                now = Some(ground);
            }
            out.push(sign);
        }
        out.push_str(&anstyle::Reset.to_string());
        out
    }
}

/// Print colours in the 256 colours of terminals, with ink that can be read on them.
fn style(colour: Option<Colour>) -> Style {
    let (ground, ink) = match colour {
        Some(Colour::Gold) => (220, 16),
        Some(Colour::Red) => (167, 16),
        Some(Colour::Blue) => (74, 16),
        Some(Colour::Black) => (236, 255),
        Some(Colour::White) => (254, 16),
        None => return Style::new(),
    };
    let of = |n| Some(Color::Ansi256(Ansi256Color(n)));
    Style::new().bg_color(of(ground)).fg_color(of(ink)).bold()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_land_where_they_should() {
        let face = Face::named("122").unwrap();
        let mut canvas = Canvas::new(face, 610.0, 41);
        canvas.put(Point::new(0.0, 0.0), Mark::Centre);
        canvas.put(Point::new(500.0, 0.0), Mark::Clean);
        canvas.put(Point::new(0.0, 600.0), Mark::Stray);
        canvas.put(Point::new(-5000.0, 0.0), Mark::Flyer);
        let lines = canvas.lines(false);
        assert_eq!(lines.len(), 21);
        let at = |row: usize, sign: char| lines[row].chars().position(|c| c == sign);
        assert_eq!(at(10, '╋'), Some(20));
        assert_eq!(at(10, '●'), Some(37));
        assert_eq!(at(0, '▲'), Some(20));
        assert_eq!(at(10, '◆'), Some(0), "far out goes to the edge");
    }
}
