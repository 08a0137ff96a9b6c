//! Times a day of a circuit like the reed glaive's, and what follows a change of its cell or wire.
//!
//! `cargo run --release --manifest-path bench/Cargo.toml --bin power -- [HOURS]`: eight hours in steps of 10 ms, once of modes that
//! come and go and once of light and sound that never stay; then the runtime and the worst instant after another cell and
//! another gauge. Beside the clock stands the time that the processor was busy, which others on the machine don't lengthen.

#[path = "../cost.rs"]
mod cost;

use circuit::{
    Amplifier, Cell, CircuitError, Conditions, Contact, Converter, DaySpec, Demand, Fuse, Load, Moment, Network,
    PartId, Pixel, Scene, Strip, Usage, Wire, foil_ohm,
};
use cost::{cpu_s, peak_mb};
use std::process::ExitCode;
use std::time::Instant;

const STEP_S: f64 = 0.01;

/// Pixels of a blade's strip of two rows.
const ROW: usize = 66;

fn main() -> ExitCode {
    let hours = match std::env::args().nth(1).map(|word| word.parse::<f64>()) {
        None => 8.0,
        Some(Ok(hours)) if hours > 0.0 => hours,
        Some(_) => {
            println!("usage: power [HOURS]");
            return ExitCode::from(2);
        }
    };
    match table(hours) {
        Ok(()) => ExitCode::SUCCESS,
        Err(fault) => {
            println!("{fault}");
            ExitCode::FAILURE
        }
    }
}

fn table(hours: f64) -> Result<(), CircuitError> {
    let (mut net, cell, wire) = glaive()?;
    let steps = (3600.0 * hours / STEP_S) as usize;
    let spec = DaySpec { duration_s: 3600.0 * hours, ambient_c: 20.0, charge: 1.0, trace_s: 60.0 };
    println!("{:<24}{:>8}{:>8}{:>10}{:>8}", "", "s", "cpu s", "states", "MB");
    for (name, usage) in [("modes", modes(&net, steps)), ("a recording", recording(&net, steps))] {
        let (start, busy) = (Instant::now(), cpu_s());
        let day = net.day(&usage, &spec)?;
        row(&format!("{} steps of {name}", (day.lasted_s / STEP_S) as u64), start, busy, day.solved);
    }
    let usage = modes(&net, 60_000);
    let worst = |net: &Network| {
        let demand = Demand { scene: &usage.scenes[0], light: 1.0, sound_w: 2.5 };
        net.solve(&demand, &Conditions { charge: 0.1, ..Conditions::full_at(0.0) })
    };
    let mut change = |name: &str, part: PartId, to: circuit::Part| {
        let (start, busy) = (Instant::now(), cpu_s());
        net.replace(part, to)?;
        let (runtime, state) = (net.runtime(&usage, 20.0)?, worst(&net));
        row(name, start, busy, 0);
        let low = match state {
            Ok(state) => format!("lowest pixel {:.2} V", state.lowest_pixel().map_or(0.0, |p| p.2)),
            Err(fault) => fault.to_string(),
        };
        println!("    {:.2} h, {low}", runtime.lasts_s / 3600.0);
        Ok::<(), CircuitError>(())
    };
    change("another cell", cell, Cell::lithium_ion(5.0, 0.015, 20.0).into())?;
    change("another gauge", wire, Wire::stranded(18, 150.0).into())
}

fn row(name: &str, start: Instant, busy: f64, states: usize) {
    let clock_s = start.elapsed().as_secs_f64();
    println!("{name:<24}{clock_s:>8.3}{:>8.2}{states:>10}{:>8.0}", cpu_s() - busy, peak_mb());
}

