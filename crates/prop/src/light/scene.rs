//! The prop as light finds it: lit pieces as they print, and everything that stands in their cavities.

use super::cells::{Cells, SECTORS};
use super::faces::{FaceKind, kinds};
use super::levels::evened;
use super::{FINE_NOISE, GREEN, Leak, Lighting, Profile, Reading, matt_cd_m2};
use crate::catalogue::{Material, Origin};
use crate::outcome::{Bar, BodyView, Part, Role};
use crate::project::{Levels, LightRules, Project};
use crate::stages::{Inside, Placed, Printed, Split};
use crate::window::{Skin, Windows};
use glow::{
    Band, Coat, Face, Finish, Incidence, LightSpec, Medium, Outside, Passage, Response, Scene, Solid, Survey,
    Wall as Slab,
};
use solid::{Cancel, DVec3, Mesh, Plane};

/// Cells a pixel's pitch is divided into.
const CELLS_A_PITCH: f64 = 8.0;
/// A clear glue line of solvent, cyanoacrylate or epoxy, some tenths of a millimetre at most: such resins have an index of about 1.5
/// and take next to nothing, so two hundredths are for bubbles and dust (engineering guess, no source).
const GLUE: Coat = Coat { reflectance: 0.01, transmittance: 0.98 };
/// Boards, cells, switches: neither bright nor black (our choice).
const PART_REFLECTANCE: f64 = 0.3;
/// What stands within this of a lit body is in its light, mm.
const NEAR_MM: f64 = 30.0;
/// How far a pixel's light starts before its face, mm: beyond rounding.
const OFF_FACE_MM: f64 = 0.02;
/// Coats whose shares differ by less than this between two colours treat them alike: paint is known far less well.
const ALIKE: f64 = 0.004;
/// The materials' ends are followed with so many times the noise.
const ENDS_NOISE: f64 = 2.0;
/// Most photons a pixel, whatever the noise.
const MOST_PHOTONS: u32 = 1 << 18;
/// Photons a pixel that tell how bright a window is, if not how evenly.
const QUICK_PHOTONS: u32 = 512;
/// A dark place is looked at in patches so long, mm, and two sectors wide: about a square centimetre.
const LEAK_MM: f64 = 10.0;

/// What the light is computed from.
#[derive(Clone, Copy)]
pub struct LightWork<'a> {
    /// The project.
    pub project: &'a Project,
    /// Bodies in place.
    pub placed: &'a Placed,
    /// Cavities and rail.
    pub inside: &'a Inside,
    /// The pieces' cuts.
    pub split: &'a Split,
    /// The pieces as they print.
    pub printed: &'a Printed,
    /// The bodies seen from two sides.
    pub views: &'a [BodyView],
    /// Strips and spine as solids.
    pub bars: [&'a [Bar]; 2],
    /// Way of the wires.
    pub wire_way: &'a [DVec3],
    /// Parts in their places.
    pub parts: &'a [Part],
    /// Where light comes out.
    pub windows: &'a Windows,
    /// Names the paths that chance takes.
    pub seed: u64,
}

/// Why the light could not be computed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LightError {
    /// The tracer could not follow it.
    #[error(transparent)]
    Light(#[from] glow::LightError),
    /// A material's numbers are none that light can be followed with.
    #[error("{material}: {error}")]
    Optics {
        /// Its catalogue name.
        material: String,
        /// What is wrong.
        error: glow::OpticsError,
    },
}

