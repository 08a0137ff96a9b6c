//! What people do with a prop in the hand, as strokes, swaying and pulses. Amplitudes and times are common practice without
//! a source, unless one is named.

use super::body::joint::{ELBOW, FOREARM_TWIST, SHOULDER_LIFT, SHOULDER_TURN, WRIST_LIFT, WRIST_TURN};
use super::script::{IMPACTS_MS, PEAKS_G, PRESSES_MS, TIMES_S};
use super::stage::{READY, Stage};
use super::{Act, Kind};

/// Plays an act from where the last one ended.
pub(crate) fn play(act: &Act, stage: &mut Stage) {
    let time = |lasts_s: f64| within(lasts_s, TIMES_S);
    match *act {
        Act::Rest { lasts_s } => stage.now_s += time(lasts_s),
        Act::Walk { lasts_s } => gait(stage, time(lasts_s), &WALK),
        Act::Run { lasts_s } => gait(stage, time(lasts_s), &RUN),
        Act::Idle { lasts_s } => idle(stage, time(lasts_s)),
        Act::Bumps { lasts_s } => bumps(stage, time(lasts_s)),
        Act::Shake { lasts_s } => shake(stage, time(lasts_s)),
        Act::Swing => swing(stage),
        Act::Strike { g, lasts_ms } => strike(stage, g, lasts_ms),
        Act::Parry { g, lasts_ms } => {
            let now_s = stage.now_s + 0.3;
            impact(stage, now_s, g, lasts_ms);
            stage.now_s += stage.random.between(0.9, 1.5);
        }
        Act::TipUp => hold(stage, Kind::TipUp, 1.5),
        Act::TipDown => hold(stage, Kind::TipDown, -1.45),
        Act::Level => hold(stage, Kind::Level, 0.0),
        Act::Twist => twist(stage),
        Act::SetDown { lasts_s } => set_down(stage, time(lasts_s)),
        Act::Drop => drop(stage),
        Act::Press { lasts_ms } => {
            let lasts_s = within(f64::from(lasts_ms), PRESSES_MS) / 1000.0;
            stage.press(lasts_s);
            stage.moment(Kind::Press, stage.now_s, stage.now_s + lasts_s);
            stage.now_s += lasts_s + 0.4;
        }
    }
}

/// The nearest in a range; what is no number is its least.
fn within(value: f64, [least, most]: [f64; 2]) -> f64 {
    value.max(least).min(most)
}

/// Ranges of a way to go: half amplitudes in metres and degrees, pushes in g.
struct Gait {
    steps_hz: [f64; 2],
    bob_m: [f64; 2],
    arm_deg: [f64; 2],
    wrist_deg: [f64; 2],
    push_g: [f64; 2],
}

const WALK: Gait = Gait {
    steps_hz: [1.6, 2.1],
    bob_m: [0.015, 0.03],
    arm_deg: [6.0, 22.0],
    wrist_deg: [1.0, 6.0],
    push_g: [0.1, 0.6],
};
const RUN: Gait = Gait {
    steps_hz: [2.5, 3.0],
    bob_m: [0.035, 0.06],
    arm_deg: [25.0, 45.0],
    wrist_deg: [4.0, 14.0],
    push_g: [0.5, 2.0],
};

/// Ways to carry a prop: at the side, over the shoulder, in front.
const CARRIED: [&[(usize, f64)]; 3] = [
    &[(SHOULDER_LIFT, 1.4), (ELBOW, -0.3), (WRIST_LIFT, 0.1)],
    &[(SHOULDER_LIFT, 0.9), (ELBOW, -2.0), (WRIST_LIFT, -0.3)],
    &READY,
];

