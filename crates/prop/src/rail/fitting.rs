//! Fitting the rail into the bodies: how far strip and spine reach, where each pixel sits, which lengths of spine to cut.

use super::layout::{Fit, Layout, LayoutError, lay_out};
use super::lengths::{SHORT_MM, bored, lengths};
use super::runs::{RunSearch, Way, find_way};
use super::solids;
use crate::outcome::{Body, Pixel, Role};
use crate::path::CentrePath;
use crate::project::{BodyRules, Glow, Project};
use solid::{Bvh, DVec2, DVec3, Mesh, Plane};
use thiserror::Error;

/// Kept free of checks at the faces where two bodies meet, mm: there the distance to the surface is that to the face.
const MEETING_MM: f64 = 8.0;
/// Distance between the stations tried for fit, mm.
const STEP_MM: f64 = 1.5;
/// Slots keep this much more than the wall, mm: the cavity is only known to within a few hundredths.
const SPARE_MM: f64 = 0.1;
/// A lit body stays solid this far from an end where another body is joined on, mm: material for sockets.
pub const END_BLOCK_MM: f64 = 12.0;
/// Wall left at the butt and the tip of the prop by the spine's slot, mm.
const END_WALL_MM: f64 = 3.0;
/// Air between the strip's end and an end block, mm.
const APART_MM: f64 = 2.0;
/// Kept between the body's end block or wall and the first pixel's piece of strip, mm: room to solder the wires.
const SOLDER_ROOM_MM: f64 = 6.0;

/// A body with what is needed to measure in it.
pub struct Core<'a> {
    /// The body.
    pub body: &'a Body,
    /// Its rules.
    pub rules: &'a BodyRules,
    /// Distances to its surface.
    pub outer: &'a Bvh,
}

/// The rail and all that it holds. Distances run along the rail's way.
#[derive(Clone, Debug)]
pub struct Rail {
    /// Its section.
    pub layout: Layout,
    /// Its way.
    pub way: Way,
    /// The clearances it was laid out for.
    pub fit: Fit,
    /// Distances that the ribs span (inside lit bodies).
    pub ribs_mm: Option<[f64; 2]>,
    /// Distances that the strip spans.
    pub strip_mm: Option<[f64; 2]>,
    /// Distances that each length of spine spans.
    pub spine_mm: Vec<[f64; 2]>,
    /// Distances that the wires' bore through solid bodies and the butt-side end wall spans.
    pub bore_mm: Option<[f64; 2]>,
    /// Distances of the bore that the strips pass on their way in.
    pub mouth_mm: Option<[f64; 2]>,
    /// Pixels by strip and number.
    pub pixels: Vec<Pixel>,
    /// Both ribs, as solids that reach far into the wall.
    pub ribs: Mesh,
    /// The bore through solid bodies and end walls.
    pub bore: Mesh,
    /// Spine lengths that were too short to be of use, mm.
    pub dropped_spine_mm: Vec<f64>,
}

impl Rail {
    /// Whether a point lies beside a rib, or within `near_mm` of the bore's box. Ribs and bore go on straight beyond the ends
    /// of the way.
    pub fn reaches(&self, p: DVec3, near_mm: f64) -> bool {
        let mut done = 0.0;
        let last = self.way.runs.len().saturating_sub(1);
        self.way.runs.iter().enumerate().any(|(k, run)| {
            let along = (p - run.start).dot(run.along);
            let here = (k == 0 || along >= -1.0) && (k == last || along <= run.length_mm + 1.0);
            let d = done + along;
            done += run.length_mm;
            let section = DVec2::new((p - run.start).dot(run.u), (p - run.start).dot(run.v));
            let within = |range: &Option<[f64; 2]>| range.is_some_and(|r| d >= r[0] - near_mm && d <= r[1] + near_mm);
            here && (within(&self.ribs_mm) && self.layout.near_rail(section, near_mm)
                || within(&self.bore_mm) && self.layout.near_bore(section, near_mm))
        })
    }
}

/// A station that is said so far beyond the tip is the tip: it was rounded, mm.
const ROUNDED_MM: f64 = 1.0;

