//! `learnt.toml`: read as a whole, added to at its end.

use super::{Colour, Ladder, Learnt, Light, Note, Print, Rule, Seen, Stock};
use crate::coupon::Feature;
use crate::diagnostic::Diagnostics;
use crate::fields::{Field, Fields, Report, document};
use crate::quantity::{Quantity, Wanted};
use std::fmt::Write as _;

/// What stands at the head of a new file.
const HEAD: &str = "# What was measured on coupons, stock and prints: used by build, check and coupon.\n\
    # calibrate adds tables at the end. Take a table out to forget it; remarks of your own stay.\n\
    schema = 1\n";

const GAP: Wanted = Wanted::length(0.0, 2.0, "0.15 mm");
const LOSS: Wanted = Wanted::length(-1.0, 1.0, "0.12 mm");
const OVER: Wanted = Wanted::length(-1.0, 1.0, "0.02 mm");
const LENGTH: Wanted = Wanted::length(0.05, 1000.0, "99.7 mm");
/// What a printer's program may scale a print by.
pub(super) const SCALE: Wanted = Wanted::of(Quantity::Share, 0.9, 1.1, "100.4 %");
const THICKNESS: Wanted = Wanted::length(0.1, 30.0, "2.1 mm");
/// A little more than all of the light is noise.
const SHARE: Wanted = Wanted::of(Quantity::Share, 1e-6, 1.05, "41 %");
/// Whether shares of the light are of the bare screen's.
const SHARE_OF: [(&str, bool); 2] = [("screen", true), ("steps", false)];
const TIME: Wanted = Wanted::of(Quantity::Time, 1.0, 3_600_000.0, "18000 s");

/// Reads the file.
///
/// # Errors
/// Every mistake at its place.
pub fn read(text: &str) -> Result<Learnt, Diagnostics> {
    let report = Report::default();
    let mut learnt = Learnt::default();
    if let Some(table) = document(text, &report) {
        let mut root = Fields::root(table.get_ref(), &report);
        if let Some(schema) = root.need("schema", "schema = 1") {
            schema.whole(1..=1);
        }
        learnt.ladders = tables(&mut root, "ladder", ladder);
        learnt.rules = tables(&mut root, "rule", rule);
        learnt.stock = tables(&mut root, "stock", stock);
        learnt.prints = tables(&mut root, "print", print);
        learnt.light = tables(&mut root, "light", light);
        root.finish();
    }
    if report.is_empty() { Ok(learnt) } else { Err(report.into_sorted()) }
}

fn tables<T>(root: &mut Fields<'_>, name: &'static str, read: impl Fn(&mut Fields<'_>) -> Option<T>) -> Vec<T> {
    let Some(items) = root.get(name).and_then(|f| f.items(&format!("[[{name}]]"))) else { return Vec::new() };
    let one = |item: &Field<'_>| {
        let mut table = item.table_such_as(&format!("[[{name}]] on a line of its own, its keys below"))?;
        let made = read(&mut table);
        table.finish();
        made
    };
    items.iter().filter_map(one).collect()
}

fn note(table: &mut Fields<'_>) -> Option<Note> {
    let (date, sheet) = (table.text("date", None), table.text("sheet", None));
    Some(Note { date: date?, sheet: sheet? })
}

/// A list of quantities; empty where there is none.
fn quantities(table: &mut Fields<'_>, name: &'static str, wanted: &Wanted) -> Option<Vec<f64>> {
    let Some(field) = table.get(name) else { return Some(Vec::new()) };
    let items = field.items(&format!("[{:?}]", wanted.example))?;
    let read: Vec<Option<f64>> = items.iter().map(|i| i.quantity(wanted)).collect();
    read.into_iter().collect()
}

