//! Findings about what the prop does, each with its number and limit.

use super::levels::drives;
use super::trial::{FULL_MV, trial};
use super::{Conduct, Heard, Played, Trial, conduct, loudness, played_from};
use crate::catalogue::PartKind;
use crate::checks::Checked;
use crate::finding::{Band, Finding, input};
use crate::memory::{KeyOf, Memory};
use crate::outcome::{Part, Pixel};
use crate::path::CentrePath;
use crate::power::Power;
use crate::project::Project;
use crate::refusal::{Problem, Refusal, problem};
use behaviour::flashing::flashes;
use behaviour::program::{Driver, File, Load};
use behaviour::{BLOCK, FRAMES_A_SECOND, Flaw, Trigger};
use std::convert::Infallible;

/// What the prop does, as the pack shows it.
#[derive(Clone, Debug)]
pub struct ConductView {
    /// The behaviour on the strip as it fits.
    pub conduct: Conduct,
    /// Which of the sensor's axes lies along, across and through the prop.
    pub axes: [i8; 3],
    /// What the board is given.
    pub files: Vec<File>,
    /// How busy it is.
    pub load: Load,
    /// The stated use, played once.
    pub played: Played,
    /// The stated use, tried by many.
    pub trial: Trial,
}

/// Step of the levels in the pack, s.
const STEP_S: f64 = 0.1;
/// Least share of strikes and swings that are heard (our choice).
const LEAST_HEARD: f64 = 0.98;
/// From contact to light, at most, s: light that comes later than a person's own reaction looks like an answer, not like the
/// blow. (Our choice.)
const LIGHT_S: f64 = 0.05;
/// From contact to sound, at most, s: ITU-R BT.1359-1 puts the detectability of late sound at 125 ms (from memory).
const SOUND_S: f64 = 0.125;
/// Triggers an hour that mean nothing, at most (our choice); running adds two a minute.
const FALSE_AN_HOUR: f64 = 4.0;
const FALSE_RUNNING: f64 = 120.0;
/// How far a sensor may be askew before rates across and along mix, degrees (our choice: a tenth of one leaks into the other
/// at 6 degrees, a quarter at 15).
const ASKEW_DEG: f64 = 15.0;
/// What glueing adds to that, degrees (our choice).
const GLUED_DEG: f64 = 3.0;
/// Most of a second that the board may be busy: the rest is for what interrupts it.
const BUSY: f64 = 0.8;

/// Makes the program and judges what the prop does; nothing where the project says nothing of it. `levels` say how far each of
/// the pixels goes, 0 to 1; none where the light was not worked out.
///
/// # Errors
/// A [`Refusal`] with every place: a pixel that is not there, a sound that cannot be read, a board that cannot hold it.
pub fn judged(
    project: &Project,
    pixels: &[Pixel],
    levels: &[f32],
    parts: &[Part],
    path: &CentrePath,
    memory: &Memory,
) -> Result<(Option<ConductView>, Vec<Finding>), Refusal> {
    if project.conduct.is_none() {
        return Ok((None, Vec::new()));
    }
    let (strips, each) = counted(pixels).map_err(|p| Refusal::Problems(vec![p]))?;
    let levels = drives(pixels.iter().zip(levels).map(|(p, l)| (p.number, f64::from(*l))), each);
    let Some(conduct) = conduct(project, strips, each, levels).map_err(Refusal::Problems)? else {
        return Ok((None, Vec::new()));
    };
    let sensor = parts.iter().find(|p| p.kind == PartKind::Sensor);
    let lies = sensor.map(|s| lies(s, path));
    let axes = conduct.rules.axes.or(lies.map(|l| l.0)).unwrap_or([1, 2, 3]);
    let files = conduct.program(axes).map_err(|p| Refusal::Problems(vec![p]))?;
    let played = played_from(&conduct, &conduct.rules.used, 1, FULL_MV, STEP_S)
        .map_err(|e| Refusal::of(&["behaviour"], e.to_string(), "a fault of ours: please report it"))?;
    let rules = &conduct.rules;
    let tried = (&rules.used, &rules.pace, &rules.thresholds, &rules.behaviour.rules);
    let Ok(trial) =
        memory.recall("trial", 1, KeyOf::stage("trial").and(&tried).key(), || Ok::<_, Infallible>(trial(&conduct)));
    let trial = Trial::clone(&trial);
    let load = conduct.load();
    let view = ConductView { conduct, axes, files, load, played, trial };
    let mut found = ways(&view.conduct);
    found.extend(stated_pixels(&view.conduct));
    found.extend(motions(&view));
    if let (Some(sensor), Some((_, askew_deg)), None) = (sensor, lies, view.conduct.rules.axes) {
        found.push(square(sensor, askew_deg));
    }
    found.push(calm(&view));
    found.extend(loudness::found(&view, project));
    found.extend(on_board(&view));
    Ok((Some(view), found))
}

