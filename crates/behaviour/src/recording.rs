//! Motions from a file: CSV of any rate, units stated, gaps and clipping told.

use crate::motion::{COUNTS, LowPass, count_of};
use crate::{Pace, Sample};
use thiserror::Error;

/// Names of the columns, and what one of their units is.
#[derive(Clone, Debug, PartialEq)]
pub struct Columns {
    /// Time.
    pub time: String,
    /// Acceleration along x, y, z.
    pub force: [String; 3],
    /// Turning rate about x, y, z.
    pub rate: [String; 3],
    /// The button; taken if it is there, anything but 0 is down.
    pub button: String,
    /// Seconds in one of its units: 0.001 for milliseconds.
    pub time_s: f64,
    /// g in one of its units: 1/9.80665 for m/s².
    pub force_g: f64,
    /// Degrees a second in one of its units: 57.29578 for rad/s.
    pub rate_dps: f64,
}

impl Default for Columns {
    /// `t_s, ax_g, ay_g, az_g, gx_dps, gy_dps, gz_dps, button`.
    fn default() -> Columns {
        let three = |kind: &str, unit: &str| ["x", "y", "z"].map(|axis| format!("{kind}{axis}_{unit}"));
        Columns {
            time: "t_s".to_owned(),
            force: three("a", "g"),
            rate: three("g", "dps"),
            button: "button".to_owned(),
            time_s: 1.0,
            force_g: 1.0,
            rate_dps: 1.0,
        }
    }
}

/// What is peculiar about a recording that can be used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Note {
    /// Nothing was recorded for a while; a straight line stands for it.
    Gap {
        /// From when, seconds from the start.
        from_s: f64,
        /// For how long, seconds.
        lasts_s: f64,
    },
    /// A column stays at one largest value for several rows: the sensor was at the end of its range.
    Clipped {
        /// 0 to 5: acceleration along x, y, z, rate about x, y, z.
        column: usize,
        /// Rows in which it is.
        rows: usize,
        /// The value, g or degrees a second.
        at: f64,
    },
    /// Values beyond what the board's sensor can hold (16 g, 2000 degrees a second) were cut to that.
    Beyond {
        /// Samples in which any was.
        samples: usize,
    },
    /// It was recorded slower than the engine runs: short impacts are not in it.
    Slow {
        /// Rows a second, by the middle interval.
        hz: f64,
    },
}

/// A recording as samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Recording {
    /// Samples at the engine's pace.
    pub samples: Vec<Sample>,
    /// Rows a second of the file, by the middle interval.
    pub file_hz: f64,
    /// What is peculiar, in the order of gaps, clipping, range, rate.
    pub notes: Vec<Note>,
}

/// A file that cannot be used. Lines count from 1, the head is line 1.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum RecordingError {
    /// Columns that are not there.
    #[error("columns missing: {missing}; the file has: {found}")]
    Missing {
        /// Their names.
        missing: String,
        /// Names in the file.
        found: String,
    },
    /// A field that is no number.
    #[error("line {line}, column {column}: {text:?} is not a number")]
    NotANumber {
        /// The line.
        line: u64,
        /// The column's name.
        column: String,
        /// What is there.
        text: String,
    },
    /// A row of another length than the head, or no text at all.
    #[error("line {line}: {reason}")]
    Row {
        /// The line.
        line: u64,
        /// What is wrong.
        reason: String,
    },
    /// Time stands still or goes back.
    #[error(
        "line {line}: time goes from {before_s} s to {after_s} s; rows must be in the order of time, each time once"
    )]
    Backwards {
        /// The line.
        line: u64,
        /// Time of the row before, seconds.
        before_s: f64,
        /// Its own, seconds.
        after_s: f64,
    },
    /// Too little to tell a motion from.
    #[error("{rows} rows are no motion; {LEAST_ROWS} are the least")]
    Short {
        /// Rows there are.
        rows: usize,
    },
    /// Longer than a rehearsal can be.
    #[error("the recording goes on for {lasts_s} s; {LONGEST_S} s at most: cut it, or check the unit of its time")]
    Long {
        /// From first to last row, seconds.
        lasts_s: f64,
    },
    /// More rows than a rehearsal takes.
    #[error("line {line}: more than {MOST_ROWS} rows; cut the recording into parts")]
    Many {
        /// The line of the first row too many.
        line: u64,
    },
    /// Rows closer together than any sensor reads.
    #[error("{hz:.0} rows a second; {MOST_HZ} at most: check the unit of its time")]
    Fast {
        /// Rows a second, by the middle interval.
        hz: f64,
    },
    /// A unit that is no positive number.
    #[error("a unit of {what} is {value}; give a positive number")]
    Unit {
        /// Time, acceleration or rate.
        what: &'static str,
        /// What was given.
        value: f64,
    },
}

