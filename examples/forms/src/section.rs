//! Outlines across the prop, each given by the direction of its outward normal (radians from +y towards +z). That
//! makes offsets and blends exact: places with the same normal are added.

use solid::DVec2;

/// A place on an outline: (across, through), mm, with its outward unit normal.
#[derive(Clone, Copy, Debug)]
pub struct Place {
    /// Where, mm.
    pub point: DVec2,
    /// Which way is out.
    pub normal: DVec2,
}

impl Place {
    /// Moved outwards.
    pub fn offset(self, by_mm: f64) -> Place {
        Place { point: self.point + self.normal * by_mm, ..self }
    }

    /// Shrunk towards the middle.
    pub fn scaled(self, by: f64) -> Place {
        Place { point: self.point * by, ..self }
    }
}

fn direction(turn: f64) -> DVec2 {
    DVec2::new(libm::cos(turn), libm::sin(turn))
}

/// An ellipse with these half axes.
pub fn oval(half_mm: DVec2, turn: f64) -> Place {
    let normal = direction(turn);
    let stretched = half_mm * normal;
    Place { point: half_mm * stretched / stretched.length(), normal }
}

/// A lens: two equal arcs, wider than thick, its two edges rounded with `edge_mm`. `half_mm` is half of the width and
/// of the thickness over all.
pub fn lens(half_mm: DVec2, edge_mm: f64, turn: f64) -> Place {
    let normal = direction(turn);
    let (a, b) = (half_mm.x - edge_mm, half_mm.y - edge_mm);
    let arc_mm = (a * a + b * b) / (2.0 * b);
    // On the arcs the normal leans no further than the lens's edge does; beyond, it sweeps round the edge itself.
    let point = if normal.x.abs() * arc_mm >= a {
        DVec2::new(a.copysign(normal.x), 0.0)
    } else {
        // Each arc's middle lies on the other side of the long axis.
        DVec2::new(0.0, (b - arc_mm) * normal.y.signum()) + normal * arc_mm
    };
    Place { point: point + normal * edge_mm, normal }
}

/// Between two outlines: all of `from` at 0, all of `to` at 1.
pub fn blend(from: Place, to: Place, share: f64) -> Place {
    Place { point: from.point.lerp(to.point, share), normal: from.normal }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::{FRAC_PI_2, PI};

    #[test]
    fn outlines_reach_their_half_axes() {
        let half = DVec2::new(40.0, 10.0);
        for (turn, want) in
            [(0.0, (40.0, 0.0)), (FRAC_PI_2, (0.0, 10.0)), (PI, (-40.0, 0.0)), (-FRAC_PI_2, (0.0, -10.0))]
        {
            let want = DVec2::new(want.0, want.1);
            assert!((oval(half, turn).point - want).length() < 1e-12);
            assert!((lens(half, 1.5, turn).point - want).length() < 1e-12, "{turn}: {}", lens(half, 1.5, turn).point);
        }
    }

    #[test]
    fn the_lens_is_unbroken_and_its_normals_are_true() {
        let half = DVec2::new(44.0, 10.0);
        for k in 0..3600 {
            let turn = f64::from(k) * PI / 1800.0;
            let here = lens(half, 1.5, turn);
            let step = lens(half, 1.5, turn + PI / 1800.0).point - here.point;
            assert!(step.length() < 0.25, "jump at {turn}");
            assert!(step.dot(here.normal).abs() <= step.length() * 0.01, "{turn}");
        }
    }
}
