//! Coupons and calibration by the commands a maker types.

use crate::wand::Bench;
use prop::coupon::Feature;
use solid::read::{Format, shape};

/// Exit code and everything said.
fn run(bench: &Bench, words: &[&str]) -> (i32, String) {
    let output = bench.lanthorn().args(words).output().unwrap();
    let said = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap()).concat();
    (output.status.code().unwrap_or(-1), said)
}

fn text(bench: &Bench, name: &str) -> String {
    std::fs::read_to_string(bench.path(name)).unwrap()
}

/// The coupon's own sheet with some steps of the bar's ladder and the rule filled in.
fn filled(sheet: &str) -> String {
    let fill = |line: &str| {
        let fields: Vec<&str> = line.split(',').collect();
        let [feature, step] = [3, 5].map(|k| fields.get(k).copied().unwrap_or(""));
        let more = match (feature, step) {
            ("bar-slot", "1" | "2") => ",press",
            ("bar-slot", "3") => "12.20 mm,slides",
            ("bar-slot", "4") => "12.31 mm,slides",
            ("outside", _) => "99.6 mm,",
            ("inside", _) => "49.7 mm,",
            ("thickness", _) => "3.02 mm,",
            ("height", _) => "12.03 mm,",
            _ => return line.to_owned(),
        };
        line.strip_suffix(",").and_then(|l| l.rsplit_once(',')).map_or(line.to_owned(), |(l, _)| format!("{l},{more}"))
    };
    sheet.lines().map(fill).collect::<Vec<_>>().join("\n")
}

#[test]
fn from_coupon_to_slot() {
    let bench = Bench::new(str::to_owned);
    let (code, said) = run(&bench, &["coupon", "fit", "prop.toml", "--out", "coupon"]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("coupon 1: printer bench, abs-white") && said.contains(" min ("), "{said}");
    for name in [
        "coupon/coupon.svg",
        "coupon/readings.csv",
        "coupon/coupon-1/12-bar-slot.3mf",
        "coupon/coupon-1/12-bar-slot.stl",
    ] {
        assert!(bench.path(name).is_file(), "{name}");
    }
    let bytes = std::fs::read(bench.path("coupon/coupon-1/12-bar-slot.3mf")).unwrap();
    let block = shape(Format::ThreeMf, &bytes, "b").unwrap();
    assert_eq!((block.bodies.len(), block.bodies[0].mesh.shells().len()), (1, 1));
    let sheet = text(&bench, "coupon/readings.csv");
    assert!(Feature::ALL.iter().filter(|f| **f != Feature::BarBore).all(|f| sheet.contains(f.name())), "{sheet}");
    // An empty sheet is replaced, and so are the coupons.
    assert_eq!(run(&bench, &["coupon", "fit", "prop.toml", "--out", "coupon"]).0, 0);

    let before = run(&bench, &["build", "prop.toml", "--out", "before"]);
    assert_eq!(before.0, 0, "{}", before.1);
    std::fs::write(bench.path("coupon/readings.csv"), filled(&sheet)).unwrap();
    let (code, said) = run(&bench, &["coupon", "fit", "prop.toml", "--out", "coupon"]);
    assert!(code == 2 && said.contains("is filled in"), "a maker's readings are not replaced: {said}");
    let calibrate = ["calibrate", "fit", "coupon/readings.csv", "--date", "2026-11-25"];
    let (code, said) = run(&bench, &calibrate);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("slide gap a side, as drawn: 0.11 mm") && said.contains("shrinkage: 0.47 %"), "{said}");
    let learnt = text(&bench, "learnt.toml");
    assert!(learnt.contains("date = \"2026-11-25\"") && learnt.contains("feature = \"bar-slot\""), "{learnt}");
    let (code, said) = run(&bench, &calibrate);
    assert!(code == 2 && said.contains("learnt on 2026-11-25 already"), "{said}");
    assert_eq!(text(&bench, "learnt.toml"), learnt);

    // The slots follow, findings say from where, and the pack knows that its inputs changed.
    let after = run(&bench, &["build", "prop.toml", "--out", "after"]);
    // What slid on the coupon is no press fit, though common practice would call it one.
    assert_eq!(after.0, 0, "{}", after.1);
    assert!(after.1.contains("slide-gap learnt from a sheet for abs-white of 2026-11-25"), "{}", after.1);
    assert!(after.1.contains("Set the scale for abs-white to 100.47 %"), "{}", after.1);
    let findings = |pack: &str| -> serde_json::Value {
        serde_json::from_str(&text(&bench, &format!("{pack}/findings.json"))).unwrap()
    };
    let (old, new) = (findings("before"), findings("after"));
    assert_ne!(old["input_hash"], new["input_hash"]);
    let gap = |all: &serde_json::Value| {
        let of = all["findings"]
            .as_array()
            .unwrap()
            .iter()
            .find(|f| f["id"] == "gap_least" && f["subject"] == "spine")
            .unwrap();
        (of["measured"]["value"].as_f64().unwrap(), of["limit"]["source"].as_str().unwrap().to_owned())
    };
    let ((was, _), (is, source)) = (gap(&old), gap(&new));
    assert!(is < was - 0.02, "slots that slid at 0.15 mm are drawn narrower: {was} {is}");
    assert!(source.contains("slide-gap learnt from a sheet for abs-white"), "{source}");
}

