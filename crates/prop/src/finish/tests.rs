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
