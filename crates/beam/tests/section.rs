//! Sections against published values.

mod common;

use beam::section::{Inside, SectionError, properties, stress};
use beam::{DVec2, section};
use common::{PLAIN, close, corners, ellipse, of, open_ring, rectangle, region};
use std::f64::consts::{PI, TAU};

const PLASTIC: beam::section::Material =
    beam::section::Material { e_mpa: 3500.0, g_mpa: 1296.0, density_kg_m3: 1240.0 };
const ALUMINIUM: beam::section::Material =
    beam::section::Material { e_mpa: 68_900.0, g_mpa: 25_900.0, density_kg_m3: 2700.0 };

/// bh³/12 and b³h/12; triangle bh³/36; circle πr⁴/4; half circle 0.1098 r⁴ with its centroid at 4r/3π (*Machinery's
/// Handbook*, moments of inertia; from memory).
#[test]
fn handbook_shapes() {
    let found = properties(&[region(PLAIN, rectangle(20.0, 3.0, [5.0, -7.0]), vec![])]).expect("a rectangle");
    close("area", found.area_mm2, 60.0, 1e-12);
    close("about z", found.ei_nmm2.about_z, 2000.0, 1e-12);
    close("about y", found.ei_nmm2.about_y, 45.0, 1e-12);
    assert!(found.centroid_mm.distance(DVec2::new(5.0, -7.0)) < 1e-12);
    assert!(found.ei_nmm2.mixed.abs() < 1e-9);
    let found =
        properties(&[region(PLAIN, corners(&[[0.0, 0.0], [6.0, 0.0], [0.0, 9.0]]), vec![])]).expect("a triangle");
    close("triangle", found.ei_nmm2.about_y, 6.0 * 729.0 / 36.0, 1e-12);
    close("its mixed moment", found.ei_nmm2.mixed, -36.0 * 81.0 / 72.0, 1e-12);
    let disc = properties(&[region(PLAIN, ellipse(10.0, 10.0, 720), vec![])]).expect("a disc");
    close("disc", disc.ei_nmm2.about_y, PI / 4.0 * 1e4, 1e-4);
    let half: Vec<DVec2> = (0..=720).map(|k| DVec2::from_angle(PI * f64::from(k) / 720.0) * 10.0).collect();
    let half = properties(&[region(PLAIN, half, vec![])]).expect("half a disc");
    close("half a disc", half.ei_nmm2.about_y, 0.1098 * 1e4, 1e-3);
    close("its centroid", half.centroid_mm.y, 40.0 / (3.0 * PI), 1e-4);
}

/// An angle of unequal legs, 6 × 4 × ½ in: I 17.4 and 6.27 in⁴, least radius of gyration 0.870 in, area 4.75 in² (AISC
/// *Steel Construction Manual*, angles; from memory; the real one has rounded corners).
#[test]
fn unequal_angle_has_slanting_axes() {
    let around = [[0.0, 0.0], [4.0, 0.0], [4.0, 0.5], [0.5, 0.5], [0.5, 6.0], [0.0, 6.0]];
    let found = properties(&[region(PLAIN, corners(&around), vec![])]).expect("an angle");
    close("area", found.area_mm2, 4.75, 1e-9);
    close("strong", found.ei_nmm2.about_y, 17.4, 0.005);
    close("weak", found.ei_nmm2.about_z, 6.27, 0.005);
    let principal = found.ei_nmm2.principal();
    close("least radius", (principal.least / found.area_mm2).sqrt(), 0.870, 0.01);
    close("sum", principal.most + principal.least, found.ei_nmm2.about_y + found.ei_nmm2.about_z, 1e-12);
    // tan of the weak axis' slope: 0.440.
    close("slope", (principal.broad.x / principal.broad.y).abs(), 0.440, 0.01);
}

/// Pine 140 × 400 with a steel plate 200 × 8 on top under 30 kN·m: 2.76 and 5.36 MPa in the wood, 46.8 in the steel
/// (published exercise on composite beams).
#[test]
fn wood_with_a_plate_on_top() {
    let wood = region(of(12_500.0, 1e3, 500.0), rectangle(140.0, 400.0, [0.0, 200.0]), vec![]);
    let steel = region(of(200e3, 80e3, 7850.0), rectangle(200.0, 8.0, [0.0, 404.0]), vec![]);
    let both = [wood, steel];
    let found = properties(&both).expect("a beam");
    let inside = Inside { about_y_nmm: -30e6, ..Inside::default() };
    let stress = stress(&both, &found, &inside).expect("stresses");
    close("wood, bottom", stress[0].most_mpa, 5.36, 0.005);
    close("wood, top", -stress[0].least_mpa, 2.76, 0.005);
    close("steel", -stress[1].least_mpa, 46.8, 0.005);
}

