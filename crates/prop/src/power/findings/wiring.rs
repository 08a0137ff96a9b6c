//! Fuse, wires, plugs and strip, judged.

use super::band_of;
use crate::bay::wires::WIRE_MM;
use crate::catalogue::{Electrics, PartKind};
use crate::checks::{Checked, note};
use crate::finding::{Band, CHOICE, Finding, input};
use crate::furnished::letter;
use crate::power::net::{Wired, plug};
use crate::power::supply::Supply;
use crate::power::{Carries, Power, PowerWork, nearly_empty, solved, usage};
use crate::project::{Feed, STRIP};
use circuit::{
    CircuitError, Conditions, Demand, FUSE_SHARE, Scene, awg_diameter_mm, bulk_farad, chassis_a, copper_factor,
};

/// A printed part beside a wire softens from 55 to 60 °C (PLA); wires stay under this, °C. (Our choice.)
const WARM_C: f64 = 50.0;
/// What insulation adds to a wire, both sides, mm (common practice, no source).
const INSULATION_MM: f64 = 0.8;
/// A fuse sits within this of the cell, mm: a bare stretch of wire before it burns unhindered. (Seven inches: the rule of boat
/// builders for wires without a fuse; from memory.)
const NEAR_MM: f64 = 178.0;
/// A pixel takes as a high what is more than this share of its supply (data sheets of such pixels).
const HIGH: f64 = 0.7;
/// A bulk capacitor bridges what a converter takes to answer, s, with no more fall than this, V. (A tenth or two of a millisecond:
/// common practice, no source; the fall is our choice.)
const BRIDGED: (f64, f64) = (2e-4, 0.3);
/// A silicon diode before the first pixel takes so much from its supply, dark and lit, V (1 and 60 mA; from memory).
const DIODE_V: [f64; 2] = [0.6, 0.8];

