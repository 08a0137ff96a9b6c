//! Joints that come apart, through the whole program: they hold as they are, and a fault put in on purpose is found.

use crate::wand::{Bench, STAFF, flat_shaft, shaft};

fn staff(change: impl Fn(&str) -> String) -> (i32, String) {
    Bench::with(&[("shaft", shaft())], |_| change(STAFF)).check()
}

fn flat(change: impl Fn(&str) -> String) -> (i32, String) {
    Bench::with(&[("shaft", flat_shaft())], |_| change(STAFF)).check()
}

fn instead(kind: &'static str) -> impl Fn(&str) -> String {
    move |t: &str| t.replace("kind = \"bayonet\"", kind)
}

#[test]
fn a_staff_with_a_bayonet_holds() {
    let (code, said) = staff(str::to_owned);
    assert_eq!(code, 0, "{said}");
}

#[test]
fn a_staff_with_a_connector_in_its_bayonet_holds() {
    // Beside a bar of 8 mm the connector's far corner lies 11.7 mm from the middle: 17 less 1.6 of wall, 0.3 of air, 2 of lug
    // and 1.2 of the plug's own wall leaves 11.9.
    let (code, said) = staff(instead("kind = \"bayonet\"\nconnector = \"pair-2\"\nwall = \"1.6 mm\""));
    assert_eq!(code, 0, "{said}");
}

#[test]
fn a_staff_with_screws_holds() {
    let (code, said) = staff(instead("kind = \"screws\""));
    assert_eq!(code, 0, "{said}");
}

#[test]
fn a_staff_with_magnets_holds() {
    let (code, said) = staff(instead("kind = \"magnets\"\nmagnet = \"disc-5x2\""));
    assert_eq!(code, 0, "{said}");
}

#[test]
fn a_flat_staff_with_each_holds() {
    let slim = |kind: &'static str| {
        move |t: &str| instead(kind)(t).replace("round-glass-8", "round-glass-6").replace("3 mm", "1.5 mm")
    };
    for kind in [
        "kind = \"screws\"\nscrew = \"countersunk-m2x6\"\ninsert = \"insert-m2\"",
        "kind = \"magnets\"\nmagnet = \"disc-5x2\"",
        "kind = \"bayonet\"",
    ] {
        let (code, said) = flat(slim(kind));
        assert_eq!(code, 0, "{kind}: {said}");
    }
}

#[test]
fn a_cap_held_by_magnets_holds() {
    let cap = |t: &str| instead("kind = \"magnets\"\nmagnet = \"disc-5x2\"")(t).replace("290 mm", "30 mm");
    let (code, said) = staff(cap);
    assert_eq!(code, 0, "{said}");
}
