//! What the hand did, from what the sensor says: one step a sample, integers only.
//!
//! The body frame is the prop's: x along it towards the tip. Acceleration is specific force, 2048 counts a g, so that a
//! prop at rest with its tip up reads +1 g along x; rate is 16.384 counts a degree per second.

use crate::Trigger;
use crate::limits::Limits;
use crate::small::{Small, magnitude};

/// One reading of the sensor, the button and the cell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sample {
    /// Specific force along x, y, z, 2048 a g.
    pub force: [i16; 3],
    /// Turning rate about x, y, z, 16.384 a degree per second.
    pub rate: [i16; 3],
    /// Whether the button is down.
    pub pressed: bool,
    /// Voltage of one cell, millivolts.
    pub cell_mv: u16,
}

/// A trigger with how strong it was: jerk of a strike (256 a g per sample), otherwise the turning rate (1.024 a degree
/// per second).
pub(crate) type Said = (Trigger, i32);

/// Quantities that several detectors use.
struct Reading {
    force: [Small; 3],
    rate: [Small; 3],
    /// The rate at 1.024 a degree per second, where its square fits; that of the force is at 256 a g.
    turn: [Small; 3],
    force2: Small,
    across2: Small,
    turn2: Small,
}

impl Reading {
    fn of(sample: &Sample) -> Reading {
        let (force, rate) = (sample.force.map(Small::from), sample.rate.map(Small::from));
        let (coarse, turn) = (force.map(|f| f >> 3), rate.map(|w| w >> 4));
        let across2 = turn[1].squared() + turn[2].squared();
        Reading {
            force,
            rate,
            turn,
            force2: coarse[0].squared() + coarse[1].squared() + coarse[2].squared(),
            across2,
            turn2: across2 + turn[0].squared(),
        }
    }
}

/// All detectors and their memory.
#[derive(Clone, Debug)]
pub(crate) struct Detector {
    begun: bool,
    fall: Fall,
    strike: Strike,
    gravity: Gravity,
    swing: Swing,
    twist: Small,
    pose: Pose,
    still: Small,
    button: Button,
    cell: Cell,
    /// Turning rate, 1.024 a degree per second.
    pub(crate) speed: Small,
}

impl Detector {
    pub(crate) fn new() -> Detector {
        Detector {
            begun: false,
            fall: Fall::default(),
            strike: Strike::default(),
            gravity: Gravity { down: [Small(16384), Small::ZERO, Small::ZERO], unrest: Small::ZERO },
            swing: Swing::default(),
            twist: Small::ZERO,
            pose: Pose::default(),
            still: Small::ZERO,
            button: Button::default(),
            cell: Cell::default(),
            speed: Small::ZERO,
        }
    }

    /// Where gravity's reaction points in the prop's frame, 16384 a g.
    pub(crate) fn gravity(&self) -> [i32; 3] {
        self.gravity.down.map(|c| c.0)
    }

    /// Whether the cell is below the dimming voltage, and whether it is empty.
    pub(crate) fn cell(&self) -> (bool, bool) {
        (self.cell.low, self.cell.empty)
    }

    /// Takes one sample; adds to `said` what it means, in the order of the detectors.
    pub(crate) fn step(&mut self, sample: &Sample, limits: &Limits, said: &mut Vec<Said>) {
        let now = Reading::of(sample);
        if !self.begun {
            self.begun = true;
            self.strike.last = now.force;
            self.fall.mean = now.force.map(|f| f << 6);
            self.gravity.begin(&now);
        }
        self.speed = magnitude(now.turn);
        let speed = self.speed.0;
        let off = self.fall.step(&now, limits);
        self.strike.step(&now, self.fall.armed > 0, limits, said);
        let unrest = self.gravity.unrest(&now, limits);
        if let Some(trigger) = self.swing.step(&now, unrest, limits) {
            said.push((trigger, speed));
        }
        let along = now.turn[0].abs();
        if along > limits.twist_on && now.across2 < now.turn[0].squared() >> 2 {
            self.twist = (self.twist + 1).min(Small(30000));
            if self.twist == limits.twist_n {
                said.push((Trigger::Twist, speed));
            }
        } else {
            self.twist = Small::ZERO;
        }
        self.gravity.step(&now, limits);
        if let Some(trigger) = self.pose.step(self.gravity.down[0], limits) {
            said.push((trigger, speed));
        }
        if off < limits.still_force && speed < limits.still_turn {
            self.still = (self.still + 1).min(Small(30000));
            if self.still == limits.still_n {
                said.push((Trigger::Still, speed));
            }
        } else {
            self.still = Small::ZERO;
        }
        self.button.step(sample.pressed, limits, speed, said);
        if self.cell.step(sample.cell_mv, limits) {
            said.push((Trigger::BatteryLow, speed));
        }
    }
}

