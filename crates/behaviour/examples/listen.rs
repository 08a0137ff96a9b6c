//! Says what the detectors hear in recordings: `listen FILE...`. Files are CSV with acceleration in m/s² and rates in rad/s
//! (`t_s,ax,ay,az,gx,gy,gz`); a line is printed for each trigger: file, seconds, name.

use behaviour::{Behaviour, Columns, Engine, Event, Hardware, Mode, Pace, Table, Thresholds, read_recording};
use std::error::Error;
use std::io::Write;

fn main() -> Result<(), Box<dyn Error>> {
    let dark = Mode { name: "dark".to_owned(), lights: Vec::new(), hum: None, lasts_ms: None };
    let behaviour = Behaviour { modes: vec![dark], rules: Vec::new(), sounds: Vec::new() };
    let hardware = Hardware { pixels: 1, ..Hardware::default() };
    let table = Table::new(&behaviour, &Thresholds::default(), &hardware).map_err(|all| format!("{all:?}"))?;
    let axes = |kind: &str| ["x", "y", "z"].map(|axis| format!("{kind}{axis}"));
    let columns = Columns {
        force: axes("a"),
        rate: axes("g"),
        force_g: 1.0 / 9.80665,
        rate_dps: 1.0_f64.to_degrees(),
        ..Columns::default()
    };
    let mut out = std::io::stdout().lock();
    for path in std::env::args().skip(1) {
        let text = std::fs::read_to_string(&path)?;
        let recording = read_recording(&text, &columns, Pace::Hz400, 3900).map_err(|e| format!("{path}: {e}"))?;
        let mut engine = Engine::new(table.clone(), Vec::new())?;
        let mut events = Vec::new();
        for (n, sample) in recording.samples.iter().enumerate() {
            engine.step(sample, &mut events);
            for event in &events {
                if let Event::Trigger { trigger, .. } = event {
                    writeln!(out, "{path} {} {}", n as f64 / 400.0, trigger.name())?;
                }
            }
        }
    }
    Ok(())
}
