//! Faults of strength and heat put in on purpose: each is found, with the right words.

use crate::wand::{Bench, HANDLE, body};

/// The wand with more lines at its end.
fn with(lines: &str) -> (i32, String) {
    Bench::new(|t| format!("{t}\n{lines}\n")).check()
}

#[test]
fn a_plastic_as_weak_as_chalk_fails_and_says_who_decides() {
    let (code, said) = Bench::new(|t| {
        format!(
            "{}\n[material.chalk]\nkind = \"abs-white\"\nstrength = \"0.4 MPa\"\n",
            t.replace("material = \"abs-white\"", "material = \"chalk\"")
        )
    })
    .check();
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("(strength_swing)") && said.contains("(strength_strike)"), "{said}");
    assert!(said.contains("the event's own rules and the judgement"), "{said}");
}

#[test]
fn a_hot_car_softens_and_a_cool_one_does_not() {
    let (code, said) = with("[strength]\ncar = \"95 C\"");
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("FAILS wall (heat_car)") && said.contains("do not leave it in the car"), "{said}");
    let (_, said) = with("[strength]\ncar = \"40 C\"");
    assert!(!said.contains("FAILS wall (heat_car)"), "{said}");
}

#[test]
fn metal_where_the_event_allows_none_fails() {
    let (code, said) = with("[strength]\nmetal = false");
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("FAILS spine (spine_allowed)"), "{said}");
}

#[test]
fn a_hand_beside_the_prop_is_named() {
    let (_, said) = with("[strength]\nhand = \"900 mm\"");
    assert!(said.contains("strength_unknown") && said.contains("a hand at station 900 mm holds nothing"), "{said}");
}

#[test]
fn the_other_hand_where_the_leading_one_is_is_named() {
    // As near to its balance as it reaches, the leading hand is in the middle of a handle.
    let bench =
        Bench::with(&[("grip", crate::wand::grip())], |_| format!("{HANDLE}\n[strength]\nother-hand = \"70 mm\"\n"));
    let (_, said) = bench.check();
    assert!(said.contains("strength_unknown") && said.contains("the other hand at station 70 mm"), "{said}");
}

#[test]
fn both_hands_in_one_place_are_a_mistake_at_their_key() {
    let (code, said) = with("[strength]\nhand = \"100 mm\"\nother-hand = \"120 mm\"");
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("strength.other-hand") && said.contains("at least 60 mm apart"), "{said}");
}

#[test]
fn a_spine_of_paper_is_found() {
    let (code, said) = Bench::new(|t| {
        let weak = "[bar.paper]\nkind = \"flat-aluminium-12x3\"\nstrength = \"0.2 MPa\"\n";
        format!("{}\n{weak}", t.replace("bar = \"flat-aluminium-12x3\"", "bar = \"paper\""))
    })
    .check();
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("FAILS spine (spine_bears)") && said.contains("a larger or stronger bar"), "{said}");
}

#[test]
fn stiffness_of_nothing_is_a_mistake_at_its_key() {
    for (row, key) in [("material.jelly", "abs-white"), ("bar.jelly", "flat-aluminium-12x3")] {
        let (code, said) = with(&format!("[{row}]\nkind = \"{key}\"\nstiffness = \"0 MPa\""));
        assert_eq!(code, 2, "{said}");
        assert!(said.contains(&format!("{row}.stiffness")), "{said}");
    }
}

/// Asked to run past the prop's end, the spine is a mistake at its key, which says how far there is; up to where the channel ends it
/// is laid, and no further.
#[test]
fn a_spine_longer_than_its_channel_is_named() {
    let to = |mm: &str| {
        Bench::new(|t| t.replace("least-length = \"60 mm\"", &format!("least-length = \"60 mm\"\nto = \"{mm} mm\"")))
            .check()
    };
    for beyond in ["365", "900"] {
        let (code, said) = to(beyond);
        assert_eq!(code, 2, "{said}");
        let words = format!("to station {beyond} mm, and the prop ends at 360 mm");
        assert!(said.contains("spine.to") && said.contains(&words), "{said}");
    }
    let (code, said) = to("300");
    assert!(code < 2 && !said.contains("strength_unknown"), "{said}");
    assert!(said.contains("note spine (spine_choice)") && !said.contains("FAILS spine"), "{said}");
}

