//! The kernels that fill pixels: levels by effect, colours by gamma, flashes on top, scaling. Each is a loop that a board
//! runs compiled, with the same arithmetic; values stay far within 31 bits because levels and colours are bytes.

/// Random numbers: shifts of 16 bits, by 7, 9 and 8, with a period of 65535; never 0.
pub(crate) fn random(state: i32) -> i32 {
    let mut s = state;
    s ^= (s << 7) & 0xFFFF;
    s ^= s >> 9;
    s ^ ((s << 8) & 0xFFFF)
}

/// What a diode is driven with for a level, so that equal steps look equal: between the square and the cube.
pub(crate) fn gamma_table() -> [u8; 256] {
    std::array::from_fn(|v| {
        let v = v as i32;
        ((v * v * (v + 1020) + 162_562) / 325_125) as u8
    })
}

/// x / 255, rounded down, for 0 to 65025.
fn by_255(x: i32) -> i32 {
    (x + 1 + (x >> 8)) >> 8
}

/// One level everywhere.
pub(crate) fn flat(levels: &mut [u8], level: i32) {
    levels.fill(level as u8);
}

/// A bright place at `centre` (256 a pixel) that is `low` from `reach` pixels on, round and round.
pub(crate) fn pulse(levels: &mut [u8], centre: i32, reach: i32, low: i32) {
    let round = (levels.len() as i32) << 8;
    let (end, loss) = (reach << 8, 65280 / reach);
    for (i, level) in levels.iter_mut().enumerate() {
        let mut apart = (((i as i32) << 8) - centre).abs();
        if apart > round - apart {
            apart = round - apart;
        }
        let bright = if apart < end { 255 - ((apart * loss) >> 16) } else { 0 };
        *level = bright.max(low) as u8;
    }
}

/// Full below `edge` (256 a pixel), dark above, and in between where it falls on a pixel.
pub(crate) fn edge(levels: &mut [u8], edge: i32) {
    for (i, level) in levels.iter_mut().enumerate() {
        *level = (edge - ((i as i32) << 8)).clamp(0, 255) as u8;
    }
}

/// Groups of four go an eighth of the way to a level by chance; returns the state of chance.
pub(crate) fn flicker(levels: &mut [u8], low: i32, chance: i32) -> i32 {
    let mut state = chance;
    for group in levels.chunks_mut(4) {
        state = random(state);
        let aim = low + (((state & 255) * (256 - low)) >> 8);
        let was = i32::from(group[0]);
        group.fill((was + ((aim - was) >> 3)) as u8);
    }
    state
}

/// Levels above `low` fade towards it.
pub(crate) fn fade(levels: &mut [u8], low: i32) {
    for level in levels {
        let v = i32::from(*level);
        *level = (if v > low { low.max(v - (v >> 4) - 1) } else { low }) as u8;
    }
}

/// Levels of `first..end` as colour into `buffer` (red, green, blue a pixel).
pub(crate) fn colour(buffer: &mut [u8], levels: &[u8], gamma: &[u8; 256], first: usize, colour: [i32; 3]) {
    // Neighbours are often alike: what a level comes to is worked out when it differs from the last.
    let driven = |level: u8| colour.map(|part| gamma[by_255(i32::from(level) * part) as usize & 255]);
    let (mut last, mut pixel) = (0, driven(0));
    for (out, &level) in buffer[3 * first..].chunks_exact_mut(3).zip(levels) {
        if level != last {
            (last, pixel) = (level, driven(level));
        }
        out.copy_from_slice(&pixel);
    }
}

/// A flash that has lost nothing yet: fine enough for one that fades for seconds or reaches far.
pub(crate) const FULL: i32 = 65536;

/// A flash over what is there: `strength` of [`FULL`] at its place, `loss` less each pixel away.
pub(crate) fn flash(buffer: &mut [u8], place: i32, strength: i32, loss: i32, colour: [i32; 3]) {
    for (i, pixel) in buffer.chunks_exact_mut(3).enumerate() {
        let share = (strength - (i as i32 - place).abs() * loss) >> 8;
        if share > 0 {
            for (value, part) in pixel.iter_mut().zip(colour) {
                let v = i32::from(*value);
                *value = (v + (((part - v) * share) >> 8)) as u8;
            }
        }
    }
}

