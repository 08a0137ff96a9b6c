//! Solids broken in one way each, mended or refused.

use super::*;
use crate::{DAffine3, cuboid, sphere};
use proptest::prelude::*;

fn cube(from: f64, to: f64) -> Mesh {
    cuboid(DVec3::splat(from), DVec3::splat(to))
}

fn both(a: &Mesh, b: &Mesh) -> Mesh {
    let mut all = a.clone();
    all.append(b);
    all
}

/// Every triangle with vertices of its own.
fn soup(mesh: &Mesh) -> Mesh {
    let n = mesh.triangles.len() as u32;
    Mesh {
        vertices: (0..n as usize).flat_map(|t| mesh.corners(t)).collect(),
        triangles: (0..n).map(|t| [3 * t, 3 * t + 1, 3 * t + 2]).collect(),
    }
}

fn welded(mesh: &Mesh) -> Mesh {
    let mut welder = crate::read::weld::Welder::default();
    let triangles = (0..mesh.triangles.len()).map(|t| mesh.corners(t).map(|p| welder.index(p))).collect();
    Mesh { vertices: welder.vertices, triangles }
}

/// Mends, and holds the result against what [`mend`] promises.
#[track_caller]
fn mended(mesh: Mesh, volume: f64, kinds: &[(MendKind, usize)]) -> Mesh {
    let (solid, mends) = mend(mesh).unwrap();
    let found: Vec<(MendKind, usize)> = mends.iter().map(|m| (m.kind, m.count)).collect();
    assert_eq!(found, kinds);
    assert!(solid.edge_census().is_closed());
    assert!((solid.volume_mm3() - volume).abs() < 1e-6 * volume.abs(), "{}", solid.volume_mm3());
    solid
}

#[track_caller]
fn refused(mesh: Mesh, kinds: &[(FaultKind, usize)]) -> Vec<Fault> {
    let faults = mend(mesh).unwrap_err();
    let found: Vec<(FaultKind, usize)> = faults.iter().map(|f| (f.kind, f.count)).collect();
    assert_eq!(found, kinds);
    assert!(faults.iter().all(|f| f.place.is_finite() && f.size.is_finite()));
    faults
}

#[test]
fn a_sound_solid_comes_back_unchanged() {
    let ball = sphere(DVec3::X * 3.0, 5.0, 32);
    assert_eq!(mend(ball.clone()), Ok((ball, vec![])));
}

#[test]
fn a_soup_of_triangles_is_joined() {
    let mut soup = soup(&cube(0.0, 2.0));
    // Less than a ten-millionth of the diagonal away.
    soup.vertices[4].x += 2e-7;
    soup.vertices.push(DVec3::splat(1.0));
    mended(soup, 8.0, &[(MendKind::LooseVertices, 1), (MendKind::DuplicateVertices, 28)]);
}

#[test]
fn a_crack_is_closed_and_a_gap_is_not_bridged() {
    // A hundred-thousandth of 3.5, a hundredth of a millimetre on a prop of a metre; and a thousand times that.
    let mut cracked = soup(&cube(0.0, 2.0));
    cracked.vertices[4].x += 3e-5;
    let (solid, mends) = mend(cracked).unwrap();
    assert_eq!((mends[0].kind, mends.len()), (MendKind::DuplicateVertices, 1));
    assert!(solid.edge_census().is_closed() && (solid.volume_mm3() - 8.0).abs() < 1e-3);
    let mut gaping = soup(&cube(0.0, 2.0));
    gaping.vertices[4].x += 0.5;
    assert_eq!(mend(gaping).unwrap_err()[0].kind, FaultKind::OpenEdges);
}

