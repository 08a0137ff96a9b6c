//! The equations of the slices, at rest and in time.

use super::{Air, HeatError, Slice, Warmth, checked, film_w_m2k, glow_w_m2k};
use solid::skyline::Skyline;

/// Rounds for the films, which depend on the temperatures.
const ROUNDS: usize = 200;

/// Temperatures that change by less in a round have settled, K: at rest, and at the end of a step in time.
const SETTLED_K: f64 = 1e-7;
const STEPPED_K: f64 = 1e-4;

/// The weight of the second-order method that does not swing (Alexander 1977, two stages; from memory).
const STAGE: f64 = 1.0 - std::f64::consts::FRAC_1_SQRT_2;

/// Temperatures after a long time.
///
/// # Errors
///
/// See [`HeatError`].
pub fn steady(slices: &[Slice], air: &Air) -> Result<Warmth, HeatError> {
    checked(slices, air)?;
    let start = vec![air.air_c + 1.0; 3 * slices.len()];
    Ok(told(&settled(slices, air, &start, None)?))
}

/// Temperatures in time from `from` on: at 0, and after each step until `until_s` is reached. The error falls with the
/// step squared; a fiftieth of the time in which it warms is fine enough.
///
/// # Errors
///
/// See [`HeatError`].
pub fn warming(
    slices: &[Slice],
    air: &Air,
    from: &Warmth,
    until_s: f64,
    step_s: f64,
) -> Result<Vec<(f64, Warmth)>, HeatError> {
    checked(slices, air)?;
    for (what, value) in [("the end, s,", until_s), ("the step, s,", step_s)] {
        if !(value.is_finite() && value > 0.0) {
            return Err(HeatError::Around { what, value, way_out: "give a time above 0" });
        }
    }
    if until_s / step_s > 1e6 {
        return Err(HeatError::Around { what: "the step, s,", value: step_s, way_out: "give a longer one" });
    }
    let mut now = asked(slices, from)?;
    let steps = (until_s / step_s).ceil().max(1.0);
    let (mut found, mut step) = (vec![(0.0, from.clone())], 0.0);
    while step < steps {
        step += 1.0;
        now = stepped(slices, air, &now, until_s / steps)?;
        found.push((until_s * step / steps, told(&now)));
    }
    Ok(found)
}

/// One list: core, inner, outer of each slice.
pub(super) fn asked(slices: &[Slice], from: &Warmth) -> Result<Vec<f64>, HeatError> {
    for list in [&from.core_c, &from.inner_c, &from.outer_c] {
        if list.len() != slices.len() {
            return Err(HeatError::Lists { slices: slices.len(), what: "temperatures", given: list.len() });
        }
        if let Some((slice, value)) = list.iter().enumerate().find(|(_, t)| !(-100.0..=1000.0).contains(*t)) {
            let way_out = "give one from −100 to 1000";
            return Err(HeatError::Slice { slice, what: "temperature at the start, °C,", value: *value, way_out });
        }
    }
    Ok((0..slices.len()).flat_map(|k| [from.core_c[k], from.inner_c[k], from.outer_c[k]]).collect())
}

pub(super) fn told(temps: &[f64]) -> Warmth {
    let each = |part: usize| temps.iter().skip(part).step_by(3).copied().collect();
    Warmth { core_c: each(0), inner_c: each(1), outer_c: each(2) }
}

/// A step in time, in two stages.
pub(super) fn stepped(slices: &[Slice], air: &Air, now: &[f64], step_s: f64) -> Result<Vec<f64>, HeatError> {
    let span_s = STAGE * step_s;
    let first = settled(slices, air, now, Some((now, span_s)))?;
    let share = (1.0 - STAGE) / STAGE;
    let base: Vec<f64> = now.iter().zip(&first).map(|(n, f)| n + share * (f - n)).collect();
    settled(slices, air, &first, Some((&base, span_s)))
}

/// Solves round by round until the films fit. With `since`, the end of a time of that length after those temperatures.
fn settled(slices: &[Slice], air: &Air, start: &[f64], since: Option<(&[f64], f64)>) -> Result<Vec<f64>, HeatError> {
    let mut temps = start.to_vec();
    let settled_k = if since.is_some() { STEPPED_K } else { SETTLED_K };
    for _ in 0..ROUNDS {
        let next = solved(slices, air, &temps, since)?;
        let change = next.iter().zip(&temps).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        temps = next;
        if !change.is_finite() || change > 1e6 {
            break;
        }
        if change < settled_k {
            return Ok(temps);
        }
    }
    Err(HeatError::Unsettled { rounds: ROUNDS })
}

fn solved(slices: &[Slice], air: &Air, temps: &[f64], since: Option<(&[f64], f64)>) -> Result<Vec<f64>, HeatError> {
    let size = 3 * slices.len();
    let mut matrix = Skyline::new((0..size).map(|row| row.saturating_sub(3)).collect());
    let mut right = vec![0.0; size];
    let mut join = |a: usize, b: usize, w_k: f64| {
        matrix.add(a, a, w_k);
        matrix.add(b, b, w_k);
        matrix.add(a.max(b), a.min(b), -w_k);
    };
    for (k, slice) in slices.iter().enumerate() {
        let metres = slice.length_mm * 1e-3;
        let [core, inner, outer] = [3 * k, 3 * k + 1, 3 * k + 2];
        join(core, inner, slice.cavity_w_mk * metres);
        join(inner, outer, slice.wall_w_mk * metres);
        if let Some(next) = slices.get(k + 1) {
            let along = |of: fn(&Slice) -> f64| between(slice, next, of);
            join(core, core + 3, along(|s| s.core_along_wm_k));
            let wall = along(|s| s.wall_along_wm_k);
            join(inner, inner + 3, 0.5 * wall);
            join(outer, outer + 3, 0.5 * wall);
        }
    }
    for (k, slice) in slices.iter().enumerate() {
        let metres = slice.length_mm * 1e-3;
        let face_m2 = slice.girth_mm * 1e-3 * metres;
        let [core, inner, outer] = [3 * k, 3 * k + 1, 3 * k + 2];
        let film = film_w_m2k(air.film, slice.width_mm, temps[outer], air.air_c) * face_m2;
        let rays = glow_w_m2k(slice.emissivity, temps[outer], air.around_c) * face_m2;
        matrix.add(outer, outer, film + rays);
        right[outer] += film * air.air_c + rays * air.around_c;
        right[outer] += slice.absorptance * air.sun_w_m2 * slice.width_mm * 1e-3 * metres;
        right[core] += slice.core_w;
        right[inner] += 0.5 * slice.wall_w;
        right[outer] += 0.5 * slice.wall_w;
        if let Some((before, span_s)) = since {
            for (at, j_k) in [(core, slice.core_j_k), (inner, 0.5 * slice.wall_j_k), (outer, 0.5 * slice.wall_j_k)] {
                matrix.add(at, at, j_k / span_s);
                right[at] += j_k / span_s * before[at];
            }
        }
    }
    let factor = matrix.factor().map_err(|_| HeatError::Unsettled { rounds: 1 })?;
    Ok(factor.solve(&right))
}

/// From the middle of a slice to that of the next, W/K.
fn between(slice: &Slice, next: &Slice, along: impl Fn(&Slice) -> f64) -> f64 {
    let half = |s: &Slice| 0.5e-3 * s.length_mm / along(s);
    if along(slice) > 0.0 && along(next) > 0.0 { 1.0 / (half(slice) + half(next)) } else { 0.0 }
}