#[test]
fn measured_times_narrow_the_band() {
    let bench = Bench::handle();
    let line = |said: &str| said.lines().find(|l| l.contains("side by side")).unwrap().to_owned();
    let (_, before) = bench.check();
    let rows: String = [1.31, 1.28, 1.3, 1.33, 1.29, 1.3, 1.31, 1.27]
        .iter()
        .map(|f| format!("p,bench,{} min,{} min\n", 608, 8.0 + 600.0 * f))
        .collect();
    std::fs::write(bench.path("times.csv"), format!("piece,printer,predicted,measured\n{rows}")).unwrap();
    let (code, said) = run(&bench, &["calibrate", "prints", "times.csv", "--date", "2026-11-25"]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("bench: prints take 129 % (") || said.contains("bench: prints take 130 % ("), "{said}");
    let (_, after) = bench.check();
    assert_ne!(line(&before), line(&after));
    assert!(after.contains("pace learnt from 8 timed prints, the last of 2026-11-25"), "{after}");
    // A piece of the pack needs no prediction of one's own.
    std::fs::write(
        bench.path("more.csv"),
        "piece,printer,predicted,measured\n01-grip,bench,,6 h\n99-grip,bench,,6 h\n",
    )
    .unwrap();
    let (code, said) = run(&bench, &["calibrate", "prints", "more.csv"]);
    assert!(code == 2 && said.contains("more.csv, line 3, column 1: piece: \"99-grip\" is not known here"), "{said}");
}

#[test]
fn a_plate_is_timed_by_its_name() {
    let bench = Bench::handle();
    let (code, said) = run(&bench, &["build", "prop.toml", "--out", "pack"]);
    assert_eq!(code, 0, "{said}");
    let plates: serde_json::Value = serde_json::from_str(&text(&bench, "pack/plates/index.json")).unwrap();
    let plate = &plates["plates"].as_array().unwrap()[0];
    let (name, time_s) = (plate["name"].as_str().unwrap(), plate["time_s"]["value"].as_f64().unwrap());
    // The layers took 1.3 times as long as is computed; the start took its 8 minutes.
    let took_min = 8.0 + 1.3 * (time_s / 60.0 - 8.0);
    let sheet = |plate: &str| format!("piece,printer,predicted,measured\n{plate},bench,,{took_min:.3} min\n");
    std::fs::write(bench.path("wrong.csv"), sheet(&format!("{name}1"))).unwrap();
    let (code, said) = run(&bench, &["calibrate", "prints", "wrong.csv"]);
    assert!(code == 2 && said.contains(&format!("{name}1\" is not known here")), "{said}");
    assert!(said.contains(&format!("did you mean \"{name}\"?")), "{said}");
    assert!(!bench.path("learnt.toml").exists());
    std::fs::write(bench.path("times.csv"), sheet(name)).unwrap();
    let (code, said) = run(&bench, &["calibrate", "prints", "times.csv", "--date", "2026-11-25"]);
    assert_eq!(code, 0, "{said}");
    let learnt = text(&bench, "learnt.toml");
    assert!(learnt.contains(&format!("piece = \"{name}\"")), "{learnt}");
    let seconds = |key: &str| {
        let line = learnt.lines().find_map(|l| l.strip_prefix(key)?.strip_prefix(" = \"")?.strip_suffix(" s\""));
        line.unwrap().parse::<f64>().unwrap()
    };
    assert!((seconds("computed") - (time_s - 480.0)).abs() < 1.0, "{learnt}");
    assert!((seconds("measured") / seconds("computed") - 1.3).abs() < 1e-3, "{learnt}");
    let (_, after) = bench.check();
    assert!(after.contains("pace learnt from 1 timed prints, the last of 2026-11-25"), "{after}");
}

