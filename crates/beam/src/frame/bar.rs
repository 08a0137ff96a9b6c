//! The matrices of one span.

use glam::{DMat3, DVec2, DVec3};

use super::{Bar, FrameError, Span};

/// A matrix over the six movements of two nodes.
pub(super) type Block = [[f64; 12]; 12];

/// A span in the axes in which it bends without coupling.
#[derive(Clone, Debug)]
pub(super) struct Placed {
    pub(super) length: f64,
    /// Columns: the span's own axes in the frame.
    pub(super) own: DMat3,
    /// Columns: its principal axes in the frame.
    axes: DMat3,
    bar: Bar,
    /// Largest and smallest EI, each with the shear flexibility of the same plane.
    most: [f64; 2],
    least: [f64; 2],
}

/// Axes from a direction and a hint; `None` where they are not independent.
pub(super) fn axes(along: DVec3, across: DVec3) -> Option<DMat3> {
    let x = along.try_normalize()?;
    let hint = across.try_normalize()?;
    let y = hint - x * hint.dot(x);
    if y.length() < 1e-6 {
        return None;
    }
    let y = y.normalize();
    Some(DMat3::from_cols(x, y, x.cross(y)))
}

pub(super) fn placed(idx: usize, span: &Span, nodes: &[DVec3]) -> Result<Placed, FrameError> {
    let bar = span.bar;
    if bar.ea_n <= 0.0 {
        return Err(FrameError::Vanished { span: idx, ea_n: bar.ea_n });
    }
    let principal = bar.ei_nmm2.principal();
    for (which, value) in [("the lesser EI", principal.least), ("GJ", bar.gj_nmm2)] {
        if value <= 0.0 {
            return Err(FrameError::ZeroStiffness { span: idx, which, value });
        }
    }
    let way = nodes[span.to] - nodes[span.from];
    let length = way.length();
    let own = axes(way, span.across).ok_or(FrameError::NoAxes { span: idx, length_mm: length })?;
    let broad = own.y_axis * principal.broad.x + own.z_axis * principal.broad.y;
    let axes = DMat3::from_cols(own.x_axis, broad, own.x_axis.cross(broad));
    let shear = |way: DVec2| way.dot(bar.shear_per_n * way).max(0.0);
    let (most, least) = ([principal.most, shear(principal.broad)], [principal.least, shear(principal.broad.perp())]);
    Ok(Placed { length, own, axes, bar, most, least })
}

impl Placed {
    /// Mass, g.
    pub(super) fn mass_g(&self) -> f64 {
        self.bar.mass_g_mm * self.length
    }

    /// The largest stiffness against moving and against turning an end.
    pub(super) fn stiffest(&self) -> (f64, f64) {
        let l = self.length;
        let moves = (self.bar.ea_n / l).max(12.0 * self.most[0] / (l * l * l));
        (moves, (self.bar.gj_nmm2 / l).max(4.0 * self.most[0] / l))
    }

    /// Stiffness in the frame.
    pub(super) fn stiffness(&self) -> Block {
        let l = self.length;
        let mut k = [[0.0; 12]; 12];
        pair(&mut k, 0, self.bar.ea_n / l, -self.bar.ea_n / l);
        pair(&mut k, 3, self.bar.gj_nmm2 / l, -self.bar.gj_nmm2 / l);
        // Along the broad axis the larger EI resists.
        let bending = |[ei, shear]: [f64; 2]| {
            let soft = 12.0 * ei * shear / (l * l);
            let c = ei / (l * l * l * (1.0 + soft));
            [12.0 * c, 6.0 * c * l, (4.0 + soft) * c * l * l, (2.0 - soft) * c * l * l]
        };
        bend(&mut k, Plane::Broad, bending(self.most));
        bend(&mut k, Plane::Across, bending(self.least));
        self.in_frame(&k)
    }

