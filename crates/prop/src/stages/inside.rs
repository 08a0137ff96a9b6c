//! Second stage: what is inside: the cavity of each lit body, and the rail through all of them.

use super::{Monitor, Placed};
use crate::grading::WallField;
use crate::memory::{Key, KeyOf, Known, Memory};
use crate::outcome::{Body, Role};
use crate::project::{BodyRules, GradedRules, Project};
use crate::rail::fitting::{Core, END_BLOCK_MM, Rail, RailError, fit_rail};
use crate::refusal::Refusal;
use solid::{Bvh, Mesh, Plane};
use solid::{GradedSpec, GradedWall, HollowSpec, hollow, hollow_graded};

/// Cells of the lattice that the cavity is found on: this share of the wall, mm and at most.
const CELL_SHARE: f64 = 0.25;
const CELL_MOST_MM: f64 = 0.5;
/// Relief this shallow doesn't make the wall uneven: share of the least cavity.
const EVEN_SHARE: f64 = 0.1;

/// A core body with its inside.
pub struct InsideBody {
    /// Index into [`Placed::bodies`].
    pub body: usize,
    /// Its rules.
    pub rules: BodyRules,
    /// Distances to its surface.
    pub outer: Known<Bvh>,
    /// Its cavity; `None` for a body that stays solid.
    pub cavity: Option<Known<Mesh>>,
    /// The thickness that its wall follows, where that is graded.
    pub field: Option<WallField>,
}

/// The inside of the prop.
pub struct Inside {
    /// Core bodies from the butt.
    pub bodies: Vec<InsideBody>,
    /// Rail, strip, spine and bores; `None` when the project has neither strip nor spine.
    pub rail: Option<Rail>,
    /// Names the placed shape, the cavities and the rail: the same where these are the same.
    pub key: Key,
}

impl Inside {
    /// The core bodies with what is needed to measure in them.
    pub fn cores<'a>(&'a self, placed: &'a Placed) -> Vec<Core<'a>> {
        cores(&self.bodies, placed)
    }
}

fn cores<'a>(bodies: &'a [InsideBody], placed: &'a Placed) -> Vec<Core<'a>> {
    bodies.iter().map(|b| Core { body: &placed.bodies[b.body], rules: &b.rules, outer: &b.outer }).collect()
}

/// Hollows the lit bodies and lays the rail.
///
/// # Errors
/// A [`Refusal`] when a wall leaves no cavity or no rail fits.
pub fn inside(
    project: &Project,
    placed: &Known<Placed>,
    memory: &Memory,
    monitor: &Monitor,
) -> Result<Inside, Refusal> {
    let mut made_from = KeyOf::stage("inside").and(&placed.key());
    let mut bodies = Vec::new();
    let mut problems = Vec::new();
    let core: Vec<(usize, &Body)> = placed.bodies.iter().enumerate().filter(|(_, b)| b.role != Role::Cover).collect();
    for (k, (body, b)) in core.iter().enumerate() {
        let rules = project.rules_for(&b.name);
        let surface = || Ok::<Bvh, Refusal>(Bvh::new(&b.mesh));
        let outer =
            memory.recall("outer", core.len(), KeyOf::stage("outer").and(&placed.key()).and(body).key(), surface)?;
        let mut cavity = None;
        if b.role == Role::Lit {
            let before = k > 0;
            let after = k + 1 < core.len();
            let spec = hollow_spec(rules.wall_mm, rules.least_cavity_mm);
            let key = KeyOf::stage("cavity").and(&outer.key()).and(&spec).and(&[before, after]).key();
            let found = memory.recall("cavity", core.len(), key, || {
                cavity_of(placed, b, (&spec, None), &outer, [before, after], monitor)
            });
            match found {
                Ok(mesh) => {
                    made_from = made_from.and(&mesh.key());
                    cavity = Some(mesh);
                }
                Err(Refusal::Problems(thin)) => problems.extend(thin),
                Err(stopped) => return Err(stopped),
            }
        }
        bodies.push(InsideBody { body: *body, rules, outer, cavity, field: None });
    }
    if !problems.is_empty() {
        return Err(Refusal::Problems(problems));
    }
    monitor.step("laying the rail", 0.36)?;
    let seen = project.for_inside();
    let key = KeyOf::stage("rail").and(&placed.key()).and(&seen).key();
    let rail = memory.recall("rail", 1, key, || {
        fit_rail(&seen, &cores(&bodies, placed), &placed.path).map_err(|e| rail_refusal(&e))
    })?;
    // Whatever led to it, the same rail is the same.
    let key = made_from.and(&*rail).key();
    Ok(Inside { bodies, rail: Option::clone(&rail), key })
}