/// A handle that goes on as a blade of tin: 0.5 mm is less than two beads wide, and bears nothing.
#[test]
fn a_section_that_vanishes_is_named() {
    let thin = |x: f64| (x, 19.0, if x < 121.0 { 16.0 } else { 0.25 });
    let steps = (0..=12).map(|i| f64::from(i) * 10.0).chain([121.0]).chain((13..=24).map(|i| f64::from(i) * 10.0));
    let blade = body(&steps.map(thin).collect::<Vec<_>>());
    let bench = Bench::with(&[("grip", blade)], |_| {
        format!(
            "{}[cuts]\nlock = [\"122 mm\"]\n",
            HANDLE.replace("12 cm", "24 cm").replace("\"100 mm\"]", "\"200 mm\"]")
        )
    });
    let (_, said) = bench.check();
    assert!(
        said.contains("strength_unknown") && said.contains("piece 02 has no section that can be worked out"),
        "{said}"
    );
    assert!(!said.contains("NaN"), "{said}");
}

/// Two blocks on a stalk as thin as a pencil's lead, cut through the stalk: hardly anything to glue.
#[test]
fn a_joint_without_glue_area_is_named() {
    let stalk = |x: f64| if (55.0..65.0).contains(&x) { (x, 0.9, 0.9) } else { (x, 19.0, 16.0) };
    let steps = (0..=5)
        .map(|i| f64::from(i) * 10.0)
        .chain([54.0, 56.0, 60.0, 64.0, 66.0])
        .chain((7..=12).map(|i| f64::from(i) * 10.0));
    let bench = Bench::with(&[("grip", body(&steps.map(stalk).collect::<Vec<_>>()))], |_| {
        format!("{HANDLE}[cuts]\nlock = [\"60 mm\"]\n")
    });
    let (code, said) = bench.check();
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("FAILS joint J1 (joint_glue)") && said.contains("3 mm2 of glue"), "{said}");
    assert!(said.contains("FAILS joint J1 (joint_bears)"), "{said}");
}

/// Each verdict of strength says its factor, what governs it and what a weaker spool leaves of it; what may
/// fly off says so.
#[test]
fn verdicts_say_what_governs_and_what_scatter_leaves() {
    let bench = Bench::new(|t| t.to_owned());
    let out = bench.lanthorn().args(["build", "prop.toml", "--out", "out"]).output().unwrap();
    assert!(out.status.code().is_some_and(|c| c < 2), "{}", String::from_utf8_lossy(&out.stderr));
    let findings: serde_json::Value =
        serde_json::from_slice(&std::fs::read(bench.path("out/findings.json")).unwrap()).unwrap();
    let mut seen = Vec::new();
    for finding in findings["findings"].as_array().unwrap() {
        let (id, message) = (finding["id"].as_str().unwrap(), finding["message"].as_str().unwrap());
        let judged =
            id.starts_with("strength_") || ["spine_bears", "joint_bears", "wall_buckles", "prop_buckles"].contains(&id);
        if judged {
            for words in [" times", "govern", "as it may be"] {
                assert!(
                    message.contains(words) || (words == "as it may be" && message.contains("softer spool")),
                    "{id}: {message}"
                );
            }
            let of = &finding["measured"];
            assert!(of["low"].as_f64() < of["value"].as_f64(), "{id}: the spread is in its band");
        }
        if ["strength_swing", "strength_strike", "joint_bears"].contains(&id) {
            assert!(message.contains("a piece could fly off and hurt someone"), "{id}: {message}");
            assert!(message.contains("the event's own rules and the judgement"), "{id}: {message}");
        }
        seen.push(id.to_owned());
    }
    for id in [
        "strength_held",
        "strength_swing",
        "strength_strike",
        "strength_stored",
        "spine_bears",
        "joint_bears",
        "wall_buckles",
        "prop_buckles",
        "tip_sags",
        "tip_nods",
        "mass_hand",
        "wrist_holds",
        "grip_girth",
        "grip_length",
        "spine_choice",
        "heat_wall",
        "heat_sun",
        "heat_car",
        "heat_strip",
        "heat_touch",
        "heat_level",
    ] {
        assert!(seen.iter().any(|s| s == id), "{id} of {seen:?}");
    }
    // The table of stations goes from end to end, on the axis of the drawings.
    let stations = std::fs::read_to_string(bench.path("out/strength/stations.csv")).unwrap();
    let rows: Vec<Vec<&str>> = stations.lines().map(|l| l.split(',').collect()).collect();
    assert!(rows.len() > 150 && rows[0][0] == "from_mm", "{}", rows.len());
    for pair in rows[1..].windows(2) {
        assert_eq!(pair[0][1], pair[1][0], "one stretch after the other");
    }
    assert_eq!((rows[1][0], rows[rows.len() - 1][1]), ("0.00", "360.00"));
    for name in ["strength-bends", "strength-bears"] {
        assert!(bench.path(&format!("out/drawings/{name}.svg")).exists(), "{name}");
    }
}

