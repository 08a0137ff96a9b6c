//! Two packs by hand, and the sample's own.

use super::*;

fn pack(name: &str, files: &[(&str, &str)]) -> FoundPack {
    let mut all = FoundPack { name: name.into(), ..FoundPack::default() };
    for (path, text) in files {
        all.paths.push((*path).to_owned());
        if COMPARED.contains(path) {
            all.files.insert((*path).to_owned(), text.as_bytes().to_vec());
        }
    }
    all
}

fn finding(id: &str, verdict: &str, subject: &str, value: f64) -> String {
    format!(
        "{{\"id\":\"{id}\",\"verdict\":\"{verdict}\",\"subject\":\"{subject}\",\"station_mm\":null,\"measured\":{{\"value\":{value},\
         \"low\":{value},\"high\":{value},\"unit\":\"mm\"}},\"message\":\"It is {value}.\",\"remedy\":\"\"}}"
    )
}

fn findings(hash: &str, more: &str, all: &[String]) -> String {
    format!("{{\"prop\":\"Axe\",\"input_hash\":\"{hash}\",{more}\"findings\":[{}]}}", all.join(","))
}

fn piece(name: &str, body: &str, mass: f64) -> String {
    format!(
        "{{\"name\":\"{name}\",\"body\":\"{body}\",\"printer\":\"wide\",\"material\":\"pla\",\"station_mm\":[0,100],\
         \"mass_g\":{{\"value\":{mass},\"low\":{mass},\"high\":{mass}}},\"print_time_s\":{{\"value\":3600,\"low\":3600,\"high\":3600}}}}"
    )
}

fn plates(mass: f64, spools: u32) -> String {
    format!(
        "{{\"elapsed_s\":{{\"value\":7200,\"low\":7200,\"high\":7200}},\"plates\":[],\"materials\":[{{\"material\":\"pla\",\
         \"mass_g\":{{\"value\":{mass},\"low\":{mass},\"high\":{mass}}},\"packages\":{spools}}}]}}"
    )
}

