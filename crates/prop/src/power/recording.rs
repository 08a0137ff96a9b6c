//! A rehearsed recording of use: current of the lights and loudness through time, as a list of three columns.

use crate::conduct::LevelRow;

/// The first line of a recording.
pub const COLUMNS: [&str; 3] = ["t_s", "current_a", "sound_dbfs"];
/// The longest recording that is taken, s.
const LONGEST_S: f64 = 4.0 * 3600.0;
/// The loudest that samples can be, dB: a full square wave, twice the power of a full sine.
const LOUDEST_DBFS: f64 = 3.02;
/// Quieter than this counts as silence, dB under full scale: the last step of sixteen bits.
const SILENT_DBFS: f64 = -96.0;

/// What was asked for from a time on, until the next row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// When it begins, s from the start.
    pub at_s: f64,
    /// Current that the pixels' lights ask for together, without what their chips draw, A.
    pub current_a: f64,
    /// Power of the sound against that of a full sine, 0 to 2.
    pub sound: f64,
}

/// Rows in the order of time, the first at 0. It is repeated round and round.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Recording {
    /// The rows.
    pub rows: Vec<Row>,
}

/// Why a recording cannot be read; lines count from 1.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum RecordingError {
    /// No such columns.
    #[error("line 1: the columns are t_s,current_a,sound_dbfs in this order, and here they are {found:?}")]
    Columns {
        /// What is there.
        found: String,
    },
    /// A row that cannot be read.
    #[error("line {line}: {what}")]
    Line {
        /// Its line.
        line: u64,
        /// What is wrong.
        what: String,
    },
    /// Fewer than two rows: no length.
    #[error("{rows} rows: two at least tell how long something lasts")]
    Short {
        /// Rows.
        rows: usize,
    },
}

impl Recording {
    /// Reads a recording.
    ///
    /// # Errors
    /// [`RecordingError`] with the line.
    pub fn read(text: &str) -> Result<Recording, RecordingError> {
        let mut lines = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut rows: Vec<Row> = Vec::new();
        for (index, record) in lines.records().enumerate() {
            let record = record.map_err(|e| RecordingError::Line { line: index as u64 + 1, what: e.to_string() })?;
            if index == 0 {
                if !record.iter().eq(COLUMNS) {
                    return Err(RecordingError::Columns { found: record.iter().collect::<Vec<_>>().join(",") });
                }
                continue;
            }
            let line = record.position().map_or(index as u64 + 1, csv::Position::line);
            let row = row(&record, rows.last()).map_err(|what| RecordingError::Line { line, what })?;
            rows.push(row);
        }
        if rows.len() < 2 {
            return Err(RecordingError::Short { rows: rows.len() });
        }
        Ok(Recording { rows })
    }

    /// What a rehearsal comes to.
    pub(crate) fn of(levels: &[LevelRow]) -> Recording {
        let row = |l: &LevelRow| Row { at_s: l.t_s, current_a: l.current_a, sound: power_of(l.sound_dbfs) };
        Recording { rows: levels.iter().map(row).collect() }
    }

    /// How long it is, s: the last row lasts as long as the one before it.
    pub fn length_s(&self) -> f64 {
        match self.rows.as_slice() {
            [.., a, b] => 2.0 * b.at_s - a.at_s,
            _ => 0.0,
        }
    }

    /// Means over steps of so many seconds: current, A, and power of the sound against that of a full sine. Charge is kept.
    pub(crate) fn steps(&self, step_s: f64) -> Vec<[f64; 2]> {
        let length = self.length_s();
        let count = ((length / step_s).round() as usize).max(1);
        let mut sums = vec![[0.0; 2]; count];
        // The recording is stretched to whole steps, by half a step at most.
        let stretch = count as f64 / length;
        for (k, row) in self.rows.iter().enumerate() {
            let ends = self.rows.get(k + 1).map_or(length, |next| next.at_s);
            let (from, to) = (row.at_s * stretch, (ends * stretch).min(count as f64));
            let mut at = from;
            while at < to {
                let step = (at as usize).min(count - 1);
                let until = to.min((step + 1) as f64);
                sums[step][0] += row.current_a * (until - at);
                sums[step][1] += row.sound * (until - at);
                if until <= at {
                    break;
                }
                at = until;
            }
        }
        sums
    }
}

