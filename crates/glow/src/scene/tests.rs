use super::*;
use solid::{cuboid, sphere};

fn block(from: f64, to: f64) -> Solid {
    Solid { mesh: cuboid(DVec3::new(from, 0.0, 0.0), DVec3::new(to, 10.0, 10.0)), glued: Vec::new() }
}

fn clear() -> Medium {
    Medium::checked(0.0, 0.0, 0.0, 1.5).unwrap()
}

#[test]
fn flights_end_at_the_first_face_and_name_its_body() {
    let ball = sphere(DVec3::new(-20.0, 5.0, 5.0), 4.0, 32);
    let scene = Scene::new(&[block(0.0, 10.0), block(10.0, 20.0)], &[ball]).unwrap();
    let at = DVec3::new(-10.0, 4.0, 5.0);
    let hit = scene.flight(at, DVec3::X, Start::Here).unwrap();
    assert_eq!((scene.body(hit.triangle), hit.point), (Body::Solid(0), DVec3::new(0.0, 4.0, 5.0)));
    assert_eq!(scene.body(scene.flight(at, -DVec3::X, Start::Here).unwrap().triangle), Body::Thing(0));
    assert!(scene.flight(at, DVec3::Z, Start::Here).is_none());
    assert_eq!(scene.body_at(DVec3::new(3.0, 3.0, 3.0)), Some(Body::Solid(0)));
    assert_eq!(scene.body_at(DVec3::new(13.0, 3.0, 3.0)), Some(Body::Solid(1)));
    assert_eq!(scene.body_at(DVec3::new(-20.0, 4.0, 5.0)), Some(Body::Thing(0)));
    assert_eq!(scene.body_at(at), None);
    assert_eq!((scene.n_solids(), scene.n_things()), (2, 1));
}

#[test]
fn touching_solids_hand_over_even_where_they_overlap() {
    for gap in [-0.005, 0.0, 0.005, 0.2] {
        let scene = Scene::new(&[block(0.0, 10.0), block(10.0 + gap, 20.0)], &[]).unwrap();
        for way in [DVec3::X, DVec3::new(0.9, 0.3, -0.1).normalize()] {
            let out = scene.way_out(0, DVec3::new(9.0, 4.0, 5.0), way, 100.0).unwrap();
            assert_eq!(out.point.x, 10.0);
            let next = scene.flight(out.point, way, Start::Leaving).unwrap();
            assert_eq!(scene.body(next.triangle), Body::Solid(1), "{gap}");
            assert!((next.point.x - 10.0 - gap).abs() < 1e-12 && next.normal == -DVec3::X);
        }
    }
}

#[test]
fn glue_joins_cut_faces_that_touch_and_no_others() {
    let cut_at = |x: f64, solid: &Solid| {
        let cuts = (0..solid.mesh.triangles.len()).map(|t| solid.mesh.corners(t).iter().all(|c| c.x == x));
        Solid { mesh: solid.mesh.clone(), glued: cuts.collect() }
    };
    let point = DVec3::new(10.0, 4.0, 5.0);
    for (gap, joined) in [(0.0, true), (0.2, true), (-0.001, true), (0.3, false)] {
        let second = block(10.0 + gap, 20.0);
        let scene = Scene::new(&[cut_at(10.0, &block(0.0, 10.0)), cut_at(10.0 + gap, &second)], &[]).unwrap();
        let next = scene.across_glue(0, point, DVec3::X);
        assert_eq!(next.is_some(), joined, "{gap}");
        if let Some(next) = next {
            assert!((next.point.x - 10.0 - gap).abs() < 1e-12 && scene.body(next.triangle) == Body::Solid(1));
        }
        // The same faces without the mark.
        let plain = Scene::new(&[cut_at(10.0, &block(0.0, 10.0)), second], &[]).unwrap();
        assert!(plain.across_glue(0, point, DVec3::X).is_none());
    }
}

#[test]
fn faulty_scenes_are_refused_with_their_place() {
    assert_eq!(Scene::new(&[], &[]).err(), Some(SceneError::NoSolid));
    let mut open = block(0.0, 10.0);
    open.mesh.triangles.pop();
    assert!(matches!(Scene::new(&[open], &[]), Err(SceneError::Open { body: Body::Solid(0), n_edges: 3, .. })));
    let good = block(0.0, 10.0);
    let inside_out = good.mesh.clone().reversed();
    let error = Scene::new(std::slice::from_ref(&good), &[good.mesh.clone(), inside_out]).err().unwrap();
    assert!(error.to_string().starts_with("opaque thing 1 is inside out: its volume is -1000"), "{error}");
    let mut torn = good.clone();
    torn.mesh.vertices[0] = DVec3::NAN;
    assert_eq!(Scene::new(&[torn], &[]).err(), Some(SceneError::NoSurface { body: Body::Solid(0) }));
    let marked = Solid { glued: vec![true; 5], ..good.clone() };
    assert!(matches!(Scene::new(&[marked], &[]), Err(SceneError::Count { given: 5, needed: 12, .. })));

    let scene = Scene::new(std::slice::from_ref(&good), std::slice::from_ref(&good.mesh)).unwrap();
    let glue = Coat { reflectance: 0.1, transmittance: 0.9 };
    let band = Band { media: vec![clear()], reflectances: vec![0.5], glue };
    assert_eq!(scene.check(&band), Ok(()));
    let refused = |change: &dyn Fn(&mut Band)| {
        let mut bad = band.clone();
        change(&mut bad);
        scene.check(&bad).unwrap_err().to_string()
    };
    assert!(refused(&|b| b.media.clear()).contains("0 given, 1 needed"));
    assert!(refused(&|b| b.reflectances[0] = 1.2).starts_with("opaque thing 0 reflects 1.2"));
    assert!(refused(&|b| b.reflectances[0] = f64::NAN).contains("NaN"));
    assert!(refused(&|b| b.media[0].index = 0.5).starts_with("solid 0: refractive index"));
    assert!(refused(&|b| b.media[0].absorb_per_mm = 20.0).contains("solid 0 passes less than a millionth"));
    assert!(refused(&|b| b.glue.transmittance = 0.95).starts_with("the glue"));
}