/// The light of a prop with windows and pixels; `None` when it has none.
///
/// # Errors
/// [`LightError`], for faulty optics or a scene that light can't be followed in.
pub fn light(work: &LightWork, cancel: &Cancel) -> Result<Option<Lighting>, LightError> {
    let (Some(rules), Some(rail)) = (&work.project.light, &work.inside.rail) else { return Ok(None) };
    if !rules.follow || rail.pixels.is_empty() {
        return Ok(None);
    }
    let Some(set) = Set::new(work, rules, as_printed(work), cancel)? else { return Ok(None) };
    let pixels = shining(&rail.pixels, rules);
    let spec = |noise: f64, most_photons: u32| LightSpec {
        passage: Passage::Guided,
        watched_mm2: set.watched_mm2(),
        noise,
        most_photons,
        seed: work.seed,
    };
    // Colours that the walls treat alike are followed once.
    let mut followed_as = [0, 1, 2];
    for colour in 1..3 {
        let same = (0..colour).find(|c| followed_as[*c] == *c && set.alike(*c, colour));
        followed_as[colour] = same.unwrap_or(colour);
    }
    let mut responses: Vec<Response> = Vec::new();
    let mut response_of = [0; 3];
    let mut ends = Vec::new();
    for colour in 0..3 {
        if followed_as[colour] != colour {
            response_of[colour] = response_of[followed_as[colour]];
            continue;
        }
        response_of[colour] = responses.len();
        let faces = Faces { set: &set, colour };
        // The eye weighs green most: its path stands for all three at the materials' ends.
        let ranges = if followed_as[GREEN] == colour && set.is_ranged() { &Range::ALL[..] } else { &Range::ALL[..1] };
        let bands: Vec<Band> = ranges.iter().map(|at| set.band(*at, colour)).collect::<Result<_, _>>()?;
        let usual = spec(rules.noise, MOST_PHOTONS);
        let survey = Survey::of(&set.scene, &bands, &faces, &pixels, &usual, cancel)?;
        let follow =
            |band: &Band, spec: &LightSpec| glow::surveyed(&set.scene, &survey, band, &faces, &pixels, spec, cancel);
        responses.push(follow(&bands[0], &usual)?);
        let most = if rules.noise <= FINE_NOISE { MOST_PHOTONS } else { QUICK_PHOTONS };
        let rough = spec(rules.noise * ENDS_NOISE, most);
        for band in &bands[1..] {
            ends.push(follow(band, &rough)?);
        }
    }
    let flux_lm = rules.strip.shine.flux_lm;
    let whole: Vec<(&Response, f64)> = responses
        .iter()
        .enumerate()
        .map(|(k, r)| (r, (0..3).filter(|c| response_of[*c] == k).map(|c| flux_lm[c]).sum()))
        .collect();
    let full = vec![1.0; pixels.len()];
    let levels = match rules.levels {
        Levels::Full => full,
        Levels::Even => {
            let stations: Vec<f64> = rail.pixels.iter().map(|p| p.station_mm).collect();
            let lit = |levels: &[f32]| {
                let seen = Seen::new(&set, &whole, levels);
                seen.profiles.into_iter().map(|p| (set.lit_mm(&p, set.span_mm(&p)), p)).collect()
            };
            evened(&stations, rules.strip.pitch_mm, &lit)
        }
    };
    let seen = Seen::new(&set, &whole, &levels);
    let mut ends_seen = [Vec::new(), Vec::new()];
    for (response, end) in ends.iter().zip(&mut ends_seen) {
        *end = Seen::new(&set, &[(response, flux_lm.iter().sum())], &levels).profiles;
    }
    let spans: Vec<[f64; 2]> = seen.profiles.iter().map(|p| set.span_mm(p)).collect();
    let lit_mm: Vec<[f64; 2]> = seen.profiles.iter().zip(&spans).map(|(p, s)| set.lit_mm(p, *s)).collect();
    let around = seen.profiles.iter().zip(&lit_mm).map(|(p, lit)| seen.around(&set, p, *lit)).collect();
    let leaks = seen.leaks(&set, &lit_mm);
    let reflectance = seen.profiles.iter().map(|p| set.unlit_reflectance(p)).collect::<Result<_, _>>()?;
    Ok(Some(Lighting {
        windows: work.windows.clone(),
        levels,
        responses,
        response_of,
        pixel_lm: flux_lm,
        profiles: seen.profiles,
        ends: ends_seen,
        around,
        lit_mm,
        span_mm: spans,
        reflectance,
        leaks,
        pitch_mm: rules.strip.pitch_mm,
        viewed_mm: rules.viewed_mm,
        noise_asked: rules.noise,
        guessed: set.guessed(),
        cells: set.cells,
        choices: Vec::new(),
    }))
}

/// What is seen of a part of the prop, by the walls' usual numbers, with every pixel at full and all colours taken as green.
pub(super) struct Glance {
    /// How each window glows.
    pub(super) profiles: Vec<Profile>,
    /// Luminance round the prop for each, between the stations that were asked.
    pub(super) around: Vec<Vec<Reading>>,
}

