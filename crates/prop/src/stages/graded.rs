//! Between the passes of a graded wall: from the light of the last to the thickness wanted, and the cavities anew.

use super::inside::{cavity_of, graded_spec};
use super::strength::least_walls;
use super::{Base, Inside, InsideBody, Monitor, Pass, once};
use crate::grading::{
    Bounds, Grading, GradingSpec, Lit, LitCell, Narrow, Passing, SIDES, WallField, gain, grade, shares,
};
use crate::light::{Cells, GREEN, Lighting, SECTORS, share_of_ripple};
use crate::memory::{KeyOf, Memory};
use crate::outcome::Pixel;
use crate::project::{BodyRules, GradedRules};
use crate::rail::fitting::{Core, Rail};
use crate::rail::wires::in_cavity;
use crate::refusal::Refusal;
use crate::strength::Thinnest;
use glow::{ANGLES, Finish, Incidence, Medium, OpticsError, TableSpec, Wall, WallTable, doubled};
use rayon::prelude::*;

use solid::{Bvh, DVec2, DVec3};
use std::f64::consts::TAU;

/// Change of thickness over a millimetre along the prop, at most: a cavity's wall 14 degrees askew prints standing without
/// support, and lying no worse than an even one.
const SLOPE: f64 = 0.25;
/// Thicknesses at which the wall's transmittance is worked out.
const STEPS: usize = 16;

/// Walls are graded so often, each time by the light of the last.
const ROUNDS: usize = 2;
/// No further round where no more than this is left of the even wall's ripple.
const LEFT: f64 = 1.0 / 3.0;
/// How much of the whole is done when the even wall's light is known, and after each round.
const DONE: [f64; ROUNDS + 1] = [0.4, 0.7, 1.0];

/// The pass of an even wall, or where walls are to be graded that with the least ripple of the graded ones, and the
/// light of the even wall then.
///
/// # Errors
/// A [`Refusal`] as of any pass.
pub(super) fn rounds(
    base: &Base,
    inside: impl FnOnce(&Monitor) -> Result<Inside, Refusal>,
    memory: &Memory,
    monitor: &Monitor,
) -> Result<(Pass, Option<Lighting>), Refusal> {
    let is_graded = base.placed.bodies.iter().any(|b| base.project.rules_for(&b.name).graded.is_some());
    let share = if is_graded { DONE[0] } else { 1.0 };
    let even = monitor.within([0.0, share], |monitor| once(base, inside(monitor)?, 1, memory, monitor))?;
    if !is_graded {
        return Ok((even, None));
    }
    let thinnest = least_walls(base, &even, memory);
    let mut passes = vec![even];
    let mut best = (f64::INFINITY, 0);
    let mut worked: Vec<Option<Worked>> = Vec::new();
    for round in 0..ROUNDS {
        let Some(light) = &passes[round].light else { break };
        let pass = monitor.within([DONE[round], DONE[round + 1]], |monitor| {
            monitor.step("hollowing again, for the light", 0.12)?;
            let Some(inside) = graded(base, (&passes[0].inside, &thinnest), light, &mut worked, memory, monitor)?
            else {
                return Ok(None);
            };
            // By other paths: what noise of the last got into the wall is not to look like evenness.
            once(base, inside, 2 + round as u64, memory, monitor).map(Some)
        })?;
        let Some(pass) = pass else { break };
        let left = left(&passes[0], &pass);
        if left.is_none_or(|[share, _]| share < best.0) {
            best = (left.map_or(0.0, |l| l[0]), passes.len());
        }
        passes.push(pass);
        if left.is_none_or(|[share, _]| share <= LEFT) {
            break;
        }
    }
    let found = passes.swap_remove(best.1);
    let even = if best.1 > 0 { passes.swap_remove(0).light } else { None };
    Ok((found, even))
}

/// What is left of the even wall's ripple, and the noise of that: the worst window's.
fn left(even: &Pass, graded: &Pass) -> Option<[f64; 2]> {
    let (before, after) = (even.light.as_ref()?, graded.light.as_ref()?);
    let is_graded = |k: &usize| {
        graded.inside.bodies.iter().any(|b| b.field.is_some() && Some(b.body) == after.profiles.get(*k).map(|p| p.body))
    };
    let all = (0..after.profiles.len()).filter(is_graded).filter_map(|k| share_of_ripple(before, after, k));
    all.reduce(|a, b| if b[0] > a[0] { b } else { a })
}

