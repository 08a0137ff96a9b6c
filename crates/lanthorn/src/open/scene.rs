//! What the page shows in space: bodies, pieces, joints, what goes in, and how it goes in.

use super::mesh::{Meshes, Named};
use super::mirror::{Band, JointKind, Pose, Role, WayKind};
use prop::light::Cells;
use prop::outcome::{Bar, Body, BodyView, Outcome};
use prop::project::CutRules;
use prop::stages::{Geometry, Placed, Printed};
use serde::Serialize;
use solid::{Bounds, DAffine3, DVec3};
use std::sync::Arc;

/// How far the coordinate along of a body's light reaches past its ends, mm.
const BEYOND_MM: f64 = 64.0;

/// Everything that stands in space, prop frame.
#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct Scene {
    pub(crate) shows: Shows,
    pub(crate) span_mm: [f64; 2],
    bounds_mm: [[f64; 3]; 2],
    /// Station, x, y, z.
    path: Vec<[f64; 4]>,
    bodies: Vec<BodyShown>,
    pub(crate) pieces: Vec<PieceShown>,
    pub(crate) joints: Vec<JointShown>,
    fittings: Vec<Fitting>,
    pixels: Vec<PixelShown>,
    pub(crate) ways: Vec<WayShown>,
    figure: Option<Figure>,
}

/// The scene as it is told.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Scene"))]
pub(crate) struct SceneTold {
    pub(crate) build: u64,
    #[serde(flatten)]
    pub(crate) scene: Scene,
}

/// How much of the prop is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
pub(crate) enum Shows {
    Nothing,
    Shape,
    Pieces,
}

#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "BodyOf"))]
struct BodyShown {
    id: String,
    name: String,
    role: Role,
    station_mm: [f64; 2],
    light_span_mm: [f64; 2],
    mesh: Named,
}

/// A printed piece.
#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Piece"))]
pub(crate) struct PieceShown {
    pub(crate) id: String,
    number: u32,
    name: String,
    body: String,
    role: Role,
    material: String,
    wall_mm: Option<f64>,
    station_mm: [f64; 2],
    /// How it prints, once that is known.
    print: Option<PrintShown>,
    mesh: Named,
}

/// How a piece prints.
#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Print"))]
pub(crate) struct PrintShown {
    printer: String,
    pose: Pose,
    mass_g: Band,
    time_s: Band,
}

/// Where two pieces meet.
#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Joint"))]
pub(crate) struct JointShown {
    id: String,
    pub(crate) number: u32,
    pub(crate) station_mm: f64,
    point_mm: [f64; 3],
    along: [f64; 3],
    kind: JointKind,
    /// Locked by the maker.
    pub(crate) locked: bool,
    /// How far it was moved from where the plan puts it.
    #[serde(skip)]
    pub(crate) shifted_mm: f64,
    /// One that the maker asked for, to be opened.
    pub(crate) own: bool,
    /// One body ends here and another begins.
    pub(crate) meeting: bool,
    pieces: [u32; 2],
}

/// What a thing inside is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[serde(rename_all = "lowercase")]
enum FittingKind {
    Strip,
    Spine,
    Part,
}

#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Fitting {
    id: String,
    kind: FittingKind,
    name: String,
    letter: Option<char>,
    title: Option<String>,
    station_mm: [f64; 2],
    way_out_mm: Option<[f64; 3]>,
    mesh: Named,
}

#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Pixel"))]
struct PixelShown {
    strip: u32,
    number: u32,
    station_mm: f64,
    point_mm: [f64; 3],
    facing: [f64; 3],
}

/// How something goes in.
#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Way"))]
pub(crate) struct WayShown {
    kind: WayKind,
    name: String,
    piece: Option<u32>,
    poses: Vec<[f64; 16]>,
    away: Vec<u32>,
}

#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Figure {
    height_mm: f64,
}

impl Scene {
    /// Before there is anything.
    pub(crate) fn empty() -> Scene {
        Scene {
            shows: Shows::Nothing,
            span_mm: [0.0; 2],
            bounds_mm: [[0.0; 3]; 2],
            path: Vec::new(),
            bodies: Vec::new(),
            pieces: Vec::new(),
            joints: Vec::new(),
            fittings: Vec::new(),
            pixels: Vec::new(),
            ways: Vec::new(),
            figure: None,
        }
    }