/// Follows light until the mean luminance of a window between two stations is known within `sigma`, as a share of it, or
/// `most_paths` were followed. What stands in the light is told apart from the pieces of the prop.
pub(super) fn glance(
    work: &LightWork,
    standing: Vec<Standing>,
    (window, between): (usize, [f64; 2]),
    (sigma, most_paths): (f64, u32),
    cancel: &Cancel,
) -> Result<Option<Glance>, LightError> {
    let (Some(rules), Some(rail)) = (&work.project.light, &work.inside.rail) else { return Ok(None) };
    let Some(set) = Set::new(work, rules, standing.into_iter(), cancel)? else { return Ok(None) };
    let pixels = shining(&rail.pixels, rules);
    if pixels.is_empty() {
        return Ok(None);
    }
    let area_mm2: f64 = set.cells.iter().map(|c| c.window_mm2(window, between)).sum();
    let spec = LightSpec {
        passage: Passage::Guided,
        watched_mm2: set.watched_mm2(),
        noise: sigma * (area_mm2.max(1.0) / 100.0).sqrt(),
        most_photons: (most_paths / pixels.len() as u32).max(QUICK_PHOTONS),
        seed: 1,
    };
    let faces = Faces { set: &set, colour: GREEN };
    let response = glow::light(&set.scene, &set.band(Range::Usual, GREEN)?, &faces, &pixels, &spec, cancel)?;
    let full = vec![1.0; pixels.len()];
    let seen = Seen::new(&set, &[(&response, rules.strip.shine.flux_lm.iter().sum())], &full);
    let around = seen.profiles.iter().map(|p| seen.around(&set, p, between)).collect();
    Ok(Some(Glance { profiles: seen.profiles, around }))
}

fn shining(pixels: &[crate::outcome::Pixel], rules: &LightRules) -> Vec<glow::Pixel> {
    let full_angle_deg = rules.strip.shine.beam_deg;
    pixels
        .iter()
        .map(|p| glow::Pixel { at: p.point + p.facing * OFF_FACE_MM, facing: p.facing, full_angle_deg })
        .collect()
}

/// A printed piece in the light, prop frame.
pub(super) struct Standing<'a> {
    pub(super) mesh: Mesh,
    pub(super) role: Role,
    pub(super) station_mm: [f64; 2],
    /// Index of its body in `Placed::bodies`.
    pub(super) body: usize,
    /// Its cuts.
    pub(super) planes: Vec<Plane>,
    pub(super) material: &'a Material,
}

/// All pieces of the prop, in order.
fn as_printed<'a>(work: &'a LightWork<'a>) -> impl Iterator<Item = Standing<'a>> {
    let pieces = work.printed.pieces.iter().zip(&work.split.pieces);
    pieces.map(|(piece, cut)| Standing {
        mesh: piece.mesh.transformed(&piece.to_prop),
        role: piece.role,
        station_mm: piece.station_mm,
        body: cut.body,
        planes: cut.planes.iter().flatten().copied().collect(),
        material: &cut.rules.material,
    })
}

/// Where in their range the materials' numbers are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Range {
    Usual = 0,
    Low = 1,
    High = 2,
}

impl Range {
    const ALL: [Range; 3] = [Range::Usual, Range::Low, Range::High];
}

/// A lit piece.
struct Wall<'a> {
    /// Index of its body in `Placed::bodies`.
    body: usize,
    /// Index of that body's cells.
    cells: usize,
    kinds: Vec<FaceKind>,
    normals: Vec<DVec3>,
    /// Which inner triangles carry the body's lining.
    lined: Vec<bool>,
    material: &'a Material,
}

/// Everything that stands in the light.
struct Set<'a> {
    work: &'a LightWork<'a>,
    scene: Scene,
    solids: Vec<Wall<'a>>,
    /// How each opaque thing sends light back.
    things: Vec<Thing<'a>>,
    cells: Vec<Cells>,
    /// First patch of each body's cells.
    first: Vec<usize>,
}

/// How an opaque thing sends light back.
enum Thing<'a> {
    Surface(f64),
    /// Solid plastic so thick that it sends back what a half-space does.
    Plastic(&'a Material),
}

