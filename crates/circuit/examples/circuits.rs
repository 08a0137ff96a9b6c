//! Works out circuits that come as JSON on standard input and says as JSON what stands at every node. The reference checks hold the
//! answers against another program's.
//!
//! In: a list of circuits. Each has `parts`, a list of `{"name", "kind", "nodes", ...}` where nodes are names, the first cell's
//! minus is the reference, and the rest are the part's numbers as the structs below name them; `drive`, that of every pixel of every
//! strip; and, for a flash, `flash`: `{"step_s", "duration_s", "from_s", "to_s", "watch"}`, every pixel dark before and after.
//! Out, for each: `{"nodes": {name: V}, "strips": [{"plus_v", "minus_v"}]}`, or `{"at_s", "volts": {name: [V]}}`.

use circuit::{
    Amplifier, Capacitor, Cell, Change, Channel, CircuitError, Conditions, Contact, Converter, Demand, Heating, Load,
    Network, Node, Part, Pixel, Protection, Scene, Strip, TransientSpec, Wire,
};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::error::Error;
use std::io::{Read, Write};

#[derive(Deserialize)]
struct Asked {
    parts: Vec<Placed>,
    drive: [f64; 4],
    #[serde(default)]
    sound_w: f64,
    #[serde(default = "warm")]
    ambient_c: f64,
    flash: Option<Flash>,
}

fn warm() -> f64 {
    20.0
}

#[derive(Deserialize)]
struct Placed {
    name: String,
    nodes: Vec<String>,
    #[serde(flatten)]
    part: Kind,
}

#[derive(Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase")]
enum Kind {
    Cell { open_v: f64, ohm: f64 },
    Wire { awg: i32, length_mm: f64 },
    Contact { ohm: f64 },
    Converter { output_v: f64, output_ohm: f64, efficiency: f64, idle_a: f64, most_in_a: f64, lowest_in_v: f64 },
    Strip { pixels: usize, rail_ohm: f64, taps: Vec<usize>, channels: [[f64; 3]; 4], idle_a: f64, idle_v: f64 },
    Current { amps: f64, lowest_v: f64 },
    Power { watt: f64, lowest_v: f64 },
    Amplifier { speaker_ohm: f64, efficiency: f64, idle_a: f64, lowest_v: f64 },
    Capacitor { farad: f64, esr_ohm: f64 },
}

#[derive(Deserialize)]
struct Flash {
    step_s: f64,
    duration_s: f64,
    from_s: f64,
    to_s: f64,
    watch: Vec<String>,
}

#[derive(Serialize)]
#[serde(untagged)]
enum Answer {
    Still { nodes: BTreeMap<String, f64>, strips: Vec<Rails> },
    Flash { at_s: Vec<f64>, volts: BTreeMap<String, Vec<f64>> },
}

#[derive(Serialize)]
struct Rails {
    plus_v: Vec<f64>,
    minus_v: Vec<f64>,
}

impl Kind {
    fn part(self) -> Part {
        match self {
            Kind::Cell { open_v, ohm } => Part::Cell(Cell {
                open_v: vec![(0.0, open_v), (1.0, open_v)],
                cold_k: 0.0,
                empty_rise: 0.0,
                protection: Protection { lowest_v: 0.0, most_a: 1e3, delay_s: 0.1 },
                heating: Heating { k_per_w: 0.0, time_s: 1.0 },
                ..Cell::lithium_ion(1.0, ohm, 1e3)
            }),
            Kind::Wire { awg, length_mm } => Part::Wire(Wire { twist: 1.0, ..Wire::stranded(awg, length_mm) }),
            Kind::Contact { ohm } => Part::Contact(Contact::closed(ohm, 1e3)),
            Kind::Converter { output_v, output_ohm, efficiency, idle_a, most_in_a, lowest_in_v } => {
                let (change, dropout_v) = (Change::Either, 0.0);
                let held =
                    Converter { change, output_v, output_ohm, efficiency, idle_a, most_in_a, dropout_v, lowest_in_v };
                Part::Converter(held)
            }
            Kind::Strip { pixels, rail_ohm, taps, channels, idle_a, idle_v } => {
                let channels = channels.map(|[full_a, off_v, full_v]| Channel { full_a, off_v, full_v });
                let pixel = Pixel { channels, idle_a, idle_v };
                Part::Strip(Strip::fed_at_start(pixels, pixel, rail_ohm).joined_at(&taps))
            }
            Kind::Current { amps, lowest_v } => Part::Load(Load::Current { amps, lowest_v }),
            Kind::Power { watt, lowest_v } => Part::Load(Load::Power { watt, lowest_v }),
            Kind::Amplifier { speaker_ohm, efficiency, idle_a, lowest_v } => {
                Part::Amplifier(Amplifier { speaker_ohm, efficiency, idle_a, lowest_v })
            }
            Kind::Capacitor { farad, esr_ohm } => Part::Capacitor(Capacitor { farad, esr_ohm }),
        }
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let mut words = String::new();
    std::io::stdin().read_to_string(&mut words)?;
    let asked: Vec<Asked> = serde_json::from_str(&words)?;
    let answers: Result<Vec<Answer>, CircuitError> = asked.into_iter().map(answer).collect();
    writeln!(std::io::stdout(), "{}", serde_json::to_string(&answers?)?)?;
    Ok(())
}

fn answer(asked: Asked) -> Result<Answer, CircuitError> {
    let (mut net, mut named, mut reference) = (Network::default(), BTreeMap::<String, Node>::new(), None);
    for placed in asked.parts {
        let nodes: Vec<Node> =
            placed.nodes.iter().map(|n| *named.entry(n.clone()).or_insert_with(|| net.node(n.clone()))).collect();
        if let (Kind::Cell { .. }, None) = (&placed.part, reference) {
            reference = nodes.get(1).copied();
        }
        net.add(placed.name, placed.part.part(), &nodes)?;
    }
    let (dark, lit) = (Scene::dark(&net), Scene::even(&net, asked.drive));
    let demand = Demand { scene: &lit, light: 1.0, sound_w: asked.sound_w };
    let conditions = Conditions::full_at(asked.ambient_c);
    if let Some(flash) = asked.flash {
        let spec = TransientSpec { step_s: flash.step_s, duration_s: flash.duration_s, conditions };
        let node = |n: &String| named.get(n).copied().ok_or_else(|| CircuitError::LooseNode { node: n.clone() });
        let watch = flash.watch.iter().map(node).collect::<Result<Vec<Node>, CircuitError>>()?;
        let lit_at = |t: f64| t > flash.from_s && t <= flash.to_s;
        let run =
            net.transient(&spec, &|t| Demand { scene: if lit_at(t) { &lit } else { &dark }, ..demand }, &watch)?;
        let volts = flash.watch.into_iter().zip(run.volts).collect();
        return Ok(Answer::Flash { at_s: run.at_s, volts });
    }
    let state = net.solve(&demand, &conditions)?;
    let against = reference.ok_or(CircuitError::NoCell)?;
    let nodes = named.iter().map(|(name, node)| (name.clone(), state.volt(*node, against))).collect();
    let strips = state.strips.into_iter().map(|s| Rails { plus_v: s.plus_v, minus_v: s.minus_v }).collect();
    Ok(Answer::Still { nodes, strips })
}
