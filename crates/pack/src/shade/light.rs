//! Samples to colours: two lights, shade in the hollows, hatch on the cut, ink along the edges.

use super::raster::{GRID, Sample, Seen};
use super::view::View;
use super::{SIZE, SUPER};
use crate::look::{PAPER, rgb};

/// Key light from the upper left, fill from the right, both from the eye's side so that the inside is lit.
const KEY: [f32; 3] = [-0.50, 0.62, 0.61];
const FILL: [f32; 3] = [0.74, 0.10, 0.66];
/// How far a hollow is felt, mm, and in how many directions and steps it is looked for.
const HOLLOW_MM: f64 = 14.0;
const DIRECTIONS: usize = 12;
const STEPS: usize = 4;
/// Hatch on the cut face: distance and width of its lines, mm on the piece; grid of the bed, mm.
const HATCH_MM: [f64; 2] = [2.0, 0.3];
const BED_GRID_MM: f64 = 10.0;

type Colour = [f32; 3];

/// The picture, row by row, sRGB values 0 to 1.
pub(crate) fn image(samples: &[Sample], view: &View) -> Vec<Colour> {
    let open = open_sky(samples, view);
    let ink = edges(samples, view);
    let (paper, line) = (colour(PAPER.paper), colour(PAPER.ink));
    let mut image = Vec::with_capacity(SIZE[0] * SIZE[1]);
    for row in 0..SIZE[1] {
        for column in 0..SIZE[0] {
            let sky = open[row * SIZE[0] + column];
            let mut sum = [0.0f32; 3];
            for sy in row * SUPER..(row + 1) * SUPER {
                for sx in column * SUPER..(column + 1) * SUPER {
                    let sample = &samples[sy * GRID[0] + sx];
                    let plain = match sample.seen {
                        Seen::Ground => paper,
                        Seen::Bed => bed(view, sample, sx, sy, sky),
                        Seen::Surface => surface(sample.normal(), sky),
                        Seen::Cut => cut(view, sample, sx, sy),
                    };
                    let c = mix(plain, line, f32::from(ink[sy * GRID[0] + sx]) / 255.0);
                    for k in 0..3 {
                        sum[k] += c[k];
                    }
                }
            }
            image.push(sum.map(|v| v / (SUPER * SUPER) as f32));
        }
    }
    image
}

fn colour(hex: &str) -> Colour {
    rgb(hex).map(|v| v as f32)
}

fn mix(a: Colour, b: Colour, share: f32) -> Colour {
    [0, 1, 2].map(|k| a[k] + (b[k] - a[k]) * share)
}

fn dot(a: [f32; 3], b: [f32; 3]) -> f32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn surface(normal: [f32; 3], sky: f32) -> Colour {
    let shade = (0.47 + 0.44 * dot(normal, KEY).max(0.0) + 0.20 * dot(normal, FILL).max(0.0)) * sky;
    // Warm white plastic whose shadows go towards ink.
    mix([0.13, 0.17, 0.22], [0.975, 0.965, 0.935], shade.clamp(0.0, 1.0))
}

fn bed(view: &View, sample: &Sample, x: usize, y: usize, sky: f32) -> Colour {
    let p = view.point(x as f64 + 0.5, y as f64 + 0.5, f64::from(sample.depth));
    let half_line = 0.5 * SUPER as f64 / view.scale;
    let off_grid = |v: f64| (v - (v / BED_GRID_MM).round() * BED_GRID_MM).abs();
    let rim = [p.x - view.bed[0].x, view.bed[1].x - p.x, p.y - view.bed[0].y, view.bed[1].y - p.y];
    let plain = mix(colour(PAPER.paper), colour(PAPER.ink), 0.06);
    let lined = if rim.into_iter().any(|d| d < 3.0 * half_line) {
        colour(PAPER.slate)
    } else if off_grid(p.x) < half_line || off_grid(p.y) < half_line {
        mix(plain, colour(PAPER.slate), 0.30)
    } else {
        plain
    };
    mix(colour(PAPER.ink), lined, 0.45 + 0.55 * sky)
}

fn cut(view: &View, sample: &Sample, x: usize, y: usize) -> Colour {
    let p = view.point(x as f64 + 0.5, y as f64 + 0.5, f64::from(sample.depth));
    let Some(opening) = view.opening else { return colour(PAPER.slate) };
    // 45 degrees on the face itself: along the bed and up.
    let along = solid::DVec3::Z.cross(opening.normal).dot(p);
    let v = (p.z - along) * std::f64::consts::FRAC_1_SQRT_2 / HATCH_MM[0];
    let on_line = (v - v.round()).abs() * HATCH_MM[0] < HATCH_MM[1] * 0.5;
    mix(colour(PAPER.paper), colour(PAPER.slate), if on_line { 1.0 } else { 0.52 })
}