/// How a body's wall was graded, and by what light.
struct Worked {
    lit: Lit,
    grading: Grading,
    gain: f64,
}

/// The inside again, with the cavities of bodies whose wall is graded found anew by the light of the last one. `None` when
/// none of them has light.
fn graded(
    base: &Base,
    (even, thinnest): (&Inside, &[Thinnest]),
    light: &Lighting,
    worked: &mut Vec<Option<Worked>>,
    memory: &Memory,
    monitor: &Monitor,
) -> Result<Option<Inside>, Refusal> {
    worked.resize_with(even.bodies.len(), || None);
    let narrow = even.rail.as_ref().map_or_else(Vec::new, |rail| rooms(rail, &even.cores(base.placed)));
    let mut fields: Vec<Option<WallField>> = Vec::new();
    for (b, worked) in even.bodies.iter().zip(worked) {
        fields.push(field(base, (b, thinnest, &narrow), light, even.rail.as_ref(), worked)?);
    }
    if fields.iter().all(Option::is_none) {
        return Ok(None);
    }
    let mut made_from = KeyOf::stage("graded").and(&even.key);
    let mut bodies = Vec::new();
    for (k, (b, field)) in even.bodies.iter().zip(fields).enumerate() {
        let mut again = InsideBody {
            body: b.body,
            rules: b.rules.clone(),
            outer: b.outer.clone(),
            cavity: b.cavity.clone(),
            field: None,
        };
        if let (Some(field), Some(rules)) = (field, b.rules.graded) {
            let spec = graded_spec(&rules, b.rules.least_cavity_mm);
            let meets = [k > 0, k + 1 < even.bodies.len()];
            let key =
                KeyOf::stage("graded cavity").and(&b.outer.key()).and(&rules).and(&spec).and(&field).and(&meets).key();
            let body = &base.placed.bodies[b.body];
            let cavity = memory.recall("graded cavity", even.bodies.len(), key, || {
                cavity_of(base.placed, body, (&spec, Some(&field)), &b.outer, meets, monitor)
            })?;
            made_from = made_from.and(&cavity.key());
            again.cavity = Some(cavity);
            again.field = Some(field);
        }
        bodies.push(again);
    }
    Ok(Some(Inside { bodies, rail: even.rail.clone(), key: made_from.key() }))
}

/// The thickness wanted of a body, if its wall is graded and it has light.
fn field(
    base: &Base,
    (body, thinnest, rooms): (&InsideBody, &[Thinnest], &[Room]),
    light: &Lighting,
    rail: Option<&Rail>,
    worked: &mut Option<Worked>,
) -> Result<Option<WallField>, Refusal> {
    let Some(rules) = body.rules.graded else { return Ok(None) };
    let pixels = rail.map_or(&[][..], |r| &r.pixels);
    let Some(at) = light.cells.iter().position(|c| c.body == body.body) else { return Ok(None) };
    let first: usize = light.cells[..at].iter().map(Cells::count).sum();
    let cells = &light.cells[at];
    let optics = |e: OpticsError| {
        Refusal::of(&["material", &body.rules.material.name], e.to_string(), "correct its scatter, absorb or index")
    };
    let window = base.windows.list().iter().find(|w| w.body == body.body);
    let outer = window.map_or(Finish::Bare, |w| w.skin.finish(GREEN));
    let medium = medium(&body.rules).map_err(optics)?;
    let spec = GradingSpec {
        even_mm: body.rules.wall_mm,
        limits_mm: [rules.least_mm, rules.most_mm],
        step_mm: cells.step_mm,
        judged: judged(light, cells),
        pitch_mm: light.pitch_mm,
        spread: spread(medium, outer, body.rules.wall_mm, light.pitch_mm).map_err(optics)?,
        slope: SLOPE,
        noise: light.noise(),
    };
    // The pixels as they are driven when the light is judged.
    let driven: Vec<[f32; 3]> = light.levels.iter().map(|l| [*l; 3]).collect();
    let all = light.luminance_cd_m2(&driven);
    let lit = Lit {
        cells: lit_cells(cells, |i| all.iter().map(|colour| f64::from(colour[first + i])).sum()),
        along: cells.along,
        pixels: std::array::from_fn(|side| rows(pixels, cells, side)),
    };
    let Some(passing) = passing(medium, outer, &rules).map_err(optics)? else { return Ok(None) };
    let last = worked.take();
    // How strongly the light follows the wall, as far as the last grading told.
    let gain = last.as_ref().map_or(1.0, |w| w.gain * gain([&w.lit, &lit], &w.grading, &spec));
    let Some(mut grading) = grade(&lit, &passing.stronger(gain), &spec, last.as_ref().map(|w| &w.grading)) else {
        return Ok(None);
    };
    let view = &base.views[body.body];
    let narrow = narrow(rooms, &body.outer, rules.most_mm);
    let (path, cells_mm) = (&base.placed.path, [cells.from_mm, cells.step_mm]);
    let bounds = Bounds { narrow: &narrow, thinnest, even_mm: body.rules.wall_mm, slope: SLOPE };
    let Some(field) = WallField::new(view, path, cells_mm, &grading, &bounds) else {
        return Ok(None);
    };
    grading.sides_mm.clone_from(field.sides_mm());
    *worked = Some(Worked { lit, grading, gain });
    let bead_mm = body.rules.printers.iter().map(|p| base.project.printers[*p].bead_mm).fold(0.0, f64::max);
    Ok(Some(if rules.in_beads { field.in_beads(bead_mm) } else { field }))
}

