//! A piece on its printer: how it stands, what hangs over, what it weighs, how long it takes.
//!
//! Meshes here are as they print (millimetres, bed at z = 0) unless a function says otherwise.

mod bed;
mod bridge;
mod choice;
pub(crate) mod hull;
mod loops;
mod mass;
mod nest;
#[cfg(test)]
mod nest_tests;
mod overhang;
mod plates;
mod pose;
mod raster;
mod shadow;
mod share;
mod time;

pub use bed::{BedReport, bed_report};
pub use choice::{Faces, PoseSpec, PoseTrial, best, weigh};
pub use nest::{Bed, Footprint, Nest, Placing, gap_mm, nest};
pub use overhang::Overhang;
pub use plates::{Allotment, Laid, Load, Reserved, Task, allot};
pub use pose::{OnBed, Spare, fits, to_bed};
pub use shadow::shadow;
pub use share::{Job, ShareError, Sharing, share};
pub use time::{PrintEstimate, plate_time, print_estimate};

use crate::catalogue::Printer;
use crate::slices::{Slice, slices};
use solid::{DVec3, Mesh};
use thiserror::Error;

/// Why a piece cannot be judged on its printer.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum PrintError {
    /// No triangles, a coordinate that is not finite, or no volume (inside out).
    #[error("the piece has no solid shape ({triangles} triangles, {volume_mm3} mm3)")]
    Shape {
        /// Its triangles.
        triangles: usize,
        /// Its signed volume, mm3.
        volume_mm3: f64,
    },
    /// A number of the printer that nothing can be computed with.
    #[error("printer {printer}: {what} is {value}, but must be above zero")]
    Setting {
        /// Its name in the project.
        printer: String,
        /// Which number, in words.
        what: &'static str,
        /// What it is.
        value: f64,
    },
    /// More layers than any piece has.
    #[error(
        "a height of {height_mm:.1} mm in layers of {layer_mm} mm is {count:.0} layers; at most {MOST_LAYERS} are computed"
    )]
    Layers {
        /// Height of the piece, mm.
        height_mm: f64,
        /// Layer height, mm.
        layer_mm: f64,
        /// How many layers that makes.
        count: f64,
    },
}

/// Two metres in layers of 0.05 mm are 40 000: more is a slip in the units.
const MOST_LAYERS: u32 = 100_000;

/// The sections at the middle of each layer, from the bed up. Their `x` is the height z, their plane is the bed's x, y.
fn layers(mesh: &Mesh, printer: &Printer) -> Result<Vec<Slice>, PrintError> {
    above_zero(printer, "the layer height", printer.layer_mm)?;
    let height_mm = solid_height_mm(mesh)?;
    // Layers whose middle lies below the top.
    let count = (height_mm / printer.layer_mm - 0.5).ceil().max(1.0);
    if count > f64::from(MOST_LAYERS) {
        return Err(PrintError::Layers { height_mm, layer_mm: printer.layer_mm, count });
    }
    let middles: Vec<f64> = (0..count as u32).map(|i| (f64::from(i) + 0.5) * printer.layer_mm).collect();
    Ok(slices(&z_first(mesh), &middles))
}

/// The height of a piece's top above the bed, mm.
fn solid_height_mm(mesh: &Mesh) -> Result<f64, PrintError> {
    let volume_mm3 = mesh.volume_mm3();
    match mesh.bounds() {
        Some(b) if volume_mm3 > 0.0 && volume_mm3.is_finite() && mesh.vertices.iter().all(|v| v.is_finite()) => {
            Ok(b.max.z)
        }
        _ => Err(PrintError::Shape { triangles: mesh.triangles.len(), volume_mm3 }),
    }
}

fn above_zero(printer: &Printer, what: &'static str, value: f64) -> Result<(), PrintError> {
    if value > 0.0 && value.is_finite() {
        Ok(())
    } else {
        Err(PrintError::Setting { printer: printer.name.clone(), what, value })
    }
}

