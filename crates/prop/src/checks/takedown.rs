//! Joints that come apart: do they go together along their way, hold, and go together in one position only? And do the
//! pegs of the others reach far enough?

use super::{Checked, Laid, Work, magnets, note, spread};
use crate::finding::{Band, CHOICE, Finding, PIECES, input};
use crate::joint::PEG_DIAMETERS;
use crate::outcome::{Joint, JointKind, TakeDown};
use crate::project::{Show, Side};
use rayon::prelude::*;
use solid::{Bvh, DAffine3, DVec3};

/// About so many points of a plug are followed on their way.
const SAMPLES: usize = 2500;
/// Steps of the push, and of the turn in degrees.
const PUSH_STEPS: usize = 24;
const TURN_STEP_DEG: f64 = 4.0;
/// Steps in which lugs are followed past their bumps, degrees.
const BUMP_STEP_DEG: f64 = 0.5;
/// A lug this near to a bump's ridge is snapping past it, mm.
const BUMP_NEAR_MM: f64 = 2.5;
/// A bayonet is pulled so far, mm, and must have bitten into its ways by so much.
const PULL_MM: f64 = 1.0;
const HOLDS_MM: f64 = 0.2;
/// What a bump must bite, mm: felt, and not so much that it wears off (our choice).
const BITE_MM: [f64; 2] = [0.1, 0.8];
/// The most that a joint with a plug may tilt, degrees: 9 mm at the end of half a metre (our choice).
const PLAY_DEG: f64 = 1.0;

pub(super) fn check(work: &Work, laid: &[Laid]) -> Vec<Finding> {
    let mut found = Vec::new();
    for joint in &work.split.joints {
        found.extend(pegs(joint));
        found.extend(shown(work, joint));
        let Some(apart) = &joint.take_down else { continue };
        let Some(way) = Way::of(work, laid, joint, apart) else { continue };
        found.push(way.path(work));
        if joint.kind == JointKind::Bayonet {
            found.push(way.locks());
            found.push(way.snaps());
        }
        found.extend(play(joint, apart));
        if !apart.magnets.is_empty() {
            let z = apart.axes.matrix3.z_axis;
            let into = if apart.plug == Side::Butt { -z } else { z };
            let pieces = joint.pieces.map(|n| laid.get(n as usize - 1).map(|l| &*l.surface));
            found.extend(magnets::check(&magnets::Facing {
                pairs: &apart.magnets,
                subject: named(joint),
                station_mm: at(joint),
                sides: ["butt side", "tip side"],
                keys: ["poles", "poles-tip"],
                pieces,
                into: [into, -into],
            }));
        }
    }
    found
}

fn named(joint: &Joint) -> String {
    format!("joint J{}", joint.number)
}

fn at(joint: &Joint) -> Option<[f64; 2]> {
    Some([joint.frame.station_mm; 2])
}

/// A plug's way into its socket.
struct Way<'a> {
    joint: &'a Joint,
    apart: &'a TakeDown,
    /// Points of the plug, seated, in the joint's axes.
    plug: Vec<DVec3>,
    /// The piece with the socket.
    socket: &'a Bvh,
}