/// Strips and pixels of each.
pub(crate) fn counted(pixels: &[Pixel]) -> Result<(u16, u16), Problem> {
    let strips = pixels.iter().map(|p| p.strip).max().unwrap_or(0);
    let count = |s: u32| pixels.iter().filter(|p| p.strip == s).count();
    let each: Vec<usize> = (1..=strips).map(count).collect();
    match each.first() {
        Some(&first) if each.iter().all(|&n| n == first) => Ok((strips as u16, first as u16)),
        Some(_) => Err(problem(
            &["light", "rows"],
            format!("the strips have unequal numbers of pixels ({each:?}), and all of them are to show the same"),
            "give the strips the same stretch: light.from, light.to",
        )),
        None => {
            Err(problem(&["behaviour"], "there is no pixel that it could light", "let [light] have a body that is lit"))
        }
    }
}

/// What the strip may take against the light that the circuit bears.
pub(crate) fn within_cap(view: &ConductView, power: &Power) -> Finding {
    let (most_a, cap_a) = (view.conduct.most_a(), power.light_a);
    let amps = |a: f64| (a * 1000.0).round() / 1000.0;
    Checked {
        id: "current_capped",
        subject: "strip".into(),
        station_mm: None,
        value: Band::exact(amps(most_a)),
        unit: "A",
        min: None,
        max: Some(amps(cap_a)),
        source: format!("the circuit's cap: {:.0} % of all pixels white at their levels", 100.0 * power.design.cap),
        message: format!("The program lets the strip take {most_a:.2} A, and the circuit bears {cap_a:.2} A of light."),
        remedy: format!(
            "behaviour.current = \"{:.0} mA\" or less; or a circuit that bears more: see power",
            (cap_a * 1000.0).floor()
        ),
    }
    .finding()
    .worked_from([
        input("cap of the light", power.design.cap, "1", "power.cap, or chosen"),
        input("lights under the cap", cap_a, "A", "all pixels white at their levels"),
    ])
}

/// Which of a sensor's axes (x along its length, y along its width, z out of its face) lies along, across and through the prop
/// at its place, and how far the worst is off that, degrees.
fn lies(sensor: &Part, path: &CentrePath) -> ([i8; 3], f64) {
    let frame = path.frame(path.station_of(sensor.to_prop.translation));
    let m = sensor.to_prop.matrix3;
    let own = [m.x_axis, m.y_axis, m.z_axis];
    let mut axes = [0; 3];
    let mut worst: f64 = 0.0;
    for (k, of_prop) in [frame.along, frame.across, frame.through].into_iter().enumerate() {
        let free = (0..3).filter(|j| !axes[..k].iter().any(|a: &i8| usize::from(a.unsigned_abs()) == j + 1));
        let dots = free.map(|j| (j, own[j].dot(of_prop)));
        let best = dots.fold((0, 0.0_f64), |best, d| if d.1.abs() > best.1.abs() { d } else { best });
        axes[k] = (best.0 as i8 + 1) * if best.1 < 0.0 { -1 } else { 1 };
        worst = worst.max(libm::acos(best.1.abs().min(1.0)).to_degrees());
    }
    (axes, worst)
}

