//! What the see-through view shows in one window: outlines, parts, lids with what holds them, wires, ways out.

use super::exit_word;
use crate::labels::{spread, text_width};
use crate::svg::{Anchor, Drawing, LETTER, thinned};
use crate::view::{View, bar_outline, cut_line, named_row, range_at};
use crate::words;
use prop::outcome::{MagnetPair, Outcome, Part, Silhouette};
use prop::project::Pole;
use solid::{DVec2, DVec3, Mesh};

/// Edges of a part between two visible faces are drawn where it turns by more than this (cosine of 30 degrees).
const CREASE: f64 = 0.866;

/// A view of which only the stretch from `from` to `to` (prop frame, x) is shown.
pub(crate) struct Window<'a> {
    pub(crate) view: &'a View,
    pub(crate) from: f64,
    pub(crate) to: f64,
}

impl Window<'_> {
    fn toward(&self) -> DVec3 {
        if self.view.top_view { DVec3::Z } else { -DVec3::Y }
    }

    fn holds(&self, x: f64) -> bool {
        x >= self.from && x <= self.to
    }

    /// Direction on the sheet.
    fn turned(&self, v: DVec3) -> DVec2 {
        DVec2::new(v.x, -self.view.up(v))
    }

    /// Sheet x of both ends.
    fn ends(&self) -> [f64; 2] {
        [self.view.x(self.from), self.view.x(self.to)]
    }

    /// Lowest and highest value of the outlines in the window, prop frame.
    pub(super) fn range(&self, outcome: &Outcome) -> [f64; 2] {
        let edges = outcome.views.iter().flat_map(|v| &self.view.silhouette(v).edge).filter(|e| self.holds(e[0]));
        let parts = outcome.parts.iter().flat_map(|p| &p.mesh.vertices).filter(|v| self.holds(v.x));
        let all = edges.map(|e| [e[1], e[2]]).chain(parts.map(|v| [self.view.up(*v); 2]));
        all.fold(None, |all: Option<[f64; 2]>, e| Some(all.map_or(e, |a| [a[0].min(e[0]), a[1].max(e[1])])))
            .unwrap_or_default()
    }

    /// The parts of a line within the window.
    fn clipped(&self, points: &[DVec2]) -> Vec<Vec<DVec2>> {
        let [lo, hi] = self.ends();
        let mut kept: Vec<Vec<DVec2>> = Vec::new();
        let mut open = false;
        for pair in points.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            if a.x.max(b.x) < lo || a.x.min(b.x) > hi {
                open = false;
                continue;
            }
            let at = |x: f64| a + (b - a) * ((x - a.x) / (b.x - a.x));
            let bound = |p: DVec2| match p.x {
                x if x < lo => at(lo),
                x if x > hi => at(hi),
                _ => p,
            };
            let (p, q) = (bound(a), bound(b));
            if !open {
                kept.push(vec![p]);
            }
            if let Some(last) = kept.last_mut() {
                last.push(q);
            }
            open = q == b;
        }
        kept
    }
}

fn polylines(d: &mut Drawing, class: &str, window: &Window<'_>, points: &[DVec2]) {
    for line in window.clipped(points) {
        d.polyline(class, thinned(&line));
    }
}

/// Bodies' outlines, with a thin line where the window breaks them off.
pub(super) fn outlines(d: &mut Drawing, outcome: &Outcome, window: &Window<'_>, word: &str) {
    let view = window.view;
    for (i, body) in outcome.views.iter().enumerate() {
        let s: &Silhouette = view.silhouette(body);
        let (Some(first), Some(last)) = (s.edge.first(), s.edge.last()) else { continue };
        if last[0] < window.from || first[0] > window.to {
            continue;
        }
        d.begin(&format!("{word}-body-{}", i + 1), &format!("Outline of {}", body.name));
        let upper: Vec<DVec2> = s.edge.iter().map(|e| view.flat(e[0], e[2])).collect();
        let lower: Vec<DVec2> = s.edge.iter().map(|e| view.flat(e[0], e[1])).collect();
        polylines(d, "thick", window, &upper);
        polylines(d, "thick", window, &lower);
        for (x, end) in [(window.from, *first), (window.to, *last)] {
            match range_at(s, x) {
                Some([low, high]) => d.line("thin", view.flat(x, low), view.flat(x, high)),
                None => d.line("thick", view.flat(end[0], end[1]), view.flat(end[0], end[2])),
            }
        }
        d.end();
    }
}

