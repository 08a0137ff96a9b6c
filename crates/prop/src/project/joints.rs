//! Joints that are made to be opened: `[joint.NAME]`.

use super::fixings::{read_magnet, read_poles, read_screw};
use super::read::STATION;
use crate::catalogue::rows::Stock;
use crate::catalogue::{Connector, Insert, Magnet, Screw};
use crate::fields::Fields;
use crate::quantity::{Quantity, Wanted};

/// A take-down joint as the maker asks for it. Lengths in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct JointRules {
    /// `NAME` of the table.
    pub name: String,
    /// Station; where two bodies meet nearby, their meeting is meant.
    pub at_mm: f64,
    /// What holds it shut.
    pub hardware: Hardware,
    /// How far the plug reaches into its socket; `None`: by the section and by what hangs on the joint.
    pub reach_mm: Option<f64>,
    /// Which piece carries the plug; `None`: the one whose neighbour has room for the socket.
    pub plug: Option<Side>,
    /// Wall kept around the socket, and between anything let into the joint.
    pub wall_mm: f64,
    /// Connector that parts the wires here.
    pub connector: Option<Connector>,
    /// How far the butt side's spine stands beyond the cut; `None`: as far as a plug on the butt side reaches, else not
    /// at all.
    pub rod_stands_mm: Option<f64>,
}

/// Butt side or tip side of a joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// Towards the butt.
    Butt,
    /// Towards the tip.
    Tip,
}

/// Pole of a magnet that looks at the joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub enum Pole {
    /// North, marked with a bar and a cross stroke.
    #[serde(rename = "+")]
    Plus,
    /// South, marked with a bar.
    #[serde(rename = "-")]
    Minus,
}

/// What holds a take-down joint shut.
#[derive(Clone, Debug, PartialEq)]
pub enum Hardware {
    /// Two lugs in L-shaped ways: push, then turn.
    Bayonet {
        /// Turning angle, degrees.
        turn_deg: f64,
        /// How far the lock bump stands in a lug's way, mm.
        bite_mm: f64,
    },
    /// Screws through the socket's wall into inserts in the plug.
    Screws {
        /// The screw.
        screw: Screw,
        /// The insert.
        insert: Insert,
        /// How many, spread around.
        count: u32,
    },
    /// Pairs of magnets.
    Magnets {
        /// The magnet.
        magnet: Magnet,
        /// Number of pairs.
        pairs: u32,
        /// Poles by hand: butt side, tip side, one for each pair; `None`: by the tool.
        poles: [Option<Vec<Pole>>; 2],
    },
}

impl Hardware {
    /// Its word in the project file.
    pub fn word(&self) -> &'static str {
        match self {
            Hardware::Bayonet { .. } => "bayonet",
            Hardware::Screws { .. } => "screws",
            Hardware::Magnets { .. } => "magnets",
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Bayonet,
    Screws,
    Magnets,
}

/// Wall kept around a socket, mm: handled props are printed 1.6 to 2.4 mm thick (common practice), and a socket is
/// spread by what it holds.
const WALL_MM: f64 = 2.4;
/// The same where countersunk heads go into it.
const SCREW_WALL_MM: f64 = 3.0;
/// Two joints nearer to each other than this leave no piece between them, mm.
const APART_MM: f64 = 40.0;

/// Reads all `[joint.NAME]`.
pub(super) fn read_joints(root: &mut Fields<'_>, stock: &Stock) -> Option<Vec<JointRules>> {
    let mut read: Vec<Option<JointRules>> = Vec::new();
    for table in root.named_tables("joint") {
        let before: Vec<(String, f64)> = read.iter().flatten().map(|j| (j.name.clone(), j.at_mm)).collect();
        read.push(read_joint(table, stock, &before));
    }
    read.into_iter().collect()
}

fn read_joint(mut joint: Fields<'_>, stock: &Stock, before: &[(String, f64)]) -> Option<JointRules> {
    const KINDS: [(&str, Kind); 3] = [("bayonet", Kind::Bayonet), ("screws", Kind::Screws), ("magnets", Kind::Magnets)];
    const REACH: Wanted = Wanted::length(3.0, 200.0, "50 mm");
    const WALL: Wanted = Wanted::length(0.8, 20.0, "2.4 mm");
    const STANDS: Wanted = Wanted::length(0.0, 400.0, "60 mm");
    const SIDES: [(&str, Side); 2] = [("butt", Side::Butt), ("tip", Side::Tip)];
    let name = joint.name.clone();
    let at = joint.quantity("at", &STATION, None);
    let kind = joint.choice("kind", &KINDS, None);
    let reach = joint.optional_quantity("reach", &REACH);
    let plug = joint.optional("plug", |f| f.choice(&SIDES));
    let wall = joint.quantity("wall", &WALL, Some(if kind == Some(Kind::Screws) { SCREW_WALL_MM } else { WALL_MM }));
    let connector = joint.optional("connector", |f| stock.find(&f, &stock.rows.connectors));
    let rod_stands = joint.optional_quantity("rod-stands", &STANDS);
    // Keys of another kind stay unknown, and are said to be.
    let hardware = match kind {
        Some(Kind::Bayonet) => read_bayonet(&mut joint),
        Some(Kind::Screws) => read_screws(&mut joint, stock),
        Some(Kind::Magnets) => read_magnets(&mut joint, stock),
        None => {
            for key in ["turn", "bite", "screw", "insert", "count", "magnet", "pairs", "poles", "poles-tip"] {
                let _ = joint.get(key);
            }
            None
        }
    };
    if let Some(at) = at
        && let Some((other, there)) = before.iter().find(|(_, s)| (s - at).abs() < APART_MM)
    {
        let message = format!("this is {:.0} mm from joint {other} at {there} mm", (there - at).abs());
        joint.error_at("at", message, "keep 40 mm at least between joints that come apart");
    }
    joint.finish();
    Some(JointRules {
        name,
        at_mm: at?,
        hardware: hardware?,
        reach_mm: reach?,
        plug: plug?,
        wall_mm: wall?,
        connector: connector?.cloned(),
        rod_stands_mm: rod_stands?,
    })
}

fn read_bayonet(joint: &mut Fields<'_>) -> Option<Hardware> {
    const TURN: Wanted = Wanted::of(Quantity::Angle, 20.0, 120.0, "60 deg");
    const BITE: Wanted = Wanted::length(0.1, 0.8, "0.3 mm");
    // A sixth of a turn is one move of the wrist; a plug snaps past 0.3 mm of printed plastic. (Our choice.)
    let turn = joint.quantity("turn", &TURN, Some(60.0));
    let bite = joint.quantity("bite", &BITE, Some(0.3));
    Some(Hardware::Bayonet { turn_deg: turn?, bite_mm: bite? })
}

fn read_screws(joint: &mut Fields<'_>, stock: &Stock) -> Option<Hardware> {
    let both = read_screw(joint, stock);
    let count = joint.get("count").map_or(Some(2), |f| f.whole(1..=8));
    let (screw, insert) = both?;
    Some(Hardware::Screws { screw, insert, count: count? })
}

fn read_magnets(joint: &mut Fields<'_>, stock: &Stock) -> Option<Hardware> {
    let magnet = read_magnet(joint, "disc-6x3", stock);
    let pairs = joint.get("pairs").map_or(Some(2), |f| f.whole(2..=12));
    let poles = read_poles(joint, ["poles", "poles-tip"], pairs);
    Some(Hardware::Magnets { magnet: magnet?, pairs: pairs?, poles: poles? })
}
