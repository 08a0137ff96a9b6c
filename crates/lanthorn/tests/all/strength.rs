//! Faults of strength and heat put in on purpose: each is found, with the right words.

use crate::wand::Bench;

/// The wand with more lines at its end.
fn with(lines: &str) -> (i32, String) {
    Bench::new(|t| format!("{t}\n{lines}\n")).check()
}

#[test]
fn a_plastic_as_weak_as_chalk_fails_and_says_who_decides() {
    let (code, said) = Bench::new(|t| {
        format!(
            "{}\n[material.chalk]\nkind = \"abs-white\"\nstrength = \"0.4 MPa\"\n",
            t.replace("material = \"abs-white\"", "material = \"chalk\"")
        )
    })
    .check();
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("(strength_swing)") && said.contains("(strength_strike)"), "{said}");
    assert!(said.contains("the event's own rules and the judgement"), "{said}");
}

#[test]
fn a_hot_car_softens_and_a_cool_one_does_not() {
    let (code, said) = with("[strength]\ncar = \"95 C\"");
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("FAILS wall (heat_car)") && said.contains("do not leave it in the car"), "{said}");
    let (_, said) = with("[strength]\ncar = \"40 C\"");
    assert!(!said.contains("FAILS wall (heat_car)"), "{said}");
}

#[test]
fn metal_where_the_event_allows_none_fails() {
    let (code, said) = with("[strength]\nmetal = false");
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("FAILS spine (spine_allowed)"), "{said}");
}

#[test]
fn a_hand_beside_the_prop_is_named() {
    let (_, said) = with("[strength]\nhand = \"900 mm\"");
    assert!(said.contains("strength_unknown") && said.contains("a hand at station 900 mm holds nothing"), "{said}");
}

#[test]
fn both_hands_in_one_place_are_a_mistake_at_their_key() {
    let (code, said) = with("[strength]\nhand = \"100 mm\"\nother-hand = \"120 mm\"");
    assert_eq!(code, 2, "{said}");
    assert!(said.contains("strength.other-hand") && said.contains("at least 60 mm apart"), "{said}");
}

#[test]
fn a_spine_of_paper_is_found() {
    let (code, said) = Bench::new(|t| {
        let weak = "[bar.paper]\nkind = \"flat-aluminium-12x3\"\nstrength = \"0.2 MPa\"\n";
        format!("{}\n{weak}", t.replace("bar = \"flat-aluminium-12x3\"", "bar = \"paper\""))
    })
    .check();
    assert_eq!(code, 1, "{said}");
    assert!(said.contains("FAILS spine (spine_bears)") && said.contains("a larger or stronger bar"), "{said}");
}

#[test]
fn stiffness_of_nothing_is_a_mistake_at_its_key() {
    for (row, key) in [("material.jelly", "abs-white"), ("bar.jelly", "flat-aluminium-12x3")] {
        let (code, said) = with(&format!("[{row}]\nkind = \"{key}\"\nstiffness = \"0 MPa\""));
        assert_eq!(code, 2, "{said}");
        assert!(said.contains(&format!("{row}.stiffness")), "{said}");
    }
}

#[test]
fn a_spine_longer_than_its_channel_is_named() {
    let (code, said) =
        Bench::new(|t| t.replace("least-length = \"60 mm\"", "least-length = \"60 mm\"\nto = \"900 mm\"")).check();
    assert_ne!(code, 101, "{said}");
    assert!(said.contains("spine"), "{said}");
}