/// A place, and how far from it no wall may be, mm.
struct Room {
    at: DVec3,
    keep_mm: f64,
}

/// What the rail and the wires beside it need of the cavity: corners of the slots, and the middle of the bundle.
fn rooms(rail: &Rail, cores: &[Core]) -> Vec<Room> {
    let slots = |spans: &[[f64; 2]], corners: Vec<DVec2>| {
        let distances = spans.iter().flat_map(|[from, to]| {
            let steps = ((to - from) / SLOT_STEP_MM).ceil().max(1.0) as usize;
            (0..=steps).map(move |k| from + (to - from) * k as f64 / steps as f64)
        });
        let at = |d: f64| {
            let (run, along) = rail.way.locate(d);
            corners.iter().map(|c| Room { at: run.point(*c, along), keep_mm: SLOT_SPARE_MM }).collect::<Vec<_>>()
        };
        distances.flat_map(at).collect::<Vec<_>>()
    };
    let mut all = slots(rail.strip_mm.as_slice(), rail.layout.strip_corners());
    all.extend(slots(&rail.spine_mm, rail.layout.spine_corners()));
    let keep_mm = rail.layout.wire_radius + 0.5 * rail.fit.slot_loss_mm + SLOT_SPARE_MM;
    all.extend(in_cavity(cores, rail).into_iter().map(|at| Room { at, keep_mm }));
    all
}

/// How thick the wall behind an outer surface may be so that all have their room: places where that is less than `most_mm`.
fn narrow(rooms: &[Room], outer: &Bvh, most_mm: f64) -> Vec<Narrow> {
    let nearest = rooms.par_iter().filter_map(|room| {
        let near = outer.nearest(room.at, most_mm + room.keep_mm)?;
        Some(Narrow { at: near.point, most_mm: near.distance_mm - room.keep_mm })
    });
    nearest.collect()
}

/// Slots are looked at every so many mm, and keep so much more from the wall.
const SLOT_STEP_MM: f64 = 1.0;
const SLOT_SPARE_MM: f64 = 0.1;

/// Where the pixels that shine on a side stand along a body's cells; all pixels, where none faces that way.
fn rows(pixels: &[Pixel], cells: &Cells, side: usize) -> Vec<f64> {
    let is_faced = |p: &&Pixel| shares([p.facing.y, p.facing.z])[side] > 1.5 / SIDES as f64;
    let ring = |p: &Pixel| (p.station_mm - cells.from_mm) / cells.step_mm - 0.5;
    let mut rings: Vec<f64> = pixels.iter().filter(is_faced).map(ring).collect();
    if rings.is_empty() {
        rings = pixels.iter().map(ring).collect();
    }
    rings.sort_by(f64::total_cmp);
    rings
}

/// Rings of a body's cells between which evenness counts: those of all its windows.
fn judged(light: &Lighting, cells: &Cells) -> [usize; 2] {
    let own = light.profiles.iter().zip(&light.lit_mm).filter(|(p, _)| p.body == cells.body).map(|(_, lit)| *lit);
    let [from, to] = own.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], lit| [a.min(lit[0]), b.max(lit[1])]);
    let ring = |s: f64| ((s - cells.from_mm) / cells.step_mm).clamp(0.0, cells.along as f64 - 1.0) as usize;
    [ring(from), ring(to)]
}

