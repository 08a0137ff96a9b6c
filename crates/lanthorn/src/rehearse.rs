//! `lanthorn rehearse`: a motion, recorded or made, and what the prop does with it.

use crate::load::{Loaded, explain, load_text, read_text};
use crate::progress::Progress;
use crate::shelf::Shelf;
use anyhow::{Context, Result, anyhow, bail};
use behaviour::motion::{Sensor, perform, script};
use behaviour::{Columns, Note, read_recording};
use prop::Monitor;
use prop::conduct::{Conduct, Played, Source, conduct, levels_of_pack, play};
use prop::project::Levels;
use prop::quantity::{Quantity, Wanted};
use prop::refusal::Refusal;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// What to rehearse, and where to.
#[derive(clap::Args)]
pub(crate) struct Wishes {
    /// The project file.
    project: PathBuf,
    /// A recording: CSV with the columns t_s, ax_g, ay_g, az_g, gx_dps, gy_dps, gz_dps and perhaps button, x along the prop
    /// towards its tip.
    motion: Option<PathBuf>,
    /// Makes the motion by physics: "press, walk 20 s, swing, strike".
    #[arg(long, value_name = "ACTS", conflicts_with = "motion")]
    generate: Option<String>,
    /// Another number is another person, with --generate.
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    seed: u64,
    /// Another name of a column: "ax=acc_x". Give it for each. The names it knows: t, ax, ay, az, gx, gy, gz, button.
    #[arg(long, value_name = "COLUMN=NAME")]
    column: Vec<String>,
    /// Other units: "t=ms", "a=m/s2", "g=rad/s". Give it for each.
    #[arg(long, value_name = "KIND=UNIT")]
    unit: Vec<String>,
    /// Voltage of the cell meanwhile.
    #[arg(long, default_value = "3.9 V", value_name = "VOLTAGE")]
    cell: String,
    /// Step of levels.csv.
    #[arg(long, default_value = "100 ms", value_name = "TIME")]
    step: String,
    /// How far each pixel goes, from a pack of this prop (light/response.json), where the project says light.levels = "even".
    #[arg(long, value_name = "FILE")]
    levels: Option<PathBuf>,
    /// Folder for what comes of it. An earlier rehearsal there is replaced as a whole.
    #[arg(long)]
    out: PathBuf,
}

/// Rehearses, and writes what came of it.
pub(crate) fn run(wishes: &Wishes) -> Result<ExitCode> {
    const CELL: Wanted = Wanted::of(Quantity::Voltage, 1.0, 6.0, "3.9 V");
    const STEP: Wanted = Wanted::of(Quantity::Time, 0.005, 10.0, "100 ms");
    let shelf = Shelf::prepare(&wishes.out, "events.csv")?;
    let wanted = |name: &str, text: &str, wanted: &Wanted| {
        wanted.read(text).map_err(|e| anyhow!("--{name} {text:?}: {e}; {}", wanted.help(&e)))
    };
    let cell_mv = (wanted("cell", &wishes.cell, &CELL)? * 1000.0).round() as u16;
    let step_s = wanted("step", &wishes.step, &STEP)?;
    let columns = columns(&wishes.column, &wishes.unit)?;
    let progress = Progress::start();
    let (loaded, shape) = load_text(&wishes.project)?;
    let conduct = made(&loaded, shape, wishes.levels.as_deref(), &progress)?;
    progress.report("the motion", 0.5);
    let (source, samples) = match (&wishes.generate, &wishes.motion) {
        (Some(acts), _) => {
            let acts = script(acts).map_err(|e| anyhow!("--generate: {e}"))?;
            let made = perform(&acts, &Sensor::common(conduct.rules.pace), wishes.seed, cell_mv);
            (Source::Made(made.moments), made.samples)
        }
        (None, Some(file)) => {
            let text = read_text(file, "name a recording, or make one with --generate")?;
            let shown = file.display();
            let read = read_recording(&text, &columns, conduct.rules.pace, cell_mv);
            let read = read.map_err(|e| anyhow!("{shown}: {e}"))?;
            (Source::Recorded(read.file_hz, read.notes), read.samples)
        }
        (None, None) => bail!("there is no motion: name a recording, or make one with --generate \"walk 20 s, swing\""),
    };
    progress.report("rehearsing", 0.6);
    let played = play(&conduct, source, samples, step_s)?;
    progress.report("writing", 0.8);
    let name = &loaded.inputs.project.name;
    shelf.put(&pack::rehearsal(name, &conduct, &played)?)?;
    progress.finish();
    say(&conduct, &played);
    let even = loaded.inputs.project.light.as_ref().is_some_and(|l| l.levels == Levels::Even);
    if even && wishes.levels.is_none() {
        println!(
            "note: light.levels = \"even\" needs the pack's light; here each pixel goes all the way. --levels PACK/light/response.json brings it"
        );
    }
    println!("open {}", wishes.out.join("chart.svg").display());
    Ok(ExitCode::SUCCESS)
}

