//! The arm and the prop as a chain of stiff links: what a sensor in the grip feels.
//!
//! Joints turn about one axis each; rates, accelerations and specific force are carried outwards from the shoulder in the frame of
//! each link (outward recursion of Newton and Euler: Craig, "Introduction to Robotics", chapter 6). World and body frames are
//! right-handed; the world's z is up, a link's x is along it. Metres, seconds, radians.

use super::track::{Track, Way};

/// Standard gravity, m/s².
pub(crate) const G: f64 = 9.80665;

/// Axis that each joint turns about: 0 is x, 1 is y (positive lowers the tip), 2 is z.
const AXES: [usize; JOINTS] = [2, 1, 0, 1, 0, 1, 2];
/// Joints of the chain.
pub(crate) const JOINTS: usize = 7;
/// Which joint is which.
pub(crate) mod joint {
    pub(crate) const SHOULDER_TURN: usize = 0;
    pub(crate) const SHOULDER_LIFT: usize = 1;
    pub(crate) const ELBOW: usize = 3;
    pub(crate) const FOREARM_TWIST: usize = 4;
    pub(crate) const WRIST_LIFT: usize = 5;
    pub(crate) const WRIST_TURN: usize = 6;
}

/// Lengths of a body, metres.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Lengths {
    pub(crate) upper_arm: f64,
    pub(crate) forearm: f64,
    /// From the wrist to the sensor, in the prop's frame.
    pub(crate) sensor: [f64; 3],
}

/// The joints and where the shoulder goes.
#[derive(Clone, Debug, Default)]
pub(crate) struct Chain {
    pub(crate) joints: [Track; JOINTS],
    /// The shoulder's way in the world.
    pub(crate) shoulder: [Track; 3],
    /// Angle, sine and cosine of each joint at the last instant: most joints rest most of the time.
    known: [[f64; 3]; JOINTS],
}

/// Specific force (m/s²) and turning rate (rad/s) in the prop's frame.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Felt {
    pub(crate) force: [f64; 3],
    pub(crate) rate: [f64; 3],
}

pub(crate) fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

