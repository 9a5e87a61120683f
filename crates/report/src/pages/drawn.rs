//! A reading drawn: the face, the shots by class, the centre with its uncertainty, and what the advised move does.

use goldward_core::advice::Action;
use goldward_core::group::Class;
use goldward_core::plane::{Point, Sym2};
use goldward_core::shot::{Felt, Place};
use goldward_core::units::trim_number;

use super::single::Page;
use crate::draw::face::spot;
use crate::draw::svg::{self, Anchor, Paint, Svg};
use crate::draw::target::view_radius_mm;
use crate::drawing;
use crate::teller::Teller;
use crate::text::wrap;
use crate::words::Word;

const INK: &str = "#1c1c22";
const PALE: &str = "#5b5b66";
const CLEAN: &str = "#0b7a75";
const OTHER: &str = "#7a3fb0";
const FLYER: &str = "#e07b00";
const STRAY: &str = "#c2185b";
const MOVE: &str = "#0a0a0a";
const SIDE: f64 = 760.0;
const LEFT: f64 = 30.0;
const TOP: f64 = 126.0;

/// From millimetres on the face to pixels of the drawing.
#[derive(Clone, Copy)]
struct View {
    scale: f64,
}

impl View {
    fn at(self, p: Point) -> (f64, f64) {
        (LEFT + SIDE / 2.0 + p.x_mm * self.scale, TOP + SIDE / 2.0 - p.y_mm * self.scale)
    }
}

/// The drawing of a page.
#[must_use]
pub fn reading_svg(page: &Page<'_>, t: &Teller<'_>) -> String {
    let reading = &page.answer.reading;
    let face = page.settings.face;
    let mut seen = reading.places.clone();
    seen.push(reading.centre);
    let view = View { scale: SIDE / 2.0 / view_radius_mm(face, &seen) };
    let (width, height) = (SIDE + 2.0 * LEFT, TOP + SIDE + 150.0);
    let mut svg = Svg::new(width, height);
    svg.rect([0.0, 0.0, width, height], Paint::fill("#ffffff"));
    let told = page.told();
    let title = told.headline(t);
    svg.text((LEFT, 40.0), 25.0, Anchor::Start, INK, &title);
    let subtitle = page.group_title(t);
    svg.text((LEFT, 64.0), 13.0, Anchor::Start, PALE, &subtitle);
    let gain = told.worth(t);
    for (i, line) in wrap(&gain, 106, 0).lines().enumerate() {
        svg.text((LEFT, 82.0 + 16.0 * i as f64), 13.0, Anchor::Start, PALE, line);
    }
    svg.raw(&format!(
        "<clipPath id=\"view\"><rect x=\"{LEFT}\" y=\"{TOP}\" width=\"{SIDE}\" height=\"{SIDE}\"/></clipPath>"
    ));
    svg.rect([LEFT, TOP, SIDE, SIDE], Paint::fill("#eef0ee"));
    svg.raw("<g clip-path=\"url(#view)\">");
    spot(&mut svg, face, view.at(Point::default()), view.scale, SIDE / 2.0 - 8.0);
    ellipse(&mut svg, view, reading.centre, reading.spread, 1.6, "7 5");
    ellipse(&mut svg, view, reading.centre, reading.centre_cov, 2.2, "");
    for (i, place) in reading.places.iter().enumerate() {
        let listed = &page.session.shots[i];
        let called = matches!(listed.shot.place, Place::Called(_));
        let at = at_edge(view.at(*place));
        shot(&mut svg, at, page.answer.reading.class(i), called);
        let mut label = (i + 1).to_string();
        match listed.shot.felt {
            Felt::Bad => label.push('−'),
            Felt::Good => label.push('+'),
            Felt::Unmarked => {}
        }
        halo_text(&mut svg, (at.0 + 9.0, at.1 - 7.0), &label);
    }
    let moved = page.answer.advice.action == Action::Move;
    cross(&mut svg, view.at(reading.centre));
    if moved {
        arrow(&mut svg, view.at(reading.centre), at_edge(view.at(reading.centre - page.answer.advice.shift_mm)));
    }
    svg.raw("</g>");
    svg.rect([LEFT, TOP, SIDE, SIDE], Paint::line("#9a9aa3", 1.0));
    scale_bar(&mut svg, view);
    legend(&mut svg, page, t, moved);
    svg.finish(&title, &format!("{subtitle} {gain}"))
}

fn at_edge((x, y): (f64, f64)) -> (f64, f64) {
    (x.clamp(LEFT + 8.0, LEFT + SIDE - 8.0), y.clamp(TOP + 8.0, TOP + SIDE - 8.0))
}

fn ellipse(svg: &mut Svg, view: View, centre: Point, cov: Sym2, width: f64, dash: &str) {
    let (rx, ry, turn) = drawing::ellipse(cov);
    let size = (rx * view.scale, ry * view.scale);
    // White below, so that the line shows on every zone.
    svg.ellipse(view.at(centre), size, turn, Paint::line("#ffffff", width + 2.0), "");
    svg.ellipse(view.at(centre), size, turn, Paint::line(INK, width), dash);
}

