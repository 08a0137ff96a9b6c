//! What an eye makes out: how fine a pattern is from where one stands, and how faint it may be and still be seen.

use crate::OpticsError;
use crate::medium::within;
use std::f64::consts::PI;

/// Least light over most that reads as even, and below which it reads as uneven: lighting research of 1931, as quoted in
/// Signs of the Times, May 2014, p. 32.
pub const READS_EVEN: f64 = 1.0 / 1.5;

/// See [`READS_EVEN`].
pub const READS_UNEVEN: f64 = 1.0 / 2.0;

/// How many times the laboratory's threshold a ripple may be before people remark on it: seldom below the first, always
/// beyond the second. Common practice, no source.
pub const REMARKED: [f64; 2] = [5.0, 20.0];

/// How fine a pattern of that pitch is in the middle of the view from that distance, cycles per degree.
///
/// # Errors
///
/// A pitch or distance that is not above 0 (a micrometre) to 1 km.
pub fn cycles_per_degree(pitch_mm: f64, distance_mm: f64) -> Result<f64, OpticsError> {
    within("pitch in mm", pitch_mm, 1e-3, 1e6)?;
    within("viewing distance in mm", distance_mm, 1e-3, 1e6)?;
    Ok(distance_mm / pitch_mm * PI / 180.0)
}

/// The faintest ripple that a standard observer sees with both eyes, as a Michelson contrast: of a sine that fine, at that
/// mean luminance, over a square field that wide. Above 1 there is none that is faint enough.
///
/// Barten, *Contrast Sensitivity of the Human Eye and its Effects on Image Quality*, SPIE 1999, chapter 3, with the pupil
/// of his formula 3.9 and the constants of his standard observer. A laboratory's threshold: see [`REMARKED`].
///
/// # Errors
///
/// A fineness that is not 0.01 to 100 cycles per degree, a luminance not 0.001 to 1 000 000 cd/m², a field not 0.1 to 180
/// degrees.
pub fn threshold_modulation(cycles_per_degree: f64, luminance_cd_m2: f64, field_deg: f64) -> Result<f64, OpticsError> {
    within("cycles per degree", cycles_per_degree, 0.01, 100.0)?;
    within("luminance in cd/m2", luminance_cd_m2, 1e-3, 1e6)?;
    within("field in degrees", field_deg, 0.1, 180.0)?;
    let u = cycles_per_degree;
    let area_deg2 = field_deg * field_deg;

    let pupil_mm = 5.0 - 3.0 * libm::tanh(0.4 * libm::log10(luminance_cd_m2 * area_deg2 / 1600.0));
    // Blur of the eye's optics, degrees, and what it leaves of a sine.
    let blur = libm::hypot(BLUR_DEG, BLUR_DEG_PER_MM * pupil_mm);
    let optics = libm::exp(-2.0 * PI * PI * blur * blur * u * u);
    // Light on the retina in trolands, less what comes in slanting and counts little (Stiles and Crawford).
    let edge = pupil_mm * pupil_mm;
    let trolands =
        PI / 4.0 * edge * luminance_cd_m2 * (1.0 - edge / (9.7 * 9.7) + edge * edge / (12.4 * 12.4 * 12.4 * 12.4));

    // What the eye sums over: the field, at most 12 degrees, at most 15 cycles.
    let summed = 1.0 / area_deg2 + 1.0 / (MOST_DEG * MOST_DEG) + u * u / (MOST_CYCLES * MOST_CYCLES);
    let photons = 1.0 / (QUANTUM_EFFICIENCY * PHOTONS_PER_TROLAND * trolands);
    let inhibition = -libm::expm1(-(u / INHIBITION_CYCLES) * (u / INHIBITION_CYCLES));
    let noise = 2.0 / SUMMED_S * summed * (photons + NEURAL_NOISE / inhibition);
    Ok(SIGNAL_TO_NOISE * noise.sqrt() / optics)
}

