//! `index.html`: one page that shows the whole pack, without script and without network.

mod cautions;
mod findings;
mod light;
mod parts;
mod pieces;
mod shopping;
mod strength;
mod work;

use crate::html::escape;
use crate::look::{self, DARK, PAPER, Palette};
use crate::svg::Sheet;
use crate::words;
use prop::finding::{Band, Verdict};
use prop::outcome::Outcome;

pub(crate) use parts::table;

/// The drawings that stand in the page; those of which there may be several with their paths.
pub(crate) struct Drawn<'a> {
    pub(crate) side: &'a Sheet,
    pub(crate) within: &'a Sheet,
    pub(crate) sections: &'a Sheet,
    pub(crate) beds: &'a Sheet,
    pub(crate) lit: &'a [(String, Sheet)],
    pub(crate) loaded: &'a [(String, Sheet)],
    pub(crate) wiring: Option<&'a Sheet>,
    pub(crate) rehearsed: Option<&'a Sheet>,
    pub(crate) days: Option<&'a Sheet>,
}

/// The page, with the drawings in it.
pub(crate) fn page(outcome: &Outcome, drawn: &Drawn) -> String {
    let mut out = String::with_capacity(1 << 18);
    out.push_str("<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n");
    out.push_str("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n");
    out.push_str("<meta name=\"color-scheme\" content=\"light dark\">\n");
    out.push_str(&format!("<title>{}: pieces and findings</title>\n", escape(&outcome.prop)));
    out.push_str(&format!("<style>\n{}{}</style>\n</head>\n<body>\n", page_css(), look::drawing_css()));
    out.push_str("<a class=\"skip\" href=\"#findings\">To the findings</a>\n");
    head(&mut out, outcome);
    out.push_str("<main>\n");
    findings::section(&mut out, outcome);
    drawing(&mut out, "side-view", "Side view and top view", "drawings/side.svg", drawn.side);
    drawing(&mut out, "inside-view", "Inside", "drawings/inside.svg", drawn.within);
    drawing(&mut out, "section-views", "Sections", "drawings/sections.svg", drawn.sections);
    light::section(&mut out, outcome, drawn.lit);
    strength::section(&mut out, outcome, drawn.loaded);
    pieces::section(&mut out, outcome);
    pieces::joints(&mut out, outcome);
    plates(&mut out, outcome, drawn.beds);
    work::section(&mut out, outcome, drawn.days);
    shopping::finish(&mut out, outcome);
    shopping::shopping(&mut out, outcome);
    parts::section(&mut out, outcome);
    crate::power::section(&mut out, outcome, drawn.wiring);
    crate::rehearsal::section(&mut out, outcome, drawn.rehearsed);
    mended(&mut out, outcome);
    cautions::section(&mut out, outcome);
    out.push_str("</main>\n<footer>\n");
    let mut files = vec![
        ("findings.json", "findings as data"),
        ("pieces/index.json", "pieces as data"),
        ("pieces/ways.json", "how covers and parts go in, as data"),
        ("plates/index.json", "plates as data"),
        ("light/windows.json", "windows as data"),
        ("shape/prop.3mf", "the mended shape"),
    ];
    if !(outcome.strips.is_empty() && outcome.spines.is_empty() && outcome.parts.is_empty()) {
        files.push(("pieces/inside.3mf", "strips, spine and parts in place"));
    }
    let patterns = crate::patterns::listed(outcome);
    files.extend(patterns.iter().map(|(file, words)| (file.as_str(), words.as_str())));
    if !outcome.openings.is_empty() {
        files.push(("pieces/openings.3mf", "where your shape is opened for parts"));
    }
    let links: Vec<String> = files.iter().map(|(f, w)| format!("<a href=\"{f}\">{w}</a>")).collect();
    out.push_str(&format!("<p>{}</p>\n", links.join(" · ")));
    let imprint = outcome.imprint.lines();
    if !imprint.is_empty() {
        out.push_str(&format!("<p id=\"imprint\">{}</p>\n", escape(&imprint.join(". "))));
    }
    out.push_str(&format!("<p class=\"quiet\">Inputs <code>{}</code></p>\n", escape(&outcome.input_hash)));
    out.push_str("</footer>\n</body>\n</html>\n");
    out
}

/// The rules of every page.
pub(crate) fn page_css() -> String {
    let vars = |p: &Palette| {
        format!(
            "--ink:{};--paper:{};--slate:{};--brick:{};--rule:{};--box:{}",
            p.ink, p.paper, p.slate, p.brick, p.rule, p.box_ground
        )
    };
    format!(
        ":root {{ {} }}\n@media screen and (prefers-color-scheme: dark) {{ :root {{ {} }} }}\n{}",
        vars(&PAPER),
        vars(&DARK),
        include_str!("page.css")
    )
}

