//! A blade of three pieces, 600 mm long, 60 mm wide and 20 mm thick, held against rules.

use super::*;
use crate::finding::Verdict;
use crate::outcome::JointKind;
use crate::work::tests::blade;
use solid::{DAffine3, DVec3, cuboid};

/// The blade with pieces of 200 mm each in their places, and what is found about it.
fn found(rules: &str, dry: &[u32]) -> Vec<Finding> {
    let (project, mut outcome) = blade(rules, "epoxy");
    for (k, piece) in outcome.pieces.iter_mut().enumerate() {
        piece.mesh = cuboid(DVec3::new(0.0, -30.0, -10.0), DVec3::new(200.0, 30.0, 10.0));
        piece.to_prop = DAffine3::from_translation(DVec3::X * 200.0 * k as f64);
    }
    for joint in outcome.joints.iter_mut().filter(|j| dry.contains(&j.number)) {
        joint.kind = JointKind::Magnets;
    }
    outcome.shopping = crate::shopping::shopping(&project, &outcome).0;
    judged(&project, &outcome, &Memory::default())
}

#[track_caller]
fn one(rules: &str, dry: &[u32], id: &str) -> Finding {
    let all = found(rules, dry);
    all.iter().find(|f| f.id == id).unwrap_or_else(|| panic!("{id} in {all:?}")).clone()
}

#[test]
fn a_length_is_held_against_the_event_and_the_wearer() {
    let event = |more: &str| format!("[event.fair]\nlength = \"1 m\"\n{more}");
    let short = one(&event(""), &[], "event_length");
    assert_eq!((short.verdict, short.measured.value), (Verdict::Holds, 600.0));
    let wearer = "of-wearer = 0.5\n[wearer]\nheight = \"110 cm\"";
    let own = one(&event(wearer), &[], "event_length");
    assert_eq!((own.verdict, own.limit.as_ref().and_then(|l| l.max)), (Verdict::Fails, Some(550.0)));
    assert!(
        own.message.contains("too long by 50 mm") && own.message.contains("50 % of its wearer's 1100 mm"),
        "{own:?}"
    );
    assert!(own.remedy.contains("one piece only"), "{}", own.remedy);
    let unknown = one("[event.fair]\nof-wearer = 1", &[], "event_length");
    assert_eq!(unknown.verdict, Verdict::Note);
}

#[test]
fn too_long_for_the_event_it_may_be_brought_apart() {
    let rules = "[event.fair]\nlength = \"45 cm\"\ncarried-apart = true";
    // Pieces of 200 mm: opened in the middle joints at 200 or 400 mm, parts of 200 and 400 mm.
    let apart = one(rules, &[2], "event_length");
    assert_eq!((apart.verdict, apart.measured.value), (Verdict::Holds, 400.0));
    assert!(apart.message.contains("fits only apart, at J2 (station 400 mm)"), "{}", apart.message);
    let glued = one(rules, &[], "event_length");
    assert_eq!(glued.verdict, Verdict::Fails);
    assert!(glued.remedy.contains("were J1 (station 200 mm) made to come apart") && glued.remedy.contains("400 mm"));
}