fn square(sensor: &Part, askew_deg: f64) -> Finding {
    Checked {
        id: "sensor_square",
        subject: sensor.subject(),
        station_mm: Some(sensor.station_mm),
        value: Band { value: askew_deg, low: askew_deg, high: askew_deg + GLUED_DEG },
        unit: "deg",
        min: None,
        max: Some(ASKEW_DEG),
        source: "our choice: at 15 degrees a quarter of a swing counts as a twist; 3 more for glueing".into(),
        message: format!("Its axes lie within {askew_deg:.1} degrees of the prop's own."),
        remedy: "turn it: side and depth of its part; or take its readings as they are with behaviour.sensor-axes"
            .into(),
    }
    .finding()
    .worked_from([input("more for glueing", GLUED_DEG, "deg", "our choice")])
}

/// What nobody reaches, what never ends, what has no way back to the dark, what is said in vain.
fn ways(conduct: &Conduct) -> Vec<Finding> {
    let modes = conduct.rules.behaviour.modes.len() as f64;
    let count = |wanted: &dyn Fn(&Flaw) -> bool| -> Vec<String> {
        conduct.flaws.iter().filter(|f| wanted(f)).map(ToString::to_string).collect()
    };
    let stuck = |id, flaws: &[String], good: String, remedy: &str| {
        Checked {
            id,
            subject: "behaviour".into(),
            station_mm: None,
            value: Band::exact(flaws.len() as f64),
            unit: "1",
            min: None,
            max: Some(0.0),
            source: "what a maker writes is meant to happen".into(),
            message: if flaws.is_empty() { good } else { format!("{}.", flaws.join("; ")) },
            remedy: remedy.into(),
        }
        .finding()
        .worked_from([input("modes", modes, "1", "[behaviour]")])
    };
    let reached = count(&|f| matches!(f, Flaw::Unreachable { .. }));
    let ends = count(&|f| matches!(f, Flaw::NeverEnds { .. }));
    let back = count(&|f| matches!(f, Flaw::NoWayBack { .. }));
    let vain = count(&|f| matches!(f, Flaw::Forestalled { .. } | Flaw::Timeless { .. } | Flaw::Silent { .. }));
    vec![
        stuck(
            "mode_reached",
            &reached,
            format!("All {modes} modes can be reached."),
            "give a mode that can be reached a rule to it",
        ),
        stuck("mode_ends", &ends, format!("All {modes} modes can be left."), "give it a rule that leads elsewhere"),
        stuck(
            "mode_dark",
            &back,
            "From every mode a way leads back to the dark.".into(),
            "give it a rule that leads towards the dark mode: on.long-press",
        ),
        stuck(
            "said_in_vain",
            &vain,
            "Every rule, time and sound comes to use.".into(),
            "take it out, or give it what it needs",
        ),
    ]
}

fn stated_pixels(conduct: &Conduct) -> Option<Finding> {
    let stated = f64::from(conduct.rules.pixels?);
    let fit = f64::from(conduct.pixels);
    Some(
        Checked {
            id: "pixels_stated",
            subject: "behaviour".into(),
            station_mm: None,
            value: Band::exact(stated),
            unit: "1",
            min: Some(fit),
            max: Some(fit),
            source: "pixels that fit a strip of the shape".into(),
            message: format!("behaviour.pixels says {stated}, and {fit} pixels fit each strip."),
            remedy: format!("write pixels = {fit}, or leave it out: a rehearsal then looks at the shape first"),
        }
        .finding()
        .worked_from([input("pixels that fit", fit, "1", "the strip as it lies")]),
    )
}

fn leads(conduct: &Conduct, on: Trigger) -> bool {
    conduct.rules.behaviour.rules.iter().any(|r| r.on == on)
}

