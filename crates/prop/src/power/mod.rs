//! The circuit of the prop as it is wired: how long the cell lasts, what the worst instant does, what each wire and joint reads.
//!
//! `supply` finds the way of the power from the cell to everything that is fed; `loom` lists every wire; `net` makes the circuit;
//! `usage` says how it is used; `choose` finds gauge, feed points, cap and fuse; `bench` what a meter reads; `findings` judges.

mod bench;
mod choose;
mod findings;
mod loom;
mod net;
mod recording;
mod supply;
#[cfg(test)]
mod tests;
mod usage;

use crate::catalogue::PartRow;
use crate::conduct::ConductView;
use crate::finding::{Band, Finding};
use crate::light::Lighting;
use crate::outcome::{Joint, Part, Pixel, Wire};
use crate::path::CentrePath;
use crate::project::{Feed, PowerRules, Project};
use circuit::{
    CircuitError, Conditions, Converter, Day, DaySpec, Demand, Holding, Network, Part as Element, Runtime, RuntimeBand,
    Sample, State, Unsure,
};
use solid::DVec3;

pub use crate::furnished::SLACK_MM;
pub use bench::TestPoint;
pub use choose::{Choice, Smallest};
pub use loom::{Carries, Conductor, Pin};
pub use recording::{COLUMNS, Recording, RecordingError, Row};

/// What the circuit is made from.
pub struct PowerWork<'a> {
    /// The project.
    pub project: &'a Project,
    /// Parts in their places.
    pub parts: &'a [Part],
    /// Connections with their lengths.
    pub wires: &'a [Wire],
    /// The way of the wires along the strip, tip side first.
    pub wire_way: &'a [DVec3],
    /// Pixels by strip and number.
    pub pixels: &'a [Pixel],
    /// Joints.
    pub joints: &'a [Joint],
    /// Centre path.
    pub path: &'a CentrePath,
    /// How it glows: the levels of the pixels.
    pub light: Option<&'a Lighting>,
    /// What it does, if that is said: its rehearsal is its use where nothing else is.
    pub conduct: Option<&'a ConductView>,
    /// Whether every part finds a place with so many cells of a row instead of the project's own.
    pub room_for: &'a dyn Fn(&PartRow, u32) -> bool,
}

/// What gauge, feed points, cap and fuse are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Design {
    /// American wire gauge of the wires that carry power.
    pub awg: i32,
    /// Where the strip is fed.
    pub feed: Feed,
    /// What full light is taken down to, 0 to 1.
    pub cap: f64,
    /// Rating of the fuse, A; `None` without one, or where none would do.
    pub fuse_a: Option<f64>,
}

/// The worst instant: a white flash at the cap with the loudest sound on a nearly empty, cold cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Worst {
    /// Current of the cell, A.
    pub cell_a: f64,
    /// Voltage at the cell's ends, V.
    pub cell_v: f64,
    /// Lowest voltage of a pixel, V, with the cell's resistance a quarter off either way; `None` without strips.
    pub pixel_v: Option<Band>,
    /// That pixel: strip and number, from 1.
    pub pixel: [u32; 2],
    /// Voltage of every pixel, V, by strip and along it.
    pub pixels_v: Vec<Vec<f64>>,
    /// What its blue still gets against its red, 0 to 1.
    pub colour: f64,
    /// Voltage at the controller, V, if there is one.
    pub controller_v: Option<f64>,
    /// Converter: current in that the instant asks of it, and the most it takes, A.
    pub converter_a: Option<[f64; 2]>,
    /// What gets too little, if anything does; where its share is under one, the rest is told of the instant with so much of its light
    /// and sound.
    pub short: Option<Short>,
}

/// What gets too little voltage.
#[derive(Clone, Debug, PartialEq)]
pub struct Short {
    /// Its name.
    pub part: String,
    /// What it gets, V.
    pub volt: f64,
    /// What it needs, V.
    pub lowest_v: f64,
    /// The share of light and sound that can be carried, 0 to 1; 1 where all of it is, and only this part is short.
    pub share: f64,
}