/// An oval rod, 38 x 32 mm and 1 m long, of one upright piece of ABS (1.04 g/cm3; across its layers 1.4 GPa and 16 MPa), held
/// 100 mm from its butt: 900 mm hang out. Infill lightens and softens alike, and falls out. Handbooks: w l⁴/(8 E I) with
/// I = A b²/4, w l²/2 over A b/4, 3.516/(2 π) √(E I/(m l⁴)); swung and stopped adds m α l³/3, m α 11 l⁵/(120 E I) and a pull of
/// m ω² l²/2. An oval of 48 corners has 0.99715 of its I/A.
#[test]
fn a_plain_rod_bears_what_handbooks_say() {
    let rod = body(&(0..=100).map(|i| (f64::from(i) * 10.0, 19.0, 16.0)).collect::<Vec<_>>());
    let project = HANDLE.replace("12 cm", "100 cm").replace("\"100 mm\"]", "\"1100 mm\"]");
    let bench = Bench::with(&[("grip", rod)], |_| format!("{project}\n[strength]\nhand = \"100 mm\"\n"));
    bench.lanthorn().args(["build", "prop.toml", "--out", "out"]).output().unwrap();
    let cases = std::fs::read_to_string(bench.path("out/strength/cases.csv")).unwrap();
    // The tip's way and the factor of a load case.
    let of = |case: &str| -> [f64; 2] {
        let row = cases.lines().find(|l| l.contains(case)).unwrap_or_else(|| panic!("{case} in {cases}"));
        let cells: Vec<&str> = row.rsplit(',').collect();
        [cells[3].trim_end_matches(|c: char| !c.is_ascii_digit()), cells[2]].map(|c| c.parse().unwrap())
    };
    // m, kg, s.
    let (e, density, g, l): (f64, f64, f64, f64) = (1.4e9, 1040.0, 9.806_65, 0.9);
    let (rate, gain) = (300.0_f64.to_radians(), 300.0_f64.to_radians() / 0.25);
    for (half, held, swung) in [(0.016, "hand, flat", "swung flat"), (0.019, "hand, on edge", "swung across")] {
        let slim = 0.25 * half * half * 0.997_15;
        let sags = density * g * l.powi(4) / (8.0 * e * slim);
        let bent = density * g * l * l / 2.0 * half / slim;
        let stops = density * gain * l.powi(5) * 11.0 / (120.0 * e * slim);
        let swept = bent + density * gain * l.powi(3) / 3.0 * half / slim + density * rate * rate * l * l / 2.0;
        for (case, tip_mm, factor) in [(held, 1e3 * sags, 16e6 / bent), (swung, 1e3 * (sags + stops), 16e6 / swept)] {
            let found = of(case);
            assert!((found[0] - tip_mm).abs() < 0.05 + 0.003 * tip_mm, "{case}: {found:?} mm, {tip_mm}");
            assert!((found[1] - factor).abs() < 0.05 + 0.003 * factor, "{case}: {found:?} times, {factor}");
        }
    }
    let findings: serde_json::Value =
        serde_json::from_slice(&std::fs::read(bench.path("out/findings.json")).unwrap()).unwrap();
    let value = |id: &str| {
        let all = findings["findings"].as_array().unwrap();
        all.iter().find(|f| f["id"] == id).unwrap()["measured"]["value"].as_f64().unwrap()
    };
    let hz = 3.516 / core::f64::consts::TAU * (e * 0.25 * 0.016 * 0.016 * 0.997_15 / (density * l.powi(4))).sqrt();
    assert!((value("tip_nods") / hz - 1.0).abs() < 0.003, "{} {hz}", value("tip_nods"));
    // It balances in its middle, 400 mm from the hand.
    let wrist = value("mass_hand") * 1e-3 * g * 0.4;
    assert!((value("wrist_holds") / wrist - 1.0).abs() < 0.003, "{} {wrist}", value("wrist_holds"));
}