/// Wood 200 × 300 between steel plates 12 mm thick, allowed 7.5 and 110 MPa: 58.7 and 90.9 kN·m, the steel governing
/// (exercise in the manner of Gere & Goodno, composite beams).
#[test]
fn wood_between_plates() {
    let wood = region(of(11e3, 1e3, 500.0), rectangle(200.0, 300.0, [0.0, 0.0]), vec![]);
    let plate = |at| region(of(190e3, 80e3, 7850.0), rectangle(12.0, 300.0, [at, 0.0]), vec![]);
    let all = [wood, plate(106.0), plate(-106.0)];
    let found = properties(&all).expect("a beam");
    let allowed = |inside: Inside| {
        let stress = stress(&all, &found, &inside).expect("stresses");
        let share = |k: usize, limit: f64| limit / stress[k].most_mpa.max(-stress[k].least_mpa);
        assert!(share(1, 110.0) < share(0, 7.5), "the steel governs");
        share(1, 110.0)
    };
    close("upright", allowed(Inside { about_y_nmm: 1e6, ..Inside::default() }), 58.7, 0.005);
    close("sideways", allowed(Inside { about_z_nmm: 1e6, ..Inside::default() }), 90.9, 0.005);
}

/// A printed tube 40 × 2 with a flat bar 20 × 3 in its middle: 151.26 + 137.80 = 289.06 N·m², 0.4581 kg/m; at once or
/// made of two, and with the bar aside by parallel axes (π (D⁴ − d⁴)/64 and b h³/12, *Machinery's Handbook*; from memory).
#[test]
fn tube_with_a_bar() {
    let tube = region(PLASTIC, ellipse(20.0, 20.0, 360), vec![ellipse(18.0, 18.0, 360)]);
    let bar = |at: [f64; 2]| region(ALUMINIUM, rectangle(20.0, 3.0, at), vec![]);
    let both = properties(&[tube.clone(), bar([0.0, 0.0])]).expect("both");
    close("stiffness", both.ei_nmm2.about_z, 289.06e6, 0.001);
    close("mass", both.mass_g_mm, 0.4581, 0.001);
    let joined = section(std::slice::from_ref(&tube), 0.02)
        .expect("a tube")
        .bonded(&section(&[bar([3.0, -5.0])], 0.02).expect("a bar"));
    let whole = properties(&[tube.clone(), bar([3.0, -5.0])]).expect("both");
    for (what, a, b) in [
        ("EA", joined.plain.ea_n, whole.ea_n),
        ("about y", joined.plain.ei_nmm2.about_y, whole.ei_nmm2.about_y),
        ("about z", joined.plain.ei_nmm2.about_z, whole.ei_nmm2.about_z),
        ("mixed", joined.plain.ei_nmm2.mixed, whole.ei_nmm2.mixed),
        ("mass", joined.plain.mass_g_mm, whole.mass_g_mm),
        ("spin", joined.plain.spin_gmm2_mm, whole.spin_gmm2_mm),
        ("centroid", joined.plain.centroid_mm.y, whole.centroid_mm.y),
        ("mass centre", joined.plain.mass_centre_mm.y, whole.mass_centre_mm.y),
    ] {
        close(what, a, b, 1e-9);
    }
    let sum = section(&[tube], 0.02).expect("a tube").twist.gj_nmm2
        + section(&[bar([0.0, 0.0])], 0.02).expect("a bar").twist.gj_nmm2;
    close("torsion adds up", joined.twist.gj_nmm2, sum, 1e-12);
}

