//! The work step by step: one action, one picture, one check with a number, and a stop before what cannot be undone.

use super::model::{Block, Chapter, Picture, Step, Text};
use super::pieces::{self, size};
use super::places::Places;
use crate::lists::way_mm;
use crate::power::reading;
use crate::words::{self, short, with_unit};
use crate::work::moment;
use prop::finish::Layer;
use prop::outcome::{Bar, Joint, Outcome, Part, Piece};
use prop::power::SLACK_MM;
use prop::work::{Deed, Step as Job};

/// The chapter; drawings of places that it needs are added to `places`.
pub(super) fn chapter(outcome: &Outcome, places: &mut Places) -> Chapter<'static> {
    let blocks = if outcome.steps.is_empty() {
        let text =
            "No steps can be told: a coat does not say how it dries, or the findings of the plan say what is missing.";
        vec![Block::Text(text.into())]
    } else {
        let intro = "In an order in which nothing is sealed in before it is tested. Do one step, make its check, then the next. Where a \
                     check fails, mend it before you go on. Times are common practice where nothing else is said.";
        let steps = outcome.steps.iter().enumerate().map(|(k, job)| step(outcome, k + 1, job, places)).collect();
        vec![Block::Text(intro.into()), Block::Steps(steps)]
    };
    Chapter { id: "steps", short: "Steps", title: "Steps".into(), blocks }
}

/// What is said of a job.
struct Said {
    action: Text,
    check: String,
    stop: String,
}

fn said(action: impl Into<Text>, check: impl Into<String>) -> Said {
    Said { action: action.into(), check: check.into(), stop: String::new() }
}

impl Said {
    fn stop(self, stop: impl Into<String>) -> Said {
        Said { stop: stop.into(), ..self }
    }
}

fn step(outcome: &Outcome, number: usize, job: &Job, places: &mut Places) -> Step {
    let Said { action, check, stop } = told(outcome, job);
    Step {
        number,
        job: job.name.clone(),
        stop,
        action,
        check,
        when: when(outcome, job),
        picture: picture(outcome, job, places),
    }
}

/// The job's name, its moment where it is planned, and how long it takes.
fn when(outcome: &Outcome, job: &Job) -> String {
    let planned = outcome.work.as_ref().and_then(|plan| Some((plan, plan.jobs.iter().find(|j| j.name == job.name)?)));
    let at = planned.map(|(plan, j)| format!(", {}", moment(plan, j.from_min))).unwrap_or_default();
    let rest = job.minutes - job.hands_min;
    let waits = if rest > 0 { format!(", then {} by itself", time(rest)) } else { String::new() };
    format!("{}{at}: {} of hands{waits}.", job.name, time(job.hands_min))
}

/// "2 h 30 min".
fn time(minutes: i64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, m) => with_unit(&m.to_string(), "min"),
        (h, 0) => with_unit(&h.to_string(), "h"),
        (h, m) => format!("{} {}", with_unit(&h.to_string(), "h"), with_unit(&m.to_string(), "min")),
    }
}

fn mm(value: f64, decimals: usize) -> String {
    with_unit(&short(value, decimals), "mm")
}

/// The picture of what is worked on: a plate, a piece, a section, or where on the prop.
fn picture(outcome: &Outcome, job: &Job, places: &mut Places) -> Picture {
    use Deed::*;
    match &job.deed {
        Print { plate } => places.plate(outcome, *plate),
        Clean { piece }
        | Wash { piece }
        | Cure { piece }
        | Line { piece }
        | SetHardware { piece }
        | CloseLid { piece } => match piece_of(outcome, *piece) {
            Some(piece) => pieces::picture(piece),
            None => places.station(outcome, job.station_mm),
        },
        FitDry { joint }
        | Thread { joint }
        | Glue { joint }
        | SeeLight { joint }
        | Fill { joint }
        | CloseJoint { joint } => places.section(outcome, &format!("J{joint}"), job.station_mm),
        TryPart { part } | FitPart { part } | TryPort { part } => {
            places.section(outcome, &format!("part {part}"), job.station_mm)
        }
        _ => places.station(outcome, job.station_mm),
    }
}

fn piece_of(outcome: &Outcome, number: u32) -> Option<&Piece> {
    outcome.pieces.iter().find(|p| p.number == number)
}

fn joint_of(outcome: &Outcome, number: u32) -> Option<&Joint> {
    outcome.joints.iter().find(|j| j.number == number)
}

