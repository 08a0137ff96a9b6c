//! What a rehearsal leaves: events, sound, frames, levels and the chart in time.

mod chapter;
mod chart;
mod frames;

use crate::{Artifact, PackError};
use behaviour::sound::write_wav;
use prop::conduct::{Conduct, Played, Source};
use prop::outcome::Outcome;
use std::fmt::Write;

pub(crate) use chapter::chapter;

/// The files of a rehearsal, in the order of their paths.
///
/// # Errors
/// The sound cannot be written: there is none.
pub fn rehearsal(title: &str, conduct: &Conduct, played: &Played) -> Result<Vec<Artifact>, PackError> {
    let unheard = |e: behaviour::sound::WavError| PackError::Sound { reason: e.to_string() };
    // A motion shorter than a block is followed by silence until the block is over.
    let wav = if played.run.sound.is_empty() { &[0; behaviour::BLOCK][..] } else { &played.run.sound };
    let mut all = vec![
        Artifact::new("chart.svg", chart::draw(title, conduct, played)?.to_file()),
        Artifact::new("events.csv", played.run.events_csv(&conduct.table)),
        Artifact::new("frames.bin", frames::bytes(conduct, &played.run)),
        Artifact::new("heard.wav", write_wav(wav, conduct.table.hardware().sound_hz).map_err(unheard)?),
        Artifact::new("levels.csv", levels(played)),
    ];
    if matches!(played.source, Source::Made(_)) {
        all.push(Artifact::new("motion.csv", motion(played)));
    }
    Ok(all)
}

/// A motion that was made, as a recording: with so many figures the same counts come of it again.
fn motion(played: &Played) -> String {
    let mut text = "t_s,ax_g,ay_g,az_g,gx_dps,gy_dps,gz_dps,button\n".to_owned();
    for (n, sample) in played.samples.iter().enumerate() {
        let [ax, ay, az] = sample.force.map(|f| f64::from(f) / 2048.0);
        let [gx, gy, gz] = sample.rate.map(|w| f64::from(w) / 16.384);
        let t = n as f64 / f64::from(played.run.hz);
        let down = u8::from(sample.pressed);
        let written = writeln!(text, "{t:.4},{ax:.5},{ay:.5},{az:.5},{gx:.3},{gy:.3},{gz:.3},{down}");
        debug_assert!(written.is_ok(), "text takes all lines");
    }
    text
}

/// `drawings/rehearsal.svg` and tables of the stated use, where there is a behaviour.
///
/// # Errors
/// The picture of the strip cannot be compressed.
pub(crate) fn of_pack(outcome: &Outcome) -> Result<(Option<crate::svg::Sheet>, Vec<Artifact>), PackError> {
    let Some(view) = &outcome.conduct else { return Ok((None, Vec::new())) };
    let sheet = chart::draw(&outcome.prop, &view.conduct, &view.played)?;
    let files = vec![
        Artifact::new("rehearsal/events.csv", view.played.run.events_csv(&view.conduct.table)),
        Artifact::new("rehearsal/levels.csv", levels(&view.played)),
    ];
    Ok((Some(sheet), files))
}

/// Current and level of sound in equal steps.
fn levels(played: &Played) -> String {
    let mut text = "t_s,current_a,sound_dbfs\n".to_owned();
    for row in &played.levels {
        let written = writeln!(text, "{:.3},{:.4},{:.1}", row.t_s, row.current_a, row.sound_dbfs);
        debug_assert!(written.is_ok(), "text takes all lines");
    }
    text
}

/// Where a motion comes from, in words.
pub(crate) fn source(played: &Played) -> String {
    let hz = played.run.hz;
    match &played.source {
        Source::Made(moments) => format!("made by physics, {hz} samples a second, {} moments", moments.len()),
        Source::Recorded(file_hz, notes) => {
            format!("recorded at {file_hz:.0} rows a second, taken as {hz} samples a second, {} remarks", notes.len())
        }
    }
}