/// How the prop is powered.
#[derive(Clone, Debug)]
pub struct Power {
    /// Letter of the cell, and how many side by side.
    pub cell: (char, u32),
    /// Energy of all cells, Wh.
    pub watt_hours: f64,
    /// Gauge, feed points, cap and fuse.
    pub design: Design,
    /// What all lights together may draw under the cap, A, without what pixels draw in the dark.
    pub light_a: f64,
    /// What of these the tool chose: gauge, feed, cap, fuse.
    pub chosen: [bool; 4],
    /// Every wire.
    pub loom: Vec<Conductor>,
    /// How long the cell lasts.
    pub runtime: RuntimeBand,
    /// What each brightness buys: share of the cap, hours.
    pub brightness: Vec<[f64; 2]>,
    /// The day, step by step.
    pub day: Day,
    /// Samples through it.
    pub trace: Vec<Sample>,
    /// The worst instant.
    pub worst: Worst,
    /// What a meter reads.
    pub bench: Vec<TestPoint>,
    /// Charge of the cell at which it does, as its resting voltage, V.
    pub bench_rest_v: f64,
    /// Light of the lit test, 0 to 1 of full white: the cap, or as much of it as the cell carries.
    pub bench_light: f64,
    /// What other cells, feed points and wires would give.
    pub choices: Vec<Choice>,
    /// The smallest cell or pair that holds all this through the day; `None` if none does.
    pub smallest: Option<Smallest>,
    /// The rules that were held to.
    pub rules: PowerRules,
}

/// Why there is no circuit to work out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PowerError {
    /// Nothing gives power.
    #[error("nothing feeds the prop: there is no cell among its parts")]
    NoCell,
    /// The cell leads nowhere.
    #[error("the cell {cell} is wired to nothing that it could feed")]
    NoPath {
        /// Its name.
        cell: String,
    },
    /// The strip is dark for ever.
    #[error("the strip has no supply: no way of wires leads from the cell {cell} to it")]
    NoSupply {
        /// The cell's name.
        cell: String,
    },
    /// A ring of wires.
    #[error("wires close a loop: {part} is fed on two ways, so a fuse or switch in one of them parts nothing")]
    Loop {
        /// The part that is fed twice.
        part: String,
    },
    /// Too few wires for plus and minus.
    #[error("{part} is fed through {wires} wire, and power takes two: plus and minus")]
    OneWire {
        /// The part.
        part: String,
        /// Wires.
        wires: u32,
    },
    /// Cells that differ.
    #[error(
        "the cells {first} and {other} differ: side by side the fuller one would charge the other through their leads"
    )]
    Unlike {
        /// One.
        first: String,
        /// The other.
        other: String,
    },
    /// A wire whose way was not found.
    #[error("the wires W{number} have no way, so their length is not known")]
    NoWay {
        /// Their number.
        number: u32,
    },
    /// The circuit could not be worked out.
    #[error("the circuit could not be worked out: {0}")]
    Circuit(#[from] CircuitError),
}

impl PowerError {
    /// The place in the project file.
    pub fn key(&self) -> Vec<&str> {
        match self {
            PowerError::NoCell | PowerError::Circuit(_) | PowerError::NoWay { .. } => vec!["power"],
            PowerError::NoPath { cell } | PowerError::NoSupply { cell } => vec!["part", cell, "to"],
            PowerError::Loop { part } => vec!["part", part, "to"],
            PowerError::OneWire { part, .. } => vec!["part", part, "wires"],
            PowerError::Unlike { other, .. } => vec!["part", other, "kind"],
        }
    }

    /// What to do.
    pub fn remedy(&self) -> &'static str {
        match self {
            PowerError::NoCell => "add [part.cell] with kind = \"cell-18650\", or leave [power] out",
            PowerError::NoPath { .. } => "add a controller, or name what it feeds: to = [\"fuse\"]",
            PowerError::NoSupply { .. } => "wire a part that the cell feeds to the strip: to = [\"strip\"]",
            PowerError::Loop { .. } => "wire it to one of them only",
            PowerError::OneWire { .. } => "write wires = 2 or more",
            PowerError::Unlike { .. } => "use cells of one kind, age and charge, or one cell",
            PowerError::NoWay { .. } => "make room for them first: the finding wire_led says what stands in the way",
            PowerError::Circuit(_) => "correct the values of the part that it names, or what it is wired to",
        }
    }
}