impl<'a> Set<'a> {
    fn new(
        work: &'a LightWork<'a>,
        rules: &LightRules,
        standing: impl Iterator<Item = Standing<'a>>,
        cancel: &Cancel,
    ) -> Result<Option<Set<'a>>, LightError> {
        let step_mm = rules.strip.pitch_mm / CELLS_A_PITCH;
        let mut cells: Vec<Cells> = Vec::new();
        let (mut solids, mut meshes) = (Vec::new(), Vec::new());
        let (mut things, mut opaque): (Vec<Thing>, Vec<Mesh>) = (Vec::new(), Vec::new());
        let lit: Vec<[f64; 2]> = lit_spans(work);
        let is_near = |[from, to]: [f64; 2]| lit.iter().any(|l| from < l[1] + NEAR_MM && to > l[0] - NEAR_MM);
        for Standing { mesh, role, station_mm, body, planes, material } in standing {
            cancel.check().map_err(glow::LightError::from)?;
            if role != Role::Lit {
                if is_near(station_mm) {
                    things.push(Thing::Plastic(material));
                    opaque.push(mesh);
                }
                continue;
            }
            let outer = work.inside.bodies.iter().find(|b| b.body == body).map(|b| &b.outer);
            let Some(outer) = outer else { continue };
            let at = match cells.iter().position(|c| c.body == body) {
                Some(at) => at,
                None => {
                    let n_windows = work.windows.list().len();
                    let new = Cells::new(body, &work.views[body], &work.placed.path, step_mm, n_windows);
                    let Some(new) = new else { continue };
                    cells.push(new);
                    cells.len() - 1
                }
            };
            let kinds = kinds(&mesh, outer, &planes);
            let which = |p: DVec3, n: DVec3| work.windows.which(body, p, n).map(|w| w.0);
            cells[at].book(&mesh, &|t| kinds[t] == FaceKind::Outer, &which);
            let normals: Vec<DVec3> =
                (0..mesh.triangles.len()).map(|t| mesh.area_vector(t).normalize_or_zero()).collect();
            // The cavity's face looks inwards: the wall lies against its normal.
            let lined = |t: usize| {
                let [a, b, c] = mesh.corners(t);
                kinds[t] == FaceKind::Inner && work.windows.lining(body, (a + b + c) / 3.0, -normals[t]).is_some()
            };
            let lined = (0..mesh.triangles.len()).map(lined).collect();
            let glued = kinds.iter().map(|k| *k == FaceKind::Joint).collect();
            solids.push(Wall { body, cells: at, kinds, normals, lined, material });
            meshes.push(Solid { mesh, glued });
        }
        if solids.is_empty() {
            return Ok(None);
        }
        let spine = work.project.spine.as_ref().map_or(PART_REFLECTANCE, |s| s.bar.reflect);
        for (bars, reflectance) in work.bars.iter().zip([rules.strip.shine.board_reflect, spine]) {
            for bar in *bars {
                things.push(Thing::Surface(reflectance));
                opaque.push(bar.mesh.clone());
            }
        }
        for part in work.parts.iter().filter(|p| is_near(p.station_mm)) {
            things.push(Thing::Surface(PART_REFLECTANCE));
            opaque.push(part.mesh.clone());
        }
        if let Some(wires) = bundle(work.wire_way, work.project.wire_bundle_mm) {
            things.push(Thing::Surface(work.project.wire_reflect));
            opaque.push(wires);
        }
        let first = cells
            .iter()
            .scan(0, |sum, c| {
                let first = *sum;
                *sum += c.count();
                Some(first)
            })
            .collect();
        let scene = Scene::new(&meshes, &opaque).map_err(glow::LightError::from)?;
        Ok(Some(Set { work, scene, solids, things, cells, first }))
    }

    /// Area of each patch, 0 where light is to stay in.
    fn watched_mm2(&self) -> Vec<f64> {
        let windows = self.work.windows.list().len() + 1;
        let of = |c: &Cells| -> Vec<f64> {
            c.area_mm2.iter().enumerate().map(|(i, a)| if i % windows == 0 { 0.0 } else { *a }).collect()
        };
        self.cells.iter().flat_map(of).collect()
    }

    fn medium(&self, material: &Material, at: Range, colour: usize) -> Result<Medium, LightError> {
        let optics = &material.optics;
        // Colours that absorb alike differ in their index by less than it is known.
        let alike =
            optics.absorb_per_mm[0] == optics.absorb_per_mm[1] && optics.absorb_per_mm[1] == optics.absorb_per_mm[2];
        let index = if alike { optics.index.iter().sum::<f64>() / 3.0 } else { optics.index[colour] };
        Medium::of_reduced(optics.scatter_per_mm[at as usize], optics.absorb_per_mm[colour][at as usize], index)
            .map_err(|error| LightError::Optics { material: material.name.clone(), error })
    }

    fn band(&self, at: Range, colour: usize) -> Result<Band, LightError> {
        let media = self.solids.iter().map(|s| self.medium(s.material, at, colour)).collect::<Result<_, _>>()?;
        let reflectances = self
            .things
            .iter()
            .map(|thing| match thing {
                Thing::Surface(share) => Ok(*share),
                Thing::Plastic(material) => thick(material, &self.medium(material, at, colour)?),
            })
            .collect::<Result<_, LightError>>()?;
        Ok(Band { media, reflectances, glue: GLUE })
    }

    /// Whether the walls treat two colours alike.
    fn alike(&self, a: usize, b: usize) -> bool {
        let same =
            |x: Result<Band, LightError>, y: Result<Band, LightError>| matches!((x, y), (Ok(x), Ok(y)) if x == y);
        let near = |x: &[f64; 3]| (x[a] - x[b]).abs() < ALIKE;
        same(self.band(Range::Usual, a), self.band(Range::Usual, b))
            && self.outer_skins().all(|skin| near(&skin.towards_plastic) && near(&skin.through))
            && self.linings().all(|skin| near(&skin.away) && near(&skin.through))
    }

    /// What lies on the lit bodies: of its colour towards the room, light inside knows nothing.
    fn outer_skins(&self) -> impl Iterator<Item = &Skin> {
        let windows = self.work.windows;
        let own = windows.list().iter().map(|w| &w.skin);
        own.chain(self.cells.iter().filter_map(|c| windows.skin(c.body, None)))
    }

    /// What lines their cavities.
    fn linings(&self) -> impl Iterator<Item = &Skin> {
        self.cells.iter().filter_map(|c| self.work.windows.lining_of(c.body))
    }

    fn is_ranged(&self) -> bool {
        self.solids.iter().any(|s| {
            let o = &s.material.optics;
            o.scatter_per_mm[1] < o.scatter_per_mm[2] || o.absorb_per_mm.iter().any(|a| a[1] < a[2])
        })
    }

    fn guessed(&self) -> Vec<String> {
        let guess =
            |m: &&Material| m.optics.scatter_origin == Origin::Catalogue || m.optics.absorb_origin == Origin::Catalogue;
        let mut names: Vec<String> =
            self.solids.iter().map(|s| s.material).filter(guess).map(|m| m.title.clone()).collect();
        names.sort();
        names.dedup();
        names
    }

    /// Where the window of a profile begins and ends.
    fn span_mm(&self, profile: &Profile) -> [f64; 2] {
        let half = profile.step_mm() / 2.0;
        let with = |i: &usize| profile.area_mm2[*i] > 0.0;
        let n = profile.area_mm2.len();
        let ends = [(0..n).find(with), (0..n).rev().find(with)];
        match ends {
            [Some(a), Some(b)] => [profile.station_mm[a] - half, profile.station_mm[b] + half],
            _ => [0.0, 0.0],
        }
    }

    /// Where the window has pixels before and behind and no cover over it.
    fn lit_mm(&self, profile: &Profile, [from, to]: [f64; 2]) -> [f64; 2] {
        let stations = self.work.inside.rail.iter().flat_map(|r| &r.pixels).map(|p| p.station_mm);
        let (first, last) = stations.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), s| (a.min(s), b.max(s)));
        let (mut from, mut to) = (from.max(first), to.min(last));
        let body = self.work.placed.bodies[profile.body].station_mm;
        for cover in self.work.placed.bodies.iter().filter(|b| b.role == Role::Cover) {
            let [a, b] = cover.station_mm;
            // A cover over an end hides it; one in the middle leaves the window in two, and the longer part is judged.
            if a <= from.max(body[0]) && b > from {
                from = b;
            } else if b >= to.min(body[1]) && a < to {
                to = a;
            } else if a > from && b < to {
                if a - from > to - b { to = a } else { from = b }
            }
        }
        [from, to.max(from)]
    }

    /// Share of a room's light that the unlit window sends back: of its coats, or of its plastic as if it were thick, which is
    /// what a wall before a white cavity comes to, and the most that one can.
    fn unlit_reflectance(&self, profile: &Profile) -> Result<f64, LightError> {
        let Some(wall) = self.solids.iter().find(|s| s.body == profile.body) else { return Ok(0.0) };
        match self.work.windows.list()[profile.window].skin.finish(GREEN) {
            Finish::Coat(_) => Ok(self.work.windows.list()[profile.window].skin.away[GREEN]),
            Finish::Bare => thick(wall.material, &self.medium(wall.material, Range::Usual, GREEN)?),
        }
    }
}

