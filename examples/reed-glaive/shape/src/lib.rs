//! The outer shape of the reed glaive, as fine as asked.
//!
//! The wardens of a tidal marsh keep their night watch with it: a curved leaf blade with reeds in relief, a guard
//! ring, an oval grip and a reeded pommel. 1500 mm long along +x, butt at 0, millimetres. Four bodies, each closed and
//! facing outwards. Pommel, grip and blade meet at flat faces in the planes x = 60 and x = 400; the guard is a ring
//! over grip and blade, its hole drawn 0.5 mm too tight all round: boring it is the tool's work.

mod form;
mod relief;

use solid::Mesh;

/// Straight length from butt to tip, mm.
pub const LENGTH_MM: f64 = form::TIP_X;

/// How much tighter than what it sits on the guard's hole is drawn, mm a side.
pub const GUARD_TIGHT_MM: f64 = 0.5;

/// The four bodies with their names, butt first, with at least `triangles` triangles in all (and few more), most of
/// them on the blade. At least 20,000 are made, since fewer would not carry the form.
pub fn glaive(triangles: usize) -> Vec<(String, Mesh)> {
    let wanted = triangles.max(20_000);
    // Edges from the area of about 200,000 mm2, then corrected by the count that came out.
    forms::sized(wanted, libm::sqrt(3.8e5 / wanted as f64), &form::bodies)
}

/// Triangles of the committed shape file.
const FILE_TRIANGLES: usize = 300_000;

/// The committed shape file, `reed-glaive.3mf`: the bodies as named objects, coordinates to the micrometre.
pub fn file() -> Vec<u8> {
    forms::file(glaive(FILE_TRIANGLES), "Reed glaive")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_committed_file_is_what_the_generator_gives() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/reed-glaive.3mf");
        let committed = std::fs::read(path).expect("the committed shape file");
        assert!(committed == file(), "{path} is out of date: `cargo xtask shape` writes it again");
        assert!(committed.len() < 8_000_000);
    }

    fn named(bodies: &[(String, Mesh)], name: &str) -> Mesh {
        bodies.iter().find(|b| b.0 == name).expect("a body of that name").1.clone()
    }

    #[test]
    fn every_body_is_one_closed_outward_shell() {
        for (name, mesh) in glaive(60_000) {
            assert!(mesh.edge_census().is_closed(), "{name}");
            assert_eq!(mesh.shells().len(), 1, "{name}");
            assert_eq!(solid::self_intersects(&mesh), Ok(false), "{name}");
            assert!(mesh.volume_mm3() > 10_000.0, "{name}: {} mm3", mesh.volume_mm3());
            assert!((0..mesh.triangles.len()).all(|t| mesh.area_vector(t).length() > 1e-4), "{name}: sliver");
        }
    }

    #[test]
    fn the_count_is_kept_and_most_of_it_is_blade() {
        let bodies = glaive(300_000);
        let count: usize = bodies.iter().map(|b| b.1.triangles.len()).sum();
        assert!((300_000..=306_000).contains(&count), "{count}");
        assert!(named(&bodies, "blade").triangles.len() * 10 > count * 8);
    }

    #[test]
    fn bodies_meet_at_flat_faces() {
        let bodies = glaive(60_000);
        for (name, from, to) in [("pommel", 0.0, 72.0), ("grip", 72.0, 400.0), ("blade", 400.0, LENGTH_MM)] {
            let bounds = named(&bodies, name).bounds().expect("not empty");
            assert_eq!([bounds.min.x, bounds.max.x], [from, to], "{name}");
        }
    }

    #[test]
    fn the_guards_hole_is_tighter_than_what_it_sits_on() {
        let bodies = glaive(60_000);
        let guard = named(&bodies, "guard");
        let hole = guard.vertices.iter().filter(|v| form::inside_guard_hole(v.y, v.z, -0.02)).count();
        assert!(hole > 200, "{hole} vertices lie on the hole");
        for name in ["grip", "blade"] {
            let shared = solid::intersection(&guard, &named(&bodies, name)).expect("two sound bodies");
            // All round, but not deep: less than 0.6 mm of the guard's half of the seat.
            assert!((100.0..1500.0).contains(&shared.volume_mm3()), "{name}: {} mm3", shared.volume_mm3());
        }
    }

    #[test]
    fn the_lit_edges_are_plain_and_the_faces_are_not() {
        let blade = named(&glaive(100_000), "blade");
        let (mut plain, mut raised) = (0, 0);
        for v in &blade.vertices {
            let height = form::relief_height(*v);
            assert!((0.0..=0.6).contains(&height));
            let from_edge_mm = form::half_width_mm(v.x) - (v.y - form::bow_mm(v.x)).abs();
            if from_edge_mm < 6.0 {
                assert_eq!(height, 0.0, "relief on the edge at {v}");
                plain += 1;
            }
            raised += usize::from(height > 0.4);
        }
        assert!(plain > 1000 && raised > 1000, "{plain} {raised}");
    }
}
