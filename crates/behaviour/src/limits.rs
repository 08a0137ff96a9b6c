//! What counts as what: thresholds as the maker would say them, and the counts a board compares with.

use thiserror::Error;

/// Samples a second that the engine runs at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// 200 samples a second, frames at 50.
    Hz200,
    /// 400 samples a second, frames at 50; short strikes are missed less.
    Hz400,
}

impl Pace {
    /// Samples a second.
    pub fn hz(self) -> i32 {
        match self {
            Pace::Hz200 => 200,
            Pace::Hz400 => 400,
        }
    }

    /// Samples from frame to frame.
    pub fn frame_every(self) -> i32 {
        self.hz() / FRAMES_A_SECOND
    }
}

/// Frames a second.
pub const FRAMES_A_SECOND: i32 = 50;

/// Thresholds of the detectors. The defaults were found on simulated motions (common practice, no source).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Thresholds {
    /// Rate across the axis at which a swing begins, degrees a second.
    pub swing_dps: u16,
    /// Rate at which it has ended, degrees a second.
    pub swing_off_dps: u16,
    /// Rate that counts also while somebody runs, degrees a second.
    pub swing_hard_dps: u16,
    /// How long a swing takes to be one, milliseconds.
    pub swing_ms: u16,
    /// Mean force beyond gravity above which somebody is taken to run, thousandths of a g.
    pub running_mg: u16,
    /// Change of force from sample to sample that is a strike, thousandths of a g.
    pub strike_mg: u16,
    /// And how many times its running mean, at least.
    pub strike_ratio: u16,
    /// How long after a strike no other one counts, milliseconds.
    pub strike_rest_ms: u16,
    /// Rate about the axis that is a twist, degrees a second.
    pub twist_dps: u16,
    /// How long, milliseconds.
    pub twist_ms: u16,
    /// How far from the vertical tip up and tip down reach, degrees.
    pub upright_deg: u16,
    /// How far from the horizontal level reaches, degrees.
    pub level_deg: u16,
    /// How long a pose is held, milliseconds.
    pub pose_ms: u16,
    /// How long still is, milliseconds.
    pub still_ms: u16,
    /// Whether falls are looked for: light throws look like them.
    pub drops: bool,
    /// A press below this is short, milliseconds.
    pub short_ms: u16,
    /// A press is long from here on, milliseconds.
    pub long_ms: u16,
    /// Voltage of a cell below which the light is dimmed, millivolts.
    pub low_mv: u16,
    /// Voltage of a cell below which the prop goes dark and stays so until it has 100 mV more, millivolts.
    pub empty_mv: u16,
}

impl Default for Thresholds {
    fn default() -> Thresholds {
        Thresholds {
            swing_dps: 400,
            swing_off_dps: 200,
            swing_hard_dps: 1000,
            swing_ms: 25,
            running_mg: 1350,
            strike_mg: 2500,
            strike_ratio: 5,
            strike_rest_ms: 100,
            twist_dps: 300,
            twist_ms: 100,
            upright_deg: 35,
            level_deg: 15,
            pose_ms: 300,
            still_ms: 2000,
            drops: false,
            short_ms: 500,
            long_ms: 800,
            low_mv: 3400,
            empty_mv: 3200,
        }
    }
}

/// A threshold that no sensor, hand or cell could serve.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum ThresholdError {
    /// A value is out of its range.
    #[error("{name} is {value}; give {least} to {most}")]
    Range {
        /// The field of [`Thresholds`].
        name: &'static str,
        /// What it was.
        value: u16,
        /// Least sensible.
        least: u16,
        /// Most sensible.
        most: u16,
    },
    /// Two values are the wrong way round.
    #[error("{lower} must be below {upper}")]
    Order {
        /// The field that must be lower.
        lower: &'static str,
        /// The field that must be higher.
        upper: &'static str,
    },
}

/// Thresholds as counts.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Limits {
    pub(crate) strike_on: i32,
    pub(crate) strike_ratio: i32,
    pub(crate) strike_attack: i32,
    pub(crate) strike_release: i32,
    pub(crate) rest_n: i32,
    pub(crate) landed_n: i32,
    pub(crate) landing_n: i32,
    pub(crate) drops: bool,
    pub(crate) fall_off: i32,
    pub(crate) fall_force2: i32,
    pub(crate) fall_n: i32,
    pub(crate) mean_gain: i32,
    pub(crate) unrest_shift: i32,
    pub(crate) unrest_most: i32,
    pub(crate) swing_on2: i32,
    pub(crate) swing_off2: i32,
    pub(crate) swing_hard2: i32,
    pub(crate) swing_on_n: i32,
    pub(crate) swing_off_n: i32,
    pub(crate) twist_on: i32,
    pub(crate) twist_n: i32,
    pub(crate) turn_gain: i32,
    pub(crate) pull_shift: i32,
    pub(crate) upright: i32,
    pub(crate) level: i32,
    pub(crate) pose_n: i32,
    pub(crate) still_force: i32,
    pub(crate) still_turn: i32,
    pub(crate) still_n: i32,
    pub(crate) short_n: i32,
    pub(crate) long_n: i32,
    pub(crate) cell_shift: i32,
    pub(crate) low_mv: i32,
    pub(crate) empty_mv: i32,
}