/// Works the circuit out and judges it; `None` for a prop without a cell of which nothing is said either.
///
/// # Errors
/// [`PowerError`], with its place in the project file.
pub fn power(work: &PowerWork) -> Result<Option<(Power, Vec<Finding>)>, PowerError> {
    let rules = work.project.power.clone().unwrap_or_default();
    let cells = work.project.parts.iter().any(|p| p.row.kind == crate::catalogue::PartKind::Cell);
    if !cells && work.project.power.is_none() {
        return Ok(None);
    }
    let supply = supply::trace(work)?;
    let loudest_w = usage::loudest_w(work, &rules);
    let desk = choose::Desk { work, supply: &supply, rules: &rules, loudest_w };
    let (design, chosen) = desk.choose()?;
    let wired = net::network(work, &supply, &design, &net::Change::default())?;
    wired.net.check()?;
    let used = usage::usage(work, &rules, design.cap, loudest_w);
    let runtime = wired.net.runtime_band(&used, rules.ambient_c, &Unsure::default())?;
    let shares = [1.0, 0.8, 0.6, 0.4, 0.2];
    let brightness = wired.net.runtimes(&used, rules.ambient_c, &shares)?;
    let day = wired.net.day(&used, &day_spec(&rules))?;
    let worst = worst(&wired, &usage::flash(work), &design, &rules, loudest_w)?;
    let loom = loom::loom(work, &supply, &design);
    let bench = bench::points(work, &supply, &wired, &design)?;
    let own = hours(runtime.runtime.lasts_s) * 3600.0 >= rules.day_s && desk.carries(&design)?;
    let (choices, smallest) = desk.choices(&design, own)?;
    let power = Power {
        cell: (crate::furnished::letter(supply.cell), supply.cells),
        watt_hours: wired.watt_hours(),
        design,
        light_a: design.cap * usage::full_a(work, &usage::flash(work)),
        chosen,
        loom,
        brightness: brightness.iter().map(|(s, r)| [*s, hours(r.lasts_s)]).collect(),
        trace: day.trace.clone(),
        runtime,
        day,
        worst,
        bench: bench.points,
        bench_rest_v: bench.rest_v,
        bench_light: bench.light,
        choices,
        smallest,
        rules,
    };
    let findings = findings::check(work, &supply, &wired, &power)?;
    Ok(Some((power, findings)))
}

/// The day of a design alone, followed in the project's steps.
///
/// # Errors
/// As for [`power`].
pub fn day(work: &PowerWork, design: &Design) -> Result<Day, PowerError> {
    let rules = work.project.power.clone().unwrap_or_default();
    let wired = net::network(work, &supply::trace(work)?, design, &net::Change::default())?;
    let used = usage::usage(work, &rules, design.cap, usage::loudest_w(work, &rules));
    Ok(wired.net.day(&used, &day_spec(&rules))?)
}

/// What a design comes to, in short: how long the cell lasts, and the worst instant. For trying another cell, gauge or cap.
///
/// # Errors
/// As for [`power`].
pub fn in_short(work: &PowerWork, design: &Design) -> Result<(Runtime, Worst), PowerError> {
    let rules = work.project.power.clone().unwrap_or_default();
    let wired = net::network(work, &supply::trace(work)?, design, &net::Change::default())?;
    let loudest_w = usage::loudest_w(work, &rules);
    let runtime = wired.net.runtime(&usage::usage(work, &rules, design.cap, loudest_w), rules.ambient_c)?;
    Ok((runtime, worst(&wired, &usage::flash(work), design, &rules, loudest_w)?))
}

fn day_spec(rules: &PowerRules) -> DaySpec {
    DaySpec { duration_s: rules.day_s, ambient_c: rules.ambient_c, charge: 1.0, trace_s: 300.0 }
}

/// Hours, a month for what nothing draws on.
pub(crate) fn hours(seconds: f64) -> f64 {
    (seconds / 3600.0).min(720.0)
}

/// The conditions of the worst instant: a tenth of the charge left in the coldest surroundings.
pub(crate) fn nearly_empty(rules: &PowerRules) -> Conditions {
    Conditions { charge: 0.1, ..Conditions::full_at(rules.cold_c) }
}

/// Solves; what cannot be carried comes out as what is short and the share that could be.
pub(crate) fn solved(net: &Network, demand: &Demand, at: &Conditions) -> Result<Result<State, Short>, CircuitError> {
    match net.solve(demand, at) {
        Ok(state) => Ok(Ok(state)),
        Err(CircuitError::CannotCarry { part, volt, lowest_v, share }) => {
            Ok(Err(Short { part, volt, lowest_v, share }))
        }
        Err(other) => Err(other),
    }
}

/// Halvings by which the light that can be carried is found.
const CARRIED_STEPS: usize = 7;

/// A demand, or as much of its light and sound as can be carried.
pub(crate) struct Carried<'a> {
    pub(crate) state: State,
    /// What was carried.
    pub(crate) demand: Demand<'a>,
    /// What is short of the whole; its share is that of `demand`.
    pub(crate) short: Option<Short>,
}

impl Carried<'_> {
    /// What a current of the state would be if all were carried, by proportion, A.
    pub(crate) fn whole(&self, amps: f64) -> f64 {
        amps / self.short.as_ref().map_or(1.0, |s| s.share.max(0.01))
    }
}

