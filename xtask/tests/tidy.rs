//! What keeps the house in order, checked on the source itself: arrows between floors, sizes of files, links, names.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The floors from the ground up; a crate may use those of lower floors, and within the ground floor only what
/// [`NEIGHBOURS`] allows.
const FLOORS: [&[&str]; 4] = [
    &["solid", "glow", "beam", "circuit", "behaviour", "workplan", "outline", "typeset"],
    &["prop"],
    &["pack"],
    &["lanthorn"],
];

/// Ground-floor crates that may use another.
const NEIGHBOURS: [(&str, &str); 3] = [("glow", "solid"), ("beam", "solid"), ("outline", "solid")];

/// Crates that open no file, read no clock and print nothing.
const QUIET: [&str; 10] =
    ["solid", "glow", "beam", "circuit", "behaviour", "workplan", "outline", "typeset", "prop", "pack"];

/// Longest source file, lines.
const LONGEST: usize = 700;

/// Largest committed shapes, bytes in all.
const SHAPES: u64 = 20_000_000;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("xtask lies in the repository")
}

/// All files of the repository that could be committed: without what is built, fetched or hidden.
fn files() -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![root().to_owned()];
    while let Some(dir) = open.pop() {
        for entry in std::fs::read_dir(&dir).expect("a readable directory").flatten() {
            let path = entry.path();
            let name = entry.file_name().to_string_lossy().into_owned();
            let built = ["target", "node_modules", "__pycache__", ".git", ".cache", ".pytest_cache"];
            if built.contains(&name.as_str()) {
                continue;
            }
            if path.is_dir() { open.push(path) } else { found.push(path) }
        }
    }
    found.sort();
    found
}

fn with_extension(extension: &str) -> Vec<PathBuf> {
    files().into_iter().filter(|p| p.extension().is_some_and(|e| e == extension)).collect()
}