/// Stations of the lit bodies.
fn lit_spans(work: &LightWork) -> Vec<[f64; 2]> {
    work.placed.bodies.iter().filter(|b| b.role == Role::Lit).map(|b| b.station_mm).collect()
}

/// What plastic too thick to pass any light sends back of light from all sides.
fn thick(material: &Material, medium: &Medium) -> Result<f64, LightError> {
    const THICK_MM: f64 = 200.0;
    let wall = Slab { medium: *medium, thickness_mm: THICK_MM, inner: Finish::Bare, outer: Finish::Bare };
    let shares = glow::doubled(&wall, Incidence::Diffuse, glow::ANGLES);
    shares.map(|s| s.back()).map_err(|error| LightError::Optics { material: material.name.clone(), error })
}

/// A bundle of wires as a chain of round bars; they run into each other at the corners, which light does not mind.
fn bundle(way: &[DVec3], diameter_mm: f64) -> Option<Mesh> {
    let mut all = Mesh::default();
    for w in way.windows(2).filter(|w| w[0].distance(w[1]) > 0.1) {
        all.append(&solid::cylinder(w[0], w[1], diameter_mm / 2.0, 12));
    }
    (!all.is_empty()).then_some(all)
}

/// What a surface of a prop's finishes and cells says to light.
struct Faces<'a> {
    set: &'a Set<'a>,
    colour: usize,
}

