//! Faults of power put in on purpose, one a test, and a recording of use: the right words through the command.

use crate::wand::{Bench, body};

/// A handle of 30 cm, an oval of 38 by 32 mm, with some more project text.
pub(crate) fn handle(more: &str) -> Bench {
    const HANDLE: &str = "[prop]\nname = \"Reed handle\"\n[shape]\nfile = \"wand.3mf\"\nlength = \"30 cm\"\ntip = \"high\"\n\
        [body.handle]\nrole = \"plain\"\nmaterial = \"abs-white\"\n[printer.bench]\nkind = \"filament-220\"\n";
    let oval: Vec<(f64, f64, f64)> = (0..=30).map(|i| (f64::from(i) * 10.0, 19.0, 16.0)).collect();
    Bench::with(&[("handle", body(&oval))], |_| format!("{HANDLE}{more}\n[power]\nday = \"6 h\"\n"))
}

pub(crate) fn part(name: &str, kind: &str, more: &str) -> String {
    format!("\n[part.{name}]\nkind = \"{kind}\"\nin = \"handle\"\n{more}\n")
}

#[track_caller]
fn refused(bench: &Bench, key: &str, words: &[&str]) {
    let (code, said) = bench.check();
    assert_eq!(code, 2, "{said}");
    for word in words.iter().chain([&key]) {
        assert!(said.contains(word), "{word}: {said}");
    }
}

#[test]
fn a_prop_without_a_cell_is_refused_at_power() {
    let bench = handle(&part("board", "controller-small", ""));
    refused(&bench, "power: nothing feeds the prop: there is no cell", &["add [part.cell]"]);
}

#[test]
fn a_cell_that_leads_nowhere_is_refused() {
    refused(
        &handle(&part("cell", "cell-14500", "")),
        "part.cell",
        &["wired to nothing that it could feed", "name what it feeds"],
    );
}

#[test]
fn a_ring_of_wires_is_refused_at_the_part_that_is_fed_twice() {
    let ring = part("cell", "cell-14500", "to = [\"fuse\", \"board\"]")
        + &part("fuse", "fuse-blade", "to = [\"board\"]")
        + &part("board", "controller-small", "");
    refused(&handle(&ring), "part.board.to", &["wires close a loop", "wire it to one of them only"]);
}

#[test]
fn a_strip_that_nothing_feeds_is_refused() {
    // The cell feeds a fuse, and nobody feeds the strip.
    let parts =
        "\n[part.cell]\nkind = \"cell-14500\"\nin = \"grip\"\n[part.fuse]\nkind = \"fuse-blade\"\nin = \"grip\"\n";
    let spine = |t: &str| t.replace("[spine]", "[spine]\nfrom = \"118 mm\"");
    let bench = Bench::new(|t| format!("{}{parts}\n[power]\nday = \"6 h\"\n", spine(t)));
    refused(&bench, "part.cell", &["the strip has no supply"]);
}

#[test]
fn a_cell_of_negative_resistance_is_refused_at_its_key() {
    refused(&handle(&part("cell", "cell-14500", "resistance = \"-60 mohm\"")), "part.cell.resistance", &["too small"]);
}

#[test]
fn a_load_that_no_cell_carries_fails_with_its_name() {
    let parts =
        part("cell", "cell-14500", "resistance = \"900 mohm\"") + &part("board", "controller-small", "draws = \"2 A\"");
    let (code, said) = handle(&parts).check();
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("(power_brownout)") && said.contains("the controller gets"), "{said}");
    assert!(!said.contains("NaN") && !said.contains("inf "), "{said}");
}

#[test]
fn a_recording_written_wrong_is_told_by_file_and_line() {
    let bench = handle(&(part("cell", "cell-14500", "") + &part("board", "controller-small", "")));
    let text = std::fs::read_to_string(bench.path("prop.toml")).unwrap();
    std::fs::write(bench.path("prop.toml"), text.replace("day = ", "recorded = \"levels.csv\"\nday = ")).unwrap();
    let (code, said) = bench.check();
    assert!(code != 0 && said.contains("levels.csv cannot be read; power.recorded names it"), "{code} {said}");
    std::fs::write(bench.path("levels.csv"), "t_s,current_a,sound_dbfs\n0,1,-20\n1,one,-20\n").unwrap();
    let (code, said) = bench.check();
    assert!(code != 0 && said.contains("levels.csv, line 3: current_a is no number"), "{code} {said}");
    std::fs::write(bench.path("levels.csv"), "t_s,current_a,sound_dbfs\n0,1,-20\n1,0,\n").unwrap();
    let (code, said) = bench.check();
    assert!(code == 0 && said.contains("(cell_smallest)"), "{code} {said}");
}
