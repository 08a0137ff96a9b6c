//! What a build comes to: the data that drawings, pages and files are made from.

use crate::bay::wires::Bend;
use crate::bay::{Screw, Sound};
use crate::catalogue::PartKind;
use crate::finding::{Band, Finding};
use crate::light::Lighting;
use crate::path::{CentrePath, PathFrame};
use serde::Serialize;
use solid::{DAffine3, DVec2, DVec3, Mesh};

/// What a body of the shape is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Hollow, with rail, strip and spine: light comes out of it.
    Lit,
    /// Printed with the slicer's own infill, with a way through for spine and wires.
    Plain,
    /// A part that slides over another.
    Cover,
}

/// One body of the shape, mended, scaled and in the prop frame.
#[derive(Clone, Debug)]
pub struct Body {
    /// Name from the shape file, or from the project.
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// The outer surface as the maker drew it.
    pub mesh: Mesh,
    /// Stations it spans: from, to.
    pub station_mm: [f64; 2],
}

/// Which way a piece lies on the bed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Pose {
    /// The prop's axis points up, butt side down.
    Upright,
    /// The prop's axis points up, tip side down.
    Inverted,
    /// The prop's axis lies along the bed.
    Lying,
}

/// One printed piece.
#[derive(Clone, Debug)]
pub struct Piece {
    /// 1, 2, ... from the butt; covers after the pieces of the bodies.
    pub number: u32,
    /// File stem, such as `03-blade`.
    pub name: String,
    /// Body it was cut from.
    pub body: String,
    /// That body's role.
    pub role: Role,
    /// As it prints: millimetres, bed at z = 0, first corner of the box at the origin. Closed, oriented, one body.
    pub mesh: Mesh,
    /// From the file's coordinates to the prop frame: a rigid motion.
    pub to_prop: DAffine3,
    /// Stations it spans: from, to.
    pub station_mm: [f64; 2],
    /// Printer (a name from the project).
    pub printer: String,
    /// That printer's room: width, depth, height, mm.
    pub bed_mm: [f64; 3],
    /// How it stands.
    pub pose: Pose,
    /// Asked wall, mm; `None` for a body that is not hollowed.
    pub wall_mm: Option<f64>,
    /// Material (a catalogue name).
    pub material: String,
    /// Mass, grams.
    pub mass_g: Band,
    /// Time on the printer, seconds.
    pub print_time_s: Band,
    /// Volume of the printed solid, mm3.
    pub volume_mm3: f64,
    /// Volume taken from the maker's solid inside this piece's span (cavity, slots, sockets, trims), mm3.
    pub taken_mm3: f64,
    /// Volume added outside the span (collars), mm3.
    pub added_mm3: f64,
    /// Whether the picture should show it cut open.
    pub show_inside: bool,
}

/// How two pieces are placed on each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum JointKind {
    /// A collar on the butt-side piece reaches into the tip-side piece's cavity.
    Collar,
    /// Loose pegs of stock rod in sockets of both pieces.
    Pegs,
    /// Faces only, placed by the spine that runs through.
    Faces,
    /// Comes apart: a plug with lugs, pushed in and turned.
    Bayonet,
    /// Comes apart: a plug held by screws.
    Screws,
    /// Comes apart: held by magnets, placed by a plug or keys.
    Magnets,
}

impl JointKind {
    /// Whether it is made to be opened, and so not glued.
    pub fn comes_apart(self) -> bool {
        matches!(self, JointKind::Bayonet | JointKind::Screws | JointKind::Magnets)
    }
}

/// The pegs of a joint, to be cut from stock.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PegSet {
    /// Catalogue row of the stock.
    pub stock: String,
    /// The stock in words.
    pub title: String,
    /// Its diameter, mm.
    pub diameter_mm: f64,
    /// Length to cut, mm: a millimetre short of its two sockets together.
    pub length_mm: f64,
    /// How many.
    pub count: u32,
    /// How far each reaches into the piece that has less room for it, mm.
    pub engaged_mm: f64,
    /// How far the pieces tilt on dry pegs, degrees.
    pub play_deg: f64,
    /// Distance between the pegs, mm.
    pub apart_mm: f64,
    /// Thickness of the section that they bridge, mm.
    pub section_mm: f64,
}