/// The same solid with its axes passed on by one, so that height comes first, as [`slices`] cuts.
fn z_first(mesh: &Mesh) -> Mesh {
    Mesh {
        vertices: mesh.vertices.iter().map(|v| DVec3::new(v.z, v.x, v.y)).collect(),
        triangles: mesh.triangles.clone(),
    }
}

#[cfg(test)]
mod trial {
    //! Printers and shapes to try things on.

    use crate::catalogue::{Material, Origins, Printer, Process, Supply};
    use solid::{DAffine3, DVec2, Mesh, prism};

    /// A usual filament printer.
    pub(super) fn filament() -> Printer {
        Printer {
            name: "big".into(),
            process: Process::Filament,
            bed_mm: [220.0, 220.0, 250.0],
            margin_mm: 5.0,
            layer_mm: 0.2,
            bead_mm: 0.45,
            speed_mm_s: 45.0,
            layer_time_s: 8.0,
            start_time_s: 300.0,
            overhang_deg: 45.0,
            slide_gap_mm: [0.2, 0.3],
            glue_gap_mm: 0.15,
            slot_loss_mm: 0.2,
            spacing_mm: 5.0,
            brim_mm: 4.0,
            travel_mm_s: 120.0,
            pace: [1.0, 0.8, 1.25],
            hole_loss_mm: 0.2,
            press_gap_mm: 0.0,
            origins: Origins::default(),
        }
    }

    /// White ABS: 1.04 g/cm3, common practice, no source.
    pub(super) fn abs() -> Material {
        Material {
            name: "abs-white".into(),
            title: "ABS, white".into(),
            process: Process::Filament,
            density_g_cm3: [1.04, 1.02, 1.06],
            supply: Supply::Spool { mass_g: 1000.0, diameter_mm: 1.75 },
            optics: crate::catalogue::Optics::plain(),
            whole_beads: false,
            plastic: None,
            solvent: None,
            holding: crate::catalogue::Holding::NONE,
            source: "common practice".into(),
        }
    }

    /// A hollow column: an outline with another inside it, both counter-clockwise, open at both ends.
    pub(super) fn tube(outer: &[DVec2], inner: &[DVec2], height_mm: f64) -> Mesh {
        let n = outer.len();
        assert_eq!(n, inner.len());
        let mut mesh = Mesh::default();
        for (loop_, z) in [(outer, 0.0), (outer, height_mm), (inner, 0.0), (inner, height_mm)] {
            mesh.vertices.extend(loop_.iter().map(|p| p.extend(z)));
        }
        for i in 0..n {
            let k = (i + 1) % n;
            // Outside, inside, bottom, top: corners counter-clockwise seen from the air.
            for quad in [
                [i, k, n + k, n + i],
                [2 * n + k, 2 * n + i, 3 * n + i, 3 * n + k],
                [k, i, 2 * n + i, 2 * n + k],
                [n + i, n + k, 3 * n + k, 3 * n + i],
            ] {
                let q = quad.map(|v| v as u32);
                mesh.triangles.extend([[q[0], q[1], q[2]], [q[0], q[2], q[3]]]);
            }
        }
        assert!(mesh.edge_census().is_closed() && mesh.volume_mm3() > 0.0);
        mesh
    }

    /// A column over an outline.
    pub(super) fn column(outline: &[DVec2], height_mm: f64) -> Mesh {
        prism(outline, &DAffine3::IDENTITY, 0.0, height_mm)
    }

    /// A circle as a polygon, counter-clockwise.
    pub(super) fn circle(radius_mm: f64, n: u32) -> Vec<DVec2> {
        (0..n)
            .map(|i| {
                let (s, c) = libm::sincos(f64::from(i) / f64::from(n) * std::f64::consts::TAU);
                DVec2::new(c, s) * radius_mm
            })
            .collect()
    }
}
