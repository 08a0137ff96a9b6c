//! Where the prop is cut: candidates along the prop, what a cut costs at each, and what fits a printer.

use crate::joint::{COLLAR_REACH_MM, Site, sites};
use crate::outcome::{Body, Role};
use crate::path::CentrePath;
use crate::plan::{CutPlan, CutProblem, PlanError, plan};
use crate::printing::fits;
use crate::project::{Project, Side};
use crate::rail::fitting::Rail;
use crate::slices::{Slice, slices};
use solid::DVec3;

/// Distance between candidate stations, mm.
const STEP_MM: f64 = 1.0;
/// No cut nearer than this to an end of a body, mm: a piece this short has no room for its joint.
const LEAST_PIECE_MM: f64 = 20.0;
/// Kept free on each side of a pixel, mm.
const PIXEL_ROOM_MM: f64 = 1.0;
/// A cut this near to the end of a length of spine leaves the joint without it, mm.
const SPINE_LAP_MM: f64 = 40.0;

/// One place where the prop comes apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    /// Station, mm.
    pub station_mm: f64,
    /// Whether the maker locked it.
    pub locked: bool,
    /// Whether one body ends and another begins here.
    pub meeting: bool,
}

/// What a station is like for a cut; shown in the drawings and used as its price.
struct Merit {
    detail: f64,
    sudden: f64,
    thin: f64,
    pixel: f64,
    spine: f64,
}

impl Merit {
    /// A cut across detail shows most; a step in section next; the rest break ties.
    fn price(&self) -> f64 {
        4.0 * self.detail + 2.0 * self.sudden + self.thin + 0.5 * self.pixel + 2.0 * self.spine
    }
}

/// Plans the cuts of the core bodies, whose `measures` stand in the same order. `uncut_mm` are stretches of stations where a cut would part a bay or a lid.
///
/// # Errors
/// [`PlanError`] names the first stretch that no printer takes.
pub fn plan_cuts(
    project: &Project,
    bodies: &[&Body],
    measures: &[Measures],
    path: &CentrePath,
    rail: Option<&Rail>,
    uncut_mm: &[[f64; 2]],
) -> Result<Vec<Cut>, PlanError> {
    let total = path.length_mm();
    let meetings: Vec<f64> = bodies.windows(2).map(|w| (w[0].station_mm[1] + w[1].station_mm[0]) / 2.0).collect();
    let sites = sites(project, bodies, path);
    let own = sites.iter().filter(|s| !s.meeting).map(|s| s.station_mm);
    let locks: &Vec<f64> = &project.cuts.lock_mm.iter().copied().chain(own).collect();
    let mut stations: Vec<f64> = (1..(total / STEP_MM).ceil() as usize).map(|i| i as f64 * STEP_MM).collect();
    let fixed = |s: f64| meetings.iter().chain(locks).any(|m| (m - s).abs() < STEP_MM / 2.0);
    stations.retain(|s| !fixed(*s) && *s < total - STEP_MM / 2.0);
    stations.extend(meetings.iter().chain(locks).filter(|s| **s > 0.0 && **s < total));
    stations.push(0.0);
    stations.push(total);
    stations.sort_by(f64::total_cmp);
    stations.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let is = |list: &[f64], s: f64| list.iter().any(|m| (m - s).abs() < 1e-6);
    let locked: Vec<usize> =
        (1..stations.len() - 1).filter(|i| is(&meetings, stations[*i]) || is(locks, stations[*i])).collect();
    let price: Vec<f64> = stations
        .iter()
        .map(|s| {
            if is(&meetings, *s) || is(locks, *s) {
                return 0.0;
            }
            let bay = uncut_mm.iter().any(|u| *s >= u[0] && *s <= u[1]);
            if bay || sites.iter().any(|site| in_socket(site, *s)) {
                return f64::INFINITY;
            }
            price_at(project, bodies, measures, path, rail, *s)
        })
        .collect();
    let reach: Vec<usize> =
        (0..stations.len()).map(|i| reach_from(project, bodies, measures, path, &stations, &sites, i)).collect();
    let fits = |i: usize, j: usize| (j <= reach[i]).then_some(0.0);
    let problem = CutProblem { stations_mm: stations.clone(), price, locked, reach_mm: f64::INFINITY, fits: &fits };
    let CutPlan { cuts, .. } = plan(&problem)?;
    Ok(cuts
        .into_iter()
        .enumerate()
        .map(|(k, c)| {
            let shift = project.cuts.shift_mm.iter().find(|(joint, _)| *joint as usize == k + 1).map_or(0.0, |s| s.1);
            let meeting = is(&meetings, stations[c]);
            Cut {
                station_mm: stations[c] + if meeting { 0.0 } else { shift },
                locked: is(locks, stations[c]) || shift != 0.0,
                meeting,
            }
        })
        .collect())
}