fn rail_refusal(error: &RailError) -> Refusal {
    let remedy = match error {
        RailError::Layout(_) => "take a wider strip, or one whose solder and pixels leave its edges bare",
        RailError::NoRoom { .. } => {
            "take a thinner wall, a slimmer strip or spine, or a larger shape; one row of pixels needs less than two"
        }
        RailError::Ribs(_) | RailError::Bore(_) => "change light.tape or the strip a little",
        RailError::NoWay { .. } => {
            "give the spine a shorter stretch with spine.from and spine.to, or take a slimmer one"
        }
        RailError::Past { .. } => "end it before the tip, or leave this out: it then runs as far as there is room",
    };
    match error {
        RailError::Past { table, .. } => Refusal::of(&[table, "to"], error.to_string(), remedy),
        _ => Refusal::of(&["light"], error.to_string(), remedy),
    }
}

/// How finely to hollow for a wall and a thinnest cavity.
pub(crate) fn hollow_spec(wall_mm: f64, least_cavity_mm: f64) -> HollowSpec {
    HollowSpec {
        wall_mm,
        least_cavity_mm,
        cell_mm: (wall_mm * CELL_SHARE).min(CELL_MOST_MM).min(least_cavity_mm * CELL_SHARE),
        even_mm: EVEN_SHARE * least_cavity_mm,
    }
}

/// Cells of the lattice for a graded wall: this share of the least wall at most. Its corners are put on the wall one by one; a
/// quarter of the least wall would make three times as many of them.
const GRADED_CELL_SHARE: f64 = 0.35;

/// How finely to hollow for a wall that is graded.
pub(super) fn graded_spec(rules: &GradedRules, least_cavity_mm: f64) -> HollowSpec {
    let cell_mm = (rules.least_mm * GRADED_CELL_SHARE).min(CELL_MOST_MM).min(least_cavity_mm * CELL_SHARE);
    HollowSpec { cell_mm, ..hollow_spec(rules.least_mm, least_cavity_mm) }
}

/// The cavity of a lit body, with an even wall or one that follows a field; solid blocks are left at the ends where another body is joined on.
pub(super) fn cavity_of(
    placed: &Placed,
    body: &Body,
    (spec, field): (&HollowSpec, Option<&WallField>),
    outer: &Bvh,
    meets: [bool; 2],
    monitor: &Monitor,
) -> Result<Mesh, Refusal> {
    let Some(bounds) = body.mesh.bounds() else { return Ok(Mesh::default()) };
    let failed = |message: String| {
        Refusal::of(
            &["body", &body.name, "wall"],
            format!("{} could not be hollowed: {message}", body.name),
            "try another wall or least-cavity",
        )
    };
    let hollowed = match field {
        None => hollow(outer, bounds, spec, &monitor.cancel),
        Some(field) => {
            let [least_mm, most_mm] = field.limits_mm();
            let wall = GradedWall { thickness: &|p| field.at(p), least_mm, most_mm, slope: field.slope() };
            let HollowSpec { least_cavity_mm, cell_mm, even_mm, .. } = *spec;
            hollow_graded(
                outer,
                bounds,
                &GradedSpec { wall: &wall, least_cavity_mm, cell_mm, even_mm },
                &monitor.cancel,
            )
        }
    };
    let mesh = match hollowed {
        Ok(mesh) => mesh,
        Err(_) if monitor.cancel.is_cancelled() => return Err(Refusal::Stopped),
        Err(e) => return Err(failed(e.to_string())),
    };
    let mut ends = [None, None];
    for (k, meet) in meets.iter().enumerate() {
        if *meet {
            let inwards = if k == 0 { END_BLOCK_MM } else { -END_BLOCK_MM };
            let frame = placed.path.frame(body.station_mm[k] + inwards);
            ends[k] = Some(Plane::through(frame.point, frame.along));
        }
    }
    let mesh = solid::slab(&mesh, ends[0].as_ref(), ends[1].as_ref()).map_err(|e| failed(e.to_string()))?;
    if mesh.is_empty() {
        let thick_mm = bounds.size().z.min(bounds.size().y);
        let HollowSpec { wall_mm, least_cavity_mm, .. } = spec;
        return Err(Refusal::of(
            &["body", &body.name, "wall"],
            format!(
                "a wall of {wall_mm:.1} mm leaves no cavity in {}: it is at most {thick_mm:.1} mm thick, so two walls and a cavity of {least_cavity_mm:.1} mm do not fit",
                body.name
            ),
            format!("take a wall under {:.1} mm", ((thick_mm - least_cavity_mm) / 2.0).max(0.0)),
        ));
    }
    Ok(mesh)
}
