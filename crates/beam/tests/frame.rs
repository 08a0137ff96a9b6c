//! Bars against published values.

mod common;

use beam::frame::{
    Bar, EARTH_MM_S2, Frame, FrameError, Hold, Joint, Line, Load, PointMass, Span, Stop, Support, buckling, heft, line,
    modes, pulse, still,
};
use beam::section::Second;
use beam::{DMat2, DMat3, DVec3};
use common::close;
use std::f64::consts::{FRAC_PI_2, PI};

/// EI along y and z alike; no give in shear.
fn bar(ei_nmm2: f64, mass_g_mm: f64) -> Bar {
    Bar {
        ea_n: 1e7,
        ei_nmm2: Second { about_y: ei_nmm2, about_z: ei_nmm2, mixed: 0.0 },
        gj_nmm2: 0.7 * ei_nmm2,
        shear_per_n: DMat2::ZERO,
        mass_g_mm,
        spin_gmm2_mm: 100.0 * mass_g_mm,
    }
}

fn stop(station_mm: f64, bar: Bar) -> Stop {
    Stop { station_mm, at_mm: DVec3::X * station_mm, across: DVec3::Y, bar, core: None, joint: None }
}

/// A straight line along x of `n` spans.
fn straight(length: f64, n: u32, bar: Bar) -> Line {
    let stops: Vec<Stop> = (0..=n).map(|k| stop(length * f64::from(k) / f64::from(n), bar)).collect();
    line(&stops).expect("a line")
}

fn down(node: usize, force: f64) -> Load {
    Load::Point { node, force_n: DVec3::NEG_Z * force, moment_nmm: DVec3::ZERO }
}

const WEIGHT: Load = Load::Pull { mm_s2: DVec3::new(0.0, 0.0, -EARTH_MM_S2) };

/// 6061 flat bar 20 × 3 × 800: on edge 0.590 mm and 6.19 mm under 5 N, 25.50 Hz; flatwise 26.23 mm and 3.825 Hz;
/// wL⁴/8EI, PL³/3EI (Roark, *Formulas for Stress and Strain*, cantilevers; from memory).
#[test]
fn flat_bar_as_cantilever() {
    let flat = Bar {
        ea_n: 68_900.0 * 60.0,
        ei_nmm2: Second { about_y: 68_900.0 * 2000.0, about_z: 68_900.0 * 45.0, mixed: 0.0 },
        gj_nmm2: 25_900.0 * 172.0,
        shear_per_n: DMat2::ZERO,
        mass_g_mm: 60.0 * 2.7e-3,
        spin_gmm2_mm: 2045.0 * 2.7e-3,
    };
    let line = straight(800.0, 16, flat);
    let (tip, frame) = (line.nodes[16][0], line.held(&[Support::clamp(0)]));
    let own = still(&frame, &[WEIGHT]).expect("it holds");
    close("own weight on edge", -own.moved_mm[tip].z, 0.590, 0.002);
    close("moment at the root", own.ends[0][0].moment_nmm.y.abs(), 0.162 * 9.80665e-3 * 800.0 * 800.0 / 2.0, 1e-6);
    close("under 5 N", -still(&frame, &[down(tip, 5.0)]).expect("it holds").moved_mm[tip].z, 6.19, 0.002);
    // Told as it is, though it is past a tenth of the length, where movements are told too large.
    let far = still(&frame, &[Load::Point { node: tip, force_n: DVec3::NEG_Y * 5.0, moment_nmm: DVec3::ZERO }]);
    close("under 5 N, flatwise", -far.expect("it holds").moved_mm[tip].y, 275.0, 0.002);
    let sideways = still(&frame, &[Load::Pull { mm_s2: DVec3::new(0.0, -EARTH_MM_S2, 0.0) }]).expect("it holds");
    close("own weight flatwise", -sideways.moved_mm[tip].y, 26.23, 0.002);
    let found = modes(&frame, 5).expect("it swings");
    close("flatwise", found[0].hz, 3.825, 0.002);
    close("on edge", found.iter().map(|m| m.hz).find(|hz| (hz - 25.5).abs() < 0.5).unwrap_or(0.0), 25.50, 0.002);
}

