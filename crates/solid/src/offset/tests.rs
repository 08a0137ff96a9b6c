//! Offsets against closed forms.

use super::*;
use crate::{cuboid, self_intersects, sphere};
use glam::{DAffine3, DQuat};
use std::f64::consts::PI;

fn offset_of(body: &Mesh, distance_mm: f64, cell_mm: f64) -> Mesh {
    let bvh = Bvh::new(body);
    let spec = OffsetSpec { distance_mm, cell_mm };
    let result = offset(&bvh, body.bounds().unwrap(), &spec, &Cancel::default()).unwrap();
    assert!(result.edge_census().is_closed());
    assert!(!self_intersects(&result).unwrap());
    result
}

fn turned(body: &Mesh) -> Mesh {
    let turn = DQuat::from_axis_angle(DVec3::new(0.3, -1.0, 0.8).normalize(), 0.9);
    body.transformed(&DAffine3::from_rotation_translation(turn, DVec3::new(-700.0, 30.0, 5.5)))
}

/// A box eroded is a box with sharp edges. A crease that no edge of its cell sees is cut by up to a third of a cell.
#[test]
fn inwards_a_box_stays_a_box_with_its_edges() {
    for body in
        [cuboid(DVec3::ZERO, DVec3::new(24.0, 16.0, 12.0)), turned(&cuboid(DVec3::ZERO, DVec3::new(24.0, 16.0, 12.0)))]
    {
        let inner = offset_of(&body, -2.0, 0.5);
        let exact = 20.0 * 12.0 * 8.0;
        assert!((inner.volume_mm3() / exact - 1.0).abs() < 1e-3, "{} not {exact}", inner.volume_mm3());
        let bvh = Bvh::new(&body);
        let middle = |t: &[u32; 3]| t.iter().map(|v| inner.vertices[*v as usize]).sum::<DVec3>() / 3.0;
        let places =
            inner.vertices.iter().map(|p| (*p, 0.03)).chain(inner.triangles.iter().map(|t| (middle(t), 0.5 / 3.0)));
        for (p, tolerance) in places {
            let depth = -bvh.signed_distance(p);
            assert!((depth - 2.0).abs() < tolerance, "{depth} mm deep at {p}, not to {tolerance}");
        }
    }
}

/// Outwards, V + A d + M d^2 + 4/3 pi d^3 with M = pi (a + b + c) for a box (Steiner's formula).
#[test]
fn outwards_a_box_is_rounded() {
    let body = turned(&cuboid(DVec3::ZERO, DVec3::new(12.0, 8.0, 6.0)));
    let outer = offset_of(&body, 1.5, 0.4);
    let exact = 576.0 + 432.0 * 1.5 + PI * 26.0 * 2.25 + 4.0 / 3.0 * PI * 3.375;
    assert!((outer.volume_mm3() - exact).abs() < 0.01 * outer.area_mm2(), "{} not {exact}", outer.volume_mm3());
}

/// An L-shaped body offset outwards keeps the crease in the inner corner.
#[test]
fn outwards_an_inner_corner_stays_a_crease() {
    let l = crate::union(
        &cuboid(DVec3::ZERO, DVec3::new(20.0, 8.0, 6.0)),
        &cuboid(DVec3::ZERO, DVec3::new(8.0, 20.0, 6.0)),
    )
    .unwrap();
    let outer = offset_of(&turned(&l), 2.0, 0.5);
    let bvh = Bvh::new(&turned(&l));
    for p in &outer.vertices {
        let distance = bvh.signed_distance(*p);
        assert!((distance - 2.0).abs() < 0.03, "{distance} mm at {p}");
    }
}

/// Two balls that nearly touch, bridged by the offset: saddles, and cells with two sheets.
#[test]
fn sheets_that_meet_stay_closed() {
    let mut balls = sphere(DVec3::ZERO, 6.0, 60);
    balls.append(&sphere(DVec3::new(15.9, 0.3, 0.2), 6.0, 60));
    assert_eq!(offset_of(&balls, 1.5, 0.7).shells().len(), 2);
    assert_eq!(offset_of(&balls, 2.2, 0.7).shells().len(), 1);
    for gap in 0..12 {
        let mut near = sphere(DVec3::ZERO, 6.0, 40);
        near.append(&sphere(DVec3::new(15.0 + 0.1 * f64::from(gap), 0.3, 0.2), 6.0, 40));
        let bvh = Bvh::new(&near);
        let spec = OffsetSpec { distance_mm: 1.8, cell_mm: 0.9 };
        let mesh = offset(&bvh, bvh.bounds().unwrap(), &spec, &Cancel::default()).unwrap();
        assert!(mesh.edge_census().is_closed(), "gap {gap}");
    }
}

#[test]
fn what_is_nowhere_deep_enough_leaves_nothing() {
    assert_eq!(offset_of(&sphere(DVec3::ZERO, 3.0, 40), -3.2, 0.5), Mesh::default());
    let nothing = Bvh::new(&Mesh::default());
    let bounds = Bounds { min: DVec3::ZERO, max: DVec3::ONE };
    let spec = OffsetSpec { distance_mm: 1.0, cell_mm: 0.5 };
    assert_eq!(offset(&nothing, bounds, &spec, &Cancel::default()), Ok(Mesh::default()));
}

#[test]
fn bad_specs_are_refused() {
    let body = cuboid(DVec3::ZERO, DVec3::splat(20.0));
    let bvh = Bvh::new(&body);
    let bounds = body.bounds().unwrap();
    let refused = |distance_mm: f64, cell_mm: f64| {
        offset(&bvh, bounds, &OffsetSpec { distance_mm, cell_mm }, &Cancel::default()).unwrap_err()
    };
    for bad in [0.0, f64::NAN, f64::NEG_INFINITY] {
        assert!(matches!(refused(bad, 0.5), OffsetError::Distance(_)));
        assert!(matches!(refused(2.0, bad), OffsetError::Cell(_)));
    }
    assert_eq!(refused(-2.0, 1.1), OffsetError::CellTooLarge { cell_mm: 1.1, distance_mm: 2.0, most_mm: 1.0 });
    assert!(matches!(refused(-2.0, 1e-3), OffsetError::CellTooSmall { .. }));
    let spec = OffsetSpec { distance_mm: -2.0, cell_mm: 0.5 };
    for max in [DVec3::splat(19.0), DVec3::splat(f64::INFINITY), DVec3::NAN] {
        let outcome = offset(&bvh, Bounds { max, ..bounds }, &spec, &Cancel::default());
        assert!(matches!(outcome, Err(OffsetError::Bounds(_))), "{max}");
    }
}
