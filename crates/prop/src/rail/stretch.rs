//! A short stretch of the rail as it would be under other rules, on the way that it has.

use super::fitting::{Core, Need, Rail, RailError, Room, needs_stem, pixels_along};
use super::layout::{Fit, lay_out};
use super::solids;
use crate::project::Project;
use rayon::prelude::*;
use solid::Mesh;

/// Distance between the stations tried for fit, mm.
const STEP_MM: f64 = 1.5;
/// The ribs go on so far beyond the stretch, mm: past the end of what they are set into.
const BEYOND_MM: f64 = 12.0;

fn fit_of(project: &Project, cores: &[Core]) -> Fit {
    Fit::over(cores.iter().flat_map(|c| &c.rules.printers).map(|p| &project.printers[*p]))
}

/// The share of the present strip's length along which the rail has room under a project's rules, on the way of `rail`; 0
/// without a strip.
///
/// # Errors
/// [`RailError`] when the section can't be laid out.
pub fn room(project: &Project, cores: &[Core], rail: &Rail) -> Result<f64, RailError> {
    let (Some(light), Some(strip_mm)) = (&project.light, rail.strip_mm) else { return Ok(0.0) };
    let fit = fit_of(project, cores);
    let layout = lay_out(Some(light), project.spine.as_ref(), &fit, project.wire_bundle_mm)?;
    let way = &rail.way;
    let room = Room::new(cores, &layout);
    let spined = |d: f64| project.spine.is_some() && rail.spine_mm.iter().any(|s| d >= s[0] && d <= s[1]);
    let steps = ((strip_mm[1] - strip_mm[0]) / STEP_MM).floor().max(0.0) as usize;
    let fits = |i: &usize| {
        let d = strip_mm[0] + STEP_MM * *i as f64;
        let (run, at) = way.locate(d);
        let point = run.start + run.along * at;
        room.fits(way.station_at(d), point, run.u, run.v, Need { strip: true, spine: spined(d) })
    };
    Ok((0..=steps).into_par_iter().filter(fits).count() as f64 / (steps + 1) as f64)
}

/// The rail between two stations under a project's rules, on the way of `rail`; `None` where there is no strip.
///
/// # Errors
/// [`RailError`] when the section can't be laid out or the ribs not be made.
pub fn stretch(
    project: &Project,
    cores: &[Core],
    rail: &Rail,
    station_mm: [f64; 2],
) -> Result<Option<Rail>, RailError> {
    let Some(light) = &project.light else { return Ok(None) };
    let fit = fit_of(project, cores);
    let layout = lay_out(Some(light), project.spine.as_ref(), &fit, project.wire_bundle_mm)?;
    let way = rail.way.clone();
    let [from, to] = station_mm.map(|s| way.distance_at(s));
    let pitch = light.strip.pitch_mm;
    let count = ((to - from) / pitch + 1e-9).floor().max(0.0);
    // In the middle, so that both ends are alike.
    let first = from + (to - from - count * pitch) / 2.0;
    let pixels = pixels_along(&layout, &way, pitch, first, count as u32);
    let clipped = |s: &[f64; 2]| [s[0].max(from), s[1].min(to)];
    let spine_mm: Vec<[f64; 2]> = rail.spine_mm.iter().map(clipped).filter(|s| s[1] > s[0]).collect();
    let reach =
        cores.iter().filter_map(|c| c.body.mesh.bounds()).map(|b| b.size().y.max(b.size().z)).fold(0.0, f64::max);
    let span = [from - BEYOND_MM, to + BEYOND_MM];
    let stem = layout.spokes.is_none() && needs_stem(cores, &layout, &way, span);
    let ribs = solids::rail(&way, &layout.material(reach, stem), span)?;
    let rail = Rail {
        layout,
        way,
        fit,
        ribs_mm: Some(span),
        strip_mm: Some([from, to]),
        spine_mm: if project.spine.is_some() { spine_mm } else { Vec::new() },
        bore_mm: None,
        mouth_mm: None,
        pixels,
        ribs,
        bore: Mesh::default(),
        dropped_spine_mm: Vec::new(),
    };
    Ok(Some(rail))
}