fn plus(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// A vector of the parent's frame in that of a link turned about an axis.
fn turned(v: [f64; 3], axis: usize, sin: f64, cos: f64) -> [f64; 3] {
    let (i, j) = ((axis + 1) % 3, (axis + 2) % 3);
    let mut out = v;
    out[i] = cos * v[i] + sin * v[j];
    out[j] = cos * v[j] - sin * v[i];
    out
}

/// What is carried from link to link.
struct Carried {
    force: [f64; 3],
    rate: [f64; 3],
    push: [f64; 3],
}

impl Carried {
    fn through_joint(self, axis: usize, [_, speed, push]: Way, [_, sin, cos]: [f64; 3]) -> Carried {
        let force = turned(self.force, axis, sin, cos);
        let mut rate = turned(self.rate, axis, sin, cos);
        let mut angular = turned(self.push, axis, sin, cos);
        let mut spin = [0.0; 3];
        spin[axis] = speed;
        angular = plus(angular, cross(rate, spin));
        angular[axis] += push;
        rate[axis] += speed;
        Carried { force, rate, push: angular }
    }

    fn along(self, to: [f64; 3]) -> Carried {
        let force = plus(self.force, plus(cross(self.push, to), cross(self.rate, cross(self.rate, to))));
        Carried { force, ..self }
    }
}

impl Chain {
    /// What the sensor feels at a time; times only go forward.
    pub(crate) fn felt(&mut self, t: f64, lengths: &Lengths, swaying: bool) -> Felt {
        let [x, y, z] = &mut self.shoulder;
        let force = [x.at(t, swaying)[2], y.at(t, swaying)[2], z.at(t, swaying)[2] + G];
        let mut carried = Carried { force, rate: [0.0; 3], push: [0.0; 3] };
        for (k, track) in self.joints.iter_mut().enumerate() {
            if k == joint::ELBOW {
                carried = carried.along([lengths.upper_arm, 0.0, 0.0]);
            } else if k == joint::WRIST_LIFT {
                carried = carried.along([lengths.forearm, 0.0, 0.0]);
            }
            let way = track.at(t, swaying);
            let known = &mut self.known[k];
            // A cosine of 0 beside a sine of 0 stands for nothing known yet.
            if known[0] != way[0] || known[2] == known[1] {
                let (sin, cos) = libm::sincos(way[0]);
                *known = [way[0], sin, cos];
            }
            carried = carried.through_joint(AXES[k], way, *known);
        }
        let end = carried.along(lengths.sensor);
        Felt { force: end.force, rate: end.rate }
    }
}

#[cfg(test)]
mod tests {
    use super::super::track::{Stroke, Sway};
    use super::*;

    const LENGTHS: Lengths = Lengths { upper_arm: 0.3, forearm: 0.27, sensor: [0.1, 0.01, -0.02] };

    fn chain() -> Chain {
        let mut chain = Chain::default();
        for (k, track) in chain.joints.iter_mut().enumerate() {
            let by = 0.4 + 0.1 * k as f64;
            track.stroke(Stroke { start_s: 0.0, lasts_s: 0.8, by, stopped: None });
            track.sway(Sway { start_s: 0.0, end_s: 3.0, hz: 1.0 + 0.3 * k as f64, phase: k as f64, by: 0.1 });
        }
        chain.shoulder[2].sway(Sway { start_s: 0.0, end_s: 3.0, hz: 2.0, phase: 0.0, by: 0.03 });
        chain
    }

    /// Place of the sensor and directions of the prop in the world, by turning matrices one after another.
    fn placed(t: f64) -> ([f64; 3], [[f64; 3]; 3]) {
        let mut chain = chain();
        // Columns are the link's axes in the world.
        let mut axes = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        let mut place = [0.0, 0.0, chain.shoulder[2].at(t, true)[0]];
        let walk = |place: [f64; 3], axes: &[[f64; 3]; 3], by: [f64; 3]| {
            std::array::from_fn(|i| place[i] + (0..3).map(|k| axes[k][i] * by[k]).sum::<f64>())
        };
        for (k, axis) in AXES.into_iter().enumerate() {
            if k == joint::ELBOW {
                place = walk(place, &axes, [LENGTHS.upper_arm, 0.0, 0.0]);
            } else if k == joint::WRIST_LIFT {
                place = walk(place, &axes, [LENGTHS.forearm, 0.0, 0.0]);
            }
            let (sin, cos) = libm::sincos(chain.joints[k].at(t, true)[0]);
            let (i, j) = ((axis + 1) % 3, (axis + 2) % 3);
            let (a, b) = (axes[i], axes[j]);
            axes[i] = std::array::from_fn(|n| cos * a[n] + sin * b[n]);
            axes[j] = std::array::from_fn(|n| cos * b[n] - sin * a[n]);
        }
        (walk(place, &axes, LENGTHS.sensor), axes)
    }

    /// The recursion against differences of the sensor's place and axes: an independent way to the same.
    #[test]
    fn what_is_felt_is_what_the_way_says() {
        let h = 1e-4;
        for k in 1..20 {
            let t = 0.1 * f64::from(k);
            let felt = chain().felt(t, &LENGTHS, true);
            let [(before, a), (here, axes), (after, b)] = [placed(t - h), placed(t), placed(t + h)];
            let push: [f64; 3] = std::array::from_fn(|i| (after[i] - 2.0 * here[i] + before[i]) / (h * h));
            let world = [push[0], push[1], push[2] + G];
            let dot = |u: [f64; 3], v: [f64; 3]| u[0] * v[0] + u[1] * v[1] + u[2] * v[2];
            let slope = |n: usize| std::array::from_fn(|i| (b[n][i] - a[n][i]) / (2.0 * h));
            let rate = [dot(slope(1), axes[2]), dot(slope(2), axes[0]), dot(slope(0), axes[1])];
            for n in 0..3 {
                let force = dot(world, axes[n]);
                assert!((force - felt.force[n]).abs() < 2e-3, "at {t}: {force} {:?}", felt.force);
                assert!((rate[n] - felt.rate[n]).abs() < 1e-4, "at {t}: {rate:?} {:?}", felt.rate);
            }
        }
    }

    /// At rest a raised tip feels gravity's reaction along x; turning at w about the wrist adds w² r towards it.
    #[test]
    fn gravity_and_turning_have_their_closed_forms() {
        let lengths = Lengths { upper_arm: 0.3, forearm: 0.3, sensor: [0.1, 0.0, 0.0] };
        let mut chain = Chain::default();
        let up = -std::f64::consts::FRAC_PI_2;
        chain.joints[joint::WRIST_LIFT].stroke(Stroke { start_s: 0.0, lasts_s: 0.1, by: up, stopped: None });
        let felt = chain.felt(1.0, &lengths, true);
        assert!((felt.force[0] - G).abs() < 1e-9 && felt.force[2].abs() < 1e-9, "{felt:?}");
        let mut chain = Chain::default();
        chain.joints[joint::WRIST_TURN].stroke(Stroke { start_s: 0.0, lasts_s: 1.0, by: 2.0, stopped: None });
        let felt = chain.felt(0.5, &lengths, true);
        let w = 1.875 * 2.0;
        assert!((felt.force[0] + w * w * 0.1).abs() < 1e-9 && (felt.rate[2] - w).abs() < 1e-9, "{felt:?}");
    }
}
