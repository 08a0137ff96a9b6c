//! In the hand: what it weighs, where it balances, what the wrist holds.

use super::StrengthWork;
use super::hold::Hands;
use super::jointed::Jointed;
use beam::DVec3;
use beam::frame::{EARTH_MM_S2, heft};

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
    let g = EARTH_MM_S2 * 1e-6;
    let weight_n = heft.mass_g * g;
    let hand_n = hands.other_mm.map(|other| {
        let apart = (node(other) - lead).truncate().length().max(1.0);
        // The other hand holds the moment down, the leading one bears that and the weight.
        let arm = (heft.balance_mm - lead).dot((lead - node(other)).normalize_or_zero());
        let other_n = weight_n * arm / apart;
        other_n.abs().max((weight_n + other_n).abs())
    });
    // Only a balance beyond the hand, seen from the butt, is helped by a mass at the butt.
    let helps = (heft.balance_mm - lead).dot(ends[1] - ends[0]) > 0.0 && levers[0] > 20.0;
    let pommel = helps.then(|| {
        let mass = 0.5 * wrist_nmm / (g * levers[0]);
        [mass, heft.with(mass, ends[0]).swing_gmm2(lead, DVec3::Y)]
    });
    Carried {
        hands: *hands,
        mass_g: heft.mass_g,
        balance_mm: work.placed.path.station_of(heft.balance_mm),
        wrist_nmm,
        hand_n,
        swing_gmm2: heft.swing_gmm2(lead, DVec3::Y),
        girth_mm: girth(work, hands.lead_mm),
        pommel,
        tip_nmm_g: g * levers[1],
    }
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
