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
    pairs: [[i16; BLOCK]; 2],
    pub(crate) block: [i16; BLOCK],
}

impl Mixer {
    pub(crate) fn new(lengths: Vec<i32>) -> Mixer {
        Mixer {
            voices: [Voice::default(); VOICES],
            lengths,
            window: [0; SPAN],
            pairs: [[0; BLOCK]; 2],
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
        if self.voices.iter().all(|v| v.sound == 0) {
            return self.block.fill(0);
        }
        let mut sums = [0; BLOCK];
        for (index, voice) in self.voices.iter_mut().enumerate().filter(|(_, v)| v.sound > 0) {
            let k = voice.sound as usize - 1;
            let length = self.lengths[k];
            let from = reads(&mut self.window, &sounds[k], voice.at as usize, voice.round);
            let step = (voice.aim - voice.gain).clamp(-RAMP, RAMP);
            let faster = voice.pace - 4096;
            let way = Way { part: voice.part, faster, gain: voice.gain, step, apart: apart(faster) };
            add(&mut sums, &mut self.pairs, from, &way);
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
        clip(&mut self.block, &sums);
    }
}

/// What a voice reads: from `at` on, round and round or silence beyond the end. Copied only where the sound ends meanwhile.
fn reads<'a>(window: &'a mut [i16; SPAN], sound: &'a [i16], at: usize, round: bool) -> &'a [i16; SPAN] {
    if let Some((here, _)) = sound.get(at..).and_then(|rest| rest.split_first_chunk()) {
        return here;
    }
    let (mut done, mut at) = (0, at);
    while done < SPAN {
        if at >= sound.len() {
            if !round {
                break;
            }
            at = 0;
        }
        let some = (SPAN - done).min(sound.len() - at);
        window[done..done + some].copy_from_slice(&sound[at..at + some]);
        done += some;
        at += some;
    }
    window[done..].fill(0);
    window
}

/// How a voice goes through what it reads: 4096ths of a sample where it begins, how many more than 4096 from value to value, gain
/// and how much of it is gained in a block.
struct Way {
    part: i32,
    faster: i32,
    gain: i32,
    step: i32,
    /// How much further than at its own pace each of eight values is than the first, 4096ths of a sample.
    apart: [u16; 8],
}

fn apart(faster: i32) -> [u16; 8] {
    std::array::from_fn(|lane| (lane as i32 * faster) as u16)
}

/// Adds a voice to the sums. Between samples it is a straight line.
fn add(sums: &mut [i32; BLOCK], pairs: &mut [[i16; BLOCK]; 2], from: &[i16; SPAN], way: &Way) {
    // Of eight values the last is at most so many samples further on than it would be at the voice's own pace.
    let [ones, twos] = match (4095 + 7 * way.faster) >> 12 {
        // Right on its samples, as all that is played once is.
        0 if way.part < 16 => return louder(sums, from.iter().copied(), way),
        0 => return between(sums, from, &from[1..], way),
        1 => picked::<1>(pairs, from, way),
        2 | 3 => picked::<3>(pairs, from, way),
        _ => picked::<7>(pairs, from, way),
    };
    between(sums, ones, twos, way);
}

/// The samples before and after each value. Eight are picked at once, each out of `STEPS` + 1 neighbours: the same as
/// looking them up one after the other, but a loop that looks nothing up takes a few instructions of eight lanes. Where the compiler sees where
/// `way` comes from it takes the first lane out of them, which is several times slower: hence on its own.
#[inline(never)]
fn picked<'a, const STEPS: usize>(
    pairs: &'a mut [[i16; BLOCK]; 2],
    from: &[i16; SPAN],
    way: &Way,
) -> &'a [[i16; BLOCK]; 2] {
    let [ones, twos] = pairs;
    let apart = &way.apart;
    let eights = ones.as_chunks_mut::<8>().0.iter_mut().zip(twos.as_chunks_mut::<8>().0);
    for (k, (ones, twos)) in eights.enumerate() {
        // At most twice the pitch: 248 and 248 samples, and 16 from there.
        let at = way.part + 8 * k as i32 * way.faster;
        let near = &from[8 * k + (at >> 12) as usize..][..9 + STEPS];
        let part = (at & 4095) as u16;
        let (mut one, mut two) = (pick(|lane| near[lane]), pick(|lane| near[lane + 1]));
        for step in 1..=STEPS {
            let there = pick(|lane| -i16::from(part + apart[lane] >= (step << 12) as u16));
            one = pick(|lane| one[lane] ^ ((one[lane] ^ near[lane + step]) & there[lane]));
            two = pick(|lane| two[lane] ^ ((two[lane] ^ near[lane + step + 1]) & there[lane]));
        }
        (*ones, *twos) = (one, two);
    }
    pairs
}

