//! What the page shows in space: bodies, pieces, joints, what goes in, and how it goes in.

use super::mesh::{Meshes, Named};
use prop::finding::Band;
use prop::light::Cells;
use prop::outcome::{Bar, BodyView, JointKind, Outcome, Pose, Role, WayKind};
use prop::project::CutRules;
use prop::stages::{Geometry, Placed, Printed};
use serde::Serialize;
use solid::{Bounds, DAffine3, DVec3};
use std::sync::Arc;

/// How far the coordinate along of a body's light reaches past its ends, mm.
const BEYOND_MM: f64 = 64.0;

/// Everything that stands in space, prop frame.
#[derive(Clone, Serialize)]
pub(crate) struct Scene {
    /// `nothing`, `shape` or `pieces`.
    pub(crate) shows: &'static str,
    span_mm: [f64; 2],
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

#[derive(Clone, Serialize)]
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
pub(crate) struct PrintShown {
    printer: String,
    pose: Pose,
    mass_g: Band,
    time_s: Band,
}

/// Where two pieces meet.
#[derive(Clone, Serialize)]
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

#[derive(Clone, Serialize)]
struct Fitting {
    id: String,
    kind: &'static str,
    name: String,
    letter: Option<char>,
    title: Option<String>,
    station_mm: [f64; 2],
    way_out_mm: Option<[f64; 3]>,
    mesh: Named,
}

#[derive(Clone, Serialize)]
struct PixelShown {
    strip: u32,
    number: u32,
    station_mm: f64,
    point_mm: [f64; 3],
    facing: [f64; 3],
}

/// How something goes in.
#[derive(Clone, Serialize)]
pub(crate) struct WayShown {
    kind: WayKind,
    name: String,
    piece: Option<u32>,
    poses: Vec<[f64; 16]>,
    away: Vec<u32>,
}

#[derive(Clone, Serialize)]
struct Figure {
    height_mm: f64,
}

impl Scene {
    /// Before there is anything.
    pub(crate) fn empty() -> Scene {
        Scene {
            shows: "nothing",
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
            let lit = (body.role == Role::Lit).then(|| Cells::new(k, view, &placed.path, 1.0, 0)).flatten();
            BodyShown {
                id: format!("body-{}", k + 1),
                name: body.name.clone(),
                role: body.role,
                station_mm: body.station_mm,
                light_span_mm,
                mesh: meshes.keep(body.mesh.clone(), lit.map(|cells| (Arc::new(cells), light_span_mm)), before),
            }
        });
        let bodies = bodies.collect();
        let bounds = Bounds::of(placed.bodies.iter().filter_map(|b| b.mesh.bounds()).flat_map(|b| [b.min, b.max]));
        let length_mm = placed.path.length_mm();
        let stations = (0..=(length_mm / 10.0).ceil() as u32).map(|k| (f64::from(k) * 10.0).min(length_mm));
        let path = stations.map(|s| {
            let p = placed.path.point(s);
            [s, p.x, p.y, p.z]
        });
        let scene = Scene {
            shows: "shape",
            span_mm: [0.0, length_mm],
            bounds_mm: bounds.map_or([[0.0; 3]; 2], |b| [b.min.to_array(), b.max.to_array()]),
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
        self.shows = "pieces";
        self.pieces = made
            .split
            .pieces
            .iter()
            .map(|p| PieceShown {
                id: format!("piece-{:02}", p.number),
                number: p.number,
                name: p.name(),
                body: p.rules.name.clone(),
                role: p.rules.role,
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
                kind: j.kind,
                locked: cuts.lock_mm.iter().any(|l| (l - j.frame.station_mm).abs() < 0.05),
                shifted_mm: cuts.shift_mm.iter().find(|s| s.0 == j.number).map_or(0.0, |s| s.1),
                own: j.take_down.is_some(),
                meeting: meeting(j.frame.station_mm),
                pieces: j.pieces,
            })
            .collect();
        let mut bar = |kind: &'static str, bar: &Bar| Fitting {
            id: bar.name.replace(' ', "-"),
            kind,
            name: bar.name.clone(),
            letter: None,
            title: None,
            station_mm: bar.station_mm,
            way_out_mm: None,
            mesh: meshes.keep(bar.mesh.clone(), None, before),
        };
        let mut fittings: Vec<Fitting> = made.strips.iter().map(|b| bar("strip", b)).collect();
        fittings.extend(made.spines.iter().map(|b| bar("spine", b)));
        // A strip that lies in several straight lengths has its name several times.
        for k in 0..fittings.len() {
            let same = fittings[..k].iter().filter(|f| f.name == fittings[k].name).count();
            if same > 0 {
                fittings[k].id = format!("{}-{}", fittings[k].id, same + 1);
            }
        }
        fittings.extend(made.parts.iter().map(|p| Fitting {
            id: format!("part-{}", p.letter),
            kind: "part",
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
            let (printer, pose, mass_g, time_s) = (p.printer.clone(), p.pose, p.mass_g, p.print_time_s);
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
                kind: way.kind,
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
