//! What joints bear: glued faces, collars and plugs, pegs.
//!
//! Each way of holding is asked alone, and the strongest counts: what holds alone holds with the others' help too. The spine
//! runs through by itself, in the bar of the whole.

use super::cases::{CaseKind, Found};
use super::jointed::Jointed;
use super::sections::{Wall, along};
use super::{StrengthError, StrengthWork};
use crate::catalogue::Glue;
use crate::outcome::{Joint, JointKind};
use crate::project::Side;
use beam::glue::{Face, JointError, Plug, face};
use beam::section::{Inside, Material, Outline, Region, properties, stress};
use beam::{DVec2, outlines};
use solid::section::Basis;

/// A collar or plug is cut so far beyond the joint's face, mm.
const BEYOND_MM: f64 = 1.5;
/// Bending strength of peg stock, MPa: pultruders' charts (the weaker end), 6061-T6 yield, beech from memory.
const PEGS_MPA: [(&str, f64); 2] = [("glass", 414.0), ("aluminium", 276.0)];
const WOOD_MPA: f64 = 103.0;
/// How far pegs and plugs, which are not printed to a spread of their own, lie either side.
const SPREAD: f64 = 0.3;
/// As good as unloaded.
const MOST: f64 = 1e6;

/// What a joint bears.
#[derive(Clone, Debug, PartialEq)]
pub struct JointStrength {
    /// Its number.
    pub number: u32,
    /// Station, mm.
    pub station_mm: f64,
    /// What holds it, in words.
    pub by: &'static str,
    /// The case that asks most.
    pub case: &'static str,
    /// What would give way first then, in words.
    pub governs: &'static str,
    /// Moment that it carries then, N·mm.
    pub moment_nmm: f64,
    /// Strength over stress.
    pub factor: f64,
    /// How far that may lie either side, 0 to 1.
    pub spread: f64,
    /// Strength over stress when the tip bumps.
    pub knock: f64,
    /// How far it tilts before it bears, radians.
    pub play_rad: f64,
}

/// Strength over stress, and what governs it.
type Gives = (f64, &'static str);

fn first_of(a: Gives, b: Gives) -> Gives {
    if b.0 < a.0 { b } else { a }
}

/// One way in which a joint holds.
struct Way<'a> {
    by: &'static str,
    spread: f64,
    factor: Box<dyn Fn(&Inside) -> Gives + Send + Sync + 'a>,
}

/// A joint with all that holds it; the spine that runs through has no part in that.
pub(super) struct Held<'a> {
    joint: &'a Joint,
    stop: usize,
    ways: Vec<Way<'a>>,
}

/// Every joint but caps, which carry nothing.
pub(super) fn held<'a>(work: &'a StrengthWork, walls: &[Wall], bar: &Jointed) -> Result<Vec<Held<'a>>, StrengthError> {
    let mut all = Vec::new();
    for joint in work.joints() {
        let stop = bar.stop_of(joint);
        if stop == 0 || stop >= walls.len() || joint.take_down.as_ref().is_some_and(|t| t.cap) {
            continue;
        }
        all.push(Held { joint, stop, ways: ways(work, joint, &walls[stop - 1], &walls[stop])? });
    }
    Ok(all)
}

/// What each bears at the most, by the strongest of its ways.
pub(super) fn judge(held: &[Held], walls: &[Wall], bar: &Jointed, found: &Found) -> Vec<JointStrength> {
    held.iter().filter_map(|h| strongest(h, walls, bar, found)).collect()
}

