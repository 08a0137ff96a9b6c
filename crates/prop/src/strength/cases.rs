//! What is done to the prop, and what that asks of it.

use super::hold::Hands;
use super::jointed::Jointed;
use super::sections::{Wall, along};
use super::{AtStation, StrengthError, StrengthWork};
use beam::frame::{EARTH_MM_S2, End, Frame, FrameError, Hold, Load, Ready, Support, buckling, heft, modes};
use beam::section::{Inside, stress};
use beam::wall::{Flat, Wall as Plate};
use beam::{DMat3, DVec2, DVec3};
use rayon::prelude::*;

/// How stiffly a hand holds against turning, N·mm for each radian (engineering guess).
const HAND_NMM: f64 = 20_000.0;
/// Modes followed in a knock.
const FOLLOWED: usize = 6;
/// What gives where the tip bumps, or between the prop and the car: 1 cm on 3 mm come to 3.3 g on the mean, for 14 ms (our
/// choice: a thumb's skin, a jacket, a door frame's paint and wood).
const BUMP_GIVE_MM: f64 = 3.0;
/// A bump of the car throws it as high, mm.
const CAR_MM: f64 = 10.0;
/// What gives where it is set down: 2 cm on 2 mm come to 10 g on the mean, for 6 ms.
const FLOOR_GIVE_MM: f64 = 2.0;
/// In the car it lies on two places, shares of the length (our choice).
const CAR_PADS: [f64; 2] = [0.15, 0.85];
/// It leans in a corner so far from upright, degrees (our choice).
const LEAN_DEG: f64 = 15.0;
/// Poisson's ratio of printed plastics.
const POISSON: f64 = 0.37;

/// What is done to the prop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CaseKind {
    /// Its own weight, in hands.
    Held,
    /// Swung and stopped.
    Swing,
    /// The tip meets something.
    Strike,
    /// Set down, leant, driven.
    Stored,
}

/// What a case asks of a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Worst {
    /// Which case.
    pub case: &'static str,
    /// Pull or push along the prop, the larger, MPa; a push is negative.
    pub along_mpa: f64,
    /// Shear, MPa.
    pub shear_mpa: f64,
    /// What the material bears there, MPa.
    pub strength_mpa: f64,
    /// How far that may lie either side, 0 to 1.
    pub spread: f64,
    /// Strength over stress.
    pub factor: f64,
}

impl Worst {
    /// Strength over stress of the weakest material of its spread.
    pub fn low(&self) -> f64 {
        self.factor * (1.0 - self.spread)
    }
}

/// The pressed side of a thin wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pressed {
    /// How thick it is, mm.
    pub wall_mm: f64,
    /// How broad it is between what holds it, mm.
    pub breadth_mm: f64,
    /// Stiffness of its material, MPa.
    pub e_mpa: f64,
    /// How hard it is pressed, MPa.
    pub pressed_mpa: f64,
    /// Times that at which it would buckle.
    pub factor: f64,
}

/// A load case and its worst place.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// In words.
    pub title: &'static str,
    /// What is done.
    pub kind: CaseKind,
    /// How far the tip moves, mm.
    pub tip_mm: f64,
    /// Worst of the printed material, and its station, mm.
    pub wall: Worst,
    /// Where.
    pub station_mm: f64,
    /// Worst of the spine, and its station, mm.
    pub spine: Option<(Worst, f64)>,
    /// The thin wall that is nearest to buckling, and where, mm; `None` where none is pressed.
    pub thin: Option<(Pressed, f64)>,
}

/// What all cases come to.
pub(super) struct Found {
    pub(super) cases: Vec<Case>,
    /// For each case what acts at the ends of each span.
    pub(super) ends: Vec<Vec<[End; 2]>>,
    /// For each case how far each node moves.
    moved_mm: Vec<Vec<DVec3>>,
    /// For each case what it asks of each stretch.
    asked: Vec<Vec<Asked>>,
    /// The first frequency, held in one hand, Hz.
    pub(super) first_hz: f64,
}

/// What else the bar does.
pub(super) struct Rest {
    pub(super) modes_hz: Vec<f64>,
    pub(super) buckles: Option<f64>,
}

