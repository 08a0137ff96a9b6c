//! What a meter reads at each test point, dark and lit, on the bench.

use super::net::Wired;
use super::supply::Supply;
use super::{Design, PowerWork, usage};
use crate::catalogue::PartKind;
use crate::finding::Band;
use crate::furnished::letter;
use circuit::{CircuitError, Conditions, Demand, Node, Scene, State};

/// Charge at which the bench test is done: it rests at 3.9 V or so, as cells come from the shop or half used.
const CHARGE: f64 = 0.65;
/// Warmth of a workshop, °C.
const BENCH_C: f64 = 20.0;
/// What a cheap meter and its leads are off by, V. (Common practice, no source.)
const METER_V: f64 = 0.03;
/// Aged or new: the cell's resistance may be so many times the catalogue's.
const GROWN: [f64; 2] = [0.75, 2.0];

/// A place to put the meter's probes.
#[derive(Clone, Debug, PartialEq)]
pub struct TestPoint {
    /// What is looked at, in words.
    pub what: String,
    /// Where the red probe goes.
    pub red: String,
    /// Where the black one goes.
    pub black: String,
    /// The unit: "V", "A" for a meter in line, "ohm" with the cell out.
    pub unit: &'static str,
    /// Reading in the dark.
    pub dark: Band,
    /// Reading lit: white in the test's light, silent.
    pub lit: Band,
    /// What is wrong if it reads otherwise.
    pub otherwise: &'static str,
}

/// A bench test.
pub(crate) struct BenchTest {
    /// Test points in the order in which joints are made.
    pub(crate) points: Vec<TestPoint>,
    /// Resting voltage of the cell that they hold for, V.
    pub(crate) rest_v: f64,
    /// Light of the lit readings, 0 to 1 of full white.
    pub(crate) light: f64,
}

/// What a meter reads where.
///
/// # Errors
/// As for solving.
pub(crate) fn points(
    work: &PowerWork,
    supply: &Supply,
    wired: &Wired,
    design: &Design,
) -> Result<BenchTest, CircuitError> {
    let at = Conditions { charge: CHARGE, ..Conditions::full_at(BENCH_C) };
    let white = usage::flash(work);
    let dark = Scene { strips: white.strips.iter().map(|s| vec![[0.0; 4]; s.len()]).collect() };
    let (unlit, lamps) = (Demand::still(&dark), Demand { light: design.cap, ..Demand::still(&white) });
    // An aged cell carries least; what it does not is not tested.
    let lamps = super::carried(&wired.aged(GROWN[1])?, &lamps, &at)?.demand;
    let all = |demand: &Demand| -> Result<[State; 3], CircuitError> {
        let solve = |grown: f64| wired.aged(grown)?.solve(demand, &at);
        Ok([solve(1.0)?, solve(GROWN[0])?, solve(GROWN[1])?])
    };
    let (dark, lit) = (all(&unlit)?, all(&lamps)?);
    let band = |states: &[State; 3], read: &dyn Fn(&State) -> f64, spare: f64| {
        let values = states.each_ref().map(read);
        let value = values[0];
        let (low, high) = values.iter().fold((value, value), |(l, h), v| (l.min(*v), h.max(*v)));
        Band { value, low: low - spare, high: high + spare }
    };
    let volts = |what: String, red: (String, Node), black: (String, Node), otherwise| {
        let read = |s: &State| s.volt(red.1, black.1);
        let (dark, lit) = (band(&dark, &read, METER_V), band(&lit, &read, METER_V));
        TestPoint { what, red: red.0, black: black.0, unit: "V", dark, lit, otherwise }
    };
    let parts = &work.project.parts;
    let mut points = Vec::new();
    for (part, pins) in &wired.pins {
        let (l, name) = (letter(*part), &parts[*part].name);
        let minus = (format!("{l} -"), pins.minus);
        let near = |sign: &str| format!("{l} {sign}");
        match parts[*part].row.kind {
            PartKind::Cell => {
                let otherwise = "the cell is not at this charge, or shorted: stop and part it";
                points.push(volts(format!("{name}, at its leads"), (near("+"), pins.plus_in), minus, otherwise));
            }
            PartKind::Fuse | PartKind::Switch => {
                let otherwise = "more across it: a blown fuse, an open switch, a cold solder joint or a loose holder";
                let (red, black) = ((near("+ in"), pins.plus_in), (near("+ out"), pins.plus_out));
                points.push(volts(format!("across {name}"), red, black, otherwise));
            }
            PartKind::Converter => {
                let otherwise = "less: its wires are thin or badly soldered";
                points.push(volts(format!("into {name}"), (near("+ in"), pins.plus_in), minus.clone(), otherwise));
                let otherwise = "less: it is overloaded or not switched on; more than 5.3 V harms pixels";
                points.push(volts(format!("out of {name}"), (near("+ out"), pins.plus_out), minus, otherwise));
            }
            _ => {
                let otherwise =
                    "less: a bad joint between here and the last point; below nought: plus and minus are swapped";
                points.push(volts(format!("at {name}"), (near("+"), pins.plus_out), minus, otherwise));
            }
        }
    }
    for (pads, word) in wired.pads.iter().zip(["first pads", "far pads"]) {
        let (red, black) = ((format!("{word} +"), pads[0]), (format!("{word} -"), pads[1]));
        let otherwise = "less: a bad joint at the pads; test again after each joint of the prop, before it is glued";
        points.push(volts(format!("strip, {word}"), red, black, otherwise));
    }
    if !lit[0].strips.is_empty() {
        let read = |s: &State| {
            let last = s.strips.iter().filter_map(|s| s.pixel_v().last());
            last.fold(f64::INFINITY, f64::min)
        };
        points.push(TestPoint {
            what: "last pixel, at its pads".to_owned(),
            red: "last pads +".to_owned(),
            black: "last pads -".to_owned(),
            unit: "V",
            dark: band(&dark, &read, METER_V),
            lit: band(&lit, &read, METER_V),
            otherwise: "less: a torn rail or a bad joint within the strip",
        });
    }
    for (what, at, read) in at_joints(work, supply, wired) {
        points.push(TestPoint {
            what,
            red: format!("{at} +"),
            black: format!("{at} -"),
            unit: "V",
            dark: band(&dark, &*read, METER_V),
            lit: band(&lit, &*read, METER_V),
            otherwise: "less: a bad solder, plug or rail on the cell's side of this joint; mend it before the joint is glued",
        });
    }
    points.extend(unfed_at_joints(work, supply));
    let cell = letter(supply.cell);
    let read = |s: &State| s.parts[wired.cell.index()].current_a;
    points.push(TestPoint {
        what: "current, meter in line with the cell's plus".to_owned(),
        red: format!("{cell} +"),
        black: "red wire".to_owned(),
        unit: "A",
        // Pixels differ: 15 %, common practice.
        dark: widened(band(&dark, &read, 0.002), 0.15),
        lit: widened(band(&lit, &read, 0.002), 0.15),
        otherwise: "more: a short or too bright a test; less: a row of pixels is not fed",
    });
    let part = dark[0].parts[wired.cell.index()];
    let rest_v = if part.current_a > 0.0 { part.given_w / part.current_a } else { part.across_v };
    Ok(BenchTest { points, rest_v, light: lamps.light })
}

