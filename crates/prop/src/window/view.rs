//! Windows as drawings show them: their outlines seen from the side and from the top.

use super::{WindowIdx, Windows, Zone};
use crate::slices::crossings;
use crate::stages::Placed;
use solid::{DVec2, DVec3};

/// A window for drawings and files.
#[derive(Clone, Debug)]
pub struct WindowView {
    /// Its name.
    pub name: String,
    /// Name of its body.
    pub body: String,
    /// Whether it follows from the body's `glow`.
    pub implied: bool,
    /// Area, mm2.
    pub area_mm2: f64,
    /// Stations it spans, mm.
    pub station_mm: [f64; 2],
    /// What a point must keep to lie in it.
    pub zone: Zone,
    /// The lines that its band runs along, one for each side, x ascending, prop frame, mm.
    pub lines: Vec<Vec<DVec3>>,
    /// Its coats, from the plastic outwards (catalogue names).
    pub coats: Vec<String>,
    /// Stations of its body's ends where another body is joined on, mm.
    pub joined_mm: Vec<f64>,
    /// The coats of its body beside it.
    pub beside: Vec<String>,
    /// What of it is seen from the side: closed outlines in (x, z), mm.
    pub side: Vec<Vec<DVec2>>,
    /// What of it is seen from the top: closed outlines in (x, y), mm.
    pub top: Vec<Vec<DVec2>>,
}

/// Distance between the planes that outlines are found on, and between the points looked at on each, mm.
const PLANE_MM: f64 = 2.0;
const POINT_MM: f64 = 0.5;
/// Gaps on a plane that are closed, and patches that are left out, mm.
const GAP_MM: f64 = 0.8;
const PATCH_MM: f64 = 0.3;

/// Which way each view looks at the prop, and which coordinate goes up in it: the side view from -y, the top view from +z.
const VIEWS: [(DVec3, usize); 2] = [(DVec3::NEG_Y, 2), (DVec3::Z, 1)];

/// Stretches on one plane: low, high.
type Stretches = Vec<[f64; 2]>;

/// All windows as they are seen.
pub fn views(windows: &Windows, placed: &Placed) -> Vec<WindowView> {
    let mut seen: Vec<[Vec<Vec<DVec2>>; 2]> = vec![[Vec::new(), Vec::new()]; windows.list().len()];
    for (body, b) in placed.bodies.iter().enumerate() {
        let own: Vec<usize> = (0..seen.len()).filter(|w| windows.list()[*w].body == body).collect();
        let Some(bounds) = b.mesh.bounds().filter(|_| !own.is_empty()) else { continue };
        let n = ((bounds.max.x - bounds.min.x) / PLANE_MM).floor() as usize + 1;
        let at: Vec<f64> = (0..n).map(|k| bounds.min.x + (k as f64 + 0.5) * PLANE_MM).collect();
        let mut found: Vec<[Vec<Stretches>; 2]> = vec![[vec![Vec::new(); n], vec![Vec::new(); n]]; own.len()];
        crossings(&b.mesh, &at, |k, t, [p, q]| {
            let Some(normal) = b.mesh.area_vector(t).try_normalize() else { return };
            let parts = ((q - p).length() / POINT_MM).ceil().max(1.0) as usize;
            for i in 0..parts {
                let part = |i: usize| p.lerp(q, i as f64 / parts as f64);
                let (a, c) = (part(i), part(i + 1));
                let middle = (a + c) * 0.5;
                let Some(w) = windows.which(body, DVec3::new(at[k], middle.x, middle.y), normal) else { continue };
                let Some(slot) = own.iter().position(|o| *o == w.0) else { continue };
                for (view, (towards, axis)) in VIEWS.iter().enumerate() {
                    if normal.dot(*towards) > 1e-6 {
                        let (a, c) = (a[axis - 1], c[axis - 1]);
                        found[slot][view][k].push([a.min(c), a.max(c)]);
                    }
                }
            }
        });
        for (slot, w) in own.iter().enumerate() {
            for view in 0..2 {
                let planes: Vec<Stretches> = found[slot][view].iter_mut().map(|s| joined(std::mem::take(s))).collect();
                seen[*w][view] = outlines(&at, &planes);
            }
        }
    }
    let each = windows.list().iter().enumerate().zip(seen);
    each.map(|((k, w), [side, top])| WindowView {
        name: w.name.clone(),
        body: placed.bodies[w.body].name.clone(),
        implied: w.implied,
        area_mm2: w.area_mm2,
        station_mm: w.station_mm,
        zone: w.zone.clone(),
        lines: windows.band_lines(WindowIdx(k)).into_iter().map(<[DVec3]>::to_vec).collect(),
        joined_mm: windows.joined_mm(w.body),
        coats: w.skin.coats.clone(),
        beside: windows.skin(w.body, None).map_or_else(Vec::new, |s| s.coats.clone()),
        side,
        top,
    })
    .collect()
}