/// Stress at the root of cantilevers, M c/I (Roark, *Formulas for Stress and Strain*, cantilevers w L²/2 and P L; *Machinery's
/// Handbook*, section moduli; from memory, worked out by hand): 6061 flat 20 × 3, 0.8 m long, on edge under its own weight
/// 2.54 MPa and under 5 N at its tip 20.0 MPa, flatwise under its own weight 16.9 MPa; the tube with the bar in it, 1 m long,
/// 0.544 MPa in the plastic and 5.35 MPa in the metal.
#[test]
fn stresses_of_cantilevers() {
    let newton = |g_mm: f64| g_mm * 9.806_65e-3;
    let flat = [region(ALUMINIUM, rectangle(20.0, 3.0, [0.0, 0.0]), vec![])];
    let plain = properties(&flat).expect("a flat bar");
    let most = |about_y_nmm: f64, about_z_nmm: f64| {
        stress(&flat, &plain, &Inside { about_y_nmm, about_z_nmm, ..Inside::default() }).expect("stresses")[0].most_mpa
    };
    let own = newton(plain.mass_g_mm) * 800.0 * 800.0 / 2.0;
    close("on edge", most(0.0, own), 2.54, 0.003);
    close("on edge, 5 N", most(0.0, 4000.0), 20.0, 1e-9);
    close("flatwise", most(own, 0.0), 16.9, 0.003);
    let both = [
        region(PLASTIC, ellipse(20.0, 20.0, 360), vec![ellipse(18.0, 18.0, 360)]),
        region(ALUMINIUM, rectangle(20.0, 3.0, [0.0, 0.0]), vec![]),
    ];
    let plain = properties(&both).expect("both");
    let own = Inside { about_z_nmm: newton(plain.mass_g_mm) * 1000.0 * 1000.0 / 2.0, ..Inside::default() };
    let found = stress(&both, &plain, &own).expect("stresses");
    close("plastic", found[0].most_mpa, 0.544, 0.003);
    close("metal", found[1].most_mpa, 5.35, 0.003);
}

/// Two like bars side by side shear about their middle, and each carries half.
#[test]
fn two_bars_share() {
    let bar = |at: f64| section(&[region(PLAIN, rectangle(4.0, 10.0, [at, 1.0]), vec![])], 0.01).expect("a bar");
    let both = bar(-8.0).bonded(&bar(8.0));
    let centre = both.twist.shear_centre_mm.expect("both have one");
    assert!(centre.distance(DVec2::new(0.0, 1.0)) < 1e-3, "{centre}");
    close("peak", both.twist.peaks[1].force.y, 0.5 * bar(8.0).twist.peaks[0].force.y, 1e-3);
    close("slide", both.twist.shear_per_n.y_axis.y, 0.5 * bar(8.0).twist.shear_per_n.y_axis.y, 1e-4);
}

/// A pull through the centroid stretches evenly; turning a section turns its axes.
#[test]
fn turning_turns() {
    let (c, s) = (libm::cos(0.7), libm::sin(0.7));
    let turned: Vec<DVec2> =
        rectangle(30.0, 8.0, [0.0, 0.0]).iter().map(|p| DVec2::new(c * p.x - s * p.y, s * p.x + c * p.y)).collect();
    let found = properties(&[region(PLAIN, turned, vec![])]).expect("a rectangle");
    let principal = found.ei_nmm2.principal();
    close("most", principal.most, 18_000.0, 1e-9);
    close("least", principal.least, 1280.0, 1e-9);
    close("broad", principal.broad.dot(DVec2::new(c, s)).abs(), 1.0, 1e-12);
}

/// A slit changes nothing but torsion and where a force does not twist.
#[test]
fn slit_or_not() {
    let ring = [region(PLAIN, ellipse(20.0, 20.0, 128), vec![ellipse(18.0, 18.0, 128)])];
    let slit = [region(PLAIN, open_ring(18.0, 20.0, 5e-4, TAU - 5e-4, 128), vec![])];
    let (ring, slit) = (section(&ring, 0.01).expect("a ring"), section(&slit, 0.01).expect("a slit ring"));
    close("bending", slit.plain.ei_nmm2.about_y, ring.plain.ei_nmm2.about_y, 0.002);
    assert!(ring.twist.gj_nmm2 / slit.twist.gj_nmm2 > 250.0);
}

#[test]
fn mistakes_are_named() {
    let square = rectangle(10.0, 10.0, [0.0, 0.0]);
    assert!(matches!(properties(&[]), Err(SectionError::Vanished)));
    let flat = region(PLAIN, corners(&[[0.0, 0.0], [5.0, 0.0], [9.0, 0.0]]), vec![]);
    assert!(matches!(properties(&[flat]), Err(SectionError::NoArea { region: 0, outline: 0, .. })));
    let eaten = region(PLAIN, square.clone(), vec![square.clone()]);
    assert!(matches!(properties(&[eaten]), Err(SectionError::NoArea { .. })));
    let soft = region(of(0.0, 1.0, 1.0), square.clone(), vec![]);
    assert!(matches!(properties(&[soft]), Err(SectionError::ZeroStiffness { region: 0, .. })));
    let light = region(of(1.0, 1.0, -1.0), square.clone(), vec![]);
    assert!(matches!(properties(&[light]), Err(SectionError::Density { .. })));
    let mut broken = square;
    broken[2].x = f64::NAN;
    assert!(matches!(properties(&[region(PLAIN, broken, vec![])]), Err(SectionError::NotFinite { .. })));
}
