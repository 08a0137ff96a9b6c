//! Does it rest well in the hand: mass, what wrist and hands hold, and is the grip as thick and long as the wearer's hand asks?

use super::{Checked, Work, note};
use crate::finding::{Band, Finding, Input, SHAPE, input};
use crate::project::Project;
use crate::strength::Carried;

/// Loads of the body for an hour, as shares of the most it can: 14 % with rests, 7.9 % without (Björkstén & Jonsson, Scand. J.
/// Work Environ. Health 3, 1977); the wrist's most sideways 11.0 N·m and the hand's grip 231 N.
const WRIST_NMM: f64 = 0.14 * 11_000.0;
const WRIST_SOURCE: &str = "14 % of the wrist's most, 11.0 N m: what is borne for an hour with rests (Scand. J. Work Environ. Health 3, 23, 1977)";
const HAND_N: f64 = 0.14 * 231.0;
const HAND_SOURCE: &str = "14 % of a grip of 231 N: what is borne for an hour with rests (Scand. J. Work Environ. Health 3, 23, 1977; PMC3855544)";
/// Held where it balances: less than a wrist notices, N·mm (our choice).
const BALANCED_NMM: f64 = 100.0;
/// An ergonomics guide's masses for tools: in one hand; away from the body.
const ONE_HAND_G: f64 = 1400.0;
const TWO_HANDS_G: f64 = 2300.0;
/// Hands and bodies, mm: medians of ANSUR II (its public data file), men and women: stature 1755 and 1626, length of the hand 193 and 180,
/// breadth 88 and 78.
const HAND_OF_HEIGHT: f64 = 0.5 * (193.0 / 1755.0 + 180.0 / 1626.0);
const HAND_MM: f64 = 0.5 * (193.0 + 180.0);
const BREADTH_OF_HAND: f64 = 0.5 * (88.0 / 193.0 + 78.0 / 180.0);
/// Handles for a hand as long as that: 30 to 50 mm thick (ergonomics guides), and 5 mm more either way for hands as they are
/// and gloves (our choice).
const HANDLE_MM: [f64; 2] = [25.0, 55.0];
/// As long for each mm of a hand's breadth: at least 100 mm (ergonomics guides), which are for the broadest hands too: 96 mm (ANSUR II,
/// men, 95 of 100).
const LONG: f64 = 100.0 / 96.0;

pub(super) fn check(work: &Work, c: &Carried) -> Vec<Finding> {
    let mut all = weighs(c);
    let palm = Palm::of(work.project);
    all.extend(c.girth_mm.map(|girth| thick(girth, c, &palm)));
    all.push(long(c, &palm));
    all
}

/// Where masses come from.
const EVERYTHING: &str = "pieces, spine, strips and parts";

/// What is held level, and where.
fn carried(c: &Carried) -> [Input; 3] {
    [
        input("mass", c.mass_g, "g", EVERYTHING),
        input("balances at", c.balance_mm, "mm", EVERYTHING),
        input("held at", c.hands.lead_mm, "mm", if c.hands.is_said { "strength.hand" } else { "the grip's place" }),
    ]
}

