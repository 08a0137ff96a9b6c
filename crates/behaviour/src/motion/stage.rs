//! Where a motion is put together: joints, pulses, falls, presses, and the moments that they make.

use super::body::{Chain, Felt, G, JOINTS, Lengths, cross, joint};
use super::sensor::{Reader, Sensor};
use super::track::{Stroke, Sway};
use super::{Kind, Moment, Motion};
use crate::random::Random;
use std::f64::consts::PI;

/// A half-sine push, m/s² in the prop's frame.
#[derive(Clone, Copy, Debug)]
struct Pulse {
    start_s: f64,
    lasts_s: f64,
    push: [f64; 3],
}

/// What rings after an impact.
#[derive(Clone, Copy, Debug)]
struct Ring {
    start_s: f64,
    hz: f64,
    dies_s: f64,
    push: [f64; 3],
}

/// A fall: nobody holds it, and it turns.
#[derive(Clone, Copy, Debug)]
struct Fall {
    start_s: f64,
    end_s: f64,
    spin: [f64; 3],
}

/// A motion in the making.
pub(crate) struct Stage {
    pub(crate) random: Random,
    pub(crate) now_s: f64,
    pub(crate) chain: Chain,
    lengths: Lengths,
    pulses: Vec<Pulse>,
    rings: Vec<Ring>,
    falls: Vec<Fall>,
    /// Times in which no hand holds it, and in which the button is down.
    lying: Vec<(f64, f64)>,
    presses: Vec<(f64, f64)>,
    moments: Vec<Moment>,
}

impl Stage {
    pub(crate) fn new(seed: u64) -> Stage {
        let mut random = Random::new(seed);
        let lengths = Lengths {
            upper_arm: random.between(0.26, 0.34),
            forearm: random.between(0.24, 0.29),
            sensor: [random.between(0.03, 0.15), random.between(-0.01, 0.01), random.between(-0.01, 0.01)],
        };
        let mut stage = Stage {
            random,
            now_s: 0.0,
            chain: Chain::default(),
            lengths,
            pulses: Vec::new(),
            rings: Vec::new(),
            falls: Vec::new(),
            lying: Vec::new(),
            presses: Vec::new(),
            moments: Vec::new(),
        };
        // Upper arm hanging, forearm forward, the tip somewhat up.
        for (k, by) in READY {
            stage.chain.joints[k].stroke(Stroke { start_s: -2.0, lasts_s: 1.0, by, stopped: None });
        }
        stage
    }

    pub(crate) fn moment(&mut self, kind: Kind, start_s: f64, end_s: f64) -> &mut Moment {
        self.moments.push(Moment { kind, start_s, end_s, ..Moment::default() });
        let last = self.moments.len() - 1;
        &mut self.moments[last]
    }

    /// Moves joints by angles, at once.
    pub(crate) fn stroke(&mut self, joints: &[(usize, f64)], lasts_s: f64, stopped: Option<(f64, f64)>) {
        for &(k, by) in joints {
            self.chain.joints[k].stroke(Stroke { start_s: self.now_s, lasts_s, by, stopped });
        }
    }

    /// Moves all joints to angles; those not named to where they were at first.
    pub(crate) fn pose(&mut self, wanted: &[(usize, f64)], lasts_s: f64) {
        for k in 0..JOINTS {
            let named = wanted.iter().chain(&READY).find(|w| w.0 == k).map_or(0.0, |w| w.1);
            let by = named - self.chain.joints[k].goal();
            if by.abs() > 1e-9 {
                self.stroke(&[(k, by)], lasts_s, None);
            }
        }
        self.now_s += lasts_s;
    }

    pub(crate) fn sway(&mut self, k: usize, hz: f64, by: f64, lasts_s: f64) {
        let phase = self.random.between(0.0, 2.0 * PI);
        let start_s = self.now_s;
        self.chain.joints[k].sway(Sway { start_s, end_s: start_s + lasts_s, hz, phase, by });
    }

    pub(crate) fn bob(&mut self, axis: usize, hz: f64, by_m: f64, lasts_s: f64) {
        let phase = self.random.between(0.0, 2.0 * PI);
        let start_s = self.now_s;
        self.chain.shoulder[axis].sway(Sway { start_s, end_s: start_s + lasts_s, hz, phase, by: by_m });
    }

    /// A half-sine push of so many g.
    pub(crate) fn pulse(&mut self, start_s: f64, g: f64, lasts_s: f64, direction: [f64; 3]) {
        self.pulses.push(Pulse { start_s, lasts_s, push: direction.map(|d| d * g * G) });
    }

    pub(crate) fn ring(&mut self, start_s: f64, g: f64, hz: f64, dies_s: f64, direction: [f64; 3]) {
        self.rings.push(Ring { start_s, hz, dies_s, push: direction.map(|d| d * g * G) });
    }

    pub(crate) fn fall(&mut self, lasts_s: f64) {
        let spin = [(); 3].map(|()| 2.0 * self.random.normal());
        self.falls.push(Fall { start_s: self.now_s, end_s: self.now_s + lasts_s, spin });
    }

    pub(crate) fn lie(&mut self, lasts_s: f64) {
        self.lying.push((self.now_s, self.now_s + lasts_s));
    }

