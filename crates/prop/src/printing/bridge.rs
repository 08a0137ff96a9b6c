//! Flat ceilings that a filament printer spans in the air, from wall to wall.

use super::overhang::is_steep;
use crate::catalogue::{Printer, Process};
use solid::{DVec2, Mesh};

/// The longest bead that hangs between two walls and still prints well, mm. Common practice, no source.
const LONGEST_BRIDGE_MM: f64 = 10.0;
/// A ceiling at most 2.5 degrees off level counts as flat.
const FLAT: f64 = 0.999;
/// Beads are tried in this many directions.
const DIRECTIONS: u32 = 12;

/// An edge of a ceiling seen from above, and whether a wall goes down from it.
struct Rim {
    ends: [DVec2; 2],
    on_wall: bool,
}

/// Of the faces that hang over (sorted), those in ceilings that bridge.
///
/// A ceiling bridges when it is flat, level within one layer, and there is a direction in which every bead across it is
/// short enough and ends on a wall on both sides. All or nothing: a ceiling that bridges in part is not in the list.
pub(super) fn bridged(mesh: &Mesh, hanging: &[u32], printer: &Printer) -> Vec<u32> {
    let is_flat = |t: &&u32| {
        let normal = mesh.area_vector(**t as usize);
        -normal.z > FLAT * normal.length()
    };
    let flat: Vec<u32> = hanging.iter().filter(is_flat).copied().collect();
    if flat.is_empty() || printer.process != Process::Filament {
        return Vec::new();
    }
    let edges_of = |t: u32| {
        let [a, b, c] = mesh.triangles[t as usize];
        [(a, b), (b, c), (c, a)]
    };
    let mut inner: Vec<(u32, u32)> = flat.iter().flat_map(|t| edges_of(*t)).collect();
    inner.sort_unstable();
    let walls = walls_below(mesh, &inner, printer);
    let mut bridged = Vec::new();
    for patch in mesh.subset(&flat).shells() {
        let faces: Vec<u32> = patch.iter().map(|i| flat[*i as usize]).collect();
        let heights = faces.iter().flat_map(|t| mesh.corners(*t as usize)).map(|p| p.z);
        let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| (l.min(z), h.max(z)));
        let rims: Vec<Rim> = faces
            .iter()
            .flat_map(|t| edges_of(*t))
            .filter(|(a, b)| inner.binary_search(&(*b, *a)).is_err())
            .map(|edge| Rim {
                ends: [edge.0, edge.1].map(|v| mesh.vertices[v as usize].truncate()),
                on_wall: walls.binary_search(&edge).is_ok(),
            })
            .collect();
        if high - low <= printer.layer_mm && (0..DIRECTIONS).any(|k| spans(&rims, k, printer.bead_mm)) {
            bridged.extend(faces);
        }
    }
    bridged.sort_unstable();
    bridged
}

/// The edges of the ceilings from which a wall goes down that itself prints (sorted).
fn walls_below(mesh: &Mesh, ceiling_edges: &[(u32, u32)], printer: &Printer) -> Vec<(u32, u32)> {
    let mut walls = Vec::new();
    for (t, corners) in mesh.triangles.iter().enumerate() {
        for k in 0..3 {
            let (p, q, apex) = (corners[k], corners[(k + 1) % 3], corners[(k + 2) % 3]);
            let z = |v: u32| mesh.vertices[v as usize].z;
            let goes_down = z(apex) < z(p).min(z(q));
            if goes_down && ceiling_edges.binary_search(&(q, p)).is_ok() && !is_steep(mesh, t, printer) {
                walls.push((q, p));
            }
        }
    }
    walls.sort_unstable();
    walls
}

/// Whether every bead in one direction is short enough and ends on walls: tried on lines a bead apart, nine at least.
fn spans(rims: &[Rim], direction: u32, bead_mm: f64) -> bool {
    let (sin, cos) = libm::sincos(f64::from(direction) / f64::from(DIRECTIONS) * std::f64::consts::PI);
    // Beads run along x of the turned ceiling.
    let turn = |p: DVec2| DVec2::new(p.x * cos + p.y * sin, p.y * cos - p.x * sin);
    let turned: Vec<([DVec2; 2], bool)> = rims.iter().map(|r| (r.ends.map(turn), r.on_wall)).collect();
    let ys = || turned.iter().flat_map(|(ends, _)| ends.map(|p| p.y));
    let (low, high) = ys().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), y| (l.min(y), h.max(y)));
    let lines = ((high - low) / bead_mm).clamp(9.0, 2000.0).ceil();
    (0..lines as u32).all(|i| {
        let y = low + (high - low) * (f64::from(i) + 0.5) / lines;
        let mut ends: Vec<(f64, bool)> = turned
            .iter()
            .filter(|([a, b], _)| (a.y <= y) != (b.y <= y))
            .map(|([a, b], on_wall)| (a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)), *on_wall))
            .collect();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        ends.chunks(2).all(|bead| match bead {
            [from, to] => from.1 && to.1 && to.0 - from.0 <= LONGEST_BRIDGE_MM,
            _ => false,
        })
    })
}