/// How much of the sky each pixel sees, 0 to 1, from the depths around it: what rises above its own plane takes sky away.
fn open_sky(samples: &[Sample], view: &View) -> Vec<f32> {
    let middle = |column: usize, row: usize| &samples[(row * SUPER + SUPER / 2) * GRID[0] + column * SUPER + SUPER / 2];
    let pixels_per_mm = view.scale / SUPER as f64;
    let ring: Vec<[f64; 2]> = (0..DIRECTIONS)
        .flat_map(|d| {
            let (sin, cos) = libm::sincos(std::f64::consts::TAU * d as f64 / DIRECTIONS as f64);
            (1..=STEPS).map(move |s| {
                let r = HOLLOW_MM * pixels_per_mm * (s as f64 / STEPS as f64) * (s as f64 / STEPS as f64);
                [cos * r, sin * r]
            })
        })
        .collect();
    let mut sky = vec![1.0f32; SIZE[0] * SIZE[1]];
    for row in 0..SIZE[1] {
        for column in 0..SIZE[0] {
            let here = middle(column, row);
            if here.seen == Seen::Ground || here.seen == Seen::Cut {
                continue;
            }
            let normal = here.normal();
            let mut hidden = 0.0f32;
            for directions in ring.chunks(STEPS) {
                let mut highest = 0.0f32;
                for [dx, dy] in directions {
                    let (x, y) = (column as f64 + dx, row as f64 + dy);
                    if x < 0.0 || y < 0.0 || x >= SIZE[0] as f64 || y >= SIZE[1] as f64 {
                        continue;
                    }
                    let there = middle(x as usize, y as usize);
                    if there.seen == Seen::Ground {
                        continue;
                    }
                    let way = [
                        ((x.floor() - column as f64) / pixels_per_mm) as f32,
                        -((y.floor() - row as f64) / pixels_per_mm) as f32,
                        here.depth - there.depth,
                    ];
                    let distance = dot(way, way).sqrt();
                    if distance > 1e-3 {
                        // Far things in front are another part of the piece, not the rim of this hollow.
                        let near = (1.5 - distance / (2.0 * HOLLOW_MM as f32)).clamp(0.0, 1.0);
                        highest = highest.max((dot(way, normal) / distance - 0.08) * near);
                    }
                }
                hidden += highest;
            }
            sky[row * SIZE[0] + column] = 1.0 - 0.85 * hidden / DIRECTIONS as f32;
        }
    }
    smoothed(&sky, samples)
}

/// Mean over 5 x 5 pixels of the same kind and near depth, so that the few directions leave no pattern.
fn smoothed(sky: &[f32], samples: &[Sample]) -> Vec<f32> {
    let sample = |column: usize, row: usize| &samples[(row * SUPER + SUPER / 2) * GRID[0] + column * SUPER + SUPER / 2];
    let mut out = Vec::with_capacity(sky.len());
    for row in 0..SIZE[1] {
        for column in 0..SIZE[0] {
            let here = sample(column, row);
            let (mut sum, mut count) = (0.0f32, 0.0f32);
            for y in row.saturating_sub(2)..(row + 3).min(SIZE[1]) {
                for x in column.saturating_sub(2)..(column + 3).min(SIZE[0]) {
                    let there = sample(x, y);
                    if there.seen == here.seen && (there.depth - here.depth).abs() < 2.0 {
                        sum += sky[y * SIZE[0] + x];
                        count += 1.0;
                    }
                }
            }
            out.push(if count > 0.0 { sum / count } else { 1.0 });
        }
    }
    out
}

/// Darkness of the ink along outlines and steps in depth, and along creases, of 255.
const OUTLINE: u8 = 215;
const CREASE: u8 = 115;

/// How dark the ink is at each sample.
fn edges(samples: &[Sample], view: &View) -> Vec<u8> {
    let mm = (1.0 / view.scale) as f32;
    let mut ink = vec![0u8; samples.len()];
    for row in 0..GRID[1] - 1 {
        for column in 0..GRID[0] - 1 {
            let at = row * GRID[0] + column;
            for next in [at + 1, at + GRID[0]] {
                let dark = edge(&samples[at], &samples[next], next == at + 1, mm);
                if dark > ink[at] {
                    ink[at] = dark;
                }
                if dark > ink[next] {
                    ink[next] = dark;
                }
            }
        }
    }
    widened(&ink)
}

fn edge(a: &Sample, b: &Sample, level: bool, mm: f32) -> u8 {
    let flat = |s: &Sample| matches!(s.seen, Seen::Ground | Seen::Bed);
    if flat(a) && flat(b) {
        return 0;
    }
    if a.seen != b.seen {
        return OUTLINE;
    }
    // Depth that the plane of either sample foretells at the other; a step differs from both.
    let foretold = |normal: [f32; 3]| {
        let slope = if level { normal[0] } else { -normal[1] };
        slope * mm / normal[2].max(0.05)
    };
    let (na, nb) = (a.normal(), b.normal());
    let step = b.depth - a.depth;
    let jump = (step - foretold(na)).abs().min((step - foretold(nb)).abs());
    if jump > 0.8 {
        return OUTLINE;
    }
    if dot(na, nb) < 0.80 { CREASE } else { 0 }
}

/// Every dark sample also darkens its four neighbours: lines about one pixel wide.
fn widened(ink: &[u8]) -> Vec<u8> {
    let mut wide = ink.to_vec();
    for row in 1..GRID[1] - 1 {
        for column in 1..GRID[0] - 1 {
            let at = row * GRID[0] + column;
            let around = [at - 1, at + 1, at - GRID[0], at + GRID[0]];
            wide[at] = around.iter().fold(ink[at], |dark, i| dark.max(ink[*i]));
        }
    }
    wide
}