    /// Consistent mass in the frame, tonnes (so that N, mm and s fit).
    pub(super) fn mass(&self) -> Block {
        let l = self.length;
        let t = self.mass_g() * 1e-6;
        let spin = self.bar.spin_gmm2_mm * l * 1e-6;
        let mut m = [[0.0; 12]; 12];
        pair(&mut m, 0, t / 3.0, t / 6.0);
        pair(&mut m, 3, spin / 3.0, spin / 6.0);
        for plane in [Plane::Broad, Plane::Across] {
            let ([v1, r1, v2, r2], s) = plane.places();
            let c = t / 420.0;
            set(&mut m, v1, v1, 156.0 * c);
            set(&mut m, v2, v2, 156.0 * c);
            set(&mut m, v1, v2, 54.0 * c);
            set(&mut m, r1, r1, 4.0 * c * l * l);
            set(&mut m, r2, r2, 4.0 * c * l * l);
            set(&mut m, r1, r2, -3.0 * c * l * l);
            set(&mut m, v1, r1, s * 22.0 * c * l);
            set(&mut m, v2, r2, -s * 22.0 * c * l);
            set(&mut m, v1, r2, -s * 13.0 * c * l);
            set(&mut m, v2, r1, s * 13.0 * c * l);
        }
        self.in_frame(&m)
    }

    /// What a pull adds to the stiffness, in the frame.
    pub(super) fn geometric(&self, pull_n: f64) -> Block {
        let l = self.length;
        let mut k = [[0.0; 12]; 12];
        let c = pull_n / (30.0 * l);
        for plane in [Plane::Broad, Plane::Across] {
            bend(&mut k, plane, [36.0 * c, 3.0 * c * l, 4.0 * c * l * l, -c * l * l]);
        }
        self.in_frame(&k)
    }

    /// Forces and moments at the ends, in the frame, that stand for an even force on each millimetre.
    pub(super) fn even(&self, n_mm: DVec3) -> [f64; 12] {
        let l = self.length;
        let force = n_mm * (l / 2.0);
        let turn = self.own.x_axis.cross(n_mm) * (l * l / 12.0);
        let mut f = [0.0; 12];
        for (k, v) in [force, turn, force, -turn].into_iter().enumerate() {
            f[3 * k..3 * k + 3].copy_from_slice(&v.to_array());
        }
        f
    }

    fn in_frame(&self, local: &Block) -> Block {
        let turn: [[f64; 3]; 3] = self.axes.to_cols_array_2d();
        let mut half = [[0.0; 12]; 12];
        let mut whole = [[0.0; 12]; 12];
        for i in 0..12 {
            for j in 0..12 {
                half[i][j] = (0..3).map(|k| turn[k][i % 3] * local[i / 3 * 3 + k][j]).sum();
            }
        }
        for i in 0..12 {
            for j in 0..12 {
                whole[i][j] = (0..3).map(|k| half[i][j / 3 * 3 + k] * turn[k][j % 3]).sum();
            }
        }
        whole
    }
}

/// The two planes a bar bends in.
#[derive(Clone, Copy)]
enum Plane {
    Broad,
    Across,
}

impl Plane {
    /// Movement and turn at each end, and the sign of a turn that goes with a movement.
    fn places(self) -> ([usize; 4], f64) {
        match self {
            Plane::Broad => ([1, 5, 7, 11], 1.0),
            Plane::Across => ([2, 4, 8, 10], -1.0),
        }
    }
}

fn set(k: &mut Block, i: usize, j: usize, value: f64) {
    k[i][j] = value;
    k[j][i] = value;
}

fn pair(k: &mut Block, at: usize, same: f64, other: f64) {
    set(k, at, at, same);
    set(k, at + 6, at + 6, same);
    set(k, at, at + 6, other);
}

/// Entries movement-movement, movement-turn, turn-turn at one end and turn-turn across.
fn bend(k: &mut Block, plane: Plane, [vv, vr, near, far]: [f64; 4]) {
    let ([v1, r1, v2, r2], s) = plane.places();
    set(k, v1, v1, vv);
    set(k, v2, v2, vv);
    set(k, v1, v2, -vv);
    set(k, v1, r1, s * vr);
    set(k, v1, r2, s * vr);
    set(k, v2, r1, -s * vr);
    set(k, v2, r2, -s * vr);
    set(k, r1, r1, near);
    set(k, r2, r2, near);
    set(k, r1, r2, far);
}