/// Tube 40 × 2 and bar bonded, 289.06 N·m², 0.4581 kg/m, 1 m: tip 1.943 mm, 14.06 Hz; the higher modes by β 4.69409 and
/// 7.85476 (Roark, *Formulas for Stress and Strain*, cantilevers and their frequencies; from memory).
#[test]
fn composite_cantilever() {
    let line = straight(1000.0, 40, bar(289.06e6, 0.4581));
    let frame = line.held(&[Support::clamp(0)]);
    close("tip", -still(&frame, &[WEIGHT]).expect("it holds").moved_mm[line.nodes[40][0]].z, 1.943, 0.001);
    let found = modes(&frame, 6).expect("it swings");
    close("first", found[0].hz, 14.06, 0.001);
    close("first again, the other way", found[1].hz, 14.06, 0.001);
    let ratio = |beta: f64| beta * beta / 3.51602;
    close("second", found[2].hz, 14.06 * ratio(4.69409), 0.002);
    close("third", found[4].hz, 14.06 * ratio(7.85476), 0.002);
}

/// Root half twice as stiff: (3/16) PL³/EI (Gere & Goodno, *Mechanics of Materials*, beams of two sections; from memory, and by
/// integrating M²/EI by hand).
#[test]
fn stepped_cantilever() {
    let stops: Vec<Stop> =
        (0..=4).map(|k| stop(200.0 * f64::from(k), bar(if k < 2 { 2e8 } else { 1e8 }, 0.0))).collect();
    let line = line(&stops).expect("a line");
    let found = still(&line.held(&[Support::clamp(0)]), &[down(4, 3.0)]).expect("it holds");
    close("tip", -found.moved_mm[4].z, 3.0 / 16.0 * 3.0 * 800.0_f64.powi(3) / 1e8, 1e-6);
}

/// β² with a mass at the tip: 0 → 3.5160 … 5 → 0.7569 (Roark, frequencies of beams with end masses; the values are roots of
/// 1 + cos β cosh β = μβ (sin β cosh β − cos β sinh β), found apart from this code).
#[test]
fn tip_mass() {
    let (length, ei, mass) = (1000.0, 2e8, 0.5);
    for (share, beta2) in
        [(0.0, 3.5160), (0.1, 2.9678), (0.25, 2.4767), (0.5, 2.0163), (1.0, 1.5573), (2.0, 1.1582), (5.0, 0.7569)]
    {
        let mut line = straight(length, 20, bar(ei, mass));
        line.carry(share * mass * length, length, DVec3::X * length);
        let found = modes(&line.held(&[Support::clamp(0)]), 1).expect("it swings")[0].hz;
        let wanted = beta2 / (2.0 * PI) * (ei / (mass * 1e-6 * length.powi(4))).sqrt();
        close(&format!("tip mass {share}"), found, wanted, 5e-4);
    }
}

/// PL³/3EI and 1.2 PL/GA (Gere & Goodno, shear deflection; from memory).
#[test]
fn short_bars_slide() {
    let soft = Bar { shear_per_n: DMat2::from_diagonal([1e-4, 2e-4].into()), ..bar(1e7, 1.0) };
    let line = straight(100.0, 3, soft);
    let found = still(&line.held(&[Support::clamp(0)]), &[down(3, 10.0)]).expect("it holds");
    close("tip", -found.moved_mm[3].z, 10.0 * 1e6 / 3e7 + 10.0 * 100.0 * 2e-4, 1e-9);
}