pub(super) fn fuse(work: &PowerWork, supply: &Supply, power: &Power) -> Vec<Finding> {
    let mut all = Vec::new();
    let cell = letter(supply.cell);
    let Some(part) = supply.first(work, PartKind::Fuse) else {
        all.push(note(
            "fuse_near",
            format!("part {cell}"),
            None,
            0.0,
            "1",
            "no fuse stands between cell and wires: only the cell's own protection parts a short; add [part.fuse] with kind = \
             \"fuse-blade\" beside it"
                .into(),
        ));
        return all;
    };
    let subject = format!("part {} {}", letter(part), work.project.parts[part].name);
    // All wire before the fuse counts, whatever stands between.
    let before = supply.way_to(part);
    let led: Vec<&crate::outcome::Wire> = before.iter().rev().map(|f| &work.wires[f.wire]).collect();
    let names =
        |wires: &[&crate::outcome::Wire]| wires.iter().map(|w| format!("W{}", w.number)).collect::<Vec<_>>().join(", ");
    let way: f64 = led.iter().flat_map(|w| w.points.windows(2)).map(|p| (p[1] - p[0]).length()).sum();
    all.push(
        Checked {
            id: "fuse_near",
            subject: subject.clone(),
            station_mm: None,
            value: band_of(way),
            unit: "mm",
            min: None,
            max: Some(NEAR_MM),
            source: "seven inches, the boat builders' rule; from memory".into(),
            message: format!("{way:.0} mm of wire {} run from the cell to its fuse", names(&led)),
            remedy: "place the fuse nearer to the cell (at), wired to it first: what lies before it burns unhindered"
                .into(),
        }
        .finding()
        .worked_from(led.iter().map(|w| {
            input(
                format!("wires W{}", w.number),
                w.points.windows(2).map(|p| (p[1] - p[0]).length()).sum(),
                "mm",
                "the channel as it runs",
            )
        })),
    );
    // The charger's, say: the circuit above is fed through the fuse, and these are not.
    let unfused: Vec<char> = before.iter().map(|f| letter(f.from)).collect();
    let leaves = |w: &&crate::outcome::Wire| {
        let ends = [Some(w.from), w.to];
        ends.iter().flatten().any(|end| unfused.contains(end)) && !led.iter().any(|l| l.number == w.number)
    };
    let beside: Vec<&crate::outcome::Wire> = work.wires.iter().filter(leaves).collect();
    if !beside.is_empty() {
        all.push(note(
            "fuse_near",
            format!("part {cell}"),
            None,
            beside.len() as f64,
            "1",
            format!(
                "{} runs from the cell without passing its fuse: only the cell's own protection parts a short there; wire what \
                 they lead to to the fuse (to = [\"{}\"]), or keep them as short as they can be",
                names(&beside),
                work.project.parts[part].name
            ),
        ));
    }
    let load = power.worst.cell_a;
    let (rated, source) = match power.design.fuse_a {
        Some(rated) => (rated, "a fuse carries three quarters of its rating for long: common practice, no source"),
        None => (0.0, "the ratings of the fuse's row"),
    };
    let weakest = chassis_a(power.design.awg);
    all.push(
        Checked {
            id: "fuse_holds",
            subject: subject.clone(),
            station_mm: None,
            value: band_of(if rated > 0.0 { load / rated } else { f64::INFINITY }),
            unit: "1",
            min: None,
            max: Some(FUSE_SHARE),
            source: source.into(),
            message: if rated > 0.0 {
                format!("a fuse of {rated} A carries {load:.2} A in the worst instant")
            } else {
                format!("no rating carries {load:.2} A and still saves wires of {} AWG", power.design.awg)
            },
            remedy: "a larger power.fuse with thicker wires (power.gauge), or a lower power.cap".into(),
        }
        .finding()
        .worked_from([
            input("worst instant", load, "A", "the circuit"),
            input("rating", rated, "A", if power.chosen[3] { "chosen so that all holds" } else { "power.fuse" }),
        ]),
    );
    // To a sensor, say, behind the regulator of its board.
    let thin = power.loom.iter().filter(|c| c.carries != Carries::Signal && c.fuse_a.is_some());
    let thin = thin.map(|c| c.awg).max().filter(|awg| chassis_a(*awg).is_some_and(|most| most < rated));
    let thin = thin.filter(|awg| *awg > power.design.awg).map_or_else(String::new, |awg| {
        format!("; wires of {awg} AWG behind a board are saved by what feeds them there, not by this fuse: take their plus from its regulated pin")
    });
    if let (Some(most), true) = (weakest, rated > 0.0) {
        all.push(
            Checked {
                id: "fuse_saves",
                subject,
                station_mm: None,
                value: band_of(rated),
                unit: "A",
                min: None,
                max: Some(most),
                source: "chassis wiring, Handbook of Electronic Tables and Formulas".into(),
                message: format!(
                    "the fuse of {rated} A parts {} a wire of {} AWG takes harm at {most} A{thin}",
                    if rated <= most { "before" } else { "only after" },
                    power.design.awg
                ),
                remedy: "a smaller power.fuse or a thicker power.gauge".into(),
            }
            .finding()
            .worked_from([
                input(
                    "gauge",
                    f64::from(power.design.awg),
                    "AWG",
                    if power.chosen[0] { "chosen so that all holds" } else { "power.gauge" },
                ),
                input("worst instant", load, "A", "the circuit"),
            ]),
        );
    }
    all
}