impl Outside for Faces<'_> {
    fn face(&self, solid: usize, triangle: usize, point: DVec3) -> Face {
        let wall = &self.set.solids[solid];
        let windows = self.set.work.windows;
        let bare = Face { finish: Finish::Bare, patch: None };
        match wall.kinds[triangle] {
            FaceKind::Joint => bare,
            FaceKind::Inner if !wall.lined[triangle] => bare,
            FaceKind::Inner => {
                // What the cavity sees of a lining is its free face.
                let lining = windows.lining_of(wall.body).map(|skin| {
                    let (reflectance, through) = (skin.away[self.colour], skin.through[self.colour]);
                    Finish::Coat(Coat { reflectance, transmittance: through.min(1.0 - reflectance) })
                });
                Face { finish: lining.unwrap_or(Finish::Bare), patch: None }
            }
            FaceKind::Outer => {
                let window = windows.which(wall.body, point, wall.normals[triangle]);
                let cell = self.set.first[wall.cells] + self.set.cells[wall.cells].at(point, window.map(|w| w.0));
                let skin = windows.skin(wall.body, window);
                Face { finish: skin.map_or(Finish::Bare, |s| s.finish(self.colour)), patch: Some(cell as u32) }
            }
        }
    }
}

/// The surface lit by every pixel in white, each at its level.
struct Seen {
    /// Light that leaves each patch, lm.
    lm: Vec<f64>,
    /// Its noise, lm.
    sigma_lm: Vec<f64>,
    profiles: Vec<Profile>,
}

impl Seen {
    fn new(set: &Set, whole: &[(&Response, f64)], levels: &[f32]) -> Seen {
        let count: usize = set.cells.iter().map(Cells::count).sum();
        let (mut lm, mut square) = (vec![0.0; count], vec![0.0; count]);
        for (response, flux_lm) in whole {
            let full = response.lit(&vec![1.0; response.n_pixels()]);
            let all = response.lit(levels);
            for (i, ((share, full), sigma)) in all.iter().zip(&full).zip(response.sigma()).enumerate() {
                // The noise is known with every pixel at full; it sinks with the light.
                let level = if *full > 0.0 { f64::from(share / full) } else { 0.0 };
                lm[i] += f64::from(*share) * flux_lm;
                square[i] += (f64::from(*sigma) * level * flux_lm).powi(2);
            }
        }
        let mut seen = Seen { lm, sigma_lm: square.into_iter().map(f64::sqrt).collect(), profiles: Vec::new() };
        for (k, cells) in set.cells.iter().enumerate() {
            for window in 0..cells.windows {
                let profile = seen.profile(cells, set.first[k], window);
                if profile.area_mm2.iter().any(|a| *a > 0.0) {
                    seen.profiles.push(profile);
                }
            }
        }
        seen
    }