fn weighs(c: &Carried) -> Vec<Finding> {
    let mut all = Vec::new();
    let two = c.hands.other_mm.is_some();
    let at = Some([c.hands.lead_mm; 2]);
    let held = match c.hands.other_mm {
        Some(other) => format!("in two hands at stations {other:.0} and {:.0} mm", c.hands.lead_mm),
        None => format!("in one hand at station {:.0} mm", c.hands.lead_mm),
    };
    let limit = if two { TWO_HANDS_G } else { ONE_HAND_G };
    all.push(
        Checked {
            id: "mass_hand",
            subject: "prop".into(),
            station_mm: Some([c.balance_mm; 2]),
            value: Band::factor(c.mass_g, 0.93, 1.1),
            unit: "g",
            min: None,
            max: Some(limit),
            source: "an ergonomics guide for tools: 1.4 kg in one hand, 2.3 kg away from the body".into(),
            message: format!(
                "{:.0} g with everything in it, balanced at station {:.0} mm; held {held}. Turned about the leading hand it is as heavy as {:.3} kg m2.",
                c.mass_g,
                c.balance_mm,
                c.swing_gmm2 * 1e-9
            ),
            remedy: "less infill, a lighter spine or smaller cell".into(),
        }
        .finding()
        .worked_from([
            input("balances at", c.balance_mm, "mm", EVERYTHING),
            input("inertia about the hand", c.swing_gmm2 * 1e-9, "kg m2", EVERYTHING),
        ]),
    );
    let mut wrist = format!(
        "Held level in one hand, the wrist holds {:.2} N m, {:.0} % of the most that a wrist can (11.0 N m). ",
        c.wrist_nmm * 1e-3,
        100.0 * c.wrist_nmm / 11_000.0
    );
    wrist += &match c.pommel {
        _ if c.wrist_nmm < BALANCED_NMM => "It is held where it balances.".to_owned(),
        Some([mass, inertia]) => format!(
            "10 g less at the tip take {:.0} % off; {mass:.0} g more at the butt would halve it, and make it {:.0} % heavier to swing.",
            1000.0 * c.tip_nmm_g / c.wrist_nmm,
            100.0 * (inertia / c.swing_gmm2 - 1.0)
        ),
        None => "The butt is no lever to balance it from there.".to_owned(),
    };
    match c.hand_n {
        Some(force) => {
            all.push(note("wrist_holds", "grip".into(), at, c.wrist_nmm * 1e-3, "N m", wrist)
            .worked_from(carried(c)));
            all.push(
                Checked {
                    id: "hands_hold",
                    subject: "grip".into(),
                    station_mm: at,
                    value: Band::factor(force, 0.93, 1.1),
                    unit: "N",
                    min: None,
                    max: Some(HAND_N),
                    source: HAND_SOURCE.into(),
                    message: format!("Held level in two hands, the one that bears more presses with {force:.0} N."),
                    remedy: "hands further apart (strength.hand, strength.other-hand), a mass at the butt, or less near the tip".into(),
                }
                .finding()
                .worked_from(carried(c).into_iter().chain(c.hands.other_mm.map(|at| input("and at", at, "mm", "strength.other-hand")))),
            );
        }
        None => all.push(
            Checked {
                id: "wrist_holds",
                subject: "grip".into(),
                station_mm: at,
                value: Band::factor(c.wrist_nmm * 1e-3, 0.93, 1.1),
                unit: "N m",
                min: None,
                max: Some(WRIST_NMM * 1e-3),
                source: WRIST_SOURCE.into(),
                message: wrist,
                remedy: "hold it nearer to its balance (strength.hand), in two hands (strength.other-hand), put a mass at the butt or less near the tip".into(),
            }
            .finding()
            .worked_from(carried(c)),
        ),
    }
    all
}

/// A hand that holds it.
struct Palm {
    length_mm: f64,
    /// Whose, in words.
    whose: &'static str,
}

impl Palm {
    /// As long as the project says, or as hands of people so tall are on the mean.
    fn of(project: &Project) -> Palm {
        match (project.wearer_hand_mm, project.wearer_mm) {
            (Some(length_mm), _) => Palm { length_mm, whose: "the wearer's hand" },
            (None, Some(height)) => {
                Palm { length_mm: HAND_OF_HEIGHT * height, whose: "the hand of somebody as tall as the wearer" }
            }
            (None, None) => Palm { length_mm: HAND_MM, whose: "a grown hand" },
        }
    }

    fn breadth_mm(&self) -> f64 {
        BREADTH_OF_HAND * self.length_mm
    }

    fn words(&self) -> String {
        format!("{}, {:.0} mm long and {:.0} mm broad", self.whose, self.length_mm, self.breadth_mm())
    }
}

fn thick(girth: f64, c: &Carried, palm: &Palm) -> Finding {
    let thick = girth / std::f64::consts::PI;
    let [least, most] = HANDLE_MM.map(|mm| mm / HAND_MM * palm.length_mm);
    Checked {
        id: "grip_girth",
        subject: "grip".into(),
        station_mm: Some([c.hands.lead_mm; 2]),
        value: Band::exact(thick),
        unit: "mm",
        min: Some(least),
        max: Some(most),
        source: format!(
            "handles 30 to 50 mm thick, 38 mm best, and room for gloves (ergonomics guides for tools), as {} is to one of {HAND_MM:.0} mm (ANSUR II)",
            palm.words()
        ),
        message: format!(
            "Where the leading hand is, it is {girth:.0} mm round, as thick as a rod of {thick:.0} mm; {} is longest at ease round {:.0} mm.",
            palm.words(),
            38.0 / HAND_MM * palm.length_mm
        ),
        remedy: "another place for the hand (strength.hand), a thinner or thicker grip, or the hand that holds it (wearer.hand)".into(),
    }
    .finding()
    .worked_from([
        input("round", girth, "mm", SHAPE),
        input("hand's length", palm.length_mm, "mm", palm.whose),
        input("handles are made for a hand of", HAND_MM, "mm", "ANSUR II"),
        input("thickness at the least", HANDLE_MM[0], "mm", "ergonomics guides for tools, and gloves"),
        input("thickness at the most", HANDLE_MM[1], "mm", "ergonomics guides for tools, and gloves"),
    ])
}

