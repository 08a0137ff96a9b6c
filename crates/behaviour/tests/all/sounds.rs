//! Sounds: partials, seams, peaks, bass, and files as makers bring them.

use crate::common::Dice;
use behaviour::STARTER_SOUNDS;
use behaviour::sound::{Air, Bar, WavError, bar, crackle, hum, level, read_wav, rise, rush, starter_sounds, write_wav};
use realfft::RealFftPlanner;

const HZ: u32 = 22050;

/// Powers by frequency under a Hann window, and Hz from one to the next.
fn spectrum(sound: &[i16], window: bool) -> (Vec<f64>, f64) {
    let n = sound.len();
    let mut input: Vec<f64> = sound
        .iter()
        .enumerate()
        .map(|(k, &v)| {
            let w = if window { 0.5 - 0.5 * libm::cos(std::f64::consts::TAU * k as f64 / n as f64) } else { 1.0 };
            w * f64::from(v)
        })
        .collect();
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(n);
    let mut output = plan.make_output_vec();
    plan.process(&mut input, &mut output).expect("lengths fit");
    (output.iter().map(|c| c.norm_sqr()).collect(), f64::from(HZ) / n as f64)
}

/// The strongest frequency within a share of a guess, between bins by the parabola through three.
fn peak_near(powers: &[f64], bin_hz: f64, guess_hz: f64, within: f64) -> f64 {
    let (from, to) = ((guess_hz * (1.0 - within) / bin_hz) as usize, (guess_hz * (1.0 + within) / bin_hz) as usize);
    let k = (from..=to).max_by(|&a, &b| powers[a].total_cmp(&powers[b])).expect("a range");
    let [a, b, c] = [powers[k - 1], powers[k], powers[k + 1]].map(libm::log);
    (k as f64 + 0.5 * (a - c) / (a - 2.0 * b + c)) * bin_hz
}

/// Bending modes of a bar free at both ends, 1 : 2.757 : 5.404 (Fletcher and Rossing, "The Physics of Musical Instruments",
/// section 2.18), within 1 %.
#[test]
fn a_struck_bar_has_its_modes() {
    let struck = Bar { first_hz: 640.0, rings_s: 2.0, struck_at: 0.97, contact_ms: 0.3 };
    let (powers, bin_hz) = spectrum(&bar(&struck, 1.5, HZ), true);
    let first = peak_near(&powers, bin_hz, 640.0, 0.1);
    for (ratio, within) in [(2.757, 0.1), (5.404, 0.1), (8.933, 0.1)] {
        let found = peak_near(&powers, bin_hz, 640.0 * ratio, within) / first;
        assert!((found / ratio - 1.0).abs() < 0.01, "{found} for {ratio}");
    }
    assert!((first / 640.0 - 1.0).abs() < 0.01, "{first}");
}

/// The step from the end to the beginning is no larger than steps inside, and neither is the change of the slope.
#[test]
fn the_hum_has_no_seam() {
    for (pitch, lasts) in [(96.0, 1.0), (110.3, 0.7), (61.7, 2.3)] {
        let sound: Vec<i32> = hum(pitch, lasts, HZ).into_iter().map(i32::from).collect();
        let n = sound.len();
        let step = |k: usize| sound[(k + 1) % n] - sound[k % n];
        let inside = (0..n - 1).map(|k| step(k).abs()).max().expect("steps");
        let bend = |k: usize| (step(k + 1) - step(k)).abs();
        let inside_bend = (0..n - 2).map(bend).max().expect("bends");
        assert!(step(n - 1).abs() <= inside && bend(n - 1).max(bend(n - 2)) <= inside_bend, "{pitch} Hz");
        // A loop without a seam has power at whole turns only: without a window no bin between partials has any.
        let signal: Vec<i16> = sound.iter().map(|&v| v as i16).collect();
        let (powers, bin_hz) = spectrum(&signal, false);
        let turns = (pitch * n as f64 / f64::from(HZ)).round() as usize;
        let whole: f64 = powers.iter().sum();
        let between: f64 = powers.iter().enumerate().filter(|(k, _)| k % turns > 1).map(|(_, p)| p).sum();
        assert!(between < 1e-6 * whole, "{pitch} Hz: {between} of {whole}, bins of {bin_hz} Hz");
    }
}

