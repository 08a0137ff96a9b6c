//! Last stage before drawing: the circuit of the prop as it is wired.

use crate::checks::note;
use crate::finding::Finding;
use crate::memory::{Key, KeyOf, Known, Memory};
use crate::power::{Power, PowerError, PowerWork};
use crate::refusal::Refusal;

/// How the prop is powered, if it is, and what is found about that.
pub type Powered = (Option<Power>, Vec<Finding>);

/// Works the circuit out and judges it. Where the project says nothing of power, a circuit that cannot be worked out is only told.
/// `inside` is what the prop's inside was made from: it decides which cells find room.
///
/// # Errors
/// A [`Refusal`] at the place in the project file, where it has a `[power]`.
pub fn power(work: &PowerWork, inside: Key, memory: &Memory) -> Result<Known<Powered>, Refusal> {
    memory.recall("power", 1, key(work, inside), || match crate::power::power(work) {
        Ok(None) => Ok((None, Vec::new())),
        Ok(Some((power, findings))) => Ok((Some(power), findings)),
        // A wire without a way is a finding already.
        Err(error) if work.project.power.is_some() && !matches!(error, PowerError::NoWay { .. }) => {
            Err(Refusal::of(&error.key(), error.to_string(), error.remedy()))
        }
        Err(error) => {
            let message = format!("power was not worked out: {error}; to have it, {}", error.remedy());
            Ok((None, vec![note("power_unknown", "prop".into(), None, 0.0, "1", message)]))
        }
    })
}

/// All that the circuit is made from.
fn key(work: &PowerWork, inside: Key) -> Key {
    let project = work.project;
    let parts: Vec<_> = work.parts.iter().map(|p| (p.letter, p.station_mm, p.reached)).collect();
    let joints: Vec<_> = work.joints.iter().map(|j| (j.number, j.frame.station_mm, &j.take_down)).collect();
    KeyOf::stage("power")
        .and(&inside)
        .and(&project.admission.carriage)
        .and(&(&project.power, &project.parts, &project.light, &project.joints))
        .and(work.path)
        .and(&(parts, joints))
        .and(&(work.wires, work.wire_way, work.pixels))
        .and(&work.light.map(|l| &l.levels))
        .and(&work.conduct.map(|c| (c.conduct.most_a(), c.conduct.rules.amplifier_w, &c.played.levels)))
        .key()
}