fn long(c: &Carried, palm: &Palm) -> Finding {
    let need = LONG * palm.breadth_mm();
    let hands = if c.hands.other_mm.is_some() { "each of two hands has" } else { "the hand has" };
    Checked {
        id: "grip_length",
        subject: "grip".into(),
        station_mm: Some([c.hands.lead_mm; 2]),
        value: Band::exact(c.hands.room_mm),
        unit: "mm",
        min: Some(need),
        max: None,
        source: "handles at least 100 mm long (ergonomics guides for tools) for the broadest hands, 96 mm (ANSUR II), and as the hand's breadth".into(),
        message: format!("Of what is held, {hands} {:.0} mm of length for itself; {} asks for {need:.0} mm.", c.hands.room_mm, palm.words()),
        remedy: "hands elsewhere (strength.hand, strength.other-hand), a longer grip, or the hand that holds it (wearer.hand)".into(),
    }
    .finding()
    .worked_from([
        input("hand's breadth", palm.breadth_mm(), "mm", palm.whose),
        input("length for each mm of breadth", LONG, "1", "ergonomics guides for tools, ANSUR II"),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::finding::Verdict;
    use crate::strength::Hands;

    fn project(wearer: &str) -> Project {
        let text = format!(
            "[prop]\nname = \"Rod\"\n{wearer}[shape]\nfile = \"rod.stl\"\n[printer.a]\nkind = \"filament-180\"\n"
        );
        crate::project::parse(&text, &Catalogue::built_in()).unwrap()
    }

    fn carried(room_mm: f64, girth_mm: f64) -> Carried {
        Carried {
            hands: Hands { lead_mm: 200.0, other_mm: None, is_said: false, room_mm },
            mass_g: 500.0,
            balance_mm: 300.0,
            wrist_nmm: 500.0,
            hand_n: None,
            swing_gmm2: 1e8,
            girth_mm: Some(girth_mm),
            pommel: None,
            tip_nmm_g: 7.0,
        }
    }

    /// ANSUR II, medians: women 1626 mm tall have hands of 180 by 78 mm, men of 1755 mm 193 by 88 mm; within 2 % and 3 %.
    #[test]
    fn hands_grow_with_those_who_have_them() {
        for (height, length, breadth) in [("1626 mm", 180.0, 78.0), ("1755 mm", 193.0, 88.0)] {
            let palm = Palm::of(&project(&format!("[wearer]\nheight = \"{height}\"\n")));
            assert!((palm.length_mm / length - 1.0).abs() < 0.02, "{}", palm.length_mm);
            assert!((palm.breadth_mm() / breadth - 1.0).abs() < 0.03, "{}", palm.breadth_mm());
        }
        assert_eq!(Palm::of(&project("[wearer]\nheight = \"168 cm\"\nhand = \"150 mm\"\n")).length_mm, 150.0);
        assert_eq!(Palm::of(&project("")).length_mm, HAND_MM);
    }

    /// A rod of 52 mm suits a grown hand and is too thick for a child's of 140 mm, whose most are 55·140/186.5 = 41.3 mm; 80 mm
    /// of length are too short for a hand of 186.5 mm, whose breadth of 83 mm asks for 86.4 mm, and enough for the child's.
    #[test]
    fn a_grip_is_judged_against_the_hand() {
        let (grown, child) = (Palm::of(&project("")), Palm::of(&project("[wearer]\nhand = \"140 mm\"\n")));
        let rod = carried(80.0, 52.0 * std::f64::consts::PI);
        let girths = [&grown, &child].map(|palm| thick(rod.girth_mm.unwrap(), &rod, palm));
        assert_eq!(girths.each_ref().map(|f| f.verdict), [Verdict::Holds, Verdict::Fails]);
        assert!((girths[1].limit.as_ref().unwrap().max.unwrap() - 41.29).abs() < 0.01);
        let lengths = [&grown, &child].map(|palm| long(&rod, palm));
        assert_eq!(lengths.each_ref().map(|f| f.verdict), [Verdict::Fails, Verdict::Holds]);
        assert!((lengths[0].limit.as_ref().unwrap().min.unwrap() - 86.4).abs() < 0.3);
        assert!(
            lengths[1].message.contains("the wearer's hand, 140 mm long and 62 mm broad"),
            "{}",
            lengths[1].message
        );
    }
}
