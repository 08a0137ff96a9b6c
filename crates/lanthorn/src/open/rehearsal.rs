//! Rehearsals on the page: a motion, recorded, made, or moved by hand at this moment.

use super::Workbench;
use super::fault::{Answer, Fault};
use super::routes::{Bench, Form, offload, open};
use crate::rehearse::remarks;
use axum::Json;
use axum::extract::{Path, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use behaviour::motion::{Sensor, perform, script};
use behaviour::{Columns, Engine, Event, FRAMES_A_SECOND, Sample, Trigger, read_recording};
use prop::conduct::{Conduct, Played, Source, play};
use serde::{Deserialize, Serialize};
use std::collections::VecDeque;
use std::sync::{Mutex, PoisonError};

/// Rehearsals and live engines that are kept.
const KEPT: usize = 8;
/// Step of current and sound, and of the motion that is shown, s.
const STEP_S: f64 = 0.05;
const MOTION_S: f64 = 0.02;
/// The longest stretch that is played live at once, s.
const AT_ONCE_S: usize = 2;
/// Voltage of the cell where nothing is said, V.
const CELL_V: f64 = 3.9;

/// What was rehearsed lately, and what is moved by hand.
#[derive(Default)]
pub(crate) struct Rehearsals(Mutex<Kept>);

#[derive(Default)]
struct Kept {
    last: u64,
    /// Number, frames, sound.
    played: VecDeque<(u64, Vec<u8>, Vec<u8>)>,
    live: VecDeque<(String, Engine)>,
}

impl Rehearsals {
    fn kept<R>(&self, work: impl FnOnce(&mut Kept) -> R) -> R {
        work(&mut self.0.lock().unwrap_or_else(PoisonError::into_inner))
    }
}

/// The behaviour of the prop as it was built last.
fn conduct(bench: &Workbench) -> Result<(String, Conduct), Fault> {
    let (_, outcome) =
        open(bench, |desk| desk.shown.outcome.clone())?.ok_or_else(|| Fault::waiting("what the prop does"))?;
    let view = outcome.conduct.as_ref();
    let view = view.ok_or_else(|| {
        Fault::new(409, "none", "the project says nothing of what the prop does", "add [behaviour] to it")
    })?;
    Ok((outcome.prop.clone(), view.conduct.clone()))
}

/// A motion to be rehearsed: made of acts, or recorded.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "RehearsalAsked", optional_fields))]
pub(crate) struct Asked {
    generate: Option<String>,
    seed: Option<u64>,
    recording: Option<String>,
    cell_v: Option<f64>,
}

/// What came of a motion.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Rehearsal"))]
pub(crate) struct RehearsalShown {
    id: u64,
    lasts_s: f64,
    hz: i32,
    strips: u16,
    pixels: u16,
    frame_hz: i32,
    events: Vec<EventShown>,
    modes: Vec<ModeFrom>,
    levels: Levels,
    motion: MotionShown,
    /// Remarks on the motion.
    notes: Vec<String>,
    most_a: f64,
    /// Where its frames and its sound are.
    frames: String,
    sound: String,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "RehearsalEvent"))]
struct EventShown {
    t_s: f64,
    kind: String,
    mode: String,
    detail: String,
}

/// A mode, and when it begins.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct ModeFrom {
    t_s: f64,
    mode: String,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
