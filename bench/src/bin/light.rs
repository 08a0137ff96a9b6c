//! Times the light of a blade: photon paths a second, time to a stated noise, how both grow with pixels and triangles,
//! and how many pictures a second come from the response.
//!
//! `cargo run --release --manifest-path bench/Cargo.toml --bin light -- [SECONDS]`; each row takes about that long (10).
//! The time to 2 % is reckoned from the noise reached, which falls as the root of the photons. Beside the clock stands
//! the time that processors were busy, which others on the machine don't lengthen.

#[path = "../cost.rs"]
mod cost;

use cost::{cpu_s, peak_mb};
use glow::{Band, Coat, Face, Finish, LightSpec, Medium, Outside, Passage, Pixel, Scene, Solid, light};
use solid::{Cancel, DVec2, DVec3, Mesh, cuboid};
use std::process::ExitCode;
use std::time::Instant;

/// Length of the blade, its pieces, half its width and height, and those of its cavity; where windows begin. All mm.
const LENGTH: f64 = 1500.0;
const PIECES: usize = 5;
const OUTER: DVec2 = DVec2::new(30.0, 12.5);
const INNER: DVec2 = DVec2::new(24.0, 10.5);
const WINDOW: f64 = 26.5;

/// Patches are so long; four windows and four painted ones side by side.
const PATCH: f64 = 10.0;

/// What noise the time is reckoned for: of a square centimetre of window.
const NOISE: f64 = 0.02;

/// Corners round a section.
const AROUND: usize = 96;

fn main() -> ExitCode {
    let seconds = match std::env::args().nth(1).map(|word| word.parse::<f64>()) {
        None => 10.0,
        Some(Ok(seconds)) if seconds > 0.0 => seconds,
        Some(_) => {
            println!("usage: light [SECONDS]");
            return ExitCode::from(2);
        }
    };
    let head = ["paths/s", "cpu us", "noise", "2 % s", "cpu s", "frames/s", "MB"].map(|w| format!("{w:>10}")).concat();
    println!("{:>9}{:>7}  passage{head}", "triangles", "pixels");
    let rows = [
        (Passage::Walked, 60, 180),
        (Passage::Guided, 60, 180),
        (Passage::Guided, 60, 90),
        (Passage::Guided, 60, 45),
        (Passage::Guided, 15, 180),
        (Passage::Guided, 240, 180),
    ];
    for (passage, rings, n_pixels) in rows {
        match row(passage, rings, n_pixels, seconds) {
            Ok(text) => println!("{text}"),
            Err(fault) => {
                println!("{fault}");
                return ExitCode::FAILURE;
            }
        }
    }
    ExitCode::SUCCESS
}

fn row(passage: Passage, rings: usize, n_pixels: u32, seconds: f64) -> Result<String, String> {
    let blade = Blade::new(rings, n_pixels).map_err(|e| e.to_string())?;
    let run = |photons: u32| {
        let spec =
            LightSpec { passage, watched_mm2: blade.areas.clone(), noise: NOISE, most_photons: photons, seed: 1 };
        let (start, busy) = (Instant::now(), cpu_s());
        let response = light(&blade.scene, &blade.band, &blade.paint, &blade.pixels, &spec, &Cancel::default());
        response.map(|r| (r, start.elapsed().as_secs_f64(), cpu_s() - busy)).map_err(|e| e.to_string())
    };
    // The first run takes one batch a pixel and the making of tables; the second as many as fit.
    let (_, first_s, first_cpu) = run(256)?;
    let batches = (seconds / first_s).clamp(8.0, 4000.0) as u32;
    let (response, clock_s, busy_s) = run(256 * batches)?;
    let n_photons = response.totals.n_photons as f64;
    let more = (response.totals.noise / NOISE) * (response.totals.noise / NOISE);
    let start = Instant::now();
    let mut frames = 0_u32;
    let mut weights = vec![0.5_f32; n_pixels as usize];
    let mut sum = 0.0;
    while start.elapsed().as_secs_f64() < 0.5 {
        weights[frames as usize % n_pixels as usize] = 1.0;
        sum += response.lit(&weights)[0];
        frames += 1;
    }
    if !sum.is_finite() || response.totals.lost > 1e-4 {
        return Err(format!("a fault of the tracer: {:?}", response.totals));
    }
    let name = if passage == Passage::Walked { "walked " } else { "guided " };
    let mut text = format!("{:>9}{n_pixels:>7}  {name}", blade.scene.n_triangles());
    text += &format!("{:>10.0}{:>10.1}", n_photons / clock_s, 1e6 * (busy_s - first_cpu).max(0.0) / n_photons);
    text += &format!("{:>9.2}%{:>10.0}{:>10.0}", 100.0 * response.totals.noise, clock_s * more, busy_s * more);
    text += &format!("{:>10.0}{:>10.0}", f64::from(frames) / start.elapsed().as_secs_f64(), peak_mb());
    Ok(text)
}

/// A blade in pieces that are glued, with a double strip, black ends and windows along its edges.
struct Blade {
    scene: Scene,
    band: Band,
    pixels: Vec<Pixel>,
    areas: Vec<f64>,
    paint: Paint,
}