#[test]
fn a_sheet_with_a_mistake_changes_nothing() {
    let bench = Bench::new(str::to_owned);
    let sheet = "printer,material,feature,nominal,step,gap,reading,how\nbench,abs-white,bar-slot,12 mm,1,0.05 mm,,press\nbench,abs-white,bar-slot,12 mm,2,0.1 mm,12,slides\n";
    std::fs::write(bench.path("readings.csv"), sheet).unwrap();
    let (code, said) = run(&bench, &["calibrate", "fit", "readings.csv"]);
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("readings.csv, line 3, column 41: reading: 12 has no unit") && said.contains("^^"), "{said}");
    assert!(!bench.path("learnt.toml").exists());
    for (words, told) in [
        (vec!["calibrate", "fit", "none.csv"], "none.csv cannot be read"),
        (vec!["calibrate", "fit", "readings.csv", "--project", "none.toml"], "none.toml cannot be read"),
        (vec!["calibrate", "fit", "readings.csv", "--date", "2026-02-30"], "write a day as 2026-11-25"),
        (vec!["calibrate", "prints", "readings.csv"], "there is no column piece"),
        (vec!["coupon", "fit", "prop.toml", "--out", "."], "holds other files"),
    ] {
        let (code, said) = run(&bench, &words);
        assert!(code == 2 && said.contains(told) && !said.contains("panicked"), "{words:?}: {said}");
    }
    std::fs::write(bench.path("learnt.toml"), "schema = 1\n[[ladder]]\nprinter = 3\n").unwrap();
    let (code, said) = bench.check();
    assert!(code == 2 && said.contains("learnt.toml, line 3") && said.contains("ladder[1].printer"), "{said}");
}

#[test]
fn coupons_are_the_same_bytes_each_time() {
    let bench = Bench::new(str::to_owned);
    for (threads, out) in [("1", "one"), ("3", "three")] {
        let run = bench
            .lanthorn()
            .env("RAYON_NUM_THREADS", threads)
            .args(["coupon", "fit", "prop.toml", "--out", out])
            .output();
        assert_eq!(run.unwrap().status.code(), Some(0));
    }
    for name in ["coupon.svg", "readings.csv", "coupon-1/12-bar-slot.3mf", "coupon-1/17-rule.stl"] {
        let [one, three] = ["one", "three"].map(|out| std::fs::read(bench.path(&format!("{out}/{name}"))).unwrap());
        assert!(one == three, "{name} differs");
    }
}

/// The light coupon's own sheet with shares filled in: what adding-doubling gives for scattering of 3 and absorption of 0.01 per
/// mm, index 1.54, on a screen that sends back 12 % and keeps 60 % of its brightness at 60 degrees.
fn lit(sheet: &str) -> String {
    let plastic = glow::Medium::of_reduced(3.0, 0.01, 1.54).unwrap();
    let fill = |line: &str| {
        let fields: Vec<&str> = line.split(',').collect();
        let head = || fields[..5].join(",");
        match fields.get(2).copied() {
            Some("screen-60") => format!("{},share,,60 %", head()),
            Some(step) if step.parse::<u32>().is_ok() => {
                let thickness: f64 = fields[3].trim_end_matches(" mm").parse().unwrap();
                let screen = [0.12, glow::fit::fullness(0.6)];
                let share = glow::fit::seen_through(&plastic, thickness, 1.0, screen).unwrap();
                format!("{},share,,{:.2} %", head(), share * 100.0)
            }
            _ => line.to_owned(),
        }
    };
    sheet.lines().map(fill).collect::<Vec<_>>().join("\n")
}