    /// Sums over some cells: area in mm2, light and its noise as luminance.
    fn sum(&self, cells: &Cells, first: usize, which: impl Iterator<Item = usize>, station_mm: f64) -> (f64, Reading) {
        let (mut area, mut lm, mut square) = (0.0, 0.0, 0.0);
        for i in which {
            area += cells.area_mm2[i];
            lm += self.lm[first + i];
            square += self.sigma_lm[first + i].powi(2);
        }
        (area, Reading { station_mm, value: matt_cd_m2(lm, area), sigma: matt_cd_m2(square.sqrt(), area) })
    }

    fn profile(&self, cells: &Cells, first: usize, window: usize) -> Profile {
        let mut profile = Profile {
            window,
            body: cells.body,
            station_mm: Vec::new(),
            area_mm2: Vec::new(),
            luminance_cd_m2: Vec::new(),
            sigma_cd_m2: Vec::new(),
        };
        for k in 0..cells.along {
            let ring = (0..SECTORS).map(|s| cells.index(k, s, Some(window)));
            let (area, reading) = self.sum(cells, first, ring, cells.station_mm(k));
            profile.station_mm.push(reading.station_mm);
            profile.area_mm2.push(area);
            profile.luminance_cd_m2.push(reading.value);
            profile.sigma_cd_m2.push(reading.sigma);
        }
        profile
    }

    /// Luminance round the prop between two stations; sectors that the window hardly touches are left out.
    fn around(&self, set: &Set, profile: &Profile, [from, to]: [f64; 2]) -> Vec<Reading> {
        const TOUCHED: f64 = 0.3;
        let Some(at) = set.cells.iter().position(|c| c.body == profile.body) else { return Vec::new() };
        let cells = &set.cells[at];
        let within = |k: &usize| (from..=to).contains(&cells.station_mm(*k));
        let all: Vec<(f64, Reading)> = (0..SECTORS)
            .map(|s| {
                let column = (0..cells.along).filter(within).map(|k| cells.index(k, s, Some(profile.window)));
                self.sum(cells, set.first[at], column, (s as f64 + 0.5) * 360.0 / SECTORS as f64)
            })
            .collect();
        let most = all.iter().map(|a| a.0).fold(0.0, f64::max);
        all.into_iter().filter(|a| a.0 > TOUCHED * most).map(|a| a.1).collect()
    }

    fn leaks(&self, set: &Set, lit_mm: &[[f64; 2]]) -> Vec<Leak> {
        let mut leaks = Vec::new();
        for (at, cells) in set.cells.iter().enumerate() {
            let own = |p: &(&Profile, &[f64; 2])| p.0.body == cells.body;
            let means = self.profiles.iter().zip(lit_mm).filter(own).filter_map(|(p, lit)| p.mean(*lit));
            let against = means.map(|r| r.value).fold(0.0, f64::max);
            let block = (LEAK_MM / cells.step_mm).ceil() as usize;
            let blocks = (0..cells.along).step_by(block).flat_map(|k| (0..SECTORS).step_by(2).map(move |s| (k, s)));
            let worst = blocks
                .filter_map(|(k, s)| {
                    let rows = k..(k + block).min(cells.along);
                    let all = rows.flat_map(|k| [s, s + 1].map(|s| cells.index(k, s, None)));
                    let station_mm = cells.from_mm + (k as f64 + block as f64 / 2.0) * cells.step_mm;
                    let (area, reading) = self.sum(cells, set.first[at], all, station_mm);
                    // A sliver beside a window shows the window's own light.
                    (area > 20.0).then_some(reading)
                })
                .reduce(|a, b| if b.value - 2.0 * b.sigma > a.value - 2.0 * a.sigma { b } else { a });
            if let Some(worst) = worst.filter(|_| against > 0.0) {
                let body = set.work.placed.bodies[cells.body].name.clone();
                leaks.push(Leak { body, worst, against_cd_m2: against });
            }
        }
        leaks
    }
}