fn strongest(held: &Held, walls: &[Wall], bar: &Jointed, found: &Found) -> Option<JointStrength> {
    let before = held.stop - 1;
    // A spine that is glued in on both sides takes its share past the joint; a loose one is a bar of its own.
    let shared = bar.glued && bar.spine[before].is_some() && bar.spine[held.stop].is_some();
    let insides: Vec<Inside> = found
        .ends
        .iter()
        .map(|ends| {
            let inside = ends[bar.line.spans[before]][1].inside();
            if shared { walls[before].section.share_of(&bar.whole[before], &inside) } else { inside }
        })
        .collect();
    let each = held.ways.iter().filter_map(|way| {
        let asked = insides.iter().zip(&found.cases).map(|(inside, case)| (case, (way.factor)(inside), inside));
        let knock = asked.clone().filter(|a| a.0.kind == CaseKind::Strike).map(|a| a.1.0).fold(MOST, f64::min);
        let (case, (factor, governs), inside) = asked.reduce(|a, b| if b.1.0 < a.1.0 { b } else { a })?;
        Some(JointStrength {
            number: held.joint.number,
            station_mm: held.joint.frame.station_mm,
            by: way.by,
            case: case.title,
            governs,
            moment_nmm: libm::hypot(inside.about_y_nmm, inside.about_z_nmm),
            factor: factor.min(MOST),
            spread: way.spread,
            knock,
            play_rad: play(held.joint),
        })
    });
    each.reduce(|a, b| if b.low() > a.low() { b } else { a })
}

impl JointStrength {
    /// Strength over stress of the weakest material of its spread.
    pub fn low(&self) -> f64 {
        self.factor * (1.0 - self.spread)
    }
}

fn play(joint: &Joint) -> f64 {
    let plug = joint.take_down.as_ref().and_then(|t| Some((Plug::new(t.section_mm, t.reach_mm).ok()?, t.gap_mm)));
    plug.map_or(0.0, |(plug, gap)| plug.play_rad(2.0 * gap))
}

fn over(bears: f64, asked: f64) -> f64 {
    if asked > bears / MOST { bears / asked } else { MOST }
}

fn ways<'a>(work: &'a StrengthWork, joint: &'a Joint, butt: &Wall, tip: &Wall) -> Result<Vec<Way<'a>>, StrengthError> {
    let fault = |e: &dyn std::fmt::Display| StrengthError::Joint { joint: joint.number, reason: e.to_string() };
    let smaller = if butt.section.plain.area_mm2 <= tip.section.plain.area_mm2 { butt } else { tip };
    let weaker = [butt, tip].map(|w| {
        let holding = &work.split.pieces[w.piece].rules.material.holding;
        (holding.strength_mpa[along(&work.printed.pieces[w.piece])], holding.spread)
    });
    let (plastic, spread) = if weaker[0].0 <= weaker[1].0 { weaker[0] } else { weaker[1] };
    let mut all = Vec::new();
    if !joint.kind.comes_apart() {
        let glue = &work.project.strength.glue;
        let face = glue_face(joint.number, joint.glue_mm2, &smaller.regions[0].outlines)?;
        all.push(Way {
            by: "its glued face",
            spread: glue.spread,
            factor: Box::new(move |inside| glued(&face, glue, inside)),
        });
    }
    if let Some(sleeve) = sleeve(work, joint).map_err(|e| fault(&e))? {
        let (regions, plain, plug) = sleeve;
        all.push(Way {
            by: if joint.kind == JointKind::Collar { "its collar" } else { "its plug" },
            spread,
            factor: Box::new(move |inside| {
                let bent = stress(&regions, &plain, inside).ok().and_then(|s| s.first().copied());
                let bent = bent.map_or(0.0, |s| s.most_mpa.max(-s.least_mpa));
                first_of(
                    (over(plastic, bent), "its bending"),
                    (over(plastic, plug.bearing_mpa(inside)), "what it presses on"),
                )
            }),
        });
    }
    if let Some(pegs) = &joint.pegs {
        let stock = PEGS_MPA.iter().find(|(name, _)| pegs.stock.contains(name)).map_or(WOOD_MPA, |p| p.1);
        let peg = Plug::new(pegs.diameter_mm, pegs.engaged_mm).map_err(|e| fault(&e))?;
        let count = f64::from(pegs.count.max(1));
        all.push(Way {
            by: "its pegs",
            spread: SPREAD.max(spread),
            factor: Box::new(move |inside| pegged(&peg, (pegs.diameter_mm, count), [stock, plastic], inside)),
        });
    }
    Ok(all)
}

