//! Wraps at full size: the grip unrolled, with the way of its bands.

use super::tiles::Pattern;
use crate::svg::{Anchor, Drawing, thinned};
use crate::words::{self, short, with_unit};
use prop::finish::Wrap;
use prop::outcome::Outcome;
use prop::project::Pattern as Laying;
use solid::DVec2;

const MARGIN: f64 = 14.0;
/// Room above an unrolled grip for its words, and below for its stations, mm.
const ABOVE: f64 = 24.0;
const BELOW: f64 = 14.0;
/// Marks along the grip, mm; every fifth has its number.
const MARKS_MM: f64 = 10.0;
/// The sheet is at least so wide, mm: its words need it.
const LEAST: f64 = 240.0;

pub(super) fn pattern(outcome: &Outcome) -> Option<Pattern> {
    let wraps = &outcome.finish.wraps;
    let longest = wraps.iter().map(|w| w.station_mm[1] - w.station_mm[0]).reduce(f64::max)?;
    let width = (longest + 2.0 * MARGIN).max(LEAST);
    let mut d = Drawing::new(
        "wraps",
        format!("{}: wraps at full size", outcome.prop),
        "Each wrapped grip unrolled at full size, butt left, slit along the line opposite +z, with the middle of every turn of its bands."
            .to_owned(),
    );
    let mut y = MARGIN;
    for wrap in wraps {
        y = draw(&mut d, wrap, y);
    }
    let notes = vec![
        "Each grip is unrolled as a taut cord measures it: as long as its stations, as wide as its girth at each of them. Where the \
         girth changes, its edges run aslant; the length along them is then a little more than on the sheet."
            .to_owned(),
        "Cut it out, lay it round the grip with this side out and the cut edges meeting opposite +z, and prick the lines through. A \
         line is the middle of a band."
            .to_owned(),
    ];
    Some(Pattern { name: "wraps", title: "wraps".to_owned(), sheet: d.finish(DVec2::new(width, y + 4.0)), notes })
}

/// One grip. Returns the next free y.
fn draw(d: &mut Drawing, wrap: &Wrap, top: f64) -> f64 {
    let [from, to] = wrap.station_mm;
    let half = wrap.girth_mm[1] * 0.5;
    let middle_y = top + ABOVE + half;
    let at = |station: f64, round: f64| DVec2::new(MARGIN + station - from, middle_y - round);
    d.begin(&format!("wrap-{}", wrap.name), &format!("Wrap {}", wrap.name));
    let bands = crate::words::counted(wrap.bands as usize, "band", "bands");
    let lines = [
        ("name", format!("{}: {}, round {}, {}", wrap.name, wrap.title, wrap.body, words::stations(wrap.station_mm))),
        (
            "",
            format!(
                "{bands} of {}, cut to {} each; {} turns; girth {} to {}",
                with_unit(&short(wrap.band_mm, 1), "mm"),
                with_unit(&short(wrap.cut_mm, 0), "mm"),
                short(wrap.turns, 1),
                short(wrap.girth_mm[0], 1),
                with_unit(&short(wrap.girth_mm[1], 1), "mm")
            ),
        ),
    ];
    for (k, (class, line)) in lines.iter().enumerate() {
        d.text(class, DVec2::new(MARGIN, top + 5.0 + 6.0 * k as f64), Anchor::Start, line);
    }
    // The steps' middles, and both ends of the grip.
    let mut along = wrap.along.clone();
    if let (Some(first), Some(last)) = (wrap.along.first(), wrap.along.last()) {
        along.insert(0, [from, first[1], 0.0]);
        along.push([to, last[1], wrap.turns]);
    }
    let side = |sign: f64| -> Vec<DVec2> { along.iter().map(|[s, girth, _]| at(*s, sign * girth * 0.5)).collect() };
    let mut edge = thinned(&side(1.0));
    edge.extend(thinned(&side(-1.0)).into_iter().rev());
    d.outlines("thick", [edge]);
    d.line("centre", at(from, 0.0), at(to, 0.0));
    d.text("small", at(from, 0.0) + DVec2::new(1.0, -1.0), Anchor::Start, "+z");
    let ways: &[f64] = if wrap.pattern == Laying::Crossed { &[1.0, -1.0] } else { &[1.0] };
    for way in ways {
        for turn in turns(&along, *way) {
            d.polyline("band", turn.into_iter().map(|[s, round]| at(s, round)));
        }
    }
    // Both bands start at the slit: they cross at +z after half a turn, at the slit after a whole one, and so on.
    for (k, station) in wrap.crossings_mm.iter().enumerate() {
        let girth = along.iter().take_while(|a| a[0] <= *station).last().map_or(0.0, |a| a[1]);
        let places = if k % 2 == 0 { vec![0.0] } else { vec![0.5 * girth, -0.5 * girth] };
        places.into_iter().for_each(|round| d.circle("quiet", at(*station, round), 1.0));
    }
    let y = middle_y + half + 4.0;
    for k in (from / MARKS_MM).ceil() as i64..=(to / MARKS_MM).floor() as i64 {
        let station = k as f64 * MARKS_MM;
        let x = at(station, 0.0).x;
        let tall = k % 5 == 0;
        d.line("thin", DVec2::new(x, y), DVec2::new(x, y + if tall { 2.2 } else { 1.2 }));
        if tall {
            d.text("small", DVec2::new(x, y + 5.6), Anchor::Middle, &short(station, 0));
        }
    }
    d.line("thin", DVec2::new(at(from, 0.0).x, y), DVec2::new(at(to, 0.0).x, y));
    d.end();
    y + BELOW
}

