//! Times the geometry on the reed glaive at several sizes, beside manifold3d in the same run.
//!
//! `cargo run --release --manifest-path bench/Cargo.toml -- [STEP ...] [TRIANGLES ...]`, all steps and sizes where none is
//! named; every step runs in a process of its own, so that its largest memory is its own too. The peer runs when `.cache/venv` is there (`cargo xtask test` makes it).

mod cost;
mod power;
mod steps;
mod strength;
mod tools;

use solid::Mesh;
use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

const SIZES: [usize; 3] = [300_000, 1_000_000, 4_000_000];

/// Runs of each step; the fastest counts, since whatever else runs only slows.
const RUNS: usize = 3;

/// What one step took.
#[derive(Clone, Copy, Debug)]
struct Cost {
    seconds: f64,
    cpu_s: f64,
    peak_mb: f64,
    result: f64,
}

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    if let [run, step, size] = &words[..]
        && run == RUN
        && let Some(step) = steps::named(step)
        && let Ok(triangles) = size.parse()
    {
        return steps::run(step, triangles);
    }
    let (steps, sizes): (Vec<String>, Vec<String>) = words.into_iter().partition(|w| steps::named(w).is_some());
    let sizes: Result<Vec<usize>, _> = sizes.iter().map(|w| w.parse()).collect();
    match sizes {
        Ok(sizes) if sizes.is_empty() => table(&steps, &SIZES),
        Ok(sizes) => table(&steps, &sizes),
        Err(_) => {
            let names = steps::STEPS.map(|s| s.0).join(" ");
            println!("usage: lanthorn-bench [STEP ...] [TRIANGLES ...]\nsteps: {names}");
            ExitCode::from(2)
        }
    }
}

/// What asks for one run of a step, instead of a table.
const RUN: &str = "run";

/// A row for each of the steps (all where none is named) at each size.
fn table(steps: &[String], sizes: &[usize]) -> ExitCode {
    let head =
        ["s", "cpu s", "MB", "peer s", "cpu s", "MB", "ratio", "of cpu"].map(|word| format!("{word:>8}")).concat();
    println!("{:>9}  {:<7}{head}", "triangles", "step");
    let mut well = true;
    for triangles in sizes {
        let wanted = |name: &str| steps.is_empty() || steps.iter().any(|s| s == name);
        if wanted("hollow") {
            match steps::walls(*triangles) {
                Ok(words) => println!("{triangles:>9}  wall of 2 mm: {words}"),
                Err(fault) => println!("{triangles:>9}  wall: {fault}"),
            }
        }
        for (name, _) in steps::STEPS.into_iter().filter(|s| wanted(s.0)) {
            let own = measure(&mut own_step(name, *triangles));
            let peer = if steps::has_peer(name) { peer(name, *triangles) } else { None };
            match own {
                Ok(own) => println!("{}", row(*triangles, name, own, peer)),
                Err(fault) => {
                    well = false;
                    println!("{triangles:>9}  {name:<10} {fault}");
                }
            }
        }
    }
    if well { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

fn row(triangles: usize, name: &str, own: Cost, peer: Option<Cost>) -> String {
    let mut text = format!("{triangles:>9}  {name:<7}{}", columns(own));
    if let Some(peer) = peer {
        text += &format!("{}{:>8.2}{:>8.2}", columns(peer), own.seconds / peer.seconds, own.cpu_s / peer.cpu_s);
        // Both cut the same solid: their parts hold the same.
        if (own.result - peer.result).abs() > 1e-4 * peer.result.abs() {
            text += &format!("  results differ: {} and {}", own.result, peer.result);
        }
    }
    text
}

fn columns(cost: Cost) -> String {
    format!("{:>8.2}{:>8.2}{:>8.0}", cost.seconds, cost.cpu_s, cost.peak_mb)
}

fn own_step(name: &str, triangles: usize) -> Command {
    let mut command = Command::new(std::env::current_exe().expect("this program's own path"));
    command.arg(RUN).arg(name).arg(triangles.to_string());
    command
}

fn home() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The same step by manifold3d, on the same triangles.
fn peer(name: &str, triangles: usize) -> Option<Cost> {
    let python = home().join("../.cache/venv/bin/python");
    if !python.exists() {
        return None;
    }
    let blade = file(&format!("blade-{triangles}"), || steps::blade(triangles))?;
    let mut command = Command::new(python);
    command.arg(home().join("peer.py")).arg(name).arg(blade);
    if let Some(tool) = steps::tool(name) {
        command.arg(file(name, || tool)?);
    }
    measure(&mut command).ok()
}

/// A mesh as an STL file for the peer, written once.
fn file(stem: &str, mesh: impl FnOnce() -> Mesh) -> Option<PathBuf> {
    let path = home().join("target").join(format!("{stem}.stl"));
    if !path.exists() {
        std::fs::create_dir_all(path.parent()?).ok()?;
        std::fs::write(&path, solid::write::stl(&mesh(), stem)).ok()?;
    }
    Some(path)
}

/// The fastest of some runs, with the largest memory. A step prints seconds, processor seconds, peak megabytes and one
/// number to compare.
fn measure(command: &mut Command) -> Result<Cost, String> {
    let mut best: Option<Cost> = None;
    for _ in 0..RUNS {
        let output = command.output().map_err(|e| e.to_string())?;
        let text = String::from_utf8_lossy(&output.stdout);
        let numbers: Vec<f64> = text.split_whitespace().filter_map(|w| w.parse().ok()).collect();
        let [seconds, cpu_s, peak_mb, result] = numbers[..] else {
            return Err(format!("{}{}", text.trim(), String::from_utf8_lossy(&output.stderr).trim()));
        };
        let this = Cost { seconds, cpu_s, peak_mb, result };
        best = Some(match best {
            Some(b) => Cost {
                seconds: b.seconds.min(seconds),
                cpu_s: b.cpu_s.min(cpu_s),
                peak_mb: b.peak_mb.max(peak_mb),
                result,
            },
            None => this,
        });
    }
    best.ok_or_else(|| "no run".to_owned())
}
