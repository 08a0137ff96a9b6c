//! At the bench: ticks, readings, photos, timers, by two at once, through a power cut.

use super::served::{Events, Served};
use crate::wand::Bench;
use serde_json::{Value, json};
use std::fs;

fn planned() -> Bench {
    let bench = Bench::handle();
    let text = fs::read_to_string(bench.path("prop.toml")).unwrap();
    fs::write(bench.path("prop.toml"), format!("{text}\n[plan]\nstart = \"2026-03-02\"\n")).unwrap();
    bench
}

fn job<'a>(steps: &'a Value, name: &str) -> &'a Value {
    steps["jobs"].as_array().unwrap().iter().find(|j| j["name"] == name).unwrap()
}

fn names(steps: &Value) -> Vec<String> {
    steps["jobs"].as_array().unwrap().iter().map(|j| j["name"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn what_was_acknowledged_survives_a_kill() {
    let bench = planned();
    let served = Served::open(&bench);
    served.settled();
    let all = names(&served.json("/api/steps"));
    assert!(all.len() > 5 && !bench.path("workshop.sqlite").exists(), "nothing is kept before anything is ticked");
    let mut acknowledged = Vec::new();
    let port = served.port;
    // Two pages tick for as long as there is somebody to answer; the power goes in the middle of it.
    let ticking = |by: &'static str, all: Vec<String>| {
        std::thread::spawn(move || {
            let mut done = Vec::new();
            for round in 0..10_000 {
                let job = &all[round % all.len()];
                let state = if (round / all.len()).is_multiple_of(2) { "done" } else { "begun" };
                let body =
                    json!({ "request": format!("{by}-{round}"), "by": by, "job": job, "state": state }).to_string();
                let request = format!(
                    "POST /api/steps/tick HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n{}Content-Length: {}\r\n\r\n{body}",
                    super::served::OURS,
                    body.len()
                );
                let Ok(mut stream) = std::net::TcpStream::connect(("127.0.0.1", port)) else { break };
                if std::io::Write::write_all(&mut stream, request.as_bytes()).is_err() {
                    break;
                }
                let answer = super::served::answer(&mut stream);
                if answer.status != 200 {
                    break;
                }
                done.push((answer.json()["version"].as_u64().unwrap(), job.clone(), state));
            }
            done
        })
    };
    let half = all.len() / 2;
    let pages = [ticking("Ada", all[..half].to_vec()), ticking("Ben", all[half..].to_vec())];
    std::thread::sleep(std::time::Duration::from_millis(1500));
    served.kill();
    for page in pages {
        acknowledged.extend(page.join().unwrap());
    }
    assert!(acknowledged.len() > 20, "{}", acknowledged.len());
    let served = Served::open(&bench);
    // Before it is built again: the plan was kept.
    let steps = served.json("/api/steps");
    let last = acknowledged.iter().map(|a| a.0).max().unwrap();
    let version = steps["version"].as_u64().unwrap();
    // At most one write of each page was done and not acknowledged.
    assert!((last..=last + 2).contains(&version), "{version} {last}");
    let unanswered = version - last;
    acknowledged.sort();
    let mut wrong = 0;
    for name in &all {
        if let Some((_, _, state)) = acknowledged.iter().rfind(|a| a.1 == *name)
            && job(&steps, name)["state"] != *state
        {
            wrong += 1;
        }
    }
    assert!(wrong <= unanswered, "{wrong} ticks are lost");
}

#[test]
fn two_pages_see_each_others_work() {
    let bench = planned();
    let served = Served::open(&bench);
    served.settled();
    let mut other = Events::listen(&served);
    let first = names(&served.json("/api/steps"))[0].clone();
    let tick = json!({ "request": "a", "by": "Ada", "job": first, "state": "begun", "local": "2026-03-02 18:30" });
    let answer = served.post("/api/steps/tick", &tick);
    assert_eq!((answer.status, answer.json()["version"].clone()), (200, json!(1)));
    assert_eq!(other.next("steps")["version"], 1);
    assert_eq!(served.post("/api/steps/tick", &tick).json()["version"], 1, "sent again, done once");
    let print = names(&served.json("/api/steps")).into_iter().find(|n| n.starts_with("print bench-")).unwrap();
    let value = |request: &str, kind: &str, value: &str| {
        served.post("/api/steps/value", &json!({ "request": request, "job": print, "kind": kind, "value": value }))
    };
    assert_eq!(value("b", "print-time", "5 kg").code(), "value");
    assert_eq!(value("c", "print-time", "5 h").status, 200);
    assert_eq!(
        served.post("/api/steps/tick", &json!({ "request": "d", "job": "dance", "state": "done" })).code(),
        "job"
    );
    assert_eq!(served.post("/api/steps/tick", &json!({ "request": "d", "job": first, "state": "danced" })).status, 422);
    let timer = json!({ "request": "e", "job": first, "label": "cures", "minutes": 45 });
    assert_eq!(served.post("/api/steps/timer", &timer).status, 200);
    let path = format!("/api/steps/photo?request=f&job={}", first.replace(' ', "%20"));
    let photo = b"\x89PNG\r\n\x1a\n picture";
    assert_eq!(served.ask("POST", &path, "x-lanthorn: page\r\n", photo).status, 200);
    let hidden = served.ask("POST", &path.replace("=f", "=g"), "x-lanthorn: page\r\n", b"<svg onload='x'/>");
    assert_eq!((hidden.status, hidden.code()), (415, "picture".to_owned()));
    let steps = served.json("/api/steps");
    let told = job(&steps, &first);
    assert_eq!(
        (&told["state"], &told["ticked_by"], told["timers"].as_array().unwrap().len()),
        (&json!("begun"), &json!("Ada"), 1)
    );
    let id = told["photos"][0]["id"].as_i64().unwrap();
    let shown = served.get(&format!("/api/steps/photo/{id}"));
    assert!(
        shown.body == photo && shown.head.contains("image/png") && shown.head.contains("nosniff"),
        "{}",
        shown.head
    );
    assert_eq!(job(&steps, &print)["values"][0]["value"], "5 h");
    assert_eq!(served.post("/api/steps/remove", &json!({ "request": "h", "what": "photo", "id": id })).status, 200);
    assert_eq!(served.get(&format!("/api/steps/photo/{id}")).status, 404);
}

#[test]
fn what_was_measured_flows_back() {
    let bench = planned();
    let served = Served::open(&bench);
    served.settled();
    assert_eq!(served.post("/api/steps/learn", &json!({})).code(), "nothing");
    assert_eq!(served.post("/api/steps/replan", &json!({ "base": served.revision() })).code(), "nothing");
    let steps = served.json("/api/steps");
    let print = names(&steps).into_iter().find(|n| n.starts_with("print bench-")).unwrap();
    let planned_min = |steps: &Value| {
        let job = job(steps, &print);
        job["to_min"].as_f64().unwrap() - job["from_min"].as_f64().unwrap()
    };
    let before = planned_min(&steps);
    // Half as long again as planned.
    let value = format!("{} min", (before * 1.5).round());
    let reading = json!({ "request": "a", "job": print, "kind": "print-time", "value": value });
    assert_eq!(served.post("/api/steps/value", &reading).status, 200);
    let learnt = served.post("/api/steps/learn", &json!({}));
    assert_eq!(learnt.status, 200, "{}", String::from_utf8_lossy(&learnt.body));
    assert!(fs::read_to_string(bench.path("learnt.toml")).unwrap().contains("bench-01"));
    assert_eq!(served.post("/api/steps/learn", &json!({})).code(), "nothing", "no reading counts twice");
    served.settled();
    let after = planned_min(&served.json("/api/steps"));
    assert!(after > 1.1 * before, "{before} {after}");
    // Ticks become reports of the plan.
    let first = names(&served.json("/api/steps"))[0].clone();
    let tick = json!({ "request": "b", "job": first, "state": "done", "local": "2026-03-05 19:00" });
    assert_eq!(served.post("/api/steps/tick", &tick).status, 200);
    let replan = served.post("/api/steps/replan", &json!({ "base": served.revision() }));
    assert_eq!(replan.status, 200, "{}", String::from_utf8_lossy(&replan.body));
    let text = fs::read_to_string(bench.path("prop.toml")).unwrap();
    assert!(text.contains("to = \"2026-03-05 19:00\"") && text.contains("[done."), "{text}");
    let state = served.settled();
    assert_eq!(state["trouble"], json!([]));
    assert!(!names(&served.json("/api/steps")).is_empty());
}

#[test]
fn a_coupon_is_filled_in_line_by_line_and_learnt() {
    let bench = planned();
    let served = Served::open(&bench);
    served.settled();
    let steps = served.json("/api/steps");
    let measure = names(&steps).into_iter().find(|n| n.starts_with("measure the coupon of")).unwrap();
    let printer = job(&steps, &measure)["coupon"].as_str().unwrap().to_owned();
    assert_eq!(printer, "bench");
    assert_eq!(served.get("/api/steps/coupon/nobody").status, 404);
    let sheet = served.json(&format!("/api/steps/coupon/{printer}"));
    let lines = sheet["lines"].as_array().unwrap();
    // The same lines as `lanthorn coupon fit` writes.
    let run = bench.lanthorn().args(["coupon", "fit", "prop.toml", "--out", "coupon"]).output().unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let written = fs::read_to_string(bench.path("coupon/readings.csv")).unwrap();
    let own: Vec<&str> = written.lines().filter(|l| !l.starts_with('#')).skip(1).collect();
    let told: Vec<String> = lines.iter().map(|l| format!("{},,", l["line"].as_str().unwrap())).collect();
    assert_eq!(told, own);
    let tried: Vec<&Value> = lines.iter().filter(|l| l["tried"] == true).collect();
    let of_first = |l: &&&Value| {
        let feature = |l: &Value| l["line"].as_str().unwrap().split(',').nth(3).unwrap().to_owned();
        feature(l) == feature(tried[0])
    };
    let ladder: Vec<&&Value> = tried.iter().filter(of_first).collect();
    assert!(ladder.len() >= 4, "{}", ladder.len());
    let mut count = 0;
    let mut fill = |line: &Value, reading: &str, how: &str| {
        count += 1;
        let value = format!("{},{reading},{how}", line["line"].as_str().unwrap());
        let body = json!({ "request": format!("c{count}"), "job": measure, "kind": "coupon", "value": value });
        served.post("/api/steps/value", &body)
    };
    let refused = fill(ladder[0], "99 mm", "press");
    assert_eq!(refused.code(), "value");
    assert_eq!(fill(ladder[0], "", "squeaks").code(), "value");
    assert_eq!(fill(&json!({ "line": "" }), "x", "").code(), "value");
    // First it goes too hard; what is filled in later counts.
    assert_eq!(fill(ladder[0], "", "slides").status, 200);
    for (k, line) in ladder.iter().enumerate() {
        let how = if k == 0 {
            "press"
        } else if k + 1 < ladder.len() {
            "slides"
        } else {
            "loose"
        };
        assert_eq!(fill(line, "", how).status, 200);
    }
    let learnt = served.post("/api/steps/learn", &json!({}));
    assert_eq!(learnt.status, 200, "{}", String::from_utf8_lossy(&learnt.body));
    let said = learnt.json()["learnt"].to_string();
    assert!(said.contains("slide gap a side, as drawn"), "{said}");
    let kept = fs::read_to_string(bench.path("learnt.toml")).unwrap();
    assert!(kept.contains("slide") && kept.contains("bench"), "{kept}");
    assert_eq!(served.post("/api/steps/learn", &json!({})).code(), "nothing", "no reading counts twice");
    let state = served.settled();
    assert_eq!(state["trouble"], json!([]));
    // It is in use: the findings say where the gap comes from.
    let findings = served.json("/api/findings").to_string();
    assert!(findings.contains("learnt"), "{findings}");
}