/// Strips and spine, dashed, and the common way of the wires.
pub(super) fn bars(d: &mut Drawing, outcome: &Outcome, window: &Window<'_>, word: &str) {
    let view = window.view;
    for (kind, bars) in [("spine", &outcome.spines), ("strip", &outcome.strips)] {
        for (i, bar) in bars.iter().enumerate() {
            let mut loop_ = bar_outline(view, bar);
            loop_.push(loop_[0]);
            if window.clipped(&loop_).is_empty() {
                continue;
            }
            d.begin(&format!("{word}-{kind}-{}", i + 1), &bar.name);
            polylines(d, "hidden", window, &loop_);
            d.end();
        }
    }
}

/// Edges of a solid that show in the view: its contour, and creases between faces that look at the reader.
fn edges(mesh: &Mesh, window: &Window<'_>) -> Vec<[DVec2; 2]> {
    let toward = window.toward();
    let mut sides: Vec<(u32, u32, DVec3)> = Vec::new();
    for (i, t) in mesh.triangles.iter().enumerate() {
        let normal = mesh.area_vector(i).normalize_or_zero();
        for k in 0..3 {
            let (a, b) = (t[k], t[(k + 1) % 3]);
            sides.push((a.min(b), a.max(b), normal));
        }
    }
    sides.sort_by_key(|s| (s.0, s.1));
    let front = |n: DVec3| n.dot(toward) > 1e-6;
    let mut lines = Vec::new();
    for pair in sides.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        let [one, other] = [pair[0].2, pair[pair.len() - 1].2];
        let contour = front(one) != front(other);
        let crease = front(one) && front(other) && one.dot(other) < CREASE;
        let [a, b] = [pair[0].0, pair[0].1].map(|v| window.view.at(mesh.vertices[v as usize]));
        if (contour || crease) && (a - b).length() > 0.01 {
            lines.push([a, b]);
        }
    }
    lines
}

fn shows(part: &Part, window: &Window<'_>) -> bool {
    part.mesh.bounds().is_some_and(|b| window.holds(b.center().x))
}

/// Each part's outline.
pub(crate) fn parts(d: &mut Drawing, outcome: &Outcome, window: &Window<'_>, word: &str) {
    for part in outcome.parts.iter().filter(|p| shows(p, window)) {
        let title = format!("{}: {}, {}", part.letter, part.name, words::stations(part.station_mm));
        d.begin(&format!("{word}-part-{}", part.letter), &title);
        d.lines("part", edges(&part.mesh, window));
        d.end();
    }
}

/// Letters and names of the parts in a row above, with leaders. Where a part comes out towards the reader or away from
/// him, no arrow can show it: the leader ends in the arrow's point or its feathers, and the name says what it comes
/// through.
pub(super) fn part_names(d: &mut Drawing, outcome: &Outcome, window: &Window<'_>, word: &str, y: f64, width: f64) {
    let view = window.view;
    let magnets = outcome.lids.iter().flat_map(|l| &l.magnets).flat_map(|m| m.face).map(|p| view.at(p));
    let wires = outcome.wires.iter().flat_map(|w| &w.points).map(|p| view.at(*p));
    let mut taken: Vec<DVec2> = magnets.chain(wires).collect();
    let mut marks = Vec::new();
    let mut names: Vec<(DVec2, String)> = Vec::new();
    for part in outcome.parts.iter().filter(|p| shows(p, window)) {
        let Some(b) = part.mesh.bounds() else { continue };
        // Where it keeps off wires, magnets and other leaders.
        let places =
            [-0.36, -0.24, -0.12, 0.12, 0.24, 0.36].into_iter().flat_map(|x| [0.0, 0.3, -0.3].map(|up| (x, up)));
        let at = |(x, up): (f64, f64)| view.at(b.center() + b.size() * DVec3::new(x, up, up));
        let free = |p: DVec2| taken.iter().map(|t| (*t - p).length()).fold(8.0, f64::min);
        let best = places.map(at).max_by(|p, q| free(*p).total_cmp(&free(*q)));
        let Some(target) = best else { continue };
        taken.push(target);
        let mut name = format!("{} {}", part.letter, part.name);
        if flat(part, window) {
            name = format!("{name}, {}", exit_word(part));
            marks.push((target, part.way_out.dot(window.toward()) > 0.0));
        }
        names.push((target, name));
    }
    d.begin(&format!("{word}-names"), "Names of the parts");
    named_row(d, y, width, "name", &names);
    for (at, toward) in marks {
        d.circle("thin blank", at, 1.6);
        if toward {
            d.circle("solid", at, 0.5);
        } else {
            let (a, b) = (DVec2::splat(1.1), DVec2::new(1.1, -1.1));
            d.lines("thin", [[at - a, at + a], [at - b, at + b]]);
        }
    }
    d.end();
}

