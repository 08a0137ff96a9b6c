//! A ring that slides over a body.

use crate::section::Place;
use crate::steps;
use crate::sweep::{Ends, Ring, sweep};
use solid::{DVec2, DVec3, Mesh};
use std::f64::consts::FRAC_PI_2;

/// The profile of a ring: bevelled on the butt side, which prints downwards, rounded on the other.
pub struct RingShape<'a> {
    /// Where it begins and ends, mm along the prop.
    pub x: [f64; 2],
    /// Its bore, by the direction of its normal.
    pub bore: &'a dyn Fn(f64) -> Place,
    /// How far it stands out of its bore at each x, mm.
    pub depth_mm: &'a dyn Fn(f64) -> f64,
    /// Radius of the rounding, mm.
    pub round_mm: f64,
    /// Bevels on the butt side, mm: along the prop and across it. Steep enough, they need no support.
    pub bevel_mm: DVec2,
}

/// The ring as a closed surface that faces outwards.
pub fn ring(shape: &RingShape<'_>, edge_mm: f64) -> Mesh {
    let RingShape { x, bore, depth_mm, round_mm, bevel_mm } = *shape;
    let (near, far) = (x[0] + bevel_mm.x, x[1] - round_mm);
    let (near_depth, far_depth) = (depth_mm(near), depth_mm(far));
    // Once round the ring's profile, (x, depth outside the bore): along the outside, down the far face with rounded
    // corners, back along the bore, and up the near face with bevels.
    let mut profile = vec![DVec2::new(near, near_depth)];
    let line = |profile: &mut Vec<DVec2>, to: DVec2| {
        let from = profile[profile.len() - 1];
        profile.extend(steps(0.0, 1.0, edge_mm / from.distance(to)).map(|share| from.lerp(to, share)));
    };
    let corner = |profile: &mut Vec<DVec2>, middle: DVec2, from: f64| {
        profile.extend(
            steps(from, from - FRAC_PI_2, edge_mm / round_mm)
                .map(|turn| middle + DVec2::new(libm::cos(turn), libm::sin(turn)) * round_mm),
        );
    };
    profile.extend(steps(near, far, edge_mm).map(|x| DVec2::new(x, depth_mm(x))));
    corner(&mut profile, DVec2::new(far, far_depth - round_mm), FRAC_PI_2);
    line(&mut profile, DVec2::new(x[1], round_mm));
    corner(&mut profile, DVec2::new(far, round_mm), 0.0);
    line(&mut profile, DVec2::new(near, 0.0));
    line(&mut profile, DVec2::new(x[0], bevel_mm.y));
    line(&mut profile, DVec2::new(x[0], near_depth - bevel_mm.y));
    line(&mut profile, DVec2::new(near, near_depth));
    // Where it began.
    profile.pop();
    let rings: Vec<Ring<'_>> = profile
        .into_iter()
        .map(|p| Ring {
            outline: Box::new(move |turn| bore(turn).offset(p.y)),
            vertex: Box::new(move |place| DVec3::new(p.x, place.point.x, place.point.y)),
        })
        .collect();
    sweep(&rings, &Ends::Joined, edge_mm)
}
