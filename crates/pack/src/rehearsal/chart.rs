//! The chart in time: one axis, and everything that happened stacked above it.

use crate::PackError;
use crate::labels::text_width;
use crate::svg::{Anchor, Drawing, Sheet};
use crate::words::{fixed, short};
use behaviour::{Event, Trigger};
use prop::conduct::{Conduct, Played};
use solid::DVec2;

/// Left edge of the tracks, their width, and the sheet's, mm.
const LEFT: f64 = 38.0;
const WIDE: f64 = 244.0;
const SHEET: f64 = 297.0;
/// Columns of a track: a quarter of a millimetre each.
const COLUMNS: usize = 976;
/// Height of a track and of a row of marks, mm.
const TRACK: f64 = 22.0;
const ROW: f64 = 4.4;
/// Height of small letters, mm.
const SMALL: f64 = 3.0;
/// Between tracks, mm.
const GAP: f64 = 6.0;

/// What is drawn along time.
struct Time {
    lasts_s: f64,
}

impl Time {
    fn x(&self, t_s: f64) -> f64 {
        LEFT + WIDE * (t_s / self.lasts_s).clamp(0.0, 1.0)
    }
}

/// The chart of a rehearsal.
///
/// # Errors
/// The picture of the strip cannot be compressed.
pub(super) fn draw(title: &str, conduct: &Conduct, played: &Played) -> Result<Sheet, PackError> {
    let lasts_s = played.samples.len() as f64 / f64::from(played.run.hz);
    let time = Time { lasts_s };
    let mut d = Drawing::new(
        "rehearsal",
        format!("{title}: rehearsal"),
        format!(
            "Motion, triggers, mode, light, current and sound over {} s, on one axis of time, {}.",
            short(lasts_s, 1),
            super::source(played)
        ),
    );
    d.text("head", DVec2::new(LEFT, 11.0), Anchor::Start, &format!("{title}: rehearsal of {} s", short(lasts_s, 1)));
    d.text("small", DVec2::new(LEFT, 16.0), Anchor::Start, &format!("Motion {}", super::source(played)));
    let mut y = 22.0;
    y = rates(&mut d, &time, played, y);
    y = force(&mut d, &time, played, y);
    y = marks(&mut d, &time, played, y);
    y = modes(&mut d, &time, conduct, played, y);
    y = strip(&mut d, conduct, played, y)?;
    y = current(&mut d, &time, conduct, played, y);
    y = sound(&mut d, &time, conduct, played, y);
    y = axis(&mut d, &time, y - GAP + 2.0);
    Ok(d.finish(DVec2::new(SHEET, y + 4.0)))
}

/// Name and unit of a track, its frame, and the values at its edges. Returns where a value stands.
fn track(d: &mut Drawing, y: f64, name: &str, unit: &str, [low, high]: [f64; 2]) -> impl Fn(f64) -> f64 + use<> {
    d.text("name", DVec2::new(LEFT - 2.0, y + 7.0), Anchor::End, name);
    d.text("small", DVec2::new(LEFT - 2.0, y + 11.5), Anchor::End, unit);
    d.text("small", DVec2::new(LEFT - 2.0, y + 2.4), Anchor::End, &short(high, 2));
    d.text("small", DVec2::new(LEFT - 2.0, y + TRACK), Anchor::End, &short(low, 2));
    d.line("thin", DVec2::new(LEFT, y), DVec2::new(LEFT, y + TRACK));
    d.line("hatch", DVec2::new(LEFT, y + TRACK), DVec2::new(LEFT + WIDE, y + TRACK));
    move |value: f64| y + TRACK * (1.0 - ((value - low) / (high - low)).clamp(0.0, 1.0))
}

/// Lowest and highest of each column; a column between two values takes the line between them.
fn columns(values: &[f64]) -> Vec<[f64; 2]> {
    let n = values.len();
    if n <= COLUMNS {
        return values.iter().map(|v| [*v; 2]).collect();
    }
    (0..COLUMNS)
        .map(|k| {
            let span = &values[k * n / COLUMNS..((k + 1) * n / COLUMNS).max(k * n / COLUMNS + 1)];
            span.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], v| [a.min(*v), b.max(*v)])
        })
        .collect()
}

/// A line through the columns; where one spans values, down and up again.
fn line(d: &mut Drawing, class: &str, values: &[f64], y_at: &impl Fn(f64) -> f64) {
    let columns = columns(values);
    let step = WIDE / columns.len().max(1) as f64;
    let mut points: Vec<DVec2> = Vec::with_capacity(2 * columns.len());
    for (k, [low, high]) in columns.iter().enumerate() {
        let x = LEFT + step * (k as f64 + 0.5);
        points.push(DVec2::new(x, y_at(*low)));
        if y_at(*low) - y_at(*high) > 0.02 {
            points.push(DVec2::new(x, y_at(*high)));
        }
    }
    d.polyline(class, crate::svg::thinned(&points));
}

/// A round number no smaller than `most`.
fn round_up(most: f64) -> f64 {
    of_parts(most, &[1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0])
}