/// Whether a part comes out along the line of sight.
fn flat(part: &Part, window: &Window<'_>) -> bool {
    window.turned(part.way_out.normalize_or_zero()).length() < 0.3
}

/// Lids as they lie in their seats.
pub(crate) fn lids(d: &mut Drawing, outcome: &Outcome, window: &Window<'_>, word: &str) {
    for lid in outcome.lids.iter().filter(|l| window.holds(l.seat.x)) {
        let Some(piece) = outcome.pieces.iter().find(|p| p.number == lid.piece) else { continue };
        let number = words::piece(lid.piece);
        d.begin(&format!("{word}-lid-{number}"), &format!("Lid, piece {number}"));
        let shadow = shadow(&piece.mesh.transformed(&piece.to_prop), window.view);
        d.outlines("lid", [crate::view::outline(window.view, &shadow)]);
        d.end();
    }
}

/// Lowest and highest value of a small mesh at steps along x.
fn shadow(mesh: &Mesh, view: &View) -> Silhouette {
    const STEPS: usize = 120;
    let Some(b) = mesh.bounds() else { return Silhouette::default() };
    let step = (b.max.x - b.min.x).max(1e-6) / STEPS as f64;
    let mut edge: Vec<[f64; 3]> =
        (0..=STEPS).map(|i| [b.min.x + i as f64 * step, f64::INFINITY, f64::NEG_INFINITY]).collect();
    for t in 0..mesh.triangles.len() {
        let c = mesh.corners(t);
        for (p, q) in [(c[0], c[1]), (c[1], c[2]), (c[2], c[0])] {
            let (p, q) = if p.x <= q.x { (p, q) } else { (q, p) };
            let first = ((p.x - b.min.x) / step).ceil() as usize;
            let last = (((q.x - b.min.x) / step).floor() as usize).min(STEPS);
            for e in edge.iter_mut().take(last + 1).skip(first) {
                let share = if q.x > p.x { ((e[0] - p.x) / (q.x - p.x)).clamp(0.0, 1.0) } else { 0.0 };
                let up = view.up(p + (q - p) * share);
                *e = [e[0], e[1].min(up), e[2].max(up)];
            }
        }
    }
    edge.retain(|e| e[1] <= e[2]);
    Silhouette { edge }
}

/// Magnets with the pole that looks out of their pockets, screws with their axes.
pub(super) fn hold(d: &mut Drawing, outcome: &Outcome, window: &Window<'_>, word: &str) {
    let mut signs: Vec<(DVec2, bool)> = Vec::new();
    d.begin(&format!("{word}-hold"), "Magnets and screws of lids and joints");
    // The way out of the first piece's face: of the butt side's towards the tip, of the body's towards the lid.
    let of_joints = outcome.joints.iter().flat_map(|j| j.take_down.iter().map(|t| (&t.magnets, j.frame.along)));
    let of_lids = outcome.lids.iter().map(|l| (&l.magnets, l.out));
    for (pairs, facing) in of_lids.chain(of_joints) {
        for pair in pairs {
            for (side, facing) in [facing, -facing].into_iter().enumerate() {
                magnet(d, window, pair, side, facing, &mut signs);
            }
        }
    }
    for s in outcome.lids.iter().flat_map(|l| &l.screws).filter(|s| window.holds(s.at.x)) {
        let (at, out) = (window.view.at(s.at), window.turned(s.out));
        if out.length() < 0.3 {
            d.circle("thin", at, 1.5 / window.view.scale);
            d.lines("thin", [[at - DVec2::X * 2.2, at + DVec2::X * 2.2], [at - DVec2::Y * 2.2, at + DVec2::Y * 2.2]]);
        } else {
            let reach = out * (4.0 / window.view.scale);
            d.line("centre", at - reach * 1.5, at + reach);
            let square = reach.perp() * 0.6;
            d.line("thin", at + reach * 0.8 - square, at + reach * 0.8 + square);
        }
    }
    // Where two magnets lie behind each other with opposite poles, both are told.
    let mut told: Vec<(DVec2, [bool; 2])> = Vec::new();
    for (at, plus) in signs {
        match told.iter_mut().find(|(t, _)| (*t - at).length() < 2.5) {
            Some((_, poles)) => poles[usize::from(plus)] = true,
            None => told.push((at, [!plus, plus])),
        }
    }
    for (at, poles) in told {
        let sign = match poles {
            [true, true] => "+/\u{2212}",
            [true, false] => "\u{2212}",
            _ => "+",
        };
        d.text("small name", at + DVec2::new(0.0, 1.1), Anchor::Middle, sign);
    }
    d.end();
}