/// Stretches in order, those that touch made one.
fn joined(mut all: Stretches) -> Stretches {
    all.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let mut out: Stretches = Vec::new();
    for [low, high] in all {
        match out.last_mut() {
            Some(last) if low <= last[1] + GAP_MM => last[1] = last[1].max(high),
            _ => out.push([low, high]),
        }
    }
    out.retain(|[low, high]| high - low >= PATCH_MM);
    out
}

/// Closed outlines through the stretches of neighbouring planes: each goes on with the stretch that it overlaps most.
fn outlines(at: &[f64], planes: &[Stretches]) -> Vec<Vec<DVec2>> {
    let mut done: Vec<Vec<(usize, [f64; 2])>> = Vec::new();
    let mut open: Vec<Vec<(usize, [f64; 2])>> = Vec::new();
    for (k, stretches) in planes.iter().enumerate() {
        let mut going = Vec::new();
        let mut taken = vec![false; stretches.len()];
        for mut chain in open {
            let last = chain[chain.len() - 1].1;
            let overlap = |s: &[f64; 2]| s[1].min(last[1]) - s[0].max(last[0]);
            let next = (0..stretches.len()).filter(|i| !taken[*i] && overlap(&stretches[*i]) > 0.0).fold(
                None,
                |best: Option<usize>, i| match best {
                    Some(b) if overlap(&stretches[b]) >= overlap(&stretches[i]) => Some(b),
                    _ => Some(i),
                },
            );
            match next {
                Some(i) => {
                    taken[i] = true;
                    chain.push((k, stretches[i]));
                    going.push(chain);
                }
                None => done.push(chain),
            }
        }
        going.extend(stretches.iter().zip(taken).filter(|(_, taken)| !taken).map(|(s, _)| vec![(k, *s)]));
        open = going;
    }
    done.extend(open);
    done.sort_by_key(|chain| chain[0].0);
    done.iter()
        .filter(|chain| chain.len() > 1)
        .map(|chain| {
            let upper = chain.iter().map(|(k, s)| DVec2::new(at[*k], s[1]));
            upper.chain(chain.iter().rev().map(|(k, s)| DVec2::new(at[*k], s[0]))).collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_on_planes_become_closed_outlines() {
        let at = [1.0, 3.0, 5.0, 7.0];
        let planes: Vec<Stretches> =
            [vec![[0.0, 2.0]], vec![[0.5, 2.0], [9.0, 10.0]], vec![[9.0, 10.0]], vec![]].to_vec();
        let found = outlines(&at, &planes);
        assert_eq!(found.len(), 2);
        let corners = [(1.0, 2.0), (3.0, 2.0), (3.0, 0.5), (1.0, 0.0)].map(|(x, y)| DVec2::new(x, y));
        assert_eq!(found[0], corners);
        assert_eq!(found[1].len(), 4);
    }

    #[test]
    fn small_gaps_are_closed_and_specks_dropped() {
        let all = vec![[5.0, 6.0], [0.0, 1.0], [1.5, 2.0], [9.0, 9.1]];
        assert_eq!(joined(all), [[0.0, 2.0], [5.0, 6.0]]);
    }
}