/// The circuit, its cell (a large one, so that the day is not cut short) and the wire from it.
fn glaive() -> Result<(Network, PartId, PartId), CircuitError> {
    let mut net = Network::default();
    let [plus, minus, plug, knob, fused, held, rail, back] =
        ["cell +", "cell -", "plug", "switched", "fused", "converter in", "5 V", "5 V -"].map(|n| net.node(n));
    let cell = net.add("cell", Cell { parallel: 4, ..Cell::lithium_ion(3.5, 0.04, 15.0) }, &[plus, minus])?;
    net.add("plug", Contact::closed(0.01, 10.0), &[plus, plug])?;
    net.add("switch", Contact::closed(0.01, 6.0), &[plug, knob])?;
    net.add("fuse", Fuse::rated(7.5), &[knob, fused])?;
    let wire = net.add("red", Wire::stranded(20, 150.0), &[fused, held])?;
    net.add("black", Wire::stranded(20, 150.0), &[minus, back])?;
    net.add("converter", Converter::up_to_5v(6.0), &[held, rail, back])?;
    net.add("controller", Load::Current { amps: 0.08, lowest_v: 3.4 }, &[rail, back])?;
    net.add("sensor", Load::Current { amps: 0.004, lowest_v: 2.4 }, &[rail, back])?;
    let amp = Amplifier { speaker_ohm: 4.0, efficiency: 0.85, idle_a: 0.0028, lowest_v: 2.5 };
    net.add("amplifier", amp, &[held, back])?;
    for k in 0..2 {
        let ends = [0, 1].map(|e| (net.node(format!("{k} {e} +")), net.node(format!("{k} {e} -"))));
        for (e, (a, b)) in ends.into_iter().enumerate() {
            let long = 200.0 + 1100.0 * e as f64;
            net.add(format!("{k} {e} red"), Wire::stranded(22, long), &[rail, a])?;
            net.add(format!("{k} {e} black"), Wire::stranded(22, long), &[back, b])?;
        }
        let strip = Strip::fed_at_start(ROW, Pixel::rgb(0.012), foil_ohm(1000.0 / 60.0, 2.5, 70.0));
        let [(a, b), (c, d)] = ends;
        net.add(format!("strip {k}"), strip.joined_at(&[0, ROW + 1]), &[a, b, c, d])?;
    }
    Ok((net, cell, wire))
}

fn scenes(net: &Network) -> Vec<Scene> {
    [[1.0, 1.0, 1.0, 0.0], [0.1, 0.5, 1.0, 0.0], [1.0, 0.3, 0.0, 0.0]].map(|drive| Scene::even(net, drive)).to_vec()
}

/// A glow, a swing every twenty seconds, a flash after it.
fn modes(net: &Network, steps: usize) -> Usage {
    let moment = |k: usize| match (k as f64 * STEP_S) % 20.0 {
        t if t < 0.3 => Moment { scene: 0, light: 0.9, sound_w: 2.5 },
        t if t < 3.0 => Moment { scene: 1, light: 0.3 + 0.1 * (t * 4.0).floor() / 4.0, sound_w: 0.8 },
        _ => Moment { scene: 1, light: 0.2, sound_w: 0.02 },
    };
    Usage { scenes: scenes(net), moments: (0..steps).map(moment).collect(), step_s: STEP_S }
}

/// Light and sound that wander without ever coming back to the same.
fn recording(net: &Network, steps: usize) -> Usage {
    let (mut seed, mut light, mut sound_w) = (1_u64, 0.2_f64, 0.1_f64);
    let mut chance = || {
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (seed >> 11) as f64 / (1_u64 << 53) as f64
    };
    let moments = (0..steps).map(|k| {
        light = (light + 0.02 * (chance() - 0.5) + 0.001 * (0.25 - light)).clamp(0.05, 1.0);
        sound_w = (sound_w + 0.05 * (chance() - 0.5) + 0.01 * (0.1 - sound_w)).clamp(0.0, 2.5);
        Moment { scene: (k / 30_000) % 3, light, sound_w }
    });
    Usage { scenes: scenes(net), moments: moments.collect(), step_s: STEP_S }
}
