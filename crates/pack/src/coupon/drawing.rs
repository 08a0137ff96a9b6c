//! The coupons from above, full size: a print can be laid on its drawing.

use crate::labels::text_width;
use crate::svg::{Anchor, Drawing, Sheet};
use crate::words::short;
use prop::coupon::{Coupon, Feature, Part, Place};
use solid::DVec2;

const MARGIN: f64 = 10.0;
/// Width of the sheet, mm: one page of A4 or US Letter is as wide.
const SHEET_WIDTH: f64 = 249.0;
/// Room round a part in its cell, mm: words above, gaps below, a dimension to the right.
const ABOVE: f64 = 14.0;
const BELOW: f64 = 13.0;
const RIGHT: f64 = 16.0;
const LETTER: f64 = 3.5;
const SMALL: f64 = 3.0;

/// Draws all coupons, one below the other.
pub(super) fn draw(prop: &str, coupons: &[Coupon]) -> Sheet {
    let mut d = Drawing::new(
        "coupon",
        format!("{prop}: fit coupons"),
        format!(
            "{} coupons seen from above, scale 1:1: each row of slots, bores and lids with its figures, the gap on each side \
             of every step in millimetres, and where calipers are put.",
            coupons.len()
        ),
    );
    let mut y = MARGIN;
    for coupon in coupons {
        y = draw_coupon(&mut d, coupon, y) + 6.0;
    }
    let rows = [
        ("Prop", prop.to_owned()),
        ("Drawing", "Fit coupons, from above".to_owned()),
        ("Scale", "1:1".to_owned()),
        ("Numbers", "under a step: its gap on each side, mm".to_owned()),
        ("Sheet", "readings.csv: a line for each step".to_owned()),
    ];
    let height = rows.len() as f64 * 5.4;
    d.title_block(DVec2::new(SHEET_WIDTH - MARGIN, y + height), &rows);
    d.finish(DVec2::new(SHEET_WIDTH, y + height + MARGIN))
}

fn draw_coupon(d: &mut Drawing, coupon: &Coupon, top: f64) -> f64 {
    d.begin(&format!("coupon-{}", coupon.number), &format!("Coupon {}", coupon.number));
    let hours = |s: f64| format!("{:.0} min", (s / 60.0).ceil());
    let head = format!(
        "Coupon {}: printer {}, {}. All on one plate: {} ({} to {})",
        coupon.number,
        coupon.printer,
        coupon.material,
        hours(coupon.time_s.value),
        hours(coupon.time_s.low),
        hours(coupon.time_s.high)
    );
    d.text("head", DVec2::new(MARGIN, top + 4.5), Anchor::Start, &head);
    let (mut x, mut y, mut high) = (MARGIN, top + 9.0, 0.0f64);
    for part in &coupon.parts {
        let size = part.outline[1] - part.outline[0];
        let words = words(coupon, part);
        let longest = words.iter().map(|w| text_width(w, LETTER)).fold(0.0, f64::max);
        let width = (size.x + RIGHT).max(longest + 6.0);
        if x + width > SHEET_WIDTH - MARGIN && x > MARGIN {
            (x, y, high) = (MARGIN, y + high + 4.0, 0.0);
        }
        draw_part(d, part, &words, DVec2::new(x, y));
        x += width + 4.0;
        high = high.max(ABOVE + size.y + BELOW);
    }
    d.end();
    y + high
}

/// The part's name, and what to do with it.
fn words(coupon: &Coupon, part: &Part) -> [String; 2] {
    let row_of = |feature: Feature| {
        let of = coupon.parts.iter().find(|p| p.places.first().is_some_and(|f| f.feature == feature));
        of.map_or(0, |p| p.row)
    };
    let what = match part.places.first().map(|p| p.feature) {
        Some(Feature::StripSlot) => "push the strip through".to_owned(),
        Some(Feature::BarSlot | Feature::BarBore) => "push the bar through".to_owned(),
        Some(Feature::PegBore) => "push peg rod through".to_owned(),
        Some(Feature::PinBore) => format!("try {}-pin", coupon.number),
        Some(Feature::LidPocket) => format!("drop in {}-lid", coupon.number),
        Some(Feature::SlideLid) => format!("slide in {}-slider from the back", coupon.number),
        Some(_) => "measure lengths and holes".to_owned(),
        None if part.name.ends_with("pin") => format!("for row {}", row_of(Feature::PinBore)),
        None if part.name.ends_with("lid") => format!("for row {}", row_of(Feature::LidPocket)),
        None => format!("for row {}", row_of(Feature::SlideLid)),
    };
    [part.name.clone(), what]
}

