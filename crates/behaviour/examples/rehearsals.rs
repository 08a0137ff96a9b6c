//! Writes programs for boards, recordings of motions and corners, and what the engine makes of each: `rehearsals DIR`.
//!
//! In `DIR/quick` and `DIR/slow` are two kinds of boards and props, each with `viper` and `plain` programs; in
//! `recordings` files of whole numbers, a sample a line; in `logs` the engine's log of each. The names of recordings begin
//! with the board they are for. The reference checks run the programs and compare.

use behaviour::motion::{Act, Sensor, perform};
use behaviour::program::{Board, Driver, Flavour, program};
use behaviour::sound::starter_sounds;
use behaviour::{Behaviour, Effect, Engine, Hardware, Light, Pace, Sample, Table, Thresholds, log, starter};
use std::error::Error;
use std::fmt::Write;
use std::path::{Path, PathBuf};

fn main() -> Result<(), Box<dyn Error>> {
    let dir = PathBuf::from(std::env::args().nth(1).ok_or("say where to write")?);
    let quick = Hardware {
        pixels: 24,
        strips: 2,
        budget: 24 * 300,
        flash_window: Some(5),
        sound_hz: 11025,
        ..Hardware::default()
    };
    let slow = Hardware {
        pace: Pace::Hz200,
        pixels: 31,
        strips: 2,
        budget: 2000,
        flash_window: None,
        sound_hz: 8000,
        dim_pct: 40,
        levels: (0..31).map(|k| 255 - 8 * k).collect(),
    };
    let state_machine = Board::small();
    let bitstream = Board { driver: Driver::Bitstream, clock_mhz: 240.0, wire: [0, 2, 1], ..Board::small() };
    for (name, hardware, board) in [("quick", quick, state_machine), ("slow", slow, bitstream)] {
        let sounds = starter_sounds(hardware.sound_hz, 5).to_vec();
        let behaviour = dressed(&sounds);
        let thresholds = Thresholds { drops: true, still_ms: 1200, ..Thresholds::default() };
        let table = Table::new(&behaviour, &thresholds, &hardware).map_err(|all| format!("{all:?}"))?;
        for (kind, flavour) in [("viper", Flavour::Viper), ("plain", Flavour::Plain)] {
            for file in program(&table, &sounds, &board, flavour)? {
                put(&dir.join(name).join(kind).join(file.path), &file.bytes)?;
            }
        }
        for (what, samples) in motions(hardware.pace).into_iter().chain(corners()) {
            let mut engine = Engine::new(table.clone(), sounds.clone())?;
            let said = log(&mut engine, samples.iter().copied());
            put(&dir.join("logs").join(format!("{name}-{what}.txt")), said.as_bytes())?;
            put(&dir.join("recordings").join(format!("{name}-{what}.csv")), lines(&samples)?.as_bytes())?;
        }
    }
    Ok(())
}

/// The starter with a second light over the first, so that spans are painted too.
fn dressed(sounds: &[Vec<i16>]) -> Behaviour {
    let lengths = std::array::from_fn(|k| sounds[k].len() as u32);
    let mut behaviour = starter(lengths);
    let band = Light { effect: Effect::Steady, colour: [200, 30, 0], period_ms: 1000, span: Some((3, 7)) };
    behaviour.modes[2].lights.push(band);
    behaviour
}

fn put(path: &Path, bytes: &[u8]) -> Result<(), Box<dyn Error>> {
    if let Some(parent) = path.parent() {
        std::fs::create_dir_all(parent)?;
    }
    Ok(std::fs::write(path, bytes)?)
}

fn lines(samples: &[Sample]) -> Result<String, std::fmt::Error> {
    let mut text = String::new();
    for s in samples {
        let ([a, b, c], [p, q, r]) = (s.force, s.rate);
        writeln!(text, "{a},{b},{c},{p},{q},{r},{},{}", u8::from(s.pressed), s.cell_mv)?;
    }
    Ok(text)
}

/// A press, then something to do, by many people.
fn motions(pace: Pace) -> Vec<(String, Vec<Sample>)> {
    let press = Act::Press { lasts_ms: 150 };
    let strike = Act::Strike { g: None, lasts_ms: None };
    let parry = Act::Parry { g: None, lasts_ms: None };
    let acts: [(&str, &[Act]); 10] = [
        ("swings", &[press, Act::Swing, Act::Swing]),
        ("strikes", &[press, strike, parry, parry]),
        ("walk", &[press, Act::Walk { lasts_s: 6.0 }]),
        ("run", &[press, Act::Run { lasts_s: 6.0 }]),
        ("poses", &[press, Act::TipUp, Act::Level, Act::TipDown]),
        ("twists", &[Act::Twist, Act::Twist]),
        ("drop", &[press, Act::Drop]),
        ("muse", &[press, Act::SetDown { lasts_s: 4.0 }, Act::Swing]),
        ("shake", &[press, Act::Shake { lasts_s: 3.0 }, Act::Press { lasts_ms: 1000 }, Act::Rest { lasts_s: 1.5 }]),
        ("bumps", &[Act::Press { lasts_ms: 20 }, press, Act::Bumps { lasts_s: 3.0 }, Act::Idle { lasts_s: 3.0 }]),
    ];
    let people = |(what, acts): (&str, &[Act])| {
        let made =
            |seed: u64| (format!("{what}-{seed}"), perform(acts, &Sensor::common(pace), 77_000 + seed, 3900).samples);
        [made(1), made(2)]
    };
    acts.into_iter().flat_map(people).collect()
}

/// Rails, nothing at all, everything at once, single spikes, an emptying cell.
fn corners() -> Vec<(String, Vec<Sample>)> {
    let rest = Sample { force: [0, 0, 2048], rate: [0; 3], pressed: false, cell_mv: 3900 };
    let woken = |k: usize| Sample { pressed: (10..60).contains(&k), ..rest };
    let make = |at: &dyn Fn(usize) -> Sample| (0..1200).map(at).collect::<Vec<_>>();
    let spike = |k: usize, n: usize| if k > 100 && k.is_multiple_of(n) { -32767 } else { 0 };
    vec![
        ("zero".to_owned(), make(&|_| Sample::default())),
        ("most".to_owned(), make(&|_| Sample { force: [32767; 3], rate: [32767; 3], pressed: true, cell_mv: 6000 })),
        ("least".to_owned(), make(&|k| Sample { force: [-32767; 3], rate: [-32767; 3], ..woken(k) })),
        (
            "rails".to_owned(),
            make(&|k| {
                let sign = if k.is_multiple_of(2) { 32767 } else { -32767 };
                Sample { force: [sign; 3], rate: [-sign, sign, sign], ..woken(k) }
            }),
        ),
        ("spikes".to_owned(), make(&|k| Sample { force: [spike(k, 83), 0, 2048 + spike(k, 101) / 4], ..woken(k) })),
        ("turns".to_owned(), make(&|k| Sample { rate: [0, spike(k, 59), spike(k, 61)], ..woken(k) })),
        ("cell".to_owned(), make(&|k| Sample { cell_mv: 3900 - k as u16, ..woken(k) })),
    ]
}
