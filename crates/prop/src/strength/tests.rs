//! A tube and a rod, from their shape to bar and warmth, against closed forms.

use super::cases;
use super::hold::hands;
use super::jointed::{Jointed, jointed};
use super::sections::{Wall, walls};
use super::spine::lay;
use super::warmth::{Heat, WarmCase, heat};
use super::{StrengthError, StrengthWork, strength};
use crate::catalogue::{Catalogue, PartKind};
use crate::memory::Known;
use crate::outcome::{Bar, Part, Reached};
use crate::project::{Project, parse};
use crate::stages::{Placed, Printed, Split, bays, inside, place, print, split};
use crate::{Memory, Monitor};
use beam::frame::{EARTH_MM_S2, Load, Support, heft, modes, still};
use beam::heat::{Film, film_w_m2k, glow_w_m2k};
use solid::read::{NamedMesh, Shape};
use solid::{Cancel, DAffine3, DVec3, Mesh, difference, loft};
use std::f64::consts::{PI, TAU};

/// Corners of a circle.
const N: u32 = 96;
const LONG_MM: f64 = 600.0;
const OUTER_MM: f64 = 20.0;
const INNER_MM: f64 = 18.0;
/// A plastic that is the same all ways: E, G (Poisson's ratio 0.35) in MPa, density in g/cm3.
const E_MPA: f64 = 2000.0;
const G_MPA: f64 = E_MPA / 2.7;
const G_CM3: f64 = 1.0;

const PROJECT: &str = r#"[prop]
name = "Tube"
[shape]
file = "tube.stl"
length = "60 cm"
tip = "high"
[material.even]
kind = "abs-white"
stiffness = "2000 MPa"
stiffness-across = "2000 MPa"
strength-across = "20 MPa"
poisson = 0.35
density = "1.0 g/cm3"
conducts = 0.2
softens = "90 C"
[body.tube]
role = "plain"
material = "even"
[printer.tall]
kind = "filament-220"
bed = ["200 mm", "200 mm", "700 mm"]
"#;

fn round(radius: f64, from: f64, to: f64) -> Mesh {
    let corner = |k: u32| libm::sincos(TAU * f64::from(k) / f64::from(N));
    let ring = |x: f64| (0..N).map(|k| DVec3::new(x, radius * corner(k).1, radius * corner(k).0)).collect::<Vec<_>>();
    loft(&[ring(from), ring(to)])
}

fn tube() -> Mesh {
    difference(&round(OUTER_MM, 0.0, LONG_MM), &round(INNER_MM, -5.0, LONG_MM + 5.0)).unwrap()
}

/// Area and second moment of a ring between two circles of corners: n sin(2π/n)/2 r² and n sin(2π/n) (2 + cos(2π/n))/24 r⁴.
fn ring(outer: f64, inner: f64) -> [f64; 2] {
    let n = f64::from(N);
    let (s, c) = libm::sincos(TAU / n);
    let (two, four) = (outer * outer - inner * inner, outer.powi(4) - inner.powi(4));
    [0.5 * n * s * two, n * s * (2.0 + c) / 24.0 * four]
}

/// A shape in pieces.
struct Made {
    project: Project,
    placed: Known<Placed>,
    split: Split,
    printed: Printed,
    memory: Memory,
    parts: Vec<Part>,
    strips: Vec<Bar>,
}

impl Made {
    fn of(mesh: Mesh, text: &str) -> Made {
        let project = parse(text, &Catalogue::built_in()).unwrap_or_else(|d| panic!("{}", d.render("prop.toml", text)));
        let shape = Shape { bodies: vec![NamedMesh::plain("tube", mesh)], unit_mm: Some(1.0), notes: Vec::new() };
        let (memory, monitor) = (Memory::default(), Monitor { cancel: Cancel::default(), report: &|_, _| {} });
        let placed = place(&project, &shape, &memory).unwrap();
        let hollow = inside(&project, &placed, &memory, &monitor).unwrap();
        let rooms = bays(&project, &placed, &hollow, &memory).unwrap();
        let split = split(&project, &placed, &hollow, &rooms, &memory, &monitor).unwrap();
        let printed = print(&project, &split, &memory, &monitor).unwrap();
        Made { project, placed, split, printed, memory, parts: Vec::new(), strips: Vec::new() }
    }