type Reading<'a> = (String, String, Box<dyn Fn(&State) -> f64 + 'a>);

/// What is fed through each joint: the wires that cross it, and the strip that does.
fn at_joints<'a>(work: &'a PowerWork, supply: &'a Supply, wired: &'a Wired) -> Vec<Reading<'a>> {
    let mut all: Vec<Reading> = Vec::new();
    for joint in work.joints {
        let (n, station) = (joint.number, joint.frame.station_mm);
        for feeder in supply.feeders.iter().filter(|f| work.wires[f.wire].joints.contains(&n)) {
            let wire = &work.wires[feeder.wire];
            let pins = |part: usize| wired.pins.iter().find(|p| p.0 == part).map(|p| p.1);
            let Some(from) = pins(feeder.from).map(|p| [p.plus_out, p.minus]) else { continue };
            let to = match feeder.to {
                Some(part) => pins(part).map(|p| [p.plus_in, p.minus]),
                None => wired.pads.first().copied(),
            };
            let Some(to) = to else { continue };
            let mut share = share_at(work, &wire.points, station);
            // The project may name the ends the other way round than the current runs.
            if wire.from != letter(feeder.from) {
                share = 1.0 - share;
            }
            let read = move |s: &State| (1.0 - share) * s.volt(from[0], from[1]) + share * s.volt(to[0], to[1]);
            all.push((format!("W{} at joint J{n}", wire.number), format!("W{}", wire.number), Box::new(read)));
        }
        for (k, row) in work.pixels.chunk_by(|a, b| a.strip == b.strip).enumerate() {
            let beyond = |p: &&crate::outcome::Pixel| (p.station_mm - station).abs();
            let near = row.iter().min_by(|a, b| beyond(a).total_cmp(&beyond(b)));
            let spans = row.iter().any(|p| p.station_mm < station) && row.iter().any(|p| p.station_mm > station);
            if let (Some(pixel), true) = (near, spans) {
                let (strip, number) = (pixel.strip, pixel.number);
                let read =
                    move |s: &State| s.strips.get(k).and_then(|s| s.pixel_v().nth(number as usize - 1)).unwrap_or(0.0);
                let what = format!("strip {strip} at joint J{n}");
                all.push((what, format!("strip {strip} pixel {number}"), Box::new(read)));
            }
        }
    }
    all
}

/// How far along a way the plane of a station lies, 0 to 1.
fn share_at(work: &PowerWork, way: &[solid::DVec3], station_mm: f64) -> f64 {
    let (mut along, mut best) = (0.0, (0.0, f64::INFINITY));
    for (k, point) in way.iter().enumerate() {
        along += if k == 0 { 0.0 } else { (*point - way[k - 1]).length() };
        let off = (work.path.station_of(*point) - station_mm).abs();
        if off < best.1 {
            best = (along, off);
        }
    }
    if along > 0.0 { best.0 / along } else { 0.0 }
}

/// Wires that carry no power but cross joints: through is through.
fn unfed_at_joints(work: &PowerWork, supply: &Supply) -> Vec<TestPoint> {
    let mut all = Vec::new();
    for (index, wire) in work.wires.iter().enumerate() {
        if supply.feeders.iter().any(|f| f.wire == index) || wire.joints.is_empty() {
            continue;
        }
        let joints: Vec<String> = wire.joints.iter().map(|j| format!("J{j}")).collect();
        for k in 1..=wire.wires {
            let name = format!("W{}.{k}", wire.number);
            // A cheap meter and its leads show up to half an ohm.
            let reads = Band { value: 0.2, low: 0.0, high: 1.0 };
            all.push(TestPoint {
                what: format!("{name} through {}", joints.join(", ")),
                red: format!("{name} first end"),
                black: format!("{name} far end"),
                unit: "ohm",
                dark: reads,
                lit: reads,
                otherwise: "more: the wire is torn, or its solder or plug is bad; measured with the cell out",
            });
        }
    }
    all
}

fn widened(band: Band, share: f64) -> Band {
    Band { low: (band.low * (1.0 - share)).max(0.0), high: band.high * (1.0 + share), ..band }
}