/// Sections of one body and how much of its skin faces along the prop, every 2 mm.
pub struct Measures {
    slices: Vec<Slice>,
    /// Share of the skin between slices that is seen from the prop's ends, 0 to 1.
    steepness: Vec<f64>,
    from_x: f64,
    largest_mm2: f64,
}

const BIN_MM: f64 = crate::centre::SLICE_STEP_MM;

impl Measures {
    /// Takes them.
    pub fn of(body: &Body) -> Measures {
        let bounds = body.mesh.bounds().map_or([0.0, 0.0], |b| [b.min.x, b.max.x]);
        let count = ((bounds[1] - bounds[0]) / BIN_MM).ceil().max(1.0) as usize;
        let at: Vec<f64> = (0..count).map(|i| bounds[0] + (i as f64 + 0.5) * BIN_MM).collect();
        let mut seen = vec![0.0; count];
        let mut skin = vec![0.0; count];
        for t in 0..body.mesh.triangles.len() {
            let a = body.mesh.area_vector(t);
            let bin = (((body.mesh.corners(t)[0].x - bounds[0]) / BIN_MM) as usize).min(count - 1);
            seen[bin] += a.x.abs();
            skin[bin] += a.length();
        }
        let steepness = seen.iter().zip(&skin).map(|(s, k)| if *k > 0.0 { s / k } else { 0.0 }).collect();
        let slices = slices(&body.mesh, &at);
        let largest_mm2 = slices.iter().map(|s| s.area_mm2).fold(0.0, f64::max);
        Measures { slices, steepness, from_x: bounds[0], largest_mm2 }
    }

    fn bin(&self, x: f64) -> usize {
        (((x - self.from_x) / BIN_MM).max(0.0) as usize).min(self.slices.len() - 1)
    }
}

/// Whether a cut would lie in the socket of a joint that comes apart, or too near to its plug's root.
fn in_socket(site: &Site, station_mm: f64) -> bool {
    let [from, to] = site.span_mm();
    station_mm > from - LEAST_PIECE_MM && station_mm < to + LEAST_PIECE_MM
}