    fn work(&self) -> StrengthWork<'_> {
        StrengthWork {
            project: &self.project,
            placed: &self.placed,
            split: &self.split,
            printed: &self.printed,
            parts: &self.parts,
            strips: &self.strips,
            spines: &[],
            wires: &[],
            memory: &self.memory,
        }
    }

    fn bar(&self) -> (Vec<Wall>, Jointed) {
        let work = self.work();
        let walls = walls(&work).unwrap();
        let bar = jointed(&work, &walls, &lay(&work, &walls).unwrap()).unwrap();
        (walls, bar)
    }
}

/// A part of a mass around a station.
fn part(name: &str, kind: PartKind, mass_g: f64, [from, to]: [f64; 2]) -> Part {
    Part {
        letter: 'A',
        name: name.into(),
        title: name.into(),
        kind,
        body: "tube".into(),
        size_mm: [to - from, 10.0, 5.0],
        over_mm: 0.0,
        gap_mm: 0.0,
        mass_g,
        to_prop: DAffine3::from_translation(DVec3::X * f64::midpoint(from, to)),
        station_mm: [from, to],
        mesh: Mesh::default(),
        largest: Mesh::default(),
        way_out: DVec3::Z,
        reached: Reached::Lid(1),
        pieces_off: Vec::new(),
        exit: DVec3::ZERO,
        sound: None,
    }
}

fn near(what: &str, found: f64, wanted: f64, share: f64) {
    assert!((found / wanted - 1.0).abs() <= share, "{what}: {found} against {wanted}");
}

const DOWN: Load = Load::Pull { mm_s2: DVec3::new(0.0, 0.0, -EARTH_MM_S2) };

/// A tube 40 x 2 mm, 600 mm long, clamped at its butt: each of its stretches has E A, E I and w of the ring; its tip hangs by w l⁴/(8 E I)
/// and slides by w l²/2 times 2/(G A) (Gere & Goodno, thin rings in shear; from memory), and it swings by itself at
/// 3.516/(2 π) √(E I/(m l⁴)) less what sliding takes (Roark, cantilevers; from memory). A mass of 100 g in its middle adds P a² (3 l − a)/(6 E I).
#[test]
fn a_tube_is_a_cantilever() {
    let mut made = Made::of(tube(), PROJECT);
    let (walls, bar) = made.bar();
    let [area, second] = ring(OUTER_MM, INNER_MM);
    let laid = walls[0].laid;
    let (ei, w) = (E_MPA * laid * second, G_CM3 * 1e-3 * laid * area);
    assert!(walls.len() >= 200 && bar.line.spans.len() == walls.len());
    for (k, section) in bar.whole.iter().enumerate() {
        near(&format!("area {k}"), section.plain.area_mm2, area, 1e-3);
        near(&format!("stiffness {k}"), section.plain.ei_nmm2.about_y, ei, 1e-3);
        near(&format!("mass {k}"), section.plain.mass_g_mm, w, 1e-3);
    }
    let butt = bar.line.nodes[0][1];
    let tip = bar.line.nodes[walls.len()][0];
    let hangs = |bar: &Jointed| -still(&bar.line.held(&[Support::clamp(butt)]), &[DOWN]).unwrap().moved_mm[tip].z;
    let n_mm = w * 1e-6 * EARTH_MM_S2;
    let slides = n_mm * LONG_MM * LONG_MM / (G_MPA * laid * area);
    let own = n_mm * LONG_MM.powi(4) / (8.0 * ei) + slides;
    near("tip", hangs(&bar), own, 2e-3);
    let hz = 3.516_02 / TAU * (ei / (w * 1e-6 * LONG_MM.powi(4))).sqrt();
    let found = modes(&bar.line.held(&[Support::clamp(butt)]), 1).unwrap()[0].hz;
    assert!(found < hz && found > 0.98 * hz, "{found} {hz}");
    made.parts = vec![part("weight", PartKind::Sensor, 100.0, [290.0, 310.0])];
    let (_, loaded) = made.bar();
    let weighed = heft(&loaded.line.frame);
    near("mass", weighed.mass_g, w * LONG_MM + 100.0, 1e-3);
    near("balance", weighed.balance_mm.x, 300.0, 1e-5);
    let (force, a) = (0.1 * EARTH_MM_S2 * 1e-3, 300.0);
    let more = force * a * a * (3.0 * LONG_MM - a) / (6.0 * ei) + force * a * 2.0 / (G_MPA * laid * area);
    near("with a mass", hangs(&loaded) - hangs(&bar), more, 5e-3);
}

