//! The wand's light: what is written about it, and that it is the same every time.

use crate::wand::Bench;

/// The wand with its light followed at a glance, and painted beside its edges.
fn lit(more: &str) -> Bench {
    let window =
        "[window.edge]\nin = \"blade\"\nband = \"edges\"\nwidth = \"8 mm\"\nstations = [\"140 mm\", \"340 mm\"]\n";
    Bench::new(|t| {
        let t = t.replace("follow = false\n", &format!("noise = \"50 %\"\nadvise = \"never\"\n{more}"));
        let coats = "glow = \"edges\"\ncoats = [\"primer-white\", \"primer-grey\", \"paint-black\"]\n";
        format!("{}\n{window}", t.replace("glow = \"edges\"\n", coats))
    })
}

#[test]
fn the_light_is_told_drawn_and_shown() {
    let bench = lit("levels = \"even\"\n");
    let build = |out: &str, threads: &str| {
        let mut command = bench.lanthorn();
        command.env("RAYON_NUM_THREADS", threads).args(["build", "prop.toml", "--out", out]).output().unwrap()
    };
    let output = build("out", "3");
    let said = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap()).concat();
    assert!(matches!(output.status.code(), Some(0 | 1)), "{said}");
    let read = |name: &str| std::fs::read(bench.path("out").join(name)).unwrap();
    let findings: serde_json::Value = serde_json::from_slice(&read("findings.json")).unwrap();
    let all = findings["findings"].as_array().or(findings.as_array()).unwrap().clone();
    for id in [
        "glow_even",
        "glow_ripple",
        "glow_across",
        "glow_ends",
        "glow_bright",
        "glow_daylight",
        "glow_leak",
        "glow_noise",
    ] {
        assert!(all.iter().any(|f| f["id"] == id), "{id} is missing: {said}");
    }
    // A bare strip has some 450 lm a metre; a tenth of it through 20 mm of white edges is hundreds of candela a square metre.
    let bright =
        all.iter().find(|f| f["id"] == "glow_bright" && f["subject"].as_str().unwrap().contains("dim")).unwrap();
    assert!(bright["measured"]["value"].as_f64().unwrap() > 2.0, "{bright}");
    // Three coats, two of which hide, keep the light in.
    let leak = all.iter().find(|f| f["id"] == "glow_leak").unwrap();
    assert_eq!(leak["verdict"], "holds", "{leak}");

    let index: serde_json::Value = serde_json::from_slice(&read("light/response.json")).unwrap();
    let pixels = index["pixels"].as_array().unwrap();
    let levels: Vec<f64> = pixels.iter().map(|p| p["level"].as_f64().unwrap()).collect();
    assert!(levels.iter().all(|l| (0.05..=1.0).contains(l)) && levels.contains(&1.0), "{levels:?}");
    for side in ["front", "back", "edge"] {
        for room in ["dark", "bright"] {
            assert_eq!(&read(&format!("light/lit-{side}-{room}.png"))[1..4], b"PNG");
        }
    }
    let drawing = String::from_utf8(read("drawings/light-1-edge.svg")).unwrap();
    assert!(drawing.contains("Window edge") && !drawing.contains("NaN"));

    build("again", "1");
    for name in
        ["light/response-1.bin", "light/response.json", "light/1-edge.csv", "findings.json", "light/lit-front-dark.png"]
    {
        assert!(std::fs::read(bench.path("again").join(name)).unwrap() == read(name), "{name} differs with one thread");
    }
}

#[test]
fn light_left_out_is_said() {
    let (code, said) = Bench::new(str::to_owned).check();
    assert!(code == 0 && said.contains("glow_left") && said.contains("light.follow = false"), "{said}");
}