/// Carries a demand as far as it goes.
///
/// # Errors
/// As for solving; what is short even in the dark.
pub(crate) fn carried<'a>(net: &Network, demand: &Demand<'a>, at: &Conditions) -> Result<Carried<'a>, CircuitError> {
    let short = match solved(net, demand, at)? {
        Ok(state) => return Ok(Carried { state, demand: *demand, short: None }),
        Err(short) => short,
    };
    let part = |share: f64| Demand { light: demand.light * share, sound_w: demand.sound_w * share, ..*demand };
    // The share is that of all that flows, of what the pixels draw in the dark too, which does not become less here.
    let (mut held, mut beyond) = (0.0, short.share);
    for _ in 0..CARRIED_STEPS {
        let share = f64::midpoint(held, beyond);
        if solved(net, &part(share), at)?.is_ok() { held = share } else { beyond = share }
    }
    // A little less than what just can be, to stand clear of the brink.
    let share = 0.95 * held;
    let demand = part(share);
    Ok(Carried { state: net.solve(&demand, at)?, demand, short: Some(Short { share, ..short }) })
}

fn worst(
    wired: &net::Wired,
    flash: &circuit::Scene,
    design: &Design,
    rules: &PowerRules,
    loudest_w: f64,
) -> Result<Worst, CircuitError> {
    let at = nearly_empty(rules);
    let whole = Demand { scene: flash, light: design.cap, sound_w: loudest_w };
    let held = carried(&wired.net, &whole, &at)?;
    let state = &held.state;
    let lowest = state.lowest_pixel();
    let pixel_v = match lowest {
        None => None,
        Some((.., value)) => {
            let mut ends = [value; 2];
            for (end, grown) in ends.iter_mut().zip([1.25, 0.75]) {
                if let Ok(other) = solved(&wired.aged(grown)?, &held.demand, &at)? {
                    *end = other.lowest_pixel().map_or(value, |p| p.2);
                }
            }
            Some(Band { value, low: ends[0].min(value), high: ends[1].max(value) })
        }
    };
    let cell = state.parts[wired.cell.index()];
    let pins = wired.controller.map(|p| state.volt(p.plus_out, p.minus));
    Ok(Worst {
        cell_a: cell.current_a,
        cell_v: cell.across_v,
        pixel_v,
        pixel: lowest.map_or([0, 0], |(s, p, _)| [s as u32 + 1, p as u32 + 1]),
        pixels_v: state.strips.iter().map(|s| s.pixel_v().collect()).collect(),
        colour: lowest.map_or(1.0, |(s, p, _)| {
            let [red, _, blue, _] = state.strips[s].shares[p];
            if red > 0.0 { blue / red } else { 0.0 }
        }),
        controller_v: pins,
        converter_a: converter_a(&wired.net, &held, &whole, &at)?,
        short: held.short.clone().or_else(|| starved(&wired.net, state)),
    })
}

/// The first load that gets less voltage than it needs.
fn starved(net: &Network, state: &State) -> Option<Short> {
    let id = *state.starved.first()?;
    let part = net.part(id)?;
    let lowest_v = match &part.part {
        Element::Load(circuit::Load::Current { lowest_v, .. } | circuit::Load::Power { lowest_v, .. }) => *lowest_v,
        Element::Amplifier(amplifier) => amplifier.lowest_v,
        _ => return None,
    };
    Some(Short { part: part.name.clone(), volt: state.parts[id.index()].across_v, lowest_v, share: 1.0 })
}

/// What is asked of the first converter, and the most it takes in, A. One at its limit takes that and lets its output fall: what is asked
/// of it is what one like it without a limit would take.
fn converter_a(
    net: &Network,
    held: &Carried,
    whole: &Demand,
    at: &Conditions,
) -> Result<Option<[f64; 2]>, CircuitError> {
    let Some(own) = held.state.converters.first() else { return Ok(None) };
    let Some(Element::Converter(row)) = net.part(own.part).map(|p| &p.part) else { return Ok(None) };
    let most_in_a = row.most_in_a;
    if own.holding != Holding::Limited {
        return Ok(Some([held.whole(own.in_a), most_in_a]));
    }
    let mut free = net.clone();
    free.replace(own.part, Converter { most_in_a: 1000.0 * most_in_a, ..*row })?;
    let asked = carried(&free, whole, at)?;
    let in_a = asked.state.converters.first().map_or(most_in_a, |c| asked.whole(c.in_a));
    Ok(Some([in_a, most_in_a]))
}
