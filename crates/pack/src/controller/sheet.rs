//! One page for the bench: which pin goes to which wire, how to copy, to test, to change.

use crate::labels::text_width;
use crate::svg::{Anchor, Drawing, LETTER, Sheet};
use behaviour::program::Pins;
use prop::catalogue::PartKind;
use prop::conduct::ConductView;
use prop::outcome::{Outcome, Part, Wire};
use solid::DVec2;

/// A4 upright, mm.
const PAGE: DVec2 = DVec2::new(210.0, 297.0);
const LEFT: f64 = 15.0;
const RIGHT: f64 = 195.0;
/// From line to line, mm.
const LINE: f64 = 5.0;

/// The sheet.
pub(super) fn draw(outcome: &Outcome, view: &ConductView) -> Sheet {
    let conduct = &view.conduct;
    let mut d = Drawing::new(
        "controller",
        format!("{}: the sheet for the board", outcome.prop),
        "Which pin goes to which wire, how to copy the program, how to test it, how to change a colour or a threshold."
            .into(),
    );
    d.text("head", DVec2::new(LEFT, 18.0), Anchor::Start, &format!("{}: the board", outcome.prop));
    d.text("small", DVec2::new(LEFT, 23.5), Anchor::Start, &conduct.rules.board.title);
    let mut y = pins(&mut d, outcome, &conduct.rules.pins, 31.0);
    y = steps(&mut d, y + 6.0, "Copy", &copy(view));
    y = steps(&mut d, y + 3.0, "Test, before anything is closed", &test(view));
    y = steps(&mut d, y + 3.0, "Change", &change());
    steps(&mut d, y + 3.0, "What it keeps to by itself", &keeps(view));
    d.finish(PAGE)
}

/// Wires and letters at the controller.
struct Ends<'a> {
    outcome: &'a Outcome,
    own: Option<char>,
}

impl Ends<'_> {
    /// The wires from the controller to a part, or to the strip.
    fn wire(&self, part: Option<char>) -> Option<&Wire> {
        let own = self.own?;
        let joins = |w: &&Wire| (w.from == own && w.to == part) || (Some(w.from) == part && w.to == Some(own));
        self.outcome.wires.iter().find(joins)
    }

    fn named(&self, part: Option<char>) -> String {
        self.wire(part).map_or_else(|| "\u{2013}".to_owned(), |w| format!("W{}", w.number))
    }

    /// Whether power runs through a part: more than one wire is at it.
    fn in_line(&self, letter: char) -> bool {
        self.outcome.wires.iter().filter(|w| w.from == letter || w.to == Some(letter)).count() > 1
    }

    /// The last part of a kind that is wired to the controller, else the last there is. A switch that parts the power is no button.
    fn part(&self, kind: PartKind) -> Option<&Part> {
        let asked = |p: &&Part| p.kind == kind && (kind != PartKind::Switch || !self.in_line(p.letter));
        let of_kind = || self.outcome.parts.iter().rev().filter(asked);
        of_kind().find(|p| self.wire(Some(p.letter)).is_some()).or_else(|| of_kind().next())
    }
}

/// The table of pins. Returns the next free y.
fn pins(d: &mut Drawing, outcome: &Outcome, pins: &Pins, y: f64) -> f64 {
    const NONE: &str = "\u{2013}";
    let own = outcome.parts.iter().find(|p| p.kind == PartKind::Controller).map(|p| p.letter);
    let ends = Ends { outcome, own };
    let of = |kind: PartKind, pad: &str| match ends.part(kind) {
        Some(part) => (ends.named(Some(part.letter)), format!("{} {}: {pad}", part.letter, part.name)),
        None => (NONE.to_owned(), format!("no part of this kind is named: {pad}")),
    };
    let strip = (ends.named(None), "strip: data in, through 330 ohm beside the board".to_owned());
    // Behind a converter the voltage stays while the cell's falls: its own lead comes from before it.
    let converter = ends.part(PartKind::Converter);
    let sense = converter.and_then(|k| ends.wire(Some(k.letter)));
    let cell = match converter {
        Some(k) => format!("{} {}, its + in: 100 kilohm; 100 kilohm to minus", k.letter, k.name),
        None => "on the board: 100 kilohm to plus, 100 kilohm to minus".to_owned(),
    };
    let lead = sense.map_or_else(|| NONE.to_owned(), |w| format!("W{}", w.number));
    let mut rows: Vec<(String, &str, (String, String))> = vec![
        (pins.strip.to_string(), "strip, data", strip),
        (pins.button.to_string(), "button", of(PartKind::Switch, "one contact; the other to minus")),
        (pins.cell.to_string(), "cell, through a divider", (lead, cell)),
        (pins.clock.to_string(), "sensor, clock", of(PartKind::Sensor, "SCL")),
        (pins.data.to_string(), "sensor, data", of(PartKind::Sensor, "SDA")),
    ];
    if ends.part(PartKind::Amplifier).is_some() {
        rows.push((pins.sound_clock.to_string(), "sound, bit clock", of(PartKind::Amplifier, "BCLK")));
        rows.push(((pins.sound_clock + 1).to_string(), "sound, word clock", of(PartKind::Amplifier, "LRCK")));
        rows.push((pins.sound_data.to_string(), "sound, data", of(PartKind::Amplifier, "DIN")));
    }
    // Other switches have their wires, and no pin.
    let asked = ends.part(PartKind::Switch).map(|p| p.letter);
    for other in outcome.parts.iter().filter(|p| p.kind == PartKind::Switch && Some(p.letter) != asked) {
        if ends.wire(Some(other.letter)).is_some() && !ends.in_line(other.letter) {
            let to = format!("{} {}: this program asks one switch only", other.letter, other.name);
            rows.push((NONE.to_owned(), "switch", (ends.named(Some(other.letter)), to)));
        }
    }
    let columns = [LEFT, LEFT + 16.0, LEFT + 66.0, LEFT + 82.0];
    d.begin("pins", "Pins and wires");
    for (x, word) in columns.iter().zip(["Pin", "for", "Wires", "to"]) {
        d.text("name", DVec2::new(*x, y), Anchor::Start, word);
    }
    d.line("thin", DVec2::new(LEFT, y + 1.6), DVec2::new(RIGHT, y + 1.6));
    let mut y = y + LINE + 1.0;
    for (pin, what, (wires, to)) in rows {
        for (x, word) in columns.iter().zip([pin.as_str(), what, wires.as_str(), to.as_str()]) {
            d.text(if *x == LEFT { "name" } else { "" }, DVec2::new(*x, y), Anchor::Start, word);
        }
        d.line("hatch", DVec2::new(LEFT, y + 1.6), DVec2::new(RIGHT, y + 1.6));
        y += LINE + 0.6;
    }
    d.end();
    let words = "Pins are numbers of the board's chip, as its program counts them. Wires W1, W2, ... and parts A, B, ... are those of \
                 the drawing of what is inside and of parts/wires.csv. Plus and minus go beside, as the power's drawing says.";
    let y = paragraph(d, y + 1.0, "", words);
    match converter {
        Some(k) if sense.is_none() => {
            let words = format!(
                "The divider needs one more wire, from the side of {} {} that faces the cell: what it gives stays the same while the \
                 cell runs down, and the light would neither be dimmed nor go out.",
                k.letter, k.name
            );
            paragraph(d, y, "", &words)
        }
        _ => y,
    }
}

