//! Packs on the disk: complete, reproducible, and never half written.

use crate::wand::Bench;
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

fn files(dir: &Path) -> BTreeMap<String, Vec<u8>> {
    fn walk(dir: &Path, base: &Path, all: &mut BTreeMap<String, Vec<u8>>) {
        for entry in std::fs::read_dir(dir).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, base, all);
            } else {
                let name = path.strip_prefix(base).unwrap().to_string_lossy().into_owned();
                all.insert(name, std::fs::read(&path).unwrap());
            }
        }
    }
    let mut all = BTreeMap::new();
    walk(dir, dir, &mut all);
    all
}

fn names_in(dir: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        std::fs::read_dir(dir).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

#[test]
fn two_runs_give_the_same_bytes_on_one_core_or_several() {
    let bench = Bench::new(str::to_owned);
    for (threads, out) in [("1", "one"), ("3", "three")] {
        let run =
            bench.lanthorn().env("RAYON_NUM_THREADS", threads).args(["build", "prop.toml", "--out", out]).output();
        let run = run.unwrap();
        assert_eq!(run.status.code(), Some(0), "{}", String::from_utf8_lossy(&run.stderr));
    }
    let (one, three) = (files(&bench.path("one")), files(&bench.path("three")));
    assert_eq!(one.keys().collect::<Vec<_>>(), three.keys().collect::<Vec<_>>());
    for (name, bytes) in &one {
        assert!(bytes == &three[name], "{name} differs");
    }
    for name in [
        "findings.json",
        "index.html",
        "pieces/index.json",
        "pieces/ways.json",
        "shape/prop.3mf",
        "drawings/side.svg",
        "drawings/inside.svg",
        "drawings/sections.svg",
    ] {
        assert!(one.contains_key(name), "{name} is missing");
    }
    // What the index promises is there, as 3MF and STL.
    let index: serde_json::Value = serde_json::from_slice(&one["pieces/index.json"]).unwrap();
    let pieces = index["pieces"].as_array().unwrap();
    assert_eq!(pieces.len(), 3, "{index}");
    for piece in pieces {
        let file = piece["file"].as_str().unwrap();
        let found = one.keys().any(|k| k.ends_with(file));
        assert!(found, "{file}");
        assert_eq!(piece["to_prop"].as_array().unwrap().len(), 16);
    }
}

#[cfg(unix)]
#[test]
fn a_build_that_is_interrupted_leaves_the_old_pack() {
    let bench = Bench::new(str::to_owned);
    let old = bench.path("pack");
    std::fs::create_dir(&old).unwrap();
    std::fs::write(old.join("findings.json"), "old").unwrap();
    let program = assert_cmd::cargo::cargo_bin("lanthorn");
    let mut child = Command::new(program)
        .current_dir(bench.dir.path())
        .args(["build", "prop.toml", "--out", "pack"])
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stderr.take().unwrap()).lines();
    // In the middle of the work, by the program's own word.
    assert!(lines.any(|l| l.unwrap() == "making the pieces"));
    let kill = Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(kill.success());
    let rest: Vec<String> = lines.map_while(Result::ok).collect();
    assert_eq!(child.wait().unwrap().code(), Some(130), "{rest:?}");
    assert_eq!(std::fs::read_to_string(old.join("findings.json")).unwrap(), "old");
    assert_eq!(names_in(bench.dir.path()), ["pack", "prop.toml", "wand.3mf"], "no draft is left");
}

#[cfg(unix)]
#[test]
fn a_full_disk_leaves_the_old_pack() {
    let bench = Bench::new(str::to_owned);
    let old = bench.path("pack");
    std::fs::create_dir(&old).unwrap();
    std::fs::write(old.join("findings.json"), "old").unwrap();
    let program = assert_cmd::cargo::cargo_bin("lanthorn");
    // No file may grow beyond 64 blocks: writing the first large one fails as on a full disk.
    let limited = format!("trap '' XFSZ; ulimit -f 64; exec '{}' build prop.toml --out pack", program.display());
    let output = Command::new("sh").current_dir(bench.dir.path()).args(["-c", &limited]).output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(said.contains("is as it was"), "{said}");
    assert_eq!(std::fs::read_to_string(old.join("findings.json")).unwrap(), "old");
    assert_eq!(names_in(bench.dir.path()), ["pack", "prop.toml", "wand.3mf"], "no draft is left");
}

#[test]
fn a_new_project_says_what_it_guessed_and_checks() {
    let bench = Bench::new(str::to_owned);
    let output = bench
        .lanthorn()
        .args(["new", "marsh-wand", "--shape", "wand.3mf", "--length", "14 in", "--wearer", "168 cm"])
        .output()
        .unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(
        said.contains("The tip is taken to be at the high end of the file's x, because the lit part is at that end"),
        "{said}"
    );
    let project = std::fs::read_to_string(bench.path("marsh-wand/prop.toml")).unwrap();
    assert!(project.contains("length = \"14 in\"") && project.contains("[body.blade]"), "{project}");
    assert!(bench.path("marsh-wand/shape/wand.3mf").is_file());
    let output = bench.lanthorn().args(["check", "marsh-wand/prop.toml"]).output().unwrap();
    assert_ne!(output.status.code(), Some(2), "{}", String::from_utf8_lossy(&output.stderr));
    // A second start there is refused: nothing is lost.
    let output = bench.lanthorn().args(["new", "marsh-wand", "--shape", "wand.3mf"]).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
}
