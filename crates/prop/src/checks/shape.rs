//! Is each piece a sound solid, with the maker's surface outside and the asked wall inside?

use super::{Checked, Laid, Work, note, piece_name, spread};
use crate::finding::{Band, Finding, PIECES, SHAPE, input};
use crate::grading::WallField;
use crate::memory::{KeyOf, Known};
use crate::outcome::{Piece, Role, TakeDown};
use crate::pieces::LABEL_MM;
use crate::stages::{InsideBody, SplitPiece};
use rayon::prelude::*;
use solid::{Bvh, DVec3, Mesh};
use std::borrow::Cow;

/// How far the outer surface may stray from the maker's, mm.
const OUTER_MM: f64 = 0.01;
/// How far the wall may be from the asked one, mm.
const WALL_MM: f64 = 0.1;
/// How far a graded wall may be under its least, mm: what the flats of faces reach into it.
const UNDER_MM: f64 = 0.02;
/// Cosine of how far askew a face may lie to the wall and still count as one, 5 degrees: a cavity's wall lies as it is wanted;
/// floors and rounded edges don't.
const STRAIGHT: f64 = 0.9962;
/// So much of the ball of the least cavity may stand in the wall before it counts as too large for a place, mm.
const REACH_MM: f64 = 0.05;
/// Nearer to a cut than this, surfaces are the joint's own, mm.
const OFF_CUT_MM: f64 = 1.0;
/// Volumes must add up to this share.
const VOLUME_SHARE: f64 = 1e-4;
/// About so many points of a surface are measured.
const SAMPLES: usize = 20_000;

pub(super) fn check(work: &Work, laid: &[Laid]) -> Vec<Finding> {
    let bodies = &work.placed.bodies;
    let count = laid.len();
    // Kept where it is not the body itself.
    let outsides = work.remembered(("outsides", 1), KeyOf::stage("outsides").and(&work.inside.key), || {
        let other = |mesh| match outside(mesh) {
            Cow::Owned(mesh) => Some(mesh),
            Cow::Borrowed(_) => None,
        };
        bodies.par_iter().map(|b| other(&b.mesh)).collect::<Vec<Option<Mesh>>>()
    });
    let each: Vec<Known<Vec<Finding>>> = work
        .printed
        .pieces
        .par_iter()
        .zip(&work.split.pieces)
        .zip(laid)
        .enumerate()
        .map(|(i, ((piece, made), laid))| {
            // Besides the piece itself: its body and what is inside it, what parts take from it, and its joints.
            let apart = joints_apart(work, made);
            let key = KeyOf::stage("shape").and(&work.printed.keys[i]).and(&work.inside.key).and(&work.bays.key());
            work.remembered(("shape", count), key.and(&socket_depths(work, made)).and(&apart), || {
                let body = &bodies[made.body].mesh;
                let kept = outer_kept(work, piece, made, laid, outsides[made.body].as_ref().unwrap_or(body));
                let mut found = vec![closed(piece), uncrossed(piece, made), single(piece), volumes(piece, made), kept];
                found.extend(wall(work, piece, made));
                if made.made.filled > 0 {
                    found.push(note(
                        "pocket_filled",
                        piece_name(piece),
                        Some(piece.station_mm),
                        made.made.filled as f64,
                        "1",
                        format!("{} closed pockets inside were left solid: nothing could be put into them.", made.made.filled),
                    ));
                }
                let flat = work.printed.flat_faces[i];
                if flat > 0 {
                    found.push(note(
                        "flat_faces",
                        piece_name(piece),
                        Some(piece.station_mm),
                        flat as f64,
                        "1",
                        format!("{flat} faces have no area after rounding to a thousandth of a millimetre; they print as nothing."),
                    ));
                }
                found
            })
        })
        .collect();
    each.iter().flat_map(|found| found.iter().cloned()).collect()
}

/// What holds the joints of a piece that come apart.
fn joints_apart<'a>(work: &'a Work, made: &SplitPiece) -> Vec<&'a TakeDown> {
    let joints = work.split.joints.iter().filter(|j| j.pieces.contains(&made.number));
    joints.filter_map(|j| j.take_down.as_ref()).collect()
}