impl<'a> Way<'a> {
    fn of(work: &Work, laid: &'a [Laid], joint: &'a Joint, apart: &'a TakeDown) -> Option<Way<'a>> {
        let carrier = usize::from(apart.plug == Side::Tip);
        let index = |side: usize| work.printed.pieces.iter().position(|p| p.number == joint.pieces[side]);
        let (own, other) = (index(carrier)?, index(1 - carrier)?);
        let piece = &work.printed.pieces[own];
        let to_joint = apart.axes.inverse() * piece.to_prop;
        let mesh = piece.mesh.transformed(&to_joint);
        // What stands out beyond the cut, spread over by itself.
        let outside: Vec<u32> = (0..mesh.triangles.len())
            .filter(|t| mesh.corners(*t).iter().any(|p| p.z > 0.1))
            .map(|t| t as u32)
            .collect();
        let plug = spread(&mesh.subset(&outside), SAMPLES, &|p| p.z > 0.1);
        Some(Way { joint, apart, plug, socket: &laid[other].surface })
    }

    /// Where a point of the plug is with the plug pulled back and turned back so far, in the joint's axes.
    fn moved(p: DVec3, back_mm: f64, back_deg: f64) -> DVec3 {
        DAffine3::from_rotation_z(-back_deg.to_radians()).transform_point3(p) - DVec3::Z * back_mm
    }

    fn bump_near(&self, p: DVec3) -> bool {
        self.apart.bumps.iter().any(|(b, _)| (b.truncate() - p.truncate()).length() < BUMP_NEAR_MM)
    }

    /// The stages of the way: how far back, how far turned back.
    fn stages(&self) -> Vec<(f64, f64)> {
        let turn = self.apart.turn_deg;
        let far = self.apart.reach_mm + 2.0;
        let push = (0..=PUSH_STEPS).map(|k| (far * (1.0 - k as f64 / PUSH_STEPS as f64), turn));
        let steps = (turn / TURN_STEP_DEG).ceil() as usize;
        let turning = (1..=steps).map(|k| (0.0, turn * (1.0 - k as f64 / steps as f64)));
        push.chain(turning).collect()
    }

    /// The least distance from the wanted points of the plug to the socket's piece over some stages, negative inside it, and how
    /// far back that is.
    fn least(&self, stages: &[(f64, f64)], wanted: impl Fn(DVec3, f64) -> bool + Sync) -> (f64, f64) {
        let tighter = |a: (f64, f64), b: (f64, f64)| if b.0 < a.0 || (b.0 == a.0 && b.1 > a.1) { b } else { a };
        let along = |p: &DVec3| {
            let mut last: Option<(DVec3, f64, bool)> = None;
            let mut least = (f64::INFINITY, 0.0);
            for (back, turned) in stages {
                let moved = Self::moved(*p, *back, *turned);
                if !wanted(moved, *turned) {
                    continue;
                }
                let at = self.apart.axes.transform_point3(moved);
                let distance = self.socket.nearest(at, f64::INFINITY).map_or(f64::INFINITY, |n| n.distance_mm);
                // Balls that hold no surface and meet lie on one side of it.
                let carried = last.filter(|(from, free, _)| from.distance(at) < 0.999 * (free + distance));
                let is_inside = carried.map_or_else(|| self.socket.is_inside(at), |(.., inside)| inside);
                last = Some((at, distance, is_inside));
                least = tighter(least, (if is_inside { -distance } else { distance }, *back));
            }
            least
        };
        self.plug.par_iter().map(along).reduce(|| (f64::INFINITY, 0.0), tighter)
    }

    fn path(&self, work: &Work) -> Finding {
        // A bump is meant to be in the way while the plug turns; seated, nothing may press.
        let (gap, back) = self.least(&self.stages(), |p, turned| turned <= 0.0 || !self.bump_near(p));
        let printers = work.split.pieces.iter().filter(|p| self.joint.pieces.contains(&p.number));
        let printers = printers.flat_map(|p| &p.rules.printers).map(|p| &work.project.printers[*p]);
        let fit = crate::rail::layout::Fit::over(printers);
        let then = if self.apart.turn_deg > 0.0 {
            format!(", then turned {:.0} degrees", self.apart.turn_deg)
        } else {
            String::new()
        };
        Checked {
            id: "takedown_path",
            subject: named(self.joint),
            station_mm: at(self.joint),
            value: Band { value: gap, low: gap - fit.slot_loss_mm / 2.0, high: gap },
            unit: "mm",
            // The band holds what a socket prints narrow.
            min: Some(fit.least_gap_mm - 0.02),
            max: None,
            source: "slide-gap of the printers".into(),
            message: format!(
                "Pushed in over {:.0} mm{then}, the plug clears its socket by {gap:.2} mm as drawn (tightest {back:.0} mm before it is home).",
                self.apart.reach_mm
            ),
            remedy: "a relief cuts into the socket: move the joint, or give it a thicker wall (joint wall)".into(),
        }
        .finding()
        .worked_from([
            input("gap as drawn", gap, "mm", PIECES),
            input("printed narrower by, in all", fit.slot_loss_mm, "mm", "slot-loss of the printers"),
            input("pushed in over", self.apart.reach_mm, "mm", "joint as drawn"),
            input("turned", self.apart.turn_deg, "deg", "joint as drawn"),
        ])
    }

    fn locks(&self) -> Finding {
        let (gap, _) = self.least(&[(PULL_MM, 0.0)], |_, _| true);
        Checked {
            id: "bayonet_locks",
            subject: named(self.joint),
            station_mm: at(self.joint),
            value: Band::exact(-gap),
            unit: "mm",
            min: Some(HOLDS_MM),
            max: None,
            source: "our choice".into(),
            message: format!(
                "Turned home and pulled {PULL_MM:.0} mm apart, the lugs stand {:.2} mm in the way of their flanks.",
                (-gap).max(0.0)
            ),
            remedy: "ask for a larger turn, or move the joint to a thicker place".into(),
        }
        .finding()
        .worked_from([input("pulled", PULL_MM, "mm", CHOICE)])
    }

    fn snaps(&self) -> Finding {
        let steps = (self.apart.turn_deg / BUMP_STEP_DEG).ceil() as usize;
        let stages: Vec<(f64, f64)> =
            (1..steps).map(|k| (0.0, self.apart.turn_deg * (1.0 - k as f64 / steps as f64))).collect();
        let ring: Vec<f64> = self.apart.bumps.iter().map(|(b, _)| b.truncate().length()).collect();
        let lugs = self.plug.iter().filter(|p| ring.iter().any(|r| (p.truncate().length() - r).abs() < 1.0));
        let lugs = Way { plug: lugs.copied().collect(), ..*self };
        let (gap, _) = lugs.least(&stages, |p, _| self.bump_near(p));
        Checked {
            id: "bayonet_snaps",
            subject: named(self.joint),
            station_mm: at(self.joint),
            value: Band::exact(-gap),
            unit: "mm",
            min: Some(BITE_MM[0]),
            max: Some(BITE_MM[1]),
            source: "our choice: felt, and not worn off".into(),
            message: format!("On their way home the lugs snap past bumps that stand {:.2} mm in their way.", -gap),
            remedy: "change how far the bumps stand in the way (bite)".into(),
        }
        .finding()
        .worked_from([
            input("bumps", self.apart.bumps.len() as f64, "1", "joint as drawn"),
            input("turned", self.apart.turn_deg, "deg", "joint as drawn"),
        ])
    }
}

/// How far a plug tilts in its socket, clearance over engagement.
fn play(joint: &Joint, apart: &TakeDown) -> Option<Finding> {
    if apart.cap {
        return None;
    }
    let angle = libm::atan2(2.0 * apart.gap_mm, apart.reach_mm).to_degrees();
    Some(
        Checked {
            id: "takedown_play",
            subject: named(joint),
            station_mm: at(joint),
            value: Band::exact(angle),
            unit: "deg",
            min: None,
            max: Some(PLAY_DEG),
            source: "our choice; play is clearance over engagement".into(),
            message: format!(
                "A plug of {:.0} mm ({:.1} times the section's {:.0} mm) with {:.2} mm a side tilts by {angle:.2} degrees.",
                apart.reach_mm,
                apart.reach_mm / apart.section_mm.max(1.0),
                apart.section_mm,
                apart.gap_mm
            ),
            remedy: "ask for a longer reach, or give the printer its measured slide-gap".into(),
        }
        .finding()
        .worked_from([
            input("gap a side", apart.gap_mm, "mm", "slide-gap of the printers"),
            input("reach", apart.reach_mm, "mm", "joint as drawn"),
        ]),
    )
}

fn pegs(joint: &Joint) -> Option<Finding> {
    let p = joint.pegs.as_ref()?;
    Some(
        Checked {
            id: "peg_engaged",
            subject: named(joint),
            station_mm: at(joint),
            value: Band::exact(p.engaged_mm / p.diameter_mm),
            unit: "1",
            min: Some(PEG_DIAMETERS),
            max: None,
            source: "common practice, no source: a peg holds from two of its diameters on".into(),
            message: format!(
                "{} pegs of {:.0} mm, {:.0} mm long and {:.0} mm apart, reach {:.1} mm ({:.1} times the section's depth) into the piece that has less room; dry they play by {:.1} degrees.",
                p.count,
                p.diameter_mm,
                p.length_mm,
                p.apart_mm,
                p.engaged_mm,
                p.engaged_mm / p.section_mm.max(1.0),
                p.play_deg
            ),
            remedy: "take thinner stock (peg), or move the cut to where both pieces are solid further".into(),
        }
        .finding()
        .worked_from([
            input("reaches", p.engaged_mm, "mm", "joint as drawn"),
            input("diameter", p.diameter_mm, "mm", "catalogue: rod"),
            input("pegs", f64::from(p.count), "1", "joint as drawn"),
        ]),
    )
}

/// What of a joint can be seen on the side that is looked at: screw heads. Pegs, magnets, inserts, marks and numbers lie
/// in faces that the joint hides.
fn shown(work: &Work, joint: &Joint) -> Option<Finding> {
    let apart = joint.take_down.as_ref()?;
    let side = match joint.show {
        Show::Both => None,
        Show::Up => Some(DVec3::Z),
        Show::Down => Some(DVec3::NEG_Z),
    };
    let outward = |d: &DVec3| apart.axes.transform_vector3(*d);
    let bodies = || work.inside.bodies.iter().map(|b| &b.outer);
    // Nothing hidden may lie at the surface: a pocket's face is deep inside the section.
    let bare = apart.magnets.iter().flat_map(|m| m.face).filter(|p| {
        bodies().map(|b| -b.signed_distance(*p)).fold(f64::NEG_INFINITY, f64::max) < apart.section_mm.min(1.0) * 0.5
    });
    let bare = bare.count();
    let Some(side) = side else {
        return (!apart.holes.is_empty()).then(|| {
            note(
                "show_face",
                named(joint),
                at(joint),
                apart.holes.len() as f64,
                "1",
                format!(
                    "{} screw heads are seen: name the side that is looked at (show = \"+z\" or \"-z\") to have them turned away from it.",
                    apart.holes.len()
                ),
            )
        });
    };
    let heads = apart.holes.iter().filter(|(_, d, _)| outward(d).dot(side) > 0.35).count();
    Some(
        Checked {
            id: "show_face",
            subject: named(joint),
            station_mm: at(joint),
            value: Band::exact((heads + bare) as f64),
            unit: "1",
            min: None,
            max: Some(0.0),
            source: "show of its body".into(),
            message: format!(
                "On the side that is looked at there are {heads} screw heads; pegs, inserts, magnets, marks and numbers lie where the joint hides them."
            ),
            remedy: "take fewer screws (count), or show the other side".into(),
        }
        .finding()
        .worked_from([
            input("screw heads there", heads as f64, "1", "joint as drawn"),
            input("hidden things at the surface", bare as f64, "1", "joint as drawn"),
        ]),
    )
}
