//! Times the engine: `cargo run --release -p behaviour --example pace`. Millions of samples a second on one core.
//!
//! A sample is one reading of the sensor, 400 of them a second of use, with all that hangs on it. The rows: what the hand did,
//! and nothing else; with a strip of 60 pixels painted, kept to its current and watched for flashes (a frame for every eighth
//! sample); and with the sound mixed too (55 samples of sound for each: a hum, and what is struck on top of it). Whoever plays is
//! awake all the time, swings, strikes and tips: nothing of it is the dark mode, which costs little.
//!
//! Each stretch of two seconds of the motion is timed in every round, and its quickest round counts: whatever else the machine does
//! only slows. The middle round is told beside it.

use behaviour::motion::{Act, Sensor, perform};
use behaviour::sound::starter_sounds;
use behaviour::{BLOCK, Behaviour, Engine, Event, Hardware, Mode, Pace, Sample, Table, Thresholds, starter};
use std::error::Error;
use std::io::Write;
use std::time::Instant;

/// Samples of a stretch, and rounds of the whole motion.
const STRETCH: usize = 800;
const ROUNDS: usize = 60;

fn main() -> Result<(), Box<dyn Error>> {
    let acts = [Act::Swing, Act::Strike { g: None, lasts_ms: None }, Act::TipUp, Act::Swing, Act::Level];
    let lively: Vec<Act> = [Act::Press { lasts_ms: 200 }].into_iter().chain(acts.repeat(12)).collect();
    let samples = perform(&lively, &Sensor::common(Pace::Hz400), 1, 3900).samples;
    let dark = Mode { name: "dark".to_owned(), lights: Vec::new(), hum: None, lasts_ms: None };
    let bare = Behaviour { modes: vec![dark], rules: Vec::new(), sounds: Vec::new() };
    let sounds = starter_sounds(22050, 1).to_vec();
    let whole = starter(std::array::from_fn(|k| sounds[k].len() as u32));
    let mut mute = whole.clone();
    mute.sounds.clear();
    mute.modes.iter_mut().for_each(|m| m.hum = None);
    mute.rules.iter_mut().for_each(|r| r.sound = None);
    let mut out = std::io::stdout().lock();
    let rows = [
        ("detectors and modes", bare, 1, Vec::new()),
        ("and 60 pixels", mute, 60, Vec::new()),
        ("and sound", whole, 60, sounds),
    ];
    for (name, behaviour, pixels, sounds) in rows {
        let hardware = Hardware { pixels, ..Hardware::default() };
        let table = Table::new(&behaviour, &Thresholds::default(), &hardware).map_err(|all| format!("{all:?}"))?;
        let engine = Engine::new(table, sounds)?;
        let (best, middle) = timed(&engine, &samples);
        let awake = share(engine, &samples);
        writeln!(
            out,
            "{name}: {:.1} million samples a second, {best:.1} ns each (middle round {middle:.1} ns); {awake}",
            1e3 / best,
        )?;
    }
    Ok(())
}

/// Time of a sample in the quickest rounds and in middle ones, ns.
fn timed(engine: &Engine, samples: &[Sample]) -> (f64, f64) {
    let stretches = samples.len().div_ceil(STRETCH);
    let mut times = vec![Vec::new(); stretches];
    let mut events = Vec::new();
    for _ in 0..ROUNDS {
        let mut engine = engine.clone();
        for (times, stretch) in times.iter_mut().zip(samples.chunks(STRETCH)) {
            let begun = Instant::now();
            for sample in stretch {
                engine.step(sample, &mut events);
            }
            times.push(begun.elapsed().as_secs_f64());
        }
    }
    times.iter_mut().for_each(|t| t.sort_by(f64::total_cmp));
    let sum = |k: usize| 1e9 * times.iter().map(|t| t[k]).sum::<f64>() / samples.len() as f64;
    (sum(0), sum(ROUNDS / 2))
}

/// How much of the motion it is awake, and how much of the sound is not silence.
fn share(mut engine: Engine, samples: &[Sample]) -> String {
    let (mut lit, mut frames, mut heard, mut blocks) = (0, 0, 0, 0);
    let mut events = Vec::new();
    for sample in samples {
        engine.step(sample, &mut events);
        for event in &events {
            match event {
                Event::Frame { total } => (lit, frames) = (lit + usize::from(*total > 0), frames + 1),
                Event::Block => {
                    let some = engine.block().iter().any(|v| *v != 0);
                    (heard, blocks) = (heard + usize::from(some), blocks + 1);
                }
                _ => {}
            }
        }
    }
    format!("{lit} of {frames} frames lit, {heard} of {blocks} blocks of {BLOCK} heard")
}
