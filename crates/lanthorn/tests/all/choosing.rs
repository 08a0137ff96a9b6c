//! A rod that is lit unevenly is told what to change; changed so, it is even.

use crate::wand::{Bench, body, grip};
use std::collections::BTreeMap;

/// A straight lit rod of 42 cm on the wand's grip, thin and nearly clear, over a strip with pixels far apart.
fn rod(strip: &str) -> Bench {
    let rod = body(&(0..=42).map(|i| (120.0 + f64::from(i) * 10.0, 18.0, 12.0)).collect::<Vec<_>>());
    Bench::with(&[("blade", rod), ("grip", grip())], |t| {
        t.replace("length = \"36 cm\"", "length = \"54 cm\"")
            .replace("material = \"abs-white\"\nwall = \"2 mm\"\n", "material = \"pla-natural\"\nwall = \"1 mm\"\n")
            .replace("glow = \"edges\"", "glow = \"around\"")
            .replace("strip = \"strip-60\"", strip)
            .replace("follow = false\n", "noise = \"5 %\"\nviewed-from = \"12 m\"\n")
            .replace("\"120 mm\", \"140 mm\"]", "\"120 mm\", \"460 mm\"]")
    })
}

fn build(bench: &Bench) -> (String, Vec<serde_json::Value>) {
    let output = bench.lanthorn().args(["build", "prop.toml", "--out", "out"]).output().unwrap();
    let said = [output.stdout, output.stderr].map(|b| String::from_utf8(b).unwrap()).concat();
    let text = std::fs::read(bench.path("out/findings.json")).unwrap_or_else(|_| panic!("{said}"));
    let findings: serde_json::Value = serde_json::from_slice(&text).unwrap();
    (said, findings["findings"].as_array().or(findings.as_array()).unwrap().clone())
}

fn ripple(findings: &[serde_json::Value]) -> &serde_json::Value {
    findings.iter().find(|f| f["id"] == "glow_ripple").unwrap()
}

/// The lines of `light/choices.csv` for the ripple, each by its headings.
fn choices(bench: &Bench) -> Vec<BTreeMap<String, String>> {
    let text = std::fs::read_to_string(bench.path("out/light/choices.csv")).unwrap();
    // A field with quotes in it stands in quotes, its own doubled.
    let fields = |line: &str| -> Vec<String> {
        let (mut all, mut quoted) = (vec![String::new()], false);
        for c in line.chars() {
            match c {
                '"' => {
                    let field = all.last_mut().unwrap();
                    // The second of a pair inside.
                    if !quoted && !field.is_empty() {
                        field.push('"');
                    }
                    quoted = !quoted;
                }
                ',' if !quoted => all.push(String::new()),
                c => all.last_mut().unwrap().push(c),
            }
        }
        all
    };
    let mut lines = text.lines();
    let head = fields(lines.next().unwrap());
    let all = lines.map(|line| head.iter().cloned().zip(fields(line)).collect::<BTreeMap<_, _>>());
    all.filter(|c| c["finding"] == "glow_ripple").collect()
}

fn number(choice: &BTreeMap<String, String>, key: &str) -> f64 {
    choice[key].parse().unwrap_or_else(|_| panic!("{key}: {choice:?}"))
}

#[test]
fn the_change_that_is_told_makes_the_window_even() {
    let sparse = rod("strip = \"strip-30\"");
    let (said, before) = build(&sparse);
    let found = ripple(&before);
    assert_eq!(found["verdict"], "fails", "{said}");
    let all = choices(&sparse);
    let now = &all[0];
    assert_eq!((now["kind"].as_str(), now["change"].as_str()), ("present", ""), "{now:?}");
    // Every change was computed: no two come to the same, and more of one kind comes to less.
    let tried: Vec<_> = all[1..].iter().filter(|c| !c["value"].is_empty()).collect();
    let kinds = |kind: &str| tried.iter().filter(|c| c["kind"] == kind).copied().collect::<Vec<_>>();
    assert!(tried.len() >= 4 && kinds("wall").len() + kinds("plastic").len() >= 2, "{all:?}");
    for (i, a) in tried.iter().enumerate() {
        assert!(tried[..i].iter().all(|b| a["value"] != b["value"]), "{a:?}");
    }
    let mut strips = kinds("pitch");
    strips.sort_by(|a, b| number(a, "times_the_light").total_cmp(&number(b, "times_the_light")));
    assert!(strips.is_sorted_by(|a, b| number(a, "value") > number(b, "value")), "{strips:?}");
    // The least strip that holds is what the remedy begins with.
    let told = strips.iter().find(|c| c["verdict"] == "holds").unwrap_or_else(|| panic!("{all:#?}"));
    let remedy = found["remedy"].as_str().unwrap();
    assert!(remedy.starts_with("holds with any one of: light.strip = "), "{remedy}");
    assert!(remedy.contains(&told["change"]), "{remedy}");

    let (_, strip) = told["change"].split_once("light.").unwrap();
    // What else is not even needs no advice here, which takes minutes.
    let changed = rod(&format!("{strip}\nadvise = \"never\""));
    let (said, findings) = build(&changed);
    let after = ripple(&findings);
    assert_eq!(after["verdict"], "holds", "{told:?}\n{said}");
    // What was told is what came, as well as both are known; and so is the light.
    let value = |f: &serde_json::Value, key: &str| f["measured"][key].as_f64().unwrap();
    let (low, high) = (value(after, "low"), value(after, "high"));
    let (least, most) = (number(told, "low"), number(told, "high"));
    assert!(low < most && least < high, "{told:?}\n{after}");
    let bright = |findings: &[serde_json::Value]| {
        let of = |f: &&serde_json::Value| f["id"] == "glow_daylight";
        findings.iter().find(of).unwrap()["measured"]["value"].as_f64().unwrap()
    };
    let times = bright(&findings) / bright(&before);
    assert!((times / number(told, "times_the_light") - 1.0).abs() < 0.1, "{times}, {told:?}");
}
