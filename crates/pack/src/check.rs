//! What must be true of an outcome before anything is written.

use crate::PackError;
use prop::finding::Band;
use prop::outcome::{Outcome, Piece, Plate};

/// Checks that every number that will be written is one and that every piece has a usable file name.
pub(crate) fn writable(outcome: &Outcome) -> Result<(), PackError> {
    finite("the prop's length", &[outcome.length_mm])?;
    finite("the wearer's height", outcome.wearer_mm.as_slice())?;
    band("the printing time", outcome.print_elapsed_s)?;
    for f in &outcome.findings {
        let place = format!("the finding {} of {}", f.id, f.subject);
        finite(&place, &[f.measured.value, f.measured.low, f.measured.high])?;
        finite(&place, f.station_mm.as_ref().map_or(&[], |s| &s[..]))?;
        if let Some(limit) = &f.limit {
            finite(&place, limit.min.as_slice())?;
            finite(&place, limit.max.as_slice())?;
        }
    }
    for body in &outcome.bodies {
        let place = format!("a corner of the body {}", body.name);
        body.mesh.vertices.iter().try_for_each(|v| finite(&place, &v.to_array()))?;
    }
    for spot in outcome.mends.iter().flat_map(|m| &m.spots) {
        finite("a mended place", &spot.place.to_array())?;
        finite("a mended place", &[spot.size_mm])?;
    }
    for view in &outcome.views {
        let place = format!("the outline of {}", view.name);
        view.side.edge.iter().chain(&view.top.edge).try_for_each(|e| finite(&place, e))?;
    }
    for s in &outcome.sections {
        let place = format!("the section {}", s.label);
        finite(&place, &[s.station_mm])?;
        let strips = s.strips.iter().map(|(_, outlines)| outlines);
        let parts = s.parts.iter().map(|(_, outlines)| outlines);
        let all = [&s.outer, &s.printed, &s.rail, &s.spine, &s.wire].into_iter().chain(strips).chain(parts);
        for p in all.flatten().flatten() {
            finite(&place, &p.to_array())?;
        }
    }
    for joint in &outcome.joints {
        let (place, f) = (format!("joint J{}", joint.number), &joint.frame);
        finite(&place, &[joint.glue_mm2, f.station_mm])?;
        [f.point, f.across, f.through, f.along].iter().try_for_each(|v| finite(&place, &v.to_array()))?;
    }
    for p in &outcome.pixels {
        let place = format!("pixel {} of strip {}", p.number, p.strip);
        finite(&place, &[p.station_mm])?;
        [p.point, p.facing].iter().try_for_each(|v| finite(&place, &v.to_array()))?;
    }
    for bar in outcome.strips.iter().chain(&outcome.spines) {
        [bar.start, bar.end, bar.across].iter().try_for_each(|v| finite(&bar.name, &v.to_array()))?;
        bar.mesh.vertices.iter().try_for_each(|v| finite(&bar.name, &v.to_array()))?;
        finite(&bar.name, &bar.size_mm)?;
        finite(&bar.name, &bar.station_mm)?;
    }
    for plate in &outcome.plates {
        plate_is_writable(plate)?;
    }
    for stock in &outcome.stocks {
        band(&format!("what is needed of {}", stock.material), stock.mass_g)?;
        band(&format!("what is needed of {}", stock.material), stock.amount)?;
    }
    furnished(outcome)?;
    powered(outcome)?;
    finished(outcome)?;
    outcome.wire_way.iter().try_for_each(|v| finite("the wire way", &v.to_array()))?;
    let mut names: Vec<&Piece> = Vec::new();
    for piece in &outcome.pieces {
        piece_is_writable(piece)?;
        names.push(piece);
    }
    names.sort_by_key(|p| (p.name.to_lowercase(), p.number));
    if let Some(piece) = names.iter().find(|p| ["inside", "openings"].contains(&p.name.to_lowercase().as_str())) {
        return Err(bad_name(piece, "that is the file of what goes in, or of where the shape is opened for it"));
    }
    match names.windows(2).find(|w| w[0].name.to_lowercase() == w[1].name.to_lowercase()) {
        Some(pair) => Err(bad_name(pair[1], "another piece has the same name")),
        None => Ok(()),
    }
}

fn plate_is_writable(plate: &Plate) -> Result<(), PackError> {
    let place = format!("plate {}", plate.name);
    band(&format!("the time of {place}"), plate.time_s)?;
    band(&format!("the mass of {place}"), plate.mass_g)?;
    finite(&place, &plate.bed_mm)?;
    finite(&place, &[plate.margin_mm, plate.spacing_mm])?;
    for piece in &plate.pieces {
        finite(&place, &piece.to_plate.to_cols_array())?;
        finite(&place, &[piece.brim_mm])?;
        piece.outline.iter().try_for_each(|p| finite(&place, &p.to_array()))?;
    }
    Ok(())
}