/// The behaviour on the strip as it fits: by the project's own word, or by the shape.
fn made(loaded: &Loaded, shape: bool, levels: Option<&Path>, progress: &Progress) -> Result<Conduct> {
    let refused = |refusal: Refusal| match refusal {
        Refusal::Stopped => anyhow!("stopped; nothing was written"),
        r => anyhow!("{}", explain(loaded, &r)),
    };
    let project = &loaded.inputs.project;
    let Some(rules) = &project.conduct else {
        bail!("{} has no [behaviour]: there is nothing to rehearse", loaded.name);
    };
    let rows = project.light.as_ref().map_or(1, |l| l.rows);
    let (strips, pixels) = match rules.pixels {
        Some(pixels) => (u16::try_from(rows).unwrap_or(1), pixels),
        None => {
            debug_assert!(shape, "a project that does not say its pixels is loaded with its shape");
            let monitor = Monitor { cancel: progress.cancel(), report: &|what, done| progress.report(what, done) };
            prop::stages::pixels(&loaded.inputs, &monitor).map_err(refused)?
        }
    };
    let levels = match levels {
        Some(file) => {
            let text = read_text(file, "name the light/response.json of a pack of this prop")?;
            levels_of_pack(&text, strips, pixels).map_err(|e| anyhow!("{}: {e}", file.display()))?
        }
        None => Vec::new(),
    };
    let conduct = conduct(project, strips, pixels, levels).map_err(|p| refused(Refusal::Problems(p)))?;
    let conduct = conduct.context("there is nothing to rehearse")?;
    // What the board cannot hold is not worth hearing.
    conduct.program(rules.axes.unwrap_or([1, 2, 3])).map_err(|p| refused(Refusal::Problems(vec![p])))?;
    Ok(conduct)
}

/// Names and units of the recording's columns.
fn columns(names: &[String], units: &[String]) -> Result<Columns> {
    let mut columns = Columns::default();
    for given in names {
        let (column, name) = given.split_once('=').unwrap_or((given, ""));
        if name.is_empty() {
            bail!("--column {given:?}: write for example --column ax=acc_x");
        }
        let place = match column {
            "t" => &mut columns.time,
            "ax" => &mut columns.force[0],
            "ay" => &mut columns.force[1],
            "az" => &mut columns.force[2],
            "gx" => &mut columns.rate[0],
            "gy" => &mut columns.rate[1],
            "gz" => &mut columns.rate[2],
            "button" => &mut columns.button,
            _ => bail!(
                "--column {given:?}: there is no column {column:?}; t, ax, ay, az, gx, gy, gz and button can be named"
            ),
        };
        name.clone_into(place);
    }
    for given in units {
        match given.as_str() {
            "t=s" => columns.time_s = 1.0,
            "t=ms" => columns.time_s = 1e-3,
            "t=us" => columns.time_s = 1e-6,
            "a=g" => columns.force_g = 1.0,
            "a=mg" => columns.force_g = 1e-3,
            "a=m/s2" => columns.force_g = 1.0 / 9.80665,
            "g=deg/s" => columns.rate_dps = 1.0,
            "g=mdeg/s" => columns.rate_dps = 1e-3,
            "g=rad/s" => columns.rate_dps = 1.0_f64.to_degrees(),
            _ => bail!(
                "--unit {given:?}: no such unit; there are t=s, t=ms, t=us, a=g, a=mg, a=m/s2, g=deg/s, g=mdeg/s, g=rad/s"
            ),
        }
    }
    Ok(columns)
}

/// What is peculiar about a recording, in words.
pub(crate) fn remarks(source: &Source) -> Vec<String> {
    const COLUMNS: [&str; 6] = ["ax", "ay", "az", "gx", "gy", "gz"];
    let Source::Recorded(_, notes) = source else { return Vec::new() };
    let words = |note: &Note| match note {
        Note::Gap { from_s, lasts_s } => {
            format!("nothing from {from_s:.3} s on for {lasts_s:.3} s; a straight line stands for it")
        }
        Note::Clipped { column, rows, at } => {
            format!("{} stays at {at:.1} in {rows} rows: the sensor was at the end of its range", COLUMNS[*column])
        }
        Note::Beyond { samples } => {
            format!("{samples} samples were beyond 16 g or 2000 deg/s and were cut to that")
        }
        Note::Slow { hz } => format!("{hz:.0} rows a second are too slow for short strikes"),
    };
    notes.iter().map(words).collect()
}

/// That, and what came of it.
fn say(conduct: &Conduct, played: &Played) {
    remarks(&played.source).iter().for_each(|words| println!("note: {words}"));
    let lasts_s = played.samples.len() as f64 / f64::from(played.run.hz);
    let most_a = played.run.totals.iter().map(|t| conduct.current_a(*t)).fold(0.0, f64::max);
    println!(
        "{lasts_s:.1} s: {} events, {} frames, {most_a:.2} A at most",
        played.run.events.len(),
        played.run.frames.len()
    );
    if let Some(ear) = behaviour::sound::heard(&played.run.sound, conduct.table.hardware().sound_hz) {
        println!(
            "in {:.0} cm of such a speaker: {:.0} dB(A) on average, {:.0} in the loudest second",
            conduct.rules.ear_mm / 10.0,
            conduct.at_ear_db(ear.mean_db),
            conduct.at_ear_db(ear.second_db)
        );
    }
}
