//! The whole gate, and its count.

use crate::run::{self, Failure, Said, cargo, listen, program};
use crate::{EXAMPLES, setup};
use std::process::Command;

/// What the gate has come to so far.
#[derive(Default)]
struct Tally {
    passed: u64,
    failed: u64,
    summaries: Vec<String>,
}

/// Runs everything, also after a failure, so that one run tells all.
pub(crate) fn test() -> Result<(), Failure> {
    let mut tally = Tally::default();
    let python = tally.prepare("python", setup::python());
    let packages = tally.prepare("browser packages", setup::node_packages("reference/browser"));
    let _ = tally.prepare("mesh packages", setup::node_packages("reference/meshes"));
    // Before anything is compiled: the program has the page in it.
    let page = tally.prepare("page of the workbench", setup::page());
    let browser = tally.prepare("browser", setup::browser());
    let _ = tally.prepare("circuit simulator", setup::simulator());
    let _ = tally.prepare("checker of PDF", setup::pdf_checker());
    let instances = tally.prepare("instances of plans", setup::instances()).unwrap_or_default();

    tally.step("formatting", &mut cargo(&["fmt", "--all", "--check"]));
    tally.step("lints", cargo(&["clippy", "--workspace", "--all-targets"]).args(["--", "-D", "warnings"]));
    if nextest_is_there() {
        tally.suite("tests", &mut cargo(&["nextest", "run", "--workspace", "--no-fail-fast"]));
        tally.suite("examples in the documentation", &mut cargo(&["test", "--workspace", "--doc", "--no-fail-fast"]));
    } else {
        tally.suite("tests", &mut cargo(&["test", "--workspace", "--no-fail-fast"]));
    }
    if page.is_some() {
        let web = crate::root().join(setup::PAGE);
        tally.step("types of the page", program("npm", &["run", "--silent", "types"]).current_dir(&web));
        tally.suite("tests of the page", program("npm", &["run", "--silent", "test"]).current_dir(&web));
    }
    tally.step("documentation", cargo(&["doc", "--workspace", "--no-deps"]).env("RUSTDOCFLAGS", "-D warnings"));

    // With the features that the tests asked for: nothing is compiled again.
    tally.step("programs", &mut cargo(&["build", "--workspace", "--bins", "--examples"]));
    for example in EXAMPLES {
        let (dir, name) = (example.pack_dir(), format!("{}'s pack", example.title));
        // A pack of an earlier run must not pass for this one's.
        let stale = std::fs::remove_dir_all(&dir);
        if stale.is_ok() || !dir.exists() {
            tally.step(&name, &mut example.build_pack(program(built(), &[])));
        } else {
            tally.count(&name, false, format!("cannot remove {}", dir.display()));
        }
    }
    let packs = std::env::join_paths(EXAMPLES.map(|e| e.pack_dir())).unwrap_or_default();
    if let Some(python) = python {
        // As many files of checks side by side as there are cores.
        let side_by_side = ["-n", "auto", "--dist", "loadfile"];
        let mut pytest = program(python, &["-m", "pytest", "-p", "no:cacheprovider"]);
        pytest.args(side_by_side).arg("reference");
        pytest.env("LANTHORN_PACKS", &packs).env("LANTHORN_BIN", built()).env("PYTHONDONTWRITEBYTECODE", "1");
        // Cargo puts them beside the program, in `examples`.
        let examples = [
            ("GLOW_SLABS", "slabs"),
            ("BEAM_BEAMS", "beams"),
            ("CIRCUIT_CIRCUITS", "circuits"),
            ("NEST_CASES", "nest_cases"),
            ("WORKPLAN_PLANS", "plans"),
        ];
        pytest.envs(examples.map(|(name, program)| (name, built().with_file_name("examples").join(program))));
        pytest.env("WORKPLAN_INSTANCES", &instances);
        tally.suite("reference checks", &mut pytest);
    }
    if let (Some(()), Some(browser)) = (packages, browser) {
        let suites = [
            ("browser tests", "page.test.mjs"),
            ("workbench tests", "workbench.test.mjs"),
            ("sharing tests", "sharing.test.mjs"),
            ("lit prop tests", "lit.test.mjs"),
        ];
        for (name, file) in suites {
            let mut node = program("node", &["--test", "--test-reporter=spec"]);
            node.arg(format!("reference/browser/{file}")).env("LANTHORN_PACKS", &packs).env("LANTHORN_BIN", built());
            tally.suite(name, node.env("LANTHORN_BROWSER", &browser));
        }
    }
    tally.close()
}

/// The program under test: it lies beside this one.
fn built() -> std::path::PathBuf {
    std::env::current_exe().unwrap_or_default().with_file_name("lanthorn")
}

fn nextest_is_there() -> bool {
    run::answer(&mut cargo(&["nextest", "--version"])).is_ok()
}

impl Tally {
    fn prepare<T>(&mut self, name: &str, done: Result<T, Failure>) -> Option<T> {
        match done {
            Ok(value) => Some(value),
            Err(failure) => {
                run::say(&format!("{name}: {failure}"));
                self.count(name, false, format!("cannot be set up: {failure}"));
                None
            }
        }
    }

    fn count(&mut self, name: &str, well: bool, words: String) {
        if well {
            self.passed += 1;
        } else {
            self.failed += 1;
        }
        self.summaries.push(format!("{name}: {words}"));
    }

