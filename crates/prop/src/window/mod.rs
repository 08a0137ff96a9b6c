//! Windows: where on the outer surface light is to come out, and what coats the surface carries.

mod line;
mod measure;
mod painted;
mod patch;
mod skin;
#[cfg(test)]
mod tests;
mod view;

use crate::outcome::Role;
use crate::path::CentrePath;
use crate::project::{BodyRules, Flank, Glow, Project, WindowRules};
use crate::refusal::{Problem, Refusal, problem};
use crate::stages::Placed;
use line::Extent;
use rayon::prelude::*;
use solid::DVec3;
use std::sync::Arc;

pub use painted::Painted;
pub use skin::Skin;
pub use view::{WindowView, views};

/// Which window: an index into [`Windows::list`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct WindowIdx(pub usize);

/// One window.
#[derive(Clone, Debug)]
pub struct Window {
    /// Its name in the project; that of its body where the project names none there.
    pub name: String,
    /// Its body (index into [`Placed::bodies`]).
    pub body: usize,
    /// Whether it follows from the body's `glow` because the project names no window in it.
    pub implied: bool,
    /// What the project says of it; of an implied one, what comes to the same.
    pub zone: Zone,
    /// Its coats.
    pub skin: Skin,
    /// Area of the outer surface in it, mm2.
    pub area_mm2: f64,
    /// Stations it spans; 0 both where it has no area.
    pub station_mm: [f64; 2],
    /// Places on it with the outward normal, about one to each 25 mm2, prop frame.
    pub samples: Vec<[DVec3; 2]>,
}

/// The part of a body's outer surface that keeps all of this.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Zone {
    /// Within so many mm of the outermost line towards one of these sides.
    pub band: Option<(Vec<Flank>, f64)>,
    /// In the outer third of the body's half width, 8 mm at least: where pixels that look across send their light.
    pub outer_third: bool,
    /// Between these stations, mm; anywhere when there are none.
    pub stations_mm: Vec<[f64; 2]>,
    /// With an outward normal within so many degrees of one of these sides.
    pub faces: Option<(Vec<Flank>, f64)>,
    /// Where the maker's mesh is painted with this: the name of a material, or `#rrggbb`.
    pub colour: Option<String>,
}

/// What lies on one body.
#[derive(Clone, Debug)]
struct Dress {
    windows: Vec<WindowIdx>,
    extent: Extent,
    ends_mm: [f64; 2],
    /// Whether another body is joined on at the butt end and at the tip end.
    joined: [bool; 2],
    wall_mm: f64,
    skin: Skin,
    lining: Option<Skin>,
    paint: Option<Arc<Painted>>,
}

/// All windows and coats of a prop.
#[derive(Clone, Debug)]
pub struct Windows {
    path: CentrePath,
    /// Across, through and along at every [`TURN_MM`] of the path.
    turns: Vec<[DVec3; 3]>,
    bodies: Vec<Dress>,
    windows: Vec<Window>,
}

/// Distance between the stations at which the path's directions are kept, mm.
const TURN_MM: f64 = 2.0;
/// A face this near to the end of a body where another is joined on, and looking along the prop within this cosine, is no
/// outside.
const END_MM: f64 = 0.5;
const END_COSINE: f64 = 0.9;
/// Light spreads so far from the pixels to the faces, degrees.
const SPREAD_DEG: f64 = 60.0;
/// Share of the half width, and width at least, that pixels which look across light: as joints are kept out of it.
const OUTER: (f64, f64) = (1.0 / 3.0, 8.0);

impl Windows {
    /// Makes everything ready and measures each window.
    ///
    /// # Errors
    /// A [`Refusal`] when a window names a body that the shape does not have.
    pub fn prepare(project: &Project, placed: &Placed) -> Result<Windows, Refusal> {
        let rules: Vec<BodyRules> = placed.bodies.iter().map(|b| project.rules_for(&b.name)).collect();
        let mut windows = named(project, placed)?;
        for (body, own) in rules.iter().enumerate() {
            if own.role == Role::Lit && !windows.iter().any(|w| w.body == body) {
                windows.push(implied(body, own));
            }
        }
        let of = |body: usize| (0..windows.len()).filter(|w| windows[*w].body == body).map(WindowIdx).collect();
        let bodies: Vec<Dress> = placed
            .bodies
            .par_iter()
            .zip(&rules)
            .enumerate()
            .map(|(body, (b, own))| Dress {
                windows: of(body),
                extent: Extent::of(&b.mesh),
                ends_mm: b.station_mm,
                joined: [0, 1].map(|end| b.role != Role::Cover && joined(placed, body, end)),
                wall_mm: own.wall_mm,
                skin: Skin::of(&own.coats),
                lining: (!own.lining.is_empty()).then(|| Skin::of(&own.lining)),
                paint: placed.paints.get(&b.name).cloned(),
            })
            .collect();
        let count = (placed.path.length_mm() / TURN_MM).ceil() as usize + 1;
        let turns = (0..count).map(|k| placed.path.frame(k as f64 * TURN_MM)).map(|f| [f.across, f.through, f.along]);
        let mut all = Windows { path: placed.path.clone(), turns: turns.collect(), bodies, windows };
        measure::measure(&mut all, placed);
        Ok(all)
    }

