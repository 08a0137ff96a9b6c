//! How warm it gets: by its own light in a hall, in the sun, and in a parked car.

use super::sections::Wall;
use super::spine::there_mm2;
use super::{StrengthError, StrengthWork};
use crate::catalogue::{Boost, Electrics, PartKind};
use beam::heat::{Air, Film, HeatError, Level, Limits, Slice, Spot, flat_wall_w_mk, level, steady};

/// Strips of addressable pixels run on so many volts.
const STRIP_V: f64 = 5.0;
/// A cell's voltage while it warms, V (nominal of lithium-ion cells).
const CELL_V: f64 = 3.7;
/// Still air, as it fills infill, W/(m·K) (handbooks, from memory).
const AIR_W_MK: f64 = 0.026;
/// Share of its power that a pixel does not send out as light (engineering guess; the rest warms the wall in part).
const AS_HEAT: f64 = 0.8;
/// Of the light, what walls swallow before it leaves (engineering guess).
const SWALLOWED: f64 = 0.4;
/// Air film inside a cavity, W/(m²·K): about 10 (own computation from handbook films).
const INNER_FILM: f64 = 10.0;
const EMISSIVITY: f64 = 0.9;
/// Share of sunlight taken in by bare white plastic and by coated walls (common practice, no source).
const BARE: f64 = 0.3;
const COATED: f64 = 0.8;
/// A wall in use is kept so far below where it softens, K: it creeps before (common practice, no source).
pub const BELOW_K: f64 = 15.0;
/// Share of the sun that a car's window lets in (glazing, from memory).
const THROUGH_GLASS: f64 = 0.7;
/// Cells at the most, °C: discharge limit of generic lithium cells.
pub const CELL_C: f64 = 60.0;
/// Touched for long, plastic: ISO 13732-1, from memory.
pub const TOUCH_C: f64 = 43.0;
/// Electronics and strips at the most, °C (common practice, no source).
pub const STRIP_C: f64 = 80.0;
/// Heat capacity, J/(g·K): plastics; metals and electronics.
const PLASTIC_J_GK: f64 = 1.5;
const CORE_J_GK: f64 = 0.9;
/// The sun on what lies under a window, W/m2 (from memory).
const SUN_W_M2: f64 = 900.0;
/// An hour, s.
const HOUR_S: f64 = 3600.0;

/// Temperatures of one surrounding.
#[derive(Clone, Debug, PartialEq)]
pub struct WarmCase {
    /// In words.
    pub title: &'static str,
    /// Warmest place of the walls, °C.
    pub wall_c: f64,
    /// Its station, mm.
    pub station_mm: f64,
    /// Where its material begins to soften, °C.
    pub softens_c: f64,
    /// Least room between a wall and where it softens, K, and the station, mm.
    pub room_k: [f64; 2],
    /// Warmest outer face where it is held, °C.
    pub touch_c: f64,
    /// Warmest strip, °C, where there is one.
    pub strip_c: Option<f64>,
    /// Warmest cell, °C, where there is one.
    pub cell_c: Option<f64>,
    /// Where the glue lets go, less the warmest joint, K.
    pub glue_k: f64,
    /// The wall along the prop: station, mm, and the warmer of its faces there, °C.
    pub along: Vec<[f64; 2]>,
    /// In a car: warmest wall where the sun falls on it through a window, °C, and the least room there, K.
    pub sunlit: Option<[f64; 2]>,
}

/// How warm the prop gets.
#[derive(Clone, Debug, PartialEq)]
pub struct Heat {
    /// Power of all pixels in white at full, W.
    pub full_w: f64,
    /// What converters and cells lose at the level it is worn at, W.
    pub lost_w: f64,
    /// In the hall at the level it is worn at, in the sun, in the car.
    pub cases: Vec<WarmCase>,
    /// Share of full white that it bears for an hour and forever, and what meets its limit first; `None` without light.
    pub bears: Option<[(f64, String); 2]>,
}