/// The first frequencies held in one hand, and when it buckles on its butt.
pub(super) fn rest(bar: &Jointed, hands: &Hands) -> Result<Rest, StrengthError> {
    let standing = bar.line.held(&[Support::clamp(bar.line.nodes[0][1])]);
    let buckles = buckling(&standing, &[pull(DVec3::NEG_X)]).map_err(fault("standing on its butt"))?;
    Ok(Rest { modes_hz: swings(bar, hands, 4)?, buckles })
}

fn swings(bar: &Jointed, hands: &Hands, count: usize) -> Result<Vec<f64>, StrengthError> {
    let one = bar.line.held(&[Support::clamp(bar.line.node_near(hands.lead_mm))]);
    Ok(modes(&one, count).map_err(fault("the first frequencies"))?.iter().map(|m| m.hz).collect())
}

/// What each stretch bears.
pub(super) fn stations(work: &StrengthWork, walls: &[Wall], bar: &Jointed, found: &Found) -> Vec<AtStation> {
    let sags = [0, 1].map(|c| &found.moved_mm[c]);
    let number = |k: usize| work.printed.pieces[walls[k].piece].number;
    (0..walls.len()).map(|k| station(number(k), walls, bar, k, &found.asked, sags)).collect()
}

struct Run {
    title: &'static str,
    kind: CaseKind,
    /// Which of the ways to hold it.
    held: usize,
    loads: Vec<Load>,
    lasts_s: Option<f64>,
}

fn pull(way: DVec3) -> Load {
    Load::Pull { mm_s2: way * EARTH_MM_S2 }
}

