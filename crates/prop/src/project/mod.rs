//! The project, checked: every quantity in one unit, every name resolved against the catalogue.

mod admission;
mod conduct;
mod cost;
mod covers;
mod cuts;
mod defaults;
mod finish;
mod fixings;
mod imprint;
mod jobs;
mod joints;
mod parts;
mod plan;
mod plates;
mod power;
mod read;
mod reads;
mod strength;
#[cfg(test)]
mod tests;
mod wall;
mod windows;

use crate::catalogue::{Bar, Coat, Insert, Magnet, Material, PartRow, Printer, Rod, Screw, Strip};
use crate::diagnostic::Diagnostic;
use crate::fields;
use crate::outcome::Role;

pub use admission::{Admission, Carriage};
pub use conduct::{ConductRules, SoundRules, SoundSource};
pub use cost::{CostRules, Has};
pub use finish::{FinishRules, Pattern, WrapRules};
pub use imprint::Imprint;
pub use jobs::JobRules;
pub use joints::{Hardware, JointRules, Pole, Side};
pub(crate) use parts::STRIP;
pub(crate) use plan::FAILING;
pub use plan::PlanRules;
pub use power::{Feed, ModeRules, PowerRules};
pub use read::parse;
pub(crate) use strength::HANDS_APART_MM;
pub use strength::StrengthRules;
pub use windows::{BandRule, FacesRule, WindowRules};

/// A checked project file. Lengths in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Project {
    /// `prop.name`.
    pub name: String,
    /// `prop.inches`: show inches beside millimetres.
    pub inches: bool,
    /// `wearer.height`.
    pub wearer_mm: Option<f64>,
    /// `wearer.hand`: its length, from the wrist to the tip of the middle finger, mm.
    pub wearer_hand_mm: Option<f64>,
    /// `[shape]`.
    pub shape: ShapeRules,
    /// `[body.NAME]`, in file order.
    pub bodies: Vec<BodyRules>,
    /// What holds for a body without a table, but for its name and what depends on its role.
    pub unlisted: BodyRules,
    /// `[light]`; absent when nothing is lit.
    pub light: Option<LightRules>,
    /// `[spine]`.
    pub spine: Option<SpineRules>,
    /// `wires.bundle`: diameter of the wires that run to the grip, mm.
    pub wire_bundle_mm: f64,
    /// `wires.reflect`: how much light the wires send back, 0 to 1.
    pub wire_reflect: f64,
    /// `[printer.NAME]`, in file order: at least one.
    pub printers: Vec<Printer>,
    /// `[cuts]`.
    pub cuts: CutRules,
    /// `[plate.NAME]`, in file order: plates that the maker fills by hand.
    pub plates: Vec<PlateRules>,
    /// `[joint.NAME]`: joints that are made to be opened, in file order.
    pub joints: Vec<JointRules>,
    /// Stock that pegs may be cut from: the catalogue's rods and the project's own.
    pub rods: Vec<Rod>,
    /// `[part.NAME]`, in file order.
    pub parts: Vec<PartRules>,
    /// `[window.NAME]`, in file order.
    pub windows: Vec<WindowRules>,
    /// `[strength]`: how it is held and handled, and what glues it.
    pub strength: StrengthRules,
    /// `[behaviour]` and what belongs to it, if it is there: what the prop does.
    pub conduct: Option<ConductRules>,
    /// `[power]`, if it is there: how the prop is used, and what is wanted of its circuit.
    pub power: Option<PowerRules>,
    /// `[event.NAME]` and `[travel.NAME]`: where it goes, and what is allowed there.
    pub admission: Admission,
    /// `[plan]`: who works when, and for when; `None`: nothing is planned.
    pub plan: Option<PlanRules>,
    /// `[finish]` and `[wrap.NAME]`: how it is finished.
    pub finish: FinishRules,
    /// `[cost]`, `[price.NAME]` and `[has.NAME]`: what things cost, and what is there already.
    pub cost: CostRules,
    /// `[credits]`: what every sheet carries.
    pub imprint: Imprint,
    /// What was learnt from measurements and is in use: see [`crate::learnt::apply`].
    pub learnt: Vec<crate::learnt::Known>,
}

