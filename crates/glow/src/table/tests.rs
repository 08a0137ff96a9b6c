//! Against walls walked at the very thickness and angle, and what must hold of any table.

use super::*;
use crate::{Coat, Passed, Random};

fn media() -> [Medium; 4] {
    [
        Medium::of_reduced(0.2, 0.002, 1.46).unwrap(),
        Medium::of_reduced(2.0, 0.005, 1.46).unwrap(),
        Medium::checked(6.0, 0.5, 0.3, 1.57).unwrap(),
        Medium::of_reduced(1.0, 0.05, 1.0).unwrap(),
    ]
}

fn paint() -> Finish {
    Finish::Coat(Coat::checked(0.7, 0.1).unwrap())
}

/// With enough packets for how far aside light comes out.
fn table(medium: Medium, inner: Finish, outer: Finish) -> WallTable {
    WallTable::of(medium, inner, outer, TableSpec::upto(4.0, 1)).unwrap()
}

/// Shares alone.
fn shares(medium: Medium, inner: Finish, outer: Finish) -> WallTable {
    WallTable::of(medium, inner, outer, TableSpec { most_mm: 4.0, walk: Walk { packets: 100, seed: 1 } }).unwrap()
}

fn walked(table: &WallTable, thickness_mm: f64, incidence: Incidence, packets: u32) -> Passed {
    let wall = Wall { medium: table.medium, thickness_mm, inner: table.inner, outer: table.outer };
    slab(&wall, incidence, Walk { packets, seed: 99 }).unwrap()
}

#[test]
fn tables_say_what_walking_says() {
    for medium in media() {
        for (inner, outer) in [(Finish::Bare, Finish::Bare), (Finish::Bare, paint()), (paint(), Finish::Bare)] {
            let table = shares(medium, inner, outer);
            // None of them walked for the table.
            for thickness_mm in [0.37, 1.3, 3.4] {
                for cosine in [0.25, 0.9] {
                    let said = table.at(thickness_mm, cosine);
                    let passed = walked(&table, thickness_mm, Incidence::Collimated { cosine }, 40_000);
                    let close = |what: &str, got: f64, want: f64| {
                        let room = 4.0 * passed.sigma_back + 0.002;
                        assert!(
                            (got - want).abs() < room,
                            "{medium:?} {thickness_mm} {cosine} {what}: {got}, not {want}"
                        );
                    };
                    close("specular", said.specular, passed.shares.specular);
                    close("back", said.diffuse_back, passed.shares.diffuse_back);
                    close("unscattered", said.unscattered_through, passed.shares.unscattered_through);
                    close("through", said.diffuse_through, passed.shares.diffuse_through);
                    close("wall", said.absorbed_wall, passed.shares.absorbed_wall);
                    close("coats", said.absorbed_coats, passed.shares.absorbed_coats);
                }
                let (said, passed) =
                    (table.diffuse(thickness_mm), walked(&table, thickness_mm, Incidence::Diffuse, 40_000));
                let room = 4.0 * passed.sigma_back.max(passed.sigma_through) + 0.002;
                let (back, through) = (said.back() - passed.shares.back(), said.through() - passed.shares.through());
                assert!(back.abs() < room && through.abs() < room, "{medium:?} {thickness_mm}: {back} {through}");
            }
        }
    }
}

#[test]
fn published_walls_come_out_of_tables() {
    // Adding and doubling (iadpython 0.5.3, 16 angles): index 1.46, µs' 2 and 0.25 per mm, absorption 0.005 per mm; light
    // along the normal and diffuse, passed.
    for (reduced, thickness_mm, straight, diffuse) in
        [(2.0, 0.8, 0.547, 0.494), (2.0, 1.6, 0.404, 0.368), (2.0, 3.0, 0.275, 0.251), (0.25, 2.0, 0.737, 0.665)]
    {
        let table = shares(Medium::of_reduced(reduced, 0.005, 1.46).unwrap(), Finish::Bare, Finish::Bare);
        let got = (table.at(thickness_mm, 1.0).through(), table.diffuse(thickness_mm).through());
        assert!(
            (got.0 - straight).abs() < 0.002 && (got.1 - diffuse).abs() < 0.002,
            "{reduced} {thickness_mm}: {got:?}"
        );
    }
}