fn told(outcome: &Outcome, job: &Job) -> Said {
    use Deed::*;
    // What is not in the outcome keeps its name and its minutes.
    let plain = || said(format!("Do this: {}.", job.name), format!("done within {} of hands.", time(job.hands_min)));
    match &job.deed {
        PrintCoupon { printer } => said(
            format!("Print the coupon on the printer {printer}, with the settings that you will print the prop with."),
            format!("it takes about {}; every step of it can be told apart.", time(job.minutes)),
        ),
        MeasureCoupon { printer } => said(
            Text::from(format!(
                "Measure the coupon of {printer} as its sheet asks, fill in the sheet, and give it to "
            ))
            .code("lanthorn calibrate")
            .plain("; then build the pack again."),
            "three readings of each step lie within 0.1 mm of each other (common practice, no source).",
        )
        .stop("Clearances of every piece follow from these readings. Print no piece before they are in."),
        Print { plate } => print(outcome, *plate).unwrap_or_else(plain),
        Clean { piece } => piece_of(outcome, *piece).map_or_else(plain, clean),
        Wash { .. } => said(
            format!("Put on gloves and glasses and wash it: {}.", job.name),
            format!("{} in clean solvent, and no spot of it is tacky.", time(job.hands_min)),
        ),
        Cure { .. } => said(
            format!("Cure it in light, turned half way: {}.", job.name),
            format!("{}, and a fingernail leaves no mark.", time(job.minutes)),
        ),
        CutSpine { bar } => outcome.spines.get(*bar).map_or_else(plain, |b| cut_spine(b, &job.name)),
        CutStrip { bar } => outcome.strips.get(*bar).map_or_else(plain, |b| cut_strip(outcome, b)),
        Solder { wire } => solder(outcome, *wire).unwrap_or_else(plain),
        BenchTest => bench(outcome, job),
        Line { piece } => piece_of(outcome, *piece).map_or_else(plain, |p| {
            said(
                format!("Line the hollow of piece {} as the table of coats says.", words::piece(p.number)),
                format!("no bare spot is left, and it has dried for {}.", time(job.minutes - job.hands_min)),
            )
        }),
        FitDry { joint } => joint_of(outcome, *joint).map_or_else(plain, |j| fit_dry(outcome, j)),
        TryPart { part } => part_of(outcome, *part).map_or_else(plain, |p| try_part(outcome, p)),
        SetHardware { piece } => set_hardware(outcome, *piece),
        LayIn => lay_in(outcome, job),
        Thread { joint } => thread(outcome, *joint),
        Glue { joint } => joint_of(outcome, *joint).map_or_else(plain, |j| glue(j, job)),
        SeeLight { joint } => see_light(outcome, *joint),
        Fill { joint } => fill(outcome, *joint).unwrap_or_else(plain),
        Sand => said(
            format!("{}: long strokes with a block, wet, and with a mask for fine dust.", capital(&job.name)),
            format!("after {} no layer is felt with a fingernail.", time(job.hands_min)),
        ),
        Mask { window } => mask(outcome, window, job),
        Coat { bodies, layer } => coat(outcome, bodies, *layer, job),
        Unmask { window } => said(
            format!("Pull the mask of {window} back over itself, slowly."),
            format!("the edge of the paint is clean along {}.", span(job.station_mm)),
        ),
        CoverRoom => said(format!("{}.", capital(&job.name)), "a metre round it and below it is covered."),
        AirRoom => said(format!("{}.", capital(&job.name)), format!("{} with the window open.", time(job.minutes))),
        FitPart { part } => part_of(outcome, *part).map_or_else(plain, |p| fit_part(outcome, p)),
        Wrap { wrap } => outcome.finish.wraps.get(*wrap).map_or_else(plain, |w| {
            said(
                format!("Wrap {} with {}: {} × {}.", w.body, w.title, w.bands, mm(w.cut_mm, 0)),
                format!("{} turns cover {}.", short(w.turns, 1), words::stations(w.station_mm)),
            )
        }),
        CloseLid { piece } => close_lid(outcome, *piece),
        PutOn => said(
            format!("{}, over what it slides on.", capital(&job.name)),
            format!("it sits at {}.", span(job.station_mm)),
        ),
        CloseJoint { joint } => joint_of(outcome, *joint).map_or_else(plain, close_joint),
        TryPort { part } => said(
            format!("With everything closed, reach part {part} from outside and use it."),
            "a plug goes in and out 3 times without force (our choice).",
        ),
        Tune => tune(outcome),
        Carry => carry(outcome),
    }
}

