//! A run kept: what happened, what was shown, what was heard.

use crate::table::Table;
use crate::{Engine, Event, Sample, Trigger};

/// All that an engine made of some samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Rehearsal {
    /// Samples a second.
    pub hz: i32,
    /// Triggers, modes, sounds and an empty cell, with the sample they came at.
    pub events: Vec<(usize, Event)>,
    /// The mode at the end of each sample.
    pub modes: Vec<usize>,
    /// Frames with the sample they were shown at: red, green, blue a pixel.
    pub frames: Vec<(usize, Vec<u8>)>,
    /// The sum of all channels of each frame; times the current of a channel at 255, over 255, it is the strip's current.
    pub totals: Vec<i32>,
    /// What was heard, from the first sample on. A block is heard once it is mixed, so it ends up to a block after the motion.
    pub sound: Vec<i16>,
}

/// Plays samples to an engine and keeps everything: some 14 kB a second for 60 pixels, and 44 kB of sound.
pub fn rehearse(engine: &mut Engine, samples: &[Sample]) -> Rehearsal {
    let mut kept = Rehearsal {
        hz: engine.table().hardware.pace.hz(),
        events: Vec::new(),
        modes: Vec::with_capacity(samples.len()),
        frames: Vec::new(),
        totals: Vec::new(),
        sound: Vec::new(),
    };
    let mut events = Vec::new();
    for (n, sample) in samples.iter().enumerate() {
        engine.step(sample, &mut events);
        for &event in &events {
            match event {
                Event::Frame { total } => {
                    kept.frames.push((n, engine.pixels().to_vec()));
                    kept.totals.push(total);
                }
                Event::Block => kept.sound.extend_from_slice(engine.block()),
                Event::Trigger { .. } | Event::Mode { .. } | Event::Sound { .. } | Event::Empty => {
                    kept.events.push((n, event));
                }
            }
        }
        kept.modes.push(engine.mode());
    }
    kept
}

impl Rehearsal {
    /// The events as CSV: `t_s,kind,mode,detail`, the mode being the one after the event's sample. Strengths of strikes are in g a
    /// sample, others in degrees a second; loudness is in percent.
    pub fn events_csv(&self, table: &Table) -> String {
        let mut text = "t_s,kind,mode,detail\n".to_owned();
        for &(n, event) in &self.events {
            let (kind, detail) = match event {
                Event::Trigger { trigger, strength } => {
                    let hit = matches!(trigger, Trigger::Strike | Trigger::Dropped);
                    let turning = format!("{:.0} dps", f64::from(strength) / 1.024);
                    let jolt = format!("{:.1} g", f64::from(strength) / 256.0);
                    (trigger.name(), if hit { jolt } else { turning })
                }
                Event::Mode { mode } => ("mode", table.mode_name(mode).unwrap_or_default().to_owned()),
                Event::Sound { sound, gain } => {
                    let name = table.sound_name(sound).unwrap_or_default();
                    ("sound", format!("{name} {:.0} %", f64::from(gain) / 2.56))
                }
                Event::Empty => ("empty", String::new()),
                Event::Frame { .. } | Event::Block => continue,
            };
            let mode = self.modes.get(n).and_then(|m| table.mode_name(*m)).unwrap_or_default();
            let t_s = n as f64 / f64::from(self.hz);
            text.push_str(&format!("{t_s:.4},{kind},{},{}\n", field(mode), field(&detail)));
        }
        text
    }
}

/// A field of CSV (RFC 4180): in quotes where a comma, a quote or an end of line is in it.
fn field(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text.to_owned() }
}