fn pick(of: impl Fn(usize) -> i16) -> [i16; 8] {
    std::array::from_fn(of)
}

/// Adds values between ones and twos. All but products fits 16 bits, and what does is worked out first, eight at once.
fn between(sums: &mut [i32; BLOCK], ones: &[i16], twos: &[i16], way: &Way) {
    let (part, faster) = (way.part as u16, way.faster as u16);
    let mut shares = [0; BLOCK];
    for (i, share) in (0..).zip(&mut shares) {
        *share = (part.wrapping_add(faster.wrapping_mul(i)) >> 4 & 255) as i16;
    }
    let values = ones.iter().zip(twos).zip(&shares).map(|((&one, &two), &share)| {
        // 32768 * 256 is the largest product, here and below.
        ((product(one, 256 - share) + product(two, share)) >> 8) as i16
    });
    louder(sums, values, way);
}

/// Adds values times a gain that goes by `step` of 256.
fn louder(sums: &mut [i32; BLOCK], values: impl Iterator<Item = i16>, way: &Way) {
    let (gain, step) = (way.gain as i16, way.step as i16);
    let mut gains = [0; BLOCK];
    for (i, at) in (0..).zip(&mut gains) {
        *at = gain + ((step * i) >> 8);
    }
    for ((sum, value), &gain) in sums.iter_mut().zip(values).zip(&gains) {
        *sum += product(value, gain);
    }
}

fn product(value: i16, gain: i16) -> i32 {
    i32::from(value) * i32::from(gain)
}

/// Sums of 256 to samples, within what a sample holds.
fn clip(block: &mut [i16; BLOCK], sums: &[i32; BLOCK]) {
    for (sample, &sum) in block.iter_mut().zip(sums) {
        *sample = (sum >> 8).clamp(-32768, 32767) as i16;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::Random;

    /// The kernel of the board, a value after the other: places of 4096ths, the line between two samples, the gain.
    fn looked_up(sums: &mut [i32; BLOCK], from: &[i16; SPAN], way: &Way) {
        let mut at = way.part;
        for (i, sum) in (0..).zip(sums) {
            let k = (at >> 12) as usize;
            let (a, b) = (i32::from(from[k]), i32::from(from[k + 1]));
            *sum += (a + (((b - a) * ((at >> 4) & 255)) >> 8)) * (way.gain + ((way.step * i) >> 8));
            at += 4096 + way.faster;
        }
    }

    #[test]
    fn eight_at_once_are_the_same_as_one_after_the_other() {
        let mut random = Random::new(7);
        let mut any = |least: i32, most: i32| least + (random.unit() * f64::from(most - least + 1)) as i32;
        for round in 0..2000 {
            let from = std::array::from_fn(|_| match any(0, 9) {
                0 => i16::MIN,
                1 => i16::MAX,
                _ => any(-32768, 32767) as i16,
            });
            let faster =
                [0, 1, any(0, 585), any(0, 1755), any(0, 4096), 4096, 585, 586, 1170, 1171, 1755, 1756][round % 12];
            let part = [0, 15, 16, 4095, any(0, 4095)][round % 5];
            let gain = any(0, 256);
            let step = any(-gain.min(RAMP), (256 - gain).min(RAMP));
            let way = Way { part, faster, gain, step, apart: apart(faster) };
            let (mut one, mut two) = ([any(-9, 9); BLOCK], [0; BLOCK]);
            two.copy_from_slice(&one);
            looked_up(&mut one, &from, &way);
            add(&mut two, &mut [[0; BLOCK]; 2], &from, &way);
            assert!(one == two, "round {round}: part {part}, faster {faster}, gain {gain} by {step}");
        }
    }
}
