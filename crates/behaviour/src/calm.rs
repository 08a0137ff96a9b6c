//! The flash limiter: no place on the strip goes bright and dark often enough to harm.
//!
//! WCAG 2.2, success criterion 2.3.1, and ITU-R BT.1702-3 allow three flashes in any second, a flash being a pair of
//! opposing changes of relative luminance by a tenth and more with the darker state below 0.80, or such a pair of
//! saturated red. Here every run of pixels that is seen together, and the strip as a whole, has a purse: a change costs a
//! quarter of a second, and at most two are in it, so that any second sees five changes at most. A frame that would
//! cost more than is there keeps the earlier values of the pixels in question. Full white of the strip counts as luminance 1.

/// Luminance of a full white pixel; a pixel's is 54 R + 183 G + 19 B (the weights of WCAG's definition by 256).
pub(crate) const WHITE: i32 = 255 * 256;
/// A change is one from 9.5 % on, half a percent below the rule, which leaves room for rounding.
pub(crate) const CHANGE: i32 = WHITE * 95 / 1000;
/// The darker state of a flash is below this, one percent above the rule's 0.80, since the weights are rounded.
pub(crate) const BRIGHT: i32 = WHITE * 81 / 100;
/// A change of saturated red, of 255: WCAG counts from 20/320 of full scale on.
pub(crate) const RED_CHANGE: i32 = 15;
/// No red is too bright to count.
pub(crate) const RED_BRIGHT: i32 = 256;

/// What each run of pixels last did.
#[derive(Clone, Debug)]
struct Watch {
    change: i32,
    bright: i32,
    /// The brightest since the last rise, or the darkest since the last fall.
    extreme: Vec<i32>,
    risen: Vec<u8>,
    purse: Vec<u8>,
}

impl Watch {
    fn new(runs: usize, change: i32, bright: i32, most: i32) -> Watch {
        Watch { change, bright, extreme: vec![0; runs], risen: vec![0; runs], purse: vec![most as u8; runs] }
    }

    /// Whether a value of run `k`, a sum over `wide` pixels, is a change.
    fn changes(&self, k: usize, value: i32, wide: i32) -> bool {
        let (change, bright) = (self.change * wide, self.bright * wide);
        if self.risen[k] > 0 {
            self.extreme[k] - value >= change && value < bright
        } else {
            value - self.extreme[k] >= change && self.extreme[k] < bright
        }
    }

    /// Marks in `hold` the pixels of runs that cannot pay for what they do; whether there are any.
    fn scan(&self, values: &[i32], wide: usize, base: usize, cost: i32, hold: &mut [u8]) -> bool {
        let mut sum: i32 = values[..wide].iter().sum();
        let mut held = false;
        for first in 0..=values.len() - wide {
            if first > 0 {
                sum += values[first + wide - 1] - values[first - 1];
            }
            if i32::from(self.purse[base + first]) < cost && self.changes(base + first, sum, wide as i32) {
                hold[first..first + wide].fill(1);
                held = true;
            }
        }
        held
    }

    /// Keeps what was shown, and pays for it.
    fn commit(&mut self, values: &[i32], wide: usize, base: usize, cost: i32, most: i32) {
        let mut sum: i32 = values[..wide].iter().sum();
        for first in 0..=values.len() - wide {
            if first > 0 {
                sum += values[first + wide - 1] - values[first - 1];
            }
            let k = base + first;
            let mut purse = i32::from(self.purse[k]) + 1;
            if self.changes(k, sum, wide as i32) {
                self.risen[k] ^= 1;
                self.extreme[k] = sum;
                purse -= cost;
            } else if (self.risen[k] > 0) == (sum > self.extreme[k]) {
                self.extreme[k] = sum;
            }
            self.purse[k] = purse.clamp(0, most) as u8;
        }
    }
}

/// The limiter of one strip.
#[derive(Clone, Debug)]
pub(crate) struct Calm {
    window: usize,
    /// Price of a change and the most in a purse, frames.
    cost: i32,
    most: i32,
    luminance: Vec<i32>,
    red: Vec<i32>,
    hold: Vec<u8>,
    light: Watch,
    reds: Watch,
}

impl Calm {
    pub(crate) fn new(pixels: usize, window: usize, frames_a_second: i32) -> Calm {
        let window = window.min(pixels);
        let cost = (frames_a_second + 3) / 4;
        let most = 2 * cost;
        // One run from each pixel on, and the whole strip.
        let runs = pixels - window + 2;
        Calm {
            window,
            cost,
            most,
            luminance: vec![0; pixels],
            red: vec![0; pixels],
            hold: vec![0; pixels],
            light: Watch::new(runs, CHANGE, BRIGHT, most),
            reds: Watch::new(runs, RED_CHANGE, RED_BRIGHT, most),
        }
    }

    /// Puts the earlier values of `shown` back into `frame` where the new ones would flash too often; whether anything was
    /// held. Never more than `budget` in all, if `shown` keeps to it.
    pub(crate) fn limit(&mut self, frame: &mut [u8], shown: &[u8], budget: i32) -> bool {
        let mut any = false;
        self.hold.fill(0);
        for round in 0..5 {
            self.measure(frame);
            if !self.scan() {
                break;
            }
            any = true;
            if round == 4 {
                self.hold.fill(1);
            }
            for (k, _) in self.hold.iter().enumerate().filter(|(_, h)| **h > 0) {
                frame[3 * k..3 * k + 3].copy_from_slice(&shown[3 * k..3 * k + 3]);
            }
        }
        if any && crate::paint::total(frame) > budget {
            frame.copy_from_slice(shown);
        }
        if any {
            self.measure(frame);
        }
        let pixels = self.luminance.len();
        for (watch, values) in [(&mut self.light, &self.luminance), (&mut self.reds, &self.red)] {
            watch.commit(values, self.window, 0, self.cost, self.most);
            watch.commit(values, pixels, pixels - self.window + 1, self.cost, self.most);
        }
        any
    }

    fn measure(&mut self, frame: &[u8]) {
        for (k, pixel) in frame.chunks_exact(3).enumerate() {
            let [r, g, b] = [pixel[0], pixel[1], pixel[2]].map(i32::from);
            self.luminance[k] = 54 * r + 183 * g + 19 * b;
            // Saturated: four fifths of it are red.
            self.red[k] = if r >= 4 * (g + b) { r - g - b } else { 0 };
        }
    }

    fn scan(&mut self) -> bool {
        let pixels = self.luminance.len();
        let mut held = false;
        for (watch, values) in [(&self.light, &self.luminance), (&self.reds, &self.red)] {
            held |= watch.scan(values, self.window, 0, self.cost, &mut self.hold);
            held |= watch.scan(values, pixels, pixels - self.window + 1, self.cost, &mut self.hold);
        }
        held
    }
}