impl Limits {
    /// # Errors
    /// All values out of range or order.
    pub(crate) fn new(t: &Thresholds, pace: Pace) -> Result<Limits, Vec<ThresholdError>> {
        check(t)?;
        let hz = pace.hz();
        let samples = |ms: u16| ((i32::from(ms) * hz + 500) / 1000).max(1);
        // 1.024 counts a degree per second, squared in whole numbers.
        let turn = |dps: u16| i32::from(dps) * 128 / 125;
        let turn2 = |dps: u16| turn(dps) * turn(dps);
        // Running means last as long at either pace.
        let slower = if pace == Pace::Hz400 { 1 } else { 0 };
        Ok(Limits {
            strike_on: i32::from(t.strike_mg) * 256 / 1000,
            strike_ratio: i32::from(t.strike_ratio),
            strike_attack: 5 + slower,
            strike_release: 6 + slower,
            rest_n: samples(t.strike_rest_ms),
            landed_n: samples(600),
            landing_n: samples(300),
            drops: t.drops,
            fall_off: 164,
            fall_force2: 192 * 192,
            fall_n: samples(110),
            mean_gain: 3 - slower,
            unrest_shift: 8 + slower,
            unrest_most: i32::from(t.running_mg) * 256 / 1000 * 256,
            swing_on2: turn2(t.swing_dps),
            swing_off2: turn2(t.swing_off_dps),
            swing_hard2: turn2(t.swing_hard_dps),
            swing_on_n: samples(t.swing_ms),
            swing_off_n: samples(80),
            twist_on: turn(t.twist_dps),
            twist_n: samples(t.twist_ms),
            // Rate counts by 4, to radians a sample, 2^24 times: 4/16.384 * pi/180 / hz * 2^24.
            turn_gain: if pace == Pace::Hz400 { 179 } else { 357 },
            pull_shift: 6 + slower,
            upright: cosine(t.upright_deg),
            level: cosine(90 - t.level_deg),
            pose_n: samples(t.pose_ms),
            still_force: 123,
            still_turn: 20,
            still_n: samples(t.still_ms),
            short_n: samples(t.short_ms),
            long_n: samples(t.long_ms),
            cell_shift: 8 + slower,
            low_mv: i32::from(t.low_mv),
            empty_mv: i32::from(t.empty_mv),
        })
    }
}

/// 16384 times the cosine of an angle below 90 degrees. Settings are made before the prop runs, and may use fractions.
fn cosine(deg: u16) -> i32 {
    libm::round(16384.0 * libm::cos(f64::from(deg).to_radians())) as i32
}

fn check(t: &Thresholds) -> Result<(), Vec<ThresholdError>> {
    let ranges = [
        ("swing_dps", t.swing_dps, 100, 1900),
        ("swing_off_dps", t.swing_off_dps, 50, 1500),
        ("swing_hard_dps", t.swing_hard_dps, 100, 1950),
        ("swing_ms", t.swing_ms, 5, 500),
        ("running_mg", t.running_mg, 500, 8000),
        ("strike_mg", t.strike_mg, 500, 16000),
        ("strike_ratio", t.strike_ratio, 1, 20),
        ("strike_rest_ms", t.strike_rest_ms, 20, 2000),
        ("twist_dps", t.twist_dps, 100, 1900),
        ("twist_ms", t.twist_ms, 20, 2000),
        ("upright_deg", t.upright_deg, 5, 60),
        ("level_deg", t.level_deg, 5, 60),
        ("pose_ms", t.pose_ms, 50, 5000),
        ("still_ms", t.still_ms, 200, 60000),
        ("short_ms", t.short_ms, 50, 5000),
        ("long_ms", t.long_ms, 100, 10000),
        ("low_mv", t.low_mv, 1000, 4500),
        ("empty_mv", t.empty_mv, 900, 4400),
    ];
    let mut faults: Vec<ThresholdError> = ranges
        .into_iter()
        .filter(|&(_, value, least, most)| !(least..=most).contains(&value))
        .map(|(name, value, least, most)| ThresholdError::Range { name, value, least, most })
        .collect();
    let orders = [
        ("swing_off_dps", t.swing_off_dps, "swing_dps", t.swing_dps),
        ("swing_dps", t.swing_dps, "swing_hard_dps", t.swing_hard_dps),
        ("short_ms", t.short_ms, "long_ms", t.long_ms),
        ("empty_mv", t.empty_mv, "low_mv", t.low_mv),
    ];
    for (lower, low, upper, high) in orders {
        if low >= high {
            faults.push(ThresholdError::Order { lower, upper });
        }
    }
    if u32::from(t.upright_deg) + u32::from(t.level_deg) > 90 {
        faults.push(ThresholdError::Order { lower: "level_deg", upper: "90 - upright_deg" });
    }
    if faults.is_empty() { Ok(()) } else { Err(faults) }
}