/// A body's cells of window, with their luminance.
fn lit_cells(cells: &Cells, luminance: impl Fn(usize) -> f64) -> Vec<LitCell> {
    let mut lit = Vec::new();
    for along in 0..cells.along {
        for sector in 0..SECTORS {
            let turn = TAU * (sector as f64 + 0.5) / SECTORS as f64;
            for window in 0..cells.windows {
                let i = cells.index(along, sector, Some(window));
                if cells.area_mm2[i] > 0.0 {
                    let place = [libm::cos(turn), libm::sin(turn)];
                    lit.push(LitCell { along, place, area_mm2: cells.area_mm2[i], luminance: luminance(i) });
                }
            }
        }
    }
    lit
}

/// The body's plastic.
fn medium(rules: &BodyRules) -> Result<Medium, OpticsError> {
    let optics = &rules.material.optics;
    Medium::of_reduced(optics.scatter_per_mm[0], optics.absorb_per_mm[GREEN][0], optics.index[GREEN])
}

/// What the wall lets through of light from all sides, from its least to its most thickness.
fn passing(medium: Medium, outer: Finish, rules: &GradedRules) -> Result<Option<Passing>, OpticsError> {
    let pairs = (0..=STEPS)
        .map(|k| {
            let thickness_mm = rules.least_mm + (rules.most_mm - rules.least_mm) * k as f64 / STEPS as f64;
            let wall = Wall { medium, thickness_mm, inner: Finish::Bare, outer };
            Ok([thickness_mm, doubled(&wall, Incidence::Diffuse, ANGLES)?.through()])
        })
        .collect::<Result<Vec<_>, OpticsError>>()?;
    Ok(Passing::new(&pairs))
}

/// How far aside light comes out of a wall, for each millimetre of it: the standard deviation along one axis of the bell curve
/// that leaves as much of a ripple at the pitch as the wall does. What a point spreads to at a distance r leaves the
/// share J0(2 pi r / pitch) of it (Hankel's transform).
fn spread(medium: Medium, outer: Finish, mm: f64, pitch_mm: f64) -> Result<f64, OpticsError> {
    let table = WallTable::of(medium, Finish::Bare, outer, TableSpec::upto(mm * 1.05, 1))?;
    let turn = TAU / pitch_mm;
    let left = (0..SAMPLES)
        .map(|k| libm::j0(turn * table.sideways_through(mm, (f64::from(k) + 0.5) / f64::from(SAMPLES))))
        .sum::<f64>()
        / f64::from(SAMPLES);
    let sigma_mm = (-2.0 * libm::log(left.clamp(LEAST_LEFT, 1.0))).sqrt() / turn;
    Ok(sigma_mm / mm)
}

/// Places that the spread is sampled at.
const SAMPLES: u32 = 4000;
/// Where less than this is left of a ripple, nothing that a wall does to it is seen.
const LEAST_LEFT: f64 = 0.05;

#[cfg(test)]
mod tests {
    use super::*;
    use solid::cuboid;

    /// Clear plastic spreads farther than white, which scatters less of a way in; white of 2 mm by about its thickness.
    #[test]
    fn white_plastic_spreads_by_about_its_thickness() {
        let of = |scatter: f64| {
            spread(Medium::of_reduced(scatter, 0.005, 1.5).unwrap(), Finish::Bare, 2.0, 1000.0 / 60.0).unwrap()
        };
        let [natural, white] = [of(0.5), of(2.0)];
        assert!((0.7..1.3).contains(&white) && natural > 1.3 * white, "{natural} {white}");
    }

    /// Under the face of a box at z = 10: 3 mm below it, a bundle that keeps 1.2 mm leaves 1.8 mm of wall; deep in the box
    /// nothing is narrow.
    #[test]
    fn a_bundle_leaves_the_wall_what_lies_beyond_it() {
        let outer = Bvh::new(&cuboid(DVec3::ZERO, DVec3::new(40.0, 20.0, 10.0)));
        let room = |z: f64| Room { at: DVec3::new(20.0, 10.0, z), keep_mm: 1.2 };
        let found = narrow(&[room(7.0), room(5.0)], &outer, 3.0);
        assert_eq!(found.len(), 1);
        assert!((found[0].most_mm - 1.8).abs() < 1e-9 && (found[0].at.z - 10.0).abs() < 1e-9, "{}", found[0].most_mm);
    }
}