/// Why no rail fits.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum RailError {
    /// The section itself cannot be laid out.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// The ribs could not be made.
    #[error("the ribs could not be made: {0}")]
    Ribs(#[from] solid::BooleanError),
    /// The bore could not be ended at the lit body's face.
    #[error("the bore could not be made: {0}")]
    Bore(#[from] solid::CutError),
    /// Nowhere in the lit body is there room.
    #[error(
        "no station of {body} has room for the rail: strip and spine with their gaps take {width_mm:.1} x {height_mm:.1} mm inside the wall"
    )]
    NoRoom {
        /// Body.
        body: String,
        /// Room needed across, mm.
        width_mm: f64,
        /// Room needed through, mm.
        height_mm: f64,
    },
    /// The lit parts of the way fit one by one but no chain of straight runs does.
    #[error(
        "the rail cannot be led from station {from_mm:.0} to {to_mm:.0} mm in straight runs that stay inside the walls"
    )]
    NoWay {
        /// Station, mm.
        from_mm: f64,
        /// Station, mm.
        to_mm: f64,
    },
    /// Strip or spine is to end beyond the prop.
    #[error("it is to run to station {to_mm:.0} mm, and the prop ends at {end_mm:.0} mm")]
    Past {
        /// Its table in the project file: `light` or `spine`.
        table: &'static str,
        /// Station asked for, mm.
        to_mm: f64,
        /// Where the prop ends, mm.
        end_mm: f64,
    },
}

/// Lays out the rail. `None` when the project has neither strip nor spine.
///
/// # Errors
/// [`RailError`] names what does not fit and where.
pub fn fit_rail(project: &Project, cores: &[Core], path: &CentrePath) -> Result<Option<Rail>, RailError> {
    let lit = cores.iter().find(|c| c.body.role == Role::Lit);
    let light = project.light.as_ref().filter(|_| lit.is_some());
    if light.is_none() && project.spine.is_none() {
        return Ok(None);
    }
    let printers = cores.iter().flat_map(|c| &c.rules.printers).map(|p| &project.printers[*p]);
    let fit = Fit::over(printers);
    let layout = lay_out(light, project.spine.as_ref(), &fit, project.wire_bundle_mm)?;
    let faces_across = lit.is_none_or(|c| c.rules.glow != Glow::Faces);
    let room = Room::new(cores, &layout);
    let total = path.length_mm();
    let ends = [("light", light.and_then(|l| l.to_mm)), ("spine", project.spine.as_ref().and_then(|s| s.to_mm))];
    for (table, to_mm) in ends {
        if let Some(to_mm) = to_mm.filter(|to| *to > total + ROUNDED_MM) {
            return Err(RailError::Past { table, to_mm, end_mm: total });
        }
    }
    let lit_mm = lit.map(|_| {
        let lit = cores.iter().filter(|c| c.body.role == Role::Lit);
        lit.fold([f64::INFINITY, 0.0f64], |r, c| [r[0].min(c.body.station_mm[0]), r[1].max(c.body.station_mm[1])])
    });
    let strip_range = match (light, lit_mm) {
        (Some(rules), Some([from, to])) => {
            let first = rules.from_mm.unwrap_or(from + END_BLOCK_MM + SOLDER_ROOM_MM);
            let meets = cores.iter().any(|c| (c.body.station_mm[0] - to).abs() < MEETING_MM);
            // Round the spine, strips are wired to each other at this end too.
            let air = if layout.spokes.is_some() { SOLDER_ROOM_MM } else { APART_MM };
            let last = rules.to_mm.unwrap_or(if meets { to - END_BLOCK_MM - air } else { to });
            Some(
                room.longest(path, faces_across, [first, last], Need { strip: true, spine: false })
                    .ok_or_else(|| no_room(lit, &layout))?,
            )
        }
        _ => None,
    };
    let spine_range = match &project.spine {
        Some(rules) => {
            let first = rules.from_mm.unwrap_or(END_WALL_MM);
            let last = rules.to_mm.unwrap_or(total - END_WALL_MM);
            Some(
                room.longest(path, faces_across, [first, last], Need { strip: false, spine: true })
                    .ok_or_else(|| no_room(lit, &layout))?,
            )
        }
        None => None,
    };
    let ranges = strip_range.iter().chain(&spine_range);
    let whole = ranges.fold([f64::INFINITY, 0.0f64], |r, x| [r[0].min(x[0]), r[1].max(x[1])]);
    // Wires run on to the butt-most body even where the spine ends earlier.
    let grip = strip_range.and(wire_end(project, cores));
    let from = grip.map_or(whole[0], |g| whole[0].min(g));
    let inside = |range: &Option<[f64; 2]>, s: f64| range.is_some_and(|r| s >= r[0] && s <= r[1]);
    let left_out = |s: f64| project.spine.iter().flat_map(|r| &r.leave_mm).any(|l| s > l[0] && s < l[1]);
    let fits = |s: f64, point: DVec3, u: DVec3, v: DVec3| {
        let spine = inside(&spine_range, s) && !left_out(s);
        room.fits(s, point, u, v, Need { strip: inside(&strip_range, s), spine })
    };
    let search = RunSearch { path, from_mm: from, to_mm: whole[1], faces_across, fits: &fits };
    let way = find_way(&search).ok_or(RailError::NoWay { from_mm: from, to_mm: whole[1] })?;
    furnish(project, cores, path, layout, fit, way, strip_range, spine_range, lit_mm).map(Some)
}

