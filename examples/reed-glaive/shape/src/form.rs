//! The four bodies: where their outlines lie along the prop and how large they are.

use crate::relief;
use forms::{Ends, Place, Ring, RingShape, blend, ease, flat_start, lens, oval, ring, steps, sweep, through, turned};
use solid::{DVec2, DVec3, Mesh};
use std::f64::consts::{FRAC_PI_2, PI};

/// The faces where the bodies meet, and the tip, mm from the butt.
const GRIP_X: f64 = 72.0;
const BLADE_X: f64 = 400.0;
pub(crate) const TIP_X: f64 = 1500.0;

/// Where the guard sits.
pub(crate) const GUARD_X: [f64; 2] = [385.0, 415.0];

/// Half axes of grip and blade under the guard. Nothing behind it is larger, so that the guard slides on from the butt.
const SEAT_MM: DVec2 = DVec2::new(19.5, 15.5);

/// From the oval seat to the full lens.
const LENS_X: [f64; 2] = [416.0, 480.0];

/// How far the blade's centre line leaves the axis at the tip, mm.
const BOW_MM: f64 = 24.0;

/// Radius of the blade's edges, mm.
const EDGE_MM: f64 = 1.5;

/// Length of the rounding at the tip, mm.
const TIP_ROUND_MM: f64 = 2.5;

/// Vertices on the plain grip lie this many times as far apart as on the other bodies, which need them.
const GRIP_COARSER: f64 = 2.0;

/// All bodies, butt first.
pub(crate) fn bodies(edge_mm: f64) -> Vec<(&'static str, Mesh)> {
    vec![
        ("pommel", pommel(edge_mm)),
        ("grip", grip(edge_mm * GRIP_COARSER)),
        ("blade", blade(edge_mm)),
        ("guard", guard(edge_mm)),
    ]
}

fn pommel(edge_mm: f64) -> Mesh {
    let width = |x: f64| through(&[(0.0, 18.0), (30.0, 25.0), (60.0, 17.5), (GRIP_X, 17.0)], x);
    // Wide enough for a speaker. Twelve shallow hollows between reeds, none at the ends.
    let depth_mm = |x: f64| through(&[(4.0, 0.0), (30.0, 1.0), (56.0, 0.0)], x.clamp(4.0, 56.0));
    turned([0.0, GRIP_X], edge_mm, &|x| DVec2::new(width(x), width(x) * 0.82), &|x, place| {
        let around = libm::atan2(place.point.y / 0.82, place.point.x);
        place.offset(-depth_mm(x) * 0.5 * (1.0 - libm::cos(12.0 * around)))
    })
}

fn grip(edge_mm: f64) -> Mesh {
    let across = [(GRIP_X, 16.5), (220.0, 19.0), (335.0, 17.5), (GUARD_X[0], SEAT_MM.x), (BLADE_X, SEAT_MM.x)];
    let thick = [(GRIP_X, 13.5), (220.0, 15.0), (335.0, 14.0), (GUARD_X[0], SEAT_MM.y), (BLADE_X, SEAT_MM.y)];
    turned([GRIP_X, BLADE_X], edge_mm, &|x| DVec2::new(through(&across, x), through(&thick, x)), &|_, place| place)
}

/// How far the blade's centre line lies from the axis, mm (towards +y).
pub(crate) fn bow_mm(x: f64) -> f64 {
    let share = along_blade(x);
    BOW_MM * share * share
}

fn along_blade(x: f64) -> f64 {
    ((x - BLADE_X) / (TIP_X - BLADE_X)).clamp(0.0, 1.0)
}

/// Half of the blade's width beyond its seat, mm: a leaf, widest at 60 % of its length.
pub(crate) fn half_width_mm(x: f64) -> f64 {
    let share = along_blade(x);
    let (swell, taper) = (share / 0.6, (share - 0.6) / 0.4);
    if share < 0.6 { 28.0 + 16.0 * ease(swell) } else { 3.0 + 41.0 * libm::cos(FRAC_PI_2 * taper) }
}

