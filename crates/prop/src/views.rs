//! What drawings show: outlines of the bodies, sections of the pieces, and strip, spine and wires to scale.

use crate::outcome::{Bar, BodyView, Outlines, Part, SectionView, Silhouette};
use crate::rail::spokes::turned;
use crate::rail::wires::wire_way;
use crate::slices::slices;
use crate::stages::{Inside, Placed, Printed, Split};
use solid::section::{Basis, intersect, section};
use solid::{DAffine3, DMat3, DVec2, DVec3, Mesh};

/// Distance between the points of a silhouette, mm.
const EDGE_STEP_MM: f64 = 1.0;

/// Each body seen from the side and from the top.
pub fn bodies(placed: &Placed) -> Vec<BodyView> {
    placed
        .bodies
        .iter()
        .map(|body| {
            let (low, high) = body.mesh.bounds().map_or((0.0, 0.0), |b| (b.min.x, b.max.x));
            let n = ((high - low) / EDGE_STEP_MM).ceil().max(1.0) as usize;
            let mut at: Vec<f64> = (0..=n).map(|i| low + (high - low) * i as f64 / n as f64).collect();
            // The very ends have no section.
            let inset = (high - low) * 1e-6 + 1e-3;
            at[0] = low + inset;
            at[n] = high - inset;
            let mut side = Silhouette::default();
            let mut top = Silhouette::default();
            for s in slices(&body.mesh, &at).iter().filter(|s| s.low.x <= s.high.x) {
                side.edge.push([s.x, s.low.y, s.high.y]);
                top.edge.push([s.x, s.low.x, s.high.x]);
            }
            BodyView { name: body.name.clone(), role: body.role, side, top }
        })
        .collect()
}

/// Strips, spine lengths (as straight lengths) and the way of the wires.
pub fn fittings(inside: &Inside, placed: &Placed) -> (Vec<Bar>, Vec<Bar>, Vec<DVec3>) {
    let Some(rail) = &inside.rail else { return (Vec::new(), Vec::new(), Vec::new()) };
    let mut strips = Vec::new();
    if let (Some(slider), Some([from, to])) = (&rail.layout.strip, rail.strip_mm) {
        for (row, facing) in (1..).zip(rail.layout.facings()) {
            let outline = turned(&slider.nominal, facing);
            let mut done = 0.0;
            for run in &rail.way.runs {
                let (a, b) = (from.max(done), to.min(done + run.length_mm));
                if b > a {
                    strips.push(bar(format!("strip {row}"), rail, &outline, [a, b]));
                }
                done += run.length_mm;
            }
        }
    }
    let mut spines = Vec::new();
    if let Some(slider) = &rail.layout.spine {
        for (k, span) in rail.spine_mm.iter().enumerate() {
            spines.push(bar(format!("spine {}", k + 1), rail, &slider.nominal, *span));
        }
    }
    (strips, spines, wire_way(&inside.cores(placed), rail))
}

fn bar(name: String, rail: &crate::rail::fitting::Rail, outline: &[DVec2], [from, to]: [f64; 2]) -> Bar {
    let middle = (from + to) / 2.0;
    let (run, at) = rail.way.locate(middle);
    let start = at - (middle - from);
    let (low, high) = outline.iter().fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| (l.min(*p), h.max(*p)));
    let center = (low + high) / 2.0;
    let place =
        DAffine3::from_mat3_translation(DMat3::from_cols(run.u, run.v, run.along), run.point(DVec2::ZERO, start));
    Bar {
        name,
        start: run.point(center, start),
        end: run.point(center, start + (to - from)),
        across: run.u,
        size_mm: (high - low).to_array(),
        station_mm: [rail.way.station_at(from), rail.way.station_at(to)],
        mesh: solid::prism(outline, &place, 0.0, to - from),
    }
}