/// A quarter of a ring, held at one end, pushed out of its plane at the other: PR³ (π/4EI + (3π/4 − 2)/GJ); in its
/// plane along the held end's tangent: πPR³/4EI; across: PR³ (3π/4 − 2)/EI (Roark, curved beams; from memory).
#[test]
fn quarter_of_a_ring() {
    let (r, n) = (300.0, 90);
    let at = |k: i32| FRAC_PI_2 * f64::from(k) / f64::from(n);
    let stops: Vec<Stop> = (0..=n)
        .map(|k| Stop {
            at_mm: DVec3::new(r * libm::sin(at(k)), r * (1.0 - libm::cos(at(k))), 0.0),
            across: DVec3::Z,
            ..stop(r * at(k), bar(1e8, 1.0))
        })
        .collect();
    let line = line(&stops).expect("a line");
    let (tip, frame) = (line.nodes[n as usize][0], line.held(&[Support::clamp(0)]));
    let push = |force_n: DVec3| {
        let load = Load::Point { node: tip, force_n, moment_nmm: DVec3::ZERO };
        still(&frame, &[load]).expect("it holds").moved_mm[tip].dot(force_n)
    };
    let unit = r.powi(3) / 1e8;
    close("out of its plane", push(DVec3::Z), unit * (PI / 4.0 + (0.75 * PI - 2.0) / 0.7), 0.001);
    close("along", push(DVec3::X), unit * PI / 4.0, 0.005);
    close("across", push(DVec3::Y), unit * (0.75 * PI - 2.0), 0.005);
}

/// Held by two hands, as a beam that overhangs: P b² L / 3EI at the tip; reactions by levers (Roark; from memory).
#[test]
fn two_hands() {
    let line = straight(1200.0, 12, bar(1e8, 0.0));
    let held = line.held(&[
        Support { hold: [Hold::Firm, Hold::Firm, Hold::Firm, Hold::Firm, Hold::Free, Hold::Free], node: 0 },
        Support::pin(4),
    ]);
    let found = still(&held, &[down(12, 2.0)]).expect("it holds");
    close("tip", -found.moved_mm[12].z, 2.0 * 800.0 * 800.0 * 1200.0 / 3e8, 1e-6);
    close("front hand", found.reactions[1].force_n.z, 6.0, 1e-9);
    close("back hand", found.reactions[0].force_n.z, -4.0, 1e-9);
}

/// A grip that turns: PL²/k more at the tip.
#[test]
fn soft_hand() {
    let line = straight(500.0, 5, bar(1e8, 0.0));
    let found = still(&line.held(&[Support::grip(0, 1e5)]), &[down(5, 1.0)]).expect("it holds");
    close("tip", -found.moved_mm[5].z, 500.0_f64.powi(3) / 3e8 + 500.0 * 500.0 / 1e5, 1e-9);
    close("wrist", found.reactions[0].moment_nmm.y.abs(), 500.0, 1e-9);
}

fn jointed(turn: Hold, play: f64) -> Line {
    let mut stops: Vec<Stop> = (0..=10).map(|k| stop(100.0 * f64::from(k), bar(1e8, 0.1))).collect();
    stops[4].joint = Some(([Hold::Firm, turn, turn], [0.0, play, play]));
    line(&stops).expect("a line")
}

/// A joint adds P b²/k, its play b × play; a firm one nothing.
#[test]
fn joint_springs_and_play() {
    for (hold, more) in [(Hold::Spring(2e6), 600.0 * 600.0 / 2e6), (Hold::Firm, 0.0)] {
        let line = jointed(hold, 0.0);
        let tip = line.nodes[10][1];
        let frame = line.held(&[Support::clamp(0)]);
        let bent = 1000.0_f64.powi(3) / 3e8;
        let found = still(&frame, &[down(tip, 1.0)]).expect("it holds");
        close("tip", -found.moved_mm[tip].z, bent + more, 1e-5);
        let loose = jointed(hold, 0.01).held(&[Support::clamp(0)]);
        let found = still(&loose, &[down(tip, 1.0)]).expect("it holds");
        close("with play", -found.moved_mm[tip].z, bent + more + 6.0, 1e-5);
        assert!(found.moved_mm[tip].y.abs() < 1e-6, "nothing pushes aside");
    }
}