/// Something bought for a joint or a lid.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Bought {
    /// `magnet`, `insert`, `screw`, `connector`.
    pub what: &'static str,
    /// Catalogue row.
    pub row: String,
    /// In words.
    pub title: String,
    /// How many.
    pub count: u32,
}

/// A pair of magnets that face each other, in two pieces: butt side and tip side of a joint, body and lid.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MagnetPair {
    /// Middle of the outward face of each, prop frame.
    #[serde(skip)]
    pub face: [DVec3; 2],
    /// Pole that looks at the other.
    pub pole: [crate::project::Pole; 2],
    /// Diameter of the pocket as drawn, mm.
    pub pocket_mm: f64,
    /// Depth of the pocket, mm.
    pub depth_mm: f64,
}

/// What a joint that comes apart is made of. Its axes: z the way the plug reaches.
#[derive(Clone, Debug)]
pub struct TakeDown {
    /// `NAME` in the project.
    pub name: String,
    /// Which piece carries the plug (or the keys).
    pub plug: crate::project::Side,
    /// From the joint's own axes to the prop frame: origin in the cut, z the way the plug reaches.
    pub axes: DAffine3,
    /// How far the plug reaches, mm.
    pub reach_mm: f64,
    /// Gap per side between plug and socket as drawn, mm.
    pub gap_mm: f64,
    /// Thickness of the section that it bridges, mm.
    pub section_mm: f64,
    /// Whether it is a cap at the prop's end, that carries nothing.
    pub cap: bool,
    /// Turning angle, degrees: the plug's piece turns so far clockwise, seen from behind it, to lock. 0 without bayonet.
    pub turn_deg: f64,
    /// Middle of each lock bump, in the joint's axes, with the radius that its bite stays within, mm.
    pub bumps: Vec<(DVec3, f64)>,
    /// Screw holes through the outer surface, in the joint's axes: a point on the axis, direction outwards, radius, mm.
    pub holes: Vec<(DVec3, DVec3, f64)>,
    /// Magnets.
    pub magnets: Vec<MagnetPair>,
    /// What to buy.
    pub bought: Vec<Bought>,
    /// How far the butt side's spine stands beyond the cut, mm; negative: the tip side's stands so far into the butt side.
    pub rod_stands_mm: f64,
}

/// A joint between two pieces, J1, J2, ... from the butt.
#[derive(Clone, Debug)]
pub struct Joint {
    /// 1, 2, ... from the butt.
    pub number: u32,
    /// The cut plane's place and direction.
    pub frame: PathFrame,
    /// How the pieces are placed.
    pub kind: JointKind,
    /// Numbers of the pieces: butt side, tip side.
    pub pieces: [u32; 2],
    /// Area that takes glue, mm2: faces and collar or pegs.
    pub glue_mm2: f64,
    /// Whether the maker locked it.
    pub locked: bool,
    /// The pegs to cut, if it has any.
    pub pegs: Option<PegSet>,
    /// What it is made of, if it comes apart.
    pub take_down: Option<TakeDown>,
    /// The side of its pieces that is looked at.
    pub show: crate::project::Show,
}

/// What a way belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum WayKind {
    /// A printed piece that slides over others.
    Cover,
    /// A part that is put in, such as a cell or a board.
    Part,
    /// A lid, put on its seat.
    Lid,
}

/// How something is put in its place: poses on the way there, each a rigid motion of the thing as it is seated.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// What it belongs to.
    pub kind: WayKind,
    /// Name of the body or part.
    pub name: String,
    /// Number of the piece, if it is one.
    pub piece: Option<u32>,
    /// From where it is free to its seat: motions in the prop frame, the last one the identity.
    pub poses: Vec<DAffine3>,
    /// Numbers of pieces that are not there yet, or are taken off, while it moves.
    pub away: Vec<u32>,
    /// Smallest distance to every other piece at every pose, as drawn, mm; near `snap` nothing counts.
    pub clearance_mm: f64,
    /// Where it is meant to meet something that gives way, if it is.
    pub snap: Option<Snap>,
}