/// True peak at most -1 dBTP, little below 400 Hz, no constant part, ends without a click.
#[test]
fn the_starters_sounds_fit_a_small_speaker() {
    let sounds = starter_sounds(HZ, 3);
    let mut bytes = 0;
    for (name, sound) in STARTER_SOUNDS.iter().zip(&sounds) {
        let measured = level(sound, 1, HZ).expect("measured");
        let peak = measured.true_peak_dbtp.expect("not silent");
        assert!((-6.0..=-1.0).contains(&peak), "{name}: {peak} dBTP");
        let loud = measured.loudness_lufs.expect("long enough");
        assert!((-30.0..-8.0).contains(&loud), "{name}: {loud} LUFS");
        let (powers, bin_hz) = spectrum(sound, true);
        let whole: f64 = powers.iter().sum();
        let low: f64 = powers.iter().take((300.0 / bin_hz) as usize).sum();
        assert!(low < 0.12 * whole, "{name}: {:.1} % below 300 Hz", 100.0 * low / whole);
        if *name != "hum" {
            let ends = [sound[0], sound[sound.len() - 1]];
            assert!(ends.iter().all(|v| v.abs() < 400), "{name}: {ends:?}");
        }
        bytes += 2 * sound.len() + 44;
    }
    // Stock storage of a 2 MB board is 1,441,792 B.
    assert!(bytes < 250_000, "{bytes}");
    assert!(sounds == starter_sounds(HZ, 3) && sounds != starter_sounds(HZ, 4));
}

/// Louder by the cube of the speed (18 dB for twice), and higher with it: the middle of its powers moves up.
#[test]
fn a_rush_follows_the_speed() {
    let air = Air { reach_m: 0.9, edge_m: 0.004 };
    let rates: Vec<f64> = (0..300).map(|k| if k < 150 { 400.0 } else { 800.0 }).collect();
    let sound = rush(&rates, 100.0, air, HZ, 9);
    let half = sound.len() / 2;
    let measure = |part: &[i16]| {
        let (powers, bin_hz) = spectrum(part, true);
        let whole: f64 = powers.iter().sum();
        let middle: f64 = powers.iter().enumerate().map(|(k, p)| k as f64 * bin_hz * p).sum::<f64>() / whole;
        (10.0 * libm::log10(whole / part.len() as f64 / part.len() as f64), middle)
    };
    let ((slow_db, slow_hz), (fast_db, fast_hz)) = (measure(&sound[..half]), measure(&sound[half..]));
    // The loudspeaker's bass cut takes more from the slow one: 18 dB at least.
    assert!((17.0..30.0).contains(&(fast_db - slow_db)), "{slow_db} {fast_db}");
    assert!(fast_hz > 1.1 * slow_hz, "{slow_hz} {fast_hz}");
}

#[test]
fn what_is_written_is_read() {
    let sound = hum(96.0, 0.3, HZ);
    let bytes = write_wav(&sound, HZ).expect("written");
    assert_eq!(bytes.len(), 44 + 2 * sound.len());
    assert_eq!(read_wav(&bytes, HZ).expect("read"), sound);
    assert_eq!(write_wav(&[], HZ), Err(WavError::Empty));
}

/// Numbers that mean nothing make a sound or silence: no panic, and an end.
#[test]
fn odd_numbers_are_borne() {
    let odd = [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0, 0.0, 1e300];
    for value in odd {
        for hz in [0, 1, 100, HZ] {
            for rates_hz in odd {
                let air = Air { reach_m: value, edge_m: value };
                assert!(rush(&[value, 100.0, value], rates_hz, air, hz, 1).len() >= 2);
            }
            assert!(crackle(0.1, value, hz, 1).len() >= 2 && crackle(value, 10.0, hz, 1).len() >= 2);
            assert!(hum(value, 0.1, hz).len() >= 2 && rise(value.min(0.1), hz).len() >= 2);
            let struck = Bar { first_hz: value, rings_s: value, struck_at: value, contact_ms: value };
            assert!(bar(&struck, 0.1, hz).len() >= 2);
        }
    }
}