/// The sum of all channels.
pub(crate) fn total(buffer: &[u8]) -> i32 {
    // 256 bytes come to no more than 16 bits, which twice as many at once are added in.
    buffer.chunks(256).map(|some| i32::from(some.iter().map(|&v| u16::from(v)).sum::<u16>())).sum()
}

/// Each pixel as far as its level lets it, 255 all the way; rounded, so that the weakest light stays.
pub(crate) fn graded(buffer: &mut [u8], levels: &[u8]) {
    for (pixel, &level) in buffer.chunks_exact_mut(3).zip(levels) {
        let share = i32::from(level) + 1;
        for value in pixel {
            *value = ((i32::from(*value) * share + 128) >> 8) as u8;
        }
    }
}

/// All channels by `k` of 1024, rounded down.
pub(crate) fn scale(buffer: &mut [u8], k: i32) {
    for value in buffer {
        *value = ((i32::from(*value) * k) >> 10) as u8;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn division_by_255_is_exact() {
        for x in 0..=65025 {
            assert_eq!(by_255(x), x / 255);
        }
    }

    /// The published curve of sRGB displays (IEC 61966-2-1) is near a power of 2.2; ours is within 3 % of full of that.
    #[test]
    fn gamma_is_near_that_of_displays() {
        let table = gamma_table();
        assert_eq!((table[0], table[255]), (0, 255));
        for (v, &said) in table.iter().enumerate() {
            let wanted = 255.0 * libm::pow(v as f64 / 255.0, 2.2);
            assert!((f64::from(said) - wanted).abs() < 0.03 * 255.0, "{v}: {said}, {wanted}");
        }
        assert!(table.windows(2).all(|w| w[0] <= w[1]));
    }

    /// A full period of the shift register: every 16-bit state but 0 once.
    #[test]
    fn chance_visits_every_state() {
        let mut state = 0xACE1;
        for n in 1..65536 {
            state = random(state);
            assert!((1..65536).contains(&state));
            assert_eq!(state == 0xACE1, n == 65535);
        }
    }

    #[test]
    fn a_fill_edge_lights_pixel_after_pixel() {
        let mut levels = [7; 4];
        edge(&mut levels, 0);
        assert_eq!(levels, [0, 0, 0, 0]);
        edge(&mut levels, 256 + 128);
        assert_eq!(levels, [255, 128, 0, 0]);
        edge(&mut levels, 4 * 256);
        assert_eq!(levels, [255; 4]);
    }

    #[test]
    fn a_pulse_goes_round() {
        let mut levels = [0; 10];
        pulse(&mut levels, 9 * 256, 2, 10);
        assert_eq!((levels[9], levels[0], levels[8], levels[4]), (255, 128, 128, 10));
    }

    /// All the way is as it was, half way is half, none is dark; nothing is ever more than it was.
    #[test]
    fn levels_hold_pixels_back() {
        for v in 0..=255 {
            let mut buffer = [v; 12];
            graded(&mut buffer, &[255, 127, 0]);
            assert_eq!(buffer[..3], [v; 3]);
            assert_eq!(buffer[3..6], [v.div_ceil(2); 3]);
            assert_eq!(buffer[6..9], [u8::from(v >= 128); 3]);
            assert_eq!(buffer[9..], [v; 3], "beyond the levels");
        }
    }

    #[test]
    fn a_flash_is_brightest_at_its_place() {
        let mut buffer = [0; 15];
        flash(&mut buffer, 2, FULL, FULL / 2, [255, 0, 100]);
        assert_eq!(buffer[6..9], [255, 0, 100]);
        assert_eq!(buffer[3..6], [127, 0, 50]);
        assert_eq!(buffer[0..3], [0, 0, 0]);
    }
}