    /// The same windows over walls and coats of another project.
    #[must_use]
    pub(crate) fn dressed(&self, project: &Project, placed: &Placed) -> Windows {
        let mut all = self.clone();
        for (dress, body) in all.bodies.iter_mut().zip(&placed.bodies) {
            let own = project.rules_for(&body.name);
            dress.wall_mm = own.wall_mm;
            dress.skin = Skin::of(&own.coats);
            dress.lining = (!own.lining.is_empty()).then(|| Skin::of(&own.lining));
        }
        all
    }

    /// Every window: those of the project in file order, then those that follow from `glow`.
    pub fn list(&self) -> &[Window] {
        &self.windows
    }

    /// The window that a point of a body's outer surface lies in, prop frame; the first in file order where several claim it.
    ///
    /// Depends on the point and the outward normal (unit) alone, not on the triangles that the surface is cut into. Faces
    /// where another body is joined on belong to no window.
    pub fn which(&self, body: usize, point: DVec3, normal: DVec3) -> Option<WindowIdx> {
        let own = self.bodies.get(body)?;
        if own.windows.is_empty() {
            return None;
        }
        let station_mm = self.path.station_of(point);
        let turn = self.turn(station_mm);
        let ahead = normal.dot(turn[2]);
        let shut = |end: usize, out: f64| {
            own.joined[end] && (station_mm - own.ends_mm[end]).abs() < END_MM && out > END_COSINE
        };
        if shut(0, -ahead) || shut(1, ahead) {
            return None;
        }
        own.windows.iter().copied().find(|w| {
            let zone = &self.windows[w.0].zone;
            let is_painted = |colour: &String| own.paint.as_ref().is_some_and(|paint| paint.is(point, colour));
            zone.holds(&own.extent, point, normal, station_mm, turn) && zone.colour.as_ref().is_none_or(is_painted)
        })
    }

    /// What a point of a body's outer surface carries: its window's coats, or the body's.
    pub fn skin(&self, body: usize, window: Option<WindowIdx>) -> Option<&Skin> {
        match window {
            Some(w) => self.windows.get(w.0).map(|w| &w.skin),
            None => self.bodies.get(body).map(|b| &b.skin),
        }
    }

    /// What lines the cavity of a body at a point of its face, `outwards` pointing from the cavity into the wall (unit):
    /// nothing behind a window. Its `towards_plastic` is what the wall sees, its `away` what the cavity sees.
    pub fn lining(&self, body: usize, point: DVec3, outwards: DVec3) -> Option<&Skin> {
        let own = self.bodies.get(body)?;
        let lining = own.lining.as_ref()?;
        self.which(body, point + outwards * own.wall_mm, outwards).is_none().then_some(lining)
    }

    /// What lines a body's cavity, where it is lined.
    pub fn lining_of(&self, body: usize) -> Option<&Skin> {
        self.bodies.get(body)?.lining.as_ref()
    }

    /// The outermost lines that a window's band runs along, each with x ascending, mm.
    pub fn band_lines(&self, window: WindowIdx) -> Vec<&[DVec3]> {
        let Some(w) = self.windows.get(window.0) else { return Vec::new() };
        let sides = w.zone.band.iter().flat_map(|(sides, _)| sides);
        sides.map(|side| self.bodies[w.body].extent.line(*side)).collect()
    }

    /// Stations of a body's ends where another is joined on, mm.
    fn joined_mm(&self, body: usize) -> Vec<f64> {
        let own = &self.bodies[body];
        own.ends_mm.iter().zip(own.joined).filter(|(_, joined)| *joined).map(|(end, _)| *end).collect()
    }

    fn turn(&self, station_mm: f64) -> &[DVec3; 3] {
        let at = (station_mm / TURN_MM).round().max(0.0) as usize;
        &self.turns[at.min(self.turns.len() - 1)]
    }
}

impl Zone {
    /// Whether it says nothing, so that the whole body is the window.
    pub fn is_whole(&self) -> bool {
        *self == Zone::default()
    }

