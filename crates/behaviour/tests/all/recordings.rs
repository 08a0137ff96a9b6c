//! Recordings as makers bring them.

use behaviour::motion::{Act, Sensor, perform};
use behaviour::{Columns, Note, Pace, Recording, RecordingError, read_recording};
use std::fmt::Write;

const HEAD: &str = "t_s,ax_g,ay_g,az_g,gx_dps,gy_dps,gz_dps";

fn read(text: &str) -> Result<Recording, RecordingError> {
    read_recording(text, &Columns::default(), Pace::Hz400, 3900)
}

/// Rows of a function of time at a rate.
fn table(hz: f64, rows: usize, row: impl Fn(f64) -> [f64; 6]) -> String {
    let mut text = format!("{HEAD}\n");
    for k in 0..rows {
        let t = k as f64 / hz;
        let values = row(t).map(|v| v.to_string()).join(",");
        writeln!(text, "{t},{values}").expect("text");
    }
    text
}

fn still(_: f64) -> [f64; 6] {
    [1.0, 0.0, 0.0, 0.0, 0.0, 0.0]
}

/// What the generator made comes back to the count, in any units and under any names.
#[test]
fn a_recording_is_what_it_was() {
    let motion = perform(&[Act::Swing, Act::Press { lasts_ms: 300 }], &Sensor::common(Pace::Hz400), 3, 3900);
    let mut text = "when,Fx,Fy,Fz,wx,wy,wz,key\n".to_owned();
    for (k, s) in motion.samples.iter().enumerate() {
        let force = s.force.map(|v| (f64::from(v) / 2048.0 * 9.80665).to_string()).join(",");
        let rate = s.rate.map(|v| (f64::from(v) / 16.384).to_radians().to_string()).join(",");
        writeln!(text, "{},{force},{rate},{}", k as f64 * 2.5, u8::from(s.pressed)).expect("text");
    }
    let names = |a: &str, b: &str, c: &str| [a, b, c].map(str::to_owned);
    let columns = Columns {
        time: "when".to_owned(),
        force: names("Fx", "Fy", "Fz"),
        rate: names("wx", "wy", "wz"),
        button: "key".to_owned(),
        time_s: 0.001,
        force_g: 1.0 / 9.80665,
        rate_dps: 1.0_f64.to_degrees(),
    };
    let found = read_recording(&text, &columns, Pace::Hz400, 3900).expect("read");
    assert!(found.samples == motion.samples);
    assert!(found.notes.is_empty() && (found.file_hz - 400.0).abs() < 0.01, "{:?}", found.notes);
}

#[test]
fn any_rate_is_brought_to_the_pace() {
    let sway = |t: f64| [1.0, libm::sin(6.0 * t), 0.0, 200.0 * libm::sin(9.0 * t), 0.0, 0.0];
    for hz in [50.0, 123.0, 400.0, 1000.0] {
        let found = read(&table(hz, (4.0 * hz) as usize, sway)).expect("read");
        assert!(found.samples.len().abs_diff(1600) <= 8, "{hz}: {}", found.samples.len());
        // The filter of a faster one takes a little time: 1.5 ms at most.
        for (k, s) in found.samples.iter().enumerate().skip(40) {
            let wanted = sway(k as f64 / 400.0);
            let apart = f64::from(s.force[1]) / 2048.0 - wanted[1];
            assert!(apart.abs() < 0.012, "{hz} Hz, sample {k}: {apart}");
        }
        let slow = found.notes.iter().any(|n| matches!(n, Note::Slow { .. }));
        assert_eq!(slow, hz < 360.0, "{:?}", found.notes);
    }
}