pub(super) fn wires(wired: &Wired, power: &Power) -> Result<Vec<Finding>, CircuitError> {
    let mut hottest = (0.0, 0.0, String::new());
    for ids in &wired.wires {
        for id in ids {
            let day = power.day.parts.get(id.index()).copied().unwrap_or_default();
            if day.peak_k >= hottest.0 {
                hottest = (day.peak_k, day.peak_a, wired.net.part(*id).map_or(String::new(), |p| p.name.clone()));
            }
        }
    }
    let (rise, peak_a, name) = hottest;
    let celsius = power.rules.ambient_c + rise;
    let mut all = vec![
        Checked {
            id: "wire_warm",
            subject: "wires".into(),
            station_mm: None,
            value: Band { value: celsius, low: celsius - 0.2 * rise, high: celsius + 0.4 * rise },
            unit: "°C",
            min: None,
            max: Some(WARM_C),
            source: "under what softens PLA; our choice".into(),
            message: format!(
                "through the day {name} is the warmest wire, {celsius:.0} °C with a peak of {peak_a:.2} A, its resistance {:.0} % over that at 20 °C",
                100.0 * (copper_factor(celsius) - 1.0)
            ),
            remedy: "a thicker power.gauge".into(),
        }
        .finding()
        .worked_from([
            input("air", power.rules.ambient_c, "°C", "power.ambient"),
            input("warmer by", rise, "K", "the circuit through the day"),
            input("peak of the current", peak_a, "A", "the circuit through the day"),
        ]),
    ];
    let over = awg_diameter_mm(power.design.awg) + INSULATION_MM;
    all.push(
        Checked {
            id: "wire_fits",
            subject: "wires".into(),
            station_mm: None,
            value: band_of(over),
            unit: "mm",
            min: None,
            max: Some(WIRE_MM),
            source: "room for one wire in the channels".into(),
            message: format!("a wire of {} AWG is {over:.2} mm thick with its insulation", power.design.awg),
            remedy: "a thinner power.gauge, or wires with thin insulation after measuring them".into(),
        }
        .finding()
        .worked_from([
            input("gauge", f64::from(power.design.awg), "AWG", "power.gauge, or chosen"),
            input("bare", awg_diameter_mm(power.design.awg), "mm", "ASTM B258"),
            input("insulation, both sides", INSULATION_MM, "mm", "common practice, no source"),
        ]),
    );
    Ok(all)
}

pub(super) fn strip(
    work: &PowerWork,
    supply: &Supply,
    wired: &Wired,
    power: &Power,
) -> Result<Vec<Finding>, CircuitError> {
    let mut all = Vec::new();
    if wired.pads.is_empty() {
        return Ok(all);
    }
    // Data is hardest to read when the first pixel's supply is highest: full, dark.
    let white = usage::flash(work);
    let dark = Scene { strips: white.strips.iter().map(|s| vec![[0.0; 4]; s.len()]).collect() };
    let full = Conditions::full_at(power.rules.ambient_c);
    let volt = solved(&wired.net, &Demand { scene: &dark, light: 0.0, sound_w: 0.0 }, &full)?
        .map_or(0.0, |s| s.strips.iter().filter_map(|k| k.pixel_v().next()).fold(0.0, f64::max));
    let brain = (0..work.project.parts.len()).find_map(|p| match work.project.parts[p].row.electrics {
        Electrics::Controller { data_v, .. } => Some((p, data_v)),
        _ => None,
    });
    if let Some((part, data_v)) = brain {
        all.push(data_level(part, data_v, volt, power.rules.diode));
    }
    let at = nearly_empty(&power.rules);
    let still = |light: f64| -> Result<Option<f64>, CircuitError> {
        let demand = Demand { scene: &white, light, sound_w: 0.0 };
        Ok(solved(&wired.net, &demand, &at)?
            .ok()
            .map(|s| s.strips.iter().map(|k| s.parts[k.part.index()].current_a).sum()))
    };
    if let (Some(flash), Some(dim)) = (still(power.design.cap)?, still(0.0)?)
        && flash > dim
    {
        let uf = 1e6 * bulk_farad(flash - dim, BRIDGED.0, BRIDGED.1)?;
        all.push(note(
            "bulk_capacitor",
            STRIP.to_owned(),
            None,
            uf,
            "uF",
            format!(
                "a flash takes {:.2} A more at once: a capacitor of {uf:.0} uF or more for 6.3 V at the strip's first pads bridges the time \
                 that a converter takes to answer; plus to plus, it bursts the wrong way round",
                flash - dim
            ),
        )
        .worked_from([
            input("more current at once", flash - dim, "A", "the circuit, dark and in a white flash"),
            input("bridged for", BRIDGED.0, "s", "common practice, no source"),
            input("fall", BRIDGED.1, "V", CHOICE),
        ]));
    }
    let asked = power.rules.feed == Some(Feed::Both);
    if supply.far_mm.is_none() || asked {
        all.push(
            Checked {
                id: "feed_points",
                subject: STRIP.to_owned(),
                station_mm: None,
                value: band_of(wired.pads.len() as f64),
                unit: "1",
                min: Some(if asked { 2.0 } else { 1.0 }),
                max: None,
                source: "power.feed".into(),
                message: if wired.pads.len() > 1 {
                    "wires run to both ends of the strip".into()
                } else {
                    "wires find no room as far as the strip's other end, so it is fed at its first pads only".into()
                },
                remedy: "feed = \"start\" and a lower power.cap, or a shorter strip (light.to)".into(),
            }
            .finding()
            .worked_from([input(
                "ends that wires reach",
                wired.pads.len() as f64,
                "1",
                "the channels as they run",
            )]),
        );
    }
    Ok(all)
}