/// Where the shape comes from and how it lies.
#[derive(Clone, Debug, PartialEq)]
pub struct ShapeRules {
    /// Path of the mesh file, relative to the project file.
    pub file: String,
    /// Finished straight length from butt to tip, mm: `length`, or `of-wearer` of the wearer's height. Without it nothing can be
    /// scaled.
    pub length_mm: Option<f64>,
    /// Long axis, if the maker names it (0, 1, 2 for the file's x, y, z); otherwise found.
    pub axis: Option<usize>,
    /// Whether the tip is at the high end of the long axis, if the maker says so; otherwise guessed.
    pub tip_high: Option<bool>,
    /// Which of the file's axes runs through the thickness, if the maker says so (0, 1, 2).
    pub thickness_axis: Option<usize>,
    /// The centre path, if the maker draws it: points in millimetres of the finished prop (x along, y across, z through,
    /// from the middle of the butt), butt first.
    pub path: Option<Vec<[f64; 3]>>,
}

/// Where light leaves a lit body; decides which way the strip faces and what must stay open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Glow {
    /// The two long edges (+y and -y): strips face across.
    Edges,
    /// The two flat faces (+z and -z): strips face through.
    Faces,
    /// All round: strips face across, nothing of the wall may be covered by a joint.
    Around,
}

/// Which side of a body is looked at: the show face of its pieces. The outside shows all round; a side that is named is
/// kept freest of screw heads and seams.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Show {
    /// All round.
    Both,
    /// Towards +z.
    #[serde(rename = "+z")]
    Up,
    /// Towards -z.
    #[serde(rename = "-z")]
    Down,
}

/// A wall that is thicker where a pixel is near and thinner between.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GradedRules {
    /// Least wall, mm.
    pub least_mm: f64,
    /// Most, mm.
    pub most_mm: f64,
    /// Whether it is a whole number of beads thick, but for short ramps.
    pub in_beads: bool,
}

/// What the maker wants of one body.
#[derive(Clone, Debug, PartialEq)]
pub struct BodyRules {
    /// Name of the body in the shape file.
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// What it is printed in.
    pub material: Material,
    /// Wall of a lit body, mm; shell that the slicer prints round the infill of a plain one.
    pub wall_mm: f64,
    /// How the wall is graded, if it is; `wall_mm` is then the middle between its limits.
    pub graded: Option<GradedRules>,
    /// Cavities thinner than this are left solid, mm.
    pub least_cavity_mm: f64,
    /// Infill of a plain body or cover, 0 to 1.
    pub infill: f64,
    /// Where light leaves.
    pub glow: Glow,
    /// Printers that may print it (indices into [`Project::printers`]), at least one.
    pub printers: Vec<usize>,
    /// Whether its pieces may lie on the bed instead of standing.
    pub may_lie: bool,
    /// Joint the maker asks for; `None` lets the tool choose.
    pub joint: Option<crate::outcome::JointKind>,
    /// Stock that its pegs are cut from, if the maker names it; otherwise chosen by what fits.
    pub peg: Option<Rod>,
    /// The side that is looked at.
    pub show: Show,
    /// What is asked of a cover.
    pub cover: crate::cover::CoverRules,
    /// Coats on its outside wherever it is no window, from the plastic outwards.
    pub coats: Vec<Coat>,
    /// Coats on its cavity's inner face, from the plastic inwards.
    pub lining: Vec<Coat>,
}

/// Strip and rail.
#[derive(Clone, Debug, PartialEq)]
pub struct LightRules {
    /// The strip.
    pub strip: Strip,
    /// 1: one strip facing +y (or +z); 2: back to back; 3 to 6: evenly round the spine, the first facing +y (or +z).
    pub rows: u32,
    /// Thickness of insulating tape between strip and spine, mm.
    pub tape_mm: f64,
    /// `light.viewed-from`: from how far the lit prop is looked at, mm.
    pub viewed_mm: f64,
    /// `light.noise`: standard deviation of the computed light on a square centimetre of window, against its mean.
    pub noise: f64,
    /// `light.levels`: how far the pixels are driven when the light is judged.
    pub levels: Levels,
    /// `light.follow`: whether the light is computed at all.
    pub follow: bool,
    /// `light.advise`: for which windows changes are tried.
    pub advise: Advise,
    /// First station of the strip, if the maker says so, mm.
    pub from_mm: Option<f64>,
    /// Last station of the strip, if the maker says so, mm.
    pub to_mm: Option<f64>,
}

