//! Torsion against published values.

mod common;

use beam::DVec2;
use beam::torsion::{Torsion, TorsionError, coarse, torsion};
use common::{PLAIN, close, corners, ellipse, of, open_ring, rectangle, region};
use std::f64::consts::{PI, TAU};

/// Saint-Venant's series for a rectangle (Timoshenko & Goodier, *Theory of Elasticity*, torsion of rectangular bars: k₁
/// is 0.1406, 0.1958, 0.229, 0.263, 0.281 and 0.312 for these shapes; from memory).
#[test]
fn solid_rectangles() {
    for (ratio, k) in [(1.0, 0.1406), (1.5, 0.1958), (2.0, 0.2287), (3.0, 0.2633), (4.0, 0.2808), (10.0, 0.3123)] {
        let bar = [region(PLAIN, rectangle(10.0 * ratio, 10.0, [3.0, -5.0]), vec![])];
        let found = torsion(&bar, 0.002).expect("a rectangle twists");
        close(&format!("rectangle {ratio}:1"), found.constant_mm4(1.0), k * ratio * 1e4, 0.003);
        let centre = found.shear_centre_mm.expect("one piece");
        assert!(centre.distance(DVec2::new(3.0, -5.0)) < 1e-2, "{centre}");
    }
}

/// J = πa³b³/(a² + b²) (Roark, *Formulas for Stress and Strain*, torsion table; from memory).
#[test]
fn ellipse_solid() {
    let bar = [region(PLAIN, ellipse(20.0, 8.0, 96), vec![])];
    let (a, b): (f64, f64) = (20.0, 8.0);
    let exact = PI * (a * b).powi(3) / (a * a + b * b);
    close("ellipse", torsion(&bar, 0.003).expect("an ellipse twists").gj_nmm2, exact, 0.003);
}

/// J = √3 a⁴/80 (Roark, torsion table; from memory).
#[test]
fn triangle_with_equal_sides() {
    let a = 30.0;
    let bar = [region(PLAIN, corners(&[[0.0, 0.0], [a, 0.0], [a / 2.0, a * 3.0_f64.sqrt() / 2.0]]), vec![])];
    close("triangle", torsion(&bar, 0.002).expect("it twists").gj_nmm2, 3.0_f64.sqrt() / 80.0 * 810_000.0, 0.002);
}

/// Exact for a round tube: π(R⁴ − r⁴)/2: 86 431 mm⁴ for 40 × 2 (any handbook).
#[test]
fn round_tube() {
    let bar = [region(PLAIN, ellipse(20.0, 20.0, 96), vec![ellipse(18.0, 18.0, 96)])];
    close("tube 40x2", torsion(&bar, 0.003).expect("a tube twists").gj_nmm2, 86_431.0, 0.003);
}

/// Bredt's shear flow: τ = T/(2 A t) in a thin closed tube (Gere & Goodno, thin-walled tubes; from memory): 0.3655 MPa for each N·m in a
/// box 40 × 20 × 2, and in a round tube of the same formula, where no corner raises it, what is solved.
#[test]
fn shear_flow_by_bredt() {
    let bredt = |area: f64, t: f64| 1000.0 / (2.0 * area * t);
    close("box 40x20x2", bredt(38.0 * 18.0, 2.0), 0.3655, 2e-4);
    let t = 0.4;
    let bar = [region(PLAIN, ellipse(20.0, 20.0, 128), vec![ellipse(20.0 - t, 20.0 - t, 128)])];
    let found = torsion(&bar, 0.005).expect("a tube twists").peaks[0].shear_mpa(1000.0, DVec2::ZERO);
    let middle = 20.0 - 0.5 * t;
    // Outside it is a little more than in the middle: by half the wall over the radius.
    close("tube 40x0.4", found, bredt(PI * middle * middle, t) * 20.0 / middle, 0.02);
}

/// Bredt's thin tube, J = 4A²/∮ds/t (Gere & Goodno, *Mechanics of Materials*, thin-walled tubes; from memory). It
/// leaves out what the wall resists by itself and the corners, which go with the wall squared: the tube is thin here.
#[test]
fn thin_box_by_bredt() {
    let (w, h, t) = (40.0, 20.0, 0.2);
    let bar = [region(PLAIN, rectangle(w, h, [0.0, 0.0]), vec![rectangle(w - 2.0 * t, h - 2.0 * t, [0.0, 0.0])])];
    let area: f64 = (w - t) * (h - t);
    let bredt = 4.0 * area * area * t / (2.0 * (w + h - 2.0 * t));
    close("box 40x20x0.2", torsion(&bar, 0.005).expect("a box twists").gj_nmm2, bredt, 0.01);
}