/// Half of the blade's thickness beyond its seat, mm: 12 falling to 7, and near the tip never thicker than wide.
fn half_thickness_mm(x: f64) -> f64 {
    let (body, tip) = (12.0 - 5.0 * along_blade(x), half_width_mm(x) * 0.8);
    // The smaller of the two, rounded where they cross.
    let gap = ((3.0 - (body - tip).abs()) / 3.0).max(0.0);
    body.min(tip) - gap * gap * 3.0 / 4.0
}

fn blade_outline(x: f64, turn: f64) -> Place {
    let leaf = lens(DVec2::new(half_width_mm(x), half_thickness_mm(x)), EDGE_MM, turn);
    blend(oval(SEAT_MM, turn), leaf, ease((x - LENS_X[0]) / (LENS_X[1] - LENS_X[0])))
}

fn blade_vertex(x: f64, share: f64, place: Place) -> DVec3 {
    let height_mm = if share < 1.0 { 0.0 } else { relief::height_mm(x, half_width_mm(x), place.point) };
    let p = place.offset(height_mm).point;
    DVec3::new(x, p.x + bow_mm(x), p.y)
}

fn blade(edge_mm: f64) -> Mesh {
    let along_mm = edge_mm * 0.95;
    let mut row = flat_start(BLADE_X, SEAT_MM.x, edge_mm);
    let round_x = TIP_X - TIP_ROUND_MM;
    row.extend(steps(BLADE_X, round_x, along_mm).map(|x| (x, 1.0)));
    // A quarter turn, short of the point itself.
    let quarter: Vec<f64> = steps(0.0, FRAC_PI_2, (along_mm / TIP_ROUND_MM).min(FRAC_PI_2 / 4.0)).collect();
    for turn in &quarter[..quarter.len() - 1] {
        row.push((round_x + TIP_ROUND_MM * libm::sin(*turn), libm::cos(*turn)));
    }
    let rings: Vec<Ring<'_>> = row
        .into_iter()
        .map(|(x, share)| Ring {
            outline: Box::new(move |turn| blade_outline(x, turn).scaled(share)),
            vertex: Box::new(move |place| blade_vertex(x, share, place)),
        })
        .collect();
    let ends = Ends::Points(DVec3::X * BLADE_X, DVec3::new(TIP_X, bow_mm(TIP_X), 0.0));
    sweep(&rings, &ends, edge_mm)
}

/// Half of the guard's body: it swells a little in its middle.
fn guard_depth_mm(x: f64) -> f64 {
    let share = (x - GUARD_X[0]) / (GUARD_X[1] - GUARD_X[0]);
    10.0 + 3.0 * libm::sin(PI * share)
}

fn guard_hole(turn: f64) -> Place {
    oval(SEAT_MM, turn).offset(-crate::GUARD_TIGHT_MM)
}

fn guard(edge_mm: f64) -> Mesh {
    let shape = RingShape {
        x: GUARD_X,
        bore: &guard_hole,
        depth_mm: &guard_depth_mm,
        round_mm: 2.0,
        bevel_mm: DVec2::new(2.2, 1.6),
    };
    ring(&shape, edge_mm)
}

/// Whether a point across the prop lies at least `air_mm` inside the guard's hole as drawn.
#[cfg(test)]
pub(crate) fn inside_guard_hole(y: f64, z: f64, air_mm: f64) -> bool {
    let p = DVec2::new(y, z);
    (0..720).all(|k| {
        let seat = oval(SEAT_MM, f64::from(k) * PI / 360.0);
        (p - seat.point).dot(seat.normal) <= -crate::GUARD_TIGHT_MM - air_mm
    })
}

/// Height of the relief at a vertex of the blade, mm.
#[cfg(test)]
pub(crate) fn relief_height(v: DVec3) -> f64 {
    relief::height_mm(v.x, half_width_mm(v.x), DVec2::new(v.y - bow_mm(v.x), v.z))
}
