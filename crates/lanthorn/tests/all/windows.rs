//! Windows and coats on the wand: good ones hold, and each fault is told with its place and the way out.

use crate::wand::Bench;

/// The wand with more said of its blade and about windows.
fn wand(blade: &str, windows: &str) -> Bench {
    Bench::new(|t| {
        let glow = "glow = \"edges\"\n";
        format!("{}\n{windows}", t.replace(glow, &format!("{glow}{blade}\n")))
    })
}

const COATS: &str = "coats = [\"primer-grey\", \"paint-gold\"]\nlining = \"lining-white\"";

#[test]
fn masked_edges_hold_and_are_written() {
    let edge = "[window.edge]\nin = \"blade\"\nband = \"edges\"\nwidth = \"8 mm\"\nstations = [\"140 mm\", \"350 mm\"]\ncoats = \"clear-gloss\"\n";
    let bench = wand(COATS, edge);
    let output = bench.lanthorn().args(["build", "prop.toml", "--out", "out"]).output().unwrap();
    let said = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap()).concat();
    assert_eq!(output.status.code(), Some(0), "{said}");
    let read = |name: &str| std::fs::read_to_string(bench.path("out").join(name)).unwrap();
    let windows: serde_json::Value = serde_json::from_str(&read("light/windows.json")).unwrap();
    let window = &windows["windows"][0];
    assert_eq!((window["name"].as_str(), window["coats"][0].as_str()), (Some("edge"), Some("clear-gloss")));
    // Two edges of a slim oval, 8 mm to each side of them, 210 mm long: a little less on so round an edge.
    let area = window["area_mm2"].as_f64().unwrap();
    assert!((0.9..1.1).contains(&(area / (4.0 * 8.0 * 210.0))), "{area}");
    let side = read("drawings/side.svg");
    assert!(side.contains("Window edge in blade") && side.contains("window edge"), "outlined and named");
    let findings = read("findings.json");
    for id in ["window_area", "window_lit", "window_reach", "window_mask", "window_passes"] {
        assert!(findings.contains(&format!("\"{id}\"")), "{id}");
    }
}

#[test]
fn faulty_windows_are_told_each_for_itself() {
    let windows = [
        "[window.nowhere]\nin = \"blade\"\nstations = [\"20 mm\", \"60 mm\"]\n",
        "[window.handle]\nin = \"grip\"\nfaces = \"+z\"\n",
        "[window.far]\nin = \"blade\"\nstations = [\"320 mm\", \"350 mm\"]\nfaces = [\"+z\", \"-z\"]\n",
        "[window.thin]\nin = \"blade\"\nband = \"+y\"\nwidth = \"1 mm\"\nstations = [\"150 mm\", \"200 mm\"]\n",
        "[window.painted]\nin = \"blade\"\nband = \"-y\"\nwidth = \"6 mm\"\nstations = [\"150 mm\", \"200 mm\"]\ncoats = [\"primer-black\"]\n",
    ]
    .concat();
    let bench = Bench::new(|t| {
        let t = t.replace("rows = 2\n", "rows = 2\nto = \"220 mm\"\n");
        format!("{}\n{windows}", t.replace("glow = \"edges\"\n", &format!("glow = \"edges\"\n{COATS}\n")))
    });
    let (code, said) = bench.check();
    assert_eq!(code, 1, "{said}");
    for (fails, words) in [
        ("window nowhere (window_area)", "No point of blade keeps everything that this window says"),
        ("window handle (window_lit)", "write role = \"lit\" for grip"),
        ("window far (window_lit)", "its pixels stand from station"),
        ("window far (window_reach)", "let the strip reach it"),
        ("window thin (window_mask)", "make window.thin.width or its stations 2 mm or more"),
        ("window painted (window_passes)", "leave opaque coats out of the window"),
    ] {
        assert!(said.contains(&format!("FAILS {fails}")) && said.contains(words), "{fails}: {said}");
    }
    assert!(
        !said.contains("FAILS window thin (window_lit)") && !said.contains("FAILS window thin (window_passes)"),
        "{said}"
    );
}

#[test]
fn a_black_plastic_shines_nowhere_and_a_body_that_is_not_there_is_refused() {
    let (code, said) = Bench::new(|t| t.replacen("abs-white", "pla-black", 1)).check();
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("FAILS window blade (window_passes)") && said.contains("a paler plastic"), "{said}");
    let (code, said) = wand("", "[window.edge]\nin = \"blaed\"\n").check();
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("the shape has no body \"blaed\"") && said.contains("^^^"), "{said}");
}