/// The same formula for 40 × 20 × 2 is 33 418 mm⁴, and lies below the truth by what it leaves out: less than the share
/// t/h.
#[test]
fn thick_box_is_a_little_stiffer_than_bredt_says() {
    let bar = [region(PLAIN, rectangle(40.0, 20.0, [0.0, 0.0]), vec![rectangle(36.0, 16.0, [0.0, 0.0])])];
    let found = torsion(&bar, 0.003).expect("a box twists");
    close("box 40x20x2", found.gj_nmm2, 33_418.0, 0.1);
    assert!(found.least_nmm2 > 33_418.0);
}

/// Two cells by Bredt: for equal cells the web between them carries nothing (Gere & Goodno, from memory), so it adds
/// only its own ⅓ h t³.
#[test]
fn two_equal_cells() {
    let (w, h, t) = (40.0, 20.0, 0.4);
    let hole = (w - 3.0 * t) / 2.0;
    let side = hole / 2.0 + t / 2.0;
    let cells = vec![rectangle(hole, h - 2.0 * t, [-side, 0.0]), rectangle(hole, h - 2.0 * t, [side, 0.0])];
    let two = torsion(&[region(PLAIN, rectangle(w, h, [0.0, 0.0]), cells)], 0.003).expect("cells twist");
    let one = [region(PLAIN, rectangle(w, h, [0.0, 0.0]), vec![rectangle(w - 2.0 * t, h - 2.0 * t, [0.0, 0.0])])];
    let one = torsion(&one, 0.003).expect("a box twists");
    close("web between equal cells", two.gj_nmm2, one.gj_nmm2, 0.005);
}

/// Unequal cells, 10 and 30 wide, by Bredt's equations for two cells worked out (Gere-type; from memory).
#[test]
fn two_unequal_cells() {
    // Middle lines: 10 x 20 and 30 x 20, all walls 0.2.
    let t = 0.2;
    let outer = rectangle(40.0 + t, 20.0 + t, [20.0, 10.0]);
    let cells = vec![rectangle(10.0 - t, 20.0 - t, [5.0, 10.0]), rectangle(30.0 - t, 20.0 - t, [25.0, 10.0])];
    let found = torsion(&[region(PLAIN, outer, cells)], 0.005).expect("cells twist");
    // For twist 1 and G 1: (q1 s1 − q2 s12)/t = 2 A1, (q2 s2 − q1 s12)/t = 2 A2; J = 2 (A1 q1 + A2 q2).
    let (a1, a2, s1, s2, s12): (f64, f64, f64, f64, f64) = (200.0, 600.0, 60.0, 100.0, 20.0);
    let det = s1 * s2 - s12 * s12;
    let q1 = 2.0 * t * (a1 * s2 + a2 * s12) / det;
    let q2 = 2.0 * t * (a2 * s1 + a1 * s12) / det;
    close("cells 10 and 30", found.gj_nmm2, 2.0 * (a1 * q1 + a2 * q2), 0.01);
}

/// A tube slit lengthwise: J = s t³/3 (1 − 0.63 t/s), the strip with its two ends (Timoshenko & Goodier, narrow
/// rectangle; from memory); without the ends it is the thin formula's 318 mm⁴ for 40 × 2, 1.05 % more. The shear centre
/// lies at twice the middle radius from the middle, away from the slit (Roark, shear centres of thin open sections;
/// from memory).
#[test]
fn slit_tube() {
    let gap = 0.0005;
    let bar = [region(PLAIN, open_ring(18.0, 20.0, gap, TAU - gap, 128), vec![])];
    let found = torsion(&bar, 0.003).expect("a slit tube twists");
    let (s, t) = (TAU * 19.0, 2.0_f64);
    close("slit tube 40x2", found.gj_nmm2, s * t.powi(3) / 3.0 * (1.0 - 0.63 * t / s), 0.005);
    let centre = found.shear_centre_mm.expect("one piece");
    close("slit tube's shear centre", -centre.x, 38.0, 0.01);
    assert!(centre.y.abs() < 0.05, "{centre}");
}