fn closed(piece: &Piece) -> Finding {
    let census = piece.mesh.edge_census();
    let bad = census.open.len() + census.flipped.len() + census.crowded.len();
    let inside_out = piece.mesh.volume_mm3() <= 0.0;
    Checked {
        id: "piece_closed",
        subject: piece_name(piece),
        station_mm: Some(piece.station_mm),
        value: Band::exact(bad as f64 + f64::from(u8::from(inside_out))),
        unit: "1",
        min: None,
        max: Some(0.0),
        source: "3MF core specification: a closed, oriented surface".into(),
        message: format!("{bad} edges are open, turned or shared by more than two faces."),
        remedy: "move the cuts next to it a little (cuts.shift) or remesh the body there".into(),
    }
    .finding()
    .worked_from([
        input("open edges", census.open.len() as f64, "1", PIECES),
        input("turned edges", census.flipped.len() as f64, "1", PIECES),
        input("crowded edges", census.crowded.len() as f64, "1", PIECES),
        input("volume", piece.volume_mm3, "mm3", PIECES),
    ])
}

/// Surfaces that cross themselves fill wrongly. The void (cavity, ribs, bores, sockets, number) is what the program makes;
/// the maker's own surface is looked at when it is mended. Looked at before rounding, which may let faces touch that
/// lie within a thousandth of a millimetre.
fn uncrossed(piece: &Piece, made: &SplitPiece) -> Finding {
    let crosses = solid::self_intersects(&made.made.void).unwrap_or(true);
    Checked {
        id: "piece_uncrossed",
        subject: piece_name(piece),
        station_mm: Some(piece.station_mm),
        value: Band::exact(f64::from(u8::from(crosses))),
        unit: "1",
        min: None,
        max: Some(0.0),
        source: "a solid's surface crosses nothing".into(),
        message: if crosses {
            "Inside it, cavity, ribs, bores or sockets cross each other."
        } else {
            "Inside it nothing crosses: cavity, ribs, bores and sockets are one clean surface."
        }
        .into(),
        remedy: "move the cuts next to it a little (cuts.shift), or change wall or least-cavity by a tenth".into(),
    }
    .finding()
    .worked_from([input("faces inside", made.made.void.triangles.len() as f64, "1", PIECES)])
}

fn single(piece: &Piece) -> Finding {
    let shells = piece.mesh.shells().len();
    Checked {
        id: "piece_single",
        subject: piece_name(piece),
        station_mm: Some(piece.station_mm),
        value: Band::exact(shells as f64),
        unit: "1",
        min: Some(1.0),
        max: Some(1.0),
        source: "each file prints as one body".into(),
        message: format!("It is {shells} {}.", if shells == 1 { "body" } else { "bodies" }),
        remedy: "a part has come loose inside: move the cut, or change wall, spine or strip so that the rail reaches the wall".into(),
    }
    .finding()
    .worked_from([input("faces", piece.mesh.triangles.len() as f64, "1", PIECES)])
}

fn volumes(piece: &Piece, made: &SplitPiece) -> Finding {
    let whole = made.made.whole_mm3;
    let off = ((piece.volume_mm3 + piece.taken_mm3 - piece.added_mm3) / whole - 1.0).abs();
    Checked {
        id: "volumes_add_up",
        subject: piece_name(piece),
        station_mm: Some(piece.station_mm),
        value: Band::exact(off),
        unit: "1",
        min: None,
        max: Some(VOLUME_SHARE),
        source: "what is printed and what was taken away make the maker's solid".into(),
        message: format!(
            "{:.2} cm3 printed, {:.2} cm3 taken away, {:.2} cm3 added beyond the cut: off by {:.1} parts in a million.",
            piece.volume_mm3 / 1e3,
            piece.taken_mm3 / 1e3,
            piece.added_mm3 / 1e3,
            off * 1e6
        ),
        remedy: "surfaces overlap in the shape: unite them in the modelling program".into(),
    }
    .finding()
    .worked_from([
        input("printed", piece.volume_mm3, "mm3", PIECES),
        input("taken away", piece.taken_mm3, "mm3", "cavity, rail, bays and sockets"),
        input("added", piece.added_mm3, "mm3", "collars and plugs beyond the cut"),
        input("solid", whole, "mm3", SHAPE),
    ])
}

/// Points spread evenly over the maker's surface between the cuts, by area, whatever the size of its faces.
fn between_cuts(mesh: &Mesh, made: &SplitPiece, off_mm: f64) -> Vec<DVec3> {
    let inside = |p: &DVec3| {
        made.planes[0].is_none_or(|c| c.distance_mm(*p) > off_mm)
            && made.planes[1].is_none_or(|c| c.distance_mm(*p) < -off_mm)
    };
    spread(mesh, SAMPLES, &inside)
}

