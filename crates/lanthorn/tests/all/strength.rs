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

#[test]
fn a_spine_longer_than_its_channel_is_named() {
    let (code, said) =
        Bench::new(|t| t.replace("least-length = \"60 mm\"", "least-length = \"60 mm\"\nto = \"900 mm\"")).check();
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("spine.to") && said.contains("to station 900 mm, and the prop ends at 360 mm"), "{said}");
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
        [cells[3].trim_end_matches(" mm"), cells[2]].map(|c| c.parse().unwrap())
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