/// Signal over noise at which half of the answers are right.
const SIGNAL_TO_NOISE: f64 = 3.0;
/// Blur of an eye with a point for a pupil, degrees.
const BLUR_DEG: f64 = 0.5 / 60.0;
/// What each millimetre of pupil adds, degrees.
const BLUR_DEG_PER_MM: f64 = 0.08 / 60.0;
/// Time that the eye sums over, s.
const SUMMED_S: f64 = 0.1;
/// Widest angle that the eye sums over, degrees.
const MOST_DEG: f64 = 12.0;
/// Most cycles that the eye sums over.
const MOST_CYCLES: f64 = 15.0;
/// Share of photons that are seen.
const QUANTUM_EFFICIENCY: f64 = 0.03;
/// Photons per second, square degree and troland, of white light by day.
const PHOTONS_PER_TROLAND: f64 = 1.2276e6;
/// Noise of the nerves, s deg².
const NEURAL_NOISE: f64 = 3e-8;
/// Coarser patterns than this are held back by the nerves, cycles per degree.
const INHIBITION_CYCLES: f64 = 7.0;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thresholds_are_those_of_the_published_model() {
        // Percent, for a field of 10 degrees and k = 3, computed with colour-science 0.4.7's version of Barten (1999).
        let fine = [0.5, 1.0, 2.0, 3.0, 5.0, 8.0, 10.0, 20.0];
        let rows = [
            (1.0, [0.49, 0.33, 0.33, 0.40, 0.61, 1.03, 1.41, 6.4]),
            (10.0, [0.44, 0.25, 0.19, 0.19, 0.25, 0.39, 0.52, 2.05]),
            (100.0, [0.44, 0.24, 0.16, 0.15, 0.16, 0.21, 0.27, 0.92]),
        ];
        for (luminance, percents) in rows {
            for (u, want) in fine.into_iter().zip(percents) {
                let got = 100.0 * threshold_modulation(u, luminance, 10.0).unwrap();
                // To the digits that were printed.
                let digit = if want > 6.0 { 0.05 } else { 0.0055 };
                assert!((got - want).abs() <= digit, "{u} per degree at {luminance}: {got}, not {want}");
            }
        }
    }

    #[test]
    fn sensitivity_peaks_and_ends_where_it_was_measured() {
        // Campbell and Robson 1968: in bright light a peak near 5 cycles per degree and an end near 60; both fall in the dim.
        let at = |u, luminance| threshold_modulation(u, luminance, 10.0).unwrap();
        let peak = |luminance| {
            let all = (1..=200).map(|k| f64::from(k) * 0.1);
            all.min_by(|a, b| at(*a, luminance).total_cmp(&at(*b, luminance))).unwrap()
        };
        let end = |luminance| (1..=1000).map(|k| f64::from(k) * 0.1).find(|u| at(*u, luminance) > 1.0).unwrap();
        assert!((2.5..6.0).contains(&peak(500.0)), "{}", peak(500.0));
        assert!((45.0..70.0).contains(&end(500.0)), "{}", end(500.0));
        assert!(peak(0.05) < 0.6 * peak(500.0) && end(0.05) < 0.6 * end(500.0), "{} {}", peak(0.05), end(0.05));
    }

    #[test]
    fn pitches_are_as_fine_as_their_distance_says() {
        // Strips of 60 and 144 a metre from 1 and 5 m, as tables round them.
        for (a_metre, distance_mm, want, digit) in [
            (60.0, 1000.0, 1.05, 0.005),
            (60.0, 5000.0, 5.24, 0.005),
            (144.0, 1000.0, 2.51, 0.005),
            (144.0, 5000.0, 12.6, 0.05),
        ] {
            let pitch_mm = 1000.0 / a_metre;
            let got = cycles_per_degree(pitch_mm, distance_mm).unwrap();
            assert!((got - want).abs() < digit, "{pitch_mm} {distance_mm}: {got}");
        }
    }

    #[test]
    fn what_no_eye_sees_is_refused() {
        assert!(cycles_per_degree(0.0, 1000.0).unwrap_err().to_string().starts_with("pitch in mm is 0"));
        assert!(cycles_per_degree(10.0, f64::NAN).is_err());
        for (u, luminance, field) in
            [(0.0, 1.0, 10.0), (1.0, 0.0, 10.0), (1.0, 1.0, 0.0), (f64::NAN, 1.0, 10.0), (1.0, f64::INFINITY, 10.0)]
        {
            assert!(threshold_modulation(u, luminance, field).is_err(), "{u} {luminance} {field}");
        }
        // Within the ranges everything is a number.
        for u in [0.01, 1.0, 100.0] {
            for luminance in [1e-3, 1.0, 1e6] {
                for field in [0.1, 10.0, 180.0] {
                    assert!(threshold_modulation(u, luminance, field).unwrap().is_finite(), "{u} {luminance} {field}");
                }
            }
        }
    }
}