fn ladder(table: &mut Fields<'_>) -> Option<Ladder> {
    let (printer, material) = (table.text("printer", None), table.text("material", None));
    let features = Feature::ALL.map(|f| (f.name(), f));
    let feature = table.choice("feature", &features, None);
    let mut gap = |name| table.optional_quantity(name, &GAP);
    let [press, stuck, slide, loose] = [gap("press"), gap("stuck"), gap("slide"), gap("loose")];
    let loss = quantities(table, "loss", &LOSS);
    let over = table.quantity("stock-over", &OVER, Some(0.0));
    let note = note(table);
    if let (Some(Some(stuck)), Some(Some(slide))) = (stuck, slide)
        && stuck >= slide
    {
        table.error_at(
            "slide",
            format!("it slid at {slide} mm and not at {stuck} mm, which is wider"),
            "correct one of the two",
        );
    }
    Some(Ladder {
        printer: printer?,
        material: material?,
        feature: feature?,
        press_mm: press?,
        stuck_mm: stuck?,
        slide_mm: slide?,
        loose_mm: loose?,
        loss_mm: loss?,
        stock_over_mm: over?,
        note: note?,
    })
}

fn rule(table: &mut Fields<'_>) -> Option<Rule> {
    let (printer, material) = (table.text("printer", None), table.text("material", None));
    let pair = |f: Field<'_>| f.quantities::<2>(&LENGTH);
    let (outside, inside) = (table.optional("outside", pair), table.optional("inside", pair));
    let scale = table.quantity("scale", &SCALE, Some(1.0));
    let hole_loss = quantities(table, "hole-loss", &LOSS);
    let note = note(table);
    if let (Some(outside), Some(inside)) = (outside, inside)
        && outside.is_some() != inside.is_some()
    {
        table.error(
            "a rule has both outside and inside, or neither",
            "add the one that is missing, or take the other out",
        );
    }
    let lengths_mm = outside?.zip(inside?).map(|(o, i)| [o, i]);
    Some(Rule {
        printer: printer?,
        material: material?,
        lengths_mm,
        scale: scale?,
        hole_loss_mm: hole_loss?,
        note: note?,
    })
}

fn stock(table: &mut Fields<'_>) -> Option<Stock> {
    let name = table.text("name", None);
    let measures = ["thickness", "height", "diameter", "width"].map(|m| (m, m));
    let measure = table.choice("measure", &measures, None);
    let field = table.need("read", "read = [\"10.14 mm\"]");
    let read = quantities(table, "read", &LENGTH);
    if let (Some(field), Some(read)) = (field, &read)
        && read.is_empty()
    {
        field.error::<()>("there is no reading in it", "write one at least, or take the table out");
    }
    let note = note(table);
    Some(Stock { name: name?, measure: measure?.to_owned(), read_mm: read?, note: note? })
}

fn print(table: &mut Fields<'_>) -> Option<Print> {
    let (printer, piece) = (table.text("printer", None), table.text("piece", None));
    let computed = table.quantity("computed", &TIME, None);
    let measured = table.quantity("measured", &TIME, None);
    let note = note(table);
    Some(Print { printer: printer?, piece: piece?, computed_s: computed?, measured_s: measured?, note: note? })
}

fn light(table: &mut Fields<'_>) -> Option<Light> {
    let (printer, material) = (table.text("printer", None), table.text("material", None));
    let colour = table.choice("colour", &Colour::ALL, Some(Colour::White));
    let seen = table.choice("seen", &Seen::ALL, Some(Seen::Camera));
    let of_screen = table.choice("share-of", &SHARE_OF, Some(true));
    let slant = table.optional_quantity("screen-60", &SHARE);
    let thickness = quantities(table, "thickness", &THICKNESS);
    let share = quantities(table, "share", &SHARE);
    let note = note(table);
    let (thickness, share) = (thickness?, share?);
    if thickness.len() != share.len() || share.is_empty() {
        let message = format!("there are {} thicknesses and {} shares", thickness.len(), share.len());
        table.error(message, "write one thickness for each share, or take the table out");
        return None;
    }
    Some(Light {
        printer: printer?,
        material: material?,
        colour: colour?,
        seen: seen?,
        of_screen: of_screen?,
        slant: slant?,
        steps: thickness.into_iter().zip(share).map(|(t, s)| [t, s]).collect(),
        note: note?,
    })
}

