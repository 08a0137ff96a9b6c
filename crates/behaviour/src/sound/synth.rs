//! Sounds from physics and arithmetic: a hum, a rush of air, a struck bar, a rise, a fall, a crackle.
//!
//! All take samples a second; fractions are the same on every machine since transcendental functions come from `libm`.

use crate::random::Random;
use std::f64::consts::{PI, TAU};

/// Below this a small loudspeaker gives little, Hz.
const SPEAKER_HZ: f64 = 400.0;
/// What sample peaks are brought to: 3 dB below full scale, which leaves room for peaks between samples.
const PEAK: f64 = 0.7;

/// As samples of 16 bits with that peak; silence stays silent.
fn finished(sound: &[f64]) -> Vec<i16> {
    let most = sound.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    let scale = if most > 0.0 { PEAK * 32767.0 / most } else { 0.0 };
    sound.iter().map(|v| libm::round(v * scale) as i16).collect()
}

/// How many samples a time takes; at least two.
fn count(lasts_s: f64, hz: u32) -> usize {
    (libm::round(lasts_s.clamp(0.0, 60.0) * f64::from(hz)) as usize).max(2)
}

/// A high-pass of second order without a resonance (Butterworth) at the loudspeaker's corner, over a sound in place.
fn without_bass(sound: &mut [f64], hz: u32) {
    let k = libm::tan(PI * SPEAKER_HZ / f64::from(hz));
    let over = 1.0 / (1.0 + std::f64::consts::SQRT_2 * k + k * k);
    let (a1, a2) = (2.0 * (k * k - 1.0) * over, (1.0 - std::f64::consts::SQRT_2 * k + k * k) * over);
    let [mut x1, mut x2, mut y1, mut y2] = [0.0; 4];
    for value in sound {
        let x = *value;
        let y = over * (x - 2.0 * x1 + x2) - a1 * y1 - a2 * y2;
        (x2, x1, y2, y1) = (x1, x, y1, y);
        *value = y;
    }
}

/// Ends without a click: the last `fade_s` go down along half a cosine.
fn let_go(sound: &mut [f64], fade_s: f64, hz: u32) {
    let fade = count(fade_s, hz).min(sound.len());
    let from = sound.len() - fade;
    for (k, value) in sound[from..].iter_mut().enumerate() {
        *value *= 0.5 + 0.5 * libm::cos(PI * (k + 1) as f64 / fade as f64);
    }
}

/// A hum of about `pitch_hz` that goes round without a seam: every partial makes a whole number of turns in `lasts_s`, and
/// has a neighbour one turn faster, so that it beats once a round.
pub fn hum(pitch_hz: f64, lasts_s: f64, hz: u32) -> Vec<i16> {
    let n = count(lasts_s, hz);
    let round_s = n as f64 / f64::from(hz);
    let turns = libm::round(pitch_hz * round_s).max(1.0);
    let mut sound = vec![0.0; n];
    for partial in 1..=48 {
        let k = f64::from(partial);
        let here_hz = turns * k / round_s;
        if here_hz > 0.4 * f64::from(hz) {
            break;
        }
        let ratio = here_hz / SPEAKER_HZ;
        // The gain of two Butterworth high-passes of second order, since most of a hum lies low.
        let through = libm::pow(ratio, 4.0) / (1.0 + libm::pow(ratio, 4.0));
        let strength = through * libm::pow(k, -0.8) * if partial % 2 == 0 { 0.6 } else { 1.0 };
        for (beside, share) in [(0.0, 1.0), (1.0, 0.35)] {
            let w = TAU * (turns * k + beside) / n as f64;
            for (i, value) in sound.iter_mut().enumerate() {
                *value += share * strength * libm::sin(w * i as f64 + k * (k + beside));
            }
        }
    }
    finished(&sound)
}

/// What a prop is to the air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// From the hand to where most of the sound is made, metres.
    pub reach_m: f64,
    /// Thickness of the edge that vortices leave, metres.
    pub edge_m: f64,
}