fn no_room(lit: Option<&Core>, layout: &Layout) -> RailError {
    let [width_mm, height_mm] = layout.room_mm();
    RailError::NoRoom { body: lit.map_or_else(|| "the prop".into(), |c| c.body.name.clone()), width_mm, height_mm }
}

/// How far the bore reaches into the grip where parts are wired to it, mm.
const BORE_END_MM: f64 = 20.0;

/// Where the wires leave the bore: a little inside the body on the butt side of the first lit one (the grip) where
/// channels lead on to the parts; the middle of that body where there are none.
fn wire_end(project: &Project, cores: &[Core]) -> Option<f64> {
    let lit = cores.iter().position(|c| c.body.role == Role::Lit)?;
    let [from, to] = cores.get(lit.checked_sub(1)?)?.body.station_mm;
    Some(if project.parts.is_empty() { f64::midpoint(from, to) } else { (to - BORE_END_MM).max(from) })
}

#[derive(Clone, Copy)]
pub(super) struct Need {
    pub(super) strip: bool,
    pub(super) spine: bool,
}

pub(super) struct Room<'a> {
    cores: &'a [Core<'a>],
    strip: Vec<DVec2>,
    spine: Vec<DVec2>,
    bore: Vec<DVec2>,
}

impl<'a> Room<'a> {
    pub(super) fn new(cores: &'a [Core<'a>], layout: &Layout) -> Room<'a> {
        Room { cores, strip: layout.strip_corners(), spine: layout.spine_corners(), bore: layout.bore().concat() }
    }

    fn core_at(&self, station_mm: f64) -> Option<&Core<'_>> {
        self.cores.iter().find(|c| station_mm >= c.body.station_mm[0] && station_mm <= c.body.station_mm[1])
    }

    /// Whether what is needed has its walls round it, with the spine's middle at `point`.
    pub(super) fn fits(&self, station_mm: f64, point: DVec3, u: DVec3, v: DVec3, need: Need) -> bool {
        let Some(core) = self.core_at(station_mm) else { return false };
        let meets = |end: f64, other: usize| {
            (station_mm - end).abs() < MEETING_MM
                && self.cores.iter().any(|c| (c.body.station_mm[other] - end).abs() < 1.0)
        };
        if meets(core.body.station_mm[0], 1) || meets(core.body.station_mm[1], 0) {
            return true;
        }
        let deep = |corners: &[DVec2], least: f64| {
            let at = |c: &DVec2| point + u * c.x + v * c.y;
            corners.iter().all(|c| core.outer.nearest(at(c), least).is_none())
                && corners.iter().all(|c| core.outer.is_inside(at(c)))
        };
        if core.body.role == Role::Lit {
            let least = core.rules.wall_mm + SPARE_MM;
            (!need.strip || deep(&self.strip, least)) && (!need.spine || deep(&self.spine, least))
        } else {
            deep(&self.bore, core.rules.wall_mm)
        }
    }

    /// The longest stretch of stations on the centre path, within `range`, where everything needed fits.
    fn longest(&self, path: &CentrePath, faces_across: bool, range: [f64; 2], need: Need) -> Option<[f64; 2]> {
        use rayon::prelude::*;
        let steps = ((range[1] - range[0]) / STEP_MM).floor().max(0.0) as usize;
        let good: Vec<bool> = (0..=steps)
            .into_par_iter()
            .map(|i| {
                let s = range[0] + STEP_MM * i as f64;
                let f = path.frame(s);
                let (u, v) = if faces_across { (f.across, f.through) } else { (f.through, -f.across) };
                self.fits(s, f.point, u, v, need)
            })
            .collect();
        let mut best: Option<(usize, usize)> = None;
        let mut i = 0;
        while i <= steps {
            if !good[i] {
                i += 1;
                continue;
            }
            let start = i;
            while i <= steps && good[i] {
                i += 1;
            }
            if best.is_none_or(|(a, b)| i - 1 - start > b - a) {
                best = Some((start, i - 1));
            }
        }
        let (a, b) = best.filter(|(a, b)| b > a)?;
        Some([range[0] + STEP_MM * a as f64, range[0] + STEP_MM * b as f64])
    }
}

