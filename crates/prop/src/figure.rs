//! How a grown person of a height is built: for drawings beside which a prop is seen.
//!
//! Medians of ANSUR II (its public data file: 4082 men and 1986 women, adult soldiers; neither the public at large nor children), each
//! as a share of the stature, the mean of both.

/// Measures of a person, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// Stature.
    pub height_mm: f64,
    /// Shoulder (acromial) height.
    pub shoulder_mm: f64,
    /// Crotch height.
    pub crotch_mm: f64,
    /// From fingertip to fingertip, arms spread.
    pub span_mm: f64,
    /// Between the points of the shoulders (biacromial breadth).
    pub between_shoulders_mm: f64,
    /// Over the upper arms (bideltoid breadth).
    pub broad_mm: f64,
    /// Length of the hand.
    pub hand_mm: f64,
    /// Breadth of the hand.
    pub palm_mm: f64,
    /// Round the head.
    pub head_round_mm: f64,
    /// Round the wrist.
    pub wrist_round_mm: f64,
}

/// Medians, mm: men and women.
const STATURE: [f64; 2] = [1755.0, 1626.0];
const SHOULDER: [f64; 2] = [1439.0, 1332.0];
const CROTCH: [f64; 2] = [845.0, 780.0];
const SPAN: [f64; 2] = [1812.0, 1657.0];
const BIACROMIAL: [f64; 2] = [415.0, 365.0];
const BIDELTOID: [f64; 2] = [509.0, 450.0];
const HAND_LENGTH: [f64; 2] = [193.0, 180.0];
const HAND_BREADTH: [f64; 2] = [88.0, 78.0];
const HEAD: [f64; 2] = [574.0, 560.0];
const WRIST: [f64; 2] = [176.0, 154.0];

/// Who is drawn where nobody is named: as tall as the medians' mean.
pub const ANYBODY_MM: f64 = 0.5 * (STATURE[0] + STATURE[1]);
/// Where the measures are from.
pub const SOURCE: &str = "ANSUR II, medians of men and women, adult soldiers, as shares of the stature";

impl Figure {
    /// A person of this stature, mm.
    pub fn of(height_mm: f64) -> Figure {
        let share = |of: [f64; 2]| 0.5 * (of[0] / STATURE[0] + of[1] / STATURE[1]) * height_mm;
        Figure {
            height_mm,
            shoulder_mm: share(SHOULDER),
            crotch_mm: share(CROTCH),
            span_mm: share(SPAN),
            between_shoulders_mm: share(BIACROMIAL),
            broad_mm: share(BIDELTOID),
            hand_mm: share(HAND_LENGTH),
            palm_mm: share(HAND_BREADTH),
            head_round_mm: share(HEAD),
            wrist_round_mm: share(WRIST),
        }
    }

    /// From the shoulder's point to the fingertips: half of what the span has beyond the shoulders, mm.
    pub fn arm_mm(&self) -> f64 {
        0.5 * (self.span_mm - self.between_shoulders_mm)
    }

    /// As high as a thing held overhead by a straight arm is gripped, mm: half a hand below the fingertips.
    pub fn reach_mm(&self) -> f64 {
        self.shoulder_mm + self.arm_mm() - 0.5 * self.hand_mm
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Stature, shoulder, crotch, span, biacromial, bideltoid, hand length, hand breadth, head, wrist: percentiles 5, 50, 95 of ANSUR
    /// II's public data file.
    const MEN: [[f64; 10]; 3] = [
        [1648.0, 1339.0, 771.0, 1680.0, 384.0, 459.0, 177.0, 81.0, 548.0, 162.0],
        [1755.0, 1439.0, 845.0, 1812.0, 415.0, 509.0, 193.0, 88.0, 574.0, 176.0],
        [1870.0, 1546.0, 925.0, 1957.0, 447.0, 567.0, 210.0, 96.0, 601.0, 191.0],
    ];
    const WOMEN: [[f64; 10]; 3] = [
        [1525.0, 1242.0, 712.0, 1529.0, 335.0, 406.0, 165.0, 72.0, 532.0, 142.0],
        [1626.0, 1332.0, 780.0, 1657.0, 365.0, 450.0, 180.0, 78.0, 560.0, 154.0],
        [1740.0, 1434.0, 857.0, 1803.0, 396.0, 499.0, 199.0, 85.0, 597.0, 168.0],
    ];

    fn measures(f: &Figure) -> [f64; 10] {
        [
            f.height_mm,
            f.shoulder_mm,
            f.crotch_mm,
            f.span_mm,
            f.between_shoulders_mm,
            f.broad_mm,
            f.hand_mm,
            f.palm_mm,
            f.head_round_mm,
            f.wrist_round_mm,
        ]
    }

    /// Somebody as tall as a percentile is built like it: heights, span and hand within 4 %, breadths and girths, which go less with
    /// the stature, within 8 %.
    #[test]
    fn a_figure_is_built_as_the_tables_say() {
        for row in MEN.iter().chain(&WOMEN) {
            for (k, (found, said)) in measures(&Figure::of(row[0])).iter().zip(row).enumerate() {
                let limit = if matches!(k, 0..=3 | 6) { 0.04 } else { 0.08 };
                assert!((found / said - 1.0).abs() < limit, "measure {k} of {}: {found:.0}, the table {said}", row[0]);
            }
        }
    }

    /// At a median stature every measure lies between the same sex's 5th and 95th percentile.
    #[test]
    fn a_median_figure_lies_within_the_bands() {
        for [low, median, high] in [MEN, WOMEN] {
            let found = measures(&Figure::of(median[0]));
            assert!((0..10).all(|k| low[k] < found[k] && found[k] < high[k]), "{found:?}");
        }
    }

    /// Spread arms reach as far as the span: twice an arm and the shoulders.
    #[test]
    fn arms_and_shoulders_make_the_span() {
        let f = Figure::of(1700.0);
        assert!((2.0 * f.arm_mm() + f.between_shoulders_mm - f.span_mm).abs() < 1e-9);
        assert!(f.reach_mm() > f.height_mm * 1.1 && f.reach_mm() < f.height_mm * 1.25);
    }
}
