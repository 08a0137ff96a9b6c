//! What to mind in the workshop, and how the finished prop is kept.

use super::model::{Block, Chapter, Table, Text};
use crate::words::{self, short, with_unit};
use prop::admission::{Portion, Whole};
use prop::outcome::{Joint, Outcome};

/// What to mind; what is said of a material only appears where the project uses it.
pub(super) fn chapter(outcome: &Outcome) -> Chapter<'static> {
    let uses = |word: &str| {
        let named = |name: &String| name.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|part| part == word);
        outcome.pieces.iter().any(|p| named(&p.material) || named(&p.printer))
    };
    let mut cautions = vec![
        (
            "Whose word counts",
            "Where this list and a product's own sheet, your local rules or the event's differ, those win. What is beyond your practice, leave to somebody licensed or trained for it.",
        ),
        (
            "Heat",
            "Nozzle, bed and fresh prints burn: let them cool before you reach in, and don't leave a printer running where nobody would notice smoke. A soldering iron goes back into its stand.",
        ),
    ];
    if uses("abs") || uses("asa") {
        cautions.push(("Fumes of printing", "ABS and ASA give off styrene and fine dust while they print: close the printer in, lead the air outside, and don't sit beside it."));
    } else {
        cautions.push(("Fumes", "Prints, solder and warm glue give off fumes: open a window or lead them outside, and keep your head out of them."));
    }
    if uses("resin") {
        cautions.push(("Resin", "Liquid resin harms skin and eyes and can make you allergic for good: nitrile gloves, glasses, open window, and cure every rest and wipe before it goes into the bin."));
    }
    cautions.extend([
        ("Dust", "Sand wet or with a mask for fine dust (FFP2 or better), and wear glasses. Cut glass or carbon fibre wet: its dust itches and harms lungs."),
        ("Glue", "Epoxy on the skin can make you allergic for good: gloves, air, and no solvent to wash it off. Large mixes get hot in the cup."),
        ("Paint and solvents", "Outdoors or with a mask for vapours, away from flames, sparks and a running heater. Rags with solvent or oil can catch fire by themselves: spread them out to dry outdoors."),
        ("Sharp edges", "Brims, supports and freshly cut rod cut skin: take edges off first. Cut away from your hand, with the piece held in a vice."),
    ]);
    if outcome.power.is_some() {
        cautions.push(("Lithium cells", "Shorted, crushed, pierced or charged wrongly they burn: charge them on stone, in sight, with their own charger; stop using one that is swollen, dented or warm at rest; a protected cell and the fuse stay in. Spent cells go where your council takes them."));
        cautions.push(("Wires", "Test strip and wires on the bench before you slide them in, and again before you glue. The cell goes in last."));
    }
    cautions.push(("Swinging", "Nobody within reach of the whole length and your arm when you swing or pose; not at people, not in a crowd, not where the event forbids it. It is a costume prop and stops nothing."));
    let items = cautions.into_iter().map(|(head, text)| Text::new().strong(format!("{head}. ")).plain(text)).collect();
    Chapter { id: "cautions", short: "Cautions", title: "Cautions".into(), blocks: vec![Block::Cautions(items)] }
}

/// Care, storage and travel: a card to cut out.
pub(super) fn care(outcome: &Outcome) -> Chapter<'static> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut say = |what: &str, text: String| rows.push(vec![what.to_owned(), text]);
    let heat = outcome.strength.as_ref().and_then(|s| s.heat.as_ref());
    let softens = heat.and_then(|h| h.cases.iter().map(|c| c.softens_c).min_by(f64::total_cmp));
    match softens {
        Some(c) => say(
            "Warmth",
            format!(
                "The walls begin to soften at {}: keep it out of a parked car and off a sunny sill.",
                with_unit(&short(c, 0), "°C")
            ),
        ),
        None => say("Warmth", "Printed plastic softens in a parked car in the sun: keep it out of it.".to_owned()),
    }
    for case in heat.iter().flat_map(|h| &h.cases) {
        let wall = with_unit(&short(case.wall_c, 0), "°C");
        let room = with_unit(&short(case.room_k[0], 0), "K");
        say(case.title, format!("warmest wall {wall}; least room to where it softens: {room}"));
    }
    say("Lying", "On its flat side, borne at two places a quarter of its length from each end, nothing on top. Not leaning in a corner for weeks.".to_owned());
    say("Cleaning", "A soft damp cloth; no solvent on paint or windows. Dry it with ports open.".to_owned());
    if let Some(power) = &outcome.power {
        say(
            "Cell",
            format!(
                "{} in all. Charge before a day out; store half charged, cool and dry, and look at it every three months (common practice, no source; the cell's sheet wins).",
                with_unit(&words::fixed(power.watt_hours, 1), "Wh")
            ),
        );
        say("By air", "Cells travel in the cabin, their ends covered, in amounts that the carrier's rules for Wh allow. Ask before you book.".to_owned());
    }
    let whole = Whole::of(outcome);
    let open: Vec<&Joint> = outcome.joints.iter().filter(|j| j.kind.comes_apart()).collect();
    say("Whole", size(&whole.whole()));
    if !open.is_empty() {
        let names: Vec<String> = open.iter().map(|j| format!("J{}", j.number)).collect();
        let parts: Vec<String> = whole.portions(&open).iter().map(size).collect();
        say("Taken apart", format!("at {}: {}", names.join(", "), parts.join("; ")));
    }
    let mass = outcome.strength.as_ref().map_or(outcome.shopping.mass_g().value, |s| s.carried.mass_g);
    say("Mass", with_unit(&short(mass, 0), "g"));
    for f in outcome.findings.iter().filter(|f| f.subject.starts_with("travel ") || f.subject.starts_with("event ")) {
        say(&format!("{} ({})", f.subject, words::verdict(f.verdict)), f.message.clone());
    }
    say("After each day", "Look along every joint and at the grip for cracks, press every port, light it once. A crack that grows ends its day.".to_owned());
    let caption = "Care, storage and travel, on a card to take along.";
    let table = Table::new("Care card", None, caption, &["What", "How"], rows);
    Chapter { id: "care", short: "Care", title: "Care, storage and travel".into(), blocks: vec![Block::Table(table)] }
}

fn size(portion: &Portion) -> String {
    with_unit(&portion.box_mm.map(|v| short(v, 0)).join(" × "), "mm")
}