/// A file as another program would write it: 1 kHz at half of full scale.
fn file(hz: u32, bits: u16, channels: u16, float: bool) -> Vec<u8> {
    let sample_format = if float { hound::SampleFormat::Float } else { hound::SampleFormat::Int };
    let mut bytes = std::io::Cursor::new(Vec::new());
    let spec = hound::WavSpec { channels, sample_rate: hz, bits_per_sample: bits, sample_format };
    let mut writer = hound::WavWriter::new(&mut bytes, spec).expect("a form");
    for k in 0..hz / 2 {
        let value = 0.5 * libm::sin(std::f64::consts::TAU * 1000.0 * f64::from(k) / f64::from(hz));
        for _ in 0..channels {
            if float {
                writer.write_sample(value as f32).expect("written");
            } else {
                writer
                    .write_sample(libm::round(value * libm::ldexp(1.0, i32::from(bits) - 1)) as i32)
                    .expect("written");
            }
        }
    }
    writer.finalize().expect("written");
    bytes.into_inner()
}

#[test]
fn any_rate_and_width_is_converted() {
    for (hz, bits, channels, float) in [
        (22050, 8, 1, false),
        (44100, 16, 2, false),
        (48000, 24, 2, false),
        (96000, 32, 1, false),
        (48000, 32, 2, true),
        (8000, 16, 1, false),
    ] {
        let sound = read_wav(&file(hz, bits, channels, float), HZ).expect("read");
        assert!(sound.len().abs_diff(HZ as usize / 2) <= 1, "{hz} Hz: {}", sound.len());
        let (powers, bin_hz) = spectrum(&sound, true);
        let tone = peak_near(&powers, bin_hz, 1000.0, 0.1);
        assert!((tone - 1000.0).abs() < 1.0, "{hz} Hz, {bits} bits: {tone}");
        let most = sound[500..sound.len() - 500].iter().map(|v| i32::from(*v).abs()).max().expect("samples");
        assert!((most - 16384).abs() < 200, "{hz} Hz, {bits} bits: {most}");
    }
}

#[test]
fn damaged_files_are_told() {
    let good = file(44100, 24, 2, false);
    let cut = read_wav(&good[..good.len() / 2], HZ).expect_err("cut off");
    assert!(matches!(cut, WavError::CutOff { promised: 44100, found } if found > 20000), "{cut}");
    assert!(cut.to_string().contains("promises 44100 samples"));
    let none = file(44100, 16, 1, false);
    let mut empty = none[..44].to_vec();
    empty[40..44].fill(0);
    assert_eq!(read_wav(&empty, HZ), Err(WavError::Empty));
    for bad in [&b""[..], b"RIFF", b"not a sound at all", &good[..30]] {
        assert!(matches!(read_wav(bad, HZ), Err(WavError::Form { .. })));
    }
    assert_eq!(read_wav(&file(1000, 16, 1, false), HZ), Err(WavError::Rate { hz: 1000 }));
    let mut nan = file(44100, 32, 1, true);
    let at = nan.len() - 4 * 100;
    nan[at..at + 4].copy_from_slice(&f32::NAN.to_le_bytes());
    assert_eq!(read_wav(&nan, HZ), Err(WavError::NotANumber { number: 22050 - 100 }));
}

/// Any byte of a file may be wrong, or any few words of its head: an error or a sound, never a panic, and never more memory than the bytes ask for.
#[test]
fn no_damage_is_fatal() {
    let good = file(8000, 16, 2, false);
    let head = &good[..2000];
    for at in 0..80 {
        for value in [0, 1, 2, 3, 127, 128, 255] {
            let mut bad = head.to_vec();
            bad[at] = value;
            let _ = read_wav(&bad, HZ);
        }
    }
    let mut dice = Dice(41);
    for round in 0..5000 {
        let mut bad = head.to_vec();
        for _ in 0..1 + round % 3 {
            let at = dice.below(60) as usize;
            let word = [dice.next(), dice.below(70_000), u32::MAX, 0][dice.below(4) as usize];
            bad[at..at + 4].copy_from_slice(&word.to_le_bytes());
        }
        let _ = read_wav(&bad, HZ);
    }
}