struct Levels {
    step_s: f64,
    current_a: Vec<f64>,
    sound_dbfs: Vec<f64>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Motion"))]
struct MotionShown {
    step_s: f64,
    rate_dps: Vec<[f64; 3]>,
    force_g: Vec<[f64; 3]>,
}

/// Rehearses.
pub(crate) async fn rehearse(State(bench): Bench, Form(asked): Form<Asked>) -> Answer<RehearsalShown> {
    offload(move || -> Result<RehearsalShown, Fault> {
        let (title, conduct) = conduct(&bench)?;
        let wrong = |what: String| Fault::new(422, "motion", what, "see the acts and columns in the help");
        let cell_v = asked.cell_v.unwrap_or(CELL_V);
        if !(1.0..=6.0).contains(&cell_v) {
            return Err(wrong(format!("a cell has 1 to 6 V, not {cell_v}")));
        }
        let cell_mv = (cell_v * 1000.0).round() as u16;
        let pace = conduct.rules.pace;
        let (source, samples) = match (&asked.generate, &asked.recording) {
            (Some(acts), None) => {
                let acts = script(acts).map_err(|e| wrong(e.to_string()))?;
                let made = perform(&acts, &Sensor::common(pace), asked.seed.unwrap_or(1), cell_mv);
                (Source::Made(made.moments), made.samples)
            }
            (None, Some(text)) => {
                let read =
                    read_recording(text, &Columns::default(), pace, cell_mv).map_err(|e| wrong(e.to_string()))?;
                (Source::Recorded(read.file_hz, read.notes), read.samples)
            }
            _ => return Err(wrong("say either what to generate, or a recording".to_owned())),
        };
        let played = play(&conduct, source, samples, STEP_S).map_err(|e| anyhow::anyhow!("{e}"))?;
        let files = pack::rehearsal(&title, &conduct, &played)?;
        let [frames, sound] = ["frames.bin", "heard.wav"]
            .map(|name| files.iter().find(|f| f.path == name).map_or_else(Vec::new, |f| f.bytes.clone()));
        let id = bench.rehearsals.kept(|kept| {
            kept.last += 1;
            kept.played.push_back((kept.last, frames, sound));
            if kept.played.len() > KEPT {
                kept.played.pop_front();
            }
            kept.last
        });
        Ok(told(id, &conduct, &played))
    })
    .await?
    .map(Json)
}

fn told(id: u64, conduct: &Conduct, played: &Played) -> RehearsalShown {
    let hz = f64::from(played.run.hz);
    let mode = |n: usize| conduct.table.mode_name(n).unwrap_or_default().to_owned();
    let events = played
        .run
        .events
        .iter()
        .filter_map(|(n, event)| {
            let within = played.run.modes.get(*n).map(|m| mode(*m)).unwrap_or_default();
            event_told(conduct, *event, &within, *n as f64 / hz)
        })
        .collect();
    let mut modes = Vec::new();
    let mut last = None;
    for (n, now) in played.run.modes.iter().enumerate() {
        if last != Some(now) {
            modes.push(ModeFrom { t_s: n as f64 / hz, mode: mode(*now) });
            last = Some(now);
        }
    }
    let every = ((MOTION_S * hz).round() as usize).max(1);
    let shown = || played.samples.iter().step_by(every);
    let most_a = played.run.totals.iter().map(|t| conduct.current_a(*t)).fold(0.0, f64::max);
    RehearsalShown {
        id,
        lasts_s: played.samples.len() as f64 / hz,
        hz: played.run.hz,
        strips: conduct.strips,
        pixels: conduct.pixels,
        frame_hz: FRAMES_A_SECOND,
        events,
        modes,
        levels: Levels {
            step_s: played.step_s,
            current_a: played.levels.iter().map(|l| l.current_a).collect(),
            sound_dbfs: played.levels.iter().map(|l| l.sound_dbfs).collect(),
        },
        motion: MotionShown {
            step_s: every as f64 / hz,
            rate_dps: shown().map(|s| s.rate.map(|w| f64::from(w) / 16.384)).collect(),
            force_g: shown().map(|s| s.force.map(|f| f64::from(f) / 2048.0)).collect(),
        },
        notes: remarks(&played.source),
        most_a,
        frames: format!("/api/rehearsal/{id}/frames"),
        sound: format!("/api/rehearsal/{id}/sound"),
    }
}

fn event_told(conduct: &Conduct, event: Event, mode: &str, t_s: f64) -> Option<EventShown> {
    let (kind, detail) = match event {
        Event::Trigger { trigger, strength } => {
            let hit = matches!(trigger, Trigger::Strike | Trigger::Dropped);
            let strength = f64::from(strength);
            let detail =
                if hit { format!("{:.1} g", strength / 256.0) } else { format!("{:.0} deg/s", strength / 1.024) };
            (trigger.name(), detail)
        }
        Event::Mode { mode } => ("mode", conduct.table.mode_name(mode).unwrap_or_default().to_owned()),
        Event::Sound { sound, .. } => ("sound", conduct.table.sound_name(sound).unwrap_or_default().to_owned()),
        Event::Empty => ("empty", String::new()),
        Event::Frame { .. } | Event::Block => return None,
    };
    Some(EventShown { t_s, kind: kind.to_owned(), mode: mode.to_owned(), detail })
}

/// The frames of a rehearsal.
pub(crate) async fn frames(State(bench): Bench, Path(id): Path<u64>) -> Result<Response, Fault> {
    file(&bench, id, "application/octet-stream", |(_, frames, _)| frames.clone())
}

/// The sound of a rehearsal.
pub(crate) async fn sound(State(bench): Bench, Path(id): Path<u64>) -> Result<Response, Fault> {
    file(&bench, id, "audio/wav", |(_, _, sound)| sound.clone())
}

fn file(
    bench: &Workbench,
    id: u64,
    kind: &'static str,
    bytes: impl Fn(&(u64, Vec<u8>, Vec<u8>)) -> Vec<u8>,
) -> Result<Response, Fault> {
    let found = bench.rehearsals.kept(|kept| kept.played.iter().find(|p| p.0 == id).map(bytes));
    let found = found.ok_or_else(|| Fault::none("such rehearsal any more"))?;
    Ok(([(header::CONTENT_TYPE, HeaderValue::from_static(kind))], found).into_response())
}

/// What is done with the prop at this moment.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "LiveAsked"))]
pub(crate) struct Moved {
    /// `None` takes it up.
    id: Option<String>,
    /// Force by axis, g; rate by axis, degrees a second; its button, 0 or 1.
    samples: Vec<[f64; 7]>,
}

/// What it does at that.
#[derive(Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub(crate) struct LiveAnswer {
    id: String,
    hz: i32,
    mode: String,
    events: Vec<EventShown>,
    /// Pixels, three bytes each, in base64.
    frame: String,
    sound_hz: u32,
    /// Samples of two bytes, in base64.
    sound: String,
}