/// Fewest rows.
const LEAST_ROWS: usize = 10;
/// Most rows: 80 minutes at 400 a second.
const MOST_ROWS: usize = 2_000_000;
/// Most rows a second.
const MOST_HZ: f64 = 100_000.0;
/// Readings beyond this, g or degrees a second, are taken as this; no sensor has such a range.
const ABSURD: f64 = 1e6;
/// Longest recording, seconds: two hours, since a few rows far apart would else become many samples.
const LONGEST_S: f64 = 7200.0;
/// A gap is an interval of so many usual ones.
const GAP: f64 = 3.5;
/// Rows at one value that are clipping.
const CLIPPED_ROWS: usize = 3;

/// Reads a recording and brings it to the engine's pace, with the cell at `cell_mv`. A faster one is filtered first, as the
/// sensor would.
///
/// # Errors
/// The first thing that is wrong, with its line.
pub fn read_recording(text: &str, columns: &Columns, pace: Pace, cell_mv: u16) -> Result<Recording, RecordingError> {
    for (what, value) in [("time", columns.time_s), ("acceleration", columns.force_g), ("rate", columns.rate_dps)] {
        if !(value.is_finite() && value > 0.0) {
            return Err(RecordingError::Unit { what, value });
        }
    }
    let mut rows = rows(text, columns)?;
    if rows.len() < LEAST_ROWS {
        return Err(RecordingError::Short { rows: rows.len() });
    }
    let start_s = rows[0].time_s;
    rows.iter_mut().for_each(|r| r.time_s -= start_s);
    let lasts_s = rows[rows.len() - 1].time_s;
    if lasts_s > LONGEST_S {
        return Err(RecordingError::Long { lasts_s });
    }
    let usual_s = middle_interval(&rows);
    let file_hz = 1.0 / usual_s;
    if file_hz > MOST_HZ {
        return Err(RecordingError::Fast { hz: file_hz });
    }
    let mut notes = gaps(&rows, usual_s);
    notes.extend(clipping(&rows));
    let hz = f64::from(pace.hz());
    if file_hz > 1.1 * hz {
        smooth(&mut rows, file_hz, 0.46 * hz);
    }
    let (samples, beyond) = resample(&rows, lasts_s, hz, cell_mv);
    if beyond > 0 {
        notes.push(Note::Beyond { samples: beyond });
    }
    if file_hz < 0.9 * hz {
        notes.push(Note::Slow { hz: file_hz });
    }
    Ok(Recording { samples, file_hz, notes })
}

struct Row {
    time_s: f64,
    /// g and degrees a second.
    values: [f64; 6],
    pressed: bool,
}

fn rows(text: &str, columns: &Columns) -> Result<Vec<Row>, RecordingError> {
    // A mark that some programs put before the text.
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(text.as_bytes());
    let at = |e: &csv::Error| e.position().map_or(1, csv::Position::line);
    let head = reader.headers().map_err(|e| RecordingError::Row { line: at(&e), reason: e.to_string() })?.clone();
    let find = |name: &str| head.iter().position(|h| h == name);
    let [fx, fy, fz] = &columns.force;
    let [rx, ry, rz] = &columns.rate;
    let names = [&columns.time, fx, fy, fz, rx, ry, rz];
    let places: Vec<Option<usize>> = names.iter().map(|n| find(n)).collect();
    let missing: Vec<&str> = names.iter().zip(&places).filter(|p| p.1.is_none()).map(|p| p.0.as_str()).collect();
    if !missing.is_empty() {
        let found = head.iter().collect::<Vec<_>>().join(", ");
        return Err(RecordingError::Missing { missing: missing.join(", "), found });
    }
    let places: Vec<usize> = places.into_iter().flatten().collect();
    let button = find(&columns.button);
    let mut found: Vec<Row> = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|e| RecordingError::Row { line: at(&e), reason: worded(&e) })?;
        let line = record.position().map_or(0, csv::Position::line);
        let number = |place: usize| {
            let text = record.get(place).unwrap_or_default();
            text.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(|| RecordingError::NotANumber {
                line,
                column: head.get(place).unwrap_or_default().to_owned(),
                text: text.to_owned(),
            })
        };
        let time_s = number(places[0])? * columns.time_s;
        let mut values = [0.0; 6];
        for (k, value) in values.iter_mut().enumerate() {
            let unit = if k < 3 { columns.force_g } else { columns.rate_dps };
            *value = (number(places[k + 1])? * unit).clamp(-ABSURD, ABSURD);
        }
        let pressed = button.map(number).transpose()?.is_some_and(|v| v != 0.0);
        if let Some(before) = found.last().filter(|b| time_s <= b.time_s) {
            return Err(RecordingError::Backwards { line, before_s: before.time_s, after_s: time_s });
        }
        if found.len() == MOST_ROWS {
            return Err(RecordingError::Many { line });
        }
        found.push(Row { time_s, values, pressed });
    }
    Ok(found)
}

