//! The outer shape of the beacon staff, as fine as asked.
//!
//! The pilots of a tidal harbour carry it ahead of the boats at night: a round shaft with turned beads and bands of
//! waves, and a lantern of four panes between bars. 1800 mm long along +x, butt at 0, millimetres. Six bodies, each
//! closed and facing outwards. Foot, lower shaft, upper shaft, lantern and finial meet at flat faces; the collar ring
//! slides over the seam of upper shaft and lantern with 0.3 mm of air all round.

mod form;
mod relief;

use solid::Mesh;

/// Straight length from butt to tip, mm.
pub const LENGTH_MM: f64 = form::TIP_X;

/// The six bodies with their names, butt first, the ring last, with at least `triangles` triangles in all (and few
/// more). At least 20,000 are made, since fewer would not carry the form.
pub fn staff(triangles: usize) -> Vec<(String, Mesh)> {
    let wanted = triangles.max(20_000);
    // Edges from the area of about 230,000 mm2, then corrected by the count that came out.
    forms::sized(wanted, libm::sqrt(2.6e5 / wanted as f64), &form::bodies)
}

/// Triangles of the committed shape file.
const FILE_TRIANGLES: usize = 300_000;

/// The committed shape file, `beacon-staff.3mf`: the bodies as named objects, coordinates to the micrometre.
pub fn file() -> Vec<u8> {
    forms::file(staff(FILE_TRIANGLES), "Beacon staff")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_committed_file_is_what_the_generator_gives() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/beacon-staff.3mf");
        let committed = std::fs::read(path).expect("the committed shape file");
        assert!(committed == file(), "{path} is out of date: `cargo xtask shape` writes it again");
        assert!(committed.len() < 3_000_000);
    }

    fn named(bodies: &[(String, Mesh)], name: &str) -> Mesh {
        bodies.iter().find(|b| b.0 == name).expect("a body of that name").1.clone()
    }

    fn radius(v: &solid::DVec3) -> f64 {
        v.y.hypot(v.z)
    }

    #[test]
    fn every_body_is_one_closed_outward_shell() {
        for (name, mesh) in staff(60_000) {
            assert!(mesh.edge_census().is_closed(), "{name}");
            assert_eq!(mesh.shells().len(), 1, "{name}");
            assert_eq!(solid::self_intersects(&mesh), Ok(false), "{name}");
            assert!(mesh.volume_mm3() > 8_000.0, "{name}: {} mm3", mesh.volume_mm3());
            assert!((0..mesh.triangles.len()).all(|t| mesh.area_vector(t).length() > 1e-4), "{name}: sliver");
        }
    }

    #[test]
    fn bodies_meet_at_flat_faces_from_butt_to_tip() {
        let bodies = staff(60_000);
        let mut at = 0.0;
        for (name, mesh) in &bodies[..5] {
            let bounds = mesh.bounds().expect("not empty");
            assert_eq!(bounds.min.x, at, "{name}");
            at = bounds.max.x;
        }
        assert_eq!(at, LENGTH_MM);
    }

    #[test]
    fn the_ring_slides_on_from_the_middle_of_the_staff() {
        let bodies = staff(60_000);
        let bore = named(&bodies, "collar ring").vertices.iter().map(radius).fold(f64::INFINITY, f64::min);
        // 0.05 mm for the flat facets between the bore's vertices.
        assert!(bore - 0.05 >= form::SEAT_MM + form::RING_GAP_MM - 1e-9, "{bore}");
        let upper = named(&bodies, "upper shaft").vertices.iter().map(radius).fold(0.0, f64::max);
        assert!(upper <= form::SEAT_MM + 1e-9, "{upper}");
    }

    #[test]
    fn a_cell_has_room_in_the_upper_shaft_and_panes_are_plain() {
        let bodies = staff(60_000);
        let upper = named(&bodies, "upper shaft");
        let thin = upper.vertices.iter().filter(|v| v.x > 1200.0 && v.x < 1530.0).map(radius);
        assert!(thin.fold(f64::INFINITY, f64::min) > 17.0, "34 mm across at least");
        let panes = named(&bodies, "lantern");
        let (mut plain, mut raised) = (0, 0);
        for v in panes.vertices.iter().filter(|v| v.x > 1615.0 && v.x < 1695.0) {
            let over = radius(v) - form::radius_mm(v.x);
            assert!((-1e-9..=relief::BAR_MM + 1e-9).contains(&over), "{v}: {over}");
            // Panes face across and through.
            if v.y.abs().min(v.z.abs()) < 15.0 {
                assert!(over.abs() < 1e-9, "relief on a pane at {v}");
                plain += 1;
            }
            raised += usize::from(over > 1.0);
        }
        assert!(plain > 500 && raised > 50, "{plain} {raised}");
    }
}