fn shot(svg: &mut Svg, (x, y): (f64, f64), class: Class, called: bool) {
    let colour = match class {
        Class::Clean => CLEAN,
        Class::Other => OTHER,
        Class::Flyer => FLYER,
        Class::Stray => STRAY,
    };
    // A called shot is a place within a cell, so it is drawn hollow.
    let inner = if called {
        Paint { fill: "#ffffff", stroke: colour, width: 2.6 }
    } else {
        Paint { fill: colour, stroke: "#ffffff", width: 1.6 }
    };
    svg.path(&drawing::outline(class, x, y, 6.4), inner);
}

fn halo_text(svg: &mut Svg, at: (f64, f64), text: &str) {
    let (x, y) = (svg::n(at.0), svg::n(at.1));
    let text = svg::escape(text);
    svg.raw(&format!(
        "<text x=\"{x}\" y=\"{y}\" font-size=\"11\" fill=\"#ffffff\" stroke=\"#ffffff\" stroke-width=\"3\" \
         stroke-linejoin=\"round\">{text}</text>\n<text x=\"{x}\" y=\"{y}\" font-size=\"11\" fill=\"{INK}\">{text}</text>"
    ));
}

fn cross(svg: &mut Svg, (x, y): (f64, f64)) {
    for (colour, width) in [("#ffffff", 5.0), (INK, 2.4)] {
        svg.line((x - 12.0, y), (x + 12.0, y), colour, width);
        svg.line((x, y - 12.0), (x, y + 12.0), colour, width);
    }
}

/// An arrow from the centre of the group to where the move takes it.
fn arrow(svg: &mut Svg, (x1, y1): (f64, f64), (x2, y2): (f64, f64)) {
    let length = (x2 - x1).hypot(y2 - y1);
    if length < 1.0 {
        return;
    }
    let (ux, uy) = ((x2 - x1) / length, (y2 - y1) / length);
    let head = 13.0_f64.min(0.7 * length);
    let (bx, by) = (x2 - ux * head, y2 - uy * head);
    let points =
        [(x2, y2), (bx - uy * head * 0.45, by + ux * head * 0.45), (bx + uy * head * 0.45, by - ux * head * 0.45)];
    svg.line((x1, y1), (bx, by), "#ffffff", 6.5);
    svg.polygon(&points, Paint { fill: MOVE, stroke: "#ffffff", width: 3.0 });
    svg.line((x1, y1), (bx, by), MOVE, 3.2);
    svg.polygon(&points, Paint::fill(MOVE));
}

/// A bar of a round length, about a fifth of the picture.
fn scale_bar(svg: &mut Svg, view: View) {
    let wanted = SIDE / 5.0 / view.scale;
    let power = 10f64.powf(wanted.log10().floor());
    let length_mm = [5.0, 2.0, 1.0].into_iter().map(|k| k * power).find(|l| *l <= wanted).unwrap_or(power);
    let (x, y) = (LEFT, TOP + SIDE + 22.0);
    let end = x + length_mm * view.scale;
    svg.line((x, y), (end, y), INK, 2.0);
    svg.line((x, y - 4.0), (x, y + 4.0), INK, 2.0);
    svg.line((end, y - 4.0), (end, y + 4.0), INK, 2.0);
    let label = if length_mm >= 10.0 {
        format!("{} cm", trim_number(length_mm / 10.0))
    } else {
        format!("{} mm", trim_number(length_mm))
    };
    svg.text((end + 10.0, y + 4.0), 12.0, Anchor::Start, INK, &label);
}

fn legend(svg: &mut Svg, page: &Page<'_>, t: &Teller<'_>, moved: bool) {
    let classes: Vec<Class> = (0..page.answer.reading.places.len()).map(|i| page.answer.reading.class(i)).collect();
    let jumped = page.answer.reading.likeliest() == goldward_core::group::Pattern::Jumped;
    let other = if jumped { Word::BeforeTheJump } else { Word::OtherGroup };
    let called = page.session.shots.iter().any(|s| matches!(s.shot.place, Place::Called(_)));
    type Draw = Box<dyn Fn(&mut Svg, f64, f64)>;
    let mut items: Vec<(Draw, Word)> = Vec::new();
    for (class, name) in [
        (Class::Clean, Word::Clean),
        (Class::Other, other),
        (Class::Flyer, Word::LegendFlyer),
        (Class::Stray, Word::LegendStray),
    ] {
        if classes.contains(&class) {
            items.push((Box::new(move |svg, x, y| shot(svg, (x, y), class, false)), name));
        }
    }
    if called {
        items.push((Box::new(|svg, x, y| shot(svg, (x, y), Class::Clean, true)), Word::LegendCalled));
    }
    items.push((Box::new(|svg, x, y| cross(svg, (x, y))), Word::LegendCentre));
    let ring = |width: f64, dash: &'static str| -> Draw {
        Box::new(move |svg, x, y| svg.ellipse((x, y), (12.0, 7.0), 0.0, Paint::line(INK, width), dash))
    };
    items.push((ring(2.2, ""), Word::LegendKnown));
    items.push((ring(1.6, "4 3"), Word::LegendSpread));
    if moved {
        items.push((Box::new(|svg, x, y| arrow(svg, (x - 13.0, y), (x + 13.0, y))), Word::LegendGoal));
    }
    for (i, (draw, name)) in items.iter().enumerate() {
        let (x, y) = (LEFT + 14.0 + 250.0 * (i % 3) as f64, TOP + SIDE + 56.0 + 30.0 * (i / 3) as f64);
        draw(svg, x, y);
        svg.text((x + 22.0, y + 4.5), 13.0, Anchor::Start, INK, &t.t(*name));
    }
}