#[test]
fn a_wide_hole_is_refused_with_its_place_and_length() {
    let mut two_holes = cube(0.0, 10.0);
    let bottom_and_top = |t: &[u32; 3]| {
        let z = t.map(|v| cube(0.0, 10.0).vertices[v as usize].z);
        z.iter().all(|z| *z == 0.0) || z.iter().all(|z| *z == 10.0)
    };
    let mut removed_bottom = 0;
    two_holes.triangles.retain(|t| {
        let at_top = cube(0.0, 10.0).vertices[t[0] as usize].z == 10.0;
        let gone = bottom_and_top(t) && (at_top || removed_bottom == 0);
        removed_bottom += usize::from(gone && !at_top);
        !gone
    });
    // All of the top, 4 sides of 10, is missing; the one face that is missing of the bottom is put back.
    let faults = refused(two_holes, &[(FaultKind::OpenEdges, 1)]);
    assert_eq!(faults[0].length_mm, 40.0);
    assert_eq!((faults[0].place, faults[0].size), (DVec3::new(5.0, 5.0, 10.0), DVec3::new(10.0, 10.0, 0.0)));
    assert_eq!(faults[0].describe(), "the surface is open here: a hole 40.0 mm long");
}

#[test]
fn flipped_faces_are_turned_unless_the_band_is_twisted() {
    let mut mixed = sphere(DVec3::ZERO, 5.0, 32);
    let volume = mixed.volume_mm3();
    mixed.triangles.iter_mut().skip(7).step_by(11).for_each(|t| t.swap(1, 2));
    let count = mixed.triangles.iter().skip(7).step_by(11).len();
    mended(mixed, volume, &[(MendKind::FlippedFaces, count)]);
    // A Moebius band of five squares, doubled in angle, is open and can't be oriented.
    let mut band = Mesh::default();
    for k in 0..5u32 {
        let (turn, half) = (f64::from(k) * 1.256_637, f64::from(k) * 0.628_318_5);
        let (ring, side) = (DVec3::new(libm::cos(turn), libm::sin(turn), 0.0), DVec3::Z);
        let out = ring * libm::cos(half) + side * libm::sin(half);
        band.vertices.extend([ring * 5.0 + out, ring * 5.0 - out]);
        let (a, b) = (2 * k, 2 * k + 1);
        let (c, d) = if k == 4 { (1, 0) } else { (2 * k + 2, 2 * k + 3) };
        band.triangles.extend([[a, b, d], [a, d, c]]);
    }
    refused(band, &[(FaultKind::OpenEdges, 1), (FaultKind::FlippedFaces, 1)]);
}

#[test]
fn zero_area_faces_go_without_opening_the_surface() {
    // A vertex in the middle of one edge on one side only, bridged by a flat triangle.
    let mut cap = cube(0.0, 2.0);
    let [a, b, c] = cap.triangles[0];
    let middle = cap.vertices.len() as u32;
    cap.vertices.push((cap.vertices[a as usize] + cap.vertices[b as usize]) / 2.0);
    cap.triangles[0] = [a, middle, c];
    cap.triangles.extend([[middle, b, c], [a, b, middle]]);
    assert!(cap.edge_census().is_closed());
    let solid = mended(cap, 8.0, &[(MendKind::ZeroAreaFaces, 1)]);
    assert_eq!(solid.triangles.len(), 14);
    assert!((0..14).all(|t| solid.area_vector(t).length() > 0.1));
    // A corner split in two, a hair apart.
    let mut needle = cube(0.0, 2.0);
    let [a, b, c] = needle.triangles[0];
    let split = needle.vertices.len() as u32;
    needle
        .vertices
        .push(needle.vertices[a as usize] + (needle.vertices[b as usize] - needle.vertices[a as usize]) * 1e-9);
    needle.triangles[0] = [split, b, c];
    needle.triangles.push([a, split, c]);
    let beyond = needle.triangles.iter().position(|t| (0..3).any(|k| t[k] == b && t[(k + 1) % 3] == a)).unwrap();
    let d = needle.triangles[beyond].into_iter().find(|v| *v != a && *v != b).unwrap();
    needle.triangles[beyond] = [b, split, d];
    needle.triangles.push([split, a, d]);
    assert!(needle.edge_census().is_closed());
    let solid = mended(needle, 8.0, &[(MendKind::ZeroAreaFaces, 2)]);
    assert_eq!((solid.vertices.len(), solid.triangles.len()), (8, 12));
}

