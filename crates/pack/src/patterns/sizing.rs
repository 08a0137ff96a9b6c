//! The prop beside a person as tall as its wearer, a door, a car and a case, to scale.

use super::paper::{FOOT, MARGIN, Paper};
use super::tiles::{Foot, Page, sign, wrapped};
use crate::svg::{Anchor, Drawing, LETTER, SMALL, Sheet};
use crate::words::{self, short, with_unit};
use prop::admission::{Passage, PassageKind};
use prop::figure::{ANYBODY_MM, Figure, SOURCE};
use prop::outcome::{Outcome, Silhouette};
use solid::DVec2;

/// Scales that are tried, the largest first: a metre then is as many times smaller.
const SCALES: [f64; 8] = [10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0];
/// Between things on the ground, mm on the sheet, with room for a dimension beside the next one.
const GAP: f64 = 14.0;
/// Room at the left for what is said of heights, mm.
const HEIGHTS: f64 = 40.0;
/// Height of a line of small letters, mm.
const LINE: f64 = 4.0;

/// The page on one paper.
pub(super) fn page(outcome: &Outcome, paper: &Paper, foot: &Foot) -> Page {
    Page { name: "1".to_owned(), sheet: drawn(outcome, paper, foot) }
}

/// A thing that stands on the ground: how wide and how high it is, mm.
fn size(passage: &Passage) -> DVec2 {
    match passage.kind {
        PassageKind::Door([wide, high]) => DVec2::new(wide, high),
        PassageKind::Room([long, _, high]) => DVec2::new(long, high),
    }
}

/// The same as a drawing.
pub(super) fn drawn(outcome: &Outcome, paper: &Paper, foot: &Foot) -> Sheet {
    let tall = outcome.wearer_mm.unwrap_or(ANYBODY_MM);
    let figure = Figure::of(tall);
    let outline = upright(outcome);
    let inf = (DVec2::INFINITY, DVec2::NEG_INFINITY);
    let (low, high) = outline.iter().flatten().fold(inf, |(l, h), p| (l.min(*p), h.max(*p)));
    let prop = high - low;
    let half_figure = half_breadth(&figure);
    // Small letters: more of them to a line.
    let notes = notes(outcome, &figure, paper.room().x * LETTER / SMALL);
    let notes_mm = notes.len() as f64 * LINE;
    let room = paper.room() - DVec2::new(0.0, FOOT + 12.0 + notes_mm + 14.0);
    let things = outcome.passages.len() as f64 + 2.0;
    let wide: f64 = prop.x + 2.0 * half_figure + outcome.passages.iter().map(|p| size(p).x).sum::<f64>();
    let highest = outcome.passages.iter().map(|p| size(p).y).fold(figure.reach_mm().max(prop.y), f64::max);
    let fits = |s: &f64| HEIGHTS + wide / s + (things + 0.5) * GAP <= room.x && highest / s + 6.0 <= room.y;
    let scale = SCALES.into_iter().find(fits).unwrap_or(SCALES[SCALES.len() - 1]);
    let alt = format!(
        "{}, {} long, upright beside a person {} tall, to a scale of 1:{}, with {}.",
        outcome.prop,
        words::length(outcome.length_mm, outcome.inches),
        words::length(tall, outcome.inches),
        short(scale, 1),
        outcome.passages.iter().map(|p| p.title.as_str()).collect::<Vec<_>>().join(", ")
    );
    let mut d = Drawing::new("sizing", format!("{}: sizing sheet", outcome.prop), alt);
    let head = format!("{}: beside its wearer, 1:{}", outcome.prop, short(scale, 1));
    d.text("head", DVec2::new(MARGIN, MARGIN + 6.0), Anchor::Start, &head);
    let ground = MARGIN + 12.0 + room.y;
    d.line("thick", DVec2::new(MARGIN, ground), DVec2::new(paper.size.x - MARGIN, ground));
    let at = |x: f64, up: f64| DVec2::new(x, ground - up / scale);
    let mut x = MARGIN + HEIGHTS;

    // The prop, butt on the ground.
    d.begin("prop", "The prop, butt on the ground");
    let placed = |p: &DVec2| at(x + (p.x - low.x) / scale, p.y - low.y);
    outline.iter().for_each(|loops| d.outlines("thick", [loops.iter().map(placed)]));
    let ends = [at(x, 0.0), at(x, prop.y)];
    d.dimension(ends[0], ends[1], -5.0, &words::length(prop.y, outcome.inches));
    d.end();
    x += prop.x / scale + GAP;

    // The person.
    let middle = x + half_figure / scale;
    d.begin("person", "A person as tall as the wearer");
    let body = outline_of(&figure);
    let mirrored = body.iter().rev().map(|p| DVec2::new(-p.x, p.y));
    let whole: Vec<DVec2> = body.iter().copied().chain(mirrored).collect();
    d.outlines("thin", [rounded(&whole, 2).iter().map(|p| at(middle + p.x / scale, p.y)).collect::<Vec<_>>()]);
    d.outlines("thin", [head_of(&figure).iter().map(|p| at(middle + p.x / scale, p.y)).collect::<Vec<_>>()]);
    let side = middle + half_figure / scale;
    d.dimension(at(side, 0.0), at(side, figure.height_mm), 5.0, &words::length(figure.height_mm, outcome.inches));
    d.end();
    for (id, word, up) in [("reach", "reach", figure.reach_mm()), ("shoulder", "shoulder", figure.shoulder_mm)] {
        d.begin(id, word);
        d.line("hidden", at(MARGIN + 1.0, up), at(side + 2.0, up));
        let text = format!("{word} {}", words::length(up.round(), outcome.inches));
        d.text("small", at(MARGIN + 1.0, up) + DVec2::new(0.0, -1.0), Anchor::Start, &text);
        d.end();
    }
    x = side + GAP;

    for (k, passage) in outcome.passages.iter().enumerate() {
        let size = size(passage);
        let (a, b) = (at(x, 0.0), at(x + size.x / scale, size.y));
        d.begin(&format!("passage-{}", k + 1), &passage.title);
        d.rect("thin", DVec2::new(a.x, b.y), DVec2::new(b.x - a.x, a.y - b.y));
        if let PassageKind::Room(_) = passage.kind {
            d.line("quiet", a, b);
        }
        let label = (k + 1).to_string();
        d.circle("thin blank", DVec2::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0), 3.2);
        d.text("name", DVec2::new((a.x + b.x) / 2.0, (a.y + b.y) / 2.0 + 1.25), Anchor::Middle, &label);
        d.dimension(DVec2::new(a.x, a.y), DVec2::new(b.x, a.y), 5.0, &short(size.x, 0));
        d.dimension(DVec2::new(a.x, a.y), DVec2::new(a.x, b.y), -3.5, &short(size.y, 0));
        d.end();
        x = b.x + GAP;
    }
    let mut y = ground + 13.0;
    for line in &notes {
        d.text("small", DVec2::new(MARGIN, y), Anchor::Start, line);
        y += LINE;
    }
    sign(&mut d, paper, foot, &format!("{}: sizing sheet, 1:{}", outcome.prop, short(scale, 1)), [1, 1]);
    d.finish(paper.size)
}

