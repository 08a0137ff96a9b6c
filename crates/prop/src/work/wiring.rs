//! On the bench: wires, strips and spine cut to length, and the whole circuit lit before any of it goes in.

use super::Deed;
use super::jobs::{BENCH as TABLE, Jobs, PEOPLE, hands};
use super::minutes::{BENCH, SOAK, SOLDER, SPINE, STRIP};
use crate::outcome::Outcome;
use workplan::Task;

/// The jobs after which light and wires may go in: the test on the bench, and the spines cut; none where nothing is wired.
pub(super) fn list(jobs: &mut Jobs, outcome: &Outcome) -> Vec<usize> {
    let (mut done, mut cut) = (Vec::new(), Vec::new());
    for (k, bar) in outcome.spines.iter().enumerate() {
        let task = hands(format!("cut {}", bar.name), SPINE).using(TABLE, 1);
        done.push(jobs.add(Deed::CutSpine { bar: k }, Some(bar.station_mm), task));
    }
    for (k, bar) in outcome.strips.iter().enumerate() {
        let task = hands(format!("cut and solder {}", bar.name), STRIP).using(TABLE, 1);
        cut.push(jobs.add(Deed::CutStrip { bar: k }, Some(bar.station_mm), task));
    }
    for wire in &outcome.wires {
        let task = hands(format!("solder W{}", wire.number), SOLDER * i64::from(wire.wires.max(1))).using(TABLE, 1);
        cut.push(jobs.add(Deed::Solder { wire: wire.number }, None, task));
    }
    if cut.is_empty() {
        return Vec::new();
    }
    let test = Task::new("light it all on the bench", BENCH + SOAK).using(TABLE, 1).using_first(PEOPLE, 1, BENCH);
    let test = jobs.add(Deed::BenchTest, None, test);
    jobs.after_all(&cut, test);
    done.push(test);
    done
}