/// Held firmly at both ends with a loose joint in the middle under an even load w on halves of length a: the joint
/// takes nothing where its play is more than w a³/3EI, and wa²/6 − play EI/2a where it is less (beam tables, two
/// cantilevers joined; worked out here).
#[test]
fn play_between_two_holds() {
    let (ei, a, w): (f64, f64, f64) = (1e8, 500.0, 0.01);
    let mut stops: Vec<Stop> = (0..=10).map(|k| stop(100.0 * f64::from(k), bar(ei, w / 9.80665e-3))).collect();
    let free = w * a.powi(3) / (3.0 * ei);
    for (play, moment) in [(0.5 * free, w * a * a / 12.0), (2.0 * free, 0.0), (0.0, w * a * a / 6.0)] {
        stops[5].joint = Some(([Hold::Firm; 3], [0.0, play, 0.0]));
        let line = line(&stops).expect("a line");
        let ends = [Support::clamp(0), Support::clamp(line.nodes[10][0])];
        let found = still(&line.held(&ends), &[WEIGHT]).expect("it holds");
        let got = found.ends[line.spans[5]][0].moment_nmm.y.abs();
        assert!((got - moment).abs() < 1e-3 * w * a * a, "play {play}: {got} against {moment}");
    }
}

/// Held firmly at both ends and pushed by P in the middle, a bar has no moment at the quarters. With a joint in the middle that
/// is loose enough to take nothing, each half is a cantilever under P/2, and a play at a quarter, where the tight bar pushed
/// no joint to either end, lowers the middle by play L/4 (beam tables; worked out here).
#[test]
fn play_where_the_tight_bar_has_no_moment() {
    let (ei, half, force, play): (f64, f64, f64, f64) = (1e8, 400.0, 2.0, 0.002);
    let mut stops: Vec<Stop> = (0..=8).map(|k| stop(100.0 * f64::from(k), bar(ei, 0.0))).collect();
    for (k, play) in [(2, play), (4, 1.0), (6, play)] {
        stops[k].joint = Some(([Hold::Firm; 3], [0.0, play, 0.0]));
    }
    let line = line(&stops).expect("a line");
    let middle = line.nodes[4][0];
    let ends = [Support::clamp(0), Support::clamp(line.nodes[8][0])];
    let found = still(&line.held(&ends), &[down(middle, force)]).expect("it holds");
    close("middle", -found.moved_mm[middle].z, 0.5 * force * half.powi(3) / (3.0 * ei) + 0.5 * half * play, 1e-3);
}

/// A core that slides bends with the rest: stiffness adds up; it runs through a joint that could turn freely.
#[test]
fn core_runs_along() {
    let core = Some(bar(3e7, 0.2));
    let mut stops: Vec<Stop> = (0..=10).map(|k| Stop { core, ..stop(100.0 * f64::from(k), bar(1e8, 0.1)) }).collect();
    let together = line(&stops).expect("a line");
    let tip = |l: &Line| {
        let clamped: Vec<Support> =
            (0..l.frame.nodes.len()).filter(|n| l.frame.nodes[*n].x == 0.0).map(Support::clamp).collect();
        let node = l.nodes[10][0];
        -still(&l.held(&clamped), &[down(node, 1.0)]).expect("it holds").moved_mm[node].z
    };
    close("both", tip(&together), 1e9 / (3.0 * 1.3e8), 1e-4);
    close("mass", heft(&together.frame).mass_g, 300.0, 1e-9);
    stops[5].joint = Some(([Hold::Firm, Hold::Free, Hold::Free], [0.0; 3]));
    let hinged = tip(&line(&stops).expect("a line"));
    // At least what the core alone must bend more near the hinge, far less than if it were alone.
    assert!(hinged > 1e9 / (3.0 * 1.3e8) && hinged < 1e9 / (3.0 * 3e7), "{hinged}");
}

