use super::*;
use crate::catalogue::Catalogue;
use crate::finding::Band;
use crate::memory::Memory;
use crate::outcome::{Body, Pose, Role};
use crate::path::CentrePath;
use solid::{DAffine3, DVec3, Mesh, cuboid};

const PROJECT: &str = "[prop]\nname = \"Lamp\"\n[shape]\nfile = \"a.stl\"\n[printer.wide]\nkind = \"filament-220\"\n[light]\nstrip = \"strip-60\"\n\
    [body.blade]\nrole = \"lit\"\nmaterial = \"abs-white\"\ncoats = [\"primer-white\", \"paint-bronze\"]\n\
    [window.edge]\nin = \"blade\"\nband = \"edges\"\nwidth = \"5 mm\"\n";

pub(super) fn project(more: &str) -> Project {
    let text = format!("{PROJECT}{more}");
    crate::project::parse(&text, &Catalogue::built_in()).unwrap_or_else(|e| panic!("{}", e.render("p", &text)))
}

pub(super) fn piece(number: u32, body: &str, role: Role, mesh: Mesh, station_mm: [f64; 2]) -> Piece {
    Piece {
        number,
        name: format!("{number:02}-{body}"),
        body: body.into(),
        role,
        mesh,
        to_prop: DAffine3::IDENTITY,
        station_mm,
        printer: "wide".into(),
        bed_mm: [220.0, 220.0, 250.0],
        pose: Pose::Upright,
        wall_mm: None,
        material: "abs-white".into(),
        mass_g: Band::exact(100.0),
        print_time_s: Band::exact(36_000.0),
        volume_mm3: 1.0,
        taken_mm3: 0.0,
        added_mm3: 0.0,
        show_inside: false,
    }
}

/// A box 20 by 20 by 100, and one 40 by 20 by 200 joined on at its tip, which prints as a tube of two pieces.
pub(super) fn lamp() -> (Placed, Vec<Piece>) {
    let grip = cuboid(DVec3::new(0.0, -10.0, -10.0), DVec3::new(100.0, 10.0, 10.0));
    let blade = cuboid(DVec3::new(100.0, -20.0, -10.0), DVec3::new(300.0, 20.0, 10.0));
    let body = |name: &str, role: Role, mesh: &Mesh, station_mm| Body {
        name: name.into(),
        role,
        mesh: mesh.clone(),
        station_mm,
    };
    let placed = Placed {
        bodies: vec![body("grip", Role::Plain, &grip, [0.0, 100.0]), body("blade", Role::Lit, &blade, [100.0, 300.0])],
        mends: Vec::new(),
        path: CentrePath::new(vec![DVec3::ZERO, DVec3::X * 300.0]).unwrap(),
        length_mm: 300.0,
        paints: Default::default(),
    };
    let part = |from: f64, to: f64, hollow_to: f64| {
        let mut mesh = cuboid(DVec3::new(from, -20.0, -10.0), DVec3::new(to, 20.0, 10.0));
        let hollow = cuboid(DVec3::new(from + 2.0, -18.0, -8.0), DVec3::new(hollow_to, 18.0, 8.0));
        mesh.append(&hollow.reversed());
        mesh
    };
    let pieces = vec![
        piece(1, "grip", Role::Plain, grip, [0.0, 100.0]),
        piece(2, "blade", Role::Lit, part(100.0, 200.0, 198.0), [100.0, 200.0]),
        piece(3, "blade", Role::Lit, part(200.0, 300.0, 298.0), [200.0, 300.0]),
    ];
    (placed, pieces)
}

pub(super) fn finished(project: &Project, placed: &Placed, pieces: &[Piece]) -> Finish {
    let memory = Memory::default();
    let key = KeyOf::stage("test").key();
    let windows = memory.recall("windows", 1, key, || Windows::prepare(project, placed)).unwrap_or_else(|_| panic!());
    let keys: Vec<Key> = pieces.iter().map(|p| KeyOf::stage("piece").and(&p.number).key()).collect();
    finish(&FinishWork {
        project,
        placed,
        windows: &windows,
        pieces,
        joints: &[],
        parts: &[],
        keys: &keys,
        memory: &memory,
    })
    .0
}

#[test]
fn the_outside_of_boxes_is_counted_by_hand() {
    let (placed, pieces) = lamp();
    let found = finished(&project(""), &placed, &pieces);
    let near = |a: f64, b: f64| (a - b).abs() < 0.005 * b;
    // The grip: four sides and the butt; its tip end is joined to the blade.
    assert!(near(found.outsides[0].all_mm2(), 4.0 * 20.0 * 100.0 + 20.0 * 20.0), "{:?}", found.outsides[0]);
    // The butt-side piece of the blade: four sides, and the end but for where the grip is joined on; not its cut.
    let sides = 2.0 * 100.0 * (40.0 + 20.0);
    assert!(near(found.outsides[1].all_mm2(), sides + 20.0 * 40.0 - 20.0 * 20.0), "{:?}", found.outsides[1]);
    assert!(near(found.outsides[2].all_mm2(), sides + 20.0 * 40.0), "{:?}", found.outsides[2]);
    // Windows: 5 mm along both outermost lines, which run in the middle of the narrow sides; above and below the line.
    let window: f64 = found.outsides[1].window_mm2(0);
    assert!(near(window, 2.0 * 10.0 * 100.0 + 2.0 * 0.0), "{window}");
    // The hollow's sides; its ends look along the prop.
    assert!(near(found.outsides[1].hollow_mm2, 2.0 * 96.0 * (36.0 + 16.0)));
    let [zone] = found.zones.as_slice() else { panic!("{:?}", found.zones) };
    assert_eq!((zone.name.as_str(), zone.pieces.len(), zone.material.as_str()), ("blade", 2, "abs-white"));
    assert!((zone.area_mm2() - found.outsides[1].body_mm2 - found.outsides[2].body_mm2).abs() < 1e-9);
}