#[test]
fn from_wedge_to_scattering() {
    let bench = Bench::new(str::to_owned);
    let (code, said) = run(&bench, &["coupon", "light", "prop.toml", "--out", "light"]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("wedge 1: printer bench, abs-white, steps of ") && said.contains("1-frame: "), "{said}");
    for name in
        ["light/measure.html", "light/light-coupon.svg", "light/light-1/1-wedge.3mf", "light/light-1/1-frame.stl"]
    {
        assert!(bench.path(name).is_file(), "{name}");
    }
    let bytes = std::fs::read(bench.path("light/light-1/1-wedge.3mf")).unwrap();
    let wedge = shape(Format::ThreeMf, &bytes, "w").unwrap();
    assert_eq!((wedge.bodies.len(), wedge.bodies[0].mesh.shells().len()), (1, 1));
    // A fit coupon's folder is not this one's.
    assert_eq!(run(&bench, &["coupon", "fit", "prop.toml", "--out", "fit"]).0, 0);
    let (code, said) = run(&bench, &["coupon", "light", "prop.toml", "--out", "fit"]);
    assert!(code == 2 && said.contains("holds other files"), "{said}");

    let sheet = text(&bench, "light/readings.csv");
    std::fs::write(bench.path("light/readings.csv"), lit(&sheet)).unwrap();
    let (code, said) = run(&bench, &["coupon", "light", "prop.toml", "--out", "light"]);
    assert!(code == 2 && said.contains("is filled in") && said.contains("calibrate light"), "{said}");
    let calibrate = ["calibrate", "light", "light/readings.csv", "--date", "2026-11-25"];
    let (code, said) = run(&bench, &calibrate);
    assert_eq!(code, 0, "{said}");
    let line = said.lines().find(|l| l.starts_with("abs-white: scatters ")).unwrap_or_else(|| panic!("{said}"));
    let figures: Vec<f64> = line.split([' ', '(', ')', ';']).filter_map(|w| w.parse().ok()).collect();
    // Scattering with its band, absorption with its band: the truth within both.
    assert!(figures.len() == 6 && figures[1] < 3.0 && 3.0 < figures[2] && figures[2] < 2.5 * figures[1], "{said}");
    assert!((figures[0] / 3.0 - 1.0).abs() < 0.1 && figures[4] < 0.01 && 0.01 < figures[5], "{said}");
    let learnt = text(&bench, "learnt.toml");
    assert!(learnt.contains("[[light]]") && learnt.contains("screen-60 = \"60.000 %\""), "{learnt}");
    let (code, said) = run(&bench, &calibrate);
    assert!(code == 2 && said.contains("learnt on 2026-11-25 already"), "{said}");
    let (_, said) = bench.check();
    assert!(said.contains("It scatters ") && said.contains("from a light sheet for abs-white of 2026-11-25"), "{said}");
}

#[test]
fn light_sheets_with_a_mistake_change_nothing() {
    let bench = Bench::new(str::to_owned);
    let head = "printer,material,step,thickness,colour,how,exposure,reading\n";
    for (lines, told) in [
        ("bench,abs-white,11,0 mm,,share,,40 %\n", "readings.csv, line 2, column 20: thickness: 0 mm is too small"),
        ("bench,abs-white,11,1 mm,,share,,140 %\n", "reading: 140 % is too large"),
        ("bench,abs-white,11,1 mm,,meter,,much\n", "reading: \"much\" is not a number"),
        (
            "bench,abs-white,11,1 mm,,share,,40 %\nbench,abs-white,12,2 mm,,share,,30 %\n",
            "only 2 steps of abs-white were read",
        ),
        (
            "bench,abs-white,11,1 mm,,share,,40 %\nbench,abs-white,11,1 mm,,share,,60 %\nbench,abs-white,12,2 mm,,share,,30 %\nbench,abs-white,13,3 mm,,share,,20 %\n",
            "line 3, column 33: reading: step 11 lets through 60.0 % here, and step 11 of the same thickness 40.0 %",
        ),
    ] {
        std::fs::write(bench.path("readings.csv"), format!("{head}{lines}")).unwrap();
        let (code, said) = run(&bench, &["calibrate", "light", "readings.csv"]);
        assert!(code == 2 && said.contains(told) && said.contains("to mend it: "), "{lines}: {said}");
        assert!(!bench.path("learnt.toml").exists());
    }
    let dark = Bench::new(|p| p.replace("role = \"lit\"", "role = \"plain\""));
    let (code, said) = run(&dark, &["coupon", "light", "prop.toml", "--out", "light"]);
    assert!(code == 2 && (said.contains("no body is lit") || said.contains("to mend it")), "{said}");
}
