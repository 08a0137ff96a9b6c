//! What is painted, what is bought, what it costs and weighs.

use super::table;
use crate::html::escape;
use crate::work::kinds;
use prop::finish::Bond;
use prop::outcome::Outcome;

/// Finish: zones with their coats, seams and wraps.
pub(crate) fn finish(out: &mut String, outcome: &Outcome) {
    let finish = &outcome.finish;
    out.push_str("<section id=\"finish\">\n<h2>Finish</h2>\n");
    if finish.zones.is_empty() && finish.wraps.is_empty() {
        out.push_str("<p>Nothing is painted or wrapped. Give bodies coats, or grips a wrap, in the project file.</p>\n</section>\n");
        return;
    }
    out.push_str(
        "<p>Measured on the pieces as they print, bare windows left out. In full: <a href=\"work/finish.csv\">what each takes</a>, \
         <a href=\"work/areas.csv\">areas by piece</a>. Try the whole stack on a scrap of the same print first.</p>\n",
    );
    let mut rows = Vec::new();
    for zone in &finish.zones {
        for layer in &zone.layers {
            let ml =
                layer.wet_ml.map_or_else(|| "not known".to_owned(), |b| format!("{:.0} to {:.0} ml", b.low, b.high));
            let holds = match &layer.bond {
                Bond::Holds => "holds".to_owned(),
                Bond::Parts(on) => format!("does not hold on {on}"),
                Bond::Unknown(what) => format!("nobody says {what}"),
            };
            let area = format!("{:.0}", zone.area_mm2() / 100.0);
            rows.push(vec![zone.name.clone(), area, layer.title.clone(), layer.by.word().to_owned(), ml, holds]);
        }
    }
    let columns = ["Zone", "cm²", "Coat", "With", "Wet", "On what is below"];
    table(out, "Coats", "work/finish.csv", "Coats by zone, from the plastic outwards.", &columns, rows.into_iter());
    let seams: f64 = finish.seams.iter().map(|s| s.round_mm).sum();
    if let Some(seam) = finish.seams.first() {
        let ml: f64 = finish.seams.iter().map(|s| s.wet_ml).sum();
        out.push_str(&format!("<p>Seams: {seams:.0} mm in all, {ml:.1} ml to stir. {}</p>\n", escape(&seam.caution)));
    }
    let rows = finish.wraps.iter().map(|w| {
        let hands =
            if w.hands.is_empty() { "one pair".to_owned() } else { format!("two pairs {}", w.hands.join(", ")) };
        vec![
            w.name.clone(),
            w.title.clone(),
            format!("{} × {:.2} m", w.bands, w.cut_mm / 1000.0),
            format!("{:.1}", w.turns),
            w.crossings_mm.len().to_string(),
            hands,
        ]
    });
    let columns = ["Wrap", "With", "Cut", "Turns", "Crossings", "Hands"];
    table(out, "Wraps", "work/finish.csv", "What is wound round grips.", &columns, rows);
    out.push_str("</section>\n");
}

/// Shopping and cost.
pub(crate) fn shopping(out: &mut String, outcome: &Outcome) {
    let list = &outcome.shopping;
    out.push_str("<section id=\"shopping\">\n<h2>Shopping and cost</h2>\n");
    if list.lines.is_empty() {
        out.push_str("<p>Nothing is listed.</p>\n</section>\n");
        return;
    }
    let range = |[low, high]: [f64; 2]| format!("{low:.0} to {high:.0} {}", list.currency);
    out.push_str(&format!(
        "<p>To buy: {}. Used up in all: {}. Finished, it weighs {:.0} g. {:.1} plates are expected to be printed again. As tables: \
         <a href=\"work/shopping.csv\">what to buy</a>, <a href=\"work/cost.csv\">cost and weight</a>. Prices are those of the list \
         or of the project file, with their day.</p>\n",
        escape(&range(list.bought)),
        escape(&range(list.used)),
        list.mass_g().value,
        list.reprints
    ));
    let rows = list.lines.iter().map(|l| {
        let cost = l.cost.map_or_else(|| "no price".to_owned(), |[a, b]| format!("{a:.2} to {b:.2}"));
        let buy =
            if l.packages == 0 { "nothing".to_owned() } else { format!("{} of {}", l.packages, l.package.words()) };
        vec![l.kind.to_owned(), l.title.clone(), l.taken.words(), l.has.words(), buy, cost]
    });
    let cost = format!("Cost, {}", list.currency);
    let columns = ["Kind", "What", "Taken", "There", "Buy", &cost];
    table(
        out,
        "What is bought",
        "work/shopping.csv",
        "What is taken, with waste and spare, and what is missing.",
        &columns,
        rows,
    );
    let rows = kinds(list).into_iter().map(|(kind, used, bought)| vec![kind.to_owned(), range(used), range(bought)]);
    table(
        out,
        "Cost by kind",
        "work/cost.csv",
        "What is used and what is bought, by kind.",
        &["Kind", "Used", "Bought"],
        rows,
    );
    let rows = list.weights.iter().map(|w| {
        let between = format!("{:.0} to {:.0}", w.mass_g.low, w.mass_g.high);
        vec![w.what.clone(), format!("{:.0}", w.mass_g.value), between]
    });
    table(out, "Weight", "work/cost.csv", "The finished prop by part.", &["Part", "g", "Between"], rows);
    out.push_str("</section>\n");
}