/// The cases of the project, and the ways in which it is held in them.
fn runs(work: &StrengthWork, bar: &Jointed, hands: &Hands) -> (Vec<Run>, Vec<Frame>) {
    let rules = &work.project.strength;
    let line = &bar.line;
    let lead = line.node_near(hands.lead_mm);
    let [butt, tip] = [line.nodes[0][1], line.nodes[line.nodes.len() - 1][0]];
    let one = line.held(&[Support::clamp(lead)]);
    let gripped = line.held(&[Support::grip(lead, HAND_NMM)]);
    // What lies or is held in two places does not turn about its length.
    let (firm, free) = (Hold::Firm, Hold::Free);
    let rest = |node: usize| Support { node, hold: [firm, firm, firm, firm, free, free] };
    let slide = |node: usize| Support { node, hold: [free, firm, firm, free, free, free] };
    let (mut all, mut ways) = (Vec::new(), Vec::new());
    let mut add = |title, kind, frame: &Frame, loads: Vec<Load>, lasts_s| {
        let held = ways.iter().position(|w| w == frame).unwrap_or_else(|| {
            ways.push(frame.clone());
            ways.len() - 1
        });
        all.push(Run { title, kind, held, loads, lasts_s });
    };
    add("held level in one hand, flat", CaseKind::Held, &one, vec![pull(DVec3::NEG_Z)], None);
    add("held level in one hand, on edge", CaseKind::Held, &one, vec![pull(DVec3::NEG_Y)], None);
    let slant = (DVec3::NEG_X + DVec3::NEG_Z) * std::f64::consts::FRAC_1_SQRT_2;
    if let Some(other) = hands.other_mm {
        let two = line.held(&[rest(lead), slide(line.node_near(other))]);
        add("held level in two hands, flat", CaseKind::Held, &two, vec![pull(DVec3::NEG_Z)], None);
        add("held overhead in two hands, slanting", CaseKind::Held, &two, vec![pull(slant)], None);
    } else {
        add("held overhead in one hand, slanting", CaseKind::Held, &one, vec![pull(slant)], None);
    }
    add("held upright", CaseKind::Held, &one, vec![pull(DVec3::NEG_X)], None);
    let at = line.frame.nodes[lead];
    let rate = rules.swing_deg_s.to_radians();
    for (title, axis) in [("swung across, and stopped", DVec3::Z), ("swung flat, and stopped", DVec3::Y)] {
        let down = if axis == DVec3::Z { DVec3::NEG_Y } else { DVec3::NEG_Z };
        let gain = axis * (rate / rules.stop_s);
        // Of the two ways to stop it, the one that bends it as its weight does.
        let gain = if gain.cross(DVec3::X).dot(down) > 0.0 { -gain } else { gain };
        let swing = Load::Swing { centre_mm: at, rate_rad_s: axis * rate, gain_rad_s2: gain };
        add(title, CaseKind::Swing, &one, vec![pull(down), swing], None);
    }
    let heft = heft(&line.frame);
    for (title, way, axis) in
        [("the tip bumps, on edge", DVec3::Y, DVec3::Z), ("the tip bumps, flat", DVec3::Z, DVec3::Y)]
    {
        // Mass that stands behind the tip: 1/m + d²/I about the balance; momentum in half a sine.
        let arm = (line.frame.nodes[tip] - heft.balance_mm).dot(DVec3::X);
        let behind = 1.0 / (1.0 / heft.mass_g + arm * arm / heft.swing_gmm2(heft.balance_mm, axis));
        if let Some((mm_s2, lasts_s)) = stopped(rules.bump_mm_s, BUMP_GIVE_MM) {
            // Grams and mm/s2 are a millionth of a newton.
            let load = Load::Point { node: tip, force_n: way * (behind * mm_s2 * 1e-6), moment_nmm: DVec3::ZERO };
            add(title, CaseKind::Strike, &gripped, vec![load], Some(lasts_s));
        }
    }
    let standing = line.held(&[Support::clamp(butt)]);
    if let Some((mm_s2, lasts_s)) = stopped(fallen(rules.drop_mm), FLOOR_GIVE_MM) {
        let drop = Load::Pull { mm_s2: DVec3::NEG_X * (mm_s2 + EARTH_MM_S2) };
        add("set down hard on its butt", CaseKind::Stored, &standing, vec![drop], Some(lasts_s));
    }
    let lean = LEAN_DEG.to_radians();
    for (title, by) in [
        ("leaning in a corner, flat", DMat3::from_rotation_y(lean)),
        ("leaning in a corner, on edge", DMat3::from_rotation_z(lean)),
    ] {
        let leant = line.held(&[rest(butt), slide(tip)]).turned(by);
        add(title, CaseKind::Stored, &leant, vec![pull(DVec3::NEG_X)], None);
    }
    let length = bar.stops_mm.last().copied().unwrap_or(0.0);
    let pads = CAR_PADS.map(|share| line.node_near(share * length));
    let lying = line.held(&[rest(pads[0]), slide(pads[1])]);
    if let Some((mm_s2, lasts_s)) = stopped(fallen(CAR_MM), BUMP_GIVE_MM) {
        let bump = Load::Pull { mm_s2: DVec3::NEG_Z * (mm_s2 + EARTH_MM_S2) };
        add("a bump in the car, lying flat", CaseKind::Stored, &lying, vec![bump], Some(lasts_s));
    }
    (all, ways)
}

/// Speed after a fall, mm/s.
fn fallen(mm: f64) -> f64 {
    (2.0 * EARTH_MM_S2 * mm.max(0.0)).sqrt()
}

/// How a speed comes to rest over a give, evenly on the mean: highest of a half sine that takes as much momentum, mm/s2,
/// and how long it lasts, s. `None` at rest.
fn stopped(mm_s: f64, give_mm: f64) -> Option<(f64, f64)> {
    (mm_s > 0.0).then(|| {
        let lasts_s = 2.0 * give_mm / mm_s;
        (std::f64::consts::FRAC_PI_2 * mm_s / lasts_s, lasts_s)
    })
}

/// How far each node moves, and what acts at the ends of each span.
type Followed = (Vec<DVec3>, Vec<[End; 2]>);

fn follow(run: &Run, held: &Ready) -> Result<Followed, FrameError> {
    match run.lasts_s {
        None => held.still(&run.loads).map(|s| (s.moved_mm, s.ends)),
        Some(lasts) => held.pulse(&run.loads, lasts).map(|s| (s.moved_mm, s.ends)),
    }
}

