//! What to mind in the workshop.

use prop::outcome::Outcome;

/// The section of the page; what is said of a material only appears where the project uses it.
pub(crate) fn section(out: &mut String, outcome: &Outcome) {
    let uses = |word: &str| {
        let named = |name: &String| name.to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|part| part == word);
        outcome.pieces.iter().any(|p| named(&p.material) || named(&p.printer))
    };
    let mut cautions = vec![
        "Where this list and a product's own sheet or your local rules differ, the sheet and the rules win.",
        "Nozzle, bed and fresh prints burn: let them cool before you reach in, and don't leave a printer running where nobody would notice smoke.",
    ];
    if uses("abs") || uses("asa") {
        cautions.push("ABS and ASA give off styrene and fine dust while they print: close the printer in, lead the air outside, and don't sit beside it.");
    }
    if uses("resin") {
        cautions.push("Liquid resin harms skin and eyes and can make you allergic for good: nitrile gloves, glasses, open window, and cure every rest and wipe before it goes into the bin.");
    }
    cautions.extend([
        "Sand wet or with a mask for fine dust (FFP2 or better), and wear glasses.",
        "Epoxy on the skin can make you allergic for good: gloves, air, and no solvent to wash it off. Large mixes get hot in the cup.",
        "Spray paint and solvents: outdoors or with a mask for vapours, away from flames and from a running heater.",
        "Test strip and wires on the bench before you slide them in, and again before you glue.",
    ]);
    out.push_str("<section id=\"cautions\">\n<h2>Cautions</h2>\n<ul>\n");
    out.extend(cautions.iter().map(|c| format!("<li>{c}</li>\n")));
    out.push_str("</ul>\n</section>\n");
}
