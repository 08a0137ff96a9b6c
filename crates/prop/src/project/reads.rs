//! What stages read of a project. All else is set to nothing before a stage sees it: what it is handed is all that its
//! result can depend on, and all that its key must say.

use super::{
    Admission, BodyRules, CostRules, CutRules, Feed, FinishRules, Glow, Imprint, PartRules, PowerRules, Project,
    ShapeRules, Show, SpineRules, StrengthRules,
};
use crate::catalogue::{Bar, Electrics, Holding, Material, PartRow, Supply, optics};
use crate::cover::CoverRules;

impl Project {
    /// What says how the shape lies: its rules, and its bodies' names and roles.
    pub(crate) fn for_place(&self) -> Project {
        let bare = |rules: &BodyRules| BodyRules { wall_mm: 0.0, glow: Glow::Edges, ..outside(rules) };
        Project {
            bodies: self.bodies.iter().map(bare).collect(),
            unlisted: bare(&self.unlisted),
            light: None,
            spine: None,
            wire_bundle_mm: 0.0,
            printers: Vec::new(),
            joints: Vec::new(),
            parts: Vec::new(),
            wire_reflect: 0.0,
            windows: Vec::new(),
            power: None,
            ..self.for_inside()
        }
    }

    /// What says where windows lie and what coats the surface: windows, and of bodies where light leaves, wall and coats.
    pub(crate) fn for_windows(&self) -> Project {
        Project {
            bodies: self.bodies.iter().map(outside).collect(),
            unlisted: outside(&self.unlisted),
            windows: self.windows.clone(),
            ..self.for_place()
        }
    }

    /// What says how the strip shines, and what spine and wires send back. Walls, windows and coats come with the pieces and the
    /// windows themselves.
    pub(crate) fn for_light(&self) -> Project {
        let reflecting = |rules: &SpineRules| {
            let bare = room_of(rules);
            SpineRules { bar: Bar { reflect: rules.bar.reflect, ..bare.bar }, ..bare }
        };
        Project {
            light: self.light.clone(),
            spine: self.spine.as_ref().map(reflecting),
            wire_bundle_mm: self.wire_bundle_mm,
            wire_reflect: self.wire_reflect,
            ..self.for_place()
        }
    }

    /// What says how it is held and handled, what stiffens it, what weighs and warms it. Walls, plastics and joints come with
    /// the pieces.
    pub(crate) fn for_strength(&self) -> Project {
        Project {
            strength: self.strength.clone(),
            spine: self.spine.clone(),
            light: self.light.clone(),
            parts: self.parts.clone(),
            printers: self.printers.clone(),
            ..self.for_place()
        }
    }

    /// What shapes the inside: walls, rail, parts, joints that come apart, and the printers' clearances and beds. Not the
    /// cuts, nor what is printed of which material and laid on which plate.
    pub(crate) fn for_inside(&self) -> Project {
        Project {
            name: String::new(),
            inches: false,
            wearer_mm: None,
            wearer_hand_mm: None,
            shape: ShapeRules { file: String::new(), ..self.shape.clone() },
            bodies: self.bodies.iter().map(inner).collect(),
            unlisted: inner(&self.unlisted),
            cuts: CutRules::default(),
            plates: Vec::new(),
            rods: Vec::new(),
            spine: self.spine.as_ref().map(room_of),
            strength: StrengthRules::default(),
            plan: None,
            admission: Admission::default(),
            imprint: Imprint::default(),
            learnt: Vec::new(),
            finish: FinishRules::none(),
            cost: CostRules::none(),
            conduct: None,
            power: self
                .power
                .as_ref()
                .map(|p| PowerRules { feed: p.feed, ..PowerRules::default() })
                .filter(|p| p.feed == Some(Feed::Both)),
            parts: self.parts.iter().map(unplugged).collect(),
            ..self.clone()
        }
    }
}

/// Of a body what its windows and its outer surface depend on.
fn outside(rules: &BodyRules) -> BodyRules {
    let own = inner(rules);
    BodyRules {
        least_cavity_mm: 0.0,
        printers: Vec::new(),
        material: Material { optics: optics::UNKNOWN, ..own.material },
        ..own
    }
}

/// Of a spine the room that it takes.
fn room_of(rules: &SpineRules) -> SpineRules {
    let bar = Bar {
        title: String::new(),
        density_g_cm3: 0.0,
        reflect: 0.0,
        metal: false,
        wood: false,
        holding: Holding::NONE,
        source: String::new(),
        ..rules.bar.clone()
    };
    SpineRules { bar, glued: false, choices: Vec::new(), ..rules.clone() }
}

/// Of a part what its bay depends on.
fn unplugged(rules: &PartRules) -> PartRules {
    PartRules { row: PartRow { electrics: Electrics::Passive, ..rules.row.clone() }, ..rules.clone() }
}

/// Of a body what its inside depends on.
fn inner(rules: &BodyRules) -> BodyRules {
    BodyRules {
        material: Material {
            name: String::new(),
            title: String::new(),
            density_g_cm3: [0.0; 3],
            supply: Supply::Bottle { volume_ml: 0.0 },
            plastic: None,
            solvent: None,
            holding: Holding::NONE,
            source: String::new(),
            ..rules.material.clone()
        },
        graded: None,
        infill: 0.0,
        may_lie: false,
        joint: None,
        peg: None,
        show: Show::Both,
        cover: CoverRules::default(),
        ..rules.clone()
    }
}