#[test]
fn gaps_clipping_and_range_are_told() {
    let mut text = table(400.0, 400, still);
    writeln!(text, "1.5,1,0,0,0,0,0").expect("text");
    writeln!(text, "1.5025,1,0,0,0,0,0").expect("text");
    let found = read(&text).expect("read");
    assert!(
        matches!(found.notes[..], [Note::Gap { from_s, lasts_s }]
            if (from_s - 0.9975).abs() < 1e-9 && (lasts_s - 0.5025).abs() < 1e-9),
        "{:?}",
        found.notes
    );
    let hard = |t: f64| [(40.0 * libm::sin(30.0 * t)).clamp(-8.0, 8.0), 0.0, 0.0, 0.0, 0.0, 0.0];
    let found = read(&table(400.0, 800, hard)).expect("read");
    assert!(matches!(found.notes[..], [Note::Clipped { column: 0, rows, at: 8.0 }] if rows > 500), "{:?}", found.notes);
    let found = read(&table(400.0, 100, |t| [0.0, 0.0, 1.0, 0.0, 3000.0 * t, 0.0])).expect("read");
    assert_eq!(found.notes, []);
    let found = read(&table(400.0, 400, |t| [0.0, 0.0, 1.0, 0.0, 3000.0 * t, 0.0])).expect("read");
    assert!(
        matches!(found.notes[..], [Note::Beyond { samples }] if (130..140).contains(&samples)),
        "{:?}",
        found.notes
    );
}

#[test]
fn bad_files_are_told_with_their_place() {
    let error = |text: &str| read(text).expect_err("a bad file").to_string();
    let good = table(400.0, 50, still);
    assert!(
        error("t_s,ax_g,ay_g,az_g,gx_dps\n1,2,3,4,5\n")
            .contains("columns missing: gy_dps, gz_dps; the file has: t_s, ax_g")
    );
    assert!(error("").contains("columns missing: t_s"));
    assert!(error(&table(400.0, 3, still)).contains("3 rows are no motion"));
    assert!(
        error(&good.replacen("0.025,1,", "0.025,NaN,", 1)).contains("line 12, column ax_g: \"NaN\" is not a number")
    );
    assert!(error(&good.replacen("0.025,1,", "0.025,inf,", 1)).contains("\"inf\" is not a number"));
    assert!(error(&good.replacen("0.025,1,", "0.025,,", 1)).contains("line 12, column ax_g: \"\" is not a number"));
    assert!(error(&good.replacen("0.025,", "0.01,", 1)).contains("line 12: time goes from 0.0225 s to 0.01 s"));
    assert!(error(&good.replacen("0.025,", "0.0225,", 1)).contains("each time once"));
    assert!(error(&good.replacen("0.025,1,", "0.025,", 1)).contains("line 12: 6 fields where the head has 7"));
    assert!(error(&good.replacen("0.1225,", "99999999,", 1)).contains("7200 s at most"));
    assert!(error(&table(1e7, 50, still)).contains("10000000 rows a second; 100000 at most"));
    let columns = Columns { force_g: 0.0, ..Columns::default() };
    let unit = read_recording(&good, &columns, Pace::Hz400, 3900).expect_err("no unit");
    assert!(unit.to_string().contains("a unit of acceleration is 0"));
}

/// What spreadsheets add: a mark before the text, spaces, other ends of line, a last line without one.
#[test]
fn dialects_are_understood() {
    let plain = table(400.0, 50, still);
    let wanted = read(&plain).expect("read");
    let windows = format!("\u{feff}{}", plain.trim_end().replace('\n', "\r\n").replace(',', " , "));
    assert_eq!(read(&windows).expect("read"), wanted);
}

/// Ten million rows are too many, and that is told at the first of them; readings of any size are no trouble.
#[test]
fn endless_and_absurd_files_are_borne() {
    let mut text = format!("{HEAD}\n");
    for k in 0..2_000_001 {
        writeln!(text, "{},1,0,0,0,0,0", f64::from(k) * 0.0025).expect("text");
    }
    assert_eq!(read(&text), Err(RecordingError::Many { line: 2_000_002 }));
    let found = read(&table(1000.0, 200, |t| [1e300 * (t - 0.1), -1e300, 0.0, 1e-300, 0.0, 0.0])).expect("read");
    assert!(matches!(found.notes.last(), Some(Note::Beyond { .. })), "{:?}", found.notes);
    assert!(found.samples.iter().all(|s| s.force[1] == -32768));
}