#[test]
fn a_case_takes_it_whole_apart_or_not_at_all() {
    let case = |room: &str| format!("[travel.bag]\nroom = {room}\nwall = \"5 mm\"\nsum = \"120 cm\"");
    let whole = one(&case("[\"62 cm\", \"30 cm\", \"10 cm\"]"), &[], "travel_fits");
    assert_eq!((whole.verdict, whole.measured.value), (Verdict::Holds, 600.0));
    // 430 mm inside, and 60 mm of width do not let 600 mm lie aslant.
    let apart = one(&case("[\"43 cm\", \"15 cm\", \"10 cm\"]"), &[1], "travel_fits");
    assert_eq!((apart.verdict, apart.measured.value, apart.station_mm), (Verdict::Holds, 400.0, Some([200.0, 600.0])));
    assert!(apart.message.contains("fits only apart, at J1 (station 200 mm): parts of 200 and 400 mm"), "{apart:?}");
    // 60 x 20 mm thick with their wrapping, beside each other.
    let both = one(&case("[\"43 cm\", \"15 cm\", \"10 cm\"]"), &[1], "travel_together");
    assert_eq!((both.verdict, both.measured.value), (Verdict::Holds, 2.0));
    let narrow = one(&case("[\"43 cm\", \"7 cm\", \"5 cm\"]"), &[1], "travel_together");
    assert_eq!((narrow.verdict, narrow.measured.value), (Verdict::Unsure, 1.0));
    assert!(narrow.message.contains("1 of 2 parts"), "{narrow:?}");
    let would = one(&case("[\"43 cm\", \"15 cm\", \"10 cm\"]"), &[], "travel_fits");
    assert_eq!(would.verdict, Verdict::Fails);
    assert!(
        would.remedy.contains("J1 (station 200 mm) made to come apart") && would.remedy.contains("at = \"200 mm\"")
    );
    // Both joints would have to come apart for a case of 25 cm, of which one does already.
    let both = one(&case("[\"25 cm\", \"15 cm\", \"10 cm\"]"), &[2], "travel_fits");
    assert!(both.verdict == Verdict::Fails && both.remedy.contains("were J1 (station 200 mm) made"), "{both:?}");
    let never = one(&case("[\"15 cm\", \"8 cm\", \"8 cm\"]"), &[1, 2], "travel_fits");
    assert!(never.verdict == Verdict::Fails && never.message.contains("Too large even apart"), "{never:?}");
    // The case's outer sides: 440, 160 and 110 mm.
    let sum = one(&case("[\"43 cm\", \"15 cm\", \"10 cm\"]"), &[1], "travel_sum");
    assert_eq!((sum.verdict, sum.measured.value), (Verdict::Holds, 710.0));
}

#[test]
fn heavy_hard_and_loose_are_told() {
    let rules = "[event.soft]\nmass = \"250 g\"\nmetal = false\nwood = false\nhard-plastic = false\ntethered = true\n\
                 door = [\"80 cm\", \"2 m\"]\nloudest = \"80 dB\"\nflashes = 3";
    let all = found(rules, &[1]);
    let of = |id: &str| all.iter().find(|f| f.id == id).unwrap_or_else(|| panic!("{id}"));
    let mass = of("event_mass");
    assert!(
        mass.verdict == Verdict::Fails
            && (300.0..330.0).contains(&mass.measured.value)
            && mass.message.contains("too heavy")
    );
    // With glue, paint and filler. Neither bar nor pegs; three pieces of PLA, 100 g each.
    let stuffs: Vec<(Verdict, f64)> =
        all.iter().filter(|f| f.id == "event_material").map(|f| (f.verdict, f.measured.value)).collect();
    assert_eq!(stuffs, [(Verdict::Holds, 0.0), (Verdict::Holds, 0.0), (Verdict::Fails, 300.0)]);
    assert!(of("event_door").verdict == Verdict::Holds && of("event_door").measured.value == 20.0);
    assert_eq!((of("event_sound").verdict, of("event_flash").verdict), (Verdict::Note, Verdict::Note));
    assert!(all.iter().all(|f| f.id != "event_loose" || f.verdict == Verdict::Holds), "no joint has its hardware here");
}

#[test]
fn edges_are_told_with_their_place() {
    let edges = one("[event.fair]\nedges = \"0.4 mm\"\npoints = \"2 mm\"", &[], "event_edges");
    // A corner of a box: see `sharp`.
    assert!(edges.verdict == Verdict::Fails && (edges.measured.value - 0.27).abs() < 0.02, "{edges:?}");
    let station = edges.station_mm.expect("a place")[0];
    assert!(station.abs() < 1e-6 || (station - 600.0).abs() < 1e-6, "{station}");
}