/// What is heard of the stated use, and how soon.
fn motions(view: &ConductView) -> Vec<Finding> {
    let ConductView { conduct, trial, .. } = view;
    let mut found = Vec::new();
    if trial.strikes.there > 0 && leads(conduct, Trigger::Strike) {
        let finding = heard_of(&trial.strikes, "strikes of 8 g and 3 ms and more");
        found.push(Finding { id: "strikes_heard", ..finding });
    }
    if trial.swings.there > 0 && leads(conduct, Trigger::Swing) {
        let finding = heard_of(&trial.swings, "swings a quarter faster than motion.swing and more");
        found.push(Finding { id: "swings_heard", ..finding });
    }
    if trial.strikes.heard > 0 && leads(conduct, Trigger::Strike) {
        found.extend(latency(conduct, &trial.strikes));
    }
    if trial.quiet_s > 0.0 {
        let hours = trial.quiet_s / 3600.0;
        let count = trial.falses.len() as f64;
        // Limits of a Poisson mean, 19 times of 20: three for none, else about two roots either side.
        let spread = if count == 0.0 {
            [0.0, 3.0]
        } else {
            [(count - 2.0 * count.sqrt()).max(0.0), count + 2.0 * count.sqrt() + 2.0]
        };
        let most = FALSE_AN_HOUR + FALSE_RUNNING * trial.running_s / trial.quiet_s;
        let mut words: Vec<&str> = trial.falses.iter().map(|t| t.name()).collect();
        words.sort_unstable();
        words.dedup();
        let which = if words.is_empty() { String::new() } else { format!(" ({})", words.join(", ")) };
        found.push(
            Checked {
                id: "false_triggers",
                subject: "behaviour".into(),
                station_mm: None,
                value: Band { value: count / hours, low: spread[0] / hours, high: spread[1] / hours },
                unit: "1/h",
                min: None,
                max: Some(most),
                source: "our choice: four an hour, and two a minute while running".into(),
                message: format!(
                    "In {:.0} minutes of the stated use in which nothing was meant, {count} swings, strikes, twists or drops were heard{which}.",
                    trial.quiet_s / 60.0
                ),
                remedy: "raise motion.swing, motion.strike or motion.strike-ratio".into(),
            }
            .finding()
            .worked_from([
                input("heard", count, "1", "the stated use, tried by many"),
                input("tried for", hours, "h", "the stated use, tried by many"),
                input("of it running", trial.running_s / 3600.0, "h", "the stated use"),
            ]),
        );
    }
    found
}

fn heard_of(heard: &Heard, what: &str) -> Finding {
    let share = heard.heard as f64 / heard.there as f64;
    let soon = heard.late_s.get(heard.late_s.len() / 2);
    let soon = soon.map_or_else(String::new, |s| format!(", half of them within {:.0} ms", 1000.0 * s));
    Checked {
        id: "strikes_heard",
        subject: "behaviour".into(),
        station_mm: None,
        value: Band::exact(share),
        unit: "1",
        min: Some(LEAST_HEARD),
        max: None,
        source: "our choice, on motions by physics".into(),
        message: format!("Of {} {what} in the stated use {} were heard{soon}.", heard.there, heard.heard),
        remedy: "take 400 samples a second (behaviour.pace), or lower motion.strike or motion.swing".into(),
    }
    .finding()
    .worked_from([
        input("there were", heard.there as f64, "1", "the stated use, tried by many"),
        input("heard", heard.heard as f64, "1", "the stated use, tried by many"),
    ])
}

