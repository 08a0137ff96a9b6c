//! Every reader over good files, files changed at random, and files whose counts lie: no panic, and memory in proportion to
//! the file. The same entry as the fuzz target's; a fixed count of inputs from a fixed seed.

mod endure_seeds;
#[path = "../../../fuzz/src/entry.rs"]
mod entry;

use endure_seeds::seeds;
use peak_alloc::PeakAlloc;
use solid::read::{Format, ReadError, shape};

#[global_allocator]
static MEMORY: PeakAlloc = PeakAlloc;

/// How many changed files are read, each as every format.
const CHANGED: usize = 40_000;

/// One test, since the memory that it measures is that of the whole program.
#[test]
fn any_bytes_are_read_or_refused_in_memory_that_fits_the_file() {
    let seeds = seeds();
    for (format, bytes) in &seeds {
        assert!(shape(*format, bytes, "stem").is_ok(), "{format}");
    }
    let mut dice = Dice(0x5eed);
    for _ in 0..CHANGED {
        let (own, bytes) = &seeds[dice.below(seeds.len())];
        let mut bytes = bytes.clone();
        for _ in 0..=dice.below(4) {
            change(&mut bytes, &seeds, &mut dice);
        }
        for format in entry::FORMATS.into_iter().filter(|f| f == own || dice.below(8) == 0) {
            measured(format, &bytes);
        }
    }
    false_counts();
}

/// Reads, and holds the peak of memory against the file's length.
fn measured(format: Format, bytes: &[u8]) {
    MEMORY.reset_peak_usage();
    let before = MEMORY.current_usage();
    entry::read(format, bytes);
    let taken = MEMORY.peak_usage().saturating_sub(before);
    // A vertex takes 24 bytes, its place in the joining table 8 more, a face 12; vectors that grow double. What is
    // packed may unpack to 200 times its length and a mebibyte, and every element has a table entry of its own.
    let content = if format == Format::ThreeMf { 201 * bytes.len() + (1 << 20) } else { bytes.len() };
    let allowed = 64 * content + (2 << 20);
    assert!(taken <= allowed, "{taken} bytes of memory for {} bytes of {format}", bytes.len());
}

/// Small files that claim two gigabytes of content are refused for being short, and take no memory for it.
fn false_counts() {
    const TWO_GIGABYTES: u64 = 2 << 30;
    let facets = (TWO_GIGABYTES / 50) as u32;
    let mut stl = vec![b' '; 80];
    stl.extend(facets.to_le_bytes());
    stl.extend([0; 100]);
    let vertices = TWO_GIGABYTES / 12;
    let ply = format!(
        "ply\nformat binary_little_endian 1.0\nelement vertex {vertices}\nproperty float x\nproperty float y\nproperty float z\n\
         element face 1\nproperty list uchar int vertex_indices\nend_header\n0123456789012345678901234567890"
    );
    let off = format!("OFF\n{vertices} {vertices} 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n");
    let glb = endure_seeds::glb(&endure_seeds::GLB_JSON.replace("\"count\":4", &format!("\"count\":{vertices}")));
    let cases =
        [(Format::Stl, stl), (Format::Ply, ply.into_bytes()), (Format::Off, off.into_bytes()), (Format::Glb, glb)];
    for (format, bytes) in cases {
        measured(format, &bytes);
        let error = shape(format, &bytes, "stem").unwrap_err();
        assert!(matches!(error, ReadError::Short { .. }), "{format}: {error}");
    }
    // A container that says its one part unpacks to two gigabytes.
    let (_, mut packed) = seeds().into_iter().find(|(f, _)| *f == Format::ThreeMf).unwrap();
    let central = packed.windows(4).position(|w| w == b"PK\x01\x02").unwrap();
    packed[central + 24..central + 28].copy_from_slice(&(TWO_GIGABYTES as u32).to_le_bytes());
    measured(Format::ThreeMf, &packed);
}

/// One change to a file: bytes set, cut, doubled, numbers made large, a stretch of another file put in.
fn change(bytes: &mut Vec<u8>, seeds: &[(Format, Vec<u8>)], dice: &mut Dice) {
    if bytes.is_empty() {
        bytes.push(dice.below(256) as u8);
        return;
    }
    let at = dice.below(bytes.len());
    let end = (at + 1 + dice.below(16)).min(bytes.len());
    match dice.below(8) {
        0 => bytes[at] = dice.below(256) as u8,
        1 => bytes[at] ^= 1 << dice.below(8),
        2 => bytes[at..end].fill([0, 0xff, 0x7f, b'9', b'-'][dice.below(5)]),
        3 => drop(bytes.drain(at..end)),
        4 => bytes.truncate(at),
        5 => {
            let stretch = bytes[at..end].to_vec();
            bytes.splice(at..at, stretch);
        }
        6 => {
            let words: [&[u8]; 6] = [b"4294967295", b"-1", b"1e308", b"nan", b"2147483648", b" "];
            bytes.splice(at..at, words[dice.below(6)].iter().copied());
        }
        _ => {
            let other = &seeds[dice.below(seeds.len())].1;
            let from = dice.below(other.len());
            let to = (from + dice.below(64)).min(other.len());
            bytes.splice(at..end, other[from..to].iter().copied());
        }
    }
}

/// Numbers that look random and repeat (Marsaglia, Xorshift RNGs, Journal of Statistical Software 8(14), 2003).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % n as u64) as usize
    }
}