/// For which windows changes are tried that would make them even.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Advise {
    /// Those that fail.
    Failed,
    /// Those that fail, and those that are not known well enough.
    Unsure,
    /// None.
    Never,
}

/// How far the pixels are driven when the light is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Levels {
    /// Every pixel at full.
    Full,
    /// Each pixel so far that the windows glow evenly along the prop.
    Even,
}

/// The stiffening bar.
#[derive(Clone, Debug, PartialEq)]
pub struct SpineRules {
    /// The stock.
    pub bar: Bar,
    /// Shortest useful straight length, mm.
    pub least_length_mm: f64,
    /// Slot that the maker fixes (because pieces are printed already, say): thickness, height, mm. Otherwise the slot
    /// follows from the stock and the printers' clearances.
    pub slot_mm: [Option<f64>; 2],
    /// Longest length that the stock is to be had in, if the maker says so, mm.
    pub longest_mm: Option<f64>,
    /// Stations where the spine is cut in two, mm.
    pub cut_mm: Vec<f64>,
    /// Stretches that stay without a spine (because parts lie there, say): stations, mm.
    pub leave_mm: Vec<[f64; 2]>,
    /// First station, if the maker says so, mm.
    pub from_mm: Option<f64>,
    /// Last station, if the maker says so, mm.
    pub to_mm: Option<f64>,
    /// `spine.glued`: whether it is glued in along its length.
    pub glued: bool,
    /// `spine.choices`: stock that may stand in its place; none: what the catalogue has.
    pub choices: Vec<Bar>,
}

/// A side of the prop, in the path's own frame at a station.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flank {
    /// Across the width, +y.
    PlusY,
    /// Across the width, -y.
    MinusY,
    /// Through the thickness, +z.
    PlusZ,
    /// Through the thickness, -z.
    MinusZ,
}

impl Flank {
    /// Its word in the project file.
    pub fn word(self) -> &'static str {
        match self {
            Flank::PlusY => "+y",
            Flank::MinusY => "-y",
            Flank::PlusZ => "+z",
            Flank::MinusZ => "-z",
        }
    }
}

/// Which way a part goes in and comes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WayOut {
    /// Through a lid in the side of its body.
    Lid,
    /// Along the prop through the nearer end of its body, where a joint comes apart.
    End,
}

/// What holds a lid.
#[derive(Clone, Debug, PartialEq)]
pub enum LidHold {
    /// Two pairs of disc magnets in body and lid.
    Magnets {
        /// The magnet.
        magnet: Magnet,
        /// Poles by hand: the body's, the lid's, from the butt; `None`: by the tool.
        poles: [Option<Vec<Pole>>; 2],
    },
    /// Two screws into threaded inserts.
    Screws {
        /// The screw.
        screw: Screw,
        /// The insert.
        insert: Insert,
    },
    /// Nothing bought: it slides under the body's own skin and snaps.
    Slide,
}

/// A part to be put inside.
#[derive(Clone, Debug, PartialEq)]
pub struct PartRules {
    /// Its name in the project.
    pub name: String,
    /// What it is.
    pub row: PartRow,
    /// Body that holds it.
    pub body: String,
    /// Station of its middle, if the maker places it, mm.
    pub at_mm: Option<f64>,
    /// Side that its lid or port is on, if the maker says so.
    pub side: Option<Flank>,
    /// Distance of its middle from the centre path towards that side, if the maker says so, mm.
    pub depth_mm: Option<f64>,
    /// Way in; `None`: from outside, through a port.
    pub way: Option<WayOut>,
    /// What holds its lid; `None` where it has none.
    pub lid: Option<LidHold>,
    /// Parts it is wired to (and "strip"), if the maker says so; otherwise what parts of its kind usually are.
    pub to: Option<Vec<String>>,
}

/// What the maker says about cuts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CutRules {
    /// Stations that must be cut, mm.
    pub lock_mm: Vec<f64>,
    /// Ranges that must not be cut, mm.
    pub forbid_mm: Vec<[f64; 2]>,
    /// Computed cuts moved by hand: joint number, signed distance mm.
    pub shift_mm: Vec<(u32, f64)>,
}

