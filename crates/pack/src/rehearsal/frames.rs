//! `frames.bin`: what the strip showed, compact.
//!
//! Numbers are unsigned, little end first. A head of 20 bytes: the letters `LTFR`, the form's number (2 bytes, 1), pixels of a
//! strip (2), strips that all show the same (2), frames a second (2), how many frames there are (4), how many of them are
//! written (4). Then each frame that differs from the one before it: its number, counted from 0 (4), and red, green, blue of
//! each pixel as they are driven (0 to 255). A frame that is not written is the same as the one before; before the first, dark.

use behaviour::{FRAMES_A_SECOND, Rehearsal};
use prop::conduct::Conduct;

/// The file.
pub(super) fn bytes(conduct: &Conduct, run: &Rehearsal) -> Vec<u8> {
    let mut last = vec![0; 3 * usize::from(conduct.pixels)];
    let mut body = Vec::new();
    let mut written: u32 = 0;
    for (number, (_, frame)) in run.frames.iter().enumerate() {
        if *frame == last {
            continue;
        }
        body.extend_from_slice(&(number as u32).to_le_bytes());
        body.extend_from_slice(frame);
        last.copy_from_slice(frame);
        written += 1;
    }
    let mut all = b"LTFR".to_vec();
    for number in [1, conduct.pixels, conduct.strips, FRAMES_A_SECOND as u16] {
        all.extend_from_slice(&number.to_le_bytes());
    }
    all.extend_from_slice(&(run.frames.len() as u32).to_le_bytes());
    all.extend_from_slice(&written.to_le_bytes());
    all.extend(body);
    all
}