/// From contact to light and to sound: what the detector takes, then the wait for the next frame or block, then the wire or
/// the two blocks that the board plays before it.
fn latency(conduct: &Conduct, strikes: &Heard) -> Vec<Finding> {
    let hardware = conduct.table.hardware();
    let late_s = strikes.late_s[(strikes.late_s.len() * 95 / 100).min(strikes.late_s.len() - 1)];
    let frame_s = 1.0 / f64::from(FRAMES_A_SECOND);
    let sent_s = 30e-6 * f64::from(hardware.pixels) * f64::from(hardware.strips);
    let block_s = BLOCK as f64 / f64::from(hardware.sound_hz);
    let one = |id: &'static str, what: &str, [least_s, most_s]: [f64; 2], limit_s: f64, source: &str, remedy: &str| {
        let ms = |s: f64| 1000.0 * s;
        let message = format!(
            "From contact to {what} {:.0} to {:.0} ms go by in 19 strikes of 20: {:.0} ms until it is heard, the rest until the next {}.",
            ms(least_s),
            ms(most_s),
            ms(late_s),
            if what == "light" { "frame is out" } else { "block is played" }
        );
        Checked {
            id,
            subject: "behaviour".into(),
            station_mm: None,
            value: Band { value: ms((least_s + most_s) / 2.0), low: ms(least_s), high: ms(most_s) },
            unit: "ms",
            min: None,
            max: Some(ms(limit_s)),
            source: source.into(),
            message,
            remedy: remedy.into(),
        }
        .finding()
        .worked_from([
            input("until it is heard, 19 of 20", ms(late_s), "ms", "strikes of the stated use"),
            input("then at the least", ms(least_s - late_s), "ms", "the wire or the block that is played"),
            input("then at the most", ms(most_s - late_s), "ms", "and the wait for the next one"),
        ])
    };
    let rules = &conduct.rules.behaviour.rules;
    let mut found = Vec::new();
    if rules.iter().any(|r| r.on == Trigger::Strike && (r.flash.is_some() || r.to.is_some())) {
        found.push(one(
            "light_late",
            "light",
            [late_s + sent_s, late_s + frame_s + sent_s],
            LIGHT_S,
            "our choice",
            "fewer pixels on the wire, or behaviour.pace = \"400 Hz\"",
        ));
    }
    if rules.iter().any(|r| r.on == Trigger::Strike && r.sound.is_some()) {
        found.push(one(
            "sound_late",
            "sound",
            [late_s + block_s, late_s + 3.0 * block_s],
            SOUND_S,
            "ITU-R BT.1359-1: late sound is told from 125 ms on",
            "a higher behaviour.sound-rate",
        ));
    }
    found
}

/// Flashes a second of the place that flashes most often in the stated use, general or red.
pub(crate) fn most_flashes(view: &ConductView) -> f64 {
    let frames: Vec<Vec<u8>> = view.played.run.frames.iter().map(|f| f.1.clone()).collect();
    let worst = flashes(&frames, FRAMES_A_SECOND as usize, view.conduct.seen.into());
    worst.general.max(worst.red)
}

/// Whether it flashes more often than is safe.
fn calm(view: &ConductView) -> Finding {
    let most = most_flashes(view);
    let limiter = if view.conduct.rules.calm {
        "the limiter keeps every run of pixels at three or fewer, whatever the motion"
    } else {
        "THE LIMITER IS OFF (behaviour.calm = false): light that flashes can bring on a seizure in those who are prone to it"
    };
    Checked {
        id: "light_flashes",
        subject: "strip".into(),
        station_mm: None,
        value: Band { value: most, low: most, high: if view.conduct.rules.calm { most } else { most.max(25.0) } },
        unit: "1/s",
        min: None,
        max: Some(3.0),
        source: "WCAG 2.2, success criterion 2.3.1; ITU-R BT.1702-3".into(),
        message: format!("In the stated use no place flashes more often than {most} a second; {limiter}."),
        remedy: "leave behaviour.calm out, slower rounds, a higher low of flicker".into(),
    }
    .finding()
    .worked_from([
        input("frames", view.played.run.frames.len() as f64, "1", "the stated use, played"),
        input("pixels seen together", f64::from(view.conduct.seen), "1", "field of view of WCAG 2.2"),
    ])
}

/// Where shares of a board's time come from.
const COUNTED: &str = "counted instructions of the board";
/// What the program takes of working memory before its pixels, KiB: measured under an interpreter of 64 bits, of which one of
/// 32 bits takes about half.
const PROGRAM_KIB: f64 = 54.0;
/// The largest file as text while it is compiled, KiB (an estimate).
const COMPILING_KIB: f64 = 16.0;
/// The share of a board's working memory that the interpreter leaves (from memory of stock builds).
const LEFT_TO_PROGRAMS: f64 = 0.7;

