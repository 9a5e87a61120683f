//! Drawings are what their endings say.

mod common;
use common::{read_csv, run};

const CSV: &[u8] =
    b"x_mm,y_mm,call,felt\n-60,110,,\n-90,140,,bad\n,,8@11,good\n-70,90,,\n-75,120,,\n-65,105,,\n-80,100,,\n900,-800,,\n";

fn drawn(name: &str) -> Vec<u8> {
    let home = tempfile::tempdir().unwrap();
    let file = home.path().join(name);
    let got = read_csv(CSV, &["--plot", file.to_str().unwrap()]);
    assert_eq!((got.code, got.err.as_str()), (0, ""), "{got:?}");
    assert!(got.out.contains("\n\nDrawn into ") && !got.out.contains('\u{fffd}'), "{}", got.out);
    std::fs::read(file).unwrap()
}

#[test]
fn an_svg_parses_and_says_the_advice() {
    let svg = String::from_utf8(drawn("a.svg")).unwrap();
    let tree = resvg::usvg::Tree::from_str(&svg, &resvg::usvg::Options::default()).unwrap();
    assert!(tree.size().width() > 500.0);
    assert!(svg.contains("<title>Move the sight: ") && svg.contains("stray") && svg.contains("called"), "{svg}");
}

#[test]
fn a_png_and_a_pdf_have_their_marks() {
    let png = drawn("a.PNG");
    assert!(png.starts_with(b"\x89PNG\r\n\x1a\n") && png.len() > 10_000);
    let pdf = drawn("a.pdf");
    assert!(pdf.starts_with(b"%PDF-") && pdf.len() > 5_000);
    assert!(pdf.trim_ascii_end().ends_with(b"%%EOF"));
}

#[test]
fn every_face_is_drawn() {
    let home = tempfile::tempdir().unwrap();
    for face in goldward_core::face::Face::all() {
        let file = home.path().join(format!("{}.svg", face.name));
        let got = run(&["face", face.name, "--plot", file.to_str().unwrap()]);
        assert_eq!(got.code, 0, "{got:?}");
        let svg = std::fs::read_to_string(file).unwrap();
        resvg::usvg::Tree::from_str(&svg, &resvg::usvg::Options::default()).unwrap();
    }
}

#[test]
fn a_file_that_cannot_be_written_is_the_data_s_fault() {
    let got = read_csv(CSV, &["--plot", "no-such-folder/a.svg"]);
    assert_eq!(got.code, 1);
    assert!(got.err.contains("cannot be written"), "{}", got.err);
}
