//! The mixer: loops and one-shots to one stream of sound, 256 samples a block, integers only.

/// Samples a block.
pub const BLOCK: usize = 256;
/// Voices: the mode's hum, the one before it as it fades, and two one-shots.
pub(crate) const VOICES: usize = 4;
/// The most a gain moves in a block: silent to full in eight.
const RAMP: i32 = 32;
/// Samples that a block reads at most: twice the pitch, and one to interpolate to.
const SPAN: usize = 2 * BLOCK + 2;

/// One sound being played.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Voice {
    /// Sound plus one, or 0.
    pub(crate) sound: i32,
    pub(crate) round: bool,
    /// Where it is, and 4096ths of a sample beyond.
    at: i32,
    part: i32,
    /// Samples by 4096 from one output sample to the next.
    pub(crate) pace: i32,
    gain: i32,
    pub(crate) aim: i32,
}

/// All voices.
#[derive(Clone, Debug)]
pub(crate) struct Mixer {
    pub(crate) voices: [Voice; VOICES],
    lengths: Vec<i32>,
    window: [i16; SPAN],
    /// Of the voice being added.
    values: [i32; BLOCK],
    sums: [i32; BLOCK],
    pub(crate) block: [i16; BLOCK],
}

impl Mixer {
    pub(crate) fn new(lengths: Vec<i32>) -> Mixer {
        Mixer {
            voices: [Voice::default(); VOICES],
            lengths,
            window: [0; SPAN],
            values: [0; BLOCK],
            sums: [0; BLOCK],
            block: [0; BLOCK],
        }
    }

    /// A mode's hum takes over; the one before fades out.
    pub(crate) fn hum(&mut self, sound: i32) {
        if sound == self.voices[0].sound {
            return;
        }
        self.voices[1] = Voice { aim: 0, ..self.voices[0] };
        self.voices[0] = Voice { sound, round: true, pace: 4096, ..Voice::default() };
    }

    /// A sound once, in the place of the one-shot that is nearest its end.
    pub(crate) fn shot(&mut self, sound: i32, gain: i32) {
        let left = |v: &Voice| if v.sound == 0 { 0 } else { self.lengths[v.sound as usize - 1] - v.at };
        let k = if left(&self.voices[3]) < left(&self.voices[2]) { 3 } else { 2 };
        self.voices[k] = Voice { sound, pace: 4096, gain, aim: gain, ..Voice::default() };
    }

    /// One-shots fade out where they are.
    pub(crate) fn hush(&mut self) {
        self.voices[2..].iter_mut().for_each(|v| v.aim = 0);
    }

    /// Whether a one-shot is on.
    pub(crate) fn busy(&self) -> bool {
        self.voices[2].sound > 0 || self.voices[3].sound > 0
    }

    /// The next block, from the samples of each sound.
    pub(crate) fn mix(&mut self, sounds: &[Vec<i16>]) {
        self.sums.fill(0);
        for (index, voice) in self.voices.iter_mut().enumerate().filter(|(_, v)| v.sound > 0) {
            let k = voice.sound as usize - 1;
            let length = self.lengths[k];
            let wanted = ((voice.part + voice.pace * BLOCK as i32) >> 12) + 2;
            fill(&mut self.window[..wanted as usize], &sounds[k], voice.at as usize, voice.round);
            let step = (voice.aim - voice.gain).clamp(-RAMP, RAMP);
            read(&mut self.values, &self.window, voice.part, voice.pace);
            louder(&mut self.sums, &self.values, voice.gain, step);
            let end = voice.part + voice.pace * BLOCK as i32;
            voice.gain += step;
            voice.at += end >> 12;
            voice.part = end & 4095;
            if voice.round {
                while voice.at >= length {
                    voice.at -= length;
                }
                if index == 1 && voice.gain == 0 {
                    voice.sound = 0;
                }
            } else if voice.at >= length {
                voice.sound = 0;
            }
        }
        clip(&mut self.block, &self.sums);
    }
}

/// What a voice reads: from `at` on, round and round or silence beyond the end.
fn fill(window: &mut [i16], sound: &[i16], at: usize, round: bool) {
    let (mut done, mut at) = (0, at);
    while done < window.len() {
        if at >= sound.len() {
            if !round {
                break;
            }
            at = 0;
        }
        let some = (window.len() - done).min(sound.len() - at);
        window[done..done + some].copy_from_slice(&sound[at..at + some]);
        done += some;
        at += some;
    }
    window[done..].fill(0);
}

/// What a voice reads from `part` on, 4096 a sample, by `pace` from value to value; between samples it is a straight line.
///
/// The same values whichever way they are come by: what is at its own pace needs no place looked up for each, and a loop
/// without that is done several values at once.
fn read(values: &mut [i32; BLOCK], window: &[i16; SPAN], part: i32, pace: i32) {
    if pace == 4096 {
        return between(values, window, part);
    }
    let mut at = part;
    for value in values {
        // At most twice the pitch: no further than 511 and one.
        let k = (at >> 12) as usize & 511;
        let (a, b) = (i32::from(window[k]), i32::from(window[k + 1]));
        // 65535 * 255 is the largest product.
        *value = a + (((b - a) * ((at >> 4) & 255)) >> 8);
        at += pace;
    }
}

/// Values of a voice at its own pace, which is always as far beyond a sample.
fn between(values: &mut [i32; BLOCK], window: &[i16; SPAN], part: i32) {
    let share = (part >> 4) & 255;
    if share == 0 {
        for (value, &sample) in values.iter_mut().zip(window) {
            *value = i32::from(sample);
        }
        return;
    }
    for (value, pair) in values.iter_mut().zip(window.windows(2)) {
        let (a, b) = (i32::from(pair[0]), i32::from(pair[1]));
        *value = a + (((b - a) * share) >> 8);
    }
}

/// Values times a gain that goes by `step` of 256, added to the sums.
fn louder(sums: &mut [i32; BLOCK], values: &[i32; BLOCK], gain: i32, step: i32) {
    // Values fit 16 bits and gains 9, so that their products are done eight at a time; 32768 * 256 is the largest.
    let product = |value: i32, gain: i32| i32::from(value as i16) * i32::from(gain as i16);
    if step == 0 {
        for (sum, &value) in sums.iter_mut().zip(values) {
            *sum += product(value, gain);
        }
        return;
    }
    for (i, (sum, &value)) in sums.iter_mut().zip(values).enumerate() {
        *sum += product(value, gain + ((step * i as i32) >> 8));
    }
}

/// Sums of 256 to samples, within what a sample holds.
fn clip(block: &mut [i16; BLOCK], sums: &[i32; BLOCK]) {
    for (sample, &sum) in block.iter_mut().zip(sums) {
        *sample = (sum >> 8).clamp(-32768, 32767) as i16;
    }
}
