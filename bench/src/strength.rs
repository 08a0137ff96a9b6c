//! A prop as a beam: sections of its pieces at many stations, and what loads do to it.

use std::thread;

use beam::frame::{EARTH_MM_S2, Frame, FrameError, Line, Load, Stop, Support, heft, line, modes, pulse, still};
use beam::section::{Material, Outline, Region, stress};
use beam::{DMat3, DVec2, DVec3, Section, outlines, section};
use prop::outcome::Outcome;
use solid::Mesh;
use solid::section::Basis;

/// Places along the prop.
const STATIONS: usize = 200;

/// Threads that work out sections.
const THREADS: usize = 2;

/// How near an outline's thinned corners keep, mm, and how near the bounds of torsion.
const TOLERANCE_MM: f64 = 0.02;
const ACCURACY: f64 = 0.02;

const PLASTIC: Material = Material { e_mpa: 2400.0, g_mpa: 890.0, density_kg_m3: 1240.0 };
const METAL: Material = Material { e_mpa: 68_900.0, g_mpa: 25_900.0, density_kg_m3: 2700.0 };

/// What is there before the clock runs: pieces in the prop frame and the places to cut them at.
pub(crate) struct Prop {
    pieces: Vec<(Mesh, [f64; 2])>,
    places: Vec<(f64, Basis)>,
}

/// Sections of the wall at each station where there is one.
pub(crate) struct Walls {
    stations: Vec<(f64, Basis, Vec<Region>, Section)>,
}

pub(crate) fn prop(outcome: &Outcome) -> Prop {
    let lay = |piece: &prop::outcome::Piece| {
        let vertices = piece.mesh.vertices.iter().map(|p| piece.to_prop.transform_point3(*p)).collect();
        (Mesh { vertices, triangles: piece.mesh.triangles.clone() }, piece.station_mm)
    };
    // Stations a hair off round numbers, where cuts lie.
    let at = |k: usize| outcome.length_mm * (k as f64 + 0.4987) / STATIONS as f64;
    let place = |station: f64| {
        let frame = outcome.path.frame(station);
        (station, Basis { origin: frame.point, x: frame.across, y: frame.through })
    };
    Prop { pieces: outcome.pieces.iter().map(lay).collect(), places: (0..STATIONS).map(at).map(place).collect() }
}

pub(crate) fn walls(prop: &Prop) -> Result<Walls, String> {
    let one = |(station, basis): &(f64, Basis)| -> Result<Option<(f64, Basis, Vec<Region>, Section)>, String> {
        let mut found: Vec<Outline> = Vec::new();
        for (mesh, [from, to]) in &prop.pieces {
            if (*from..=*to).contains(station) {
                let loops = solid::section::section(mesh, basis).map_err(|e| format!("at {station} mm: {e}"))?;
                found.extend(outlines(&loops, TOLERANCE_MM));
            }
        }
        if found.is_empty() {
            return Ok(None);
        }
        let regions = vec![Region { material: PLASTIC, outlines: found }];
        let section = section(&regions, ACCURACY).map_err(|e| format!("at {station} mm: {e}"))?;
        Ok(Some((*station, *basis, regions, section)))
    };
    let parts: Vec<Result<Vec<_>, String>> = thread::scope(|scope| {
        let work = |places: Vec<&(f64, Basis)>| places.into_iter().map(one).collect::<Result<Vec<_>, _>>();
        let run: Vec<_> = (0..THREADS)
            .map(|t| {
                let mine: Vec<&(f64, Basis)> = prop.places.iter().skip(t).step_by(THREADS).collect();
                scope.spawn(move || work(mine))
            })
            .collect();
        run.into_iter().map(|r| r.join().unwrap_or_else(|_| Err("a thread fell over".to_owned()))).collect()
    });
    let mut stations: Vec<_> =
        parts.into_iter().collect::<Result<Vec<_>, _>>()?.into_iter().flatten().flatten().collect();
    stations.sort_by(|a, b| a.0.total_cmp(&b.0));
    Ok(Walls { stations })
}