/// The face that takes the glue.
fn glue_face(joint: u32, glue_mm2: f64, outlines: &[Outline]) -> Result<Face, StrengthError> {
    let made = if glue_mm2 > 0.0 { face(outlines) } else { Err(JointError::NoGlueArea) };
    made.map_err(|e| StrengthError::Joint { joint, reason: e.to_string() })
}

/// Strength over stress of a glued face: pull and shear together as a sum of squares; pushing parts nothing.
fn glued(face: &Face, glue: &Glue, inside: &Inside) -> Gives {
    let found = face.stress(inside);
    let (pull, shear) = (found.pull_mpa.max(0.0) / glue.pull_mpa, found.shear_mpa / glue.shear_mpa);
    (over(1.0, libm::hypot(pull, shear)), if shear > pull { "shear of the glue" } else { "pull at its edge" })
}

/// Strength over stress of pegs that share evenly: of the stock in bending, and of the plastic that it presses on.
fn pegged(peg: &Plug, (diameter_mm, count): (f64, f64), [stock, plastic]: [f64; 2], inside: &Inside) -> Gives {
    let share = Inside {
        about_y_nmm: inside.about_y_nmm / count,
        about_z_nmm: inside.about_z_nmm / count,
        shear_n: inside.shear_n / count,
        ..*inside
    };
    let modulus = std::f64::consts::PI * diameter_mm * diameter_mm * diameter_mm / 32.0;
    let bent = libm::hypot(share.about_y_nmm, share.about_z_nmm) / modulus;
    first_of((over(stock, bent), "their bending"), (over(plastic, peg.bearing_mpa(&share)), "the plastic around them"))
}

type Sleeve = (Vec<Region>, beam::section::Properties, Plug);

/// The section of a collar or plug just beyond the face, with how deep it reaches.
fn sleeve(work: &StrengthWork, joint: &Joint) -> Result<Option<Sleeve>, String> {
    // A collar stands on the butt-side piece; a plug where the joint says.
    let carrier = match &joint.take_down {
        Some(apart) => usize::from(apart.plug == Side::Tip),
        None if joint.kind == JointKind::Collar => 0,
        None => return Ok(None),
    };
    let Some(index) = work.printed.pieces.iter().position(|p| p.number == joint.pieces[carrier]) else {
        return Ok(None);
    };
    let piece = &work.printed.pieces[index];
    let mesh = piece.mesh.transformed(&piece.to_prop);
    let beyond = if carrier == 0 { BEYOND_MM } else { -BEYOND_MM };
    let frame = &joint.frame;
    let basis = Basis { origin: frame.point + frame.along * beyond, x: frame.across, y: frame.through };
    let loops = solid::section::section(&mesh, &basis).map_err(|e| e.to_string())?;
    let outlines = outlines(&loops, 0.02);
    if outlines.is_empty() {
        return Ok(None);
    }
    let even = Material { e_mpa: 1.0, g_mpa: 1.0, density_kg_m3: 0.0 };
    let regions = vec![Region { material: even, outlines }];
    let plain = properties(&regions).map_err(|e| e.to_string())?;
    let reach = |way: DVec2| beam::section::reach(&regions, plain.centroid_mm, way);
    let widths = [DVec2::X, DVec2::Y].map(|w| reach(w).1 - reach(w).0);
    let depth = match &joint.take_down {
        Some(apart) => apart.reach_mm,
        None => {
            // Not of the box around it: that of a bent piece reaches further.
            let ends = mesh.vertices.iter().map(|p| (*p - frame.point).dot(frame.along));
            ends.fold(BEYOND_MM, f64::max)
        }
    };
    let plug = Plug::new(widths[0].min(widths[1]), depth).map_err(|e| e.to_string())?;
    Ok(Some((regions, plain, plug)))
}

