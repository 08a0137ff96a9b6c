//! Times the engine: `cargo run --release -p behaviour --example pace`. Samples a second on one core, detectors alone and with
//! a strip of 60 pixels and sound.

use behaviour::motion::{Act, Sensor, perform};
use behaviour::sound::starter_sounds;
use behaviour::{Behaviour, Engine, Hardware, Mode, Pace, Table, Thresholds, starter};
use std::error::Error;
use std::io::Write;
use std::time::Instant;

fn main() -> Result<(), Box<dyn Error>> {
    let acts = [Act::Press { lasts_ms: 200 }, Act::Swing, Act::Strike { g: None, lasts_ms: None }, Act::TipUp];
    let samples = perform(&acts.repeat(10), &Sensor::common(Pace::Hz400), 1, 3900).samples;
    let dark = Mode { name: "dark".to_owned(), lights: Vec::new(), hum: None, lasts_ms: None };
    let bare = Behaviour { modes: vec![dark], rules: Vec::new(), sounds: Vec::new() };
    let sounds = starter_sounds(22050, 1).to_vec();
    let whole = starter(std::array::from_fn(|k| sounds[k].len() as u32));
    let mut out = std::io::stdout().lock();
    for (name, behaviour, pixels, sounds) in [("detectors", bare, 1, Vec::new()), ("everything", whole, 60, sounds)] {
        let hardware = Hardware { pixels, ..Hardware::default() };
        let table = Table::new(&behaviour, &Thresholds::default(), &hardware).map_err(|all| format!("{all:?}"))?;
        let mut engine = Engine::new(table, sounds)?;
        let mut events = Vec::new();
        let begun = Instant::now();
        let rounds = 2_000_000 / samples.len();
        for _ in 0..rounds {
            for sample in &samples {
                engine.step(sample, &mut events);
            }
        }
        let each = begun.elapsed().as_secs_f64() / (rounds * samples.len()) as f64;
        writeln!(out, "{name}: {:.2} million samples a second, {:.0} ns each", 1e-6 / each, 1e9 * each)?;
    }
    Ok(())
}