fn magnet(
    d: &mut Drawing,
    window: &Window<'_>,
    pair: &MagnetPair,
    side: usize,
    facing: DVec3,
    signs: &mut Vec<(DVec2, bool)>,
) {
    let (face, plus) = (pair.face[side], pair.pole[side] == Pole::Plus);
    if !window.holds(face.x) {
        return;
    }
    let (at, scale) = (window.view.at(face), window.view.scale);
    let dir = window.turned(facing);
    let half = pair.pocket_mm / 2.0 / scale;
    if dir.length() < 0.5 {
        d.circle("magnet", at, half);
        signs.push((at, plus));
        return;
    }
    let (dir, depth) = (dir.normalize(), dir * pair.depth_mm / scale);
    let square = dir.perp() * half;
    d.outlines("magnet", [[at + square, at - square, at - square - depth, at + square - depth]]);
    signs.push((at - depth - dir * 2.2, plus));
}

/// The ways of the wires.
pub(crate) fn wires(d: &mut Drawing, outcome: &Outcome, window: &Window<'_>, word: &str) {
    for wire in &outcome.wires {
        let points: Vec<DVec2> = wire.points.iter().map(|p| window.view.at(*p)).collect();
        if window.clipped(&points).is_empty() {
            continue;
        }
        d.begin(&format!("{word}-W{}", wire.number), &format!("Way of the wires W{}", wire.number));
        polylines(d, "wire", window, &points);
        d.end();
    }
}

/// Names of the wires in a row below, each led to where its way lies farthest from the others.
pub(crate) fn wire_names(d: &mut Drawing, outcome: &Outcome, window: &Window<'_>, word: &str, y: f64, width: f64) {
    let ways: Vec<Vec<DVec2>> = outcome
        .wires
        .iter()
        .map(|w| {
            let points: Vec<DVec2> = w.points.iter().map(|p| window.view.at(*p)).collect();
            let steps = |line: &Vec<DVec2>| {
                line.windows(2)
                    .flat_map(|p| {
                        let n = (p[1] - p[0]).length().ceil().max(1.0) as u32;
                        let (a, b) = (p[0], p[1]);
                        (0..n).map(move |k| a + (b - a) * (f64::from(k) / f64::from(n)))
                    })
                    .collect::<Vec<_>>()
            };
            window.clipped(&points).iter().flat_map(steps).collect()
        })
        .collect();
    let mut names = Vec::new();
    for (i, way) in ways.iter().enumerate() {
        let apart = |p: &DVec2| {
            let others = ways.iter().enumerate().filter(|(k, _)| *k != i).flat_map(|(_, w)| w);
            others.map(|q| (*p - *q).length_squared()).fold(400.0, f64::min)
        };
        // The lowest of places alike, so that leaders cross little.
        let best = way.iter().map(|p| (apart(p), *p)).max_by(|a, b| a.0.total_cmp(&b.0).then(a.1.y.total_cmp(&b.1.y)));
        names.extend(best.map(|(_, p)| (p, format!("W{}", outcome.wires[i].number))));
    }
    // Beside the arrows of ways out, so that leaders and words keep off them.
    let arrows: Vec<f64> = outcome
        .parts
        .iter()
        .filter(|p| shows(p, window) && !flat(p, window))
        .filter_map(|p| Some(window.view.at(p.mesh.bounds()?.center()).x))
        .collect();
    let beside = |x: f64| if arrows.iter().any(|a| (a - x).abs() < 5.0) { x + 8.0 } else { x };
    let wanted: Vec<(f64, f64)> =
        names.iter().map(|(at, n): &(DVec2, String)| (beside(at.x), text_width(n, LETTER) + 2.0)).collect();
    d.begin(&format!("{word}-wires"), "Names of the wires");
    for ((target, name), x) in names.iter().zip(spread(&wanted, 4.0, width - 4.0)) {
        d.line("thin", DVec2::new(x, y - LETTER), *target);
        d.circle("solid", *target, 0.5);
        d.text("", DVec2::new(x, y), Anchor::Middle, name);
    }
    d.end();
}

