//! How far each pixel is driven so that a window glows evenly.

use super::Profile;

/// Rounds of correction; light reaches a few pitches along, so neighbours settle within some.
const ROUNDS: usize = 12;
/// Share of the wanted correction that is made in a round: all of it would overshoot, as neighbours correct too.
const STEP: f64 = 0.7;
/// No pixel is driven below this: steps of its eight bits would show.
const LEAST: f64 = 0.05;
/// Luminance is looked at over so many pitches.
const OVER_PITCHES: f64 = 1.5;

/// Stations between which a window is judged, and how it glows.
pub(super) type Stretch = ([f64; 2], Profile);

/// Levels, 0 to 1, the highest of them 1, at which every stretch of a window is as bright as its darkest can be. `lit` says
/// how the windows glow at some levels, each with the stretch that is judged.
pub(super) fn evened(stations_mm: &[f64], pitch_mm: f64, lit: &dyn Fn(&[f32]) -> Vec<Stretch>) -> Vec<f32> {
    let mut levels = vec![1.0f64; stations_mm.len()];
    for _ in 0..ROUNDS {
        let narrow: Vec<f32> = levels.iter().map(|l| *l as f32).collect();
        let mut wanted = vec![Vec::new(); levels.len()];
        for (stretch, profile) in lit(&narrow) {
            let all = profile.smoothed(OVER_PITCHES * pitch_mm, stretch);
            let Some(dark) = all.iter().map(|r| r.value).reduce(f64::min).filter(|d| *d > 0.0) else { continue };
            for (want, s) in wanted.iter_mut().zip(stations_mm) {
                // The end pixels light what lies next to them.
                let at = all.partition_point(|r| r.station_mm < *s).min(all.len() - 1);
                if (all[at].station_mm - s).abs() < 3.0 * pitch_mm {
                    want.push(dark / all[at].value);
                }
            }
        }
        for (level, want) in levels.iter_mut().zip(&wanted) {
            if !want.is_empty() {
                let mean = want.iter().sum::<f64>() / want.len() as f64;
                *level = (*level * libm::pow(mean, STEP)).max(LEAST);
            }
        }
        let most = levels.iter().copied().fold(LEAST, f64::max);
        for level in &mut levels {
            *level = (*level / most).clamp(LEAST, 1.0);
        }
    }
    levels.into_iter().map(|l| l as f32).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each pixel lights its surroundings by a bell 30 mm wide; a window that passes less and less of it.
    fn glow(levels: &[f32], stations: &[f64]) -> Profile {
        let station_mm: Vec<f64> = (0..400).map(|i| 1.0 + 2.0 * f64::from(i)).collect();
        let light = |s: f64| -> f64 {
            let of = |(l, p): (&f32, &f64)| f64::from(*l) * libm::exp(-0.5 * ((s - p) / 15.0).powi(2));
            levels.iter().zip(stations).map(of).sum::<f64>() * (1.0 - 0.0008 * s)
        };
        Profile {
            window: 0,
            body: 0,
            luminance_cd_m2: station_mm.iter().map(|s| 100.0 * light(*s)).collect(),
            area_mm2: vec![10.0; 400],
            sigma_cd_m2: vec![0.0; 400],
            station_mm,
        }
    }

    #[test]
    fn a_window_that_fades_is_evened_by_its_pixels() {
        let stations: Vec<f64> = (0..48).map(|i| 8.0 + 16.67 * f64::from(i)).collect();
        let stretch = [20.0, 780.0];
        let lit = |levels: &[f32]| vec![(stretch, glow(levels, &stations))];
        let share = |levels: &[f32]| {
            let all = glow(levels, &stations).smoothed(25.0, stretch);
            let value = |f: fn(f64, f64) -> f64| all.iter().map(|r| r.value).reduce(f).unwrap();
            value(f64::min) / value(f64::max)
        };
        let levels = evened(&stations, 16.67, &lit);
        assert!(share(&[1.0; 48]) < 0.45);
        assert!(share(&levels) > 0.9, "{} {levels:?}", share(&levels));
        assert!(levels.iter().all(|l| (0.05..=1.0).contains(l)) && levels.contains(&1.0));
    }
}
