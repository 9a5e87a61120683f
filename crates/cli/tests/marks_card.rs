//! The card is of true size, tells shot from predicted marks by shape, and says how to be safe.

mod common;
use common::run;
use resvg::usvg;

const FILE: &str = "\
eye_to_pin = 880
eye_above_arrow = 115
[arrow]
mass_g = 21
diameter_mm = 5.5
[[mark]]
distance = 18
reading = 49.9
[[mark]]
distance = 30
reading = 64.4
[[mark]]
distance = 50
reading = 91.8
";
/// Pixels of the tree for a millimetre: 96 to the inch.
const PIXELS: f32 = 96.0 / 25.4;

fn drawn(name: &str, more: &[&str]) -> Vec<u8> {
    let home = tempfile::tempdir().unwrap();
    let (file, card) = (home.path().join("m.toml"), home.path().join(name));
    std::fs::write(&file, FILE).unwrap();
    let args = [&["marks", "card", file.to_str().unwrap(), "-o", card.to_str().unwrap()][..], more].concat();
    let got = run(&args);
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    std::fs::read(card).unwrap()
}

fn svg(more: &[&str]) -> String {
    String::from_utf8(drawn("card.svg", more)).unwrap()
}

fn group<'a>(at: &'a usvg::Group, id: &str) -> Option<&'a usvg::Group> {
    at.children().iter().find_map(|node| match node {
        usvg::Node::Group(g) if g.id() == id => Some(g.as_ref()),
        usvg::Node::Group(g) => group(g, id),
        _ => None,
    })
}

#[test]
fn the_ruler_is_fifty_millimetres() {
    for (more, size) in [(&["--paper", "a4"][..], (210.0, 297.0)), (&["--paper", "letter", "--strip"], (215.9, 279.4))]
    {
        let text = svg(more);
        assert!(text.contains(&format!("width=\"{}mm\" height=\"{}mm\"", size.0, size.1)), "{more:?}");
        let tree = usvg::Tree::from_str(&text, &usvg::Options::default()).unwrap();
        assert!((tree.size().width() - size.0 * PIXELS).abs() < 0.01);
        let ruler = group(tree.root(), "ruler-50mm").unwrap().abs_bounding_box();
        assert!((ruler.width() / PIXELS - 50.0).abs() < 0.001, "{}", ruler.width() / PIXELS);
    }
}

#[test]
fn a_page_is_as_large_as_its_paper() {
    // In points: 210 x 297 mm. With the content of the drawing filling it, 50 mm of 210 are 141.73 points of 595.28; the
    // content itself is followed in `plot::raster`.
    for (more, size) in [(&[][..], [595.276, 841.89]), (&["--paper", "letter"], [612.0, 792.0])] {
        let pdf = drawn("card.pdf", more);
        assert!(pdf.starts_with(b"%PDF-"));
        let text = String::from_utf8_lossy(&pdf);
        let start = text.find("/MediaBox").unwrap() + 9;
        let inside = text[start..].split(['[', ']']).nth(1).unwrap();
        let numbers: Vec<f64> = inside.split_ascii_whitespace().map(|x| x.parse().unwrap()).collect();
        assert!((numbers[2] - size[0]).abs() < 0.02 && (numbers[3] - size[1]).abs() < 0.02, "{numbers:?}");
    }
    assert!(drawn("card.png", &[]).starts_with(b"\x89PNG"));
}

/// Where the wedge or tick of each distance stands on the first strip, in millimetres down the page.
fn ticks(text: &str) -> Vec<(f64, f64)> {
    let strip = &text[text.find("<g class=\"strip\"").unwrap()..];
    let strip = strip.split("<g class=\"strip\"").nth(1).unwrap();
    strip
        .split("data-m=\"")
        .skip(1)
        .map(|part| {
            let metres = part.split('"').next().unwrap().parse().unwrap();
            let y = match part.split_once("points=\"") {
                Some((before, rest)) if !before.contains("</g>") => rest.split([',', ' ']).nth(1).unwrap(),
                _ => part.split("y1=\"").nth(1).unwrap().split('"').next().unwrap(),
            };
            (metres, y.parse().unwrap())
        })
        .collect()
}

#[test]
fn the_strip_is_as_long_as_the_scale() {
    for more in [&[][..], &["--strip"]] {
        let ticks = ticks(&svg(more));
        let at = |metres: f64| ticks.iter().find(|t| (t.0 - metres).abs() < 1e-9).unwrap().1;
        // The marks as they were shot, in millimetres of the scale: longer distances lower, as the pin goes.
        assert!((at(30.0) - at(18.0) - (64.4 - 49.9)).abs() < 0.011, "{ticks:?}");
        assert!((at(50.0) - at(30.0) - (91.8 - 64.4)).abs() < 0.011, "{ticks:?}");
        assert!(ticks.windows(2).all(|w| w[0].0 < w[1].0 && w[0].1 <= w[1].1), "{ticks:?}");
    }
}

#[test]
fn what_was_shot_differs_by_shape_and_the_caution_stands_there() {
    let text = svg(&["--to", "70"]);
    // One strip: a wedge for each mark that was shot.
    assert_eq!(text.matches("<g class=\"shot\"").count(), 3);
    assert!(text.contains("<g class=\"predicted\"") && text.contains("<g class=\"extrapolated\""));
    let plain = text.replace('\n', " ");
    for part in ["predicted beyond them", "100 %", "safe", "overshoot", "range captain", "80 %"] {
        assert!(plain.contains(part), "{part}");
    }
    assert_eq!(svg(&["--strip"]).matches("<g class=\"strip\"").count(), 3);
    let yards = svg(&["--yards", "--from", "20", "--to", "60"]);
    assert!(yards.contains(">25 yd<") && !yards.contains(">26 yd<") && yards.contains(">50 m<"), "50 m was shot");
}

#[test]
fn every_span_of_distances_is_drawn() {
    for more in [
        &["--from", "18", "--to", "30", "--every", "1"][..],
        &["--from", "3", "--to", "20"],
        &["--from", "10", "--to", "90", "--every", "1"],
        &["--from", "18", "--to", "50", "--every", "32"],
        &["--from", "10", "--to", "70", "--every", "0.5"],
    ] {
        usvg::Tree::from_str(&svg(more), &usvg::Options::default()).unwrap();
    }
}
