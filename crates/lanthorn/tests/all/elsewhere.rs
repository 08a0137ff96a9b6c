//! The same prop for somebody else, whose pattern it is, and what changed.

use crate::wand::Bench;

fn text(bench: &Bench, path: &str) -> String {
    std::fs::read_to_string(bench.path(path)).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn run(bench: &Bench, words: &[&str]) -> (i32, String) {
    let output = bench.lanthorn().args(words).output().unwrap();
    let said = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap()).concat();
    assert!(!said.contains("panicked"), "{said}");
    (output.status.code().unwrap_or(-1), said)
}

#[test]
fn the_same_prop_is_made_for_somebody_else_and_compared() {
    // As long as a fifth of its wearer, and somebody's pattern.
    let credits = "[credits]\nauthor = \"A. Warden & friends\"\nlicence = \"CC BY-SA 4.0\"\nalso = [\"shape by the reed cutters\"]\n";
    let bench = Bench::new(|t| {
        let sized = t.replace("length = \"36 cm\"", "of-wearer = \"20 %\"").replace("168 cm", "180 cm");
        format!("{sized}\n{credits}")
    });
    let (code, said) = run(&bench, &["build", "prop.toml", "--out", "mine"]);
    assert!(code == 0 || code == 1, "{said}");
    let (code, said) = run(
        &bench,
        &["build", "prop.toml", "--out", "yours", "--for", "wearer.height = 190 cm", "--for", "prop.inches = true"],
    );
    assert!(
        (code == 0 || code == 1) && said.contains("made for wearer.height = \"190 cm\", prop.inches = true"),
        "{said}"
    );
    // Every drawing carries whose it is, on what terms and for whom; so do page and mesh files.
    let drawings = std::fs::read_dir(bench.path("yours/drawings")).unwrap();
    let mut count = 0;
    for drawing in drawings {
        let path = drawing.unwrap().path();
        let svg = std::fs::read_to_string(&path).unwrap();
        for words in ["Author: A. Warden &amp; friends", "Licence: CC BY-SA 4.0", "shape by the reed cutters", "190"] {
            assert!(svg.contains(words), "{}: {words}", path.display());
        }
        count += 1;
    }
    assert!(count >= 4, "{count}");
    assert!(text(&bench, "yours/index.html").contains("Licence: CC BY-SA 4.0"));
    assert!(text(&bench, "yours/index.html").contains("<dt>Made for</dt><dd>wearer.height = &quot;190 cm&quot;"));
    assert!(!text(&bench, "mine/index.html").contains("Made for"));
    let found = text(&bench, "yours/findings.json");
    assert!(found.contains("\"length_mm\": 380.0") && found.contains("wearer.height = \\\"190 cm\\\""), "{found}");
    // The file stays as it is.
    assert!(text(&bench, "prop.toml").contains("height = \"180 cm\""));

    let (code, said) = run(&bench, &["compare", "mine", "yours", "--page", "changed.html"]);
    let said = said.replace('\u{202f}', " ");
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("length: 360 mm -> 380 mm; +20 mm (+5.6 %)") && said.contains("blade 1: "), "{said}");
    assert!(said.contains("printed mass: ") && said.contains("\nCosts\n"), "{said}");
    assert!(text(&bench, "changed.html").contains("<h1>What changed</h1>"));
    let (code, said) = run(&bench, &["compare", "mine", "mine", "--page", "changed.html"]);
    assert!(code == 0 && said.contains("nothing differs"), "{said}");
    // An older pack tells less.
    std::fs::remove_file(bench.path("mine/plates/index.json")).unwrap();
    let (code, said) = run(&bench, &["compare", "mine", "yours"]);
    assert!(code == 0 && said.contains("mine has no plates/index.json"), "{said}");
    for (words, wanted) in [
        (&["compare", "mine", "nowhere"][..], "nowhere is no folder"),
        (&["compare", "mine/drawings", "yours"], "mine/drawings is no pack"),
        (&["compare", "mine", "yours", "--page", "prop.toml"], "is no comparison"),
    ] {
        let (code, said) = run(&bench, words);
        assert!(code == 2 && said.contains(wanted), "{words:?}: {said}");
    }
}

#[test]
fn a_value_that_will_not_do_is_told_with_its_key() {
    let bench = Bench::new(str::to_owned);
    for (value, wanted) in [
        ("wearer.hight = 182 cm", "wearer.hight: there is no such key"),
        ("waerer.height = 182 cm", "waerer: there is no table [waerer]"),
        ("wearer.height = 182", "wearer.height"),
        ("wearer.height = 9 m", "wearer.height"),
        ("wearer.height", "give a key and its value"),
        ("body.blade.glow = stars", "body.blade.glow"),
    ] {
        let (code, said) = run(&bench, &["check", "prop.toml", "--for", value]);
        assert!(code == 2 && said.contains(wanted), "{value}: {said}");
        if value.contains('=') {
            // Place and way out.
            assert!(
                said.contains("prop.toml with ") && said.contains(", line ") && said.contains("to mend it: "),
                "{said}"
            );
        }
    }
}
