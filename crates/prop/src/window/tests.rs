use super::*;
use crate::catalogue::Catalogue;
use crate::outcome::Body;
use solid::DAffine3;
use solid::read::{Hue, NamedMesh, Paint};
use solid::{Mesh, loft};

/// A diamond of half width 30 and half thickness 6, 200 mm long, with a plain box joined on at its butt.
fn placed() -> Placed {
    let ring = |x: f64| {
        let at = |y: f64, z: f64| DVec3::new(x, y, z);
        vec![at(30.0, 0.0), at(0.0, 6.0), at(-30.0, 0.0), at(0.0, -6.0)]
    };
    let body =
        |name: &str, role: Role, mesh: Mesh, station_mm: [f64; 2]| Body { name: name.into(), role, mesh, station_mm };
    Placed {
        bodies: vec![
            body(
                "grip",
                Role::Plain,
                solid::cuboid(DVec3::new(0.0, -10.0, -10.0), DVec3::new(100.0, 10.0, 10.0)),
                [0.0, 100.0],
            ),
            body("blade", Role::Lit, loft(&[ring(100.0), ring(300.0)]), [100.0, 300.0]),
        ],
        mends: Vec::new(),
        path: CentrePath::new(vec![DVec3::ZERO, DVec3::X * 300.0]).unwrap(),
        length_mm: 300.0,
        paints: Default::default(),
    }
}

fn prepared(more: &str) -> Windows {
    on(&placed(), more).unwrap()
}

fn on(placed: &Placed, more: &str) -> Result<Windows, Refusal> {
    let text = format!(
        "[prop]\nname = \"Lamp\"\n[shape]\nfile = \"a.stl\"\n[printer.wide]\nkind = \"filament-220\"\n[light]\nstrip = \"strip-60\"\n[body.blade]\nrole = \"lit\"\n{more}"
    );
    let project =
        crate::project::parse(&text, &Catalogue::built_in()).unwrap_or_else(|e| panic!("{}", e.render("p", &text)));
    Windows::prepare(&project, placed)
}

/// Outward normal of the upper face towards +y.
fn up() -> DVec3 {
    DVec3::new(0.0, 6.0, 30.0).normalize()
}

/// A point of that face, `off` from the edge along the face.
fn on_face(x: f64, off: f64) -> DVec3 {
    let along = DVec3::new(0.0, -30.0, 6.0).normalize();
    DVec3::new(x, 30.0, 0.0) + along * off
}

const FACE_MM: f64 = 30.594;

#[test]
fn a_band_along_both_edges_is_as_wide_as_it_is_asked() {
    let windows = prepared(
        "[window.edge]\nin = \"Blade\"\nband = \"edges\"\nwidth = \"8 mm\"\nstations = [\"150 mm\", \"250 mm\"]\n",
    );
    let [edge] = windows.list() else { panic!() };
    // Two edges, two faces each, 8 mm, and the twentieth that the middle of the blunt edge lies further in.
    let wanted = 4.0 * 8.05 * 100.0;
    assert!((edge.area_mm2 - wanted).abs() < 0.01 * wanted, "{} {wanted}", edge.area_mm2);
    assert!((edge.station_mm[0] - 150.0).abs() < 1.0 && (edge.station_mm[1] - 250.0).abs() < 1.0);
    let at = |x: f64, off: f64| windows.which(1, on_face(x, off), up());
    assert_eq!((at(200.0, 7.9), at(200.0, 8.2), at(140.0, 1.0)), (Some(WindowIdx(0)), None, None));
    assert_eq!(windows.which(0, DVec3::new(50.0, 10.0, 0.0), DVec3::Y), None, "the grip has no window");
    assert_eq!(windows.which(7, DVec3::ZERO, DVec3::Y), None);
    assert_eq!(windows.band_lines(WindowIdx(0)).len(), 2);
    assert!((edge.samples.len() as f64 - wanted / 25.0).abs() < 5.0);
}