    fn holds(&self, extent: &Extent, p: DVec3, normal: DVec3, station_mm: f64, turn: &[DVec3; 3]) -> bool {
        let between = |[from, to]: &[f64; 2]| station_mm >= *from && station_mm <= *to;
        let looks = |sides: &[Flank], within_deg: f64| {
            let cosine = libm::cos(within_deg.to_radians());
            sides.iter().any(|side| {
                let (_, axis, sign) = line::side(*side);
                normal.dot(turn[axis]) * sign >= cosine
            })
        };
        (self.stations_mm.is_empty() || self.stations_mm.iter().any(between))
            && self.faces.as_ref().is_none_or(|(sides, within)| looks(sides, *within))
            && (!self.outer_third || extent.in_outer(p, OUTER.0, OUTER.1))
            && self.band.as_ref().is_none_or(|(sides, width)| sides.iter().any(|side| extent.in_band(p, *side, *width)))
    }

    fn of(rules: &WindowRules) -> Zone {
        Zone {
            band: rules.band.as_ref().map(|b| (b.sides.clone(), b.width_mm)),
            outer_third: false,
            stations_mm: rules.stations_mm.clone(),
            faces: rules.faces.as_ref().map(|f| (f.sides.clone(), f.within_deg)),
            colour: rules.colour.clone(),
        }
    }
}

/// The project's windows, not yet measured.
fn named(project: &Project, placed: &Placed) -> Result<Vec<Window>, Refusal> {
    let mut windows = Vec::new();
    let mut problems = Vec::new();
    for rules in &project.windows {
        let exact = placed.bodies.iter().position(|b| b.name == rules.body);
        let found = exact.or_else(|| {
            let lower = rules.body.to_lowercase();
            placed.bodies.iter().position(|b| b.name.to_lowercase() == lower)
        });
        match found {
            Some(body) => match unpainted(rules, placed, body) {
                Some(problem) => problems.push(problem),
                None => windows.push(blank(rules.name.clone(), body, Zone::of(rules), Skin::of(&rules.coats))),
            },
            None => {
                let names: Vec<&str> = placed.bodies.iter().map(|b| b.name.as_str()).collect();
                problems.push(problem(
                    &["window", &rules.name, "in"],
                    format!("the shape has no body \"{}\"; it has {}", rules.body, names.join(", ")),
                    "use a name from the shape",
                ));
            }
        }
    }
    if problems.is_empty() { Ok(windows) } else { Err(Refusal::Problems(problems)) }
}

/// Says so where a window goes by a colour that its body's mesh does not have.
fn unpainted(rules: &WindowRules, placed: &Placed, body: usize) -> Option<Problem> {
    let colour = rules.colour.as_ref()?;
    let place = ["window", &rules.name, "colour"];
    let name = &placed.bodies[body].name;
    let Some(paint) = placed.paints.get(name) else {
        return Some(problem(
            &place,
            format!("the mesh of \"{name}\" has no colours"),
            "save it with colours as 3MF, PLY or GLB, or with materials as OBJ, or make the window an object of its own",
        ));
    };
    let hues = paint.hues();
    (!hues.iter().any(|hue| hue.is(colour))).then(|| {
        let known: Vec<String> = hues.iter().take(8).map(ToString::to_string).collect();
        problem(
            &place,
            format!("nothing of \"{name}\" is painted \"{colour}\"; it has {}", known.join(", ")),
            "name one of these, by its name or its colour",
        )
    })
}

/// The window of a lit body in which the project names none.
fn implied(body: usize, rules: &BodyRules) -> Window {
    let zone = match rules.glow {
        Glow::Around => Zone::default(),
        Glow::Edges => Zone { outer_third: true, ..Zone::default() },
        Glow::Faces => Zone { faces: Some((vec![Flank::PlusZ, Flank::MinusZ], SPREAD_DEG)), ..Zone::default() },
    };
    Window { implied: true, ..blank(rules.name.clone(), body, zone, Skin::of(&[])) }
}

fn blank(name: String, body: usize, zone: Zone, skin: Skin) -> Window {
    Window { name, body, implied: false, zone, skin, area_mm2: 0.0, station_mm: [0.0; 2], samples: Vec::new() }
}

/// Whether another body of the core ends or begins where `body` has its butt end (0) or tip end (1).
fn joined(placed: &Placed, body: usize, end: usize) -> bool {
    let here = placed.bodies[body].station_mm[end];
    let others = placed.bodies.iter().enumerate().filter(|(k, b)| *k != body && b.role != Role::Cover);
    others.into_iter().any(|(_, b)| (b.station_mm[1 - end] - here).abs() < END_MM)
}