/// Which triangles of a piece are inner faces.
struct Paint(Vec<bool>);

impl Outside for Paint {
    fn face(&self, _: usize, triangle: usize, point: DVec3) -> Face {
        if self.0[triangle] {
            return Face { finish: Finish::Bare, patch: None };
        }
        let along = (point.z / PATCH).clamp(0.0, LENGTH / PATCH - 1.0) as u32;
        let side = u32::from(point.x > 0.0) * 2 + u32::from(point.y > 0.0);
        if point.x.abs() > WINDOW {
            Face { finish: Finish::Bare, patch: Some(along * 8 + side) }
        } else {
            let primer = Coat { reflectance: 0.5, transmittance: 0.0 };
            Face { finish: Finish::Coat(primer), patch: Some(along * 8 + 4 + side) }
        }
    }
}

impl Blade {
    fn new(rings: usize, n_pixels: u32) -> Result<Self, glow::SceneError> {
        let long = LENGTH / PIECES as f64;
        let pieces: Vec<(Solid, Vec<bool>)> = (0..PIECES).map(|k| piece(k, long, rings)).collect();
        let inner = pieces[0].1.clone();
        let solids: Vec<Solid> = pieces.into_iter().map(|(solid, _)| solid).collect();
        let ends = [-2.0, LENGTH].map(|z| cuboid(DVec3::new(-35.0, -20.0, z), DVec3::new(35.0, 20.0, z + 2.0)));
        let board = cuboid(DVec3::new(-0.5, -5.0, 0.5), DVec3::new(0.5, 5.0, LENGTH - 0.5));
        let [low, high] = ends;
        let scene = Scene::new(&solids, &[board, low, high])?;
        // White plastic as a guess has it: reduced scattering 2 per mm.
        let white = Medium { scatter_per_mm: 2.0, anisotropy: 0.0, absorb_per_mm: 0.005, index: 1.46 };
        let glue = Coat { reflectance: 0.05, transmittance: 0.9 };
        let band = Band { media: vec![white; PIECES], reflectances: vec![0.5, 0.05, 0.05], glue };
        let pixels = (0..n_pixels)
            .map(|i| {
                let side = if i % 2 == 0 { 1.0 } else { -1.0 };
                let z = (f64::from(i / 2) + 0.5) * LENGTH / f64::from(n_pixels.div_ceil(2));
                Pixel::lambertian(DVec3::new(1.5 * side, 0.0, z), DVec3::X * side)
            })
            .collect();
        let outline = lens(OUTER, 4000);
        let girth: f64 = outline
            .windows(2)
            .filter(|w| w[0].x > WINDOW && w[1].x > WINDOW && w[0].y > 0.0)
            .map(|w| w[0].distance(w[1]))
            .sum();
        let n = (LENGTH / PATCH) as usize * 8;
        let areas = (0..n).map(|i| if i % 8 < 4 { girth * PATCH } else { 0.0 }).collect();
        Ok(Self { scene, band, pixels, areas, paint: Paint(inner) })
    }
}

/// A section between two parabolas through (±x, 0) and (0, ±y), counter-clockwise.
fn lens(half: DVec2, n: usize) -> Vec<DVec2> {
    (0..n)
        .map(|i| {
            let side = if i < n / 2 { 1.0 } else { -1.0 };
            let x = 1.0 - 4.0 * (i % (n / 2)) as f64 / n as f64;
            half * DVec2::new(x, 1.0 - x * x) * side
        })
        .collect()
}

/// A tube between two lenses, open at its cut faces; which of its triangles are inner faces.
fn piece(k: usize, long: f64, rings: usize) -> (Solid, Vec<bool>) {
    let mut mesh = Mesh::default();
    let sections = [lens(OUTER, AROUND), lens(INNER, AROUND)];
    for i in 0..=rings {
        let z = long * (k as f64 + i as f64 / rings as f64);
        mesh.vertices.extend(sections.iter().flatten().map(|p| p.extend(z)));
    }
    let n = AROUND as u32;
    let at = |ring: usize, which: u32, corner: u32| ring as u32 * 2 * n + which * n + corner % n;
    let (mut glued, mut inner) = (Vec::new(), Vec::new());
    let mut add = |[a, b, c, d]: [u32; 4], is_glued: bool, is_inner: bool| {
        mesh.triangles.extend([[a, b, c], [a, c, d]]);
        glued.extend([is_glued; 2]);
        inner.extend([is_inner; 2]);
    };
    for j in 0..n {
        for i in 0..rings {
            add([at(i, 0, j), at(i, 0, j + 1), at(i + 1, 0, j + 1), at(i + 1, 0, j)], false, false);
            add([at(i, 1, j), at(i + 1, 1, j), at(i + 1, 1, j + 1), at(i, 1, j + 1)], false, true);
        }
        let (first, last) = (k == 0, k + 1 == PIECES);
        add([at(0, 0, j), at(0, 1, j), at(0, 1, j + 1), at(0, 0, j + 1)], !first, false);
        add([at(rings, 0, j), at(rings, 0, j + 1), at(rings, 1, j + 1), at(rings, 1, j)], !last, false);
    }
    (Solid { mesh, glued }, inner)
}