/// A place where something snaps over something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Snap {
    /// Where, prop frame.
    pub at: DVec3,
    /// How far round it they are near each other, mm.
    pub within_mm: f64,
}

/// One light of the strip.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pixel {
    /// Counted from the wire's end, from 1, within its strip.
    pub number: u32,
    /// Which strip, from 1.
    pub strip: u32,
    /// Station, mm.
    pub station_mm: f64,
    /// Middle of the emitting face, prop frame.
    pub point: DVec3,
    /// Direction it faces, unit.
    pub facing: DVec3,
}

/// One straight length of strip or spine in the rail, as a box along a straight run.
#[derive(Clone, Debug, PartialEq)]
pub struct Bar {
    /// "strip 1", "spine 2".
    pub name: String,
    /// Middle of the butt-side end, prop frame.
    pub start: DVec3,
    /// Middle of the tip-side end, prop frame.
    pub end: DVec3,
    /// Unit direction of the first section measure (near across).
    pub across: DVec3,
    /// Section: across, through, mm (nominal).
    pub size_mm: [f64; 2],
    /// Stations: from, to.
    pub station_mm: [f64; 2],
    /// The length as a solid at nominal size, prop frame.
    pub mesh: Mesh,
}

/// How a part is reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Reached {
    /// Under a lid: the number of its piece.
    Lid(u32),
    /// From outside.
    Port,
    /// Where a joint comes apart: its number.
    Joint(u32),
}

/// A part in its place: cell, board, speaker, switch.
#[derive(Clone, Debug)]
pub struct Part {
    /// A, B, C, ...: how drawings name it.
    pub letter: char,
    /// Name in the project.
    pub name: String,
    /// Name in words.
    pub title: String,
    /// What it is for.
    pub kind: PartKind,
    /// Body that holds it.
    pub body: String,
    /// Length, width, thickness, mm.
    pub size_mm: [f64; 3],
    /// How much larger each may be, mm.
    pub over_mm: f64,
    /// Gap per side as drawn, mm.
    pub gap_mm: f64,
    /// Mass, g.
    pub mass_g: f64,
    /// From the part's own frame (origin in its middle, +x along its length towards its wires) to the prop frame.
    pub to_prop: DAffine3,
    /// Stations it spans, mm.
    pub station_mm: [f64; 2],
    /// At nominal size, prop frame.
    pub mesh: Mesh,
    /// At its largest, prop frame.
    pub largest: Mesh,
    /// The straight way out from its seat until it is free, prop frame, mm.
    pub way_out: DVec3,
    /// How it is reached.
    pub reached: Reached,
    /// Numbers of the pieces that are off while it goes in or comes out.
    pub pieces_off: Vec<u32>,
    /// Where its wires leave it, prop frame.
    pub exit: DVec3,
    /// What a speaker has besides.
    pub sound: Option<Sound>,
}

impl Part {
    /// What findings call it.
    pub fn subject(&self) -> String {
        format!("part {} {}", self.letter, self.name)
    }
}

/// A lid with what holds it.
#[derive(Clone, Debug)]
pub struct LidView {
    /// Number of its piece.
    pub piece: u32,
    /// Letters of the parts behind it.
    pub parts: Vec<char>,
    /// The way it comes off, unit, prop frame.
    pub out: DVec3,
    /// Middle of its seat, prop frame.
    pub seat: DVec3,
    /// Its magnets: the body's, the lid's.
    pub magnets: Vec<MagnetPair>,
    /// Its screws.
    pub screws: Vec<Screw>,
    /// What to buy for it.
    pub bought: Vec<Bought>,
}

