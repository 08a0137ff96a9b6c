//! Random numbers with as many independent streams as there are chunks of work.

use solid::DVec2;

/// A stream of random numbers: xoshiro256++ (Blackman and Vigna, "Scrambled linear pseudorandom number generators", ACM
/// Trans. Math. Softw. 47, 2021), seeded by splitmix64 (Steele, Lea and Flood, OOPSLA 2014). It is here rather than taken
/// from a library because stored results hang on it: its numbers may never change.
#[derive(Clone, Debug)]
pub struct Random {
    state: [u64; 4],
}

impl Random {
    /// The stream of that number under that seed. Streams of different numbers or seeds have nothing to do with each other.
    pub fn of(seed: u64, stream: u64) -> Self {
        // The stream is mixed before it meets the seed, so that (1, 2) and (2, 1), or neighbours, start far apart.
        let mut mixer = seed ^ splitmix(&mut stream.wrapping_add(0x6a09_e667_f3bc_c909));
        Self { state: std::array::from_fn(|_| splitmix(&mut mixer)) }
    }

    /// The next 64 bits.
    #[inline]
    pub fn bits(&mut self) -> u64 {
        let s = &mut self.state;
        let out = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = s[3].rotate_left(45);
        out
    }

    /// A number in (0, 1), neither end included, so that its logarithm is finite and below zero.
    #[inline]
    pub fn uniform(&mut self) -> f64 {
        // 52 bits and a half: the largest is 1 - 2^-53, which a double holds exactly.
        ((self.bits() >> 12) as f64 + 0.5) * (1.0 / (1_u64 << 52) as f64)
    }

    /// A free path in units of the mean free path: exponential with mean 1.
    #[inline]
    pub fn path(&mut self) -> f64 {
        -libm::log(self.uniform())
    }

    /// A direction all round: a unit vector (cosine, sine) of an even azimuth. Without a sine: a point in the unit disc, its
    /// angle doubled (von Neumann, Natl. Bur. Stand. Appl. Math. Ser. 12, 1951).
    #[inline]
    pub fn azimuth(&mut self) -> DVec2 {
        loop {
            let (x, y) = (2.0 * self.uniform() - 1.0, 2.0 * self.uniform() - 1.0);
            let square = x * x + y * y;
            if square <= 1.0 && square > 1e-12 {
                return DVec2::new((x * x - y * y) / square, 2.0 * x * y / square);
            }
        }
    }
}

fn splitmix(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_numbers_are_those_of_the_published_generators() {
        // Values of the authors' C code for these starts, from memory; the first is 5 * 2^23 + 1 by hand.
        let mut random = Random { state: [1, 2, 3, 4] };
        let first: Vec<u64> = (0..4).map(|_| random.bits()).collect();
        assert_eq!(first, [41_943_041, 58_720_359, 3_588_806_011_781_223, 3_591_011_842_654_386]);
        let mut state = 1_234_567;
        let first: Vec<u64> = (0..3).map(|_| splitmix(&mut state)).collect();
        assert_eq!(first, [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]);
    }

    #[test]
    fn uniform_numbers_are_even_and_streams_apart() {
        let n = 200_000;
        for (seed, stream) in [(0, 0), (0, 1), (1, 0), (7, 1 << 40)] {
            let mut random = Random::of(seed, stream);
            let mut tenths = [0_u32; 10];
            let mut sum = 0.0;
            for _ in 0..n {
                let u = random.uniform();
                assert!(u > 0.0 && u < 1.0);
                tenths[(u * 10.0) as usize] += 1;
                sum += u;
            }
            // Chi-square with 9 degrees of freedom exceeds 33.7 once in 10 000 (tables of the distribution).
            let want = f64::from(n) / 10.0;
            let chi: f64 = tenths.iter().map(|&k| (f64::from(k) - want) * (f64::from(k) - want) / want).sum();
            assert!(chi < 33.7, "{seed} {stream}: {chi}");
            assert!((sum / f64::from(n) - 0.5).abs() < 4.0 * (1.0_f64 / 12.0 / f64::from(n)).sqrt());
        }
        let starts = [(0, 0), (0, 1), (1, 0), (1, 1), (1, 2), (2, 1)].map(|(a, b)| Random::of(a, b).bits());
        for (i, a) in starts.iter().enumerate() {
            assert!(starts[..i].iter().all(|b| a != b), "{starts:?}");
        }
    }

    #[test]
    fn paths_and_azimuths_have_their_means() {
        let mut random = Random::of(3, 4);
        let n = 200_000;
        let (mut path, mut cosine, mut square) = (0.0, 0.0, 0.0);
        for _ in 0..n {
            path += random.path();
            let around = random.azimuth();
            assert!((around.length() - 1.0).abs() < 1e-12);
            cosine += around.x;
            square += around.x * around.x;
        }
        let n = f64::from(n);
        assert!((path / n - 1.0).abs() < 4.0 / n.sqrt());
        assert!((cosine / n).abs() < 4.0 * (0.5 / n).sqrt());
        // The square of an even cosine has mean 1/2 and variance 1/8.
        assert!((square / n - 0.5).abs() < 4.0 * (0.125 / n).sqrt());
    }
}