/// What the drawing cannot say.
fn notes(outcome: &Outcome, figure: &Figure, width: f64) -> Vec<String> {
    let cm = |mm: f64| with_unit(&short(mm / 10.0, 0), "cm");
    let whose = match outcome.wearer_mm {
        Some(_) => "the wearer's height (wearer.height)",
        None => "nobody's height is said (wearer.height), so the middle of men and women is drawn",
    };
    let mut all = vec![format!(
        "Person: {whose}; shoulder {}, grip overhead {}, an arm {} from shoulder to fingertips, span {}. Measures: {SOURCE}; the outline \
         between them is drawn. The prop is {} % of the height.",
        cm(figure.shoulder_mm),
        cm(figure.reach_mm()),
        cm(figure.arm_mm()),
        cm(figure.span_mm),
        short(100.0 * outcome.length_mm / figure.height_mm, 0)
    )];
    for (k, passage) in outcome.passages.iter().enumerate() {
        let title =
            if passage.says.starts_with(&passage.title) { String::new() } else { format!("{}. ", passage.title) };
        let usual = if passage.is_usual { " (A usual one: the project names none.)" } else { "" };
        all.push(format!("{}: {title}{}{usual}", k + 1, passage.says));
    }
    all.iter().flat_map(|note| wrapped(note, width)).collect()
}

/// The prop's outlines from the side, turned upright: x through, y from the butt up, mm.
fn upright(outcome: &Outcome) -> Vec<Vec<DVec2>> {
    let of = |s: &Silhouette| -> Vec<DVec2> {
        let far = s.edge.iter().map(|e| DVec2::new(e[2], e[0]));
        let near = s.edge.iter().rev().map(|e| DVec2::new(e[1], e[0]));
        crate::svg::thinned(&far.chain(near).collect::<Vec<_>>())
    };
    // The wider of both views tells more.
    let spread = |s: &Silhouette| s.edge.iter().map(|e| e[2] - e[1]).fold(0.0, f64::max);
    let top = outcome.views.iter().map(|v| spread(&v.top)).fold(0.0, f64::max);
    let side = outcome.views.iter().map(|v| spread(&v.side)).fold(0.0, f64::max);
    outcome.views.iter().map(|v| of(if top > side { &v.top } else { &v.side })).filter(|l| l.len() > 2).collect()
}