/// All loads on the prop with a flat bar glued or loose inside; the result is the largest stress of all, MPa.
pub(crate) fn loaded(walls: &Walls, width_mm: f64, thickness_mm: f64, bonded: bool) -> Result<f64, String> {
    let (w, t) = (0.5 * width_mm, 0.5 * thickness_mm);
    let corners = [(-w, -t), (w, -t), (w, t), (-w, t)].iter().map(|c| DVec2::new(c.0, c.1)).collect();
    let bar = Region { material: METAL, outlines: vec![Outline { outer: corners, holes: Vec::new() }] };
    let spine = section(&[bar], ACCURACY).map_err(|e| e.to_string())?;
    let whole: Vec<Section> =
        walls.stations.iter().map(|s| if bonded { s.3.bonded(&spine) } else { s.3.clone() }).collect();
    let stops: Vec<Stop> = walls
        .stations
        .iter()
        .zip(&whole)
        .map(|((station, basis, ..), section)| Stop {
            station_mm: *station,
            at_mm: basis.raise(section.plain.centroid_mm),
            across: basis.x,
            bar: section.bar(),
            core: (!bonded).then(|| spine.bar()),
            joint: None,
        })
        .collect();
    let line = line(&stops).map_err(|e| e.to_string())?;
    all_loads(walls, &whole, &line).map_err(|e| e.to_string())
}

fn all_loads(walls: &Walls, whole: &[Section], line: &Line) -> Result<f64, FrameError> {
    let length = walls.stations.last().map_or(0.0, |s| s.0);
    let (hand, other) = (line.node_near(0.25 * length), line.node_near(0.45 * length));
    let tip = line.nodes[line.nodes.len() - 1][1];
    let one: Frame = line.held(&[Support::grip(hand, 5e4)]);
    let two = line.held(&[Support::grip(hand, 5e4), Support::pin(other)]);
    let butt = line.held(&[Support::clamp(line.nodes[0][1])]);
    let pull = |way: DVec3| Load::Pull { mm_s2: way * EARTH_MM_S2 };
    let at = line.frame.nodes[hand];
    let swing = Load::Swing { centre_mm: at, rate_rad_s: DVec3::Z * 9.0, gain_rad_s2: DVec3::Z * 60.0 };
    let push = |force_n: DVec3| Load::Point { node: tip, force_n, moment_nmm: DVec3::ZERO };
    let cases: [(&Frame, &[Load]); 9] = [
        (&one, &[pull(DVec3::NEG_Z)]),
        (&one, &[pull(DVec3::NEG_Y)]),
        (&two, &[pull(DVec3::NEG_Z)]),
        (&two, &[pull(DVec3::NEG_Y)]),
        (&one, &[pull(DVec3::NEG_X)]),
        (&one, &[pull(DVec3::X)]),
        (&one, &[pull(DVec3::NEG_Y), swing]),
        (&butt, &[pull(DVec3::NEG_X), push(DVec3::Y * 5.0)]),
        (&butt.turned(DMat3::from_rotation_z(0.2)), &[pull(DVec3::NEG_X)]),
    ];
    let mut worst = 0.0_f64;
    let mut look = |ends: &[[beam::frame::End; 2]]| {
        for ((span, (.., regions, _)), section) in line.spans.iter().zip(&walls.stations).zip(whole) {
            let inside = ends[*span][0].inside();
            if let Ok(found) = stress(regions, &section.plain, &inside) {
                worst = found.iter().map(|s| s.most_mpa.max(-s.least_mpa)).fold(worst, f64::max);
            }
            worst = section.shear_mpa(&inside).into_iter().fold(worst, f64::max);
        }
    };
    for (frame, loads) in cases {
        look(&still(frame, loads)?.ends);
    }
    for load in [push(DVec3::Y * 50.0), push(DVec3::Z * 50.0), pull(DVec3::Z * 3.0)] {
        look(&pulse(&one, &[load], 0.01, 6)?.ends);
    }
    let hz = modes(&one, 4)?[0].hz + modes(&two, 4)?[0].hz;
    let weight = heft(&line.frame).swing_gmm2(at, DVec3::Z);
    Ok(if hz.is_finite() && weight.is_finite() { worst } else { f64::NAN })
}