fn part_of(outcome: &Outcome, letter: char) -> Option<&Part> {
    outcome.parts.iter().find(|p| p.letter == letter)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

fn span(station_mm: Option<[f64; 2]>) -> String {
    station_mm.map_or_else(|| "its whole length".to_owned(), words::stations)
}

fn print(outcome: &Outcome, plate: usize) -> Option<Said> {
    let plate = outcome.plates.get(plate)?;
    let numbers: Vec<String> = plate.pieces.iter().map(|p| words::piece(p.piece)).collect();
    let what = if numbers.len() == 1 { "piece" } else { "pieces" };
    let action =
        Text::from(format!("Print plate {} in {} ({what} {}): ", plate.name, plate.material, numbers.join(", ")))
            .file("plate", format!("plates/{}.3mf", plate.name))
            .plain(".");
    let check = format!(
        "it weighs {} with its brims, and took {}.",
        words::band(plate.mass_g, "g"),
        words::band(plate.time_s, "s")
    );
    Some(said(action, check))
}

fn clean(piece: &Piece) -> Said {
    said(
        format!(
            "Take piece {} ({}) off the bed, cut its brim away, and clear every slot and hole.",
            words::piece(piece.number),
            piece.body
        ),
        format!("as it stood it measures {} within 0.5 mm (common practice, no source).", size(piece)),
    )
}

fn cut_spine(bar: &Bar, name: &str) -> Said {
    let length = (bar.end - bar.start).length();
    said(
        format!("{} square, wet, and break its edges.", capital(name)),
        format!("it is {} long, within 0.5 mm.", mm(length, 1)),
    )
    .stop("What is cut too short stays so. Measure twice.")
}

fn cut_strip(outcome: &Outcome, bar: &Bar) -> Said {
    let pixels = outcome.pixels.iter().filter(|p| bar.name == format!("strip {}", p.strip)).count();
    said(
        format!(
            "Cut {} across the middle of its pads, and solder its leads to the end that the arrow leaves.",
            bar.name
        ),
        format!(
            "it has {} and is {} long.",
            words::counted(pixels, "pixel", "pixels"),
            mm((bar.end - bar.start).length(), 0)
        ),
    )
    .stop("Count its pixels before you cut.")
}

fn solder(outcome: &Outcome, number: u32) -> Option<Said> {
    let wire = outcome.wires.iter().find(|w| w.number == number)?;
    let action = format!(
        "Cut {} for W{number} and solder from {} to {}, colours as the list of wires says.",
        words::counted(wire.wires as usize, "wire", "wires"),
        wire.from,
        words::wire_end(wire.to)
    );
    let check = if wire.points.is_empty() {
        format!("{} from end to end.", words::counted(wire.wires as usize, "wire conducts", "wires conduct"))
    } else {
        format!(
            "each is {} long, of which {} are slack and ends.",
            words::band(wire.cut_mm, "mm"),
            mm(wire.cut_mm.value - way_mm(wire), 0)
        )
    };
    Some(said(action, check))
}

fn bench(outcome: &Outcome, job: &Job) -> Said {
    let check = match outcome.power.as_ref().and_then(|p| p.bench.first()) {
        Some(p) => format!(
            "every reading of the bench test lies in its band, the first one ({}): {} dark, {} lit.",
            p.what,
            reading(p.dark, p.unit),
            reading(p.lit, p.unit)
        ),
        None => format!("all {} pixels light in red, green and blue.", outcome.pixels.len()),
    };
    said(
        format!(
            "Lay everything out on the bench, connect it, light it, and leave it lit for {}.",
            time(job.minutes - job.hands_min)
        ),
        check,
    )
    .stop("From here on light and wires go where they are hard to reach. Go on only when every reading is right.")
}

fn fit_dry(outcome: &Outcome, joint: &Joint) -> Said {
    let [a, b] = joint.pieces;
    let spans = [a, b].map(|n| piece_of(outcome, n).map(|p| p.station_mm));
    let check = match spans {
        [Some(a), Some(b)] => format!(
            "closed, the two are {} long from butt side to tip side, and no light shows between them.",
            mm(a[1].max(b[1]) - a[0].min(b[0]), 1)
        ),
        _ => "no light shows between them.".to_owned(),
    };
    said(
        format!(
            "Put pieces {} and {} together at J{} without glue. File what binds.",
            words::piece(a),
            words::piece(b),
            joint.number
        ),
        check,
    )
}

fn try_part(outcome: &Outcome, part: &Part) -> Said {
    let wired = outcome.wires.iter().filter(|w| w.from == part.letter || w.to == Some(part.letter)).count();
    said(
        format!("Try {} in its place: it comes and goes {}.", part.subject(), words::reached(part.reached)),
        format!("it has {} of play on each side, and room for {}.", mm(part.gap_mm, 2), bundles(wired)),
    )
}

/// "2 bundles of wires".
fn bundles(count: usize) -> String {
    words::counted(count, "bundle of wires", "bundles of wires")
}

fn set_hardware(outcome: &Outcome, number: u32) -> Said {
    let joints = outcome.joints.iter().filter(|j| j.pieces.contains(&number)).filter_map(|j| j.take_down.as_ref());
    let lids = outcome.lids.iter().filter(|l| l.piece == number);
    let bought: Vec<String> = joints
        .flat_map(|t| &t.bought)
        .chain(lids.flat_map(|l| &l.bought))
        .map(|b| format!("{} × {}", b.count, b.title))
        .collect();
    said(
        format!(
            "Set the hardware that belongs to piece {}: glue magnets, press inserts in warm.",
            words::piece(number)
        ),
        format!("all there between it and its neighbour: {}.", bought.join(", ")),
    )
    .stop("A magnet glued in the wrong way round stays so. Let the pair snap together first, and mark the outer faces.")
}

fn lay_in(outcome: &Outcome, job: &Job) -> Said {
    let first = outcome.pixels.iter().map(|p| p.station_mm).min_by(f64::total_cmp);
    let check = first.map_or_else(
        || "everything lies without a kink.".to_owned(),
        |s| format!("the first pixel lies at station {}, within 1 mm.", mm(s, 1)),
    );
    said(
        format!("{}: spine first, strip with its wire's end towards the butt, to the mark.", capital(&job.name)),
        check,
    )
    .stop("Only what passed the bench test goes in.")
}

fn thread(outcome: &Outcome, joint: u32) -> Said {
    let crossing = outcome.wires.iter().filter(|w| w.joints.contains(&joint)).count();
    said(
        format!("Slide the next piece over strip, spine and wires up to J{joint}, and leave it open by a hand."),
        format!("through it: {}, each with {} of slack.", bundles(crossing), mm(SLACK_MM[0], 0)),
    )
}

fn glue(joint: &Joint, job: &Job) -> Said {
    let [a, b] = joint.pieces.map(words::piece);
    said(
        format!(
            "Scuff and wipe both faces, spread the glue thinly on pieces {a} and {b}, close J{} and clamp it. Gloves on.",
            joint.number
        ),
        format!(
            "{} of face are wetted, glue shows all round, and it stays clamped for {}.",
            with_unit(&short(joint.glue_mm2, 0), "mm2"),
            time(job.minutes)
        ),
    )
    .stop("Glue holds for good. Go on only when this joint fitted dry and everything that crosses it is through.")
}

fn see_light(outcome: &Outcome, joint: u32) -> Said {
    let station = joint_of(outcome, joint).map_or(0.0, |j| j.frame.station_mm);
    let beyond = outcome.pixels.iter().filter(|p| p.station_mm > station).count();
    said(
        format!("Light the prop in white and look at every pixel on both sides of J{joint}."),
        format!("all {} pixels light, {beyond} of them beyond J{joint}.", outcome.pixels.len()),
    )
}

fn fill(outcome: &Outcome, joint: u32) -> Option<Said> {
    let seam = outcome.finish.seams.iter().find(|s| s.joint == joint)?;
    Some(said(
        format!(
            "Stir {} of {} and fill the seam of J{joint}. {}",
            with_unit(&short(seam.wet_ml, 1), "ml"),
            seam.filler,
            seam.caution
        ),
        format!("{} of seam are filled proud.", mm(seam.round_mm, 0)),
    ))
}

fn mask(outcome: &Outcome, window: &str, job: &Job) -> Said {
    let area: f64 = outcome.windows.iter().filter(|w| w.name == window).map(|w| w.area_mm2).sum();
    said(
        format!("Mask the window {window}; press the tape's edge down with a nail."),
        format!("{} are covered, at {}.", with_unit(&short(area / 100.0, 0), "cm²"), span(job.station_mm)),
    )
}

fn coat(outcome: &Outcome, bodies: &[String], layer: usize, job: &Job) -> Said {
    let zones =
        outcome.finish.zones.iter().filter(|z| z.place == prop::finish::Place::Outside && bodies.contains(&z.body));
    let layers: Vec<&Layer> = zones.filter_map(|z| z.layers.get(layer)).collect();
    let wet = layers.iter().filter_map(|l| l.wet_ml).reduce(|a, b| a.plus(b));
    let wait = layers.iter().filter_map(|l| l.recoat_s).fold(0.0, f64::max);
    let title = layers.first().map_or(job.name.as_str(), |l| l.title.as_str());
    let dry = if wait > 0.0 {
        format!(" The next coat comes after {}.", time((wait / 60.0).ceil() as i64))
    } else {
        String::new()
    };
    let check = wet.map_or_else(
        || format!("the whole of it is covered, without a run, in {}.", time(job.hands_min)),
        |b| format!("{} of wet paint went on, without a run.", words::band(b, "ml")),
    );
    let told = said(format!("Lay {title} on {} in two or three light passes.{dry}", bodies.join(" and ")), check);
    if layer == 0 {
        told.stop("Paint shows every seam and scratch, and hides what is wrong below. Go on only when it is smooth, masked, dry and free of dust.")
    } else {
        told
    }
}

fn fit_part(outcome: &Outcome, part: &Part) -> Said {
    let [from, to] = part.station_mm;
    let bundles: Vec<String> = outcome
        .wires
        .iter()
        .filter(|w| w.from == part.letter || w.to == Some(part.letter))
        .map(|w| format!("W{}", w.number))
        .collect();
    let with = if bundles.is_empty() { String::new() } else { format!(" Connect {}.", bundles.join(", ")) };
    let told = said(
        format!("Fit {} in its place, {}.{with}", part.subject(), words::reached(part.reached)),
        format!("it sits between stations {} and {}.", short(from, 0), mm(to, 0)),
    );
    if part.kind == prop::catalogue::PartKind::Cell {
        told.stop("A shorted lithium cell burns. Look once more at plus and minus, with no bare end near it.")
    } else {
        told
    }
}

fn close_lid(outcome: &Outcome, piece: u32) -> Said {
    let lid = outcome.lids.iter().find(|l| l.piece == piece);
    let (screws, magnets) = lid.map_or((0, 0), |l| (l.screws.len(), l.magnets.len()));
    said(
        format!("Close lid {}, no wire under its edge.", words::piece(piece)),
        format!(
            "it is held by {} and {}, and does not stand proud by more than 0.3 mm (our choice).",
            words::counted(screws, "screw", "screws"),
            words::counted(magnets, "pair of magnets", "pairs of magnets"),
        ),
    )
}

fn close_joint(joint: &Joint) -> Said {
    let apart = joint.take_down.as_ref();
    let turn = apart.map_or(0.0, |t| t.turn_deg);
    let reach = apart.map_or(0.0, |t| t.reach_mm);
    if turn > 0.0 {
        said(
            format!("Push the plug of J{} in and turn it clockwise until it clicks.", joint.number),
            format!("it went in {} and turned {}.", mm(reach, 1), with_unit(&short(turn, 0), "deg")),
        )
    } else {
        said(
            format!("Close J{}; screws hand tight, magnets by themselves.", joint.number),
            format!("its plug reaches {}, and no gap is felt.", mm(reach, 1)),
        )
    }
}

fn tune(outcome: &Outcome) -> Said {
    let cap = outcome.power.as_ref().map(|p| with_unit(&short(100.0 * p.design.cap, 0), "%"));
    said(
        "Play every mode, then set thresholds, brightness and volume as the board's sheet says.",
        match cap {
            Some(cap) => format!("brightness stands at {cap} at most, and 10 swings give 10 answers (our choice)."),
            None => "10 swings give 10 answers (our choice).".to_owned(),
        },
    )
}

fn carry(outcome: &Outcome) -> Said {
    let mass = outcome.strength.as_ref().map_or(outcome.shopping.mass_g().value, |s| s.carried.mass_g);
    let balance =
        outcome.strength.as_ref().map(|s| format!(", and balances at station {}", mm(s.carried.balance_mm, 0)));
    said(
        "Carry it for an hour as you will at the event, nobody within its reach.",
        format!(
            "it weighs about {}{}; nothing has come loose.",
            with_unit(&short(mass, 0), "g"),
            balance.unwrap_or_default()
        ),
    )
}