/// A rod of 40 mm that comes apart in its middle: its bayonet tilts by twice its gap over the plug's reach (own formula: both ends of the
/// plug move by the gap), and the tip hangs as much lower as that times its way from the joint.
#[test]
fn a_joint_that_comes_apart_lets_the_tip_hang() {
    let text = format!("{PROJECT}[joint.middle]\nat = \"300 mm\"\nkind = \"bayonet\"\n");
    let made = Made::of(round(OUTER_MM, 0.0, LONG_MM), &text);
    let (walls, bar) = made.bar();
    assert!(walls.iter().any(|w| w.piece != walls[0].piece), "two pieces");
    let apart = made.split.joints[0].take_down.as_ref().unwrap();
    let tilt = libm::atan(2.0 * apart.gap_mm / apart.reach_mm);
    let butt = bar.line.nodes[0][1];
    let tip = bar.line.nodes[walls.len()][0];
    let loose = bar.line.held(&[Support::clamp(butt)]);
    let mut tight = loose.clone();
    assert_eq!(tight.joints.len(), 1);
    tight.joints[0].play_rad = [0.0; 3];
    let [low, high] = [&loose, &tight].map(|frame| -still(frame, &[DOWN]).unwrap().moved_mm[tip].z);
    near("play", low - high, tilt * (LONG_MM - made.split.joints[0].frame.station_mm), 1e-3);
    assert!(tilt > 1e-4 && high > 0.0, "{tilt} {high}");
}

/// A hand beside the pieces is told, and held where it may be it is not.
#[test]
fn cases_of_a_tube_are_all_there() {
    let mut made = Made::of(tube(), PROJECT);
    made.project.strength.hand_mm = Some(601.0);
    let (walls, bar) = made.bar();
    assert!(matches!(hands(&made.work(), &bar), Err(StrengthError::Hand { hand_mm: 601.0, .. })));
    let titles = |made: &Made| -> Vec<&'static str> {
        let hands = hands(&made.work(), &bar).unwrap();
        cases::run(&made.work(), &walls, &bar, &hands).unwrap().cases.iter().map(|c| c.title).collect()
    };
    (made.project.strength.hand_mm, made.project.strength.other_mm) = (Some(300.0), Some(100.0));
    let two = titles(&made);
    made.project.strength.other_mm = None;
    let one = titles(&made);
    for words in
        ["level in one hand, flat", "level in one hand, on edge", "upright", "overhead", "swung across", "swung flat"]
    {
        assert!(two.iter().any(|t| t.contains(words)) && one.iter().any(|t| t.contains(words)), "{words}");
    }
    for words in ["tip bumps, on edge", "tip bumps, flat", "set down", "leaning in a corner", "bump in the car"] {
        assert!(two.iter().any(|t| t.contains(words)) && one.iter().any(|t| t.contains(words)), "{words}");
    }
    assert!(two.contains(&"held level in two hands, flat") && two.contains(&"held overhead in two hands, slanting"));
}