#[expect(clippy::too_many_arguments, reason = "one call, each argument a result of the search above")]
fn furnish(
    project: &Project,
    cores: &[Core],
    path: &CentrePath,
    layout: Layout,
    fit: Fit,
    way: Way,
    strip_range: Option<[f64; 2]>,
    spine_range: Option<[f64; 2]>,
    lit_mm: Option<[f64; 2]>,
) -> Result<Rail, RailError> {
    let to_distance = |r: [f64; 2]| [way.distance_at(r[0]), way.distance_at(r[1])];
    let mut pixels = Vec::new();
    let mut strip_mm = None;
    if let (Some(range), Some(light)) = (strip_range, &project.light) {
        let [from, to] = to_distance(range);
        let pitch = light.strip.pitch_mm;
        let count = ((to - from) / pitch).floor().max(0.0) as u32;
        strip_mm = Some([from, from + f64::from(count) * pitch]);
        pixels = pixels_along(&layout, &way, pitch, from, count);
    }
    let bodies: Vec<&Body> = cores.iter().map(|c| c.body).collect();
    // A joint that comes apart ends the spine.
    let parted: Vec<f64> =
        crate::joint::sites(project, &bodies, path).iter().map(|s| s.station_mm + s.stands_mm).collect();
    let (spine_mm, dropped_spine_mm) = match (spine_range, &project.spine) {
        (Some(range), Some(rules)) => lengths(&way, rules, &parted, to_distance(range)),
        _ => Default::default(),
    };
    let reach =
        cores.iter().filter_map(|c| c.body.mesh.bounds()).map(|b| b.size().y.max(b.size().z)).fold(0.0, f64::max);
    let ends = [strip_mm, spine_mm.first().map(|f| [f[0], spine_mm[spine_mm.len() - 1][1]])];
    let last = ends.iter().flatten().map(|e| e[1]).fold(0.0, f64::max) + SHORT_MM;
    let first = ends.iter().flatten().map(|e| e[0]).fold(f64::INFINITY, f64::min) - SHORT_MM;
    let meets = lit_mm.is_some_and(|l| cores.iter().any(|c| (c.body.station_mm[0] - l[1]).abs() < MEETING_MM));
    let ribs_to = match lit_mm {
        // A hub ends in the end block, so that its end has something to print on either way up.
        Some(lit) if meets && layout.spokes.is_some() => way.distance_at(lit[1] - END_BLOCK_MM + 2.0),
        _ => last,
    };
    let ribs_mm = lit_mm.map(|lit| [way.distance_at(lit[0]) - 1.0, ribs_to]).filter(|r| r[1] > r[0]);
    let ribs = match ribs_mm {
        Some(span) => {
            let stem = layout.spokes.is_none() && needs_stem(cores, &layout, &way, span);
            // Without a spine two ribs share a web.
            solids::rail(&way, &layout.material(reach, stem), span)?
        }
        None => Mesh::default(),
    };
    // The bore starts where the spine does or where the wires end, and runs through the lit body's end wall.
    let bore_to = lit_mm.map_or(last, |lit| way.distance_at(lit[0] + END_BLOCK_MM + 4.0));
    let grip = strip_range.and(wire_end(project, cores)).map_or(f64::INFINITY, |g| way.distance_at(g).max(0.0));
    let bore_from = first.min(grip);
    let mut bore_mm = (bore_to > bore_from).then_some([bore_from, bore_to]);
    let mut bore = Mesh::default();
    let mut mouth_mm = bore_mm;
    if let (Some(_), Some(lit)) = (&layout.spokes, lit_mm) {
        let mut parts = Vec::new();
        for span in bored(&spine_mm) {
            parts.push(solids::led(&way, &layout.spine_bore(), span)?);
        }
        let door = way.distance_at(lit[0]);
        if grip < door {
            parts.push(solids::led(&way, &layout.bore(), [grip, door + 2.0])?);
        }
        // The mouth is the lit body's alone.
        let (run, at) = way.locate(door);
        let face = Plane::through(run.point(DVec2::ZERO, at), DVec3::X);
        let mouth = solids::led(&way, &layout.mouth(), [door - 3.0, bore_to])?;
        parts.push(solid::slab(&mouth, Some(&face), None)?);
        bore = solid::union_all(&parts)?;
        mouth_mm = Some([door, bore_to]);
        bore_mm = Some([grip.min(door), bore_to]);
    } else if let Some(span) = bore_mm {
        bore = solids::led(&way, &layout.bore(), span)?;
        // Where the spine goes on beyond the lit body, through its other end block.
        let beyond = lit_mm.map(|lit| [way.distance_at(lit[1] - END_BLOCK_MM - 4.0), last]);
        if let Some(span) = beyond.filter(|b| b[1] > b[0] + 8.0) {
            bore.append(&solids::led(&way, &layout.bore(), span)?);
        }
    }
    Ok(Rail { layout, way, fit, ribs_mm, strip_mm, spine_mm, bore_mm, mouth_mm, pixels, ribs, bore, dropped_spine_mm })
}