fn head(out: &mut String, outcome: &Outcome) {
    let mut facts = vec![("Length", words::length(outcome.length_mm, outcome.inches))];
    if let Some(wearer) = outcome.wearer_mm {
        facts.push(("Wearer", words::length(wearer, outcome.inches)));
    }
    if !outcome.imprint.changed.is_empty() {
        facts.push(("Made for", outcome.imprint.changed.join(", ")));
    }
    let zero = Band::exact(0.0);
    let mass = outcome.pieces.iter().fold(zero, |sum, p| sum.plus(p.mass_g));
    let time = outcome.plates.iter().fold(zero, |sum, p| sum.plus(p.time_s));
    facts.push(("Pieces", format!("{}, at {} joints", outcome.pieces.len(), outcome.joints.len())));
    facts.push(("Plates", outcome.plates.len().to_string()));
    facts.push(("Printed mass", words::band(mass, "g")));
    facts.push(("Printing, printers side by side", words::band(outcome.print_elapsed_s, "s")));
    facts.push(("Printing, all hours added", words::band(time, "s")));
    out.push_str(&format!("<header>\n<h1>{}</h1>\n<dl class=\"facts\">\n", escape(&outcome.prop)));
    for (word, value) in facts {
        out.push_str(&format!("<div><dt>{word}</dt><dd>{}</dd></div>\n", escape(&value)));
    }
    out.push_str("</dl>\n");
    let count = |v: Verdict| outcome.findings.iter().filter(|f| f.verdict == v).count();
    let tally: Vec<String> = [Verdict::Fails, Verdict::Unsure, Verdict::Note, Verdict::Holds]
        .into_iter()
        .map(|v| format!("<li class=\"{}\">{} {}</li>", mark(v, count(v)), count(v), findings::plural(v, count(v))))
        .collect();
    out.push_str(&format!("<ul class=\"tally\" aria-label=\"Findings by verdict\">\n{}\n</ul>\n", tally.join("\n")));
    let places = [
        ("findings", "Findings"),
        ("side-view", "Side view"),
        ("inside-view", "Inside"),
        ("section-views", "Sections"),
        ("light", "Light"),
        ("strength", "Strength"),
        ("pieces", "Pieces"),
        ("joints", "Joints"),
        ("plate-views", "Plates"),
        ("work", "Plan of work"),
        ("finish", "Finish"),
        ("shopping", "Shopping"),
        ("parts", "Parts"),
        ("power", "Power"),
        ("behaviour", "Behaviour"),
        ("mended", "Mended"),
        ("cautions", "Cautions"),
    ];
    let links: Vec<String> = places.iter().map(|(id, w)| format!("<li><a href=\"#{id}\">{w}</a></li>")).collect();
    out.push_str(&format!("<nav aria-label=\"On this page\"><ul>\n{}\n</ul></nav>\n</header>\n", links.join("\n")));
}

/// Class of a count: that nothing fails, or is unsure, is good news and gets a tick.
fn mark(verdict: Verdict, count: usize) -> &'static str {
    match (verdict, count) {
        (Verdict::Fails | Verdict::Unsure, 0) => findings::class(Verdict::Holds),
        _ => findings::class(verdict),
    }
}

fn drawing(out: &mut String, id: &str, heading: &str, file: &str, sheet: &Sheet) {
    out.push_str(&format!(
        "<section id=\"{id}\">\n<h2>{heading}</h2>\n<p class=\"quiet\"><a href=\"{file}\">The drawing as a file</a>, to \
         scale when printed at full size.</p>\n<div class=\"wide\" role=\"region\" tabindex=\"0\" aria-label=\"{heading}, \
         scrolls sideways\">\n{}</div>\n</section>\n",
        sheet.to_inline()
    ));
}

fn plates(out: &mut String, outcome: &Outcome, beds: &Sheet) {
    out.push_str(&format!(
        "<section id=\"plate-views\">\n<h2>Plates</h2>\n<p class=\"quiet\"><a href=\"drawings/plates.svg\">The drawing as a \
         file</a>, to scale when printed at full size.</p>\n<div class=\"wide\" role=\"region\" tabindex=\"0\" \
         aria-label=\"Plates from above, scrolls sideways\">\n{}</div>\n",
        beds.to_inline()
    ));
    crate::plates::tables(out, outcome);
    out.push_str("</section>\n");
}

fn mended(out: &mut String, outcome: &Outcome) {
    out.push_str("<section id=\"mended\">\n<h2>What was mended</h2>\n");
    if outcome.mends.is_empty() {
        out.push_str("<p>Nothing: the shape was sound as it came.</p>\n");
    } else {
        out.push_str("<p>The shape file stays as it is; these changes were made on the way in.</p>\n<ul>\n");
        for m in &outcome.mends {
            out.push_str(&format!("<li><b>{}</b>: {}</li>\n", escape(&m.body), escape(&m.what)));
        }
        out.push_str("</ul>\n");
        if outcome.mends.iter().any(|m| !m.spots.is_empty()) {
            out.push_str(
                "<p>Each place is marked in <a href=\"shape/mends.3mf\">shape/mends.3mf</a>: open it together with \
                          <a href=\"shape/prop.3mf\">shape/prop.3mf</a>.</p>\n",
            );
        }
    }
    out.push_str("</section>\n");
}