/// Points of the maker's surface that the piece should still show: between the cuts; of a lid, over its plan; away from
/// what bays, ports and lids open.
fn shown(work: &Work, made: &SplitPiece, mesh: &Mesh) -> Vec<DVec3> {
    let near = |surface: &Bvh, p: DVec3| surface.is_inside(p) || surface.nearest(p, OFF_CUT_MM).is_some();
    match made.lid.map(|l| &work.bays.lids[l]) {
        Some(lid) => {
            let (plate, sunk) = (Bvh::new(&lid.plate), Bvh::new(&lid.sunk_in_lid));
            let over = |p: &DVec3| plate.is_inside(*p) && plate.nearest(*p, OFF_CUT_MM).is_none() && !near(&sunk, *p);
            spread(mesh, SAMPLES * 4, &over)
        }
        None => {
            let points = between_cuts(mesh, made, OFF_CUT_MM);
            let opened: Vec<Bvh> = work.bays.taken_from(made.body).into_iter().map(Bvh::new).collect();
            points.into_iter().filter(|p| !opened.iter().any(|o| near(o, *p))).collect()
        }
    }
}

/// The maker's surface without the walls of rooms that are shut up inside the solid: they are no outer surface, and pieces
/// fill them.
fn outside(mesh: &Mesh) -> Cow<'_, Mesh> {
    let shells = mesh.shells();
    if shells.len() < 2 {
        return Cow::Borrowed(mesh);
    }
    let outwards = shells.iter().filter(|s| mesh.subset(s).volume_mm3() > 0.0);
    let mut triangles: Vec<u32> = outwards.flatten().copied().collect();
    triangles.sort_unstable();
    Cow::Owned(mesh.subset(&triangles))
}

fn outer_kept(work: &Work, piece: &Piece, made: &SplitPiece, laid: &Laid, outside: &Mesh) -> Finding {
    let body = &work.placed.bodies[made.body];
    // A cover's number is sunk into its bore: those points are the label's, not the surface's.
    let label = made.made.label.filter(|_| body.role == Role::Cover).map(|l| l.at);
    let points = shown(work, made, outside);
    // What the bore took is no surface any more.
    let bore = made.cover.as_ref().map(|c| Bvh::new(&c.bore));
    let kept = |p: &DVec3| bore.as_ref().is_none_or(|b| b.signed_distance(*p) > 0.0);
    let points: Vec<DVec3> = points.into_iter().filter(kept).collect();
    let worst = points
        .iter()
        .copied()
        .filter(|p| label.is_none_or(|l| (*p - l).length() > 2.0 * LABEL_MM))
        .filter(|p| !drilled(work, made, *p))
        .map(|p| (laid.surface.nearest(p, f64::INFINITY).map_or(f64::INFINITY, |n| n.distance_mm), p))
        .fold((0.0, DVec3::ZERO), |a, b| if b.0 > a.0 { b } else { a });
    // The other way: nothing of the piece may stand out of the maker's surface between the cuts.
    let maker = work.inside.bodies.iter().find(|b| b.body == made.body).map(|b| &b.outer);
    let standing = maker.map_or((0.0, DVec3::ZERO), |outer| {
        spread(&piece.mesh.transformed(&piece.to_prop), SAMPLES, &|p| {
            made.planes[1].is_none_or(|c| c.distance_mm(*p) < -OFF_CUT_MM)
                && made.planes[0].is_none_or(|c| c.distance_mm(*p) > OFF_CUT_MM)
        })
        .into_iter()
        .filter_map(|p| outer.nearest(p, 2.0).map(|n| (n.distance_mm, p)))
        .filter(|(d, p)| *d > OUTER_MM && !outer.is_inside(*p))
        .fold((0.0, DVec3::ZERO), |a, b| if b.0 > a.0 { b } else { a })
    });
    let measured = if points.is_empty() { f64::NAN } else { worst.0.max(standing.0) };
    let nearest = worst;
    let worst = if standing.0 > worst.0 { standing } else { worst };
    let at = work.placed.path.station_of(worst.1);
    Checked {
        id: "outer_kept",
        subject: piece_name(piece),
        station_mm: Some(piece.station_mm),
        value: Band::exact(measured),
        unit: "mm",
        min: None,
        max: Some(OUTER_MM),
        source: "the outer surface that prints is the maker's".into(),
        message: format!(
            "Away from the cuts the outer surface is within {:.4} mm of the maker's (furthest at station {at:.0} mm).",
            worst.0
        ),
        remedy: "a slot or socket breaks through here: take a thinner spine or strip, or another joint".into(),
    }
    .finding()
    .worked_from([
        input("points looked at", points.len() as f64, "1", SHAPE),
        input("furthest inside", nearest.0, "mm", SHAPE),
        input("furthest outside", standing.0, "mm", PIECES),
    ])
}