#[test]
fn faces_look_to_their_side_and_the_first_window_wins() {
    let windows =
        prepared("[window.up]\nin = \"blade\"\nfaces = \"+z\"\nwithin = \"12 deg\"\n[window.all]\nin = \"blade\"\n");
    let [front, all] = windows.list() else { panic!() };
    // The faces lean by atan(6 / 30) = 11.31 degrees.
    let face = FACE_MM * 200.0;
    assert!((front.area_mm2 - 2.0 * face).abs() < 1.0, "{}", front.area_mm2);
    // The rest: the lower faces and the free end; the end at the grip is no outside.
    assert!((all.area_mm2 - 2.0 * face - 360.0).abs() < 1.0, "{}", all.area_mm2);
    let narrow = prepared("[window.up]\nin = \"blade\"\nfaces = \"+z\"\nwithin = \"11 deg\"\n");
    assert_eq!((narrow.list()[0].area_mm2, narrow.list()[0].station_mm), (0.0, [0.0; 2]));
}

#[test]
fn without_a_window_the_glow_says_where_light_comes_out() {
    let area = |glow: &str| prepared(&format!("glow = \"{glow}\"\n")).list()[0].area_mm2;
    let face = FACE_MM * 200.0;
    assert!((area("around") - 4.0 * face - 360.0).abs() < 1.0);
    assert!((area("faces") - 4.0 * face).abs() < 1.0);
    // The outer third of each half: 10 of 30 mm across; and that part of the free end.
    let edges = 4.0 * face / 3.0 + 360.0 / 9.0;
    assert!((area("edges") - edges).abs() < 0.01 * edges, "{} {edges}", area("edges"));
    let windows = prepared("");
    assert!(windows.list()[0].implied && windows.list().len() == 1, "the plain grip has none");
}

#[test]
fn coats_lie_beside_the_window_and_lining_behind_them() {
    let windows = prepared(
        "coats = [\"primer-white\", \"paint-gold\"]\nlining = \"lining-white\"\n[window.edge]\nin = \"blade\"\nband = \"+y\"\nwidth = \"8 mm\"\ncoats = \"clear-gloss\"\n",
    );
    let at = |off: f64| windows.which(1, on_face(200.0, off), up());
    assert!(windows.skin(1, at(4.0)).unwrap().bare);
    let beside = windows.skin(1, at(20.0)).unwrap();
    assert_eq!((beside.bare, beside.coats.len()), (false, 2));
    assert!(beside.towards_plastic[0] > 0.78 && beside.through[0] < 0.02, "{beside:?}");
    assert!(windows.skin(0, None).unwrap().bare && windows.skin(9, None).is_none());
    let inner = |off: f64| windows.lining(1, on_face(200.0, off) - up() * 2.0, up());
    assert!(inner(4.0).is_none() && inner(20.0).is_some_and(|s| s.away[1] > 0.8));
}

#[test]
fn a_window_in_a_body_that_is_not_there_is_refused_with_a_way_out() {
    let text = "[prop]\nname = \"L\"\n[shape]\nfile = \"a.stl\"\n[printer.wide]\nkind = \"filament-220\"\n[window.w]\nin = \"lamp\"\n";
    let project = crate::project::parse(text, &Catalogue::built_in()).unwrap();
    let Err(Refusal::Problems(said)) = Windows::prepare(&project, &placed()) else { panic!() };
    assert_eq!(said[0].key, ["window", "w", "in"]);
    assert!(said[0].message.contains("grip, blade"), "{}", said[0].message);
}