/// Warms it.
pub(super) fn heat(work: &StrengthWork, walls: &[Wall]) -> Result<Option<Heat>, StrengthError> {
    let fault = |case: &'static str| move |e: HeatError| StrengthError::Frame { case, reason: e.to_string() };
    let rules = &work.project.strength;
    let power_w_mm = watts(work, walls);
    let full_w: f64 = power_w_mm.iter().zip(walls).map(|(p, w)| p * (w.span_mm[1] - w.span_mm[0])).sum();
    let slices = |share: f64| -> Vec<Slice> {
        let lost = losses(work, full_w * share);
        walls.iter().zip(&power_w_mm).map(|(w, p)| slice(work, w, p * share, within(&lost, w.span_mm))).collect()
    };
    let hall = Air { air_c: rules.air_c, around_c: rules.air_c, film: Film::Level, sun_w_m2: 0.0 };
    let sun = Air { sun_w_m2: rules.sun_w_m2, ..hall };
    let car = Air { air_c: rules.car_c, around_c: rules.car_c, ..hall };
    let mut cases = Vec::new();
    if full_w > 0.0 {
        cases
            .push(case(work, walls, "lit in the hall", &slices(rules.level), &hall).map_err(fault("lit in the hall"))?);
    }
    if rules.sun_w_m2 > 0.0 {
        cases.push(case(work, walls, "lit in the sun", &slices(rules.level), &sun).map_err(fault("in the sun"))?);
    }
    let mut parked =
        case(work, walls, "in a parked car, dark", &slices(0.0), &car).map_err(fault("in a parked car"))?;
    let glass = Air { sun_w_m2: SUN_W_M2 * THROUGH_GLASS, ..car };
    let sunlit =
        case(work, walls, "under a car's window", &slices(0.0), &glass).map_err(fault("under a car's window"))?;
    parked.sunlit = Some([sunlit.wall_c, sunlit.room_k[0]]);
    cases.push(parked);
    let bears = if full_w > 0.0 {
        let limits: Vec<Limits> = walls.iter().map(|w| limits(work, w)).collect();
        // A cell loses as the square of the light, the rest as the light: as it is at the level that is asked for, then at that
        // which is found for ever; an hour bears a little more.
        let full = |share: f64| -> Vec<Slice> {
            let heated = |s: Slice| Slice { core_w: s.core_w / share, wall_w: s.wall_w / share, ..s };
            slices(share).into_iter().map(heated).collect()
        };
        let bears = |share: f64, lasts: Option<f64>| {
            level(&full(share.clamp(0.01, 1.0)), &hall, &limits, lasts).map_err(fault("the light it bears"))
        };
        let forever = bears(bears(rules.level, None)?.share, None)?;
        let hour = bears(forever.share, Some(HOUR_S))?;
        Some([hour, forever].map(|found| (found.share, governs(&found, walls))))
    } else {
        None
    };
    let lost_w = losses(work, full_w * rules.level).iter().map(|l| l.1).sum();
    Ok(Some(Heat { full_w, lost_w, cases, bears }))
}

/// Watts for each millimetre of each stretch, white at full.
fn watts(work: &StrengthWork, walls: &[Wall]) -> Vec<f64> {
    let Some(light) = &work.project.light else { return vec![0.0; walls.len()] };
    let a_pixel = 3.0 * light.strip.shine.current_a * STRIP_V;
    let there = |at: f64| work.strips.iter().filter(|s| (s.station_mm[0]..=s.station_mm[1]).contains(&at)).count();
    walls.iter().map(|w| there(w.middle_mm()) as f64 * a_pixel / light.strip.pitch_mm).collect()
}