#[cfg(test)]
mod tests {
    use super::super::bed_report;
    use super::super::trial::filament;
    use crate::catalogue::{Printer, Process};
    use solid::{DVec3, Mesh, cuboid, cylinder, difference, union};

    fn block(min: [f64; 3], max: [f64; 3]) -> Mesh {
        cuboid(DVec3::from(min), DVec3::from(max))
    }

    fn hanging_mm2(mesh: &Mesh) -> f64 {
        bed_report(mesh, &filament()).unwrap().overhang.area_mm2
    }

    #[test]
    fn a_tunnel_bridges_across_but_not_along() {
        // A tunnel 60 mm long: 9 mm wide it bridges, 11 mm wide it does not.
        let body = block([0.0; 3], [60.0, 30.0, 20.0]);
        let tunnel = |width: f64| difference(&body, &block([-1.0, 5.0, 5.0], [61.0, 5.0 + width, 12.0])).unwrap();
        assert_eq!(hanging_mm2(&tunnel(9.0)), 0.0);
        let report = bed_report(&tunnel(9.0), &filament()).unwrap().overhang;
        assert!((report.bridged_mm2 - 540.0).abs() < 1e-6);
        assert!((hanging_mm2(&tunnel(11.0)) - 660.0).abs() < 1e-6);
        // Resin has nothing to span with.
        let resin = Printer { process: Process::Resin, ..filament() };
        assert!((bed_report(&tunnel(9.0), &resin).unwrap().overhang.area_mm2 - 540.0).abs() < 1e-6);
    }

    #[test]
    fn a_ledge_does_not_bridge() {
        // A shelf held on one side only, 4 mm deep, and the same held on both ends.
        let wall = block([0.0; 3], [30.0, 5.0, 30.0]);
        let shelf = block([10.0, 4.0, 15.0], [18.0, 9.0, 20.0]);
        assert!((hanging_mm2(&union(&wall, &shelf).unwrap()) - 8.0 * 4.0).abs() < 1e-6);
        let posts = union(&block([5.0, 4.0, 0.0], [10.0, 9.0, 20.0]), &block([18.0, 4.0, 0.0], [23.0, 9.0, 20.0]));
        let held = union(&union(&wall, &shelf).unwrap(), &posts.unwrap()).unwrap();
        assert_eq!(hanging_mm2(&held), 0.0);
    }

    #[test]
    fn a_round_socket_bridges_until_it_is_too_wide() {
        let body = block([-20.0, -20.0, 0.0], [20.0, 20.0, 30.0]);
        let socket = |radius: f64| {
            let hole = cylinder(DVec3::Z * -1.0, DVec3::Z * 10.0, radius, 64);
            bed_report(&difference(&body, &hole).unwrap(), &filament()).unwrap().overhang
        };
        assert_eq!(socket(4.9).area_mm2, 0.0);
        let wide = socket(6.0);
        assert!((wide.area_mm2 / (36.0 * std::f64::consts::PI) - 1.0).abs() < 0.01);
        let at = wide.worst_at.unwrap();
        assert!((at.z - 10.0).abs() < 1e-9 && at.truncate().length() < 6.0);
    }

    #[test]
    fn a_ring_round_a_post_bridges_to_it() {
        // Its ceiling is a ring 8 mm wide: straight beads past the post are longer than 10 mm, so it counts as hanging;
        // 2 mm wide and 6 mm across they are not.
        let body = block([-20.0, -20.0, 0.0], [20.0, 20.0, 30.0]);
        let ring = |inner: f64, outer: f64| {
            let hole = cylinder(DVec3::Z * -1.0, DVec3::Z * 10.0, outer, 64);
            let post = cylinder(DVec3::Z * -2.0, DVec3::Z * 11.0, inner, 64);
            hanging_mm2(&difference(&body, &difference(&hole, &post).unwrap()).unwrap())
        };
        assert!(ring(4.0, 12.0) > 300.0);
        assert_eq!(ring(1.0, 3.0), 0.0);
    }
}