/// Whether the first pixel reads the data line, of a strip whose first pixels get so much at the most: as it is wired, and as it would be
/// the other way, with or without a diode before the first pixel.
fn data_level(part: usize, data_v: f64, volt: f64, diode: bool) -> Finding {
    let plain = HIGH * volt;
    let lowered = HIGH * (volt - DIODE_V[0]).max(0.0);
    let handed_on = (volt - DIODE_V[1]).max(0.0);
    let reads = |needs: f64| if data_v >= needs { "and reads it" } else { "and does not read it" };
    let other = if handed_on >= plain { "enough for the strip" } else { "too little for the strip" };
    let has = if diode { "It has one that is." } else { "It has none that is." };
    Checked {
        id: "data_level",
        subject: format!("part {}", letter(part)),
        station_mm: None,
        value: band_of(data_v),
        unit: "V",
        min: Some(if diode && handed_on >= plain { lowered } else { plain }),
        max: None,
        source: "data sheets of such pixels: a high is 0.7 of the supply; a silicon diode takes 0.6 to 0.8 V (from memory)".into(),
        message: format!(
            "the data line's high is {data_v:.1} V. The strip's first pixel at {volt:.2} V takes {plain:.2} V and more for a high, {}; a first pixel fed through a silicon diode takes {lowered:.2} V, {}, and hands the data on at {handed_on:.2} V, {other}. {has} Lead a minus beside the data wire, with 220 to 470 ohm in it at the first pixel",
            reads(plain),
            reads(lowered)
        ),
        remedy: first_pixel(data_v >= lowered && handed_on >= plain && !diode),
    }
    .finding()
    .worked_from([
        input("first pixel gets", volt, "V", "the circuit, cell full and all dark"),
        input("a high is of it", HIGH, "1", "data sheets of such pixels"),
        input("a diode takes, dark", DIODE_V[0], "V", "1 mA; from memory"),
    ])
}

/// Ways to a data line that the first pixel reads.
fn first_pixel(diode_helps: bool) -> String {
    let buffer = "a level buffer for 5 V beside the controller (then data = \"5 V\" under its part), its ground beside the data wire";
    if !diode_helps {
        return buffer.to_owned();
    }
    format!(
        "{buffer}; or a pixel of its own within a hand's breadth of the controller, fed through a silicon diode (then power.diode = true)"
    )
}

/// Each contact of a connector bears the day's highest current.
pub(super) fn plugs(work: &PowerWork, wired: &Wired, power: &Power) -> Vec<Finding> {
    let mut all: Vec<Finding> = Vec::new();
    for joint in work.joints {
        let Some(connector) = plug(work, joint.number) else { continue };
        let through = wired.plugs.iter().filter(|p| p.0 == joint.number);
        let peaks = through.map(|p| power.day.parts.get(p.1.index()).map_or(0.0, |d| d.peak_a));
        let Some(peak) = peaks.reduce(f64::max) else { continue };
        all.push(
            Checked {
                id: "plug_bears",
                subject: format!("joint J{}", joint.number),
                station_mm: Some([joint.frame.station_mm; 2]),
                value: band_of(peak),
                unit: "A",
                min: None,
                max: Some(connector.rated_a),
                source: "rated of the connector's row".into(),
                message: format!(
                    "{} bears {peak:.2} A at most through the day and loses {:.0} mV of it in each contact",
                    connector.title,
                    1000.0 * peak * connector.ohm
                ),
                remedy: "a connector with larger contacts, or a lower power.cap".into(),
            }
            .finding()
            .worked_from([input("of a contact", 1000.0 * connector.ohm, "mohm", "catalogue: connector")]),
        );
    }
    all
}