/// Parts, lids, wires and what is opened for them.
fn furnished(outcome: &Outcome) -> Result<(), PackError> {
    for p in &outcome.parts {
        let place = format!("part {} ({})", p.letter, p.name);
        finite(&place, &p.size_mm)?;
        finite(&place, &p.station_mm)?;
        finite(&place, &[p.over_mm, p.gap_mm, p.mass_g])?;
        finite(&place, &p.to_prop.to_cols_array())?;
        [p.way_out, p.exit].iter().chain(&p.mesh.vertices).try_for_each(|v| finite(&place, &v.to_array()))?;
    }
    for l in &outcome.lids {
        let place = format!("the lid that is piece {:02}", l.piece);
        let magnets = l.magnets.iter().flat_map(|m| m.face);
        let screws = l.screws.iter().flat_map(|s| [s.at, s.out]);
        [l.out, l.seat].into_iter().chain(magnets).chain(screws).try_for_each(|v| finite(&place, &v.to_array()))?;
    }
    for w in &outcome.wires {
        let place = format!("wires W{}", w.number);
        finite(&place, &[w.bundle_mm])?;
        band(&place, w.cut_mm)?;
        w.points.iter().try_for_each(|p| finite(&place, &p.to_array()))?;
        w.bends.iter().try_for_each(|b| finite(&place, &[b.at.x, b.at.y, b.at.z, b.angle_deg, b.radius_mm]))?;
    }
    for w in &outcome.ways {
        let place = format!("the way of {}", w.name);
        finite(&place, &[w.clearance_mm])?;
        w.poses.iter().try_for_each(|p| finite(&place, &p.to_cols_array()))?;
    }
    outcome.openings.iter().flat_map(|m| &m.vertices).try_for_each(|v| finite("an opening", &v.to_array()))
}

/// Wires, meter readings and hours.
fn powered(outcome: &Outcome) -> Result<(), PackError> {
    let Some(power) = &outcome.power else { return Ok(()) };
    finite("the cell's energy and rest", &[power.watt_hours, power.bench_rest_v, power.bench_light, power.design.cap])?;
    power.loom.iter().try_for_each(|c| band(&format!("wire {}", c.name), c.cut_mm))?;
    power.bench.iter().try_for_each(|p| band(&p.what, p.dark).and_then(|()| band(&p.what, p.lit)))?;
    power.brightness.iter().try_for_each(|b| finite("the hours of a brightness", b))?;
    power.choices.iter().try_for_each(|c| finite(&c.what, &[c.hours, c.hours_at_cap]))?;
    power.trace.iter().try_for_each(|s| finite("the day", &[s.at_s, s.charge, s.current_a, s.lowest_v, s.cell_k]))
}

fn finished(outcome: &Outcome) -> Result<(), PackError> {
    let finish = &outcome.finish;
    for outside in &finish.outsides {
        finite(&format!("the outside of piece {}", outside.piece), &[outside.all_mm2(), outside.hollow_mm2])?;
    }
    for layer in finish.zones.iter().flat_map(|z| &z.layers) {
        layer.wet_ml.map_or(Ok(()), |ml| band(&format!("the coat {}", layer.coat), ml))?;
    }
    for seam in &finish.seams {
        finite(&format!("the seam J{}", seam.joint), &[seam.round_mm, seam.wet_ml])?;
    }
    for wrap in &finish.wraps {
        finite(&format!("the wrap {}", wrap.name), &[wrap.cut_mm, wrap.turns, wrap.pitch_mm[1]])?;
    }
    for l in &outcome.shopping.lines {
        finite(&format!("what is taken of {}", l.row), &[l.taken.count, l.missing.count])?;
        finite(&format!("what {} costs", l.row), &l.cost.unwrap_or_default())?;
    }
    outcome.shopping.weights.iter().try_for_each(|w| band(&format!("the weight of {}", w.what), w.mass_g))
}

fn piece_is_writable(piece: &Piece) -> Result<(), PackError> {
    let name = &piece.name;
    if name.is_empty() {
        return Err(bad_name(piece, "it is empty"));
    }
    if name.starts_with('.') || name.ends_with(['.', ' ']) {
        return Err(bad_name(piece, "a file name may not begin or end with a dot, nor end with a space"));
    }
    if name.chars().any(|c| c.is_control() || "/\\:*?\"<>|".contains(c)) {
        return Err(bad_name(piece, "it holds a character that some file systems refuse"));
    }
    if piece.mesh.is_empty() {
        return Err(PackError::EmptyPiece { number: piece.number, name: name.clone() });
    }
    let place = format!("a corner of piece {:02}", piece.number);
    piece.mesh.vertices.iter().try_for_each(|v| finite(&place, &v.to_array()))?;
    let place = format!("piece {:02}", piece.number);
    finite(&place, &[piece.volume_mm3, piece.taken_mm3, piece.added_mm3])?;
    finite(&place, &piece.station_mm)?;
    finite(&place, &piece.bed_mm)?;
    finite(&place, piece.wall_mm.as_slice())?;
    finite(&place, &piece.to_prop.to_cols_array())?;
    band(&format!("the mass of {place}"), piece.mass_g)?;
    band(&format!("the printing time of {place}"), piece.print_time_s)
}

fn bad_name(piece: &Piece, why: &'static str) -> PackError {
    PackError::BadName { number: piece.number, name: piece.name.clone(), why }
}

fn band(place: &str, band: Band) -> Result<(), PackError> {
    finite(place, &[band.value, band.low, band.high])
}

/// Whether all of them are numbers.
pub(crate) fn finite(place: &str, values: &[f64]) -> Result<(), PackError> {
    match values.iter().find(|v| !v.is_finite()) {
        Some(value) => Err(PackError::NotFinite { place: place.to_owned(), value: *value }),
        None => Ok(()),
    }
}
