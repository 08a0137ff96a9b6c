//! Builds that remember: the same outcome as without, and only what an edit touches made anew.

use crate::wand::{HANDLE, PROJECT, blade, body, grip};
use prop::catalogue::Catalogue;
use prop::outcome::Outcome;
use prop::stages::SoFar;
use prop::{Inputs, Memory, Monitor, build_telling, build_with};
use solid::Cancel;
use solid::read::{NamedMesh, Shape};
use std::sync::Mutex;

/// The wand on low beds, so that grip and blade come in several pieces, with a ring over the grip and a switch in it.
const MORE: &str = r##"
[printer.low]
kind = "filament-180"
bed = ["120 mm", "120 mm", "75 mm"]

[body.guard]
role = "cover"
material = "abs-white"

[part.switch]
kind = "switch-push-8"
in = "grip"

[behaviour]
board = "two-core-133"
current = "0.5 A"
use = "press, swing, strike"
on.strike = { flash = { colour = "#ffffff" } }

[mode.asleep]
on.short-press = { to = "lit" }

[mode.lit]
light = { moves = "breathe", colour = "#40c0a0", round = "3 s" }
on.short-press = { to = "asleep" }
"##;

const LOW: &str = "[printer.low]";

const STAGES: [&str; 9] = ["placed", "cavity", "rail", "bays", "piece", "cover", "light", "strength", "trial"];

struct Workbench {
    memory: Memory,
    text: String,
}

impl Workbench {
    /// What a change of the project's text asks to be built.
    #[track_caller]
    fn inputs(&self, from: &str, to: &str) -> Inputs {
        assert!(self.text.contains(from), "{from}");
        let project = prop::project::parse(&self.text.replace(from, to), &Catalogue::built_in()).unwrap();
        let ring = body(&[(88.0, 26.0, 23.0), (94.0, 27.0, 24.0), (100.0, 26.0, 23.0)]);
        let bodies = [("blade", blade()), ("grip", grip()), ("guard", ring)];
        let bodies = bodies.map(|(name, mesh)| NamedMesh::plain(name, mesh));
        let shape = Shape { bodies: bodies.into(), unit_mm: Some(1.0), notes: Vec::new() };
        Inputs { project, shape, hash: String::new() }
    }

    /// Builds it with what is remembered; how many results of each stage were made anew.
    fn build(&self, inputs: &Inputs) -> ([usize; STAGES.len()], Outcome) {
        let before = STAGES.map(|s| self.memory.made(s));
        let outcome = build_with(inputs, &self.memory, &monitor()).unwrap();
        (std::array::from_fn(|k| self.memory.made(STAGES[k]) - before[k]), outcome)
    }

    /// Builds it with and without memory: the outcomes must be one and the same. How many results were made anew.
    #[track_caller]
    fn edit(&self, from: &str, to: &str) -> [usize; STAGES.len()] {
        let inputs = self.inputs(from, to);
        let (made, remembered) = self.build(&inputs);
        let fresh = prop::build(&inputs, &monitor()).unwrap();
        // Every number of the outcome, with all its figures.
        let (remembered, fresh) = (format!("{remembered:?}"), format!("{fresh:?}"));
        let parted = remembered.bytes().zip(fresh.bytes()).position(|(a, b)| a != b);
        assert!(remembered == fresh, "{to}: the outcomes part at byte {parted:?}");
        made
    }
}

fn monitor() -> Monitor<'static> {
    Monitor { cancel: Cancel::default(), report: &|_, _| {} }
}

#[test]
fn an_edit_makes_anew_what_it_touches_and_comes_to_the_same() {
    let text = PROJECT.replace("140 mm", "75 mm").replace("[spine]", "[spine]\nfrom = \"70 mm\"");
    let bench = Workbench { memory: Memory::default(), text: text + MORE };
    let as_it_was = bench.inputs("Reed wand", "Reed wand");
    // Five pieces of the blade and two of the grip.
    assert_eq!(bench.build(&as_it_was).0, [1, 1, 1, 1, 7, 1, 1, 1, 1]);
    assert_eq!(bench.build(&as_it_was).0, [0; 9]);
    assert_eq!(bench.build(&bench.inputs("Reed wand", "Marsh wand")).0, [0; 9]);
    // A cut: its two pieces. The ring comes on by other joints.
    assert_eq!(
        bench.edit(LOW, &format!("[cuts]\nshift = [{{ joint = 4, by = \"3 mm\" }}]\n\n{LOW}")),
        [0, 0, 0, 0, 2, 0, 1, 1, 0]
    );
    // What has no say in the light leaves it as it is.
    assert_eq!(bench.edit("[wearer]\nheight = \"168 cm\"", "[wearer]\nheight = \"182 cm\""), [0; 9]);
    // Another hand on it: what it bears. Another use: whether it is heard.
    let from = "[behaviour]\nboard = \"two-core-133\"\ncurrent = \"0.5 A\"\nuse = \"press,";
    let to = format!("[strength]\nhand = \"40 mm\"\n\n{from} swing,");
    assert_eq!(bench.edit(from, &to), [0, 0, 0, 0, 0, 0, 0, 1, 1]);
    // Undone.
    assert_eq!(bench.build(&as_it_was).0, [0; 9]);
    // A switch: its bay and the pieces of the grip.
    let [placed, cavity, _, bays, pieces, _, light, ..] = bench.edit("in = \"grip\"", "in = \"grip\"\nat = \"40 mm\"");
    assert_eq!([placed, cavity, bays, light], [0, 0, 1, 1]);
    assert!(pieces <= 2, "{pieces}");
    // A bed: other cuts in the blade, and no other cavity.
    let [placed, cavity, ..] = bench.edit("75 mm\"]\n\n[body.guard]", "76 mm\"]\n\n[body.guard]");
    assert_eq!([placed, cavity], [0, 0]);
    // A wall, and a material with it.
    let from = "material = \"abs-white\"\nwall = \"2 mm\"";
    let [placed, cavity, ..] = bench.edit(from, "material = \"pla-white\"\nwall = \"2.4 mm\"");
    assert_eq!([placed, cavity], [0, 1]);
}