#[test]
fn doubled_faces_and_inner_walls_go() {
    let mut doubled = cube(0.0, 2.0);
    doubled.triangles.push(doubled.triangles[3]);
    let [a, b, c] = doubled.triangles[5];
    doubled.triangles.push([b, a, c]);
    mended(doubled, 8.0, &[(MendKind::DuplicateFaces, 2)]);
    let twice = cube(0.0, 2.0);
    let twice = Mesh { triangles: [twice.triangles.clone(), twice.triangles.clone()].concat(), ..twice };
    mended(twice, 8.0, &[(MendKind::DuplicateFaces, 12)]);
    let both_sides = cube(0.0, 2.0);
    let back = both_sides.clone().reversed().triangles;
    let both_sides = Mesh { triangles: [both_sides.triangles.clone(), back].concat(), ..both_sides };
    mended(both_sides, 8.0, &[(MendKind::DuplicateFaces, 12)]);
    // Two boxes that share a wall, written once from each side.
    let wall = both(&cube(0.0, 2.0), &cuboid(DVec3::new(2.0, 0.0, 0.0), DVec3::new(5.0, 2.0, 2.0)));
    let wall = welded(&wall);
    assert_eq!(wall.edge_census().crowded.len(), 4);
    // The two sides cut the wall along different diagonals: parted first, then united.
    mended(wall.clone(), 20.0, &[(MendKind::TouchingEdges, 4), (MendKind::OverlappingShells, 2)]);
    // With the same diagonal on both sides the wall just goes.
    let mirrored = cube(0.0, 2.0).transformed(&DAffine3::from_scale(DVec3::new(-1.0, 1.0, 1.0)));
    let wall = welded(&both(&cube(0.0, 2.0), &mirrored));
    assert_eq!(wall.edge_census().crowded.len(), 5);
    mended(wall, 16.0, &[(MendKind::DuplicateFaces, 4)]);
}

#[test]
fn shells_look_outwards_and_voids_stay() {
    mended(cube(0.0, 2.0).reversed(), 8.0, &[(MendKind::InsideOut, 1)]);
    let hollow = both(&cube(0.0, 10.0), &cube(4.0, 6.0).reversed());
    mended(hollow.clone(), 992.0, &[]);
    mended(hollow.clone().reversed(), 992.0, &[(MendKind::InsideOut, 2)]);
    // Solid in the void of a solid, turned; and a void beside.
    let nested = both(&hollow, &cube(4.5, 5.5).reversed());
    mended(nested, 993.0, &[(MendKind::InsideOut, 1)]);
    let beside = both(&hollow, &cube(20.0, 22.0).reversed());
    mended(beside, 1000.0, &[(MendKind::InsideOut, 1)]);
}

#[test]
fn overlaps_are_united() {
    let crossing = both(&cube(0.0, 2.0), &cube(1.0, 3.0));
    mended(crossing, 15.0, &[(MendKind::OverlappingShells, 2)]);
    let swallowed = both(&cube(0.0, 4.0), &cube(1.0, 3.0));
    // What lies wholly inside goes, and the triangles around it stay as they are.
    let around = mended(swallowed, 64.0, &[(MendKind::InnerShells, 1)]);
    assert_eq!((around.vertices.len(), around.triangles.len()), (8, 12));
    let copies = both(&cube(0.0, 4.0), &cube(0.0, 4.0).reversed());
    mended(copies, 64.0, &[(MendKind::DoubledShells, 1)]);
    // One apart from all others stays as it is.
    let beside = both(&both(&cube(0.0, 2.0), &cube(10.0, 12.0)), &cube(1.0, 3.0));
    mended(beside, 23.0, &[(MendKind::OverlappingShells, 2)]);
    let turned = both(&cube(0.0, 2.0), &cube(1.0, 3.0).reversed());
    mended(turned, 15.0, &[(MendKind::InsideOut, 1), (MendKind::OverlappingShells, 2)]);
}

