//! What a way of travel takes.

use super::packed::packed;
use super::{Fit, Portion, Whole, longest_mm, places, source, would};
use crate::catalogue::TravelRow;
use crate::checks::Checked;
use crate::finding::{Band, Finding, Input, SHAPE, Verdict, input};
use crate::outcome::Outcome;

/// What is kept free round a part in a case, mm in all: wrapping (common practice, no source).
const WRAPPED_MM: f64 = 10.0;

/// What it goes into.
fn room(travel: &TravelRow) -> Vec<Input> {
    let from = format!("travel.{}", travel.name);
    let sides = travel
        .room_mm
        .into_iter()
        .flat_map(|[a, b, c]| [("inside, long", a), ("inside, wide", b), ("inside, high", c)]);
    let all = sides.chain(travel.longest_mm.map(|mm| ("longest that is taken", mm)));
    let mut all: Vec<Input> = all.map(|(name, mm)| input(name, mm, "mm", from.clone())).collect();
    all.push(input("kept free round a part, in all", WRAPPED_MM, "mm", "common practice, no source"));
    all
}

pub(super) fn travel(travel: &TravelRow, outcome: &Outcome, whole: &Whole) -> Vec<Finding> {
    let of = |id, value, unit, max| Checked {
        id,
        subject: format!("travel {}", travel.name),
        station_mm: None,
        value,
        unit,
        min: None,
        max: Some(max),
        source: source(&travel.source, &travel.date),
        message: String::new(),
        remedy: String::new(),
    };
    let mut found = Vec::new();
    if travel.room_mm.is_some() || travel.longest_mm.is_some() {
        let taken = taken(travel, outcome, whole);
        let checked = of("travel_fits", Band::exact(taken.long_mm), "mm", taken.most_mm);
        let (message, remedy, station_mm) = (taken.message, taken.remedy, taken.station_mm);
        found.push(Checked { message, remedy, station_mm, ..checked }.finding().worked_from(room(travel)));
        found.extend(travel.room_mm.zip(taken.parts).map(|(room, parts)| {
            let (value, least, message) = together(room, &parts);
            let remedy = "try it with boxes of card, a larger case, or a second one".into();
            let checked = of("travel_together", value, "parts", 0.0);
            let mut finding = Checked { min: Some(least), max: None, message, remedy, ..checked }
                .finding()
                .worked_from(self::room(travel));
            if finding.verdict == Verdict::Fails {
                // Nobody has shown that they don't.
                finding.verdict = Verdict::Unsure;
            }
            finding
        }));
    }
    found.extend(travel.sum_mm.map(|most| {
        let (outer, what) = match travel.room_mm {
            Some(room) => (room.map(|r| r + 2.0 * travel.wall_mm), "The case"),
            None => (whole.whole().box_mm, "The prop"),
        };
        let sum: f64 = outer.iter().sum();
        let [a, b, c] = outer;
        let message =
            format!("{what} measures {a:.0} x {b:.0} x {c:.0} mm, {sum:.0} mm together; {most:.0} mm are taken.");
        let remedy = "a smaller case (room, wall), or another way".into();
        Checked { message, remedy, ..of("travel_sum", Band::exact(sum), "mm", most) }.finding().worked_from([
            input("long", a, "mm", "outside"),
            input("wide", b, "mm", "outside"),
            input("high", c, "mm", "outside"),
        ])
    }));
    found.extend(travel.mass_g.map(|most| {
        let mass = outcome.shopping.mass_g().plus(Band::exact(travel.case_g));
        let case = if travel.case_g > 0.0 {
            format!(", {:.1} kg of it the case", travel.case_g / 1000.0)
        } else {
            String::new()
        };
        let word = if mass.value <= most { "light enough" } else { "too heavy" };
        let kg = [mass.value, most].map(|g| g / 1000.0);
        let message = format!("{:.2} kg{case}; {:.1} kg are taken: {word}.", kg[0], kg[1]);
        let remedy = "a lighter case, or the prop in two of them".into();
        Checked { message, remedy, ..of("travel_mass", mass, "g", most) }.finding().worked_from(
            outcome.shopping.masses().chain([input("case", travel.case_g, "g", format!("travel.{}", travel.name))]),
        )
    }));
    found.extend(travel.door_mm.map(|d| through(d, whole).said(&of("travel_door", Band::exact(0.0), "mm", 0.0))));
    found
}

/// Parts that go in one by one, laid in together: how many were found to, how many there are, and it in words. One that lies aslant
/// is not tried beside others, so more may go in than is found.
fn together(room_mm: [f64; 3], parts: &[Portion]) -> (Band, f64, String) {
    let boxes: Vec<[f64; 3]> = parts.iter().map(|p| p.box_mm.map(|m| m + WRAPPED_MM)).collect();
    let (laid, all) = (packed(room_mm, &boxes).len() as f64, parts.len() as f64);
    let message = if laid >= all {
        format!("All {all} parts go in together, each {WRAPPED_MM:.0} mm apart from the next.")
    } else {
        format!("{laid} of {all} parts were found to go in together, laid along its sides; aslant more may.")
    };
    (Band { value: laid, low: laid, high: all }, all, message)
}

/// What goes in, in words and numbers.
pub(super) struct Taken {
    /// What it comes apart into, where it has to.
    parts: Option<Vec<Portion>>,
    long_mm: f64,
    most_mm: f64,
    pub(super) message: String,
    remedy: String,
    station_mm: Option<[f64; 2]>,
}