/// The wires of one connection, W1, W2, ...
#[derive(Clone, Debug)]
pub struct Wire {
    /// 1, 2, ...
    pub number: u32,
    /// Letter of the part it starts at.
    pub from: char,
    /// Letter of the part it ends at; `None`: the strip.
    pub to: Option<char>,
    /// Wires side by side.
    pub wires: u32,
    /// Their diameter together, mm.
    pub bundle_mm: f64,
    /// Their way, prop frame; empty when there is none.
    pub points: Vec<DVec3>,
    /// The corners of the way.
    pub bends: Vec<Bend>,
    /// Joints it crosses.
    pub joints: Vec<u32>,
    /// Round each end the bundle comes apart into single wires: within this of the way's ends, mm.
    pub homes_mm: [f64; 2],
    /// Length to cut, mm: the way, slack at each joint, and both ends.
    pub cut_mm: Band,
}

/// Closed outlines in a section plane, mm: +x across, +y through, origin on the centre path. Outer loops run
/// counter-clockwise, holes clockwise.
pub type Outlines = Vec<Vec<DVec2>>;

/// What a section drawing shows.
#[derive(Clone, Debug)]
pub struct SectionView {
    /// "J2" at a cut, "03" in the middle of a piece, "part A" in the middle of a part.
    pub label: String,
    /// Station, mm.
    pub station_mm: f64,
    /// The maker's outer surface.
    pub outer: Outlines,
    /// Printed material: wall, rail and all.
    pub printed: Outlines,
    /// The part of `printed` that is rail.
    pub rail: Outlines,
    /// Strips to scale, with their names.
    pub strips: Vec<(String, Outlines)>,
    /// Spine to scale.
    pub spine: Outlines,
    /// Wire way, as a circle.
    pub wire: Outlines,
    /// Parts at nominal size, with their letters.
    pub parts: Vec<(char, Outlines)>,
}

/// Outline of the prop seen from one side: for each x, the lowest and highest value.
#[derive(Clone, Debug, Default)]
pub struct Silhouette {
    /// (x, low, high), prop frame, mm, x ascending.
    pub edge: Vec<[f64; 3]>,
}

/// The body seen from the side (z over x) and from the top (y over x).
#[derive(Clone, Debug)]
pub struct BodyView {
    /// Body name.
    pub name: String,
    /// Its role.
    pub role: Role,
    /// z over x.
    pub side: Silhouette,
    /// y over x.
    pub top: Silhouette,
}

/// A change made to the maker's mesh before anything was computed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MendNote {
    /// Body.
    pub body: String,
    /// What was done, in words with count, place and size.
    pub what: String,
    /// What was done, without them ("duplicate vertices joined").
    pub kind: &'static str,
    /// Where it was done, the largest place first.
    pub spots: Vec<MendSpot>,
}

/// A place where the maker's mesh was changed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct MendSpot {
    /// Its middle, prop frame, mm.
    #[serde(skip)]
    pub place: DVec3,
    /// Diagonal of the box around it, mm.
    pub size_mm: f64,
}

/// A piece on a plate.
#[derive(Clone, Debug)]
pub struct OnPlate {
    /// Its number.
    pub piece: u32,
    /// From the piece's own coordinates to the bed's: a turn about the vertical and a shift along the bed.
    pub to_plate: DAffine3,
    /// Outline of what it takes of the bed, counter-clockwise, mm from the bed's corner.
    pub outline: Vec<DVec2>,
    /// Width of the brim round it, mm; 0 without one.
    pub brim_mm: f64,
}

/// What is printed at one go.
#[derive(Clone, Debug)]
pub struct Plate {
    /// File stem, such as `wide-02`.
    pub name: String,
    /// Printer (a name from the project).
    pub printer: String,
    /// 1, 2, ... on that printer, in the order in which to print.
    pub number: u32,
    /// The maker's name for it, if it is filled by hand.
    pub by_hand: Option<String>,
    /// That printer's room: width, depth, height, mm.
    pub bed_mm: [f64; 3],
    /// Kept free at each side, mm.
    pub margin_mm: f64,
    /// Kept free between pieces, brims included, mm.
    pub spacing_mm: f64,
    /// Material (a catalogue name): one for all pieces.
    pub material: String,
    /// Its pieces, by number.
    pub pieces: Vec<OnPlate>,
    /// Time for it, s, with its start.
    pub time_s: Band,
    /// Mass of pieces and brims, g.
    pub mass_g: Band,
    /// Whether everything on it fits the bed.
    pub fits: bool,
}

