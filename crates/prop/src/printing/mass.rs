//! What a printer lays down in each layer: walls, skins and infill.

use crate::slices::Slice;
use solid::Mesh;
use std::f64::consts::PI;

/// A piece that is not printed solid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Filling {
    /// Thickness of the walls, bottoms and tops that are laid solid, mm.
    pub(super) shell_mm: f64,
    /// Share of the rest that is laid, 0 to 1.
    pub(super) infill: f64,
}

/// What is laid down.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Laid {
    /// Area laid in each layer, mm2, from the bed up.
    pub(super) layers_mm2: Vec<f64>,
    /// Volume left empty inside, mm3.
    pub(super) empty_mm3: f64,
}

/// All of every layer: a shell printed solid by beads side by side.
pub(super) fn laid_solid(layers: &[Slice]) -> Laid {
    Laid { layers_mm2: layers.iter().map(|s| s.area_mm2).collect(), empty_mm3: 0.0 }
}

/// A solid shell round infill.
///
/// The wall of a layer is its outline times the shell, at most all of it: right for an outline with a hole, too much by
/// pi shell^2 for one without (Steiner's formula for parallel curves), which `whole_loops` takes off once for each.
/// Where a face is flatter than 45 degrees that wall is thinner than the shell and a skin is laid as well: a face
/// that rises by the angle f adds (1 - tan f) shell below (or above) its area seen from above.
pub(super) fn laid_filled(mesh: &Mesh, layers: &[Slice], layer_mm: f64, filling: Filling, whole_loops: f64) -> Laid {
    let Filling { shell_mm, infill } = filling;
    let skins = skins_mm2(mesh, layers, shell_mm);
    let mut laid = Laid { layers_mm2: Vec::with_capacity(layers.len()), empty_mm3: 0.0 };
    for (slice, skin) in layers.iter().zip(skins) {
        let wall = slice.outline_mm * shell_mm - whole_loops * PI * shell_mm * shell_mm;
        let solid = (wall.max(0.0) + skin).clamp(0.0, slice.area_mm2.max(0.0));
        let empty = (slice.area_mm2 - solid).max(0.0) * (1.0 - infill);
        laid.layers_mm2.push(slice.area_mm2 - empty);
        laid.empty_mm3 += empty * layer_mm;
    }
    laid
}

/// Area of skin in each layer, mm2.
fn skins_mm2(mesh: &Mesh, layers: &[Slice], shell_mm: f64) -> Vec<f64> {
    let mut skins = vec![0.0; layers.len()];
    for t in 0..mesh.triangles.len() {
        let n = mesh.area_vector(t);
        let skin = n.z.abs() - n.truncate().length();
        if skin > 0.0 {
            let [a, b, c] = mesh.corners(t);
            let z = (a.z + b.z + c.z) / 3.0;
            let (from, to) = if n.z > 0.0 { (z - shell_mm, z) } else { (z, z + shell_mm) };
            let first = layers.partition_point(|s| s.x < from);
            let beyond = layers.partition_point(|s| s.x < to);
            skins[first..beyond].iter_mut().for_each(|s| *s += skin);
        }
    }
    skins
}

#[cfg(test)]
mod tests {
    use super::super::layers;
    use super::super::trial::{circle, column, filament};
    use super::*;
    use solid::{DVec3, cone_frustum, cuboid};

    #[test]
    fn the_layers_of_a_cylinder_add_up_to_it() {
        let printer = filament();
        let mesh = column(&circle(15.0, 400), 60.0);
        let stack = layers(&mesh, &printer).unwrap();
        assert_eq!(stack.len(), 300);
        let laid: f64 = laid_solid(&stack).layers_mm2.iter().map(|a| a * printer.layer_mm).sum();
        assert!((laid / (PI * 225.0 * 60.0) - 1.0).abs() < 0.01);
        assert!((stack[150].outline_mm / (PI * 30.0) - 1.0).abs() < 1e-3);
        // A cone, whose layers differ: r = 20 - z / 3 over 30 mm.
        let cone = cone_frustum(DVec3::ZERO, DVec3::Z * 30.0, 20.0, 10.0, 400);
        let cone_laid: f64 =
            laid_solid(&layers(&cone, &printer).unwrap()).layers_mm2.iter().map(|a| a * printer.layer_mm).sum();
        assert!((cone_laid / (PI * 30.0 / 3.0 * (400.0 + 200.0 + 100.0)) - 1.0).abs() < 0.01);
    }

    #[test]
    fn a_filled_cylinder_keeps_what_its_core_leaves_out() {
        // 1.2 mm shell, 20 % infill: 80 % of the core of radius 13.8 and height 60 - 2.4 stay empty.
        let printer = filament();
        let mesh = column(&circle(15.0, 400), 60.0);
        let filling = Filling { shell_mm: 1.2, infill: 0.2 };
        let stack = layers(&mesh, &printer).unwrap();
        let least = laid_filled(&mesh, &stack, printer.layer_mm, filling, 1.0);
        let exact = 0.8 * PI * 13.8 * 13.8 * 57.6;
        assert!((least.empty_mm3 / exact - 1.0).abs() < 0.005, "{} of {exact}", least.empty_mm3);
        // Without taking the loop off, the wall is too large by shell / (2 radius).
        let plain = laid_filled(&mesh, &stack, printer.layer_mm, filling, 0.0);
        let wall_too_large = 0.8 * PI * 1.2 * 1.2 * 57.6;
        assert!((least.empty_mm3 - plain.empty_mm3 - wall_too_large).abs() < 0.01 * wall_too_large);
    }

    #[test]
    fn a_thin_plate_has_no_room_for_infill() {
        let printer = filament();
        let plate = cuboid(DVec3::ZERO, DVec3::new(80.0, 50.0, 2.4));
        let stack = layers(&plate, &printer).unwrap();
        let filling = Filling { shell_mm: 1.2, infill: 0.1 };
        assert!(laid_filled(&plate, &stack, printer.layer_mm, filling, 0.0).empty_mm3 < 1e-9);
        let thicker = cuboid(DVec3::ZERO, DVec3::new(80.0, 50.0, 4.4));
        let stack = layers(&thicker, &printer).unwrap();
        let empty = laid_filled(&thicker, &stack, printer.layer_mm, filling, 0.0).empty_mm3;
        // The core is 77.6 x 47.6 x 2; the wall counts the four corners twice.
        let core = (80.0 * 50.0 - 260.0 * 1.2) * 2.0 * 0.9;
        assert!((empty - core).abs() < 1e-6, "{empty} {core}");
    }
}