/// A heading and numbered steps. Returns the next free y.
fn steps(d: &mut Drawing, y: f64, heading: &str, steps: &[String]) -> f64 {
    d.text("name", DVec2::new(LEFT, y), Anchor::Start, heading);
    let mut y = y + LINE + 0.4;
    for (k, step) in steps.iter().enumerate() {
        y = paragraph(d, y, &format!("{}", k + 1), step);
    }
    y
}

/// Words in lines as wide as the page allows, its number before them. Returns the next free y.
fn paragraph(d: &mut Drawing, y: f64, number: &str, words: &str) -> f64 {
    let from = if number.is_empty() { LEFT } else { LEFT + 6.0 };
    d.text("", DVec2::new(LEFT, y), Anchor::Start, number);
    let mut y = y;
    let mut line = String::new();
    for word in words.split(' ') {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if text_width(&longer, LETTER) > RIGHT - from && !line.is_empty() {
            d.text("", DVec2::new(from, y), Anchor::Start, &line);
            y += LINE;
            line = word.to_owned();
        } else {
            line = longer;
        }
    }
    d.text("", DVec2::new(from, y), Anchor::Start, &line);
    y + LINE
}

fn copy(view: &ConductView) -> Vec<String> {
    let sounds = if view.conduct.sounds.is_empty() { "" } else { " and then mpremote cp -r sounds :" };
    vec![
        "Put MicroPython on the board, as its maker's page says.".to_owned(),
        "Hold the button down while the board is reset: it is dark, and neither the program nor its watchdog starts."
            .to_owned(),
        format!("Copy the files of this folder, but for this sheet: mpremote cp *.py :{sounds}"),
        "Reset the board. It starts dark.".to_owned(),
    ]
}

fn test(view: &ConductView) -> Vec<String> {
    let first = view.conduct.rules.behaviour.modes.first().map_or("", |m| m.name.as_str());
    let sound = if view.conduct.sounds.is_empty() { "" } else { ", and plays a sound" };
    vec![
        "No board has run this program that we know of, only two interpreters without one.".to_owned(),
        format!(
            "Hold the button at a reset, then: mpremote run bench.py. It lights the strip red, green, blue and its first pixel white, \
             tells what the sensor, the button and the cell say{sound}."
        ),
        "With the tip up the sensor must say +1 g along. If it does not, change AXES in settings.py, or glue the sensor in as drawn."
            .to_owned(),
        "The cell must read what a meter says of it, to 100 mV. If it does not, the divider is not at the cell, or CELL_FULL_MV in \
         settings.py is to be changed in that proportion."
            .to_owned(),
        format!("Reset it, and go through the modes of the page from {first:?} on: press, swing, strike, hold still."),
    ]
}

fn change() -> Vec<String> {
    [
        "For good: in the project file (colour of a light, strike and swing under [motion]), then build again and copy settings.py.",
        "To try: in settings.py on the board. A light in MODES ends in red, green, blue, 0 to 255. STRIKE_ON is the jolt of a strike, 256 a g \
         (2.5 g is 640). SWING_ON2 is the square of the turning rate of a swing at 1.024 a degree per second (400 is 409 squared, 167281).",
    ]
    .map(str::to_owned)
    .to_vec()
}

fn keeps(view: &ConductView) -> Vec<String> {
    let t = &view.conduct.rules.thresholds;
    let mut all = vec![
        format!("No frame takes more than {:.2} A.", view.conduct.most_a()),
        format!(
            "Below {:.2} V of the cell the light is dimmed to {} %, below {:.2} V the prop goes dark.",
            f64::from(t.low_mv) / 1000.0,
            view.conduct.rules.dim_pct,
            f64::from(t.empty_mv) / 1000.0
        ),
        "If the program hangs for 2 s, the board is reset, and is dark.".to_owned(),
    ];
    all.push(if view.conduct.rules.calm {
        "No place flashes more than three times in a second.".to_owned()
    } else {
        "The limiter of flashes is OFF: warn those around you of flashing light.".to_owned()
    });
    all
}