/// One of these parts of a power of ten, no smaller than `most`.
fn of_parts(most: f64, parts: &[f64]) -> f64 {
    let mut step = 1e-3;
    loop {
        for part in parts {
            if step * part >= most {
                return step * part;
            }
        }
        step *= 10.0;
    }
}

fn rates(d: &mut Drawing, time: &Time, played: &Played, y: f64) -> f64 {
    let dps = |v: i16| f64::from(v) / 16.384;
    let across: Vec<f64> = played.samples.iter().map(|s| dps(s.rate[1]).hypot(dps(s.rate[2]))).collect();
    let along: Vec<f64> = played.samples.iter().map(|s| dps(s.rate[0]).abs()).collect();
    let most = round_up(across.iter().chain(&along).copied().fold(100.0, f64::max));
    d.begin("rates", "Turning rates, degrees a second");
    let y_at = track(d, y, "turning", "deg/s", [0.0, most]);
    line(d, "hidden", &along, &y_at);
    line(d, "part", &across, &y_at);
    key(d, time, y, &[("part", "across the prop"), ("hidden", "about it")]);
    d.end();
    y + TRACK + GAP
}

fn force(d: &mut Drawing, time: &Time, played: &Played, y: f64) -> f64 {
    let g = |s: &behaviour::Sample| {
        let [a, b, c] = s.force.map(|f| f64::from(f) / 2048.0);
        libm::sqrt(a * a + b * b + c * c)
    };
    let force: Vec<f64> = played.samples.iter().map(g).collect();
    let most = round_up(force.iter().copied().fold(2.0, f64::max));
    d.begin("force", "Acceleration that the sensor feels, g");
    let y_at = track(d, y, "felt", "g", [0.0, most]);
    line(d, "part", &force, &y_at);
    key(d, time, y, &[("part", "1 at rest")]);
    d.end();
    y + TRACK + GAP
}

/// What the lines are, at the right above a track.
fn key(d: &mut Drawing, time: &Time, y: f64, lines: &[(&str, &str)]) {
    let mut x = time.x(time.lasts_s);
    for (class, words) in lines.iter().rev() {
        x -= text_width(words, SMALL);
        d.text("small", DVec2::new(x, y - 0.8), Anchor::Start, words);
        d.line(class, DVec2::new(x - 8.5, y - 1.8), DVec2::new(x - 1.5, y - 1.8));
        x -= 11.5;
    }
}

/// The name of what the rows below it are. Returns where they begin.
fn heading(d: &mut Drawing, y: f64, name: &str) -> f64 {
    d.text("name", DVec2::new(LEFT - 2.0, y + 1.6), Anchor::End, name);
    y + 3.0
}

/// A row for each trigger that was heard, a mark at each time.
fn marks(d: &mut Drawing, time: &Time, played: &Played, y: f64) -> f64 {
    let hz = f64::from(played.run.hz);
    d.begin("triggers", "Triggers");
    let mut y = heading(d, y, "heard");
    for trigger in Trigger::ALL {
        let times: Vec<f64> = played
            .run
            .events
            .iter()
            .filter(|(_, e)| matches!(e, Event::Trigger { trigger: t, .. } if *t == trigger))
            .map(|(n, _)| *n as f64 / hz)
            .collect();
        if times.is_empty() {
            continue;
        }
        d.text("small", DVec2::new(LEFT - 2.0, y + 3.2), Anchor::End, &format!("{} {}", trigger.name(), times.len()));
        d.line("hatch", DVec2::new(LEFT, y + ROW / 2.0), DVec2::new(LEFT + WIDE, y + ROW / 2.0));
        let mut last = f64::NEG_INFINITY;
        d.lines(
            "thick",
            times
                .iter()
                .map(|t| time.x(*t))
                .filter(|x| {
                    let apart = x - last > 0.2;
                    if apart {
                        last = *x;
                    }
                    apart
                })
                .map(|x| [DVec2::new(x, y + 0.7), DVec2::new(x, y + ROW - 0.7)])
                .collect::<Vec<_>>(),
        );
        y += ROW;
    }
    d.end();
    y + GAP - 3.0
}

/// A row for each mode that was on, a bar as long as it lasted.
fn modes(d: &mut Drawing, time: &Time, conduct: &Conduct, played: &Played, y: f64) -> f64 {
    let hz = f64::from(played.run.hz);
    let mut changes: Vec<(f64, usize)> = vec![(0.0, 0)];
    for (n, event) in &played.run.events {
        if let Event::Mode { mode } = event {
            changes.push((*n as f64 / hz, *mode));
        }
    }
    let ends = changes.iter().skip(1).map(|c| c.0).chain([time.lasts_s]);
    let spans: Vec<(usize, f64, f64)> = changes.iter().zip(ends).map(|((from, mode), to)| (*mode, *from, to)).collect();
    d.begin("modes", "Modes");
    let mut y = heading(d, y, "mode");
    for mode in 0.. {
        let Some(name) = conduct.table.mode_name(mode) else { break };
        let own = || spans.iter().filter(|s| s.0 == mode).map(|(_, from, to)| (time.x(*from), time.x(*to)));
        if own().next().is_none() {
            continue;
        }
        d.text("small", DVec2::new(LEFT - 2.0, y + 3.2), Anchor::End, name);
        d.line("hatch", DVec2::new(LEFT, y + ROW / 2.0), DVec2::new(LEFT + WIDE, y + ROW / 2.0));
        for (from, to) in own() {
            d.rect("solid", DVec2::new(from, y + 1.1), DVec2::new((to - from).max(0.2), ROW - 2.2));
        }
        y += ROW;
    }
    d.end();
    y + GAP - 2.0
}