fn draw_part(d: &mut Drawing, part: &Part, words: &[String; 2], corner: DVec2) {
    d.begin(&part.name, &part.name);
    d.text("name", corner + DVec2::new(0.0, 4.0), Anchor::Start, &words[0]);
    d.text("small", corner + DVec2::new(0.0, 8.5), Anchor::Start, &words[1]);
    let size = part.outline[1] - part.outline[0];
    let at = |p: DVec2| corner + DVec2::new(p.x, ABOVE + size.y - p.y);
    d.rect("thick", at(DVec2::new(0.0, size.y)), size);
    let openings = part.places.iter().filter(|p| p.feature != Feature::Outside);
    for place in openings.clone() {
        d.outlines("thick", [place.outline.iter().map(|p| at(*p))]);
    }
    let ladder: Vec<&Place> = part.places.iter().filter(|p| p.feature.is_ladder()).collect();
    if let Some(first) = ladder.first() {
        let left = first.outline.iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
        let middle = (first.ends[0].y + first.ends[1].y) / 2.0;
        d.text(
            "head",
            at(DVec2::new(left / 2.0, middle)) + DVec2::new(0.0, 1.6),
            Anchor::Middle,
            &part.row.to_string(),
        );
    }
    for place in &ladder {
        if let Some(figure) = place.figure {
            d.text("small", at(figure) + DVec2::new(0.0, 1.1), Anchor::Middle, &place.step.to_string());
            // Gaps stand below the step they belong to, in the part's lowest line under the part itself.
            let below = if figure.y < 8.0 { at(DVec2::new(figure.x, 0.0)) + DVec2::new(1.1, 10.0) } else { continue };
            d.text_turned("small", below, Anchor::Start, &short(place.gap_mm, 3), true);
        }
    }
    match ladder.last() {
        Some(last) => dimension_last(d, last, size, &at),
        None => draw_measures(d, part, &at),
    }
    d.end();
}

/// The measure that calipers take, at the last step.
fn dimension_last(d: &mut Drawing, last: &Place, size: DVec2, at: &dyn Fn(DVec2) -> DVec2) {
    if last.feature == Feature::SlideLid {
        return;
    }
    let text =
        if last.feature.is_round() { format!("\u{2300}{}", short(last.drawn_mm, 2)) } else { short(last.drawn_mm, 2) };
    let [a, b] = last.ends.map(at);
    if last.feature.is_round() {
        let right = at(DVec2::new(size.x, last.ends[0].y)) + DVec2::new(2.0, 0.0);
        d.line("thin", b, right);
        d.text("", right + DVec2::new(0.8, 1.2), Anchor::Start, &text);
    } else {
        let right = at(DVec2::new(size.x, 0.0)).x + 6.0;
        d.dimension(a, b, right - a.x, "");
        d.text("", DVec2::new(right + 1.5, (a.y + b.y) / 2.0 + 1.2), Anchor::Start, &text);
    }
}

/// Lengths and holes of a rule.
fn draw_measures(d: &mut Drawing, part: &Part, at: &dyn Fn(DVec2) -> DVec2) {
    for place in &part.places {
        let [a, b] = place.ends.map(at);
        match place.feature {
            Feature::Outside => {
                let drop = at(DVec2::ZERO).y + 6.0 - a.y;
                d.dimension(a, b, drop, &format!("outside {}", short(place.drawn_mm, 2)));
            }
            Feature::Inside => d.text(
                "",
                (a + b) / 2.0 + DVec2::new(0.0, 1.2),
                Anchor::Middle,
                &format!("inside {}", short(place.drawn_mm, 2)),
            ),
            _ => {
                let middle = (a + b) / 2.0;
                let text = format!("\u{2300}{}", short(place.drawn_mm, 2));
                let below = DVec2::new(middle.x, middle.y + place.drawn_mm / 2.0 + SMALL + 0.8);
                d.text("small", below, Anchor::Middle, &text);
            }
        }
        if place.feature == Feature::Outside {
            d.text("head", at(DVec2::new(8.0, 3.9)) + DVec2::new(0.0, 1.6), Anchor::Middle, &part.row.to_string());
        }
    }
}