fn read(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn shown(path: &Path) -> String {
    path.strip_prefix(root()).unwrap_or(path).display().to_string()
}

fn none(faults: &[String]) {
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

/// Names of the workspace's own crates that a crate's manifest depends on, whatever the kind of dependency.
fn own_dependencies(manifest: &toml::Table) -> BTreeSet<String> {
    let own: BTreeSet<&str> = FLOORS.iter().flat_map(|floor| floor.iter().copied()).collect();
    let kinds = ["dependencies", "dev-dependencies", "build-dependencies"];
    let mut tables: Vec<&toml::Table> = kinds.iter().filter_map(|k| manifest.get(*k)?.as_table()).collect();
    if let Some(targets) = manifest.get("target").and_then(toml::Value::as_table) {
        for target in targets.values().filter_map(toml::Value::as_table) {
            tables.extend(kinds.iter().filter_map(|k| target.get(*k)?.as_table()));
        }
    }
    tables.iter().flat_map(|t| t.keys()).filter(|k| own.contains(k.as_str())).cloned().collect()
}

fn floor_of(name: &str) -> Option<usize> {
    FLOORS.iter().position(|floor| floor.contains(&name))
}

fn may_use(user: &str, used: &str) -> bool {
    match (floor_of(user), floor_of(used)) {
        (Some(high), Some(low)) => low < high || NEIGHBOURS.contains(&(user, used)),
        _ => false,
    }
}

#[test]
fn no_floor_looks_up() {
    let mut faults = Vec::new();
    let mut seen = 0;
    for entry in std::fs::read_dir(root().join("crates")).expect("the crates").flatten() {
        let manifest: toml::Table = read(&entry.path().join("Cargo.toml")).parse().expect("a manifest");
        let name = manifest["package"]["name"].as_str().expect("a name").to_owned();
        if floor_of(&name).is_none() {
            faults.push(format!("{name} stands on no floor: add it to FLOORS"));
        }
        for used in own_dependencies(&manifest) {
            seen += 1;
            if !may_use(&name, &used) {
                faults.push(format!("{name} must not use {used}"));
            }
        }
    }
    assert!(seen >= 3, "the manifests were read");
    none(&faults);
}

#[test]
fn arrows_are_judged() {
    for (user, used, allowed) in [
        ("prop", "solid", true),
        ("solid", "prop", false),
        ("glow", "solid", true),
        ("solid", "glow", false),
        ("circuit", "solid", false),
        ("pack", "prop", true),
        ("prop", "pack", false),
        ("pack", "lanthorn", false),
        ("lanthorn", "solid", true),
    ] {
        assert_eq!(may_use(user, used), allowed, "{user} -> {used}");
    }
}

/// The source without its comments and without what follows its test module's head.
fn working_code(path: &Path) -> String {
    let text = read(path);
    let code = text.split("\n#[cfg(test)]\nmod ").next().unwrap_or_default();
    code.lines().map(|line| line.split("//").next().unwrap_or_default()).collect::<Vec<_>>().join("\n")
}

fn is_test_file(path: &Path) -> bool {
    let words = shown(path);
    words.contains("/tests/") || words.ends_with("/tests.rs") || words.ends_with("_tests.rs")
}

#[test]
fn below_the_roof_nothing_opens_a_file_reads_a_clock_or_prints() {
    let forbidden = [
        "std::fs",
        "std::net",
        "std::process",
        "SystemTime",
        "Instant",
        "std::env::",
        "println!",
        "eprintln!",
        "print!(",
    ];
    let mut faults = Vec::new();
    for path in with_extension("rs") {
        let inside = QUIET.iter().any(|name| path.starts_with(root().join("crates").join(name).join("src")));
        if !inside || is_test_file(&path) {
            continue;
        }
        let code = working_code(&path);
        faults.extend(forbidden.iter().filter(|f| code.contains(**f)).map(|f| format!("{}: {f}", shown(&path))));
    }
    none(&faults);
}

#[test]
fn files_are_rooms_not_halls() {
    let mut faults = Vec::new();
    for extension in ["rs", "py", "mjs", "css", "md", "toml"] {
        for path in with_extension(extension) {
            let lines = read(&path).lines().count();
            if lines > LONGEST {
                faults.push(format!("{}: {lines} lines, {LONGEST} at most", shown(&path)));
            }
        }
    }
    none(&faults);
}

/// Targets of the links and pictures in a page of Markdown.
fn links(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut fenced = false;
    for line in text.lines() {
        fenced ^= line.trim_start().starts_with("```");
        if fenced {
            continue;
        }
        for part in line.split("](").skip(1) {
            if let Some((target, _)) = part.split_once(')') {
                found.push(target.to_owned());
            }
        }
    }
    found
}

/// A heading as the anchor it can be linked by.
fn anchor(heading: &str) -> String {
    let text = heading.trim_start_matches('#').trim().to_lowercase();
    text.chars()
        .filter_map(|c| match c {
            ' ' => Some('-'),
            c if c.is_alphanumeric() || c == '-' || c == '_' => Some(c),
            _ => None,
        })
        .collect()
}

#[test]
fn links_in_the_documents_lead_somewhere() {
    let mut faults = Vec::new();
    let mut seen = 0;
    for path in with_extension("md") {
        for link in links(&read(&path)) {
            seen += 1;
            if link.starts_with("https://") || link.starts_with("http://") {
                continue;
            }
            let (file, place) = link.split_once('#').map_or((link.as_str(), None), |(f, p)| (f, Some(p)));
            let target = if file.is_empty() { path.clone() } else { path.parent().expect("a directory").join(file) };
            if !target.exists() {
                faults.push(format!("{}: {link} leads nowhere", shown(&path)));
            } else if let Some(place) = place
                && !read(&target).lines().filter(|l| l.starts_with('#')).any(|l| anchor(l) == place)
            {
                faults.push(format!("{}: no heading for {link}", shown(&path)));
            }
        }
    }
    assert!(seen >= 10, "the documents were read");
    none(&faults);
}

#[test]
fn every_kind_of_finding_is_in_the_guide() {
    let guide = read(&root().join("docs/guide.md"));
    let mut ids = BTreeSet::new();
    for path in with_extension("rs") {
        if path.starts_with(root().join("crates/prop/src")) && !is_test_file(&path) {
            let code = working_code(&path);
            // A kind is named in a finding's own field, or as the first argument of the helper that makes notes.
            for head in ["id:", "note("] {
                let named =
                    code.split(head).skip(1).filter_map(|rest| rest.trim_start().strip_prefix('"')?.split_once('"'));
                ids.extend(named.map(|(id, _)| id.to_owned()));
            }
        }
    }
    assert!(ids.len() >= 10, "the kinds were found: {ids:?}");
    none(&ids.iter().filter(|id| !guide.contains(&format!("`{id}`"))).cloned().collect::<Vec<_>>());
}

#[test]
fn the_changelog_is_open() {
    assert!(read(&root().join("CHANGELOG.md")).lines().any(|line| line.starts_with("## Unreleased")));
}

#[test]
fn shapes_stay_small() {
    let mut bytes = 0;
    for path in files() {
        let kind = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_lowercase();
        if ["3mf", "stl", "obj", "ply", "off", "glb"].contains(&kind.as_str()) {
            bytes += path.metadata().expect("a file").len();
        }
    }
    assert!((1..SHAPES).contains(&bytes), "{bytes} bytes of shapes");
}

#[test]
fn nothing_names_a_machine() {
    // Put together here, so that this file does not name them.
    let hosts = ["registry.npm", "js.org"].concat();
    let forbidden = [
        hosts,
        ["static.crates", ".io"].concat(),
        ["index.crates", ".io"].concat(),
        ["files.python", "hosted.org"].concat(),
        ["py", "pi.org"].concat(),
        ["/ho", "me/"].concat(),
        ["/ro", "ot/"].concat(),
        ["/wo", "rk/"].concat(),
    ];
    let mut faults = Vec::new();
    for path in files() {
        if let Ok(text) = std::fs::read_to_string(&path) {
            // Examples of messages show a path on a maker's own machine.
            let text = text.replace("/home/maker/", "");
            faults.extend(forbidden.iter().filter(|f| text.contains(*f)).map(|f| format!("{}: {f}", shown(&path))));
        }
    }
    none(&faults);
}

#[test]
fn the_fixed_paths_are_there() {
    let wanted = ["README.md", "ARCHITECTURE.md", "CONTRIBUTING.md", "LICENSE", "docs/guide.md", ".ci/run"];
    none(&wanted.iter().filter(|p| !root().join(p).is_file()).map(|p| format!("{p} is missing")).collect::<Vec<_>>());
    let words = read(&root().join("ARCHITECTURE.md")).split_whitespace().count();
    assert!(words <= 1500, "ARCHITECTURE.md has {words} words, 1500 at most");
}