/// How the prop goes into a case, whole or in parts.
pub(super) fn taken(travel: &TravelRow, outcome: &Outcome, whole: &Whole) -> Taken {
    // The longest of a part's girth that goes in, some way round.
    let most_of = |p: &Portion| {
        let inside = travel.room_mm.map(|r| longest_mm(r.map(|m| m - WRAPPED_MM), [p.box_mm[1], p.box_mm[2]]));
        inside.into_iter().chain(travel.longest_mm).fold(f64::INFINITY, f64::min)
    };
    let fits = |p: &Portion| p.box_mm[0] <= most_of(p);
    let fit = whole.fit(&fits);
    // The part that has least room.
    let tightest = |parts: &[Portion]| {
        let least = parts.iter().map(|p| (p.box_mm[0] - most_of(p), *p)).reduce(|a, b| if b.0 > a.0 { b } else { a });
        least.map_or_else(|| whole.whole(), |l| l.1)
    };
    let room = match travel.room_mm {
        Some([a, b, c]) => {
            let diagonal = (a * a + b * b + c * c).sqrt();
            format!("{a:.0} x {b:.0} x {c:.0} mm inside (a thread of {diagonal:.0} mm from corner to corner)")
        }
        None => "no case".to_owned(),
    };
    let girth = |p: &Portion| format!("{:.0} x {:.0} mm thick", p.box_mm[1], p.box_mm[2]);
    let told = |p: &Portion, words: String, remedy: String, station: bool| Taken {
        parts: None,
        long_mm: p.box_mm[0],
        most_mm: most_of(p),
        message: words,
        remedy,
        station_mm: station.then_some(p.station_mm),
    };
    match &fit {
        Fit::Whole(p) => {
            let words = format!(
                "{}: {room}. The whole prop goes in: it is {:.0} mm long and {}, and {:.0} mm would.",
                travel.title,
                p.box_mm[0],
                girth(p),
                most_of(p)
            );
            told(p, words, String::new(), false)
        }
        Fit::Apart(joints, parts) => {
            let p = tightest(parts);
            let lengths: Vec<String> = parts.iter().map(|p| format!("{:.0}", p.box_mm[0])).collect();
            let words = format!(
                "{}: {room}. It fits only apart, at {}: parts of {} mm. The tightest is {:.0} mm long and {}, and {:.0} mm would go in.",
                travel.title,
                places(outcome, joints),
                lengths.join(" and "),
                p.box_mm[0],
                girth(&p),
                most_of(&p)
            );
            Taken { parts: Some(parts.clone()), ..told(&p, words, String::new(), true) }
        }
        Fit::WouldApart(joints, parts) => {
            let p = whole.whole();
            let words = format!(
                "{}: {room}. Too long: {:.0} mm and {}, and {:.0} mm of that would go in; no joint that comes apart helps.",
                travel.title,
                p.box_mm[0],
                girth(&p),
                most_of(&p)
            );
            told(&p, words, would(outcome, whole, joints, parts), false)
        }
        Fit::Never(parts) => {
            let p = tightest(parts);
            let words = format!(
                "{}: {room}. Too large even apart: a part is {:.0} mm long and {}, and {:.0} mm of that would go in.",
                travel.title,
                p.box_mm[0],
                girth(&p),
                most_of(&p)
            );
            told(&p, words, "a larger case, more joints (cuts.lock), or another way".into(), true)
        }
    }
}

/// How the prop goes through a door.
pub(super) struct Through {
    measured_mm: f64,
    most_mm: f64,
    message: String,
    sides: [Input; 4],
}

impl Through {
    /// In words.
    pub(super) fn message(&self) -> &str {
        &self.message
    }

    /// As a finding like another.
    pub(super) fn said(self, like: &Checked) -> Finding {
        Checked {
            id: like.id,
            subject: like.subject.clone(),
            source: like.source.clone(),
            station_mm: None,
            value: Band::exact(self.measured_mm),
            unit: "mm",
            min: None,
            max: Some(self.most_mm),
            message: self.message,
            remedy: "take it apart before the door, or take off what stands out".into(),
        }
        .finding()
        .worked_from(self.sides)
    }
}

/// Along its length its section has to pass, either way round; whether it passes upright is told.
pub(super) fn through([wide, high]: [f64; 2], whole: &Whole) -> Through {
    let [long, thick, thin] = whole.whole().box_mm;
    let (least, most) = (wide.min(high), wide.max(high));
    let passes = thin <= least && thick <= most;
    let how = match (passes, long <= high) {
        (false, _) => "it goes through no way round".to_owned(),
        (true, true) => "it goes through upright".to_owned(),
        (true, false) => format!("upright it is {:.0} mm too high: tip it", long - high),
    };
    let message = format!("The prop is {thick:.0} x {thin:.0} mm thick, and the door {wide:.0} x {high:.0} mm; {how}.");
    let (measured_mm, most_mm) = if thick <= most { (thin, least) } else { (thick, most) };
    let sides = [
        input("thick one way", thick, "mm", SHAPE),
        input("thick the other", thin, "mm", SHAPE),
        input("door, wide", wide, "mm", "the door of the rules"),
        input("door, high", high, "mm", "the door of the rules"),
    ];
    Through { measured_mm, most_mm, message, sides }
}