#[test]
fn draws_spread_as_walked_light_does() {
    for (medium, inner) in [(media()[1], Finish::Bare), (media()[2], Finish::Bare), (media()[1], paint())] {
        let table = table(medium, inner, Finish::Bare);
        for thickness_mm in [0.5, 1.7, 3.7] {
            let passed = walked(&table, thickness_mm, Incidence::Diffuse, 100_000);
            let mut random = Random::of(4, 0);
            let n = 40_000;
            let mut back: Vec<f64> = (0..n).map(|_| table.sideways_back(thickness_mm, random.uniform())).collect();
            let mut through: Vec<f64> =
                (0..n).map(|_| table.sideways_through(thickness_mm, random.uniform())).collect();
            for (drawn, want) in [(&mut back, &passed.sideways_back), (&mut through, &passed.sideways_through)] {
                drawn.sort_by(f64::total_cmp);
                // Packets behind either distribution; their weights differ, which counts as half as many.
                let behind = 0.5 * want.total() / 100_000.0;
                let many = 1.0 / (30_000.0 * behind) + 1.0 / (100_000.0 * behind) + 1.0 / n as f64;
                for share in [0.1, 0.3, 0.5, 0.75, 0.95] {
                    let at = drawn[(n as f64 * share) as usize];
                    let within = want.share_within(at);
                    let room = 4.0 * (share * (1.0 - share) * many).sqrt() + 0.01;
                    // A lining's own light goes back where it came: a step of the distribution in the first bin.
                    let step = at < crate::NEAREST_MM;
                    let what =
                        format!("{medium:?} {thickness_mm} mm: within {at} mm {within}, not {share}, room {room}");
                    assert!(step || (within - share).abs() < room, "{what}");
                }
            }
        }
    }
}

#[test]
fn shares_sum_to_one_and_fall_smoothly_with_thickness() {
    for medium in media() {
        let table = shares(medium, Finish::Bare, Finish::Bare);
        let mut before = 1.0;
        for k in 0..200 {
            let thickness_mm = 0.3 + 3.7 * f64::from(k) / 199.0;
            for cosine in [1e-3, 0.1, 0.5, 1.0] {
                let s = table.at(thickness_mm, cosine);
                assert!((s.sum() - 1.0).abs() < 1e-9, "{s:?}");
                let all = [
                    s.specular,
                    s.diffuse_back,
                    s.unscattered_through,
                    s.diffuse_through,
                    s.absorbed_wall,
                    s.absorbed_coats,
                ];
                assert!(all.iter().all(|v| (0.0..=1.0).contains(v)), "{s:?}");
            }
            let through = table.diffuse(thickness_mm).through();
            assert!(through < before, "{medium:?} {thickness_mm}: {through} after {before}");
            before = through;
        }
    }
}

#[test]
fn what_lies_outside_is_answered_by_the_nearest_and_what_cannot_be_is_refused() {
    let medium = media()[1];
    let table = shares(medium, Finish::Bare, Finish::Bare);
    assert_eq!(table.range_mm(), (0.3, 4.0));
    assert_eq!(table.at(0.01, 0.7), table.at(0.3, 0.7));
    assert_eq!(table.at(9.0, 0.7), table.at(4.0, 0.7));
    for s in [table.at(f64::NAN, 0.5), table.at(1.0, f64::NAN), table.at(1.0, -3.0), table.at(1.0, 7.0)] {
        assert!((s.sum() - 1.0).abs() < 1e-9, "{s:?}");
    }
    for most_mm in [0.3, -1.0, f64::NAN, 1e9] {
        let refused = WallTable::of(medium, Finish::Bare, Finish::Bare, TableSpec::upto(most_mm, 1)).unwrap_err();
        assert!(refused.to_string().starts_with("thickest wall of a table"), "{refused}");
    }
    let mad = Medium { index: f64::NAN, ..medium };
    assert!(WallTable::of(mad, Finish::Bare, Finish::Bare, TableSpec::upto(2.0, 1)).is_err());
}

#[test]
fn clear_and_black_walls_have_tables_too() {
    let clear = table(Medium::checked(0.0, 0.0, 0.0, 1.5).unwrap(), Finish::Bare, Finish::Bare);
    let s = clear.at(2.0, 1.0);
    // Two faces of 0.04: 0.96 / 1.04 passes.
    assert!((s.unscattered_through - 0.96 / 1.04).abs() < 1e-12 && (s.sum() - 1.0).abs() < 1e-12, "{s:?}");
    assert!(clear.sideways_through(2.0, 0.5) < crate::NEAREST_MM);
    let black = table(Medium::checked(1.0, 0.0, 100.0, 1.5).unwrap(), Finish::Bare, Finish::Bare);
    let s = black.at(2.0, 1.0);
    assert!(s.absorbed_wall > 0.95 && s.through() < 1e-6, "{s:?}");
}