fn gait(stage: &mut Stage, lasts_s: f64, gait: &Gait) {
    let draw = |stage: &mut Stage, [least, most]: [f64; 2]| stage.random.between(least, most);
    let carried = CARRIED[(stage.random.bits() % 3) as usize];
    let (begun_s, ends_s) = (stage.now_s, stage.now_s + lasts_s);
    stage.pose(carried, 0.8_f64.min(0.5 * lasts_s));
    let left_s = ends_s - stage.now_s;
    let hz = draw(stage, gait.steps_hz);
    let bob = draw(stage, gait.bob_m);
    stage.bob(2, hz, bob, left_s);
    stage.bob(1, 0.5 * hz, 0.02, left_s);
    stage.bob(0, hz, 0.015, left_s);
    let arm = draw(stage, gait.arm_deg).to_radians();
    stage.sway(SHOULDER_LIFT, 0.5 * hz, arm, left_s);
    for k in [WRIST_LIFT, WRIST_TURN] {
        let wrist = 0.7 * draw(stage, gait.wrist_deg).to_radians();
        stage.sway(k, hz, wrist, left_s);
    }
    // Heel strikes reach the hand softened.
    let mut step_s = stage.now_s + stage.random.between(0.0, 1.0 / hz);
    while step_s < ends_s - 0.1 {
        let direction = [0.5 + 0.3 * stage.random.normal(), 0.3 * stage.random.normal(), 1.0];
        let (g, lasts_s) = (draw(stage, gait.push_g), stage.random.between(0.025, 0.06));
        stage.pulse(step_s, g, lasts_s, direction);
        step_s += (1.0 + 0.03 * stage.random.normal()).max(0.5) / hz;
    }
    stage.moment(Kind::Gait, begun_s, ends_s);
    stage.now_s = ends_s;
    stage.pose(&[], 0.8);
}

fn idle(stage: &mut Stage, lasts_s: f64) {
    let ends_s = stage.now_s + lasts_s;
    while stage.now_s + 2.0 < ends_s {
        let takes_s = stage.random.between(0.7, 1.6);
        let by = stage.random.between(-50.0, 50.0).to_radians();
        let ways = across(stage, 0.6 * by, 0.4 * by);
        stage.stroke(&ways, takes_s, None);
        stage.now_s += takes_s + stage.random.between(0.1, 1.0);
        if stage.random.unit() < 0.3 {
            let back_s = stage.random.between(1.0, 1.6);
            stage.pose(&[], back_s);
        }
    }
    stage.now_s = stage.now_s.max(ends_s);
    stage.pose(&[], 1.2);
}

/// A turn across the prop, in a direction by chance: so much of the arm, so much of the wrist.
fn across(stage: &mut Stage, arm: f64, wrist: f64) -> [(usize, f64); 4] {
    let (sin, cos) = libm::sincos(stage.random.between(0.0, std::f64::consts::TAU));
    [(SHOULDER_LIFT, arm * cos), (SHOULDER_TURN, arm * sin), (WRIST_LIFT, wrist * cos), (WRIST_TURN, wrist * sin)]
}

/// Knocks against furniture, doors, one's own belt; and taps of a knuckle.
fn bumps(stage: &mut Stage, lasts_s: f64) {
    let ends_s = stage.now_s + lasts_s;
    while stage.now_s + 1.5 < ends_s {
        let (g, lasts_s) = (stage.random.between(0.3, 1.8), stage.random.between(0.005, 0.02));
        let direction = stage.random.direction();
        stage.pulse(stage.now_s, g, lasts_s, direction);
        stage.now_s += stage.random.between(0.5, 1.5);
    }
    stage.now_s = stage.now_s.max(ends_s);
}

fn shake(stage: &mut Stage, lasts_s: f64) {
    for k in [WRIST_LIFT, WRIST_TURN] {
        let (hz, by) = (stage.random.between(4.0, 6.0), stage.random.between(5.0, 18.0).to_radians());
        stage.sway(k, hz, by, lasts_s);
    }
    stage.now_s += lasts_s;
}

/// A stroke of 70 to 150 degrees with a peak rate by chance: where it goes, how long, and how far.
fn blow(stage: &mut Stage) -> ([(usize, f64); 4], f64) {
    let by = stage.random.between(70.0, 150.0);
    let peak_dps = stage.random.between(450.0, 1100.0);
    let takes_s = (1.875 * by / peak_dps).max(0.15);
    let share = stage.random.between(0.3, 0.7);
    let by = by.to_radians();
    (across(stage, by * share, by * (1.0 - share)), takes_s)
}

fn swing(stage: &mut Stage) {
    let (ways, takes_s) = blow(stage);
    stage.moment(Kind::Swing, stage.now_s, stage.now_s + takes_s);
    stage.stroke(&ways, takes_s, None);
    stage.now_s += takes_s + stage.random.between(0.3, 0.8);
    let back_s = stage.random.between(1.2, 1.7);
    stage.pose(&[], back_s);
    stage.now_s += stage.random.between(0.3, 0.8);
}