#[test]
fn windows_and_hollows_with_coats_are_zones_of_their_own() {
    let (placed, pieces) = lamp();
    let text = "coats = [\"clear-gloss\"]\n[body.grip]\ncoats = [\"primer-grey\"]\nmaterial = \"abs-white\"\n";
    let mut project = project(text);
    project.bodies[0].lining = project.windows[0].coats.clone();
    let names: Vec<String> = finished(&project, &placed, &pieces).zones.into_iter().map(|z| z.name).collect();
    assert_eq!(names, ["grip", "blade", "window edge", "hollow of blade"]);
}

fn joint(number: u32, station_mm: f64, pieces: [u32; 2], path: &CentrePath) -> Joint {
    Joint {
        number,
        frame: path.frame(station_mm),
        kind: crate::outcome::JointKind::Collar,
        pieces,
        glue_mm2: 400.0,
        locked: false,
        pegs: None,
        take_down: None,
        show: crate::project::Show::Both,
    }
}

#[test]
fn seams_are_as_long_as_the_outline_and_hold_what_is_counted_by_hand() {
    let (placed, pieces) = lamp();
    let joints = [joint(1, 100.0, [1, 2], &placed.path), joint(2, 200.0, [2, 3], &placed.path)];
    let own = project("[body.grip]\nmaterial = \"pla-white\"\n");
    let seams = fill::seams(&own, &placed.bodies, &pieces, &joints);
    // Round the blade 120 mm, round the grip 80: at the first joint the longer line is seen.
    assert!(seams.iter().all(|s| (s.round_mm - 120.0).abs() < 1e-9), "{seams:?}");
    // A gap of 0.3 mm filled 1 mm deep: 0.036 ml.
    assert!(seams.iter().all(|s| (s.filled_ml - 0.036).abs() < 1e-12));
    // PLA on ABS takes putty, three times as much at 60 %; ABS on ABS its own paste, twice as much at 25 %.
    assert_eq!((seams[0].filler.as_str(), seams[0].solvent.as_deref()), ("putty", None));
    assert!((seams[0].wet_ml - 0.18).abs() < 1e-12);
    assert_eq!((seams[1].filler.as_str(), seams[1].solvent.as_deref()), ("paste", Some("acetone")));
    assert!((seams[1].wet_ml - 0.288).abs() < 1e-12 && seams[1].caution.contains("no flame"));
    let without = project("[finish]\npaste = false\n");
    assert!(fill::seams(&without, &placed.bodies, &pieces, &joints[1..]).iter().all(|s| s.filler == "putty"));
}

#[test]
fn rough_prints_are_sanded_longer_and_resin_less() {
    let (_, pieces) = lamp();
    let of = |more: &str| fill::roughness(&project(more), &pieces[1]);
    assert_eq!(of(""), 1.0);
    let text = PROJECT.replace("kind = \"filament-220\"", "kind = \"filament-220\"\nlayer = \"0.3 mm\"");
    let coarse = crate::project::parse(&text, &Catalogue::built_in()).unwrap();
    assert!((fill::roughness(&coarse, &pieces[1]) - 1.5).abs() < 1e-12);
    let own = project("[printer.fine]\nkind = \"resin-small\"\n");
    let cast = Piece { printer: "fine".into(), ..pieces[1].clone() };
    assert_eq!(fill::roughness(&own, &cast), 0.25);
}

#[test]
fn a_stack_that_does_not_hold_is_found() {
    use crate::finding::Verdict;
    let (placed, pieces) = lamp();
    let told = |more: &str| {
        let project = project(more);
        let finish = finished(&project, &placed, &pieces);
        told::findings(&finish, None, &[])
    };
    let holds = |found: &[Finding]| {
        found.iter().find(|f| f.id == "finish_holds").map(|f| (f.verdict, f.message.clone())).unwrap()
    };
    let (verdict, message) = holds(&told(""));
    assert!(verdict == Verdict::Holds, "{message}");
    let (verdict, message) = holds(&told("[coat.primer-white]\ngrips = [\"pla\"]\n"));
    assert!(verdict == Verdict::Fails && message.contains("primer-white does not hold on bare abs-white"), "{message}");
    let (verdict, message) = holds(&told("[material.abs-white]\nplastic = \"petg\"\n"));
    assert!(verdict == Verdict::Fails && message.contains("bare abs-white"), "{message}");
    // A body that has coats, and nothing outside to carry them.
    let finish = finished(&project("[body.ghost]\ncoats = [\"primer-grey\"]\n"), &placed, &pieces[..1]);
    let area = told::findings(&finish, None, &[]);
    let area = area.iter().find(|f| f.id == "finish_area" && f.subject == "blade").unwrap();
    assert!(area.verdict == Verdict::Fails && area.message.starts_with("0 cm2"), "{area:?}");
}