/// Plays what is done with the prop at this moment.
pub(crate) async fn live(State(bench): Bench, Form(moved): Form<Moved>) -> Answer<LiveAnswer> {
    offload(move || -> Result<LiveAnswer, Fault> {
        let (_, conduct) = conduct(&bench)?;
        let hz = conduct.table.hardware().pace.hz();
        if moved.samples.len() > AT_ONCE_S * hz.unsigned_abs() as usize {
            return Err(Fault::new(
                422,
                "motion",
                format!("at most {AT_ONCE_S} s are played at once"),
                "send shorter stretches",
            ));
        }
        let (id, mut engine) = match moved.id {
            Some(id) => {
                let taken = bench.rehearsals.kept(|kept| {
                    let at = kept.live.iter().position(|(name, _)| *name == id)?;
                    kept.live.remove(at)
                });
                taken.ok_or_else(|| Fault::none("such live rehearsal any more"))?
            }
            None => (super::pairing::token()?, conduct.engine().map_err(|e| anyhow::anyhow!("{e}"))?),
        };
        let mut events = Vec::new();
        let (mut told, mut sound): (Vec<EventShown>, Vec<i16>) = (Vec::new(), Vec::new());
        for (n, row) in moved.samples.iter().enumerate() {
            engine.step(&sample(row), &mut events);
            let mode = engine.table().mode_name(engine.mode()).unwrap_or_default().to_owned();
            for event in &events {
                if matches!(event, Event::Block) {
                    sound.extend_from_slice(engine.block());
                }
                told.extend(event_told(&conduct, *event, &mode, n as f64 / f64::from(hz)));
            }
        }
        let bytes: Vec<u8> = sound.iter().flat_map(|s| s.to_le_bytes()).collect();
        let answer = LiveAnswer {
            id: id.clone(),
            hz,
            mode: engine.table().mode_name(engine.mode()).unwrap_or_default().to_owned(),
            events: told,
            frame: base64(engine.pixels()),
            sound_hz: conduct.table.hardware().sound_hz,
            sound: base64(&bytes),
        };
        bench.rehearsals.kept(|kept| {
            kept.live.push_back((id, engine));
            if kept.live.len() > KEPT {
                kept.live.pop_front();
            }
        });
        Ok(answer)
    })
    .await?
    .map(Json)
}

/// g and degrees a second as the sensor counts them; what is beyond its range is at its end, and what is no number is nothing.
fn sample([ax, ay, az, gx, gy, gz, button]: &[f64; 7]) -> Sample {
    let counted = |value: &f64, a_unit: f64| (value * a_unit).round().clamp(-32_768.0, 32_767.0) as i16;
    Sample {
        force: [ax, ay, az].map(|v| counted(v, 2048.0)),
        rate: [gx, gy, gz].map(|v| counted(v, 16.384)),
        pressed: *button > 0.5,
        cell_mv: (CELL_V * 1000.0) as u16,
    }
}

/// RFC 4648, section 4.
fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for some in bytes.chunks(3) {
        let all = some.iter().fold(0u32, |all, b| (all << 8) | u32::from(*b)) << (8 * (3 - some.len()));
        for k in 0..4 {
            let letter = LETTERS[(all >> (18 - 6 * k)) as usize & 63] as char;
            text.push(if k <= some.len() { letter } else { '=' });
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_is_that_of_the_standard() {
        // RFC 4648, section 10.
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn samples_are_counted_as_the_sensor_counts() {
        let read = sample(&[1.0, -16.5, f64::NAN, 100.0, -3000.0, 0.0, 1.0]);
        assert_eq!((read.force, read.pressed), ([2048, -32_768, 0], true));
        assert_eq!(read.rate, [1638, -32_768, 0]);
    }
}
