//! Whether frames flash more often than is safe.
//!
//! WCAG 2.2, success criterion 2.3.1 (and ITU-R BT.1702-3, which counts alike): at most three general or red flashes in any
//! second. A general flash is a pair of opposing changes of relative luminance by 10 % or more of its greatest value
//! with the darker state below 0.80; a red flash is a pair of opposing changes of saturated red. Luminance of a pixel is
//! linear in what it is driven with; full white of the strip counts as 1. The area that counts is a run of pixels seen
//! together: WCAG frees less than 0.006 steradians.

/// The most flashes that began in any one second, of light and of red, and where.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Flashes {
    /// General flashes; half a flash is a single change.
    pub general: f64,
    /// Flashes of saturated red.
    pub red: f64,
    /// First pixel of the run with the most of either.
    pub first_pixel: usize,
}

impl Flashes {
    /// Whether the rule is kept.
    pub fn are_safe(&self) -> bool {
        self.general <= 3.0 && self.red <= 3.0
    }
}

/// Counts flashes over frames of the same number of pixels (red, green, blue each, 0 to 255), in every run of `window`
/// pixels and over all of them. Fewer than two frames do not flash.
pub fn flashes(frames: &[Vec<u8>], frames_a_second: usize, window: usize) -> Flashes {
    let pixels = frames.first().map_or(0, |f| f.len() / 3);
    let mut worst = Flashes::default();
    if pixels == 0 {
        return worst;
    }
    let window = window.clamp(1, pixels);
    let runs = (0..=pixels - window).map(|first| (first, window)).chain([(0, pixels)]);
    for (first, wide) in runs {
        let mean = |of: &dyn Fn(&[u8]) -> f64| -> Vec<f64> {
            let run = |f: &Vec<u8>| f[3 * first..3 * (first + wide)].chunks_exact(3).map(of).sum::<f64>() / wide as f64;
            frames.iter().map(run).collect()
        };
        let general = busiest(&changes(&mean(&luminance), 0.10, 0.80), frames_a_second);
        let red = busiest(&changes(&mean(&saturated), 20.0 / 320.0, 2.0), frames_a_second);
        if general.max(red) > worst.general.max(worst.red) {
            worst.first_pixel = first;
        }
        worst.general = worst.general.max(general);
        worst.red = worst.red.max(red);
    }
    worst
}

fn luminance(pixel: &[u8]) -> f64 {
    (0.2126 * f64::from(pixel[0]) + 0.7152 * f64::from(pixel[1]) + 0.0722 * f64::from(pixel[2])) / 255.0
}

/// (R - G - B) of red that is saturated: R / (R + G + B) at least 0.8.
fn saturated(pixel: &[u8]) -> f64 {
    let [r, g, b] = [pixel[0], pixel[1], pixel[2]].map(|v| f64::from(v) / 255.0);
    if r > 0.0 && r >= 0.8 * (r + g + b) { r - g - b } else { 0.0 }
}

/// Frames at which the value has gone by `least` against its last direction, its darker end below `bright`.
fn changes(values: &[f64], least: f64, bright: f64) -> Vec<usize> {
    let mut found = Vec::new();
    let Some(&first) = values.first() else { return found };
    let (mut low, mut high) = (first, first);
    // 0 before the first change, then whether it rose or fell.
    let mut direction = 0;
    for (k, &v) in values.iter().enumerate() {
        low = low.min(v);
        high = high.max(v);
        if direction >= 0 && high - v >= least && v < bright {
            found.push(k);
            direction = -1;
            low = v;
        } else if direction <= 0 && v - low >= least && low < bright {
            found.push(k);
            direction = 1;
            high = v;
        }
    }
    found
}

/// Half the most changes within a second.
fn busiest(changes: &[usize], frames_a_second: usize) -> f64 {
    let within = |k: usize| changes[k..].iter().take_while(|&&c| c < changes[k] + frames_a_second).count();
    (0..changes.len()).map(within).max().unwrap_or(0) as f64 / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Frames of a square wave of all pixels, 50 a second for ten seconds.
    fn strobe(hz: usize, on: [u8; 3]) -> Vec<Vec<u8>> {
        (0..500).map(|k| if k * hz * 2 / 50 % 2 == 1 { on.repeat(12) } else { vec![0; 36] }).collect()
    }

    /// The rule itself: three a second are allowed, four are not.
    #[test]
    fn strobes_are_counted() {
        for hz in [1, 2, 3, 4, 10, 25] {
            let found = flashes(&strobe(hz, [255; 3]), 50, 9);
            assert!((found.general - hz as f64).abs() <= 0.5, "{hz} Hz: {found:?}");
            assert_eq!(found.are_safe(), hz <= 3, "{hz} Hz: {found:?}");
        }
    }

    /// Pure red at a third of full luminance is 7 %: no general flash, but a red one.
    #[test]
    fn red_is_counted_apart() {
        let found = flashes(&strobe(10, [84, 0, 0]), 50, 9);
        assert_eq!(found.general, 0.0);
        assert!(found.red > 3.0, "{found:?}");
        let found = flashes(&strobe(10, [84, 40, 40]), 50, 9);
        assert_eq!(found.red, 0.0, "not saturated");
    }

    /// A change is from one tenth on, and none where the darker state is 0.80 or more.
    #[test]
    fn small_and_bright_changes_do_not_count() {
        let wave =
            |low: u8, high: u8| (0..200).map(|k| vec![if k % 4 < 2 { low } else { high }; 30]).collect::<Vec<_>>();
        assert_eq!(flashes(&wave(100, 124), 50, 9).general, 0.0);
        assert!(flashes(&wave(100, 128), 50, 9).general > 3.0);
        assert_eq!(flashes(&wave(205, 255), 50, 9).general, 0.0);
    }

    #[test]
    fn nothing_does_not_flash() {
        assert_eq!(flashes(&[], 50, 9), Flashes::default());
        assert_eq!(flashes(&[vec![]], 50, 9), Flashes::default());
        assert_eq!(flashes(&[vec![255; 3]], 50, 9), Flashes::default());
    }
}