/// How much of one material the plates take.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// Catalogue name.
    pub material: String,
    /// Name in words.
    pub title: String,
    /// Plates printed in it.
    pub plates: u32,
    /// Mass of all pieces and brims, g.
    pub mass_g: Band,
    /// The same as it is sold: m of filament or ml of resin.
    pub amount: Band,
    /// "m" or "ml".
    pub unit: &'static str,
    /// Share of it to keep for plates that fail: least, most.
    pub spoilt: [f64; 2],
    /// What is in one package: g of filament on a spool or ml of resin in a bottle.
    pub package: f64,
    /// Packages that surely do, failed plates included.
    pub packages: u32,
}

/// Everything that a build comes to.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// The prop's name.
    pub prop: String,
    /// Hash of all inputs, hex.
    pub input_hash: String,
    /// Whether lengths are shown in inches besides.
    pub inches: bool,
    /// Centre path.
    pub path: CentrePath,
    /// Straight length from butt to tip, mm.
    pub length_mm: f64,
    /// Wearer's height, mm, if stated.
    pub wearer_mm: Option<f64>,
    /// What every sheet carries.
    pub imprint: crate::project::Imprint,
    /// Bodies in order of station.
    pub bodies: Vec<Body>,
    /// What was mended.
    pub mends: Vec<MendNote>,
    /// Pieces by number.
    pub pieces: Vec<Piece>,
    /// What is printed together, by printer (as in the project) and number.
    pub plates: Vec<Plate>,
    /// What the plates take of each material, by name.
    pub stocks: Vec<Stock>,
    /// Joints by number.
    pub joints: Vec<Joint>,
    /// How covers and parts are put in.
    pub ways: Vec<Way>,
    /// Pixels by strip and number.
    pub pixels: Vec<Pixel>,
    /// Strips as straight lengths.
    pub strips: Vec<Bar>,
    /// Spine as straight lengths.
    pub spines: Vec<Bar>,
    /// Way of the wires through the prop, prop frame.
    pub wire_way: Vec<DVec3>,
    /// Parts in their places, by letter.
    pub parts: Vec<Part>,
    /// Lids.
    pub lids: Vec<LidView>,
    /// Wires between the parts.
    pub wires: Vec<Wire>,
    /// How it is powered; `None` for a prop without a cell, or where that could not be worked out.
    pub power: Option<crate::power::Power>,
    /// What is taken from the bodies for parts, lids and wires, prop frame: where the outside is opened. Solids may overlap.
    pub openings: Vec<Mesh>,
    /// Windows: those of the project in file order, then those that follow from `glow`.
    pub windows: Vec<crate::window::WindowView>,
    /// Masks of the windows beside which something is painted.
    pub masks: Vec<crate::mask::Mask>,
    /// Bodies seen from the side and from the top.
    pub views: Vec<BodyView>,
    /// Sections: each cut and the middle of each piece and each part, by station.
    pub sections: Vec<SectionView>,
    /// How it glows; `None` for a prop without light.
    pub light: Option<Lighting>,
    /// What it bears; `None` where it was not worked out.
    pub strength: Option<crate::strength::Strength>,
    /// What it does; `None` for a project that says nothing of it.
    pub conduct: Option<crate::conduct::ConductView>,
    /// What is painted, and how much of it there is.
    pub finish: crate::finish::Finish,
    /// What is bought, what it costs, what the prop weighs.
    pub shopping: crate::shopping::Shopping,
    /// When everything is done; `None` where nothing is planned or can be.
    pub work: Option<crate::work::Schedule>,
    /// Doors, cars and cases that it has to go through and into.
    pub passages: Vec<crate::admission::Passage>,
    /// Every job, in an order in which it can be done; empty where a coat does not say how it dries.
    pub steps: Vec<crate::work::Step>,
    /// Findings, worst first, then by station.
    pub findings: Vec<Finding>,
    /// Time for all plates when the printers work side by side, s.
    pub print_elapsed_s: Band,
}