/// The middle of a band, from slit to slit: station, and how far round from +z, mm. `way` is the sense in which it is wound.
fn turns(along: &[[f64; 3]], way: f64) -> Vec<Vec<[f64; 2]>> {
    let mut all = Vec::new();
    let mut turn: Vec<[f64; 2]> = Vec::new();
    // It starts at the slit, half a turn from +z.
    for pair in along.windows(2) {
        let ([s0, g0, t0], [s1, g1, t1]) = (pair[0], pair[1]);
        let mut push = |turns: f64, whole: f64, all: &mut Vec<Vec<[f64; 2]>>, ends: bool| {
            let share = if t1 > t0 { (turns - t0) / (t1 - t0) } else { 0.0 };
            let girth = g0 + (g1 - g0) * share;
            turn.push([s0 + (s1 - s0) * share, way * (turns - whole - 0.5) * girth]);
            if ends {
                all.push(std::mem::take(&mut turn));
            }
        };
        let mut whole = t0.floor();
        push(t0, whole, &mut all, false);
        while whole + 1.0 <= t1 {
            push(whole + 1.0, whole, &mut all, true);
            whole += 1.0;
            push(whole, whole, &mut all, false);
        }
    }
    if let Some([s, g, t]) = along.last() {
        turn.push([*s, way * (t - t.floor() - 0.5) * g]);
    }
    all.push(turn);
    all.retain(|t| t.len() > 1 && t[0] != t[t.len() - 1]);
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Round a cylinder of girth 100 mm, at a pitch of 20 mm: straight lines from slit to slit, each 20 mm on.
    #[test]
    fn turns_run_from_slit_to_slit() {
        let along: Vec<[f64; 3]> = (0..=50).map(|k| [f64::from(k), 100.0, f64::from(k) / 20.0]).collect();
        let found = turns(&along, 1.0);
        assert_eq!(found.len(), 3);
        for (k, turn) in found.iter().enumerate() {
            let first = 20.0 * k as f64;
            assert!((turn[0][0] - first).abs() < 1e-9 && (turn[0][1] + 50.0).abs() < 1e-9, "{turn:?}");
            assert!(turn.iter().all(|[s, round]| (round + 50.0 - (s - first) * 5.0).abs() < 1e-9));
        }
        let last = found[2][found[2].len() - 1];
        assert!((last[0] - 50.0).abs() < 1e-9 && last[1].abs() < 1e-9);
    }
}
