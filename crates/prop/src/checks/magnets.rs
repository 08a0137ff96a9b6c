//! Magnets that hold a joint or a lid: do they pull, in one position only, and is there plastic round them?

use super::Checked;
use crate::finding::{Band, Finding, PIECES, input};
use crate::outcome::MagnetPair;
use crate::project::Pole;
use solid::{Bvh, DVec3};

/// Wall around a magnet, mm: two beads of a 0.4 nozzle (common practice).
const WALL_MM: f64 = 0.8;

/// Magnets of two pieces that face each other.
pub(super) struct Facing<'a> {
    pub(super) pairs: &'a [MagnetPair],
    pub(super) subject: String,
    pub(super) station_mm: Option<[f64; 2]>,
    /// What the two pieces are called.
    pub(super) sides: [&'static str; 2],
    /// The keys of their poles.
    pub(super) keys: [&'static str; 2],
    /// Their surfaces.
    pub(super) pieces: [Option<&'a Bvh>; 2],
    /// The way into each, unit.
    pub(super) into: [DVec3; 2],
}

/// Both findings.
pub(super) fn check(facing: &Facing) -> [Finding; 2] {
    [poles(facing), walls(facing)]
}

/// Share of the pairs that pull, less those that push, when the tip side is turned so that its magnet `k + by` stands
/// before magnet `k` of the butt side.
fn pull(magnets: &[MagnetPair], by: usize) -> f64 {
    let n = magnets.len();
    let sum: i32 = (0..n).map(|k| if magnets[k].pole[0] == magnets[(k + by) % n].pole[1] { -1 } else { 1 }).sum();
    f64::from(sum) / n as f64
}

/// Whether turning the ring of magnets by so many places brings each before another one.
fn meets(magnets: &[MagnetPair], by: usize) -> bool {
    let n = magnets.len();
    let middle = magnets.iter().map(|m| m.face[0]).sum::<DVec3>() / n as f64;
    let far = |k: usize| (magnets[k].face[0] - middle).length();
    let apart = |k: usize, j: usize| (magnets[k].face[0] - magnets[j].face[0]).length();
    (0..n).all(|k| {
        let next = (k + 1) % n;
        (far(k) - far((k + by) % n)).abs() < magnets[k].pocket_mm / 2.0
            && (apart(k, next) - apart((k + by) % n, (next + by) % n)).abs() < magnets[k].pocket_mm / 2.0
    })
}

fn poles(facing: &Facing) -> Finding {
    let (magnets, [one, other]) = (facing.pairs, facing.sides);
    let seated = pull(magnets, 0);
    let wrong = (1..magnets.len())
        .filter(|by| meets(magnets, *by))
        .map(|by| pull(magnets, by))
        .fold(f64::NEG_INFINITY, f64::max);
    let words = |side: usize| {
        let each: Vec<&str> = magnets.iter().map(|m| if m.pole[side] == Pole::Plus { "+" } else { "-" }).collect();
        each.join(" ")
    };
    let message = if seated < 1.0 {
        let against = magnets.iter().filter(|m| m.pole[0] == m.pole[1]).count();
        format!(
            "{against} of {} pairs of magnets face each other the same way round and push apart ({one} {}, {other} {}).",
            magnets.len(),
            words(0),
            words(1)
        )
    } else if wrong > 0.0 {
        format!("The magnets are the same way round ({}): turned wrongly it pulls together just as well.", words(0))
    } else {
        format!(
            "Facing each other, the poles are {} on the {one} and {} on the {other}: it pulls in one position only.",
            words(0),
            words(1)
        )
    };
    let [key, key_of_other] = facing.keys;
    Checked {
        id: "magnet_poles",
        subject: facing.subject.clone(),
        station_mm: facing.station_mm,
        value: Band::exact(seated - wrong.max(0.0)),
        unit: "1",
        min: Some(1.0),
        max: None,
        source: "every pair pulls, and no wrong position pulls more than it pushes".into(),
        message,
        remedy: format!("leave out {key} and {key_of_other}, or make the first half of the pairs \"+\" and the rest \"-\", the other side the other way round"),
    }
    .finding()
    .worked_from([
        input("pulls in its place", seated, "1", "poles of the pairs"),
        input("pulls at the most turned wrongly", wrong, "1", "poles of the pairs"),
        input("pairs", magnets.len() as f64, "1", "joint or lid as drawn"),
    ])
}

/// The least wall around and behind the magnets' pockets, by rays from just behind the pockets' skin.
fn walls(facing: &Facing) -> Finding {
    const SKIN_MM: f64 = 0.03;
    let mut least = f64::INFINITY;
    for (side, piece) in facing.pieces.iter().enumerate() {
        let (Some(piece), into) = (piece, facing.into[side]) else { continue };
        let (across, up) = into.any_orthonormal_pair();
        let wall = |from: DVec3, direction: DVec3| {
            if piece.is_inside(from) {
                piece.ray(from, direction, 100.0).map_or(100.0, |h| h.distance_mm + SKIN_MM)
            } else {
                0.0
            }
        };
        for pair in facing.pairs {
            let radius = pair.pocket_mm / 2.0;
            for k in 0..24 {
                let (sin, cos) = libm::sincos(core::f64::consts::TAU * f64::from(k) / 24.0);
                let out = across * cos + up * sin;
                for share in [0.3, 0.6, 0.9] {
                    let skin = pair.face[side] + into * (pair.depth_mm * share) + out * (radius + SKIN_MM);
                    least = least.min(wall(skin, out));
                }
                // Beside the mark in its floor.
                let floor = pair.face[side] + into * (pair.depth_mm + SKIN_MM) + out * (radius * 0.85);
                least = least.min(wall(floor, into));
            }
        }
    }
    Checked {
        id: "magnet_walls",
        subject: facing.subject.clone(),
        station_mm: facing.station_mm,
        value: Band::exact(least),
        unit: "mm",
        min: Some(WALL_MM),
        max: None,
        source: "common practice: two beads of a 0.4 nozzle".into(),
        message: format!(
            "Around and behind the {} magnets' pockets at least {least:.2} mm are left.",
            2 * facing.pairs.len()
        ),
        remedy: "take smaller or fewer magnets, or move what they hold".into(),
    }
    .finding()
    .worked_from(facing.pairs.first().into_iter().flat_map(|m| {
        [input("pocket, wide", m.pocket_mm, "mm", PIECES), input("pocket, deep", m.depth_mm, "mm", PIECES)]
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(poles: &[(Pole, Pole)]) -> Vec<MagnetPair> {
        let n = poles.len() as f64;
        let place = |k: usize| {
            let (sin, cos) = libm::sincos(core::f64::consts::TAU * k as f64 / n);
            DVec3::new(10.0 * cos, 10.0 * sin, 0.0)
        };
        poles
            .iter()
            .enumerate()
            .map(|(k, (a, b))| MagnetPair { face: [place(k); 2], pole: [*a, *b], pocket_mm: 6.0, depth_mm: 3.0 })
            .collect()
    }

    #[test]
    fn half_and_half_pulls_in_one_position_only() {
        use Pole::{Minus, Plus};
        // By hand: two pairs + - turned by half a turn face + + and - -: both push.
        let two = ring(&[(Plus, Minus), (Minus, Plus)]);
        assert_eq!((pull(&two, 0), pull(&two, 1)), (1.0, -1.0));
        // Alternating four pull just as well after half a turn; half and half do not.
        let alternating = ring(&[(Plus, Minus), (Minus, Plus), (Plus, Minus), (Minus, Plus)]);
        assert_eq!(pull(&alternating, 2), 1.0);
        let halves = ring(&[(Plus, Minus), (Plus, Minus), (Minus, Plus), (Minus, Plus)]);
        assert!((1..4).all(|by| pull(&halves, by) <= 0.0));
        assert!((1..4).all(|by| meets(&halves, by)));
        // The same way round on one side: any turn pulls. On both sides: nothing pulls.
        assert_eq!(pull(&ring(&[(Plus, Minus), (Plus, Minus)]), 1), 1.0);
        assert_eq!(pull(&ring(&[(Plus, Plus), (Minus, Minus)]), 0), -1.0);
    }
}