#[test]
fn solids_that_touch_along_an_edge_are_parted() {
    let shifted = cube(0.0, 2.0).transformed(&DAffine3::from_translation(DVec3::new(2.0, 2.0, 0.0)));
    let touching = welded(&both(&cube(0.0, 2.0), &shifted));
    assert_eq!(touching.edge_census().crowded.len(), 1);
    let (solid, mends) = mend(touching).unwrap();
    assert_eq!(mends[0].kind, MendKind::TouchingEdges);
    assert!(solid.edge_census().is_closed());
    assert!((solid.volume_mm3() - 16.0).abs() < 1e-9);
    assert_eq!(mends[0].place(), DVec3::new(2.0, 2.0, 1.0));
}

#[test]
fn what_encloses_nothing_is_refused() {
    refused(Mesh::default(), &[(FaultKind::TooFewFaces, 0)]);
    let sheet = Mesh {
        vertices: vec![DVec3::ZERO, DVec3::X, DVec3::Y, DVec3::new(1.0, 1.0, 0.0)],
        triangles: vec![[0, 1, 2], [2, 1, 3], [0, 2, 1], [2, 3, 1]],
    };
    // Both sides of a sheet are one sheet, which leaves two faces.
    refused(sheet, &[(FaultKind::TooFewFaces, 2)]);
    let fin = Mesh {
        vertices: cube(0.0, 2.0).vertices.into_iter().chain([DVec3::new(3.0, 3.0, 1.0)]).collect(),
        triangles: {
            let mut all = cube(0.0, 2.0).triangles;
            let [a, b, _] = all[0];
            all.push([a, b, 8]);
            all
        },
    };
    let kinds: Vec<FaultKind> = mend(fin).unwrap_err().iter().map(|f| f.kind).collect();
    assert_eq!(kinds, [FaultKind::OpenEdges, FaultKind::CrowdedEdges]);
}

proptest! {
    /// Whatever comes in: a closed outward solid or faults, and no panic.
    #[test]
    fn any_mesh_is_mended_or_refused(
        points in proptest::collection::vec((0i8..4, 0i8..4, 0i8..4), 4..12),
        faces in proptest::collection::vec((any::<u32>(), any::<u32>(), any::<u32>()), 0..24),
    ) {
        let n = points.len() as u32;
        let mesh = Mesh {
            vertices: points.iter().map(|p| DVec3::new(f64::from(p.0), f64::from(p.1), f64::from(p.2))).collect(),
            triangles: faces.iter().map(|f| [f.0 % n, f.1 % n, f.2 % n]).collect(),
        };
        match mend(mesh) {
            Ok((solid, _)) => {
                prop_assert!(solid.edge_census().is_closed());
                prop_assert!(solid.volume_mm3() > 0.0);
            }
            Err(faults) => prop_assert!(!faults.is_empty()),
        }
    }

    /// Boxes at random, some turned, in one soup: the volume is that of their union, counted on a grid.
    #[test]
    fn boxes_in_one_soup_come_out_as_their_union(
        boxes in proptest::collection::vec(((0u8..6, 0u8..6, 0u8..6), (1u8..4, 1u8..4, 1u8..4)), 1..5),
    ) {
        let mut all = Mesh::default();
        let mut filled = std::collections::BTreeSet::new();
        // Shifts of a few thousandths keep faces of different boxes apart, which would make what is meant ambiguous.
        for (k, ((x, y, z), (w, h, d))) in boxes.iter().enumerate() {
            let shift = DVec3::splat(0.003 * k as f64);
            let low = DVec3::new(f64::from(*x), f64::from(*y), f64::from(*z)) + shift;
            all.append(&cuboid(low, low + DVec3::new(f64::from(*w), f64::from(*h), f64::from(*d))));
            for i in *x..x + w {
                for j in *y..y + h {
                    for k in *z..z + d {
                        filled.insert((i, j, k));
                    }
                }
            }
        }
        let (solid, _) = mend(soup(&all)).unwrap();
        let union = filled.len() as f64;
        prop_assert!(solid.edge_census().is_closed());
        // Five shifted boxes of at most 27 cells and 54 mm2 differ from the grid by less than 0.012 mm of skin each.
        prop_assert!((solid.volume_mm3() - union).abs() < 5.0 * 54.0 * 0.012, "{} {union}", solid.volume_mm3());
    }
}