#[test]
fn a_colour_of_the_mesh_is_a_window() {
    // As drawn: the blade's two faces towards +y gold, the others bare. As mended: other triangles altogether.
    let mut placed = placed();
    let drawn = placed.bodies[1].mesh.clone();
    let of = (0..drawn.triangles.len()).map(|t| u32::from(drawn.area_vector(t).y < 1.0) * Paint::BARE).collect();
    let gold = Hue::Both("Gold".into(), [0xd4, 0xaf, 0x37]);
    let paint = Some(Paint { hues: Arc::new(vec![gold]), of });
    let read = NamedMesh { name: "blade".into(), mesh: drawn, paint };
    let painted = Painted::new(&read, &DAffine3::IDENTITY).unwrap();
    placed.paints.insert("blade".into(), Arc::new(painted));
    let half = |x: f64| {
        vec![DVec3::new(x, 30.0, 0.0), DVec3::new(x, 0.0, 6.0), DVec3::new(x, -30.0, 0.0), DVec3::new(x, 0.0, -6.0)]
    };
    placed.bodies[1].mesh = loft(&[100.0, 137.0, 211.0, 300.0].map(half));
    for colour in ["gold", "#D4AF37"] {
        let windows = on(&placed, &format!("[window.leaf]\nin = \"blade\"\ncolour = \"{colour}\"\n")).unwrap();
        let [leaf] = windows.list() else { panic!() };
        let wanted = 2.0 * FACE_MM * 200.0;
        assert!((leaf.area_mm2 - wanted).abs() < 0.01 * wanted, "{} {wanted}", leaf.area_mm2);
        assert_eq!(windows.which(1, on_face(200.0, 5.0), up()), Some(WindowIdx(0)));
        assert_eq!(windows.which(1, on_face(200.0, 35.0), up()), None);
    }
    let refused = |body: &str, colour: &str| {
        let text = format!("[window.leaf]\nin = \"{body}\"\ncolour = \"{colour}\"\n");
        let Err(Refusal::Problems(problems)) = on(&placed, &text) else { panic!("{colour} on {body} was taken") };
        problems[0].message.clone()
    };
    assert_eq!(refused("blade", "silver"), "nothing of \"blade\" is painted \"silver\"; it has Gold (#d4af37)");
    assert_eq!(refused("grip", "gold"), "the mesh of \"grip\" has no colours");
}

/// A band folded over a straight edge is a rectangle: 100 mm of the edge by 8.05 mm to either side.
#[test]
fn the_mask_of_a_band_is_its_unfolded_rectangle() {
    let placed = placed();
    let windows = prepared(
        "[window.edge]\nin = \"blade\"\nband = \"edges\"\nwidth = \"8 mm\"\nstations = [\"150 mm\", \"250 mm\"]\n",
    );
    let patch = windows.patch(WindowIdx(0), &placed.bodies[1].mesh);
    let area = windows.list()[0].area_mm2;
    assert!((patch.area_mm2() / area - 1.0).abs() < 0.01, "{} {area}", patch.area_mm2());
    let mask = crate::mask::mask(&windows, &placed, 0);
    assert_eq!((mask.parts.len(), mask.trouble), (2, None));
    for (part, side) in mask.parts.iter().zip([1.0, -1.0]) {
        assert!(part.flat.edge_error.abs() < 0.005 && part.flat.area_error.abs() < 0.005, "{}", part.flat.edge_error);
        let inf = (solid::DVec2::INFINITY, solid::DVec2::NEG_INFINITY);
        let (low, high) = part.flat.points.iter().fold(inf, |(l, h), p| (l.min(*p), h.max(*p)));
        // Corners near the border are put on it, which moves it by up to a twentieth of an edge.
        let off = (high - low - solid::DVec2::new(100.0, 16.1)).abs();
        assert!(off.max_element() < 0.3, "{}", high - low);
        assert!(part.lies_mm[0] * side > 25.0 && part.looks[1].abs() < 0.05, "{:?}", part.lies_mm);
        assert!((part.station_mm[0] - 150.0).abs() < 0.3 && (part.station_mm[1] - 250.0).abs() < 0.3);
        // Butt left: stations rise with x.
        let rises =
            part.flat.points.iter().zip(&part.flat.mesh.vertices).map(|(p, v)| p.x * (v.x - 200.0)).sum::<f64>();
        assert!(rises > 0.0);
    }
}
