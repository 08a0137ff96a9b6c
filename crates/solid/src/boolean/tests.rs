use super::*;
use crate::shapes::{cuboid, sphere};
use proptest::prelude::*;

fn cube(at: f64, size: f64) -> Mesh {
    cuboid(DVec3::splat(at), DVec3::splat(at + size))
}

#[test]
fn overlapping_cubes_join_share_and_differ_as_boxes_do() {
    let (a, b) = (cube(0.0, 2.0), cube(1.0, 2.0));
    for (solid, volume) in
        [(union(&a, &b).unwrap(), 15.0), (intersection(&a, &b).unwrap(), 1.0), (difference(&a, &b).unwrap(), 7.0)]
    {
        assert!((solid.volume_mm3() - volume).abs() < 1e-12);
        assert!(solid.edge_census().is_closed());
    }
}

#[test]
fn an_empty_operand_changes_nothing() {
    let (a, none) = (cube(0.0, 2.0), Mesh::default());
    assert_eq!(union(&a, &none).unwrap(), union(&none, &a).unwrap());
    assert_eq!(difference(&a, &none).unwrap().volume_mm3(), 8.0);
    assert!(difference(&none, &a).unwrap().is_empty());
    assert!(intersection(&a, &none).unwrap().is_empty());
    assert!(union_all(&[]).unwrap().is_empty());
    assert_eq!(min_gap(&a, &none, 5.0).unwrap(), 5.0);
}

#[test]
fn faulty_operands_are_named() {
    let good = cube(0.0, 2.0);
    let mut open = cube(1.0, 2.0);
    open.triangles.pop();
    assert!(matches!(union(&good, &open), Err(BooleanError::NotClosed { operand: 2, edges: 3, .. })));
    let inside_out = good.clone().reversed();
    assert!(matches!(difference(&inside_out, &good), Err(BooleanError::InsideOut { operand: 1, .. })));
    let mut lost = good.clone();
    lost.vertices[3].y = f64::NAN;
    let tools = [good.clone(), lost];
    assert_eq!(difference_all(&good, &tools), Err(BooleanError::NotFinite { operand: 3, vertex: 3 }));
    let mut beyond = good.clone();
    beyond.triangles[5][1] = 99;
    assert_eq!(union(&beyond, &good), Err(BooleanError::BadIndex { operand: 1, triangle: 5 }));
    assert!(matches!(min_gap(&good, &good, f64::NAN), Err(BooleanError::BadLength { .. })));
}

#[test]
fn many_tools_cut_at_once() {
    let plate = cuboid(DVec3::ZERO, DVec3::new(100.0, 10.0, 4.0));
    let mut tools: Vec<Mesh> = (0..9)
        .map(|k| cuboid(DVec3::new(10.0 * k as f64 + 2.0, 2.0, -1.0), DVec3::new(10.0 * k as f64 + 8.0, 8.0, 5.0)))
        .collect();
    tools.push(cuboid(DVec3::new(7.0, 3.0, -0.5), DVec3::new(13.0, 7.0, 4.5)));
    let cut = difference_all(&plate, &tools).unwrap();
    let expected = 4000.0 - 9.0 * 6.0 * 6.0 * 4.0 - 4.0 * 4.0 * 4.0;
    assert!((cut.volume_mm3() - expected).abs() < 1e-9);
    assert!(cut.edge_census().is_closed());
    assert!((union_all(&tools).unwrap().volume_mm3() - 9.0 * 216.0 - 4.0 * 4.0 * 5.0).abs() < 1e-9);
}

#[test]
fn gaps_are_measured_and_overlap_has_none() {
    let a = cube(0.0, 2.0);
    let b = cuboid(DVec3::new(5.0, 0.0, 0.0), DVec3::new(6.0, 2.0, 2.0));
    assert!((min_gap(&a, &b, 10.0).unwrap() - 3.0).abs() < 1e-12);
    assert_eq!(min_gap(&a, &b, 1.0).unwrap(), 1.0);
    assert_eq!(min_gap(&a, &cube(0.5, 1.0), 10.0).unwrap(), 0.0, "one inside the other");
    assert_eq!(min_gap(&cube(0.5, 1.0), &a, 10.0).unwrap(), 0.0);
}

#[test]
fn crossing_shells_are_seen_and_rebuilt_as_one() {
    let mut doubled = cube(0.0, 2.0);
    assert!(!self_intersects(&doubled).unwrap());
    doubled.append(&cube(1.0, 2.0));
    assert!(self_intersects(&doubled).unwrap());
    let one = rebuild(&doubled).unwrap();
    assert!((one.volume_mm3() - 15.0).abs() < 1e-9);
    assert!(!self_intersects(&one).unwrap());
}

#[test]
fn simplifying_a_fine_ball_keeps_it_a_ball() {
    let ball = sphere(DVec3::ZERO, 20.0, 128);
    let coarse = simplify(&ball, 0.02).unwrap();
    assert!(coarse.triangles.len() < ball.triangles.len());
    assert!(coarse.edge_census().is_closed());
    // A surface moved by at most 0.02 mm changes the volume by at most 0.02 mm times the area.
    assert!((coarse.volume_mm3() - ball.volume_mm3()).abs() < 0.02 * ball.area_mm2());
}

#[test]
fn the_same_operands_give_the_same_bytes() {
    let (a, b) = (sphere(DVec3::ZERO, 10.0, 48), sphere(DVec3::new(7.0, 3.0, 1.0), 8.0, 40));
    let first = union(&a, &b).unwrap();
    for _ in 0..5 {
        assert_eq!(union(&a, &b).unwrap(), first);
    }
}

#[test]
fn a_ring_is_filled_and_a_bad_filling_refused() {
    let square = |r: f64| vec![DVec2::new(-r, -r), DVec2::new(r, -r), DVec2::new(r, r), DVec2::new(-r, r)];
    let mut hole = square(1.0);
    hole.reverse();
    let loops = [square(2.0), hole];
    let filled = triangulate(&loops).unwrap().triangles;
    assert_eq!(filled.len(), 8);
    assert!(!fills(&loops, &filled[1..]));
}

proptest! {
    #[test]
    fn inclusion_and_exclusion_balance(
        at in prop::array::uniform3(-3.0..3.0f64), size in prop::array::uniform3(1.0..4.0f64), radius in 1.0..3.0f64,
    ) {
        let a = cuboid(DVec3::from_array(at), DVec3::from_array(at) + DVec3::from_array(size));
        let b = sphere(DVec3::ZERO, radius, 24);
        let both = intersection(&a, &b).unwrap();
        let any = union(&a, &b).unwrap();
        let rest = difference(&a, &b).unwrap();
        prop_assert!((any.volume_mm3() + both.volume_mm3() - a.volume_mm3() - b.volume_mm3()).abs() < 1e-9);
        prop_assert!((rest.volume_mm3() + both.volume_mm3() - a.volume_mm3()).abs() < 1e-9);
        for part in [both, any, rest] {
            prop_assert!(part.edge_census().is_closed());
        }
    }
}