/// The text of the file with the tables of `more` at its end; everything that stands there already stays as it is.
pub fn append(text: &str, more: &Learnt) -> String {
    let mut out = if text.trim().is_empty() { HEAD.to_owned() } else { text.to_owned() };
    if !out.ends_with('\n') {
        out.push('\n');
    }
    for l in &more.ladders {
        table(&mut out, "ladder", &[("printer", &l.printer), ("material", &l.material), ("feature", l.feature.name())]);
        for (key, gap) in [("press", l.press_mm), ("stuck", l.stuck_mm), ("slide", l.slide_mm), ("loose", l.loose_mm)] {
            if let Some(gap) = gap {
                let _ = writeln!(out, "{key} = {:?}", mm(gap));
            }
        }
        list(&mut out, "loss", &l.loss_mm);
        if l.stock_over_mm != 0.0 {
            let _ = writeln!(out, "stock-over = {:?}", mm(l.stock_over_mm));
        }
        ended(&mut out, &l.note);
    }
    for r in &more.rules {
        table(&mut out, "rule", &[("printer", &r.printer), ("material", &r.material)]);
        if let Some([outside, inside]) = &r.lengths_mm {
            let _ = writeln!(out, "# drawn, read");
            list(&mut out, "outside", outside);
            list(&mut out, "inside", inside);
        }
        if r.scale != 1.0 {
            let _ =
                writeln!(out, "# set in the printer's program while it printed\nscale = \"{:.3} %\"", r.scale * 100.0);
        }
        list(&mut out, "hole-loss", &r.hole_loss_mm);
        ended(&mut out, &r.note);
    }
    for s in &more.stock {
        table(&mut out, "stock", &[("name", &s.name), ("measure", &s.measure)]);
        list(&mut out, "read", &s.read_mm);
        ended(&mut out, &s.note);
    }
    for p in &more.prints {
        table(&mut out, "print", &[("printer", &p.printer), ("piece", &p.piece)]);
        let _ = writeln!(out, "# its layers, without the printer's start");
        let _ = writeln!(out, "computed = \"{:.0} s\"\nmeasured = \"{:.0} s\"", p.computed_s, p.measured_s);
        ended(&mut out, &p.note);
    }
    more.light.iter().for_each(|l| append_light(&mut out, l));
    out
}

fn append_light(out: &mut String, l: &Light) {
    table(out, "light", &[("printer", &l.printer), ("material", &l.material), ("colour", l.colour.name())]);
    let share_of = SHARE_OF[usize::from(!l.of_screen)].0;
    let _ = writeln!(out, "seen = {:?}\nshare-of = {share_of:?}", l.seen.name());
    if let Some(slant) = l.slant {
        let _ = writeln!(out, "screen-60 = {:?}", percent(slant));
    }
    list(out, "thickness", &l.steps.iter().map(|s| s[0]).collect::<Vec<_>>());
    let shares: Vec<String> = l.steps.iter().map(|s| format!("{:?}", percent(s[1]))).collect();
    let _ = writeln!(out, "share = [{}]", shares.join(", "));
    ended(out, &l.note);
}

/// A share with four figures of what passes a thin step.
fn percent(share: f64) -> String {
    format!("{:.3} %", share * 100.0)
}

fn table(out: &mut String, name: &str, keys: &[(&str, &str)]) {
    let _ = writeln!(out, "\n[[{name}]]");
    for (key, value) in keys {
        let _ = writeln!(out, "{key} = {}", quoted(value));
    }
}

fn ended(out: &mut String, note: &Note) {
    let _ = writeln!(out, "date = {}\nsheet = {}", quoted(&note.date), quoted(&note.sheet));
}

fn list(out: &mut String, key: &str, values: &[f64]) {
    if !values.is_empty() {
        let texts: Vec<String> = values.iter().map(|v| format!("{:?}", mm(*v))).collect();
        let _ = writeln!(out, "{key} = [{}]", texts.join(", "));
    }
}

/// A length as calipers show it and a tenth of that, without trailing zeros.
fn mm(value: f64) -> String {
    let text = format!("{:.3}", value + 0.0);
    let text = text.trim_end_matches('0').trim_end_matches('.');
    format!("{} mm", if text == "-0" { "0" } else { text })
}

/// A TOML basic string.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", c as u32);
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