#[test]
fn another_gauge_or_another_cell_of_its_size_makes_only_the_circuit_anew() {
    const TEXT: &str = "[prop]\nname = \"Handle\"\n[shape]\nfile = \"wand.3mf\"\nlength = \"30 cm\"\ntip = \"high\"\n\
        [body.handle]\nrole = \"plain\"\nmaterial = \"abs-white\"\n[printer.bench]\nkind = \"filament-220\"\n\
        [part.cell]\nkind = \"cell-18650\"\nin = \"handle\"\n[part.controller]\nkind = \"controller-small\"\nin = \"handle\"\n\
        [power]\ngauge = 24\n";
    let memory = Memory::default();
    let inputs = |from: &str, to: &str| {
        let project = prop::project::parse(&TEXT.replace(from, to), &Catalogue::built_in()).unwrap();
        let oval: Vec<(f64, f64, f64)> = (0..=30).map(|i| (f64::from(i) * 10.0, 19.0, 16.0)).collect();
        let bodies = vec![NamedMesh::plain("handle", body(&oval))];
        Inputs { project, shape: Shape { bodies, unit_mm: Some(1.0), notes: Vec::new() }, hash: String::new() }
    };
    let build = |from: &str, to: &str| {
        let before = ["bays", "piece", "power"].map(|s| memory.made(s));
        let outcome = build_with(&inputs(from, to), &memory, &monitor()).unwrap();
        let after = ["bays", "piece", "power"].map(|s| memory.made(s));
        (std::array::from_fn::<usize, 3, _>(|k| after[k] - before[k]), outcome.power.unwrap())
    };
    let (first, as_it_was) = build("24", "24");
    assert_eq!([first[0], first[2]], [1, 1]);
    assert_eq!(build("24", "24").0, [0, 0, 0]);
    assert_eq!(build("gauge = 24", "gauge = 28").0, [0, 0, 1]);
    let (made, larger) = build("kind = \"cell-18650\"", "kind = \"cell-18650\"\ncapacity = \"3500 mAh\"");
    assert_eq!(made, [0, 0, 1]);
    assert!(larger.runtime.runtime.lasts_s > 1.1 * as_it_was.runtime.runtime.lasts_s);
}

#[test]
fn a_shape_is_told_before_it_is_mended_and_pieces_before_they_are_laid_on_beds() {
    let project = prop::project::parse(HANDLE, &Catalogue::built_in()).unwrap();
    let bodies = vec![NamedMesh::plain("grip", grip())];
    let shape = Shape { bodies, unit_mm: Some(1.0), notes: Vec::new() };
    let inputs = Inputs { project, shape, hash: String::new() };
    let memory = Memory::default();
    let told = Mutex::new(Vec::new());
    let tell = |so_far: SoFar| {
        told.lock().unwrap().push(match so_far {
            SoFar::Read(bodies, length_mm) => {
                assert_eq!(bodies.len(), 1);
                assert!((bodies[0].mesh.bounds().unwrap().size().x - length_mm).abs() < 1e-9);
                "read"
            }
            SoFar::Shape(..) => "shape",
            SoFar::Geometry(made) => {
                assert_eq!(made.split.pieces.len(), 2);
                "geometry"
            }
            SoFar::Print(made, printed) => {
                assert!(printed.pieces.iter().zip(&made.split.pieces).all(|(p, made)| p.name == made.name()));
                "print"
            }
            SoFar::Light(_) => "light",
            SoFar::Strength(_) => "strength",
            SoFar::Power(_) => "power",
        });
    };
    let build = || {
        build_telling(&inputs, &memory, &monitor(), &tell).unwrap();
        std::mem::take(&mut *told.lock().unwrap())
    };
    let all = ["read", "shape", "geometry", "print", "light", "strength", "power"];
    assert_eq!(build(), all);
    // What is remembered need not be read.
    assert_eq!(build(), all[1..]);
}

#[test]
fn light_that_is_remembered_is_that_which_is_followed_afresh() {
    let text = PROJECT.replace("140 mm", "75 mm").replace("[spine]", "[spine]\nfrom = \"70 mm\"");
    let text = text.replace("follow = false\n", "noise = \"50 %\"\nadvise = \"never\"\n");
    let bench = Workbench { memory: Memory::default(), text: text + MORE };
    let as_it_was = bench.inputs("Reed wand", "Reed wand");
    let (made, first) = bench.build(&as_it_was);
    assert!(made[6] == 1 && first.light.as_ref().is_some_and(|l| l.paths() > 1000), "{made:?}");
    // That has no say in it; all numbers of the outcome are compared, those of the light among them.
    assert_eq!(bench.edit("[wearer]\nheight = \"168 cm\"", "[wearer]\nheight = \"182 cm\"")[6], 0);
    let (made, again) = bench.build(&as_it_was);
    assert_eq!((made[6], format!("{:?}", again.light)), (0, format!("{:?}", first.light)));
}