/// What parts lose while they feed so much light, W, each over its stations: converters by their efficiency, cells by their
/// resistance.
fn losses(work: &StrengthWork, light_w: f64) -> Vec<([f64; 2], f64)> {
    let rows =
        |part: &crate::outcome::Part| work.project.parts.iter().find(|p| p.name == part.name).map(|p| &p.row.electrics);
    let fitted: Vec<([f64; 2], &Electrics)> =
        work.parts.iter().filter_map(|p| Some((p.station_mm, rows(p)?))).collect();
    let boost = |e: &Electrics| match e {
        Electrics::Converter(boost) | Electrics::Controller { boost: Some(boost), .. } => Some(*boost),
        _ => None,
    };
    let efficiency = fitted.iter().find_map(|f| boost(f.1)).map_or(1.0, |b: Boost| b.efficiency);
    let cells = fitted.iter().filter(|f| matches!(f.1, Electrics::Cell { .. })).count().max(1) as f64;
    let (taken_w, mut converts) = (light_w / efficiency, true);
    let lost = |electrics: &Electrics| match electrics {
        Electrics::Cell { ohm, .. } => {
            let amps = taken_w / CELL_V / cells;
            amps * amps * ohm
        }
        // The first converts all of it.
        other if boost(other).is_some() && std::mem::take(&mut converts) => taken_w - light_w,
        _ => 0.0,
    };
    let lost: Vec<f64> = fitted.iter().map(|f| f.1).map(lost).collect();
    fitted.into_iter().map(|f| f.0).zip(lost).filter(|l| l.1 > 0.0).collect()
}

/// What of losses falls into a stretch, W.
fn within(lost: &[([f64; 2], f64)], [from, to]: [f64; 2]) -> f64 {
    let share = |[a, b]: [f64; 2]| (b.min(to) - a.max(from)).max(0.0) / (b - a).max(1e-9);
    lost.iter().map(|(span, w)| w * share(*span)).sum()
}

fn slice(work: &StrengthWork, wall: &Wall, w_mm: f64, lost_w: f64) -> Slice {
    let length_mm = wall.span_mm[1] - wall.span_mm[0];
    let rules = &work.split.pieces[wall.piece].rules;
    let loops = wall.regions.iter().flat_map(|r| &r.outlines);
    let round = |l: &[beam::DVec2]| (0..l.len()).map(|k| (l[(k + 1) % l.len()] - l[k]).length()).sum::<f64>();
    let girth_mm = loops.map(|o| round(&o.outer)).fold(1.0, f64::max);
    let (least, most) = beam::section::reach(&wall.regions, wall.section.plain.centroid_mm, beam::DVec2::X);
    let thick = work.printed.pieces[wall.piece].wall_mm.unwrap_or_else(|| {
        // A filled piece: half its breadth lies between its middle and the air.
        0.25 * (most - least).max(1.0)
    });
    let inner_mm = (girth_mm - std::f64::consts::TAU * thick).max(0.2 * girth_mm);
    let spine = work
        .project
        .spine
        .as_ref()
        .filter(|_| work.spines.iter().any(|s| (s.station_mm[0]..=s.station_mm[1]).contains(&wall.middle_mm())));
    // Only what is there of a tube leads heat.
    let spine_mm2 = spine.map_or(0.0, |s| there_mm2(&s.bar));
    let spine_g = spine.map_or(0.0, |s| s.bar.g_mm() * length_mm);
    let conducts = rules.material.holding.conducts_w_mk * wall.laid + AIR_W_MK * (1.0 - wall.laid);
    let wall_mm2 = wall.section.plain.area_mm2;
    Slice {
        length_mm,
        core_w: w_mm * length_mm * AS_HEAT + lost_w,
        wall_w: w_mm * length_mm * (1.0 - AS_HEAT) * SWALLOWED,
        cavity_w_mk: INNER_FILM * inner_mm * 1e-3,
        wall_w_mk: flat_wall_w_mk(conducts, f64::midpoint(girth_mm, inner_mm), thick),
        girth_mm,
        width_mm: (most - least).max(1.0),
        emissivity: EMISSIVITY,
        absorptance: if rules.coats.is_empty() { BARE } else { COATED },
        core_along_wm_k: spine.map_or(0.0, |s| s.bar.holding.conducts_w_mk * spine_mm2 * 1e-6),
        wall_along_wm_k: conducts * wall_mm2 * 1e-6,
        core_j_k: (spine_g * CORE_J_GK).max(1e-3 * length_mm),
        wall_j_k: wall.section.plain.mass_g_mm * length_mm * PLASTIC_J_GK,
    }
}