fn row(record: &csv::StringRecord, before: Option<&Row>) -> Result<Row, String> {
    let fields: Vec<&str> = record.iter().collect();
    let [at, current, sound] = fields[..] else {
        return Err(format!("{} columns instead of 3", fields.len()));
    };
    let number = |word: &str, name: &str| {
        word.parse::<f64>().map_err(|_| format!("{name} is no number: {word:?}; write it with a point, without a unit"))
    };
    let (at_s, current_a) = (number(at, COLUMNS[0])?, number(current, COLUMNS[1])?);
    // Silence has no level: nothing, or minus infinity.
    let dbfs = if sound.is_empty() { f64::NEG_INFINITY } else { number(sound, COLUMNS[2])? };
    let begins = before.map_or(at_s == 0.0, |b| at_s > b.at_s);
    if !begins || !(0.0..=LONGEST_S).contains(&at_s) {
        let why = format!("the first row is at 0, each later than the one before it, the last within {LONGEST_S} s");
        return Err(format!("t_s is {at}; {why}"));
    }
    if !(0.0..=1000.0).contains(&current_a) {
        return Err(format!("current_a is {current}; a current lies between 0 and 1000 A"));
    }
    if dbfs.is_nan() || dbfs > LOUDEST_DBFS {
        return Err(format!(
            "sound_dbfs is {sound}; 0 is a full sine, nothing is louder than {LOUDEST_DBFS}, and silence is empty or -inf"
        ));
    }
    Ok(Row { at_s, current_a, sound: power_of(dbfs) })
}

/// Power of a level against that of a full sine.
fn power_of(dbfs: f64) -> f64 {
    if dbfs < SILENT_DBFS { 0.0 } else { libm::pow(10.0, dbfs / 10.0) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "t_s,current_a,sound_dbfs\n0,0.5,-inf\n1.0,2.0,-10\n1.5,0,\n";

    #[test]
    fn a_recording_keeps_its_charge_at_any_step() {
        let recording = Recording::read(TEXT).unwrap();
        assert_eq!(recording.length_s(), 2.0);
        // 0.5 A for 1 s and 2 A for half a second: 1.5 As; a tenth of the loudest for half a second.
        for step in [0.01, 0.1, 0.4, 0.7, 2.0, 30.0] {
            let steps = recording.steps(step);
            let long = recording.length_s() / steps.len() as f64;
            let [charge, sound] = [0, 1].map(|k| steps.iter().map(|s| s[k] * long).sum::<f64>());
            assert!((charge - 1.5).abs() < 1e-9 && (sound - 0.05).abs() < 1e-9, "{step}: {charge} {sound}");
        }
    }

    #[test]
    fn a_recording_written_wrong_is_told_by_its_line() {
        let said = |text: &str| Recording::read(text).unwrap_err().to_string();
        assert!(said("time,amps\n").starts_with("line 1: the columns are"));
        assert!(said(&TEXT.replace("1.0,2.0", "0,2.0")).starts_with("line 3: t_s is 0;"));
        assert!(said(&TEXT.replace("2.0", "-2.0")).contains("line 3: current_a is -2.0"));
        assert!(said(&TEXT.replace("2.0", "nan")).contains("line 3: current_a is nan"));
        assert!(said(&TEXT.replace("-10", "4")).contains("line 3: sound_dbfs is 4"));
        assert!(said(&TEXT.replace("1.5,0,", "1.5,0")).starts_with("line 4: 2 columns"));
        assert!(said(&TEXT.replace("0.5", "half")).contains("is no number"));
        assert!(said("t_s,current_a,sound_dbfs\n0,1,\n").starts_with("1 rows"));
        assert!(said("").starts_with("0 rows"));
    }
}