/// Sections at each cut and in the middle of each piece and of each part, by station.
pub fn sections(
    placed: &Placed,
    inside: &Inside,
    split: &Split,
    printed: &Printed,
    parts: &[Part],
) -> Vec<SectionView> {
    let (strips, spines, wires) = fittings(inside, placed);
    let mut places: Vec<(String, f64, usize)> = Vec::new();
    for (i, piece) in printed.pieces.iter().enumerate() {
        if split.pieces[i].made.void.is_empty() && split.pieces[i].planes == [None, None] {
            continue;
        }
        let [from, to] = piece.station_mm;
        places.push((format!("{:02}", piece.number), (from + to) / 2.0, i));
    }
    for joint in &split.joints {
        // Just on the tip side of the cut, where a collar shows in its cavity.
        places.push((format!("J{}", joint.number), joint.frame.station_mm + 0.2, joint.pieces[1] as usize - 1));
    }
    for part in parts {
        let at = f64::midpoint(part.station_mm[0], part.station_mm[1]);
        let holds = |i: &usize| {
            let (from, piece) = (&split.pieces[*i], &printed.pieces[*i]);
            from.lid.is_none() && piece.body == part.body && piece.station_mm[0] <= at && at <= piece.station_mm[1]
        };
        places.extend((0..printed.pieces.len()).find(holds).map(|i| (format!("part {}", part.letter), at, i)));
    }
    places.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    places
        .into_iter()
        .map(|(label, station_mm, piece)| {
            let frame = placed.path.frame(station_mm);
            let basis = Basis { origin: frame.point, x: frame.across, y: frame.through };
            let cut = |mesh: &Mesh| -> Outlines { section(mesh, &basis).unwrap_or_default() };
            let body = split.pieces[piece].body;
            let here = |i: usize| {
                let p = &printed.pieces[i];
                cut(&p.mesh.transformed(&p.to_prop))
            };
            // At a joint the butt-side piece's collar is part of the picture.
            let mut material = here(piece);
            if label.starts_with('J') && piece > 0 {
                material.extend(here(piece - 1));
            }
            for (i, lid) in printed.pieces.iter().enumerate().filter(|(i, _)| split.pieces[*i].lid.is_some()) {
                if split.pieces[i].body == body && lid.station_mm[0] < station_mm && station_mm < lid.station_mm[1] {
                    material.extend(here(i));
                }
            }
            let ribs = inside.rail.as_ref().map_or_else(Vec::new, |r| cut(&r.ribs));
            let cavity = inside.bodies.iter().find(|b| b.body == body).and_then(|b| b.cavity.as_deref());
            let inner = cavity.map_or_else(Vec::new, &cut);
            let rail = intersect(&ribs, &inner).unwrap_or_default();
            let near = |x: [f64; 2]| station_mm >= x[0] - 1.0 && station_mm <= x[1] + 1.0;
            SectionView {
                station_mm: if label.starts_with('J') { station_mm - 0.2 } else { station_mm },
                label,
                outer: cut(&placed.bodies[body].mesh),
                printed: material,
                rail,
                strips: strips.iter().filter(|s| near(s.station_mm)).map(|s| (s.name.clone(), cut(&s.mesh))).collect(),
                spine: spines.iter().filter(|s| near(s.station_mm)).flat_map(|s| cut(&s.mesh)).collect(),
                wire: wire_circle(&wires, &basis, inside),
                parts: parts
                    .iter()
                    .map(|p| (p.letter, cut(&p.mesh)))
                    .filter(|(_, outlines)| !outlines.is_empty())
                    .collect(),
            }
        })
        .collect()
}

/// The wire bundle where its way crosses a section.
fn wire_circle(way: &[DVec3], basis: &Basis, inside: &Inside) -> Outlines {
    let Some(rail) = &inside.rail else { return Vec::new() };
    let plane = basis.plane();
    for pair in way.windows(2) {
        let (a, b) = (plane.distance_mm(pair[0]), plane.distance_mm(pair[1]));
        if (a >= 0.0) != (b >= 0.0) {
            let middle = basis.flatten(pair[0] + (pair[1] - pair[0]) * (a / (a - b)));
            let circle = (0..24).map(|k| {
                let angle = f64::from(k) * core::f64::consts::TAU / 24.0;
                middle + DVec2::new(libm::cos(angle), libm::sin(angle)) * rail.layout.wire_radius
            });
            return vec![circle.collect()];
        }
    }
    Vec::new()
}