#[cfg(test)]
mod tests {
    use super::*;

    const FREE: Inside =
        Inside { pull_n: 0.0, about_y_nmm: 0.0, about_z_nmm: 0.0, torque_nmm: 0.0, shear_n: DVec2::ZERO };

    fn near(found: f64, wanted: f64) {
        assert!((found / wanted - 1.0).abs() < 1e-9, "{found} {wanted}");
    }

    /// A square face of 20 mm: M c/I = 0.75 MPa for 1 N m, F/A = 1 MPa for 400 N (textbook: F/A + M c/I; from memory).
    #[test]
    fn a_glued_face_bears_what_the_textbook_says() {
        let square = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)].map(|(y, z)| DVec2::new(y, z)).to_vec();
        let face = face(&[Outline { outer: square, holes: Vec::new() }]).unwrap();
        let mut glue = crate::catalogue::Catalogue::built_in().glues[0].clone();
        (glue.pull_mpa, glue.shear_mpa) = (1.0, 2.0);
        let bent = Inside { about_y_nmm: 1000.0, ..FREE };
        near(glued(&face, &glue, &bent).0, 1.0 / 0.75);
        let pushed = Inside { pull_n: -400.0, ..FREE };
        assert_eq!(glued(&face, &glue, &pushed).0, MOST);
        let sheared = Inside { shear_n: DVec2::new(400.0, 0.0), ..FREE };
        assert_eq!(glued(&face, &glue, &sheared), (2.0, "shear of the glue"));
        let both = Inside { about_y_nmm: 1000.0, ..sheared };
        near(glued(&face, &glue, &both).0, 1.0 / libm::hypot(0.75, 0.5));
        assert_eq!(glued(&face, &glue, &both).1, "pull at its edge");
    }

    #[test]
    fn a_joint_without_a_face_to_glue_is_named() {
        let square = |a: f64| [(0.0, 0.0), (a, 0.0), (a, a), (0.0, a)].map(|(y, z)| DVec2::new(y, z)).to_vec();
        let whole = [Outline { outer: square(20.0), holes: Vec::new() }];
        assert!(glue_face(3, 400.0, &whole).is_ok());
        let gone = [Outline { outer: square(20.0), holes: vec![square(20.0)] }];
        for (mm2, outlines) in [(0.0, &whole[..]), (400.0, &gone[..]), (400.0, &[])] {
            let said = glue_face(3, mm2, outlines).unwrap_err().to_string();
            assert!(said.starts_with("joint J3: the joint has no glue area") && said.contains("pegs"), "{said}");
        }
    }

    /// Two pegs of 6 mm, 12 mm deep: 2 N m are 1 N m each, 32 M/(pi d^3) = 47.2 MPa of bending and 6 M/(d l^2) = 6.94 MPa on
    /// the plastic (textbook, from memory). Beech bears 103 MPa: 2.18 times; weak plastic governs instead.
    #[test]
    fn pegs_break_or_press_out_whichever_is_first() {
        let peg = Plug::new(6.0, 12.0).unwrap();
        let bent = Inside { about_y_nmm: 2000.0, ..FREE };
        let stock = 103.0 / (32.0 * 1000.0 / (std::f64::consts::PI * 216.0));
        let of = |count, bear| pegged(&peg, (6.0, count), bear, &bent);
        near(of(2.0, [103.0, 16.0]).0, stock);
        assert_eq!(of(2.0, [103.0, 16.0]).1, "their bending");
        near(of(2.0, [103.0, 4.0]).0, 4.0 / (6.0 * 1000.0 / (6.0 * 144.0)));
        assert_eq!(of(2.0, [103.0, 4.0]).1, "the plastic around them");
        near(of(4.0, [103.0, 16.0]).0, 2.0 * stock);
        assert_eq!(pegged(&peg, (6.0, 2.0), [103.0, 16.0], &FREE).0, MOST);
    }
}