/// Many short spans and firm joints, which make large numbers, cost the frequencies no accuracy.
#[test]
fn a_core_in_many_spans() {
    let stops: Vec<Stop> =
        (0..=200).map(|k| Stop { core: Some(bar(3e7, 0.2)), ..stop(5.0 * f64::from(k), bar(1e8, 0.1)) }).collect();
    let line = line(&stops).expect("a line");
    let ends: Vec<Support> =
        (0..line.frame.nodes.len()).filter(|n| line.frame.nodes[*n].x == 0.0).map(Support::clamp).collect();
    let found = modes(&line.held(&ends), 6).expect("it swings");
    let first = 3.51602 / (2.0 * PI) * (1.3e8_f64 / (0.3e-6 * 1e12)).sqrt();
    close("first", found[0].hz, first, 1e-3);
    close("second", found[2].hz, first * 4.69409_f64.powi(2) / 3.51602, 2e-3);
}

/// Round an axis at its root: pull mω²L²/2 there; when the rate grows, moment mαL³/3.
#[test]
fn swing() {
    let line = straight(900.0, 30, bar(1e9, 0.3));
    let load = Load::Swing { centre_mm: DVec3::ZERO, rate_rad_s: DVec3::Z * 8.0, gain_rad_s2: DVec3::Z * 50.0 };
    let found = still(&line.held(&[Support::clamp(0)]), &[load]).expect("it holds");
    close("pull", found.ends[0][0].force_n.x, 0.3e-6 * 64.0 * 900.0 * 900.0 / 2.0, 1e-9);
    close("moment", found.ends[0][0].moment_nmm.z.abs(), 0.3e-6 * 50.0 * 900.0_f64.powi(3) / 3.0, 0.001);
    assert!(found.moved_mm[30].y < 0.0, "it stays behind");
}

/// A ladder against a smooth wall leans on it with W/2 over the slope's tangent (any statics book).
#[test]
fn leaning() {
    let line = straight(1000.0, 10, bar(1e9, 0.4));
    let slope: f64 = 1.2;
    let mut frame = line.frame.turned(DMat3::from_rotation_y(-slope));
    assert!(frame.nodes[10].z > 0.0);
    frame.supports = vec![
        Support { hold: [Hold::Firm, Hold::Firm, Hold::Firm, Hold::Firm, Hold::Free, Hold::Firm], node: 0 },
        Support { hold: [Hold::Firm, Hold::Free, Hold::Free, Hold::Free, Hold::Free, Hold::Free], node: 10 },
    ];
    let found = still(&frame, &[WEIGHT]).expect("it leans");
    let weight = 400.0e-6 * EARTH_MM_S2;
    close("wall", -found.reactions[1].force_n.x, 0.5 * weight / libm::tan(slope), 1e-3);
    close("floor", found.reactions[0].force_n.z, weight, 1e-6);
}

/// Euler's columns: π²EI/4L² from a clamp, π²EI/L² between pins.
#[test]
fn columns() {
    let line = straight(1000.0, 12, bar(1e7, 0.0));
    let push = |node| Load::Point { node, force_n: DVec3::NEG_X, moment_nmm: DVec3::ZERO };
    let euler = PI * PI * 1e7 / 1e6;
    let found = buckling(&line.held(&[Support::clamp(0)]), &[push(12)]).expect("it holds").expect("it buckles");
    close("clamped", found, euler / 4.0, 1e-3);
    let slide = Support { hold: [Hold::Free, Hold::Firm, Hold::Firm, Hold::Firm, Hold::Free, Hold::Free], node: 12 };
    let found = buckling(&line.held(&[Support::pin(0), slide]), &[push(12)]).expect("it holds").expect("it buckles");
    close("pinned", found, euler, 1e-3);
    let pulled = Load::Point { node: 12, force_n: DVec3::X, moment_nmm: DVec3::ZERO };
    assert_eq!(buckling(&line.held(&[Support::clamp(0)]), &[pulled]).expect("it holds"), None);
}

