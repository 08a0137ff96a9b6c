//! Times plans: workshops made by dice, of 100 to 500 tasks, each judged by the planner's own judge, played through and explained.
//!
//! `cargo run --release --manifest-path bench/Cargo.toml --bin plans`. Beside the clock stands the time that processors were busy.

#[path = "../cost.rs"]
mod cost;
#[path = "../../../crates/workplan/tests/all/judge.rs"]
mod judge;
#[allow(unused_imports, reason = "what the tests in it use")]
#[path = "../../../crates/workplan/tests/all/made.rs"]
mod made;

use cost::{cpu_s, peak_mb};
use std::process::ExitCode;
use std::time::Instant;
use workplan::{Effort, Plays};

fn main() -> ExitCode {
    println!(
        "{:>6}{:>10}{:>10}{:>12}{:>12}{:>10}{:>10}",
        "tasks", "s", "cpu s", "finish min", "bound min", "chance s", "chain s"
    );
    for n in [100, 200, 500] {
        let project = made::workshop(500, n);
        let (clock, busy) = (Instant::now(), cpu_s());
        let plan = match project.solve(&Effort::default()) {
            Ok(plan) => plan,
            Err(error) => {
                println!("{n:>6} {error}");
                return ExitCode::FAILURE;
            }
        };
        let (took, worked) = (clock.elapsed().as_secs_f64(), cpu_s() - busy);
        let faults = judge::faults(&project, &plan);
        if !faults.is_empty() {
            println!("{n:>6} {faults:?}");
            return ExitCode::FAILURE;
        }
        let clock = Instant::now();
        let played = project.chance(&plan, &Plays::default()).is_ok();
        let chance_s = clock.elapsed().as_secs_f64();
        let clock = Instant::now();
        let chained = project.critical_chain(&plan).is_ok();
        let chain_s = clock.elapsed().as_secs_f64();
        println!(
            "{n:>6}{took:>10.2}{worked:>10.2}{:>12}{:>12}{chance_s:>10.2}{chain_s:>10.2}",
            plan.finish, plan.bound
        );
        if !played || !chained {
            return ExitCode::FAILURE;
        }
    }
    println!("{:.0} MB at most", peak_mb());
    ExitCode::SUCCESS
}
