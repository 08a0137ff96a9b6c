//! The scale bar: 50 mm, with its length written beside it.

use super::view::View;
use super::{SIZE, SUPER};
use crate::look::{PAPER, rgb};

type Segment = [[f64; 2]; 2];

/// Strokes of the few characters needed, on a box 4 wide and 6 high, y down.
fn strokes(c: char) -> &'static [&'static [[f64; 2]]] {
    match c {
        '5' => &[&[[3.8, 0.0], [0.5, 0.0], [0.2, 2.6], [2.2, 2.2], [3.8, 3.2], [3.8, 4.8], [2.4, 6.0], [0.2, 5.6]]],
        '0' => &[&[
            [1.3, 0.0],
            [2.7, 0.0],
            [3.8, 1.4],
            [3.8, 4.6],
            [2.7, 6.0],
            [1.3, 6.0],
            [0.2, 4.6],
            [0.2, 1.4],
            [1.3, 0.0],
        ]],
        '1' => &[&[[0.6, 1.4], [2.2, 0.0], [2.2, 6.0]]],
        'm' => &[
            &[[0.0, 6.0], [0.0, 2.0]],
            &[[0.0, 2.8], [0.9, 2.0], [1.7, 2.6], [1.7, 6.0]],
            &[[1.7, 2.8], [2.7, 2.0], [3.6, 2.6], [3.6, 6.0]],
        ],
        _ => &[],
    }
}

/// Draws the bar in the lower left corner: 50 mm, or 10 mm where 50 would not fit.
pub(crate) fn scale_bar(image: &mut [[f32; 3]], view: &View) {
    let per_mm = view.scale / SUPER as f64;
    let (length, text) = if 50.0 * per_mm <= 0.6 * SIZE[0] as f64 { (50.0, "50 mm") } else { (10.0, "10 mm") };
    let (x, y) = (40.0, SIZE[1] as f64 - 30.0);
    let end = x + length * per_mm;
    let mut segments: Vec<Segment> = vec![[[x, y], [end, y]]];
    segments.extend([x, end].map(|x| [[x, y - 7.0], [x, y + 7.0]]));
    let size = 2.6;
    let mut pen = end + 14.0;
    for c in text.chars() {
        for stroke in strokes(c) {
            segments.extend(
                stroke.windows(2).map(|w| [w[0], w[1]].map(|p| [pen + p[0] * size, y - 3.0 * size + p[1] * size])),
            );
        }
        pen += if c == ' ' { 3.0 } else { 5.6 } * size;
    }
    for segment in segments {
        stroke(image, segment, 2.2);
    }
}

/// One line of `width` pixels with soft rims.
fn stroke(image: &mut [[f32; 3]], [a, b]: Segment, width: f64) {
    let ink = rgb(PAPER.ink);
    let reach = width / 2.0 + 1.0;
    let range = |k: usize| {
        let (low, high) = (a[k].min(b[k]) - reach, a[k].max(b[k]) + reach);
        (low.floor().max(0.0) as usize)..(high.ceil().clamp(0.0, SIZE[k] as f64) as usize)
    };
    let d = [b[0] - a[0], b[1] - a[1]];
    for row in range(1) {
        for column in range(0) {
            let p = [column as f64 + 0.5 - a[0], row as f64 + 0.5 - a[1]];
            let share = ((p[0] * d[0] + p[1] * d[1]) / (d[0] * d[0] + d[1] * d[1])).clamp(0.0, 1.0);
            let off = [p[0] - d[0] * share, p[1] - d[1] * share];
            let distance = (off[0] * off[0] + off[1] * off[1]).sqrt();
            let cover = (width / 2.0 + 0.5 - distance).clamp(0.0, 1.0) as f32;
            let pixel = &mut image[row * SIZE[0] + column];
            for k in 0..3 {
                pixel[k] += (ink[k] as f32 - pixel[k]) * cover;
            }
        }
    }
}