/// What no bar can be made of is told by name, with its place, and no case is tried.
#[test]
fn what_cannot_be_is_named() {
    let mut made = Made::of(tube(), PROJECT);
    let spine = |to: f64| Bar {
        name: "spine 1".into(),
        end: DVec3::X * to,
        size_mm: [12.0, 3.0],
        station_mm: [0.0, to],
        ..strip()
    };
    let text = format!("{PROJECT}[spine]\nbar = \"flat-aluminium-12x3\"\n");
    made.project = parse(&text, &Catalogue::built_in()).unwrap();
    let of = |to: f64| {
        let long = [spine(to)];
        strength(&StrengthWork { spines: &long, ..made.work() }).map_err(|e| e.to_string())
    };
    assert_eq!(of(700.0).unwrap_err(), "spine 1 is 700 mm long, and the pieces that it lies in end after 600 mm");
    assert!(of(600.0).is_ok_and(|s| s.stations.iter().all(|at| at.spine.is_some())));
    // A wall of one bead.
    let thin = difference(&round(OUTER_MM, 0.0, LONG_MM), &round(OUTER_MM - 0.4, -5.0, LONG_MM + 5.0)).unwrap();
    let said = strength(&Made::of(thin, PROJECT).work()).unwrap_err().to_string();
    assert!(said.starts_with("piece 01 has no section that can be worked out, for example at station 0 mm"), "{said}");
    // Two pieces and nothing to glue.
    let mut two = Made::of(round(OUTER_MM, 0.0, LONG_MM), &PROJECT.replace("700 mm", "400 mm"));
    assert!(strength(&two.work()).is_ok());
    two.split.joints[0].glue_mm2 = 0.0;
    let said = strength(&two.work()).unwrap_err().to_string();
    assert!(said.starts_with("joint J1: the joint has no glue area"), "{said}");
    let stiffness = "stiffness = \"2000 MPa\"\nstiffness-across";
    let soft = parse(&PROJECT.replace(stiffness, "stiffness = \"0 MPa\"\nstiffness-across"), &Catalogue::built_in());
    let said = soft.unwrap_err().render("prop.toml", PROJECT);
    assert!(said.contains("material.even.stiffness"), "{said}");
}

fn strip() -> Bar {
    Bar {
        name: "strip 1".into(),
        start: DVec3::ZERO,
        end: DVec3::X * LONG_MM,
        across: DVec3::Y,
        size_mm: [10.0, 2.0],
        station_mm: [0.0, LONG_MM],
        mesh: Mesh::default(),
    }
}

/// The same tube lit along all its length.
fn lit(more: &str) -> Made {
    let mut made = Made::of(tube(), PROJECT);
    let text = format!("{PROJECT}[light]\nstrip = \"strip-60\"\n{more}");
    made.project = parse(&text, &Catalogue::built_in()).unwrap_or_else(|d| panic!("{}", d.render("prop.toml", &text)));
    made.printed.pieces[0].wall_mm = Some(OUTER_MM - INNER_MM);
    made.strips = vec![strip()];
    made
}

fn warmed(made: &Made) -> Heat {
    let work = made.work();
    heat(&work, &walls(&work).unwrap()).unwrap().unwrap()
}

fn of<'a>(heat: &'a Heat, title: &str) -> &'a WarmCase {
    heat.cases.iter().find(|c| c.title.contains(title)).unwrap()
}