fn strip_at(work: &StrengthWork, wall: &Wall) -> bool {
    work.strips.iter().any(|s| s.station_mm[0] < wall.span_mm[1] && s.station_mm[1] > wall.span_mm[0])
}

fn cell_at(work: &StrengthWork, wall: &Wall) -> bool {
    let cells = work.parts.iter().filter(|p| p.kind == PartKind::Cell);
    cells.into_iter().any(|c| c.station_mm[0] < wall.span_mm[1] && c.station_mm[1] > wall.span_mm[0])
}

fn is_held(work: &StrengthWork, wall: &Wall) -> bool {
    // Bodies without light are what hands take hold of.
    work.printed.pieces[wall.piece].role == crate::outcome::Role::Plain
}

fn limits(work: &StrengthWork, wall: &Wall) -> Limits {
    let softens = work.split.pieces[wall.piece].rules.material.holding.softens_c;
    Limits {
        core_c: if cell_at(work, wall) { CELL_C } else { STRIP_C },
        inner_c: softens - BELOW_K,
        outer_c: if is_held(work, wall) { TOUCH_C } else { softens - BELOW_K },
    }
}

fn governs(found: &Level, walls: &[Wall]) -> String {
    let (what, slice) = match found.governs {
        Spot::Core(k) => ("strip or cell", k),
        Spot::Inner(k) => ("the wall's inner face", k),
        Spot::Outer(k) => ("the outside", k),
    };
    format!("{what} at station {:.0} mm", walls[slice].middle_mm())
}

fn case(
    work: &StrengthWork,
    walls: &[Wall],
    title: &'static str,
    slices: &[Slice],
    air: &Air,
) -> Result<WarmCase, HeatError> {
    let warmth = steady(slices, air)?;
    let mut found = WarmCase {
        title,
        wall_c: f64::NEG_INFINITY,
        station_mm: 0.0,
        softens_c: 0.0,
        room_k: [f64::INFINITY, 0.0],
        touch_c: air.air_c,
        strip_c: None,
        cell_c: None,
        glue_k: f64::INFINITY,
        along: Vec::with_capacity(walls.len()),
        sunlit: None,
    };
    for (k, wall) in walls.iter().enumerate() {
        let softens = work.split.pieces[wall.piece].rules.material.holding.softens_c;
        let warm = warmth.inner_c[k].max(warmth.outer_c[k]);
        found.along.push([wall.middle_mm(), warm]);
        if warm > found.wall_c {
            (found.wall_c, found.station_mm, found.softens_c) = (warm, wall.middle_mm(), softens);
        }
        if softens - warm < found.room_k[0] {
            found.room_k = [softens - warm, wall.middle_mm()];
        }
        if is_held(work, wall) {
            found.touch_c = found.touch_c.max(warmth.outer_c[k]);
        }
        let warmest = |so_far: Option<f64>| Some(so_far.unwrap_or(f64::NEG_INFINITY).max(warmth.core_c[k]));
        if strip_at(work, wall) {
            found.strip_c = warmest(found.strip_c);
        }
        if cell_at(work, wall) {
            found.cell_c = warmest(found.cell_c);
        }
        if k > 0 && walls[k - 1].piece != wall.piece {
            found.glue_k = found.glue_k.min(work.project.strength.glue.softens_c - warm);
        }
    }
    Ok(found)
}