/// The right half of a person from the front, from the neck round to the crotch, mm: heights and breadths are the figure's,
/// what lies between them is a plain outline of our own.
fn outline_of(f: &Figure) -> Vec<DVec2> {
    let h = f.height_mm;
    let shoulder = DVec2::new(0.5 * f.between_shoulders_mm, f.shoulder_mm);
    // The arm hangs a little away from the body.
    let (sin, cos) = libm::sincos(13f64.to_radians());
    let (down, out) = (DVec2::new(sin, -cos), DVec2::new(cos, sin));
    let arm = |share: f64, half_mm: f64| shoulder + down * (f.arm_mm() * share) + out * half_mm;
    let wrist_mm = f.wrist_round_mm / std::f64::consts::TAU;
    let to_wrist = 1.0 - f.hand_mm / f.arm_mm();
    let broad = 0.5 * f.broad_mm;
    vec![
        DVec2::new(0.033 * h, 0.875 * h),
        DVec2::new(0.034 * h, f.shoulder_mm + 0.035 * h),
        DVec2::new(0.72 * shoulder.x, f.shoulder_mm + 0.014 * h),
        shoulder,
        DVec2::new(broad, f.shoulder_mm - 0.05 * h),
        arm(0.25, 0.034 * h),
        arm(0.45, 0.026 * h),
        arm(0.55, 0.027 * h),
        arm(to_wrist, wrist_mm),
        arm(to_wrist + 0.10, 0.5 * f.palm_mm),
        arm(0.95, 0.3 * f.palm_mm),
        arm(1.0, 0.0),
        arm(0.95, -0.3 * f.palm_mm),
        arm(to_wrist + 0.10, -0.5 * f.palm_mm),
        arm(to_wrist, -wrist_mm),
        arm(0.55, -0.026 * h),
        arm(0.45, -0.024 * h),
        arm(0.20, -0.030 * h),
        DVec2::new(0.088 * h, f.shoulder_mm - 0.13 * h),
        DVec2::new(0.077 * h, f.crotch_mm + 0.14 * h),
        DVec2::new(0.097 * h, f.crotch_mm + 0.03 * h),
        DVec2::new(0.092 * h, f.crotch_mm - 0.07 * h),
        DVec2::new(0.066 * h, 0.275 * h),
        DVec2::new(0.066 * h, 0.2 * h),
        DVec2::new(0.047 * h, 0.045 * h),
        DVec2::new(0.075 * h, 0.0),
        DVec2::new(0.022 * h, 0.0),
        DVec2::new(0.024 * h, 0.045 * h),
        DVec2::new(0.021 * h, 0.2 * h),
        DVec2::new(0.02 * h, 0.275 * h),
        DVec2::new(0.008 * h, f.crotch_mm - 0.05 * h),
        DVec2::new(0.0, f.crotch_mm),
    ]
}

/// Half of what the outline takes, mm.
fn half_breadth(f: &Figure) -> f64 {
    outline_of(f).iter().map(|p| p.x).fold(0.0, f64::max)
}

/// The head, mm: as broad as one of its girth is.
fn head_of(f: &Figure) -> Vec<DVec2> {
    let half = DVec2::new(0.135 * f.head_round_mm, 0.066 * f.height_mm);
    (0..40)
        .map(|k| libm::sincos(f64::from(k) * std::f64::consts::TAU / 40.0))
        .map(|(s, c)| DVec2::new(half.x * c, f.height_mm - half.y + half.y * s))
        .collect()
}

/// A closed outline with its corners cut, again and again (Chaikin 1974, from memory).
fn rounded(points: &[DVec2], times: usize) -> Vec<DVec2> {
    let mut points = points.to_vec();
    for _ in 0..times {
        let next = |k: usize| points[(k + 1) % points.len()];
        points =
            (0..points.len()).flat_map(|k| [points[k].lerp(next(k), 0.25), points[k].lerp(next(k), 0.75)]).collect();
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The drawn person is as high and as broad as its measures, and its hands hang where arms of their length reach.
    #[test]
    fn the_outline_keeps_the_measures() {
        let f = Figure::of(1700.0);
        let head = head_of(&f);
        assert!((head.iter().map(|p| p.y).fold(0.0, f64::max) - f.height_mm).abs() < 1e-6);
        let body = outline_of(&f);
        assert!(body.iter().all(|p| p.y >= 0.0 && p.y < f.height_mm && p.x >= 0.0));
        let shoulder = DVec2::new(0.5 * f.between_shoulders_mm, f.shoulder_mm);
        assert!(body.contains(&shoulder));
        let farthest = body.iter().filter(|p| p.x > shoulder.x).map(|p| p.distance(shoulder)).fold(0.0, f64::max);
        assert!((farthest - f.arm_mm()).abs() < 1e-6, "{farthest} {}", f.arm_mm());
        assert_eq!(body[body.len() - 1], DVec2::new(0.0, f.crotch_mm));
        assert!(body.iter().any(|p| (p.x - 0.5 * f.broad_mm).abs() < 1e-9));
    }

    #[test]
    fn corners_are_cut_within_the_outline() {
        let square = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)].map(|(x, y)| DVec2::new(x, y));
        let round = rounded(&square, 1);
        assert_eq!(round.len(), 8);
        // Each corner loses a triangle with legs of a quarter of the side.
        assert!((solid::section::area_mm2(&[round]) - (16.0 - 4.0 * 0.5)).abs() < 1e-9);
    }
}