/// A thin channel: shear centre 3b²/(h + 6b) behind the web (Roark, as above; from memory).
#[test]
fn channel() {
    let (b, h, t) = (20.0, 40.0, 0.2);
    let (o, i) = (h / 2.0 + t / 2.0, h / 2.0 - t / 2.0);
    let around = [[-t / 2.0, -o], [b, -o], [b, -i], [t / 2.0, -i], [t / 2.0, i], [b, i], [b, o], [-t / 2.0, o]];
    let found = torsion(&[region(PLAIN, corners(&around), vec![])], 0.005).expect("a channel twists");
    close("channel's J", found.gj_nmm2, (2.0 * b + h) * t.powi(3) / 3.0, 0.01);
    let centre = found.shear_centre_mm.expect("one piece");
    close("channel's shear centre", -centre.x, 3.0 * b * b / (h + 6.0 * b), 0.01);
}

/// Round layers share one angle: GJ adds up (Gere & Goodno, composite shafts; from memory).
#[test]
fn round_core_in_a_round_sleeve() {
    let (r, s) = (10.0, 15.0);
    let n = 96;
    let core = region(of(70e3, 26e3, 2700.0), ellipse(r, r, n), vec![]);
    let sleeve = region(of(3500.0, 1300.0, 1240.0), ellipse(s, s, n), vec![ellipse(r, r, n)]);
    let exact = PI / 2.0 * (26e3 * f64::powi(r, 4) + 1300.0 * (f64::powi(s, 4) - f64::powi(r, 4)));
    close("core in sleeve", torsion(&[core, sleeve], 0.003).expect("layers twist").gj_nmm2, exact, 0.004);
}

/// Pieces that do not touch twist each for itself.
#[test]
fn apart_they_add_up() {
    let piece = |at| region(PLAIN, rectangle(10.0, 10.0, [at, 0.0]), vec![]);
    let found = torsion(&[piece(0.0), piece(50.0)], 0.002).expect("both twist");
    close("two squares", found.gj_nmm2, 2.0 * 1406.0, 0.002);
    assert_eq!(found.shear_centre_mm, None);
}

/// Glued halves are one bar, whatever corners lie along the seam.
#[test]
fn glued_halves_are_whole() {
    let left = corners(&[[-10.0, -5.0], [0.0, -5.0], [0.0, -1.0], [0.0, 2.0], [0.0, 5.0], [-10.0, 5.0]]);
    let right = rectangle(10.0, 10.0, [5.0004, 0.0]);
    let found = torsion(&[region(PLAIN, left, vec![]), region(PLAIN, right, vec![])], 0.002).expect("they twist");
    close("two halves", found.gj_nmm2, 0.2287 * 2e4, 0.003);
    assert!(found.shear_centre_mm.is_some());
}

#[test]
fn bounds_close_in_as_triangles_get_finer() {
    let bar = [region(PLAIN, rectangle(40.0, 20.0, [0.0, 0.0]), vec![rectangle(36.0, 16.0, [0.0, 0.0])])];
    let rounds: Vec<_> = [2.0, 1.0, 0.5, 0.25].iter().map(|s| coarse(&bar, *s).expect("a box twists")).collect();
    for r in &rounds {
        assert!(r.least_nmm2 <= r.most_nmm2);
    }
    for pair in rounds.windows(2) {
        assert!(pair[1].most_nmm2 - pair[1].least_nmm2 < 0.75 * (pair[0].most_nmm2 - pair[0].least_nmm2));
    }
}

/// A rectangle slides by 1.2 V/(GA) and peaks at 1.5 V/A; a full circle by 7/6 (Poisson's ratio 0: Cowper 1966, 6/7 at
/// ν = 0); a thin ring by 2 V/(GA) and peaks at 2 V/A (Gere & Goodno, shear stresses and form factors; all from
/// memory).
#[test]
fn forces_across() {
    let bar = [region(of(2.0, 1.0, 0.0), rectangle(30.0, 10.0, [7.0, 3.0]), vec![])];
    let found = torsion(&bar, 0.002).expect("a rectangle");
    close("rectangle along y", found.shear_per_n.x_axis.x, 1.2 / 300.0, 0.002);
    close("rectangle along z", found.shear_per_n.y_axis.y, 1.2 / 300.0, 0.002);
    assert!(found.shear_per_n.x_axis.y.abs() < 1e-6);
    let fine = coarse(&bar, 0.125).expect("finer triangles").peaks[0];
    close("its peak", fine.force.x, 1.5 / 300.0, 0.01);
    close("its other peak", fine.force.y, 1.5 / 300.0, 0.01);
    let disc = torsion(&[region(PLAIN, ellipse(10.0, 10.0, 96), vec![])], 0.003).expect("a disc");
    close("disc", disc.shear_per_n.x_axis.x, 7.0 / 6.0 / (PI * 100.0), 0.003);
    close("disc in torsion", disc.peaks[0].torque, 2.0 / (PI * 1000.0), 0.01);
    let ring = [region(PLAIN, ellipse(20.1, 20.1, 128), vec![ellipse(19.9, 19.9, 128)])];
    let ring = torsion(&ring, 0.01).expect("a ring");
    let area = PI * (20.1 * 20.1 - 19.9 * 19.9);
    close("ring", ring.shear_per_n.x_axis.x, 2.0 / area, 0.01);
    close("its peak", ring.peaks[0].force.y, 2.0 / area, 0.02);
}