    pub(crate) fn press(&mut self, lasts_s: f64) {
        self.presses.push((self.now_s, self.now_s + lasts_s));
    }

    /// Plays it to the sensor.
    pub(crate) fn played(mut self, sensor: &Sensor, cell_mv: u16) -> Motion {
        self.tremble();
        let shortest = self.pulses.iter().map(|p| p.lasts_s).fold(1.0, f64::min);
        // At least six instants in the shortest pulse.
        let fine = if shortest < 0.005 { 8 } else { 4 };
        let hz = f64::from(sensor.pace.hz() * fine);
        self.chain.joints.iter_mut().chain(&mut self.chain.shoulder).for_each(super::track::Track::ready);
        self.pulses.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
        self.rings.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
        self.moments.sort_by(|a, b| a.start_s.total_cmp(&b.start_s));
        let mut reader = Reader::new(sensor, hz, self.random.bits());
        let n = libm::ceil(self.now_s * f64::from(sensor.pace.hz())) as usize;
        let mut samples = Vec::with_capacity(n);
        let mut cursors = Cursors::default();
        for k in 0..n * fine as usize {
            let t = k as f64 / hz;
            let felt = self.felt(t, &mut cursors);
            self.note(t, &felt, cursors.moment);
            let values = reader.feel(&felt);
            if k % fine as usize == 0 {
                let pressed = within(&self.presses, &mut cursors.press, t);
                samples.push(reader.read(values, pressed, cell_mv));
            }
        }
        Motion { pace: sensor.pace, samples, moments: self.moments }
    }

    /// A hand trembles at 8 to 12 Hz, by a fraction of a degree (physiological tremor; common practice, no source).
    fn tremble(&mut self) {
        let whole_s = self.now_s;
        self.now_s = 0.0;
        for k in [joint::FOREARM_TWIST, joint::WRIST_LIFT, joint::WRIST_TURN] {
            let (hz, by) = (self.random.between(8.0, 11.0), self.random.between(0.05, 0.4).to_radians());
            self.sway(k, hz, by, whole_s.max(0.01));
        }
        self.now_s = whole_s;
    }

    fn felt(&mut self, t: f64, at: &mut Cursors) -> Felt {
        let lying = within(&self.lying, &mut at.lying, t);
        let mut felt = self.chain.felt(t, &self.lengths, !lying);
        while self.falls.get(at.fall).is_some_and(|f| f.end_s <= t) {
            at.fall += 1;
        }
        if let Some(fall) = self.falls.get(at.fall).filter(|f| f.start_s <= t) {
            // Weightless but for turning about a centre of mass a forearm's length off.
            let force = cross(fall.spin, cross(fall.spin, [-0.25, 0.0, 0.0]));
            felt = Felt { force, rate: fall.spin };
        }
        while self.pulses.get(at.pulse).is_some_and(|p| p.start_s + p.lasts_s <= t) {
            at.pulse += 1;
        }
        for pulse in self.pulses[at.pulse..].iter().take_while(|p| p.start_s <= t) {
            if t < pulse.start_s + pulse.lasts_s {
                let share = libm::sin(PI * (t - pulse.start_s) / pulse.lasts_s);
                (0..3).for_each(|k| felt.force[k] += share * pulse.push[k]);
            }
        }
        while self.rings.get(at.ring).is_some_and(|r| r.start_s + 6.0 * r.dies_s <= t) {
            at.ring += 1;
        }
        for ring in self.rings[at.ring..].iter().take_while(|r| r.start_s <= t) {
            let since = t - ring.start_s;
            let share = libm::exp(-since / ring.dies_s) * libm::sin(2.0 * PI * ring.hz * since);
            (0..3).for_each(|k| felt.force[k] += share * ring.push[k]);
        }
        while self.moments.get(at.moment).is_some_and(|m| m.end_s < t) {
            at.moment += 1;
        }
        felt
    }

    /// Keeps what a moment came to.
    fn note(&mut self, t: f64, felt: &Felt, from: usize) {
        for moment in self.moments[from..].iter_mut().take_while(|m| m.start_s <= t) {
            if t <= moment.end_s {
                let across = libm::sqrt(felt.rate[1] * felt.rate[1] + felt.rate[2] * felt.rate[2]);
                moment.peak_dps = moment.peak_dps.max(across.to_degrees());
            }
        }
    }
}

/// The pose between acts: joints and angles. Positive lift lowers.
pub(crate) const READY: [(usize, f64); 3] =
    [(joint::SHOULDER_LIFT, 1.35), (joint::ELBOW, -1.45), (joint::WRIST_LIFT, -0.5)];

/// How far each list has been gone through.
#[derive(Default)]
struct Cursors {
    pulse: usize,
    ring: usize,
    fall: usize,
    lying: usize,
    press: usize,
    moment: usize,
}

fn within(spans: &[(f64, f64)], cursor: &mut usize, t: f64) -> bool {
    while spans.get(*cursor).is_some_and(|s| s.1 <= t) {
        *cursor += 1;
    }
    spans.get(*cursor).is_some_and(|s| s.0 <= t)
}