/// What the program takes of working memory: itself, and what it keeps for each pixel.
fn memory(conduct: &Conduct) -> Finding {
    let lights = conduct.rules.behaviour.modes.iter().map(|m| m.lights.len()).max().unwrap_or(0) as f64;
    // Painted and shown (6), luminance, red and what is held (9), two watches (12), levels of lights, words of the strips.
    let of_pixel = 27.0 + lights + 4.0 * f64::from(conduct.strips);
    let kib = PROGRAM_KIB + COMPILING_KIB + of_pixel * f64::from(conduct.pixels) / 1024.0;
    let board = &conduct.rules.board;
    Checked {
        id: "board_memory",
        subject: "controller".into(),
        station_mm: None,
        value: Band { value: (0.75 * kib).round(), low: (0.5 * kib).round(), high: kib.round() },
        unit: "KiB",
        min: None,
        max: Some((LEFT_TO_PROGRAMS * f64::from(board.memory_bytes) / 1024.0).round()),
        source: format!("memory of {}, less three tenths for the interpreter", board.name),
        message: format!("Program and pixels take {:.0} to {kib:.0} KiB of working memory.", 0.5 * kib),
        remedy: "another behaviour.board".into(),
    }
    .finding()
    .worked_from([
        input("program", PROGRAM_KIB, "KiB", "measured under an interpreter of 64 bits"),
        input("compiling", COMPILING_KIB, "KiB", "an estimate"),
        input("for each pixel", of_pixel, "bytes", "what is kept of it"),
        input("pixels", f64::from(conduct.pixels), "1", "the strip as it lies"),
    ])
}

/// What the board has room and time for, and what the strip takes.
fn on_board(view: &ConductView) -> Vec<Finding> {
    let ConductView { conduct, load, played, files, .. } = view;
    let board = &conduct.rules.board;
    let total = load.total();
    let driver = match board.driver {
        Driver::StateMachine => "the strip is fed without waiting",
        Driver::Bitstream => "the program waits while the strip is fed",
    };
    let taken: f64 = files.iter().map(|f| (f.bytes.len() as f64 / 4096.0).ceil() * 4096.0 + 4096.0).sum();
    let most_a = played.run.totals.iter().map(|t| conduct.current_a(*t)).fold(0.0, f64::max);
    let allowed_a = conduct.most_a();
    vec![
        memory(conduct),
        Checked {
            id: "board_busy",
            subject: "controller".into(),
            station_mm: None,
            // Counted instructions of a board that nobody has measured.
            value: Band::factor(total, 0.8, 1.4),
            unit: "1",
            min: None,
            max: Some(BUSY),
            source: format!("counted instructions on {}; a fifth is left to interrupts", board.name),
            message: format!("The board is busy for {:.0} % of the time ({load}); {driver}.", 100.0 * total),
            remedy: "another behaviour.board, behaviour.pace = \"200 Hz\", or a lower behaviour.sound-rate".into(),
        }
        .finding()
        .worked_from([
            input("sensor", load.bus, "1", COUNTED),
            input("detectors", load.detect, "1", COUNTED),
            input("light", load.paint, "1", COUNTED),
            input("sound", load.sound, "1", COUNTED),
        ]),
        Checked {
            id: "board_storage",
            subject: "controller".into(),
            station_mm: None,
            value: Band::exact((taken / 1024.0).round()),
            unit: "KiB",
            min: None,
            max: Some((f64::from(board.storage_bytes) / 1024.0).round()),
            source: format!("storage of {}", board.name),
            message: format!("Program and sounds take {:.0} KiB in blocks of 4 KiB.", taken / 1024.0),
            remedy: "shorter sounds, or a lower behaviour.sound-rate".into(),
        }
        .finding()
        .worked_from(files.iter().map(|f| input(f.path.clone(), f.bytes.len() as f64 / 1024.0, "KiB", "as it is written"))),
        Checked {
            id: "strip_current",
            subject: "strip".into(),
            station_mm: None,
            value: Band::exact((most_a * 1000.0).round() / 1000.0),
            unit: "A",
            min: None,
            max: Some(((allowed_a * 1000.0).round() / 1000.0).max(0.001)),
            source: if conduct.rules.current_a.is_some() { "behaviour.current".into() } else { "a third of full white, since behaviour.current is not said".into() },
            message: format!("In the stated use the light takes {most_a:.2} A at most; no frame ever takes more than {allowed_a:.2} A."),
            remedy: "a fault of ours: please report it".into(),
        }
        .finding()
        .worked_from([
            input("frames", played.run.totals.len() as f64, "1", "the stated use, played"),
            input("current of a channel", 1000.0 * conduct.channel_a, "mA", "catalogue: strip"),
        ]),
    ]
}