fn price_at(
    project: &Project,
    bodies: &[&Body],
    measures: &[Measures],
    path: &CentrePath,
    rail: Option<&Rail>,
    s: f64,
) -> f64 {
    if project.cuts.forbid_mm.iter().any(|f| s >= f[0] && s <= f[1]) {
        return f64::INFINITY;
    }
    let Some(k) = bodies.iter().position(|b| s >= b.station_mm[0] && s <= b.station_mm[1]) else {
        return f64::INFINITY;
    };
    let body = bodies[k];
    if s < body.station_mm[0] + LEAST_PIECE_MM || s > body.station_mm[1] - LEAST_PIECE_MM {
        return f64::INFINITY;
    }
    let m = &measures[k];
    let bin = m.bin(path.point(s).x);
    let near = |reach: usize| bin.saturating_sub(reach)..(bin + reach + 1).min(m.slices.len());
    let mean = |values: &mut dyn Iterator<Item = f64>| {
        let (sum, n) = values.fold((0.0, 0.0), |(a, n), v| (a + v, n + 1.0));
        sum / f64::max(n, 1.0)
    };
    let here = mean(&mut near(1).map(|i| m.steepness[i]));
    let around = mean(&mut near(20).map(|i| m.steepness[i]));
    let area = m.slices[bin].area_mm2.max(1e-6);
    let change = (m.slices[near(2).end - 1].area_mm2 - m.slices[near(2).start].area_mm2).abs() / area;
    let mut merit = Merit {
        detail: (here / around.max(1e-6) - 0.5).clamp(0.0, 4.0) / 4.0,
        sudden: change.min(1.0),
        thin: 1.0 - area / m.largest_mm2.max(area),
        pixel: 0.0,
        spine: 0.0,
    };
    if let (Some(rail), Some(light)) = (rail, &project.light) {
        let half = light.strip.pixel_mm / 2.0 + PIXEL_ROOM_MM;
        let nearest = rail.pixels.iter().map(|p| (p.station_mm - s).abs()).fold(f64::INFINITY, f64::min);
        if body.role == Role::Lit && nearest < half {
            return f64::INFINITY;
        }
        merit.pixel = (1.0 - nearest / (light.strip.pitch_mm / 2.0)).clamp(0.0, 1.0);
    }
    if let Some(rail) = rail {
        let d = rail.way.distance_at(s);
        let ends = rail.spine_mm.iter().flatten().map(|e| (e - d).abs()).fold(f64::INFINITY, f64::min);
        merit.spine = (1.0 - ends / SPINE_LAP_MM).clamp(0.0, 1.0);
    }
    merit.price()
}

/// The furthest candidate that a piece starting at candidate `i` can reach on some printer.
fn reach_from(
    project: &Project,
    bodies: &[&Body],
    measures: &[Measures],
    path: &CentrePath,
    stations: &[f64],
    sites: &[Site],
    i: usize,
) -> usize {
    let from = stations[i];
    let Some(k) = bodies.iter().position(|b| from >= b.station_mm[0] - 1e-6 && from < b.station_mm[1] - STEP_MM / 2.0)
    else {
        return i;
    };
    let rules = project.rules_for(&bodies[k].name);
    let frame = path.frame(from);
    let m = &measures[k];
    let (mut low, mut high) = (DVec3::INFINITY, DVec3::NEG_INFINITY);
    let mut bin = m.bin(frame.point.x);
    let mut reach = i;
    for (j, to) in stations.iter().enumerate().skip(i + 1) {
        if *to > bodies[k].station_mm[1] + STEP_MM {
            break;
        }
        let last = m.bin(path.point(*to).x);
        while bin <= last {
            let s = &m.slices[bin];
            if s.low.x <= s.high.x {
                for x in [s.x - BIN_MM / 2.0, s.x + BIN_MM / 2.0] {
                    for y in [s.low.x, s.high.x] {
                        for z in [s.low.y, s.high.y] {
                            let p = DVec3::new(x, y, z) - frame.point;
                            let local = DVec3::new(p.dot(frame.across), p.dot(frame.through), p.dot(frame.along));
                            low = low.min(local);
                            high = high.max(local);
                        }
                    }
                }
            }
            bin += 1;
        }
        let size = (high - low).max(DVec3::ZERO);
        let plug = |station: f64, side: Side| {
            sites.iter().find(|s| (s.station_mm - station).abs() < 1e-6 && s.plug == side).map_or(0.0, |s| s.reach_mm)
        };
        let more = plug(from, Side::Tip) + plug(*to, Side::Butt).max(COLLAR_REACH_MM);
        let tall = DVec3::new(size.x, size.y, size.z + more);
        let lying = DVec3::new(tall.z, size.x, size.y);
        let takes = rules.printers.iter().any(|p| {
            let printer = &project.printers[*p];
            fits(tall, printer).is_some() || (rules.may_lie && fits(lying, printer).is_some())
        });
        if takes {
            reach = j;
        } else {
            break;
        }
    }
    reach
}