/// The rush of air along a motion: turning rates (degrees a second, `rates_hz` of them a second) to noise round the
/// frequency at which vortices leave a bar (Strouhal number 0.2), its pressure as the cube of the speed (a dipole: Curle
/// 1955). Lasts as long as the rates.
pub fn rush(rates_dps: &[f64], rates_hz: f64, air: Air, hz: u32, seed: u64) -> Vec<i16> {
    let rates_hz = rates_hz.max(1.0);
    let n = count(rates_dps.len() as f64 / rates_hz, hz);
    let mut random = Random::new(seed);
    let (mut low, mut band) = (0.0, 0.0);
    let mut sound: Vec<f64> = (0..n)
        .map(|i| {
            let at = i as f64 / f64::from(hz) * rates_hz;
            let k = at as usize;
            let here = rates_dps.get(k).copied().unwrap_or(0.0);
            let next = rates_dps.get(k.saturating_add(1)).copied().unwrap_or(here);
            let speed = (here + (next - here) * (at - k as f64)).abs().min(5000.0).to_radians() * air.reach_m;
            let centre = (0.2 * speed / air.edge_m.max(0.001)).max(60.0).min(0.3 * f64::from(hz));
            // A state-variable filter in trapezoidal form, so that its centre may move.
            let g = libm::tan(PI * centre / f64::from(hz));
            let damping = 1.0 / 1.2;
            let v3 = random.normal() - low;
            let v1 = (band + g * v3) / (1.0 + g * (g + damping));
            let v2 = low + g * v1;
            (band, low) = (2.0 * v1 - band, 2.0 * v2 - low);
            v1 * damping * speed * speed * speed
        })
        .collect();
    without_bass(&mut sound, hz);
    let_go(&mut sound, 0.02, hz);
    finished(&sound)
}

/// A bar that is struck, free at both ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bar {
    /// Its lowest mode, Hz.
    pub first_hz: f64,
    /// How long the lowest mode takes to die down by 60 dB, seconds; higher ones die sooner.
    pub rings_s: f64,
    /// Where it is struck, a share of its length.
    pub struck_at: f64,
    /// How long hammer and bar touch, milliseconds: longer is duller.
    pub contact_ms: f64,
}

/// Roots of cos x cosh x = 1: bending modes of a free bar (Rayleigh, "The Theory of Sound", § 174). Frequencies go as their
/// squares, 1 : 2.757 : 5.404 : 8.933 ...
const MODES: [f64; 6] = [4.730_040_745, 7.853_204_624, 10.995_607_838, 14.137_165_491, 17.278_759_657, 20.420_352_246];

/// The sound of a struck bar.
pub fn bar(bar: &Bar, lasts_s: f64, hz: u32) -> Vec<i16> {
    let n = count(lasts_s, hz);
    let mut sound = vec![0.0; n];
    let contact_s = (bar.contact_ms / 1000.0).max(1e-5);
    for (k, beta) in MODES.iter().enumerate() {
        let mode_hz = bar.first_hz * (beta / MODES[0]) * (beta / MODES[0]);
        if mode_hz > 0.45 * f64::from(hz) {
            break;
        }
        let x = beta * bar.struck_at.clamp(0.0, 1.0);
        let sigma = (libm::cosh(*beta) - libm::cos(*beta)) / (libm::sinh(*beta) - libm::sin(*beta));
        let shape = libm::cosh(x) + libm::cos(x) - sigma * (libm::sinh(x) + libm::sin(x));
        let strength = shape * of_half_sine(mode_hz * contact_s);
        let dies_s = bar.rings_s / libm::log(1000.0) / (1.0 + 0.35 * (k * k) as f64);
        for (i, value) in sound.iter_mut().enumerate() {
            let t = i as f64 / f64::from(hz);
            // As long as they touch, the sound comes up.
            let attack = if t < contact_s { 0.5 - 0.5 * libm::cos(PI * t / contact_s) } else { 1.0 };
            *value += attack * strength * libm::exp(-t / dies_s) * libm::sin(TAU * mode_hz * t);
        }
    }
    without_bass(&mut sound, hz);
    let_go(&mut sound, 0.02, hz);
    finished(&sound)
}