fn worded(error: &csv::Error) -> String {
    match error.kind() {
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
            format!("{len} fields where the head has {expected_len}")
        }
        _ => error.to_string(),
    }
}

fn middle_interval(rows: &[Row]) -> f64 {
    let mut steps: Vec<f64> = rows.windows(2).map(|w| w[1].time_s - w[0].time_s).collect();
    steps.sort_by(f64::total_cmp);
    steps[steps.len() / 2]
}

fn gaps(rows: &[Row], usual_s: f64) -> Vec<Note> {
    let step = |w: &[Row]| w[1].time_s - w[0].time_s;
    rows.windows(2)
        .filter(|w| step(w) > GAP * usual_s)
        .map(|w| Note::Gap { from_s: w[0].time_s, lasts_s: step(w) })
        .collect()
}

/// Columns that stay at their largest value, up or down, for several rows in a row.
fn clipping(rows: &[Row]) -> Vec<Note> {
    let mut notes = Vec::new();
    for column in 0..6 {
        let values = || rows.iter().map(|r| r.values[column]);
        let most = values().fold(0.0, |m: f64, v| m.max(v.abs()));
        // Nobody is clipped at rest.
        if most < if column < 3 { 1.5 } else { 100.0 } {
            continue;
        }
        let (mut run, mut clipped) = (0, 0);
        let mut last = 0.0;
        for value in values() {
            run = if value.abs() == most && (run == 0 || value == last) { run + 1 } else { 0 };
            last = value;
            clipped += match run {
                CLIPPED_ROWS => CLIPPED_ROWS,
                r if r > CLIPPED_ROWS => 1,
                _ => 0,
            };
        }
        if clipped > 0 {
            notes.push(Note::Clipped { column, rows: clipped, at: most });
        }
    }
    notes
}

fn smooth(rows: &mut [Row], file_hz: f64, corner_hz: f64) {
    let mut filter = LowPass::new(corner_hz, file_hz);
    for row in rows {
        row.values = filter.next(row.values);
    }
}

/// Straight lines between rows, at the engine's pace; and how many samples were beyond range.
fn resample(rows: &[Row], lasts_s: f64, hz: f64, cell_mv: u16) -> (Vec<Sample>, usize) {
    let n = libm::floor(lasts_s * hz + 1e-6) as usize + 1;
    let mut samples = Vec::with_capacity(n);
    let (mut k, mut beyond) = (0, 0);
    for i in 0..n {
        let t = i as f64 / hz;
        while k + 2 < rows.len() && rows[k + 1].time_s <= t {
            k += 1;
        }
        let (a, b) = (&rows[k], &rows[k + 1]);
        let share = ((t - a.time_s) / (b.time_s - a.time_s)).clamp(0.0, 1.0);
        let mut counts = [0; 6];
        let mut over = false;
        for (c, count) in counts.iter_mut().enumerate() {
            let value = a.values[c] + (b.values[c] - a.values[c]) * share;
            let scale = COUNTS[c / 3];
            over |= (value * scale).abs() > 32768.0;
            *count = count_of(value, scale);
        }
        beyond += usize::from(over);
        let [x, y, z, p, q, r] = counts;
        let pressed = if share < 1.0 { a.pressed } else { b.pressed };
        samples.push(Sample { force: [x, y, z], rate: [p, q, r], pressed, cell_mv });
    }
    (samples, beyond)
}
