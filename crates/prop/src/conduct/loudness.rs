//! How loud the prop is at the ear, against what hearing bears.

use super::{Conduct, ConductView};
use crate::catalogue::PartKind;
use crate::checks::{Checked, note};
use crate::finding::{Band, Finding, Input, input};
use crate::project::Project;
use behaviour::sound::{Heard, heard, level};

/// True peak at most, dBTP: EBU R 128.
const PEAK_DBTP: f64 = -1.0;
/// Sound levels of speakers and rooms are known no better, dB (common practice, no source).
pub(crate) const LEVEL_DB: f64 = 3.0;
/// The lower exposure action value for a working day of eight hours, dB(A), and that for a peak, dB(C): Directive 2003/10/EC,
/// article 3 (from memory). ITU-T H.870 allows the same 80 dB(A) for 40 hours a week, and 75 to children (from memory).
const DAY_DB: f64 = 80.0;
const BURST_DB: f64 = 135.0;
const DAY_S: f64 = 8.0 * 3600.0;
/// From the level of a full sine to its peak, dB.
const CREST_DB: f64 = 3.0103;

/// How loud it is, and whether it is clean.
pub(super) fn found(view: &ConductView, project: &Project) -> Vec<Finding> {
    let ConductView { conduct, played, .. } = view;
    if conduct.sounds.is_empty() {
        return Vec::new();
    }
    if !project.parts.iter().any(|p| p.row.kind == PartKind::Speaker) {
        let message =
            "The behaviour has sounds, and no part is a speaker: they take room on the board and nobody hears them.";
        return vec![note("sound_unheard", "behaviour".into(), None, conduct.sounds.len() as f64, "1", message.into())];
    }
    let hz = conduct.table.hardware().sound_hz;
    let mut found = Vec::new();
    if let Some(ear) = heard(&played.run.sound, hz) {
        found.push(loud(conduct, &ear));
        found.push(dose(conduct, &ear, project.power.as_ref().map_or(DAY_S, |p| p.day_s)));
    }
    if let Ok(measured) = level(&played.run.sound, 1, hz)
        && let Some(peak) = measured.true_peak_dbtp
    {
        found.push(burst(conduct, peak));
        found.push(
            Checked {
                id: "sound_peak",
                subject: "speaker".into(),
                station_mm: None,
                value: Band::exact(peak),
                unit: "dB",
                min: None,
                max: Some(PEAK_DBTP),
                source: "EBU R 128: true peak at most -1 dBTP".into(),
                message: format!("Everything mixed together peaks at {peak:.1} dBTP in the stated use."),
                remedy: "less loud in hums and rules, or a stronger duck".into(),
            }
            .finding()
            .worked_from([input("samples", played.run.sound.len() as f64, "1", "the stated use, played")]),
        );
    }
    found
}

/// The loudest second of the stated use at the ear, dB(A); `None` where nothing is heard.
pub(crate) fn loudest_at_ear_db(view: &ConductView) -> Option<f64> {
    let hz = view.conduct.table.hardware().sound_hz;
    heard(&view.played.run.sound, hz).map(|ear| view.conduct.at_ear_db(ear.second_db))
}

const QUIETER: &str = "less loud in hums and rules, or a smaller behaviour.amplifier";

/// What a level at the ear is worked out from.
fn at_ear(conduct: &Conduct, of_sound: Input) -> [Input; 4] {
    [
        input("speaker, 1 W in 1 m", conduct.rules.speaker_db, "dB", "behaviour.speaker, or catalogue"),
        input("amplifier", conduct.rules.amplifier_w, "W", "behaviour.amplifier"),
        input("ear", conduct.rules.ear_mm, "mm", "behaviour.ear"),
        of_sound,
    ]
}