/// How much of a half-sine push of unit length is at a frequency, 1 at 0.
fn of_half_sine(f: f64) -> f64 {
    let below = 1.0 - 4.0 * f * f;
    if below.abs() < 1e-6 { PI / 4.0 } else { (libm::cos(PI * f) / below).abs() }
}

/// From low to high with an overtone and a fifth; comes up at once and goes out softly.
pub fn rise(lasts_s: f64, hz: u32) -> Vec<i16> {
    sweep(lasts_s, hz, |u| u)
}

/// From high to low.
pub fn fall(lasts_s: f64, hz: u32) -> Vec<i16> {
    sweep(lasts_s, hz, |u| 1.0 - u)
}

fn sweep(lasts_s: f64, hz: u32, height: fn(f64) -> f64) -> Vec<i16> {
    let n = count(lasts_s, hz);
    let mut phase = 0.0;
    let mut sound: Vec<f64> = (0..n)
        .map(|i| {
            let u = i as f64 / n as f64;
            phase += TAU * 260.0 * libm::pow(4.0, height(u)) / f64::from(hz);
            let tone = libm::sin(phase) + 0.5 * libm::sin(2.0 * phase) + 0.3 * libm::sin(3.0 * phase);
            tone * (u * 12.0).min(1.0)
        })
        .collect();
    without_bass(&mut sound, hz);
    let_go(&mut sound, 0.15 * lasts_s, hz);
    finished(&sound)
}

/// Small discharges by chance, `a_second` of them, 0.1 to 5000.
pub fn crackle(lasts_s: f64, a_second: f64, hz: u32, seed: u64) -> Vec<i16> {
    let n = count(lasts_s, hz);
    let often = a_second.max(0.1);
    let mut random = Random::new(seed);
    let mut sound = vec![0.0; n];
    let mut at_s = 0.0;
    loop {
        at_s -= libm::log(1.0 - random.unit()) / often.min(5000.0);
        let from = (at_s * f64::from(hz)) as usize;
        let long = count(random.between(0.001, 0.005), hz);
        if from.saturating_add(long) >= n {
            break;
        }
        let strength = libm::exp(0.7 * random.normal());
        for (k, value) in sound[from..from + long].iter_mut().enumerate() {
            let u = k as f64 / long as f64;
            // It comes up within an eighth, or the peak between samples would be far above them.
            let shape = (8.0 * u).min(1.0) * libm::exp(-4.0 * u) * (1.0 - u);
            *value += strength * shape * random.normal();
        }
    }
    // Twice a mean of neighbours: nothing near half the sample rate.
    for _ in 0..2 {
        let mut last = 0.0;
        for value in &mut sound {
            let here = *value;
            *value = 0.5 * (here + last);
            last = here;
        }
    }
    without_bass(&mut sound, hz);
    let_go(&mut sound, 0.02, hz);
    finished(&sound)
}

/// The starter's sounds, in the order of [`crate::STARTER_SOUNDS`]; 4.6 s in all.
pub fn starter_sounds(hz: u32, seed: u64) -> [Vec<i16>; 6] {
    let rates: Vec<f64> = (0..=45)
        .map(|k| {
            let u = f64::from(k) / 45.0;
            900.0 * 16.0 * u * u * (1.0 - u) * (1.0 - u)
        })
        .collect();
    let knock = Bar { first_hz: 640.0, rings_s: 0.9, struck_at: 0.93, contact_ms: 0.6 };
    [
        hum(96.0, 1.0, hz),
        rush(&rates, 100.0, Air { reach_m: 0.9, edge_m: 0.004 }, hz, seed),
        bar(&knock, 0.9, hz),
        rise(0.6, hz),
        fall(0.8, hz),
        crackle(0.9, 60.0, hz, seed ^ 1),
    ]
}