/// So many pixels of each strip, from a distance along the way on.
pub(super) fn pixels_along(layout: &Layout, way: &Way, pitch_mm: f64, from_mm: f64, count: u32) -> Vec<Pixel> {
    let mut pixels = Vec::new();
    for (strip, facing) in (1..).zip(layout.facings()) {
        for number in 1..=count {
            let d = from_mm + (f64::from(number) - 0.5) * pitch_mm;
            let (run, at) = way.locate(d);
            pixels.push(Pixel {
                number,
                strip,
                station_mm: way.station_at(d),
                point: run.point(facing * layout.emit_u, at),
                facing: run.u * facing.x + run.v * facing.y,
            });
        }
    }
    pixels
}

/// Whether somewhere the cavity is so much taller than the slots that a full-width rib would be a waste.
pub(super) fn needs_stem(cores: &[Core], layout: &Layout, way: &Way, [from, to]: [f64; 2]) -> bool {
    const TALL_MM: f64 = 8.0;
    let steps = ((to - from) / 10.0).ceil().max(1.0) as usize;
    (0..=steps).any(|i| {
        let d = from + (to - from) * i as f64 / steps as f64;
        let s = way.station_at(d);
        let Some(core) = cores.iter().find(|c| {
            c.body.role == Role::Lit
                && s > c.body.station_mm[0] + END_BLOCK_MM
                && s < c.body.station_mm[1] - END_BLOCK_MM
        }) else {
            return false;
        };
        let (run, at) = way.locate(d);
        [1.0, -1.0].iter().any(|side| {
            let head = run.point(DVec2::new(0.0, side * (layout.head_v() + TALL_MM)), at);
            -core.outer.signed_distance(head) > core.rules.wall_mm
        })
    })
}