    /// A command that passes or fails as a whole.
    fn step(&mut self, name: &str, command: &mut Command) {
        run::say(&format!("\n== {name}"));
        let said = listen(command);
        self.count(name, said.well, if said.well { "passed".to_owned() } else { "failed".to_owned() });
    }

    /// A test runner, whose own counts are taken over.
    fn suite(&mut self, name: &str, command: &mut Command) {
        run::say(&format!("\n== {name}"));
        let said = listen(command);
        let (passed, failed, own) = counts(&said);
        self.summaries.extend(own.into_iter().map(|line| format!("{name}: {line}")));
        self.passed += passed;
        self.failed += failed;
        if !said.well && failed == 0 {
            self.count(name, false, "ended badly without naming a failed test".to_owned());
        } else if passed + failed == 0 {
            self.count(name, false, "ran no test".to_owned());
        }
    }

    fn close(self) -> Result<(), Failure> {
        run::say("\n== summary");
        for line in &self.summaries {
            run::say(line);
        }
        run::say(&format!("{} passed, {} failed", self.passed, self.failed));
        if self.failed == 0 { Ok(()) } else { Err(Failure::new("not every test passed")) }
    }
}

/// Passed, failed and the lines that say so.
fn counts(said: &Said) -> (u64, u64, Vec<String>) {
    let (mut passed, mut failed, mut own) = (0, 0, Vec::new());
    for line in &said.lines {
        let plain = without_colour(line);
        if let Some((p, f)) = summary(plain.trim()) {
            passed += p;
            failed += f;
            own.push(plain.trim().to_owned());
        }
    }
    (passed, failed, own)
}

fn without_colour(line: &str) -> String {
    let mut parts = line.split('\u{1b}');
    let mut plain = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        plain.push_str(part.split_once('m').map_or(part, |(_, rest)| rest));
    }
    plain
}

/// Passed and failed from a runner's summary line.
fn summary(line: &str) -> Option<(u64, u64)> {
    let before = |word: &str| -> u64 {
        let words: Vec<&str> = line.split([' ', ',', ';', '.', ':']).filter(|w| !w.is_empty()).collect();
        words.windows(2).find(|w| w[1] == word).and_then(|w| w[0].parse().ok()).unwrap_or(0)
    };
    // nextest: "Summary [   1.2s] 8 tests run: 7 passed, 1 failed, 0 skipped"; it names timeouts and crashes apart.
    if line.starts_with("Summary [") {
        return Some((before("passed"), before("failed") + before("exec") + before("timed")));
    }
    // cargo test: "test result: ok. 3 passed; 0 failed; 0 ignored; ..."; crates without tests are left out.
    if line.starts_with("test result: ") {
        let found = (before("passed"), before("failed"));
        return (found != (0, 0)).then_some(found);
    }
    // vitest: "Tests  1 failed | 11 passed (12)"
    if line.starts_with("Tests ") {
        return Some((before("passed"), before("failed")));
    }
    // pytest: "=== 12 passed, 1 failed, 2 errors in 3.21s ==="
    if line.starts_with("=") && line.ends_with("=") && line.contains(" in ") {
        return Some((before("passed"), before("failed") + before("error") + before("errors")));
    }
    // node: "ℹ pass 5", "ℹ fail 0", "ℹ cancelled 0"
    let (word, number) = line.strip_prefix("ℹ ")?.split_once(' ')?;
    let number = number.parse().ok()?;
    match word {
        "pass" => Some((number, 0)),
        "fail" | "cancelled" => Some((0, number)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_runner_is_understood() {
        for (line, want) in [
            ("Summary [   1.234s] 8 tests run: 7 passed (1 slow), 1 failed, 0 skipped", Some((7, 1))),
            ("Summary [   1.234s] 8 tests run: 6 passed, 1 failed, 1 timed out, 0 skipped", Some((6, 2))),
            ("test result: FAILED. 3 passed; 2 failed; 0 ignored; 0 measured; 0 filtered out", Some((3, 2))),
            ("test result: ok. 0 passed; 0 failed; 0 ignored; 0 measured; 0 filtered out", None),
            ("==== 12 passed in 3.21s ====", Some((12, 0))),
            ("=== 1 failed, 12 passed, 2 errors in 63.21s (0:01:03) ===", Some((12, 3))),
            ("==== test session starts ====", None),
            ("Tests  1 failed | 11 passed (12)", Some((11, 1))),
            ("Test Files  2 passed (2)", None),
            ("ℹ pass 5", Some((5, 0))),
            ("ℹ fail 1", Some((0, 1))),
            ("ℹ duration_ms 51.2", None),
        ] {
            assert_eq!(summary(line), want, "{line}");
        }
    }

    #[test]
    fn a_failure_without_a_count_still_counts() {
        let mut tally = Tally::default();
        tally.suite("nothing", &mut program("false", &[]));
        assert_eq!((tally.passed, tally.failed), (0, 1));
        tally.suite("silent", &mut program("true", &[]));
        assert_eq!((tally.passed, tally.failed), (0, 2));
        tally.suite("counted", &mut program("echo", &["=== 3 passed in 0.1s ==="]));
        assert_eq!((tally.passed, tally.failed), (3, 2));
        assert!(tally.close().is_err());
    }

    #[test]
    fn colours_are_no_words() {
        assert_eq!(without_colour("\u{1b}[1m\u{1b}[32m 3 passed\u{1b}[0m"), " 3 passed");
    }
}