#[test]
fn what_changed_is_told_by_kind() {
    let old_findings = findings(
        "aa",
        "\"length_mm\":1500,\"wearer_mm\":1680,",
        &[
            finding("wall", "holds", "blade", 2.0),
            finding("fit", "holds", "J1", 1.0),
            finding("gap", "fails", "lid", 1.0),
            finding("bow", "holds", "prop", 5.0),
            finding("cost_total", "note", "prop", 40.0),
        ],
    );
    let new_findings = findings(
        "bb",
        "\"length_mm\":1620,\"wearer_mm\":1820,\"changed\":[\"wearer.height = 182 cm\"],",
        &[
            finding("wall", "fails", "blade", 0.5),
            finding("fit", "holds", "J1", 1.0),
            finding("bow", "holds", "prop", 9.0),
            finding("cost_total", "note", "prop", 45.0),
            finding("sag", "unsure", "prop", 7.0),
        ],
    );
    let (two, three) = (
        [piece("01-grip", "grip", 50.0), piece("02-blade", "blade", 100.0)],
        [piece("01-grip", "grip", 50.0), piece("02-grip", "grip", 10.0), piece("03-blade", "blade", 112.0)],
    );
    let index =
        |pieces: &[String], joints: &str| format!("{{\"pieces\":[{}],\"joints\":[{joints}]}}", pieces.join(","));
    let before = pack(
        "old",
        &[
            ("findings.json", old_findings.as_str()),
            ("pieces/index.json", &index(&two, "{}")),
            ("plates/index.json", &plates(150.0, 1)),
            ("parts/hardware.csv", "kind,what,count\nmagnet,\"Disc, 5 mm\",4\n"),
            ("drawings/side.svg", ""),
            ("pieces/01-grip.3mf", ""),
        ],
    );
    let after = pack(
        "new",
        &[
            ("findings.json", new_findings.as_str()),
            ("pieces/index.json", &index(&three, "{},{}")),
            ("plates/index.json", &plates(172.0, 2)),
            ("parts/hardware.csv", "kind,what,count\nmagnet,\"Disc, 5 mm\",6\n"),
            (
                "work/plan.csv",
                "job,from,to,hands_min\nprint,2027-01-01 10:00,2027-01-02 11:00,15\nglue,2027-01-02 11:00,2027-01-02 12:00,30\n",
            ),
        ],
    );
    let found = compare(&before, &after).unwrap();
    let text = found.text.replace('\u{202f}', " ");
    for wanted in [
        "after: new (Axe, with wearer.height = 182 cm, inputs bb)",
        "length: 1500 mm -> 1620 mm; +120 mm (+8 %)",
        "wearer: 1680 mm -> 1820 mm",
        "pieces: 2 -> 3; +1",
        "joints: 1 -> 2; +1",
        "printed mass: 150 g -> 172 g; +22 g (+14.7 %)",
        "blade (wall): holds, 2 mm -> fails, 0.5 mm; worse: It is 0.5.",
        "prop (sag): no such finding -> unsure, 7 mm; new",
        "lid (gap): fails, 1 mm -> no such finding; gone",
        "prop (bow): 5 mm -> 9 mm; +4 mm (+80 %)",
        "blade 1: 02-blade, stations 0 to 100 mm, 100 g, 60 min, wide, pla -> 03-blade, stations 0 to 100 mm, 112 g, 60 min, wide, pla; +12 g (+12 %)",
        "grip 2: no such piece -> 02-grip",
        "pla: 150 g -> 172 g",
        "pla, packages: 1 -> 2",
        "money: It is 40. -> It is 45.",
        "bought: magnet, Disc, 5 mm, 4: 1 -> none",
        "work by hand: not told -> 45 min",
        "last job ends: not told -> 2027-01-02 12:00",
        "old has no work/plan.csv",
        "new has no drawings/side.svg",
    ] {
        assert!(text.contains(wanted), "{wanted}\n{text}");
    }
    assert!(!text.contains("J1") && !text.contains("grip 1:") && !text.contains("01-grip.3mf"), "{text}");
    // Worst first.
    let place = |words: &str| text.find(words).unwrap();
    assert!(place("blade (wall)") < place("prop (sag)") && place("prop (sag)") < place("lid (gap)"));
    assert!(
        found.page.contains("<td>fails, 0.5\u{202f}mm</td>")
            && found.page.contains("<li>old has no work/plan.csv</li>")
    );
    assert_eq!(found.page.matches("<tr>").count(), found.page.matches("</tr>").count());
}

#[test]
fn a_pack_is_the_same_as_itself() {
    let made = crate::pack(&crate::sample::glaive(), &|_, _| true).unwrap();
    let mut one = FoundPack { name: "a <pack>".into(), ..FoundPack::default() };
    for artifact in made {
        one.paths.push(artifact.path.clone());
        if COMPARED.contains(&artifact.path.as_str()) {
            one.files.insert(artifact.path, artifact.bytes);
        }
    }
    let found = compare(&one, &one).unwrap();
    assert!(found.text.contains("made from the same inputs, and nothing differs"), "{}", found.text);
    assert!(found.page.contains("a &lt;pack&gt;") && !found.page.contains("a <pack>"));
}

#[test]
fn old_broken_and_foreign_folders_are_told() {
    // Before lengths, pieces' masses and plates were told.
    let old = pack("old", &[("pieces/index.json", "{\"pieces\":[{\"name\":\"01-blade\"}]}")]);
    let new = pack("new", &[("findings.json", &findings("bb", "", &[finding("wall", "fails", "blade", 0.5)]))]);
    let text = compare(&old, &new).unwrap().text;
    assert!(
        text.contains("neither has plates/index.json")
            && text.contains("a pack without findings.json")
            && text.contains("old has no findings.json"),
        "{text}"
    );
    assert!(text.contains("pieces: 1 -> not told") && !text.contains("blade (wall)"), "{text}");
    let none = pack("letters", &[("letter.txt", "dear")]);
    assert!(compare(&none, &new).unwrap_err().to_string().starts_with("letters is no pack"));
    let broken = pack("broken", &[("findings.json", "{\"findings\": 3}")]);
    let said = compare(&new, &broken).unwrap_err().to_string();
    assert!(said.starts_with("broken: findings.json cannot be read") && said.contains("line 1"), "{said}");
}