/// The strip over time as a picture: grip below, tip above.
fn strip(d: &mut Drawing, conduct: &Conduct, played: &Played, y: f64) -> Result<f64, PackError> {
    let pixels = usize::from(conduct.pixels);
    let frames = &played.run.frames;
    let wide = frames.len().clamp(1, COLUMNS);
    let mut image = vec![[0.0_f32; 3]; wide * pixels];
    for column in 0..wide {
        let span =
            column * frames.len() / wide..((column + 1) * frames.len() / wide).max(column * frames.len() / wide + 1);
        let span = span.start..span.end.min(frames.len());
        for pixel in 0..pixels {
            let mut sum = [0.0; 3];
            for (_, frame) in &frames[span.clone()] {
                for (c, part) in sum.iter_mut().enumerate() {
                    *part += f64::from(frame[3 * pixel + c]) / 255.0;
                }
            }
            let count = span.len().max(1) as f64;
            // What is driven is linear in light; a screen is not.
            image[(pixels - 1 - pixel) * wide + column] = sum.map(|v| libm::pow(v / count, 1.0 / 2.2) as f32);
        }
    }
    let png = crate::shade::encode(&image, [wide, pixels], &[("Title", "The strip over time")]);
    let png = png.map_err(|e| PackError::Picture { name: "the strip over time".into(), reason: e.to_string() })?;
    d.begin("strip", "The strip over time, the grip below, the tip above");
    d.text("name", DVec2::new(LEFT - 2.0, y + 11.0), Anchor::End, "strip");
    d.text("small", DVec2::new(LEFT - 2.0, y + 2.6), Anchor::End, "tip");
    d.text("small", DVec2::new(LEFT - 2.0, y + TRACK), Anchor::End, "grip");
    d.picture(DVec2::new(LEFT, y), DVec2::new(WIDE, TRACK), &png);
    d.rect("hatch", DVec2::new(LEFT, y), DVec2::new(WIDE, TRACK));
    d.end();
    Ok(y + TRACK + GAP)
}

fn current(d: &mut Drawing, time: &Time, conduct: &Conduct, played: &Played, y: f64) -> f64 {
    let values: Vec<f64> = played.run.totals.iter().map(|t| conduct.current_a(*t)).collect();
    let allowed = conduct.most_a();
    let most = round_up(allowed * 1.02);
    d.begin("current", "Current of the strip's light, ampere");
    let y_at = track(d, y, "current", "A", [0.0, most]);
    d.line("centre", DVec2::new(LEFT, y_at(allowed)), DVec2::new(LEFT + WIDE, y_at(allowed)));
    line(d, "light", &values, &y_at);
    key(d, time, y, &[("light", "light"), ("centre", &format!("never above {} A", short(allowed, 2)))]);
    d.end();
    y + TRACK + GAP
}

fn sound(d: &mut Drawing, time: &Time, conduct: &Conduct, played: &Played, y: f64) -> f64 {
    if conduct.sounds.is_empty() {
        return y;
    }
    let values: Vec<f64> = played.levels.iter().map(|l| l.sound_dbfs).collect();
    d.begin("sound", "Level of the sound, dB below a full sine");
    let y_at = track(d, y, "sound", "dBFS", [-60.0, 0.0]);
    line(d, "part", &values, &y_at);
    let words = format!(
        "mean of {} s; 0 is a full sine, {} dB at the ear",
        short(played.step_s, 3),
        fixed(conduct.at_ear_db(0.0), 0)
    );
    key(d, time, y, &[("part", &words)]);
    d.end();
    y + TRACK + GAP
}

/// Seconds along the bottom. Returns the next free y.
fn axis(d: &mut Drawing, time: &Time, y: f64) -> f64 {
    let step = of_parts(time.lasts_s / 14.0, &[1.0, 2.0, 5.0]).max(0.1);
    d.begin("time", "Time, seconds");
    d.line("thin", DVec2::new(LEFT, y), DVec2::new(LEFT + WIDE, y));
    let count = (time.lasts_s / step + 1e-9) as u32;
    for k in 0..=count {
        let t = f64::from(k) * step;
        let x = time.x(t);
        d.line("thin", DVec2::new(x, y), DVec2::new(x, y + 2.2));
        d.text("small", DVec2::new(x, y + 5.6), Anchor::Middle, &short(t, 1));
    }
    d.text("small", DVec2::new(LEFT - 2.0, y + 5.6), Anchor::End, "time, s");
    d.end();
    y + 7.0
}