/// The ways to hold it, those with a pulse with their modes.
fn ready<'a>(runs: &[Run], ways: &'a [Frame]) -> Result<Vec<Ready<'a>>, StrengthError> {
    let one = |(held, frame): (usize, &'a Frame)| {
        let on = || runs.iter().filter(|r| r.held == held);
        let title = on().next().map_or("held", |r| r.title);
        let made = Ready::new(frame);
        let made = if on().any(|r| r.lasts_s.is_some()) { made.and_then(|m| m.following(FOLLOWED)) } else { made };
        made.map_err(fault(title))
    };
    // One by one, since some take much longer.
    ways.par_iter().enumerate().with_max_len(1).map(one).collect()
}

fn fault(case: &'static str) -> impl Fn(FrameError) -> StrengthError {
    move |e| StrengthError::Frame { case, reason: e.to_string() }
}

/// Loads the bar in every case.
pub(super) fn run(work: &StrengthWork, walls: &[Wall], bar: &Jointed, hands: &Hands) -> Result<Found, StrengthError> {
    let (runs, ways) = runs(work, bar, hands);
    let (done, first_hz) = rayon::join(
        || -> Result<Vec<Followed>, StrengthError> {
            let ready = ready(&runs, &ways)?;
            runs.par_iter().with_max_len(1).map(|r| follow(r, &ready[r.held]).map_err(fault(r.title))).collect()
        },
        || swings(bar, hands, 1).map(|hz| hz.first().copied().unwrap_or(0.0)),
    );
    let done = done?;
    let asked: Vec<Vec<Asked>> =
        done.par_iter().zip(&runs).map(|((_, ends), r)| asked(work, walls, bar, r.title, ends)).collect();
    let tip = bar.line.nodes[bar.line.nodes.len() - 1][0];
    let cases = runs.iter().zip(&done).zip(&asked).map(|((run, (moved, _)), asked)| {
        let (at, wall) = least(asked.iter().map(|a| Some(a.wall))).unwrap_or((0, asked[0].wall));
        let spine = least(asked.iter().map(|a| a.spine)).map(|(k, w)| (w, walls[k].middle_mm()));
        let thin = asked.iter().enumerate().filter_map(|(k, a)| Some((a.thin?, walls[k].middle_mm())));
        Case {
            title: run.title,
            kind: run.kind,
            tip_mm: moved[tip].length(),
            wall,
            station_mm: walls[at].middle_mm(),
            spine,
            thin: thin.reduce(|a, b| if b.0.factor < a.0.factor { b } else { a }),
        }
    });
    let cases = cases.collect();
    let (moved_mm, ends) = done.into_iter().unzip();
    Ok(Found { cases, ends, moved_mm, asked, first_hz: first_hz? })
}

fn least(all: impl Iterator<Item = Option<Worst>>) -> Option<(usize, Worst)> {
    all.enumerate().filter_map(|(k, w)| Some((k, w?))).reduce(|a, b| if b.1.factor < a.1.factor { b } else { a })
}

/// What one case asks of one stretch.
struct Asked {
    wall: Worst,
    spine: Option<Worst>,
    thin: Option<Pressed>,
}

fn asked(work: &StrengthWork, walls: &[Wall], bar: &Jointed, case: &'static str, ends: &[[End; 2]]) -> Vec<Asked> {
    walls
        .iter()
        .enumerate()
        .map(|(k, wall)| {
            let inside: Vec<Inside> = ends[bar.line.spans[k]].iter().map(End::inside).collect();
            let core: Option<Vec<Inside>> = bar.line.cores[k].map(|c| ends[c].iter().map(End::inside).collect());
            on_stretch(work, wall, bar, k, case, &inside, core.as_deref())
        })
        .collect()
}

