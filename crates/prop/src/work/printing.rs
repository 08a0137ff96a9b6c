//! On the printers: test prints before any piece, plates, and what is done to a piece before it is a part of the prop.

use super::Deed;
use super::jobs::{Jobs, PEOPLE, Shop, hands, minutes_of};
use super::minutes::{CLEAN, COOL, COUPON, CURE, MEASURE, START, WASH};
use crate::catalogue::Process;
use crate::outcome::Outcome;
use crate::project::Project;
use workplan::{Spread, Task, Waits};

/// For each piece, in their order, the job after which it is ready to be fitted.
pub(super) fn list(jobs: &mut Jobs, project: &Project, outcome: &Outcome, shop: &Shop) -> Vec<usize> {
    let mut measured = Vec::new();
    // Rods and strips are measured with the first coupon: clearances before any real piece.
    for printer in jobs.printers() {
        let place = jobs.printer(&printer);
        let known = shop.rules.measured;
        let job = (!known).then(|| {
            let task = Task::new(format!("print the coupon on {printer}"), COUPON).using(place, 1);
            let deed = Deed::PrintCoupon { printer: printer.clone() };
            let print = jobs.add(deed, None, task.using_first(PEOPLE, 1, START));
            let deed = Deed::MeasureCoupon { printer: printer.clone() };
            let measure = jobs.hands(deed, None, format!("measure the coupon of {printer}"), MEASURE);
            jobs.wait(print, measure, Waits::at_least(COOL));
            measure
        });
        measured.push((printer, job));
    }
    let mut ready = vec![usize::MAX; outcome.pieces.len()];
    for (number, plate) in outcome.plates.iter().enumerate() {
        let place = jobs.printer(&plate.printer);
        let minutes = minutes_of(plate.time_s.value).max(START);
        let mut task =
            Task::new(format!("print {}", plate.name), minutes).using(place, 1).using_first(PEOPLE, 1, START);
        let time = plate.time_s.value.max(1.0);
        let shares = [(plate.time_s.low / time).clamp(0.0, 1.0), 1.0, (plate.time_s.high / time).max(1.0)];
        task.spread = Spread { shares, failing: shop.rules.failing };
        let print = jobs.add(Deed::Print { plate: number }, None, task);
        if let Some(measure) = measured.iter().find(|m| m.0 == plate.printer).and_then(|m| m.1) {
            jobs.order(measure, print);
        }
        let resin = project.printers.iter().any(|p| p.name == plate.printer && p.process == Process::Resin);
        for on in &plate.pieces {
            let Some(k) = outcome.pieces.iter().position(|p| p.number == on.piece) else { continue };
            let piece = &outcome.pieces[k];
            let (station, piece_number) = (Some(piece.station_mm), piece.number);
            ready[k] = if resin {
                let wash =
                    jobs.hands(Deed::Wash { piece: piece_number }, station, format!("wash {}", piece.name), WASH);
                let cure = Task::new(format!("cure {}", piece.name), CURE).using_first(PEOPLE, 1, CLEAN);
                let cure = jobs.add(Deed::Cure { piece: piece_number }, station, cure);
                jobs.order(print, wash);
                jobs.wait(wash, cure, Waits::at_least(COOL));
                cure
            } else {
                let clean =
                    jobs.hands(Deed::Clean { piece: piece_number }, station, format!("clean up {}", piece.name), CLEAN);
                jobs.wait(print, clean, Waits::at_least(COOL));
                clean
            };
        }
    }
    // A piece on no plate is printed by whatever means: it is there when it is cleaned up.
    for (k, piece) in outcome.pieces.iter().enumerate() {
        if ready[k] == usize::MAX {
            ready[k] = jobs.add(
                Deed::Clean { piece: piece.number },
                Some(piece.station_mm),
                hands(format!("get {}", piece.name), CLEAN),
            );
        }
    }
    ready
}