/// The loudest second at the ear.
fn loud(conduct: &Conduct, ear: &Heard) -> Finding {
    let ear_db = conduct.at_ear_db(ear.second_db);
    Checked {
        id: "sound_loud",
        subject: "speaker".into(),
        station_mm: None,
        value: Band::about(ear_db, LEVEL_DB),
        unit: "dB",
        min: None,
        max: Some(conduct.rules.loudest_db),
        source: "behaviour.loudest, in dB(A) by IEC 61672-1: our choice is 80 even for a second".into(),
        message: format!(
            "The loudest second of the stated use is {ear_db:.0} dB(A) in {:.0} cm; small speakers differ by 3 dB.",
            conduct.rules.ear_mm / 10.0
        ),
        remedy: QUIETER.into(),
    }
    .finding()
    .worked_from(at_ear(
        conduct,
        input("loudest second under a full sine", ear.second_db, "dB", "the stated use, played"),
    ))
}

/// What an ear takes in a day of it: the mean level, over `day_s`, as if it were spread over eight hours.
fn dose(conduct: &Conduct, ear: &Heard, day_s: f64) -> Finding {
    let mean_db = conduct.at_ear_db(ear.mean_db);
    let (day_db, hours) = (over_a_day(mean_db, day_s), hours_to_limit(mean_db));
    let long = if hours > 24.0 { "more than a day".to_owned() } else { format!("{hours:.1} hours") };
    Checked {
        id: "sound_dose",
        subject: "speaker".into(),
        station_mm: None,
        value: Band::about(day_db, LEVEL_DB),
        unit: "dB",
        min: None,
        max: Some(DAY_DB),
        source: "lower action value of Directive 2003/10/EC, dB(A) over 8 hours; ITU-T H.870: the same for 40 hours a week, 75 for children".into(),
        message: format!(
            "The stated use is {mean_db:.0} dB(A) on average in {:.0} cm; gone through for {:.1} hours a day that is {day_db:.0} dB(A) over eight, and the limit is reached in {long}.",
            conduct.rules.ear_mm / 10.0,
            day_s / 3600.0
        ),
        remedy: format!("{QUIETER}; or use it for a shorter time: power.day"),
    }
    .finding()
    .worked_from(
        at_ear(conduct, input("mean under a full sine", ear.mean_db, "dB", "the stated use, played"))
            .into_iter()
            .chain([input("gone through for", day_s / 3600.0, "h", "power.day")]),
    )
}

/// A mean level that lasts `day_s`, as if it were spread over eight hours: equal energy (ISO 1999), dB(A).
fn over_a_day(mean_db: f64, day_s: f64) -> f64 {
    mean_db + 10.0 * libm::log10(day_s / DAY_S)
}

/// How long a mean level may last until it is as much as the limit over eight hours, hours.
fn hours_to_limit(mean_db: f64) -> f64 {
    8.0 * libm::pow(10.0, (DAY_DB - mean_db) / 10.0)
}

/// The highest peak at the ear.
fn burst(conduct: &Conduct, peak_dbtp: f64) -> Finding {
    let peak_db = conduct.at_ear_db(0.0) + CREST_DB + peak_dbtp;
    Checked {
        id: "sound_burst",
        subject: "speaker".into(),
        station_mm: None,
        value: Band::about(peak_db, LEVEL_DB),
        unit: "dB",
        min: None,
        max: Some(BURST_DB),
        source:
            "lower action value for peaks of Directive 2003/10/EC, dB(C), which is flat where a small speaker is loud"
                .into(),
        message: format!("The highest peak is {peak_db:.0} dB in {:.0} cm.", conduct.rules.ear_mm / 10.0),
        remedy: QUIETER.into(),
    }
    .finding()
    .worked_from(
        at_ear(conduct, input("highest peak under full", peak_dbtp, "dB", "the stated use, played"))
            .into_iter()
            .chain([input("from a sine's level to its peak", CREST_DB, "dB", "root of two")]),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The table of equal energy as it is printed for workers: 80 dB(A) for 8 hours, 83 for 4, 86 for 2, 89 for 1 (from memory; 3 dB
    /// are twice the energy to 0.3 %).
    #[test]
    fn three_decibels_are_half_the_time() {
        for (mean_db, hours) in [(80.0, 8.0), (83.0, 4.0), (86.0, 2.0), (89.0, 1.0)] {
            assert!((hours_to_limit(mean_db) - hours).abs() < 0.01 * hours, "{mean_db}");
            assert!((over_a_day(mean_db, hours * 3600.0) - DAY_DB).abs() < 0.05, "{mean_db}");
        }
    }
}
