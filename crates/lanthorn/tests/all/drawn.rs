//! Projects from drawings and pictures.

use crate::wand::Bench;
use std::process::Output;

const LEAF: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="360mm" height="40mm" viewBox="0 0 360 40">
  <path id="grip" d="M0 12 H120 V28 H0 Z"/>
  <path id="blade" d="M120 10 C200 -6 300 6 360 20 C300 34 200 46 120 30 Z"/></svg>"#;
const ABOVE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 90 20">
  <path id="grip" d="M0 7 H30 V13 H0 Z"/><path id="blade" d="M30 6 L90 9 V11 L30 14 Z"/></svg>"#;

fn said(output: Output) -> (i32, String) {
    let said = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap()).concat();
    assert!(!said.contains("panicked"), "{said}");
    (output.status.code().unwrap_or(-1), said)
}

fn bench(drawings: &[(&str, &str)]) -> Bench {
    let bench = Bench::new(str::to_owned);
    for (name, text) in drawings {
        std::fs::write(bench.path(name), text).unwrap();
    }
    bench
}

fn new(bench: &Bench, words: &[&str]) -> (i32, String) {
    said(bench.lanthorn().arg("new").args(words).output().unwrap())
}

#[test]
fn drawn_outlines_become_a_project_that_checks() {
    let bench = bench(&[("side.svg", LEAF), ("top.svg", ABOVE)]);
    let sections = ["--section", "grip=oval", "--section", "lens"];
    let (code, said) = new(
        &bench,
        &[&["leaf", "--side", "side.svg", "--top", "top.svg", "--length", "72 cm"][..], &sections].concat(),
    );
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("because it was drawn so") && said.contains("the top is scaled by 15.118"), "{said}");
    // 72 cm is twice what is drawn: the grip 240 x 32 mm, as deep as the top shows it by its own scale.
    assert!(said.contains("grip: plain, 240.0 x 32.0 x 48.0 mm"), "{said}");
    assert!(said.contains("blade: lit, 480.0 x"), "{said}");
    let project = std::fs::read_to_string(bench.path("leaf/prop.toml")).unwrap();
    assert!(project.contains("length = \"72 cm\"") && project.contains("file = \"shape/side.3mf\""), "{project}");
    // Its light is not what this is about, and takes minutes.
    let dark = project.replace("[light]\n", "[light]\nfollow = false\n");
    assert_ne!(dark, project);
    std::fs::write(bench.path("leaf/prop.toml"), dark).unwrap();
    let (code, said) = crate::drawn::said(bench.lanthorn().args(["check", "leaf/prop.toml"]).output().unwrap());
    assert!(code == 0 || code == 1, "{said}");
    // The same drawing gives the same bytes, and what is there is not written over.
    let first = std::fs::read(bench.path("leaf/shape/side.3mf")).unwrap();
    assert_eq!(
        new(
            &bench,
            &[&["twin", "--side", "side.svg", "--top", "top.svg", "--length", "72 cm"][..], &sections].concat()
        )
        .0,
        0
    );
    assert_eq!(std::fs::read(bench.path("twin/shape/side.3mf")).unwrap(), first);
    assert_eq!(new(&bench, &["leaf", "--side", "side.svg", "--thick", "9 mm"]).0, 2);
}