/// Cuts in the window, with their names.
pub(super) fn cuts(d: &mut Drawing, outcome: &Outcome, window: &Window<'_>, word: &str) {
    for joint in outcome.joints.iter().filter(|j| window.holds(j.frame.point.x)) {
        let [upper, lower] = cut_line(outcome, window.view, joint);
        d.begin(&format!("{word}-J{}", joint.number), &format!("Joint J{}", joint.number));
        d.line("cut", upper, lower);
        d.text("name", DVec2::new(upper.x, upper.y - 1.0), Anchor::Middle, &format!("J{}", joint.number));
        d.end();
    }
}

/// An arrow from each part the way it comes out, with the lid, joint or port that it leads through. `edges` are the upper
/// and lower end of the outlines on the sheet, `rows` the base lines of the words above and below.
pub(super) fn ways_out(
    d: &mut Drawing,
    outcome: &Outcome,
    window: &Window<'_>,
    word: &str,
    edges: [f64; 2],
    rows: [f64; 2],
    width: f64,
) {
    let mut rowed: [Vec<(DVec2, String)>; 2] = Default::default();
    d.begin(&format!("{word}-ways"), "The way each part comes out");
    for part in outcome.parts.iter().filter(|p| shows(p, window) && !flat(p, window)) {
        let Some(middle) = part.mesh.bounds().map(|b| b.center()) else { continue };
        let Some(out) = part.way_out.try_normalize() else { continue };
        let (at, dir, said) = (window.view.at(middle), window.turned(out).normalize_or_zero(), exit_word(part));
        let reach = part.mesh.vertices.iter().map(|v| (window.view.at(*v) - at).dot(dir)).fold(0.0, f64::max);
        if dir.y.abs() > 0.5 {
            let below = usize::from(dir.y > 0.0);
            let y = if below == 1 { edges[1] + super::ARROW - 1.0 } else { edges[0] - super::ARROW + 1.0 };
            let tip = at + dir * ((y - at.y) / dir.y);
            arrow(d, at + dir * reach, tip);
            rowed[below].push((tip, said));
        } else {
            let from = at + dir * reach;
            let tip = from + dir * 9.0;
            arrow(d, from, tip);
            d.text("small", tip + DVec2::new(0.0, -1.6), Anchor::Middle, &said);
        }
    }
    for (row, y) in rowed.iter().zip(rows) {
        row_out(d, row, y, width);
    }
    d.end();
}

/// Words beyond the tips of arrows; arrows through one lid share one word.
fn row_out(d: &mut Drawing, tips: &[(DVec2, String)], y: f64, width: f64) {
    let mut said: Vec<(String, Vec<DVec2>)> = Vec::new();
    for (tip, word) in tips {
        match said.iter_mut().find(|(w, at)| w == word && w != "port" && !at.is_empty()) {
            Some((_, at)) => at.push(*tip),
            None => said.push((word.clone(), vec![*tip])),
        }
    }
    let middle = |at: &Vec<DVec2>| at.iter().map(|p| p.x).sum::<f64>() / at.len() as f64;
    let wanted: Vec<(f64, f64)> = said.iter().map(|(w, at)| (middle(at), text_width(w, 3.0) + 2.0)).collect();
    for ((word, at), x) in said.iter().zip(spread(&wanted, 4.0, width - 4.0)) {
        for tip in at.iter().filter(|t| (t.x - x).abs() > text_width(word, 3.0) / 2.0) {
            let level = if tip.y > y { y + 0.8 } else { y - LETTER + 0.5 };
            d.polyline("thin", [*tip, DVec2::new(x, level)]);
        }
        d.text("small", DVec2::new(x, y), Anchor::Middle, word);
    }
}

fn arrow(d: &mut Drawing, from: DVec2, tip: DVec2) {
    let Some(dir) = (tip - from).try_normalize() else { return };
    let back = tip - dir * 2.4;
    d.line("thin", from, back);
    d.outlines("solid", [[tip, back + dir.perp() * 0.8, back - dir.perp() * 0.8]]);
}