fn strike(stage: &mut Stage, g: Option<f64>, lasts_ms: Option<f64>) {
    let (ways, takes_s) = blow(stage);
    let share = stage.random.between(0.45, 0.75);
    let met_s = stage.now_s + share * takes_s;
    stage.moment(Kind::Swing, stage.now_s, met_s);
    stage.stroke(&ways, takes_s, Some((share, 0.006)));
    impact(stage, met_s, g, lasts_ms);
    stage.now_s = met_s + stage.random.between(0.5, 1.0);
    let back_s = stage.random.between(1.2, 1.7);
    stage.pose(&[], back_s);
    stage.now_s += stage.random.between(0.3, 0.8);
}

/// A half-sine of 6 to 45 g and 2 to 10 ms mostly across the prop, and what rings after it.
fn impact(stage: &mut Stage, at_s: f64, g: Option<f64>, lasts_ms: Option<f64>) {
    let drawn = (stage.random.between(6.0, 45.0), stage.random.between(2.0, 10.0));
    let g = within(g.unwrap_or(drawn.0), PEAKS_G);
    let lasts_ms = within(lasts_ms.unwrap_or(drawn.1), IMPACTS_MS);
    let lasts_s = lasts_ms / 1000.0;
    let v = [0.25 * stage.random.normal(), stage.random.normal(), stage.random.normal()];
    let long = libm::sqrt(v.iter().map(|c| c * c).sum::<f64>()).max(1e-6);
    let direction = v.map(|c| c / long);
    stage.pulse(at_s, g, lasts_s, direction);
    let (part, hz, dies_s) =
        (stage.random.between(0.05, 0.25), stage.random.between(18.0, 45.0), stage.random.between(0.03, 0.09));
    stage.ring(at_s + lasts_s, g * part, hz, dies_s, direction);
    let moment = stage.moment(Kind::Strike, at_s, at_s + lasts_s);
    moment.peak_g = g;
    moment.lasts_ms = lasts_ms;
}

/// The tip to so many radians above the horizon, and held.
fn hold(stage: &mut Stage, kind: Kind, up: f64) {
    let start_s = stage.now_s;
    let takes_s = stage.random.between(0.8, 1.3);
    stage.pose(&[(WRIST_LIFT, -up - 1.35 + 1.45)], takes_s);
    stage.now_s += stage.random.between(1.0, 2.0);
    stage.moment(kind, start_s, stage.now_s);
}

/// With the wrist straight, or the prop would circle instead of twisting.
fn twist(stage: &mut Stage) {
    stage.pose(&[(WRIST_LIFT, 0.0)], 0.8);
    let (takes_s, by) = (stage.random.between(0.25, 0.4), stage.random.between(110.0, 150.0).to_radians());
    stage.moment(Kind::Twist, stage.now_s, stage.now_s + takes_s);
    stage.stroke(&[(FOREARM_TWIST, by)], takes_s, None);
    stage.now_s += takes_s + 0.5;
    stage.pose(&[], 1.2);
}

fn set_down(stage: &mut Stage, lasts_s: f64) {
    stage.pose(&[(WRIST_LIFT, 0.1)], 1.0);
    let (g, takes_s) = (stage.random.between(0.3, 1.2), stage.random.between(0.005, 0.015));
    let direction = stage.random.direction();
    stage.pulse(stage.now_s, g, takes_s, direction);
    stage.lie(lasts_s);
    stage.moment(Kind::SetDown, stage.now_s, stage.now_s + lasts_s);
    stage.now_s += lasts_s;
    stage.pose(&[], 1.0);
}

/// From 0.4 to 1.3 m onto the floor, where it bounces once and lies until it is picked up.
fn drop(stage: &mut Stage) {
    let height_m = stage.random.between(0.4, 1.3);
    let fall_s = libm::sqrt(2.0 * height_m / super::body::G);
    stage.moment(Kind::Drop, stage.now_s, stage.now_s + fall_s + 0.3);
    stage.fall(fall_s);
    stage.lie(fall_s + 2.0);
    // While nobody holds it, the joints stand for the way it turned.
    stage.pose(&[(WRIST_LIFT, 0.1)], fall_s);
    for (after_s, least_g, most_g) in [(0.0, 40.0, 150.0), (0.15, 10.0, 40.0)] {
        let (g, takes_s) = (stage.random.between(least_g, most_g), stage.random.between(0.002, 0.003));
        let direction = stage.random.direction();
        stage.pulse(stage.now_s + after_s, g, takes_s, direction);
    }
    stage.now_s += 2.0;
    stage.pose(&[], 1.2);
}