/// Whether a point of the maker's surface lies where a screw goes through it, or a drain that the maker asked for.
fn drilled(work: &Work, made: &SplitPiece, p: DVec3) -> bool {
    let hollowed = made.cover.as_ref().and_then(|c| c.hollowed.as_ref());
    let mut drains = hollowed.into_iter().flat_map(|h| h.hollows.iter().flat_map(|h| &h.drains));
    if drains.any(|d| d.at.distance(p) < d.diameter_mm / 2.0 + 0.3) {
        return true;
    }
    joints_apart(work, made).into_iter().any(|apart| {
        let p = apart.axes.inverse().transform_point3(p);
        apart.holes.iter().any(|(at, out, radius)| {
            let off = p - *at;
            (off - *out * off.dot(*out)).length() < radius + 0.3 && off.dot(*out) > -10.0
        })
    })
}

/// Thickness of the wall, measured from the cavity as true distance to the maker's surface, where the cavity follows it.
fn wall(work: &Work, piece: &Piece, made: &SplitPiece) -> Vec<Finding> {
    let Some(asked) = piece.wall_mm else { return Vec::new() };
    let Some(own) = work.inside.bodies.iter().find(|b| b.body == made.body) else { return Vec::new() };
    if let Some(field) = &own.field {
        return graded_wall(work, piece, made, own, field);
    }
    let mesh = &work.placed.bodies[made.body].mesh;
    let void = Bvh::new(&made.made.void);
    // From outside: nowhere may the void come nearer than the wall.
    let near = between_cuts(mesh, made, asked + OFF_CUT_MM)
        .into_par_iter()
        .filter_map(|p| void.nearest(p, asked * 4.0).map(|n| (n.distance_mm, p)))
        .reduce_with(|a, b| if b.0 < a.0 || (b.0 == a.0 && b.1.x < a.1.x) { b } else { a });
    // From inside: where the void's face looks straight at the maker's surface it is wall, and nowhere thicker.
    let samples = facing(work, own, made, asked, None);
    let far = samples.iter().copied().fold((0.0, DVec3::ZERO), |a, b| if b.0 > a.0 { b } else { a });
    // A piece without a stretch of free wall has nothing to measure; one that has must be measured.
    let Some(least) = near else { return Vec::new() };
    let far = if far.0 > 0.0 { far } else { least };
    let station = |p: DVec3| work.placed.path.station_of(p);
    let value = if (asked - least.0).abs() > (far.0 - asked).abs() { least.0 } else { far.0 };
    vec![
        Checked {
            id: "wall_even",
            subject: piece_name(piece),
            station_mm: Some(piece.station_mm),
            value: Band { value, low: least.0, high: far.0 },
            unit: "mm",
            min: Some(asked - WALL_MM),
            max: Some(asked + WALL_MM),
            source: format!("body.{}.wall, within {WALL_MM} mm", piece.body),
            message: format!(
                "The wall is {:.2} to {:.2} mm where {asked:.2} mm is asked (thinnest at station {:.0} mm, thickest at {:.0} mm).",
                least.0, far.0, station(least.1), station(far.1)
            ),
            remedy: "a slot runs too near the surface: take a slimmer strip or spine, or shorten them with light.to or spine.to".into(),
        }
        .finding()
        .worked_from([
            input("thinnest", least.0, "mm", PIECES),
            input("thickest", far.0, "mm", PIECES),
            input("asked", asked, "mm", format!("body.{}.wall", piece.body)),
        ]),
    ]
}

