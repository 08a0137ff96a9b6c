//! The prop as it is seen lit: from the front, the back and the edge, in a dark and in a bright room.

use crate::shade::{encode, raster::fill};
use crate::{Artifact, PackError};
use prop::light::{Cells, Lighting};
use prop::outcome::Outcome;
use rayon::prelude::*;
use solid::{DVec2, DVec3};

/// What the eye can just tell apart: a minute of arc. A picture's pixel covers as much at the viewing distance.
const EYE_DEG: f64 = 1.0 / 60.0;
/// Widest picture, pixels, and samples a pixel in each direction.
const WIDEST: f64 = 3000.0;
const SUPER: usize = 2;
/// Room round the prop, pixels.
const MARGIN: usize = 40;
/// Illuminance, lx (from memory: a dimmed hall; indoor lighting for reading).
const ROOMS: [(&str, f64); 2] = [("dark", 5.0), ("bright", 500.0)];
/// Reflectance of what is no window, and of what stands behind the prop (our choice).
const PLAIN: f64 = 0.35;
const BEHIND: f64 = 0.06;
/// The picture's white is so much over the brightest mean over a pitch.
const HEADROOM: f64 = 1.1;

/// Name, direction to the right and upwards; the eye looks along up x right.
const SIDES: [(&str, DVec3, DVec3); 3] =
    [("front", DVec3::X, DVec3::Y), ("back", DVec3::X, DVec3::NEG_Y), ("edge", DVec3::X, DVec3::Z)];

const NONE: u32 = u32::MAX;

/// Name and caption of each picture.
pub(crate) fn captions() -> impl Iterator<Item = (String, String)> {
    SIDES.into_iter().flat_map(|(side, ..)| {
        ROOMS.map(|(room, lux)| {
            (format!("lit-{side}-{room}"), format!("from the {side}, in a {room} room of {lux:.0} lx"))
        })
    })
}

/// Paths of the prop from the front: lit in the dark, and unlit.
pub(crate) const LIT: &str = "light/lit-front-dark.png";
pub(crate) const UNLIT: &str = "light/unlit-front.png";
/// From how far a prop without light is looked at, mm.
const LOOKED_AT_MM: f64 = 3000.0;

/// The prop from the front, unlit, in a bright room.
///
/// # Errors
/// [`PackError::Picture`] when it could not be compressed.
pub(crate) fn unlit(outcome: &Outcome) -> Result<Artifact, PackError> {
    let (_, right, up) = SIDES[0];
    let viewed_mm = outcome.light.as_ref().map_or(LOOKED_AT_MM, |l| l.viewed_mm);
    let seen = Seen::of(outcome, viewed_mm, right, up);
    let lux = ROOMS[1].1;
    let (image, _) = seen.image(outcome, None, lux);
    let about = format!("Seen from the front, {:.1} m away, unlit, in a room with {lux:.0} lx.", viewed_mm / 1000.0);
    let title = format!("{}: unlit", outcome.prop);
    let bytes = encode(&image, seen.size(), &[("Title", &title), ("Description", &about)])
        .map_err(|e| PackError::Picture { name: "the unlit prop".into(), reason: e.to_string() })?;
    Ok(Artifact::new(UNLIT, bytes))
}

/// All six pictures.
pub(super) fn all(outcome: &Outcome, light: &Lighting) -> Result<Vec<Artifact>, PackError> {
    let white: Vec<[f32; 3]> = light.levels.iter().map(|l| [*l; 3]).collect();
    let luminance = light.luminance_cd_m2(&white);
    let of_side = |&(side, right, up): &(&str, DVec3, DVec3)| {
        let seen = Seen::of(outcome, light.viewed_mm, right, up);
        let in_room = |(room, lux): (&str, f64)| {
            let (image, white_cd_m2) = seen.image(outcome, Some((light, &luminance)), lux);
            let name = format!("lit-{side}-{room}");
            let about = format!(
                "Seen from the {side}, {:.1} m away, in a room with {lux:.0} lx, in white, {}. Exposure: the \
                 picture's white stands for {white_cd_m2:.0} cd/m2.",
                light.viewed_mm / 1000.0,
                super::driven(light)
            );
            let title = format!("{}: {name}", outcome.prop);
            let bytes = encode(&image, seen.size(), &[("Title", &title), ("Description", &about)])
                .map_err(|e| PackError::Picture { name: name.clone(), reason: e.to_string() })?;
            Ok(Artifact::new(format!("light/{name}.png"), bytes))
        };
        ROOMS.into_iter().map(in_room).collect::<Result<Vec<_>, _>>()
    };
    let sides: Vec<Vec<Artifact>> = SIDES.par_iter().map(of_side).collect::<Result<_, _>>()?;
    Ok(sides.concat())
}

/// What each sample of a side shows.
struct Seen {
    grid: [usize; 2],
    /// Body and triangle.
    nearest: Vec<[u32; 2]>,
    depth: Vec<f32>,
    right: DVec3,
    up: DVec3,
    to_eye: DVec3,
    /// Corner of the picture, mm, and mm a sample.
    corner: DVec2,
    mm: f64,
}

