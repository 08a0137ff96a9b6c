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

/// What each run of pixels last did: a run from each pixel on, and the whole strip last.
#[derive(Clone, Debug)]
struct Watch {
    change: i32,
    bright: i32,
    cost: i32,
    most: i32,
    /// Pixels of each run.
    wide: Vec<i32>,
    /// Its sum in the frame looked at.
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

impl Watch {
    fn new(pixels: usize, window: usize, change: i32, bright: i32, cost: i32) -> Watch {
        let runs = pixels - window + 2;
        let most = 2 * cost;
        let mut wide = vec![window as i32; runs];
        wide[runs - 1] = pixels as i32;
        Watch {
            change,
            bright,
            cost,
            most,
            wide,
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
        let window = self.wide[0] as usize;
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
        let (change, bright) = (self.change * self.wide[k], self.bright * self.wide[k]);
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
                let span = if whole { 0..values.len() } else { k..k + self.wide[k] as usize };
                hold[span].fill(1);
                held = true;
            }
        }
        held
    }

    /// Keeps what was shown, and pays for it. Without a branch, so that several runs are done at once.
    fn commit(&mut self, values: &[i32]) {
        if self.fresh && values.iter().all(|v| *v == 0) {
            return;
        }
        self.sum(values);
        let (change, bright, cost, most) = (self.change, self.bright, self.cost, self.most);
        let (mut least, mut off) = (most, 0);
        let runs = self.extreme.iter_mut().zip(&mut self.risen).zip(&mut self.purse);
        for (((extreme, risen), purse), (&sum, &wide)) in runs.zip(self.sums.iter().zip(&self.wide)) {
            let up = *risen != 0;
            let apart = if up { *extreme - sum } else { sum - *extreme };
            let darker = if up { sum } else { *extreme };
            let pays = i32::from(apart >= change * wide) & i32::from(darker < bright * wide);
            // Beyond the last extreme, on the same way.
            let goes_on = i32::from(apart <= 0);
            *extreme = if (pays | goes_on) != 0 { sum } else { *extreme };
            *risen ^= pays;
            *purse = (*purse + 1 - cost * pays).clamp(0, most);
            least = least.min(*purse);
            off |= *extreme | *risen;
        }
        self.poor = least < cost;
        self.fresh = least == most && off == 0;
    }
}

/// The limiter of one strip.
#[derive(Clone, Debug)]
pub(crate) struct Calm {
    luminance: Vec<i32>,
    red: Vec<i32>,
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
        self.light.commit(&self.luminance);
        self.reds.commit(&self.red);
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
        let bright = self.light.scan(&self.luminance, &mut self.hold);
        self.reds.scan(&self.red, &mut self.hold) || bright
    }
}