/// Free fall: light, and steady about its own mean. Nothing held in a hand is both for long.
#[derive(Clone, Debug, Default)]
struct Fall {
    /// Mean force over some 40 ms, 64 times.
    mean: [Small; 3],
    so_far: Small,
    /// Samples left in which an impact is a landing.
    armed: Small,
}

impl Fall {
    /// How far the force is from its mean, the largest component.
    fn step(&mut self, now: &Reading, limits: &Limits) -> Small {
        let mut off = Small::ZERO;
        for (mean, &force) in self.mean.iter_mut().zip(&now.force) {
            let apart = force - (*mean >> 6);
            *mean += apart << limits.mean_gain;
            off = off.max(apart.abs());
        }
        if now.force2 < limits.fall_force2 && off < limits.fall_off {
            self.so_far = (self.so_far + 1).min(Small(30000));
            if self.so_far == limits.fall_n {
                self.armed = Small(limits.landing_n);
            }
        } else {
            self.so_far = Small::ZERO;
            if self.armed > 0 {
                self.armed -= Small(1);
            }
        }
        off
    }
}

/// Impacts: the difference of two samples stands out of what the motion itself makes.
#[derive(Clone, Debug, Default)]
struct Strike {
    last: [Small; 3],
    /// Running mean of the jerk, 256 times.
    mean: Small,
    /// Samples left to look for the peak, then samples left in which another is the same.
    peak_left: Small,
    rest_left: Small,
    peak: Small,
}

impl Strike {
    fn step(&mut self, now: &Reading, falling: bool, limits: &Limits, said: &mut Vec<Said>) {
        let [x, y, z] = now.force;
        let [a, b, c] = self.last;
        self.last = now.force;
        let jerk = magnitude([(x - a) >> 3, (y - b) >> 3, (z - c) >> 3]);
        if self.peak_left > 0 {
            self.peak = self.peak.max(jerk);
            self.peak_left -= Small(1);
            if self.peak_left == 0 {
                let landed = falling && limits.drops;
                self.rest_left = Small(if landed { limits.landed_n } else { limits.rest_n });
                said.push((if landed { Trigger::Dropped } else { Trigger::Strike }, self.peak.0));
            }
        } else if self.rest_left > 0 {
            self.rest_left -= Small(1);
        } else if jerk > limits.strike_on && jerk << 8 > self.mean * limits.strike_ratio {
            self.peak_left = Small(2);
            self.peak = jerk;
        }
        let apart = (jerk << 8) - self.mean;
        self.mean += apart >> (if apart > 0 { limits.strike_attack } else { limits.strike_release });
    }
}

/// Which way is up, and how restless the hand is about it.
#[derive(Clone, Debug)]
struct Gravity {
    /// Gravity's reaction, 16384 a g.
    down: [Small; 3],
    /// Mean over some 1.3 s of the force beyond gravity, 256 times 256 a g.
    unrest: Small,
}

impl Gravity {
    fn begin(&mut self, now: &Reading) {
        // Between 0.71 and 1.41 g: held, not thrown.
        if now.force2 > 32768 && now.force2 < 131_072 {
            self.down = now.force.map(|f| f << 3);
        }
    }

    fn unrest(&mut self, now: &Reading, limits: &Limits) -> Small {
        let [x, y, z] = now.force;
        let [a, b, c] = self.down.map(|d| d >> 3);
        let beyond = magnitude([(x - a) >> 3, (y - b) >> 3, (z - c) >> 3]);
        self.unrest += ((beyond << 8) - self.unrest) >> limits.unrest_shift;
        self.unrest
    }

