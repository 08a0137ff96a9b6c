//! In the hand: what it weighs, where it balances, what the wrist holds.

use super::StrengthWork;
use super::hold::Hands;
use super::jointed::Jointed;
use beam::DVec3;
use beam::frame::{EARTH_MM_S2, Heft, heft};

/// The prop in the hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Carried {
    /// Where it is held.
    pub hands: Hands,
    /// Mass of everything, g.
    pub mass_g: f64,
    /// Station of the balance point, mm.
    pub balance_mm: f64,
    /// What one wrist holds when it is held level, N·mm.
    pub wrist_nmm: f64,
    /// What each of two hands pushes or bears, the larger, N; `None` for one hand.
    pub hand_n: Option<f64>,
    /// Moment of inertia about the leading hand, g·mm².
    pub swing_gmm2: f64,
    /// Girth of what the leading hand holds, mm, where it could be measured.
    pub girth_mm: Option<f64>,
    /// Mass at the butt that would halve what the wrist holds, g, and the moment of inertia then, g·mm²; `None` where the
    /// butt is no lever.
    pub pommel: Option<[f64; 2]>,
    /// How much less the wrist holds for each gram less at the tip, N·mm.
    pub tip_nmm_g: f64,
}

/// Weighs it.
pub(super) fn carried(work: &StrengthWork, bar: &Jointed, hands: &Hands) -> Carried {
    let heft = heft(&bar.line.frame);
    let node = |station| bar.line.frame.nodes[bar.line.node_near(station)];
    let lead = node(hands.lead_mm);
    let wrist_nmm = heft.holding_nmm(lead, DVec3::NEG_Z).length();
    let ends =
        [bar.line.frame.nodes[bar.line.nodes[0][1]], bar.line.frame.nodes[bar.line.nodes[bar.line.nodes.len() - 1][0]]];
    let levers = ends.map(|p| (p - lead).truncate().length());
    let hand_n = hands.other_mm.map(|other| presses_n(&heft, lead, node(other)));
    let pommel = pommel(&heft, lead, ends);
    Carried {
        hands: *hands,
        mass_g: heft.mass_g,
        balance_mm: work.placed.path.station_of(heft.balance_mm),
        wrist_nmm,
        hand_n,
        swing_gmm2: heft.swing_gmm2(lead, DVec3::Y),
        girth_mm: girth(work, hands.lead_mm),
        pommel,
        tip_nmm_g: G * levers[1],
    }
}

/// Weight of a gram, N.
const G: f64 = EARTH_MM_S2 * 1e-6;
/// A butt nearer to the hand than this is no lever, mm (our choice).
const LEVER_MM: f64 = 20.0;

/// What the hand that bears more presses with, held level in two, N: the other holds the moment down, the leading one bears
/// that and the weight.
fn presses_n(heft: &Heft, lead: DVec3, other: DVec3) -> f64 {
    let apart = (other - lead).truncate().length().max(1.0);
    let arm = (heft.balance_mm - lead).dot((lead - other).normalize_or_zero());
    let (weight_n, other_n) = (heft.mass_g * G, heft.mass_g * G * arm / apart);
    other_n.abs().max((weight_n + other_n).abs())
}

/// The mass at the butt that halves what the wrist holds, g, and the moment of inertia about the hand then, g·mm². Only a
/// balance beyond the hand, seen from the butt, is helped by it.
fn pommel(heft: &Heft, lead: DVec3, [butt, tip]: [DVec3; 2]) -> Option<[f64; 2]> {
    let lever = (butt - lead).truncate().length();
    let helps = (heft.balance_mm - lead).dot(tip - butt) > 0.0 && lever > LEVER_MM;
    helps.then(|| {
        let mass = 0.5 * heft.holding_nmm(lead, DVec3::NEG_Z).length() / (G * lever);
        [mass, heft.with(mass, butt).swing_gmm2(lead, DVec3::Y)]
    })
}

/// Girth of the outer shape at a station: of the longest outline there.
fn girth(work: &StrengthWork, station_mm: f64) -> Option<f64> {
    let frame = work.placed.path.frame(station_mm);
    let basis = solid::section::Basis { origin: frame.point, x: frame.across, y: frame.through };
    let bodies = work.placed.core().filter(|b| (b.station_mm[0]..=b.station_mm[1]).contains(&station_mm));
    let loops = bodies.filter_map(|b| solid::section::section(&b.mesh, &basis).ok()).flatten();
    let round = |l: Vec<solid::DVec2>| (0..l.len()).map(|k| (l[(k + 1) % l.len()] - l[k]).length()).sum::<f64>();
    loops.map(round).reduce(f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use beam::DMat3;

    /// A rod of 1 m and 1 kg held 0.3 m from its butt: the wrist holds 0.2 m of its weight, 1.961 N m; a third of a kilogram at
    /// the butt halves that, and the inertia about the hand goes from 1/12 + 0.04 to 0.03 kg m2 more. With the other hand at
    /// 0.1 m each presses with the weight, and the leading one with twice that (levers).
    #[test]
    fn a_rod_in_the_hand_is_a_lever() {
        let turned = 1e9 / 12.0;
        let rod = Heft {
            mass_g: 1000.0,
            balance_mm: DVec3::X * 500.0,
            inertia_gmm2: DMat3::from_diagonal(DVec3::new(0.0, turned, turned)),
        };
        let (lead, ends) = (DVec3::X * 300.0, [DVec3::ZERO, DVec3::X * 1000.0]);
        let [mass, inertia] = pommel(&rod, lead, ends).unwrap();
        assert!((mass - 1000.0 / 3.0).abs() < 1e-6, "{mass}");
        assert!((inertia - 1e9 * (1.0 / 12.0 + 0.04 + 0.03)).abs() < 1.0, "{inertia}");
        let left = rod.with(mass, ends[0]).holding_nmm(lead, DVec3::NEG_Z).length();
        assert!((left - 0.5 * 9.806_65 * 200.0).abs() < 1e-6, "{left}");
        assert!((presses_n(&rod, lead, DVec3::X * 100.0) - 2.0 * 9.806_65).abs() < 1e-9);
        assert_eq!(pommel(&rod, DVec3::X * 700.0, ends), None, "the balance lies behind the hand");
        assert_eq!(pommel(&rod, DVec3::X * 10.0, ends), None, "no lever");
    }
}