/// A strut of length l, pressed by P at its tip, ends a bar that is pulled 100 times as hard. Far from its ends such a bar
/// goes straight, so its slope at the strut's foot is √(100P/EI) times the foot's way aside, the tip's way is 101 times that,
/// and √(P/EI) l = arctan 10 (worked out here). The bar alone would buckle the other way in scores of shapes under
/// smaller pulls than that, which must not hide the strut.
#[test]
fn a_strut_at_the_end_of_a_pulled_bar() {
    let line = straight(1000.0, 200, bar(1e7, 0.0));
    let push = |node, force_n| Load::Point { node, force_n: DVec3::X * force_n, moment_nmm: DVec3::ZERO };
    let loads = [push(180, 101.0), push(200, -1.0)];
    let found = buckling(&line.held(&[Support::clamp(0)]), &loads).expect("it holds").expect("it buckles");
    close("strut", found, 1e7 * (libm::atan(10.0) / 100.0).powi(2), 1e-3);
    let heavy = buckling(&line.held(&[Support::clamp(0)]), &[push(200, -1e4)]).expect("it holds").expect("it buckles");
    close("at once", heavy, PI * PI * 1e7 / 4e6 / 1e4, 1e-3);
}

/// A slow pulse does what the load at rest does. A short one gives a mass on a light bar its momentum: p/(m ω).
#[test]
fn pulses() {
    let mut line = straight(500.0, 8, bar(1e8, 1e-6));
    line.carry(200.0, 500.0, DVec3::X * 500.0);
    let tip = line.nodes[8][0];
    let frame = line.held(&[Support::clamp(0)]);
    let rest = still(&frame, &[down(tip, 5.0)]).expect("it holds");
    let hz = modes(&frame, 1).expect("it swings")[0].hz;
    let slow = pulse(&frame, &[down(tip, 5.0)], 40.25 / hz, 4).expect("it moves");
    close("slow", slow.moved_mm[tip].length(), rest.moved_mm[tip].length(), 0.02);
    close("its root", slow.ends[0][0].moment_nmm.length(), rest.ends[0][0].moment_nmm.length(), 0.02);
    let lasts = 0.01 / hz;
    let short = pulse(&frame, &[down(tip, 5.0)], lasts, 4).expect("it moves");
    let momentum = 2.0 / PI * 5.0 * lasts;
    // N·s over tonnes and radians a second: mm.
    close("short", short.moved_mm[tip].length(), momentum / (200e-6 * 2.0 * PI * hz), 0.01);
    let knock = pulse(&frame, &[Load::Pull { mm_s2: DVec3::Z * 5.0 / 200e-6 }], 40.25 / hz, 4).expect("it moves");
    close("knock", knock.moved_mm[tip].length(), rest.moved_mm[tip].length(), 0.03);
}

/// A rod swings about its end by mL²/3 and balances in its middle; with a weight at the butt by levers.
#[test]
fn weighing() {
    let line = straight(1500.0, 10, Bar { spin_gmm2_mm: 0.0, ..bar(1e8, 0.4) });
    let found = heft(&line.frame);
    close("mass", found.mass_g, 600.0, 1e-12);
    close("balance", found.balance_mm.x, 750.0, 1e-12);
    close("swing", found.swing_gmm2(DVec3::ZERO, DVec3::Y), 600.0 * 1500.0 * 1500.0 / 3.0, 1e-9);
    close("wrist", found.holding_nmm(DVec3::X * 300.0, DVec3::NEG_Z).length(), 0.6 * 9.80665 * 450.0, 1e-9);
    let heavier = found.with(300.0, DVec3::ZERO);
    close("balance with a weight", heavier.balance_mm.x, 500.0, 1e-12);
    close("swing with it", heavier.swing_gmm2(DVec3::ZERO, DVec3::Y), 600.0 * 1500.0 * 1500.0 / 3.0, 1e-9);
}

