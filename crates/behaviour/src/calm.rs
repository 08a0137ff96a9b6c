//! The flash limiter: no place on the strip goes bright and dark often enough to harm.
//!
//! WCAG 2.2, success criterion 2.3.1, and ITU-R BT.1702-3 allow three flashes in any second, a flash being a pair of
//! opposing changes of relative luminance by a tenth and more with the darker state below 0.80, or such a pair of
//! saturated red. Here every run of pixels that is seen together, and the strip as a whole, has a purse: a change costs a
//! quarter of a second, and at most two are in it, so that any second sees five changes at most. A frame that would
//! cost more than is there keeps the earlier values of the pixels in question. Full white of the strip counts as luminance 1.

use std::ops::Range;

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

/// What each run of pixels last did: a run from each pixel on, and the whole strip last.
#[derive(Clone, Debug)]
struct Watch {
    window: usize,
    /// Of runs of a window, and of the whole strip.
    near: Measure,
    whole: Measure,
    cost: i32,
    most: i32,
    /// Sum of each run in the frame looked at.
    sums: Vec<i32>,
    /// The brightest since the last rise, or the darkest since the last fall.
    extreme: Vec<i32>,
    /// 1 after a rise, 0 after a fall.
    risen: Vec<i32>,
    purse: Vec<i32>,
    /// Whether some purse cannot pay a change: else nothing is to be held.
    poor: bool,
    /// Whether all is as in the beginning: dark, and every purse full. A dark frame leaves it so.
    fresh: bool,
}

/// What is a change of a run's sum, and what its darker state must be below.
#[derive(Clone, Copy, Debug)]
struct Measure {
    change: i32,
    bright: i32,
}

impl Watch {
    fn new(pixels: usize, window: usize, change: i32, bright: i32, cost: i32) -> Watch {
        let runs = pixels - window + 2;
        let most = 2 * cost;
        let measure = |wide: usize| Measure { change: change * wide as i32, bright: bright * wide as i32 };
        Watch {
            window,
            near: measure(window),
            whole: measure(pixels),
            cost,
            most,
            sums: vec![0; runs],
            extreme: vec![0; runs],
            risen: vec![0; runs],
            purse: vec![most; runs],
            poor: false,
            fresh: true,
        }
    }

    /// Sums of all runs of some values.
    fn sum(&mut self, values: &[i32]) {
        let window = self.window;
        let mut sum: i32 = values[..window].iter().sum();
        self.sums[0] = sum;
        for ((run, old), new) in self.sums[1..].iter_mut().zip(values).zip(&values[window..]) {
            sum += new - old;
            *run = sum;
        }
        let last = self.sums.len() - 1;
        self.sums[last] = values.iter().sum();
    }

    /// Whether run `k` changes in the frame looked at.
    fn changes(&self, k: usize) -> bool {
        let Measure { change, bright } = if k + 1 < self.sums.len() { self.near } else { self.whole };
        let (sum, extreme) = (self.sums[k], self.extreme[k]);
        if self.risen[k] > 0 {
            extreme - sum >= change && sum < bright
        } else {
            sum - extreme >= change && extreme < bright
        }
    }

    /// Marks in `hold` the pixels of runs that cannot pay for what they do; whether there are any.
    fn scan(&mut self, values: &[i32], hold: &mut [u8]) -> bool {
        if !self.poor {
            return false;
        }
        self.sum(values);
        let mut held = false;
        for k in 0..self.purse.len() {
            if self.purse[k] < self.cost && self.changes(k) {
                let whole = k == self.purse.len() - 1;
                let span = if whole { 0..values.len() } else { k..k + self.window };
                hold[span].fill(1);
                held = true;
            }
        }
        held
    }

    /// Keeps what was shown, and pays for it. `dark` if all values are 0.
    fn commit(&mut self, values: &[i32], dark: bool) {
        if self.fresh && dark {
            return;
        }
        self.sum(values);
        let last = self.sums.len() - 1;
        let (least, off) = self.pay(0..last, self.near);
        let (whole_least, whole_off) = self.pay(last..last + 1, self.whole);
        let least = least.min(whole_least);
        self.poor = least < self.cost;
        self.fresh = least == self.most && (off | whole_off) == 0;
    }