    /// The shape as it was read, with its meshes.
    pub(crate) fn as_read(bodies: &[Body], length_mm: f64, wearer_mm: Option<f64>) -> (Scene, Meshes) {
        let mut meshes = Meshes::default();
        let shown = bodies.iter().enumerate().map(|(k, body)| BodyShown {
            id: format!("body-{}", k + 1),
            name: body.name.clone(),
            role: body.role.into(),
            station_mm: body.station_mm,
            light_span_mm: body.station_mm,
            mesh: meshes.keep(body.mesh.clone(), None, &Meshes::default()),
        });
        let bodies_shown = shown.collect();
        let scene = Scene {
            shows: Shows::Shape,
            span_mm: [0.0, length_mm],
            bounds_mm: bounds(bodies),
            path: vec![[0.0; 4], [length_mm, length_mm, 0.0, 0.0]],
            bodies: bodies_shown,
            figure: wearer_mm.map(|height_mm| Figure { height_mm }),
            ..Scene::empty()
        };
        (scene, meshes)
    }

    /// The shape alone, with its meshes.
    pub(crate) fn of_shape(
        placed: &Placed,
        views: &[BodyView],
        wearer_mm: Option<f64>,
        before: &Meshes,
    ) -> (Scene, Meshes) {
        let mut meshes = Meshes::default();
        let bodies = placed.bodies.iter().zip(views).enumerate().map(|(k, (body, view))| {
            let light_span_mm = [body.station_mm[0] - BEYOND_MM, body.station_mm[1] + BEYOND_MM];
            let lit =
                (body.role == prop::outcome::Role::Lit).then(|| Cells::new(k, view, &placed.path, 1.0, 0)).flatten();
            BodyShown {
                id: format!("body-{}", k + 1),
                name: body.name.clone(),
                role: body.role.into(),
                station_mm: body.station_mm,
                light_span_mm,
                mesh: meshes.keep(body.mesh.clone(), lit.map(|cells| (Arc::new(cells), light_span_mm)), before),
            }
        });
        let bodies = bodies.collect();
        let length_mm = placed.path.length_mm();
        let stations = (0..=(length_mm / 10.0).ceil() as u32).map(|k| (f64::from(k) * 10.0).min(length_mm));
        let path = stations.map(|s| {
            let p = placed.path.point(s);
            [s, p.x, p.y, p.z]
        });
        let scene = Scene {
            shows: Shows::Shape,
            span_mm: [0.0, length_mm],
            bounds_mm: bounds(&placed.bodies),
            path: path.collect(),
            bodies,
            figure: wearer_mm.map(|height_mm| Figure { height_mm }),
            ..Scene::empty()
        };
        (scene, meshes)
    }