/// Each metre of it takes in 5 V times three channels of each pixel's current times 60: of that 0.8 are heat of the strip and 0.08 of the wall.
/// Far from ends it goes, by hand: through a film of 10 W/m²K inside, through the wall as P t/(k b) of its mean girth b, and
/// off by the film of a level cylinder (1.32 (ΔT/D)^¼, Holman, Heat Transfer; from memory; within an eighth) and rays of 0.9 σ (T⁴ − T₀⁴).
#[test]
fn a_lit_tube_is_as_warm_as_films_and_wall_make_it() {
    let made = lit("[strength]\nlevel = \"100 %\"\nair = \"25 C\"\nsun = 0\n");
    let heat = warmed(&made);
    let amps = made.project.light.as_ref().unwrap().strip.shine.current_a;
    let w_m = 5.0 * 3.0 * amps * 60.0;
    near("power", heat.full_w, w_m * 0.6, 1e-3);
    let hall = of(&heat, "hall");
    let inner_mm = 2.0 * PI * INNER_MM;
    let strip_w = 0.8 * w_m;
    let through_w = 0.88 * w_m;
    let wall_c = hall.wall_c;
    near("cavity", hall.strip_c.unwrap() - wall_c, strip_w / (10.0 * inner_mm * 1e-3), 0.01);
    // The wall's own share is set free half inside, half outside or all at one face: between the two.
    let drop = |w: f64| w * 2.0 / (0.2 * PI * (OUTER_MM + INNER_MM));
    let skin = wall_c - drop(through_w);
    let (rise, area) = (skin - 25.0, TAU * OUTER_MM * 1e-3);
    let exact = area * (film_w_m2k(Film::Level, 40.0, skin, 25.0) + glow_w_m2k(0.9, skin, 25.0)) * rise;
    near("given off", exact, through_w, 0.03);
    let holman = 1.32 * libm::pow(rise / 0.04, 0.25);
    let kelvin = |c: f64| c + 273.15;
    let rays = 0.9 * 5.670_4e-8 * (kelvin(skin).powi(4) - kelvin(25.0).powi(4));
    near("given off, by Holman", area * (holman * rise + rays), through_w, 0.125);
    assert_eq!(
        of(&heat, "car").strip_c,
        of(&heat, "car").strip_c.filter(|c| (c - 51.0).abs() < 1e-6),
        "dark in the car"
    );
    near("the car", of(&heat, "car").wall_c, 51.0, 1e-6);
    let [hour, forever] = heat.bears.unwrap();
    assert!(hour.0 >= forever.0 && forever.0 > 0.0);
}

/// A converter of 88 % turns 12 % of what it takes into heat, a cell of 50 mΩ at 3.7 V I² R: for 10.8 W of light 12.27 W, 3.317 A and
/// 0.550 W. They warm the stretch that they lie in.
#[test]
fn what_converter_and_cell_lose_warms_them() {
    let parts = "[part.cell]\nkind = \"cell-18650\"\nin = \"tube\"\nresistance = \"50 mohm\"\n\
        [part.boost]\nkind = \"converter-5v\"\nin = \"tube\"\nefficiency = \"88 %\"\n[strength]\nlevel = \"100 %\"\nsun = 0\n";
    let mut made = lit(parts);
    let bare = warmed(&made);
    made.parts = vec![
        part("cell", PartKind::Cell, 46.0, [100.0, 165.0]),
        part("boost", PartKind::Converter, 5.0, [300.0, 325.0]),
    ];
    let found = warmed(&made);
    let taken = found.full_w / 0.88;
    let wanted = taken - found.full_w + (taken / 3.7) * (taken / 3.7) * 0.05;
    near("lost", found.lost_w, wanted, 1e-9);
    assert_eq!((bare.lost_w, of(&bare, "hall").cell_c), (0.0, None));
    let (hall, dark) = (of(&found, "hall"), of(&bare, "hall"));
    assert!(hall.cell_c.unwrap() > dark.strip_c.unwrap() + 1.0, "{hall:?} {dark:?}");
    // The converter's heat lies on 25 mm and is the warmest there is.
    assert!((295.0..330.0).contains(&hall.station_mm) && hall.strip_c > dark.strip_c, "{hall:?}");
    assert!(found.bears.as_ref().unwrap()[1].0 < bare.bears.as_ref().unwrap()[1].0);
    near("the cell in the car", of(&found, "car").cell_c.unwrap(), 51.0, 1e-6);
}