impl Seen {
    fn of(outcome: &Outcome, viewed_mm: f64, right: DVec3, up: DVec3) -> Seen {
        let to_eye = right.cross(up);
        let flat = |p: DVec3| DVec2::new(p.dot(right), -p.dot(up));
        let points = || outcome.bodies.iter().flat_map(|b| b.mesh.vertices.iter().map(|v| flat(*v)));
        let (low, high) = points().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| (l.min(p), h.max(p)));
        let size = (high - low).max(DVec2::ONE);
        let pixel_mm = (viewed_mm * libm::tan(EYE_DEG.to_radians())).max(size.x / WIDEST);
        let mm = pixel_mm / SUPER as f64;
        let [columns, rows] = (size / pixel_mm).to_array().map(|n| (n.ceil() as usize + 2 * MARGIN) * SUPER);
        let middle = DVec2::new(columns as f64, rows as f64) * (mm / 2.0);
        let corner = (low + high) / 2.0 - middle;
        let grid = [columns, rows];
        let mut seen = Seen {
            grid,
            nearest: vec![[NONE; 2]; columns * rows],
            depth: vec![f32::INFINITY; columns * rows],
            right,
            up,
            to_eye,
            corner,
            mm,
        };
        for (b, body) in outcome.bodies.iter().enumerate() {
            let project = |p: DVec3| ((flat(p) - corner) / mm).extend(-p.dot(to_eye));
            let projected: Vec<DVec3> = body.mesh.vertices.iter().map(|v| project(*v)).collect();
            for (t, triangle) in body.mesh.triangles.iter().enumerate() {
                let (depth, nearest) = (&mut seen.depth, &mut seen.nearest);
                fill(grid, triangle.map(|v| projected[v as usize]), [-1.0; 3], |at, z| {
                    if z < depth[at] {
                        depth[at] = z;
                        nearest[at] = [b as u32, t as u32];
                    }
                });
            }
        }
        seen
    }

    fn size(&self) -> [usize; 2] {
        self.grid.map(|n| n / SUPER)
    }

    /// sRGB values, row by row, and the luminance that white stands for.
    /// Without light it is seen in the room's light alone.
    fn image(&self, outcome: &Outcome, lit: Option<(&Lighting, &[Vec<f32>; 3])>, lux: f64) -> (Vec<[f32; 3]>, f64) {
        let brightest = lit.map_or(0.0, |(light, _)| {
            let profiles = light.profiles.iter().zip(&light.lit_mm);
            let rows = profiles.flat_map(|(p, lit)| p.smoothed(light.pitch_mm, *lit));
            rows.map(|r| r.value).fold(0.0, f64::max)
        });
        let white = HEADROOM * brightest.max(lux / std::f64::consts::PI);
        let matt = |reflectance: f64| lux * reflectance / std::f64::consts::PI;
        let light = outcome.light.as_ref();
        let cells = || light.iter().flat_map(|l| &l.cells);
        let first: Vec<usize> = cells().scan(0, |sum, c| Some(std::mem::replace(sum, *sum + c.count()))).collect();
        let of_sample = |at: usize| -> [f64; 3] {
            let [b, t] = self.nearest[at];
            if b == NONE {
                return [matt(BEHIND); 3];
            }
            let mesh = &outcome.bodies[b as usize].mesh;
            let normal = mesh.area_vector(t as usize).normalize_or_zero();
            let p = self.point(at);
            let window = light.and_then(|l| l.windows.which(b as usize, p, normal)).map(|w| w.0);
            let glow = lit.and_then(|(light, luminance)| {
                let k = light.cells.iter().position(|c| c.body == b as usize)?;
                let flux: f64 = light.pixel_lm.iter().sum();
                let of = smoothed(&light.cells[k], first[k], luminance, p, window);
                // Each colour by its share, so that all three at full are white.
                Some([0, 1, 2].map(|c| of[c] * flux / light.pixel_lm[c].max(1e-9)))
            });
            // Lamps overhead and behind the eye.
            let shade = 0.45 + 0.35 * normal.dot(self.up).max(0.0) + 0.35 * normal.dot(self.to_eye).max(0.0);
            let reflectance = window.zip(light).map_or(PLAIN, |(w, light)| {
                light.profiles.iter().position(|p| p.window == w).map_or(PLAIN, |k| light.reflectance[k])
            });
            let room = matt(reflectance) * shade;
            [0, 1, 2].map(|c| room + glow.map_or(0.0, |g| g[c]))
        };
        let [columns, rows] = self.size();
        let mut image = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            for column in 0..columns {
                let mut sum = [0.0; 3];
                for sy in row * SUPER..(row + 1) * SUPER {
                    for sx in column * SUPER..(column + 1) * SUPER {
                        let seen = of_sample(sy * self.grid[0] + sx);
                        sum = [0, 1, 2].map(|c| sum[c] + (seen[c] / white).min(1.0));
                    }
                }
                image.push(sum.map(|v| srgb(v / (SUPER * SUPER) as f64)));
            }
        }
        (image, white)
    }

    /// The point of the surface that a sample shows.
    fn point(&self, at: usize) -> DVec3 {
        let (x, y) = ((at % self.grid[0]) as f64 + 0.5, (at / self.grid[0]) as f64 + 0.5);
        let flat = self.corner + DVec2::new(x, y) * self.mm;
        self.right * flat.x - self.up * flat.y - self.to_eye * f64::from(self.depth[at])
    }
}

/// Luminance of a place by colour, cd/m2: its cell's and its neighbours' mean, by area, against the noise of single cells.
fn smoothed(cells: &Cells, first: usize, luminance: &[Vec<f32>; 3], p: DVec3, window: Option<usize>) -> [f64; 3] {
    let mut sum = [0.0; 3];
    let mut area = 0.0;
    for i in cells.round(cells.at(p, window)) {
        area += cells.area_mm2[i];
        sum = [0, 1, 2].map(|c| sum[c] + f64::from(luminance[c][first + i]) * cells.area_mm2[i]);
    }
    if area > 0.0 { sum.map(|v| v / area) } else { [0.0; 3] }
}

/// IEC 61966-2-1: linear light to a picture's value.
fn srgb(linear: f64) -> f32 {
    (if linear <= 0.003_130_8 { 12.92 * linear } else { 1.055 * libm::pow(linear, 1.0 / 2.4) - 0.055 }) as f32
}