    /// The same with pieces and what goes in.
    pub(crate) fn with_pieces(mut self, made: &Geometry, cuts: &CutRules, before: &Meshes) -> (Scene, Meshes) {
        let mut meshes = Meshes::default();
        self.shows = Shows::Pieces;
        self.pieces = made
            .split
            .pieces
            .iter()
            .map(|p| PieceShown {
                id: format!("piece-{:02}", p.number),
                number: p.number,
                name: p.name(),
                body: p.rules.name.clone(),
                role: p.rules.role.into(),
                material: p.rules.material.name.clone(),
                wall_mm: p.wall_mm(),
                station_mm: p.station_mm,
                print: None,
                mesh: meshes.keep_made(&format!("{:?}", p.key()), || p.made.mesh.clone(), before),
            })
            .collect();
        let meeting = |station: f64| made.split.cuts.iter().any(|c| c.meeting && (c.station_mm - station).abs() < 0.05);
        self.joints = made
            .split
            .joints
            .iter()
            .map(|j| JointShown {
                id: format!("J{}", j.number),
                number: j.number,
                station_mm: j.frame.station_mm,
                point_mm: j.frame.point.to_array(),
                along: j.frame.along.to_array(),
                kind: j.kind.into(),
                locked: cuts.lock_mm.iter().any(|l| (l - j.frame.station_mm).abs() < 0.05),
                shifted_mm: cuts.shift_mm.iter().find(|s| s.0 == j.number).map_or(0.0, |s| s.1),
                own: j.take_down.is_some(),
                meeting: meeting(j.frame.station_mm),
                pieces: j.pieces,
            })
            .collect();
        let mut bar = |kind: FittingKind, bar: &Bar| Fitting {
            id: bar.name.replace(' ', "-"),
            kind,
            name: bar.name.clone(),
            letter: None,
            title: None,
            station_mm: bar.station_mm,
            way_out_mm: None,
            mesh: meshes.keep(bar.mesh.clone(), None, before),
        };
        let mut fittings: Vec<Fitting> = made.strips.iter().map(|b| bar(FittingKind::Strip, b)).collect();
        fittings.extend(made.spines.iter().map(|b| bar(FittingKind::Spine, b)));
        // A strip that lies in several straight lengths has its name several times.
        for k in 0..fittings.len() {
            let same = fittings[..k].iter().filter(|f| f.name == fittings[k].name).count();
            if same > 0 {
                fittings[k].id = format!("{}-{}", fittings[k].id, same + 1);
            }
        }
        fittings.extend(made.parts.iter().map(|p| Fitting {
            id: format!("part-{}", p.letter),
            kind: FittingKind::Part,
            name: format!("{} {}", p.letter, p.name),
            letter: Some(p.letter),
            title: Some(p.title.clone()),
            station_mm: p.station_mm,
            way_out_mm: Some(p.way_out.to_array()),
            mesh: meshes.keep(p.mesh.clone(), None, before),
        }));
        self.fittings = fittings;
        self.pixels = made.inside.rail.iter().flat_map(|r| &r.pixels).map(pixel).collect();
        self.ways.clear();
        (self, meshes)
    }

    /// The same with how each piece prints.
    pub(crate) fn with_print(mut self, printed: &Printed) -> Scene {
        for (shown, p) in self.pieces.iter_mut().zip(&printed.pieces) {
            let (printer, pose, mass_g, time_s) =
                (p.printer.clone(), p.pose.into(), p.mass_g.into(), p.print_time_s.into());
            shown.print = Some(PrintShown { printer, pose, mass_g, time_s });
        }
        self
    }

    /// The same with the ways on which covers, parts and lids are put in.
    pub(crate) fn with_ways(mut self, outcome: &Outcome) -> Scene {
        self.ways = outcome
            .ways
            .iter()
            .map(|way| WayShown {
                kind: way.kind.into(),
                name: way.name.clone(),
                piece: way.piece,
                poses: way.poses.iter().map(matrix).collect(),
                away: way.away.clone(),
            })
            .collect();
        self
    }

    /// The meshes that it names.
    pub(crate) fn names(&self) -> Vec<&Named> {
        let bodies = self.bodies.iter().map(|b| &b.mesh);
        bodies.chain(self.pieces.iter().map(|p| &p.mesh)).chain(self.fittings.iter().map(|f| &f.mesh)).collect()
    }
}

fn bounds(bodies: &[Body]) -> [[f64; 3]; 2] {
    let all = Bounds::of(bodies.iter().filter_map(|b| b.mesh.bounds()).flat_map(|b| [b.min, b.max]));
    all.map_or([[0.0; 3]; 2], |b| [b.min.to_array(), b.max.to_array()])
}

fn pixel(p: &prop::outcome::Pixel) -> PixelShown {
    PixelShown {
        strip: p.strip,
        number: p.number,
        station_mm: p.station_mm,
        point_mm: p.point.to_array(),
        facing: p.facing.to_array(),
    }
}

/// Column by column, as graphics take it.
fn matrix(pose: &DAffine3) -> [f64; 16] {
    let column = |v: DVec3, last: f64| [v.x, v.y, v.z, last];
    let m = pose.matrix3;
    let all = [column(m.x_axis, 0.0), column(m.y_axis, 0.0), column(m.z_axis, 0.0), column(pose.translation, 1.0)];
    let mut flat = [0.0; 16];
    flat.iter_mut().zip(all.iter().flatten()).for_each(|(to, from)| *to = *from);
    flat
}