fn on_stretch(
    work: &StrengthWork,
    wall: &Wall,
    bar: &Jointed,
    k: usize,
    case: &'static str,
    inside: &[Inside],
    core: Option<&[Inside]>,
) -> Asked {
    let piece = &work.printed.pieces[wall.piece];
    let holding = &work.split.pieces[wall.piece].rules.material.holding;
    let whole = &bar.whole[k];
    // Of a torque the pieces take their share, of a force all.
    let share = if whole.twist.gj_nmm2 > 0.0 { wall.section.twist.gj_nmm2 / whole.twist.gj_nmm2 } else { 1.0 };
    let of_wall = inside.iter().map(|i| {
        let found = stress(&wall.regions, &whole.plain, i).ok().and_then(|s| s.first().copied());
        let [low, high] = found.map_or([0.0; 2], |s| [s.least_mpa / wall.laid, s.most_mpa / wall.laid]);
        let peak = whole.shear_mpa(i).first().copied().unwrap_or(f64::INFINITY);
        ([low, high], peak.min(wall.shear.shear_mpa(i, share.min(1.0))) / wall.laid)
    });
    let strength = holding.strength_mpa[along(piece)];
    let of_wall: Vec<([f64; 2], f64)> = of_wall.collect();
    let worst = of_wall.iter().map(|(s, t)| judged(case, *s, *t, strength, holding.spread));
    let worst = worst.reduce(|a, b| if b.factor < a.factor { b } else { a });
    let spine = bar.spine[k].as_ref().zip(work.project.spine.as_ref()).and_then(|(laid, rules)| {
        let held = &rules.bar.holding;
        let (inside, own) = match core {
            Some(core) => (core, &laid.section),
            None if bar.glued => (inside, whole),
            None => return None,
        };
        inside
            .iter()
            .map(|i| {
                let found = stress(&laid.regions, &own.plain, i).ok().and_then(|s| s.first().copied());
                let span = found.map_or([0.0; 2], |s| [s.least_mpa, s.most_mpa]);
                let shear = own.shear_mpa(i).last().copied().unwrap_or(0.0);
                judged(case, span, shear, held.strength_mpa[0], held.spread)
            })
            .reduce(|a, b| if b.factor < a.factor { b } else { a })
    });
    let thin = piece.wall_mm.and_then(|thickness_mm| {
        let pressed = of_wall.iter().map(|(s, _)| -s[0]).fold(0.0, f64::max);
        let (least, most) = beam::section::reach(&wall.regions, whole.plain.centroid_mm, DVec2::X);
        // Half the breadth: the ribs of the rail stand in the middle.
        let (e_mpa, breadth_mm) = (holding.e_mpa[along(piece)], 0.5 * (most - least));
        let bears = Plate { e_mpa, poisson: POISSON, thickness_mm }.flat_mpa(breadth_mm, Flat::Pressed).ok()?;
        (pressed > 1e-9).then(|| Pressed {
            wall_mm: thickness_mm,
            breadth_mm,
            e_mpa,
            pressed_mpa: pressed,
            factor: bears / pressed,
        })
    });
    let none =
        Worst { case, along_mpa: 0.0, shear_mpa: 0.0, strength_mpa: strength, spread: holding.spread, factor: MOST };
    Asked { wall: worst.unwrap_or(none), spine, thin }
}

/// A factor that is as good as none.
const MOST: f64 = 1e6;

/// Pull and shear together as von Mises has them (ductile materials; for layers that part never too low by more than its
/// square root of three).
fn judged(case: &'static str, [low, high]: [f64; 2], shear_mpa: f64, strength_mpa: f64, spread: f64) -> Worst {
    let along_mpa = if high >= -low { high } else { low };
    let both = (along_mpa * along_mpa + 3.0 * shear_mpa * shear_mpa).sqrt();
    let factor = if both > strength_mpa / MOST { strength_mpa / both } else { MOST };
    Worst { case, along_mpa, shear_mpa, strength_mpa, spread, factor }
}