/// A square's highest stress is 4.81 T/a³, in the middle of a side (Roark, torsion table; from memory); an ellipse's
/// 2T/(πab²).
#[test]
fn peaks_of_torsion() {
    let square = coarse(&[region(PLAIN, rectangle(10.0, 10.0, [0.0, 0.0]), vec![])], 0.125).expect("a square");
    close("square", square.peaks[0].torque, 4.81e-3, 0.01);
    let oval = torsion(&[region(PLAIN, ellipse(20.0, 8.0, 128), vec![])], 0.002).expect("an ellipse");
    close("ellipse", oval.peaks[0].torque, 2.0 / (PI * 20.0 * 64.0), 0.015);
    close("shear of both", square.peaks[0].shear_mpa(-2.0, DVec2::new(3.0, -1.0)), 9.62e-3 + 4.0 * 0.015, 0.02);
}

/// Whatever is given, it is solved between bounds or refused; nothing panics and nothing is no number.
#[test]
fn any_outlines_are_solved_or_refused() {
    let mut state = 7_u64;
    let mut next = move || {
        // Knuth's MMIX generator (from memory).
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let (mut solved, mut refused) = (0, 0);
    for round in 0..300 {
        let mut star = |at: DVec2, rough: f64| -> Vec<DVec2> {
            let n = 3 + (next() * 9.0) as usize;
            (0..n)
                .map(|k| {
                    let reach = 10.0 * (1.0 - rough * next());
                    at + DVec2::from_angle(TAU * k as f64 / n as f64) * reach
                })
                .map(|p| if round % 3 == 0 { p.round() } else { p })
                .collect()
        };
        let outer = star(DVec2::ZERO, 0.5);
        let hole: Vec<DVec2> = star(DVec2::ZERO, 0.5).iter().map(|p| *p * 0.45).collect();
        let beside = star(DVec2::X * if round % 2 == 0 { 20.0 } else { 14.0 }, 0.3);
        let regions = [region(PLAIN, outer, vec![hole]), region(of(3.0, 2.0, 1.0), beside, vec![])];
        match torsion(&regions, 0.1) {
            Ok(found) => {
                solved += 1;
                let Torsion { least_nmm2, most_nmm2, gj_nmm2, .. } = found;
                assert!(least_nmm2 > 0.0 && least_nmm2 <= most_nmm2 * (1.0 + 1e-9) && gj_nmm2.is_finite(), "{round}");
                assert!(found.shear_per_n.is_finite() && found.shear_per_n.x_axis.x > 0.0, "{round}");
                assert!(found.shear_centre_mm.is_none_or(|c| c.is_finite()), "{round}");
            }
            Err(_) => refused += 1,
        }
    }
    assert!(solved > 100 && refused > 30, "{solved} solved, {refused} refused");
}

#[test]
fn mistakes_are_named() {
    let square = |at: f64| region(PLAIN, rectangle(10.0, 10.0, [at, 0.0]), vec![]);
    assert!(matches!(
        torsion(&[square(0.0), square(4.0)], 0.01),
        Err(TorsionError::Overlap { first: 0, second: 1, .. })
    ));
    assert!(matches!(torsion(&[square(0.0)], 0.0), Err(TorsionError::Accuracy { .. })));
    assert!(matches!(torsion(&[], 0.01), Err(TorsionError::Section(_))));
    let bow = region(PLAIN, corners(&[[0.0, 0.0], [10.0, 0.0], [0.0, 10.0], [4.0, -8.0]]), vec![]);
    assert!(matches!(torsion(&[bow], 0.01), Err(TorsionError::Untidy { .. })));
}