/// A graded wall against the thickness wanted, which is known at every point, and against its limits.
fn graded_wall(work: &Work, piece: &Piece, made: &SplitPiece, own: &InsideBody, field: &WallField) -> Vec<Finding> {
    let [least, most] = field.limits_mm();
    let samples = facing(work, own, made, most, Some(field));
    if samples.is_empty() {
        return Vec::new();
    }
    let ends = |of: &dyn Fn(&(f64, DVec3)) -> f64| {
        let first = (of(&samples[0]), samples[0].1);
        samples.iter().map(|s| (of(s), s.1)).fold((first, first), |(low, high), v| {
            (if v.0 < low.0 { v } else { low }, if v.0 > high.0 { v } else { high })
        })
    };
    let ((thin, _), (thick, _)) = ends(&|s| s.0);
    let (under, over) = ends(&|s| s.0 - field.at(s.1));
    let (off, at) = if under.0.abs() > over.0.abs() { under } else { over };
    let (under, over) = (under.0, over.0);
    let source = format!("body.{} wall-least and wall-most", piece.body);
    let remedy = "a slot runs too near the surface: take a slimmer strip or spine, or a smaller wall-most".to_owned();
    vec![
        Checked {
            id: "wall_graded",
            subject: piece_name(piece),
            station_mm: Some(piece.station_mm),
            value: Band { value: if least - thin > thick - most { thin } else { thick }, low: thin, high: thick },
            unit: "mm",
            min: Some(least - UNDER_MM),
            max: Some(most + WALL_MM),
            source: source.clone(),
            message: format!(
                "The graded wall is {thin:.2} to {thick:.2} mm thick, {least:.2} to {most:.2} mm are allowed."
            ),
            remedy: remedy.clone(),
        }
        .finding()
        .worked_from([
            input("thinnest", thin, "mm", PIECES),
            input("thickest", thick, "mm", PIECES),
            input("places", samples.len() as f64, "1", PIECES),
        ]),
        Checked {
            id: "wall_followed",
            subject: piece_name(piece),
            station_mm: Some(piece.station_mm),
            value: Band { value: off, low: under, high: over },
            unit: "mm",
            min: Some(-WALL_MM),
            max: Some(WALL_MM),
            source: format!("{source}, and the light: within {WALL_MM} mm of the thickness wanted"),
            message: format!(
                "At {} places of the wall its thickness is {under:+.3} to {over:+.3} mm off the one wanted there, most at station {:.0} mm.",
                samples.len(),
                work.placed.path.station_of(at)
            ),
            remedy,
        }
        .finding()
        .worked_from([
            input("most under", under, "mm", "the thickness wanted there"),
            input("most over", over, "mm", "the thickness wanted there"),
            input("places", samples.len() as f64, "1", PIECES),
        ]),
    ]
}

/// Distances at the void's faces that look straight at the nearest point of the maker's surface: the cavity's own wall.
/// Ribs, bores, sockets and the number also have faces that do; they are left out by where they are.
fn facing(
    work: &Work,
    own: &InsideBody,
    made: &SplitPiece,
    asked: f64,
    field: Option<&WallField>,
) -> Vec<(f64, DVec3)> {
    let void = &made.made.void;
    let every = void.triangles.len().div_ceil(SAMPLES).max(1);
    let sockets = socket_depths(work, made);
    let ends = [(&made.planes[0], 1.0, sockets[0]), (&made.planes[1], -1.0, sockets[1])];
    let is_wall = |p: DVec3| {
        let off_cuts = ends.iter().all(|(plane, side, depth)| {
            plane.is_none_or(|c| c.distance_mm(p) * side > if *depth > 0.0 { depth + 1.5 } else { OFF_CUT_MM })
        });
        let off_label = made.made.label.is_none_or(|l| (p - l.at).length() > 2.0 * LABEL_MM);
        let off_rail = work.inside.rail.as_ref().is_none_or(|rail| !rail.reaches(p, OFF_CUT_MM));
        off_cuts && off_label && off_rail
    };
    (0..void.triangles.len())
        .into_par_iter()
        .step_by(every)
        .filter_map(|t| {
            let [a, b, c] = void.corners(t);
            let p = (a + b + c) / 3.0;
            let normal = void.area_vector(t).try_normalize()?;
            let n = own.outer.nearest(p, asked * 3.0)?;
            let towards = (n.point - p).try_normalize()?;
            // Straight at the surface, but for the slope of the thickness wanted.
            let lies = field.map_or(towards, |f| (towards + f.gradient(p)).normalize_or_zero());
            let wanted_mm = field.map_or(asked, |f| f.at(p));
            let is_due = || n.distance_mm <= wanted_mm || reached(own, n.point - towards * wanted_mm, lies, wanted_mm);
            (lies.dot(normal) > STRAIGHT && is_wall(p) && is_due()).then_some((n.distance_mm, p))
        })
        .collect()
}

/// Whether the ball of the least cavity touches the wall at `at`, where the wall faces along `out` and is `wanted_mm` thick:
/// elsewhere the cavity is too narrow, and the wall is thicker than wanted by right.
fn reached(own: &InsideBody, at: DVec3, out: DVec3, wanted_mm: f64) -> bool {
    let radius_mm = own.rules.least_cavity_mm / 2.0;
    let free_mm = wanted_mm + radius_mm - REACH_MM;
    own.outer.nearest(at - out * radius_mm, free_mm).is_none()
}

/// How deep the sockets at each end of the piece go, mm.
fn socket_depths(work: &Work, made: &SplitPiece) -> [f64; 2] {
    let mut depths = [0.0f64; 2];
    for (joint, fastening) in work.split.joints.iter().zip(&work.split.fastenings) {
        for side in 0..2 {
            if joint.pieces[side] == made.number {
                depths[1 - side] = fastening.depth_mm[side];
            }
        }
    }
    depths
}