    /// Pays for some runs, without a branch, so that several are done at once: the least that is left in a purse, and what is not
    /// 0 unless all of them are as in the beginning.
    fn pay(&mut self, runs: Range<usize>, measure: Measure) -> (i32, i32) {
        let Measure { change, bright } = measure;
        let (cost, most) = (self.cost, self.most);
        let (mut least, mut off) = (most, 0);
        let states = self.extreme[runs.clone()].iter_mut().zip(&mut self.risen[runs.clone()]);
        for (((extreme, risen), purse), &sum) in states.zip(&mut self.purse[runs.clone()]).zip(&self.sums[runs]) {
            let up = *risen != 0;
            let apart = if up { *extreme - sum } else { sum - *extreme };
            let darker = if up { sum } else { *extreme };
            let pays = i32::from(apart >= change) & i32::from(darker < bright);
            // Beyond the last extreme, on the same way.
            let goes_on = i32::from(apart <= 0);
            *extreme = if (pays | goes_on) != 0 { sum } else { *extreme };
            *risen ^= pays;
            *purse = (*purse + 1 - cost * pays).clamp(0, most);
            least = least.min(*purse);
            off |= *extreme | *risen;
        }
        (least, off)
    }
}

/// Whether a frame has no light, and no saturated red.
#[derive(Clone, Copy, Debug)]
struct Dark {
    light: bool,
    red: bool,
}

/// The limiter of one strip.
#[derive(Clone, Debug)]
pub(crate) struct Calm {
    luminance: Vec<i32>,
    red: Vec<i32>,
    /// Pixels to be held; none between frames.
    hold: Vec<u8>,
    light: Watch,
    reds: Watch,
}

impl Calm {
    pub(crate) fn new(pixels: usize, window: usize, frames_a_second: i32) -> Calm {
        let window = window.min(pixels);
        // Price of a change, frames: a quarter of a second; two are in a purse at most.
        let cost = (frames_a_second + 3) / 4;
        Calm {
            luminance: vec![0; pixels],
            red: vec![0; pixels],
            hold: vec![0; pixels],
            light: Watch::new(pixels, window, CHANGE, BRIGHT, cost),
            reds: Watch::new(pixels, window, RED_CHANGE, RED_BRIGHT, cost),
        }
    }

    /// Puts the earlier values of `shown` back into `frame` where the new ones would flash too often; whether anything was
    /// held. Never more than `budget` in all, if `shown` keeps to it.
    pub(crate) fn limit(&mut self, frame: &mut [u8], shown: &[u8], budget: i32) -> bool {
        let mut any = false;
        let mut dark = self.measure(frame);
        for round in 0..5 {
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
            dark = self.measure(frame);
        }
        if any {
            self.hold.fill(0);
            if crate::paint::total(frame) > budget {
                frame.copy_from_slice(shown);
                dark = self.measure(frame);
            }
        }
        self.light.commit(&self.luminance, dark.light);
        self.reds.commit(&self.red, dark.red);
        any
    }

    /// Luminance and saturated red of each pixel; whether there is none.
    fn measure(&mut self, frame: &[u8]) -> Dark {
        // Neighbours are often alike.
        let (mut last, mut light, mut red) = ([0; 3], 0, 0);
        let (mut lights, mut reds) = (0, 0);
        let values = self.luminance.iter_mut().zip(&mut self.red);
        for ((of_light, of_red), &pixel) in values.zip(frame.as_chunks().0) {
            if pixel != last {
                last = pixel;
                let [r, g, b] = pixel.map(i32::from);
                light = 54 * r + 183 * g + 19 * b;
                // Saturated: four fifths of it are red.
                red = if r >= 4 * (g + b) { r - g - b } else { 0 };
                lights |= light;
                reds |= red;
            }
            (*of_light, *of_red) = (light, red);
        }
        Dark { light: lights == 0, red: reds == 0 }
    }

    fn scan(&mut self) -> bool {
        let bright = self.light.scan(&self.luminance, &mut self.hold);
        self.reds.scan(&self.red, &mut self.hold) || bright
    }
}