/// A mass on an arm turns the bar it sits on: T L/GJ.
#[test]
fn a_mass_aside_twists() {
    let mut line = straight(400.0, 4, bar(1e8, 0.0));
    line.carry(100.0, 400.0, DVec3::new(400.0, 50.0, 0.0));
    let found = still(&line.held(&[Support::clamp(0)]), &[WEIGHT]).expect("it holds");
    close("turn", found.turned_rad[4].x.abs(), 0.1 * 9.80665 * 50.0 * 400.0 / 0.7e8, 1e-9);
}

#[test]
fn mistakes_are_named() {
    let good = straight(100.0, 2, bar(1e6, 1.0)).held(&[Support::clamp(0)]);
    let fails = |change: &dyn Fn(&mut Frame)| {
        let mut frame = good.clone();
        change(&mut frame);
        still(&frame, &[WEIGHT]).expect_err("it must not pass")
    };
    assert!(matches!(fails(&|f| f.spans.clear()), FrameError::Empty));
    assert!(matches!(fails(&|f| f.supports.clear()), FrameError::NoSupport));
    assert!(matches!(fails(&|f| f.spans[1].bar.ea_n = 0.0), FrameError::Vanished { span: 1, .. }));
    assert!(matches!(fails(&|f| f.spans[1].bar.gj_nmm2 = 0.0), FrameError::ZeroStiffness { span: 1, which: "GJ", .. }));
    assert!(matches!(fails(&|f| f.spans[0].bar.ei_nmm2.about_y = 0.0), FrameError::ZeroStiffness { span: 0, .. }));
    assert!(matches!(fails(&|f| f.nodes[1] = DVec3::NAN), FrameError::NotFinite { what: "node", idx: 1 }));
    assert!(matches!(fails(&|f| f.nodes[1] = DVec3::ZERO), FrameError::NoAxes { span: 0, .. }));
    assert!(matches!(
        fails(&|f| f.supports[0].node = 9),
        FrameError::NoNode { what: "support", node: 9, nodes: 3, .. }
    ));
    assert!(matches!(fails(&|f| f.supports[0] = Support::pin(0)), FrameError::Loose { .. }));
    let beside = |f: &mut Frame| {
        f.nodes.push(DVec3::Y);
        f.supports[0].node = 3;
    };
    assert!(matches!(fails(&beside), FrameError::Unattached { what: "support", idx: 0, node: 3 }));
    let joint = |to| Joint::turning([1, to], DVec3::X, DVec3::Y, [Hold::Firm; 3]);
    assert!(matches!(fails(&|f| f.joints.push(joint(2))), FrameError::JointApart { joint: 0, .. }));
    let mass = PointMass { node: 1, mass_g: -1.0, arm_mm: DVec3::ZERO };
    assert!(matches!(fails(&|f| f.masses.push(mass)), FrameError::NotFinite { what: "mass", .. }));
    // Two bars that nothing joins.
    let apart = |f: &mut Frame| {
        f.nodes.push(DVec3::X * 300.0);
        f.spans[1] = Span { from: 2, to: 3, ..f.spans[1] };
    };
    assert!(matches!(fails(&apart), FrameError::Loose { .. }));
    let light = straight(100.0, 2, bar(1e6, 0.0)).held(&[Support::clamp(0)]);
    assert!(matches!(modes(&light, 2), Err(FrameError::NoMass)));
    assert!(matches!(pulse(&good, &[WEIGHT], 0.0, 2), Err(FrameError::Pulse { .. })));
    assert!(matches!(line(&[stop(0.0, bar(1.0, 1.0))]), Err(FrameError::Short { stops: 1 })));
    let twice = [stop(0.0, bar(1.0, 1.0)), stop(0.0, bar(1.0, 1.0))];
    assert!(matches!(line(&twice), Err(FrameError::Order { stop: 1, .. })));
}