    fn step(&mut self, now: &Reading, limits: &Limits) {
        let [x, y, z] = self.down;
        let [p, q, r] = now.rate.map(|w| w >> 2);
        // What stands still in the world turns the other way in the prop: dg = -(w x g) dt.
        // Rounded, or a floor of every sample would turn it by degrees a second.
        let turn = |a: Small| ((a >> 8) * limits.turn_gain + 32768) >> 16;
        let mut down = [x + turn(r * y - q * z), y + turn(p * z - r * x), z + turn(q * x - p * y)];
        // 0.85 to 1.15 g and below 120 degrees a second: what the sensor feels is gravity.
        if now.force2 > 47349 && now.force2 < 86666 && now.turn2 < 15099 {
            for (d, &force) in down.iter_mut().zip(&now.force) {
                *d += ((force << 3) - *d) >> limits.pull_shift;
            }
        }
        let long2 = down.map(|d| (d >> 3).squared()).into_iter().fold(Small::ZERO, |sum, d| sum + d) >> 8;
        // One step of Newton's towards 1/sqrt, near enough to 1 for that.
        let scale = (Small(49152) - long2) >> 1;
        self.down = down.map(|d| (d * scale + 8192) >> 14);
    }
}

/// Fast turning across the axis, with a threshold to begin and a lower one to end.
#[derive(Clone, Debug, Default)]
struct Swing {
    on: bool,
    so_far: Small,
}

impl Swing {
    fn step(&mut self, now: &Reading, unrest: Small, limits: &Limits) -> Option<Trigger> {
        let (towards, needed, trigger) = if self.on {
            (now.across2 < limits.swing_off2, limits.swing_off_n, Trigger::SwingEnd)
        } else {
            // Somebody who runs swings the arms: only a hard swing counts then.
            let fast = now.across2 > limits.swing_on2;
            let counts = unrest < limits.unrest_most || now.across2 > limits.swing_hard2;
            (fast && counts, limits.swing_on_n, Trigger::Swing)
        };
        self.so_far = if towards { self.so_far + 1 } else { Small::ZERO };
        if self.so_far < needed {
            return None;
        }
        self.on = !self.on;
        self.so_far = Small::ZERO;
        Some(trigger)
    }
}

/// Where the tip points, once it has pointed there for a while.
#[derive(Clone, Debug, Default)]
struct Pose {
    held: Option<Trigger>,
    tried: Option<Trigger>,
    so_far: Small,
}

impl Pose {
    fn step(&mut self, along: Small, limits: &Limits) -> Option<Trigger> {
        let seen = if along > limits.upright {
            Some(Trigger::TipUp)
        } else if along < -limits.upright {
            Some(Trigger::TipDown)
        } else if along.abs() < limits.level {
            Some(Trigger::Level)
        } else {
            None
        };
        if seen != self.tried {
            self.tried = seen;
            self.so_far = Small::ZERO;
            return None;
        }
        if seen.is_none() || seen == self.held {
            return None;
        }
        self.so_far += Small(1);
        if self.so_far < limits.pose_n {
            return None;
        }
        self.held = seen;
        seen
    }
}

/// A button that bounces.
#[derive(Clone, Debug, Default)]
struct Button {
    sum: Small,
    down: bool,
    held: Small,
}

impl Button {
    fn step(&mut self, pressed: bool, limits: &Limits, speed: i32, said: &mut Vec<Said>) {
        self.sum = if pressed { (self.sum + 1).min(Small(4)) } else { (self.sum - 1).max(Small::ZERO) };
        if self.down {
            self.held = (self.held + 1).min(Small(30000));
            if self.held == limits.long_n {
                said.push((Trigger::LongPress, speed));
            }
            if self.sum == 0 {
                self.down = false;
                if self.held < limits.short_n {
                    said.push((Trigger::ShortPress, speed));
                }
            }
        } else if self.sum == 4 {
            self.down = true;
            self.held = Small::ZERO;
        }
    }
}

/// The cell, averaged, since it sags while the light is bright.
#[derive(Clone, Debug, Default)]
struct Cell {
    /// Mean, 256 times.
    mean: Small,
    low: bool,
    empty: bool,
}

impl Cell {
    /// Whether it has become low just now.
    fn step(&mut self, cell_mv: u16, limits: &Limits) -> bool {
        let now = Small(i32::from(cell_mv)) << 8;
        self.mean = if self.mean == 0 { now } else { self.mean + ((now - self.mean) >> limits.cell_shift) };
        let mean = self.mean >> 8;
        // A cell recovers when the light goes out; 100 mV more is a charged one.
        self.empty = if self.empty { mean < limits.empty_mv + 100 } else { mean < limits.empty_mv };
        let was = self.low;
        self.low = if was { mean < limits.low_mv + 100 } else { mean < limits.low_mv };
        self.low && !was
    }
}