#[test]
fn a_length_from_a_picture_goes_into_the_project() {
    let bench = bench(&[("side.svg", LEAF)]);
    let marks = ["--figure", "812,100 812,1000", "--prop", "300,400 300,850", "--wearer", "180 cm"];
    let (code, told) = said(bench.lanthorn().arg("proportion").args(marks).output().unwrap());
    // Half the figure's height, which stands 97.5 % of 180 cm.
    assert!(code == 0 && told.contains("the prop is 87.8 cm long"), "{told}");
    assert!(told.contains("leans by 15 degrees") && told.contains("95 % to 100 %"), "{told}");
    let (code, told) = new(&bench, &[&["leaf", "--side", "side.svg", "--thick", "9 mm"][..], &marks].concat());
    assert!(code == 0 && told.contains("the prop is 87.8 cm long"), "{told}");
    let project = std::fs::read_to_string(bench.path("leaf/prop.toml")).unwrap();
    assert!(project.contains("length = \"878 mm\"") && project.contains("height = \"180 cm\""), "{project}");
    for (words, wanted) in [
        (&["--figure", "812,100", "--prop", "300,400 300,850", "--wearer", "180 cm"][..], "give two marks"),
        (&["--figure", "812,100 812,NaN", "--prop", "3,4 3,8", "--wearer", "180 cm"], "give pixels"),
        (&["--figure", "8,1 8,9", "--prop", "300,400 300,850", "--wearer", "180 cm"], "larger picture"),
        (&["--figure", "812,100 812,1000", "--prop", "300,400 300,850"], "how tall is the figure?"),
        (&["--wearer", "180 cm"], "mark the figure"),
    ] {
        let (code, told) = said(bench.lanthorn().arg("proportion").args(words).output().unwrap());
        assert!(code == 2 && told.contains(wanted), "{words:?}: {told}");
    }
}

#[test]
fn drawings_that_do_not_do_are_refused_with_the_way_out() {
    let svg =
        |inside: &str| format!("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 99 99\">\n{inside}</svg>");
    let [text, picture, open, bow, point] = [
        "<text>blade</text>",
        "<image href=\"a.png\"/>",
        "<path id=\"edge\" d=\"M0 0H9V9\"/>",
        "<path id=\"bow\" d=\"M0 0L40 9V0L0 9Z\"/>",
        "<path d=\"M3 3\"/>",
    ]
    .map(svg);
    let standing = svg("<rect id=\"blade\" width=\"9\" height=\"90\"/>");
    let drawings = [
        ("side.svg", LEAF),
        ("text.svg", &text),
        ("picture.svg", &picture),
        ("open.svg", &open),
        ("bow.svg", &bow),
        ("point.svg", &point),
        ("empty.svg", ""),
        ("mesh.svg", "solid ascii"),
        ("standing.svg", &standing),
        ("corners.csv", "1,0\n0,2\n"),
    ];
    let bench = bench(&drawings);
    let thick = ["--thick", "9 mm"];
    for (words, wanted) in [
        (&["--side", "text.svg"][..], "text.svg: line 2, column 1: <text> is no outline"),
        (&["--side", "picture.svg"], "draw over the picture"),
        (&["--side", "open.svg"], "edge is open between"),
        (&["--side", "bow.svg"], "bow crosses itself at"),
        (&["--side", "point.svg"], "line 2, column 1: d of <path> has one point"),
        (&["--side", "empty.svg"], "no SVG drawing"),
        (&["--side", "mesh.svg"], "no SVG drawing"),
        (&["--side", "missing.svg"], "name an SVG drawing"),
        (&["--side", "standing.svg"], "--butt below"),
        (&["--side", "side.svg", "--section", "star"], "none of lens, oval, round and bevel"),
        (&["--side", "side.svg", "--section", "hilt=oval"], "there are: grip, blade"),
        (&["--side", "side.svg", "--section", "corners.csv"], "line 2: (0, 2) lies outside"),
        (&["--side", "side.svg", "--spacing", "0.05 mm", "--length", "9 m"], "take a wider spacing"),
        (&["--side", "side.svg", "--top", "bow.svg"], "bow crosses itself"),
        (&["--side", "side.svg", "--top", "standing.svg"], "leave --thick out"),
    ] {
        let (code, told) = new(&bench, &[&["other"], words, &thick].concat());
        assert!(code == 2 && told.contains(wanted), "{words:?}: {told}");
        assert!(!bench.path("other").exists(), "{words:?}");
    }
    let (code, told) = new(&bench, &["other", "--side", "side.svg"]);
    assert!(code == 2 && told.contains("how thick is grip?"), "{told}");
    let (code, told) = new(&bench, &["other"]);
    assert!(code == 2 && told.contains("--shape"), "{told}");
    let (code, told) =
        new(&bench, &["stood", "--side", "standing.svg", "--butt", "below", "--section", "round", "--length", "30 cm"]);
    assert!(code == 0 && told.contains("blade: lit, 300.0 x 30.0 x 30.0 mm"), "{told}");
}