fn station(
    number: u32,
    walls: &[Wall],
    bar: &Jointed,
    k: usize,
    asked: &[Vec<Asked>],
    sags: [&Vec<DVec3>; 2],
) -> AtStation {
    let (wall, whole) = (&walls[k], &bar.whole[k]);
    let spine = bar.spine[k].as_ref().filter(|_| !bar.glued);
    // A loose spine bends along with the pieces, each about its own middle.
    let mut ei = whole.plain.ei_nmm2;
    if let Some(laid) = spine {
        let own = laid.section.plain.ei_nmm2;
        ei.about_y += own.about_y;
        ei.about_z += own.about_z;
        ei.mixed += own.mixed;
    }
    let principal = ei.principal();
    let nodes = [bar.line.nodes[k][1], bar.line.nodes[k + 1][0]];
    let sag = |moved: &Vec<DVec3>, way: DVec3| nodes.iter().map(|n| moved[*n].dot(way)).sum::<f64>() * 0.5;
    let over = |of: &dyn Fn(&Asked) -> Option<Worst>| least(asked.iter().map(|a| of(&a[k]))).map(|(_, w)| w);
    AtStation {
        span_mm: wall.span_mm,
        piece: number,
        area_mm2: wall.section.plain.area_mm2 * wall.laid,
        centroid_mm: whole.plain.centroid_mm.to_array(),
        shear_centre_mm: whole.twist.shear_centre_mm.map(|c| c.to_array()),
        slope_deg: slope_deg(principal.broad),
        ei_nmm2: [principal.most, principal.least],
        gj_nmm2: whole.twist.gj_nmm2 + spine.map_or(0.0, |s| s.section.twist.gj_nmm2),
        mass_g_mm: whole.plain.mass_g_mm + spine.map_or(0.0, |s| s.section.plain.mass_g_mm),
        sag_mm: [sag(sags[0], DVec3::NEG_Z), sag(sags[1], DVec3::NEG_Y)],
        worst: over(&|a| Some(a.wall)).unwrap_or(asked[0][k].wall),
        spine: over(&|a| a.spine),
        thin: asked.iter().filter_map(|a| a[k].thin.map(|p| p.factor)).reduce(f64::min),
    }
}

/// How a direction slopes against the width, turned towards the thickness, degrees: above -90, 90 at most.
fn slope_deg(way: DVec2) -> f64 {
    let slope = libm::atan2(way.y, way.x).to_degrees();
    if slope <= -90.0 {
        slope + 180.0
    } else if slope > 90.0 {
        slope - 180.0
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_direction_slopes_the_same_both_ways() {
        for (x, y, slope) in
            [(1.0, 0.0, 0.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 90.0), (0.0, -1.0, 90.0), (-2.0, 2.0, -45.0)]
        {
            assert!((slope_deg(DVec2::new(x, y)) - slope).abs() < 1e-12, "{x} {y}");
        }
    }

    /// Von Mises: pure shear yields at strength over the square root of three (handbooks).
    #[test]
    fn pull_and_shear_ask_together() {
        let only_shear = judged("case", [0.0, 0.0], 10.0, 30.0, 0.2);
        assert!((only_shear.factor - 3.0 / 3.0_f64.sqrt()).abs() < 1e-12);
        let push = judged("case", [-15.0, 5.0], 0.0, 30.0, 0.2);
        assert_eq!((push.factor, push.along_mpa), (2.0, -15.0));
        assert_eq!(judged("case", [0.0, 0.0], 0.0, 30.0, 0.2).factor, MOST);
    }

    /// Energy: what falls h and stops evenly over s feels h/s times its weight, for 2 s/v. 2 cm on 2 mm: 10 g for 6.4 ms;
    /// 1 cm on 3 mm: 3.3 g for 13.5 ms. A half sine of the same momentum peaks pi/2 times higher.
    #[test]
    fn a_fall_stops_over_its_give() {
        for (drop, give, g, lasts) in [(20.0, 2.0, 10.0, 6.386e-3), (10.0, 3.0, 10.0 / 3.0, 13.547e-3)] {
            let (peak, found) = stopped(fallen(drop), give).unwrap();
            assert!((found / lasts - 1.0).abs() < 1e-3, "{found}");
            assert!((peak / EARTH_MM_S2 / (std::f64::consts::FRAC_PI_2 * g) - 1.0).abs() < 1e-9, "{peak}");
        }
        assert_eq!(stopped(fallen(0.0), 2.0), None);
    }
}