/// A plate that the maker fills by hand.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateRules {
    /// Its name in the project.
    pub name: String,
    /// Its printer (index into [`Project::printers`]).
    pub printer: usize,
    /// Numbers of the pieces on it, as listed.
    pub pieces: Vec<u32>,
}

#[cfg(test)]
impl LightRules {
    /// Rows of a strip as a test wants them: one turn of tape, nothing said by hand, light not followed.
    pub(crate) fn plain(strip: Strip, rows: u32) -> LightRules {
        LightRules {
            strip,
            rows,
            tape_mm: 0.1,
            viewed_mm: 3000.0,
            noise: 0.1,
            levels: Levels::Full,
            follow: false,
            advise: Advise::Never,
            from_mm: None,
            to_mm: None,
        }
    }
}

#[cfg(test)]
impl SpineRules {
    /// A spine of a bar as a test wants it: nothing said by hand, lengths from 100 mm on.
    pub(crate) fn plain(bar: Bar) -> SpineRules {
        SpineRules {
            bar,
            least_length_mm: 100.0,
            slot_mm: [None, None],
            longest_mm: None,
            cut_mm: Vec::new(),
            leave_mm: Vec::new(),
            from_mm: None,
            to_mm: None,
            glued: false,
            choices: Vec::new(),
        }
    }
}

impl Project {
    /// What holds for the body `name` of the shape: its table (capitals aside), or the defaults with a role by its name.
    pub fn rules_for(&self, name: &str) -> BodyRules {
        let exact = self.bodies.iter().find(|body| body.name == name);
        let found = exact.or_else(|| self.bodies.iter().find(|body| body.name.to_lowercase() == name.to_lowercase()));
        found.cloned().unwrap_or_else(|| {
            let role = role_by_name(name);
            BodyRules {
                name: name.to_owned(),
                role,
                wall_mm: defaults::wall_mm(role, Some(self.unlisted.material.process)),
                may_lie: defaults::may_lie(role),
                ..self.unlisted.clone()
            }
        })
    }
}

/// The role that a body's name suggests: "lit-edge", "Blade", "lamp2" and "lantern window" are lit; "guard ring" and
/// "end cap" are covers; anything else is plain. The last telling word decides, so a "blade guard" is a cover.
pub fn role_by_name(name: &str) -> Role {
    const STEMS: [(&str, Role); 10] = [
        ("lit", Role::Lit),
        ("blade", Role::Lit),
        ("lamp", Role::Lit),
        ("crystal", Role::Lit),
        ("lantern", Role::Lit),
        ("window", Role::Lit),
        ("cover", Role::Cover),
        ("ring", Role::Cover),
        ("guard", Role::Cover),
        ("cap", Role::Cover),
    ];
    let lower = name.to_lowercase();
    let role = lower.split(|c: char| !c.is_alphabetic()).rev().find_map(|word| {
        // Short stems hide in other words ("split", "string", "escape"), long ones only in compounds ("longblade").
        let tells = |stem: &str| {
            word == stem || word.strip_suffix('s') == Some(stem) || (stem.len() > 4 && word.contains(stem))
        };
        STEMS.iter().find(|(stem, _)| tells(stem)).map(|(_, role)| *role)
    });
    role.unwrap_or(Role::Plain)
}

/// The path under `shape.file`, read by itself: it comes out even when other things in the text are wrong.
pub fn shape_file(project_text: &str) -> Option<String> {
    fields::text_at(project_text, &["shape", "file"]).filter(|file| !file.trim().is_empty())
}

/// The mistake of a shape file that is not there, underlined at `shape.file`. `path` is where it was looked for.
pub fn missing_file(project_text: &str, path: &str) -> Diagnostic {
    let message = format!("there is no file {path}");
    mistake_at(project_text, &["shape", "file"], message, "correct the name, or put the file there".to_owned())
}

/// A mistake that shows only outside the text (a body that the shape lacks, a length that was left out), underlined at
/// the key: at its value, or at the name of the table. The nearest enclosing table is underlined when the key is absent.
pub fn mistake_at(project_text: &str, key: &[&str], message: String, help: String) -> Diagnostic {
    Diagnostic { key: key.join("."), span: fields::place(project_text, key), message, help }
}
