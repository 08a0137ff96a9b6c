//! Looking at a project, and changing it from the page, from an editor, and from both at once.

use super::served::{Events, Served};
use crate::power;
use crate::rehearse::{acting, wav};
use crate::wand::Bench;
use serde_json::{Value, json};
use std::fs;

/// The handle with remarks and a layout of its maker's.
fn handle() -> Bench {
    let bench = Bench::handle();
    let text = fs::read_to_string(bench.path("prop.toml")).unwrap();
    let text = text.replace("length = \"12 cm\"", "length   = \"12 cm\"   # as drawn");
    fs::write(bench.path("prop.toml"), format!("# mine\n{text}")).unwrap();
    bench
}

fn text(bench: &Bench) -> String {
    fs::read_to_string(bench.path("prop.toml")).unwrap()
}

fn stages(state: &Value) -> Vec<String> {
    state["stages"].as_array().unwrap().iter().map(|s| s["state"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_project_is_shown_stage_by_stage() {
    let bench = Bench::new(str::to_owned);
    let served = Served::open(&bench);
    let mut events = Events::listen(&served);
    assert_eq!(events.next("state")["mode"], "project");
    let mut order: Vec<String> = Vec::new();
    while order.last().is_none_or(|s| s != "all") {
        order.push(events.next("stage")["name"].as_str().unwrap().to_owned());
    }
    // Those that were over before anybody listened are missing; the rest come in their order.
    // Geometry comes twice: sections are told when they are there.
    order.dedup();
    let all = ["shape", "geometry", "print", "light", "strength", "power", "all"];
    assert_eq!(order, all[all.len() - order.len()..]);
    let state = served.settled();
    assert_eq!(stages(&state), ["done", "done", "done", "none", "done", "none", "done"]);
    let scene = served.json("/api/scene");
    assert_eq!(scene["shows"], "pieces");
    assert_eq!(scene["bodies"].as_array().unwrap().len(), 2);
    // The same pieces as `lanthorn check` says.
    let (_, said) = bench.check();
    let pieces = scene["pieces"].as_array().unwrap();
    assert!(said.contains(&format!("Reed wand: {} pieces", pieces.len())), "{said}");
    assert!(scene["pixels"].as_array().unwrap().len() > 10 && !scene["joints"].as_array().unwrap().is_empty());
    assert!(pieces.iter().all(|p| p["print"]["time_s"]["value"].as_f64().unwrap() > 60.0), "{pieces:?}");
    let mesh = &pieces[0]["mesh"];
    let bytes = served.get(&format!("/api/mesh/{}", mesh["hash"].as_str().unwrap()));
    assert!(bytes.head.contains("immutable") && bytes.body.starts_with(b"LTMS"), "{}", bytes.head);
    let triangles = u32::from_le_bytes(bytes.body[12..16].try_into().unwrap());
    assert_eq!(u64::from(triangles), mesh["triangles"].as_u64().unwrap());
    let body = served.get(&format!("/api/mesh/{}?full=1", scene["bodies"][1]["mesh"]["hash"].as_str().unwrap())).body;
    assert_eq!(body[6], 1, "a lit body says where light lies on it");
    assert_eq!(served.get("/api/mesh/0000").status, 404);
    let tracks = served.json("/api/tracks");
    let ids: Vec<&str> = tracks["tracks"].as_array().unwrap().iter().map(|t| t["id"].as_str().unwrap()).collect();
    assert_eq!(ids, ["wall", "solidness", "cuts", "pixels", "bending", "deflection", "temperature"]);
    for track in tracks["tracks"].as_array().unwrap() {
        for series in track["series"].as_array().unwrap() {
            let [x, y] = ["x_mm", "y"].map(|k| series[k].as_array().unwrap().len());
            assert!(x == y && x > 1, "{track}");
        }
    }
    let findings = served.json("/api/findings");
    let listed = findings["findings"].as_array().unwrap();
    assert!(said.contains(&format!("{} findings", listed.len())), "{said}");
    assert!(listed.iter().any(|f| f["targets"] == json!(["piece-01"])));
    numbers_say_why(&served, listed, &tracks);
    let drawings = served.json("/api/drawings");
    assert_eq!(drawings["drawings"][0]["name"], "side");
    assert!(served.get("/api/drawings/side").body.starts_with(b"<?xml"));
    assert_eq!(served.json("/api/summary")["pieces"], pieces.len());
    assert_eq!(served.get("/api/light").status, 404, "this one's light is not followed");
}

/// Each finding, each number of the summary and each track says what it is, from what and by whose word.
fn numbers_say_why(served: &Served, findings: &[Value], tracks: &Value) {
    let why = |place: &str| {
        let told = served.json(&format!("/api/why/{place}"));
        assert!(told["what"].as_str().is_some_and(|w| w.len() > 10), "{place}: {told}");
        told
    };
    // The second of its kind has its own inputs.
    let second = findings.iter().find(|f| f["id"] == "volumes_add_up" && f["nth"] == 1).unwrap();
    let told = why("volumes_add_up.1");
    let of = |symbol: &str| {
        let found = told["inputs"].as_array().unwrap().iter().find(|i| i["symbol"] == symbol);
        found.unwrap_or_else(|| panic!("{symbol} in {told}"))["value"].as_f64().unwrap()
    };
    let off = ((of("V") + of("T") - of("A")) / of("S") - 1.0).abs();
    assert!((off - second["measured"]["value"].as_f64().unwrap()).abs() < 1e-12, "{told} {second}");
    assert_eq!(told["equation"], "off = |(V + T − A)/S − 1|");
    let summary = served.json("/api/summary");
    for name in summary.as_object().unwrap().keys().filter(|k| *k != "build" && *k != "name") {
        let told = why(&format!("summary.{name}"));
        // What is there is worked out from something.
        assert!(summary[name].is_null() || !told["inputs"].as_array().unwrap().is_empty(), "{name}: {told}");
    }
    let length = why("summary.length_mm");
    let ends = [1, 0].map(|k| length["inputs"][k]["value"].as_f64().unwrap());
    assert!((ends[0] - ends[1] - summary["length_mm"].as_f64().unwrap()).abs() < 1e-6, "{length}");
    for track in tracks["tracks"].as_array().unwrap() {
        let told = why(&format!("track.{}", track["id"].as_str().unwrap()));
        assert!(told["source"].is_string() && !told["inputs"].as_array().unwrap().is_empty(), "{told}");
    }
    for nothing in ["nothing.0", "volumes_add_up", "volumes_add_up.999", "volumes_add_up.-1", "track.nothing"] {
        assert_eq!(served.get(&format!("/api/why/{nothing}")).status, 404, "{nothing}");
    }
}

#[test]
fn a_change_keeps_the_makers_file_and_can_be_undone() {
    let bench = handle();
    let served = Served::open(&bench);
    served.settled();
    let before = text(&bench);
    let fields = served.json("/api/project");
    let length = fields["fields"].as_array().unwrap().iter().find(|f| f["key"] == "shape.length").unwrap();
    assert_eq!((&length["value"], &length["si"], &length["kind"]), (&json!("12 cm"), &json!(120.0), &json!("length")));
    let answer = served.change("shape.length", json!("13 cm"));
    assert_eq!((answer.status, answer.json()["told"][0].clone()), (200, json!("shape.length = \"13 cm\"")));
    // On the disk before the answer came, with everything else as it was.
    let after = text(&bench);
    assert_eq!(after, before.replace("\"12 cm\"", "\"13 cm\""));
    let state = served.settled();
    assert_eq!(state["undo"][0]["what"], "shape.length = \"13 cm\"");
    assert_eq!(served.json("/api/scene")["span_mm"][1], 130.0);
    let step = |path: &str| served.post(path, &json!({ "base": served.revision() }));
    assert_eq!(step("/api/undo").status, 200);
    assert_eq!(text(&bench), before);
    assert_eq!(step("/api/undo").code(), "nothing");
    assert_eq!(step("/api/redo").status, 200);
    assert_eq!(text(&bench), after);
    assert_eq!(fs::read_dir(bench.dir.path()).unwrap().count(), 2, "no draft is left");
}

#[test]
fn a_cut_is_moved_and_locked() {
    let bench = Bench::handle();
    let served = Served::open(&bench);
    served.settled();
    let joint = || served.json("/api/scene")["joints"][0].clone();
    let at = joint()["station_mm"].as_f64().unwrap();
    let cut = |body: Value| {
        let mut body = body;
        body["base"] = json!(served.revision());
        body["joint"] = json!(1);
        let answer = served.post("/api/cut", &body);
        served.settled();
        answer
    };
    assert_eq!(cut(json!({ "station_mm": at + 5.0 })).status, 200);
    assert!((joint()["station_mm"].as_f64().unwrap() - at - 5.0).abs() < 0.06, "{}", joint());
    // Two moves at once, the second before the first is built: the last word counts.
    for to in [at + 3.0, at + 4.0] {
        let body = json!({ "base": served.revision(), "joint": 1, "station_mm": to });
        assert_eq!(served.post("/api/cut", &body).status, 200);
    }
    served.settled();
    assert!((joint()["station_mm"].as_f64().unwrap() - at - 4.0).abs() < 0.06, "{}", joint());
    assert_eq!(cut(json!({ "station_mm": at + 2.0 })).status, 200);
    assert!((joint()["station_mm"].as_f64().unwrap() - at - 2.0).abs() < 0.06, "{}", joint());
    // Locked, it stays where it was moved to, and is not moved once more by what moved it.
    let line = |key: &str| text(&bench).lines().find(|l| l.starts_with(key)).map(str::to_owned);
    assert_eq!(line("shift").as_deref(), Some("shift = [{ by = \"2 mm\", joint = 1 }]"));
    let moved = joint()["station_mm"].as_f64().unwrap();
    assert_eq!(cut(json!({ "lock": true })).status, 200);
    assert_eq!(
        (line("shift"), line("lock")),
        (None, Some(format!("lock = [\"{} mm\"]", (moved * 10.0).round() / 10.0)))
    );
    assert_eq!(joint()["locked"], true);
    assert!((joint()["station_mm"].as_f64().unwrap() - moved).abs() < 0.06, "{}", joint());
    // Undone, both are as they were.
    assert_eq!(served.post("/api/undo", &json!({ "base": served.revision() })).status, 200);
    served.settled();
    assert_eq!((line("shift").is_some(), line("lock")), (true, None));
    assert!((joint()["station_mm"].as_f64().unwrap() - moved).abs() < 0.06, "{}", joint());
    assert_eq!(cut(json!({ "station_mm": at })).status, 200);
    assert!(!text(&bench).contains("cuts"), "nothing is left of it");
    assert_eq!(cut(json!({ "lock": true })).status, 200);
    assert_eq!(joint()["locked"], true);
    assert_eq!(cut(json!({ "station_mm": at + 1.0 })).code(), "locked");
    assert_eq!(cut(json!({ "lock": false })).status, 200);
    assert_eq!(cut(json!({})).code(), "form");
    assert_eq!(cut(json!({ "station_mm": 1e9 })).code(), "far");
    let answer = served.post("/api/cut", &json!({ "base": served.revision(), "joint": 7, "lock": true }));
    assert_eq!(answer.code(), "joint");
}

#[test]
fn an_editor_and_the_page_do_not_lose_each_others_work() {
    let bench = handle();
    let served = Served::open(&bench);
    served.settled();
    let seen = served.revision();
    let by_hand = text(&bench).replace("\"Handle\"", "\"Long handle\"").replace("12 cm", "14 cm");
    fs::write(bench.path("prop.toml"), &by_hand).unwrap();
    let state = served.wait("the edit by hand", |s| s["revision"] != json!(seen));
    assert_eq!(state["changed_by"], "file");
    served.settled();
    assert_eq!(served.json("/api/scene")["span_mm"][1], 140.0);
    // A page that saw the old text: the same place is a conflict, another one is none.
    let ask = |base: &str, key: &str, value: &str| {
        served.post("/api/change", &json!({ "base": base, "changes": [{ "key": key, "value": value }] }))
    };
    let answer = ask(&seen, "shape.length", "15 cm");
    assert_eq!((answer.status, answer.code()), (409, "conflict".to_owned()));
    let told = answer.json();
    assert_eq!(
        told["conflicts"],
        json!([{ "key": "shape.length", "yours": "15 cm", "theirs": "14 cm", "base": "12 cm" }])
    );
    assert_eq!(text(&bench), by_hand);
    assert_eq!(ask(&seen, "body.grip.infill", "30 %").status, 200);
    assert!(text(&bench).contains("infill = \"30 %\"") && text(&bench).contains("14 cm"));
    assert_eq!(ask("0000000000000000", "shape.length", "15 cm").json()["conflicts"][0]["base"], Value::Null);
    let insisted = ask(told["revision"].as_str().unwrap(), "shape.length", "15 cm");
    assert_eq!(insisted.status, 200);
    // The edit by hand can be undone like any other.
    for _ in 0..3 {
        assert_eq!(served.post("/api/undo", &json!({ "base": served.revision() })).status, 200);
    }
    assert_eq!(served.revision(), seen);
    let answer = served.ask(
        "PUT",
        "/api/text",
        super::served::OURS,
        json!({ "base": "old", "text": "x" }).to_string().as_bytes(),
    );
    assert_eq!((answer.status, answer.json()["theirs"].as_str().unwrap()), (409, text(&bench).as_str()));
}

#[test]
fn what_would_not_read_is_refused_and_what_was_broken_by_hand_recovers() {
    let bench = handle();
    let served = Served::open(&bench);
    served.settled();
    let good = text(&bench);
    let answer = served.change("body.grip.infill", json!("30 kg"));
    assert_eq!((answer.status, answer.code()), (422, "project".to_owned()));
    assert_eq!(answer.json()["trouble"][0]["key"], "body.grip.infill");
    assert_eq!(served.change("nonsense.key", json!(1)).status, 422);
    assert_eq!(served.change("prop", json!(1)).code(), "key");
    assert_eq!(text(&bench), good);
    let troubled = |kind: &'static str| move |s: &Value| s["trouble"][0]["kind"] == kind;
    // A broken file, a missing one, a missing mesh: the last good view stays.
    fs::write(bench.path("prop.toml"), good.replace("[shape]", "[shape")).unwrap();
    let state = served.wait("the broken file", troubled("toml"));
    assert!(state["trouble"][0]["line"].as_u64().is_some_and(|l| l > 1), "{state}");
    assert_eq!(served.json("/api/scene")["shows"], "pieces");
    assert_eq!(served.change("shape.length", json!("13 cm")).status, 422);
    fs::write(bench.path("prop.toml"), good.replace("12 cm", "12 kg")).unwrap();
    let state = served.wait("the mistake", troubled("project"));
    assert_eq!(state["trouble"][0]["key"], "shape.length");
    fs::remove_file(bench.path("prop.toml")).unwrap();
    served.wait("the missing file", troubled("file"));
    fs::write(bench.path("prop.toml"), &good).unwrap();
    served.settled();
    fs::rename(bench.path("wand.3mf"), bench.path("away.3mf")).unwrap();
    served.wait("the missing mesh", troubled("mesh"));
    assert_eq!(served.json("/api/scene")["shows"], "pieces");
    fs::rename(bench.path("away.3mf"), bench.path("wand.3mf")).unwrap();
    let state = served.settled();
    assert_eq!(state["trouble"], json!([]));
    // A build that is refused.
    fs::write(bench.path("prop.toml"), good.replace("length   = \"12 cm\"", "")).unwrap();
    let state = served.wait("the refusal", troubled("shape"));
    assert!(stages(&state).contains(&"failed".to_owned()), "{state}");
    assert!(served.post("/api/undo", &json!({ "base": served.revision() })).status == 200);
    assert_eq!(served.settled()["trouble"], json!([]));
}

#[test]
fn the_newest_change_wins_and_work_can_be_stopped() {
    let bench = Bench::new(str::to_owned);
    let served = Served::open(&bench);
    for length in 37..45 {
        assert_eq!(served.change("shape.length", json!(format!("{length} cm"))).status, 200);
    }
    served.settled();
    assert_eq!(served.json("/api/scene")["span_mm"][1].as_f64().unwrap().round(), 440.0);
    served.change("shape.length", json!("46 cm"));
    let stopped = served.post("/api/cancel", &json!({})).json()["build"].clone();
    let state = served.wait("the stop", |s| s["working"] == false);
    assert_eq!(state["build"], stopped);
    assert!(stages(&state).contains(&"stale".to_owned()), "{state}");
    assert_eq!(served.post("/api/build", &json!({})).status, 200);
    served.settled();
    assert_eq!(served.json("/api/scene")["span_mm"][1].as_f64().unwrap().round(), 460.0);
}

#[test]
fn a_recording_changed_outside_is_built_anew() {
    let bench = power::handle(&(power::part("cell", "cell-14500", "") + &power::part("board", "controller-small", "")));
    let with = text(&bench).replace("day = ", "recorded = \"levels.csv\"\nday = ");
    fs::write(bench.path("prop.toml"), with).unwrap();
    let served = Served::open(&bench);
    let state = served.wait("what is missing", |s| !s["trouble"].as_array().unwrap().is_empty());
    assert!(state["trouble"][0]["message"].as_str().unwrap().contains("levels.csv cannot be read"), "{state}");
    assert_eq!(state["trouble"][0]["kind"], "beside");
    let record = |rows: &str| fs::write(bench.path("levels.csv"), format!("t_s,current_a,sound_dbfs\n{rows}")).unwrap();
    record("0,0.5,-20\n60,0.5,-20\n");
    served.wait("the circuit with it", |s| s["working"] == false && s["trouble"] == json!([]));
    let before = served.settled()["build"].as_u64().unwrap();
    record("0,half,-20\n");
    let state = served.wait("the fault in it", |s| !s["trouble"].as_array().unwrap().is_empty());
    assert!(state["trouble"][0]["message"].as_str().unwrap().contains("levels.csv, line 2: current_a is no number"));
    record("0,0.25,-20\n60,0.25,-20\n");
    served.wait("the circuit with another one", |s| s["trouble"] == json!([]));
    assert!(served.settled()["build"].as_u64().unwrap() >= before + 2);
}

#[test]
fn a_sound_changed_outside_is_built_anew() {
    let bench = acting(|t| t.replace("makes = \"bar\"\nlasts = \"0.4 s\"", "file = \"knock.wav\""));
    let served = Served::open(&bench);
    let trouble = |what: &str| {
        let state = served.wait(what, |s| !s["trouble"].as_array().unwrap().is_empty());
        assert_eq!(state["trouble"][0]["key"], "sound.knock.file", "{state}");
        state["trouble"][0]["message"].as_str().unwrap().to_owned()
    };
    assert!(trouble("what is missing").contains("knock.wav cannot be read"));
    let whole = wav(1, 16, 20_000);
    fs::write(bench.path("knock.wav"), &whole).unwrap();
    served.wait("the project with it", |s| s["working"] == false && s["trouble"] == json!([]));
    let before = served.settled()["build"].as_u64().unwrap();
    fs::write(bench.path("knock.wav"), &whole[..20_000]).unwrap();
    assert!(trouble("the fault in it").contains("cut off"));
    fs::write(bench.path("knock.wav"), wav(1, 16, 30_000)).unwrap();
    served.wait("the project with another one", |s| s["trouble"] == json!([]));
    assert!(served.settled()["build"].as_u64().unwrap() >= before + 2);
}

#[test]
fn a_fault_in_what_was_learnt_is_told_with_its_own_file_and_place() {
    const LEARNT: &str = "schema = 1\n[[stock]]\ndate = \"2026-03-01\"\nsheet = \"a\"\nname = \"round-glass-10\"\nmeasure = \"diameter\"\nread = [\"ten\"]\n";
    let bench = Bench::handle();
    let served = Served::open(&bench);
    served.settled();
    fs::write(bench.path("learnt.toml"), LEARNT).unwrap();
    let state = served.wait("the fault", |s| !s["trouble"].as_array().unwrap().is_empty());
    let told = &state["trouble"][0];
    assert_eq!((&told["kind"], &told["file"]), (&json!("learnt"), &json!("learnt.toml")), "{state}");
    assert_eq!((&told["line"], &told["key"]), (&json!(7), &json!("stock[1].read[1]")), "{state}");
    // What was last good stays, and it goes on by itself.
    assert_eq!(served.json("/api/scene")["shows"], "pieces");
    fs::remove_file(bench.path("learnt.toml")).unwrap();
    served.wait("the end of it", |s| s["trouble"] == json!([]) && s["working"] == false);
}
