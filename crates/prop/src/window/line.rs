//! The lines of a body's outermost points towards each side: its edges and ridges.

use crate::project::Flank;
use crate::slices::crossings;
use solid::{DVec2, DVec3, Mesh};

/// Distance between the planes that the lines are traced on, mm.
const STEP_MM: f64 = 1.0;
/// What lies so near to the outermost point belongs to the edge: its middle is the line's point, mm.
const BLUNT_MM: f64 = 0.1;
/// Points this near to the straight between their neighbours are left out of a line, mm.
const STRAIGHT_MM: f64 = 0.03;

/// How far a body reaches to each side, and its outermost lines.
#[derive(Clone, Debug)]
pub(crate) struct Extent {
    /// The planes, mm.
    at: Vec<f64>,
    /// At each plane: least and largest (y, z).
    low: Vec<DVec2>,
    high: Vec<DVec2>,
    /// By side: outermost line, x ascending.
    lines: [Vec<DVec3>; 4],
}

/// Its place among the lines: the axis (0 y, 1 z) and the sign towards it.
pub(crate) fn side(flank: Flank) -> (usize, usize, f64) {
    match flank {
        Flank::PlusY => (0, 0, 1.0),
        Flank::MinusY => (1, 0, -1.0),
        Flank::PlusZ => (2, 1, 1.0),
        Flank::MinusZ => (3, 1, -1.0),
    }
}

const SIDES: [Flank; 4] = [Flank::PlusY, Flank::MinusY, Flank::PlusZ, Flank::MinusZ];

impl Extent {
    /// Traces a closed mesh that has length along x.
    pub(crate) fn of(mesh: &Mesh) -> Extent {
        let mut extent = Extent { at: planes(mesh), low: Vec::new(), high: Vec::new(), lines: Default::default() };
        let n = extent.at.len();
        let (mut low, mut high) = (vec![DVec2::INFINITY; n], vec![DVec2::NEG_INFINITY; n]);
        crossings(mesh, &extent.at, |k, _, [p, q]| {
            low[k] = low[k].min(p).min(q);
            high[k] = high[k].max(p).max(q);
        });
        // By side and plane: what lies within BLUNT_MM of the outermost point, its length and its centroid times that.
        let mut blunt = vec![[(0.0, DVec2::ZERO); 4]; n];
        crossings(mesh, &extent.at, |k, _, piece| {
            for flank in SIDES {
                let (at, axis, sign) = side(flank);
                let most = if sign > 0.0 { high[k][axis] } else { -low[k][axis] };
                if let Some([p, q]) = beyond(piece, axis, sign, most - BLUNT_MM) {
                    let length = (q - p).length();
                    blunt[k][at].0 += length;
                    blunt[k][at].1 += (p + q) * (0.5 * length);
                }
            }
        });
        let kept: Vec<usize> = (0..n).filter(|k| low[*k].x <= high[*k].x).collect();
        for (at, line) in extent.lines.iter_mut().enumerate() {
            let whole: Vec<DVec3> = kept
                .iter()
                .filter(|k| blunt[**k][at].0 > 0.0)
                .map(|k| {
                    let (length, sum) = blunt[*k][at];
                    let middle = sum / length;
                    DVec3::new(extent.at[*k], middle.x, middle.y)
                })
                .collect();
            *line = straightened(&whole);
        }
        extent.low = kept.iter().map(|k| low[*k]).collect();
        extent.high = kept.iter().map(|k| high[*k]).collect();
        extent.at = kept.iter().map(|k| extent.at[*k]).collect();
        extent
    }

    /// The outermost line towards a side, x ascending, mm.
    pub(crate) fn line(&self, flank: Flank) -> &[DVec3] {
        &self.lines[side(flank).0]
    }

    /// Least and largest (y, z) where the body has the x of a point; `None` of a body without a section.
    fn reach(&self, x: f64) -> Option<[DVec2; 2]> {
        let last = self.at.len().checked_sub(1)?;
        let i = self.at.partition_point(|a| *a <= x).clamp(1, last.max(1)) - 1;
        let j = (i + 1).min(last);
        let span = self.at[j] - self.at[i];
        let share = if span > 0.0 { ((x - self.at[i]) / span).clamp(0.0, 1.0) } else { 0.0 };
        Some([self.low[i].lerp(self.low[j], share), self.high[i].lerp(self.high[j], share)])
    }

    /// Whether a point lies within `width_mm` of the outermost line towards a side, on that side of the section's middle.
    pub(crate) fn in_band(&self, p: DVec3, flank: Flank, width_mm: f64) -> bool {
        let (at, axis, sign) = side(flank);
        let here = DVec2::new(p.y, p.z)[axis];
        let Some([low, high]) = self.reach(p.x) else { return false };
        if sign * (here - (low[axis] + high[axis]) * 0.5) < 0.0 {
            return false;
        }
        let line = &self.lines[at];
        let first = line.partition_point(|q| q.x < p.x - width_mm).saturating_sub(1);
        line[first.min(line.len())..]
            .windows(2)
            .take_while(|pair| pair[0].x <= p.x + width_mm)
            .any(|pair| to_segment_squared(p, pair[0], pair[1]) <= width_mm * width_mm)
    }

    /// Whether a point lies in the outer `share` of its half of the section across, `least_mm` at least.
    pub(crate) fn in_outer(&self, p: DVec3, share: f64, least_mm: f64) -> bool {
        let Some([low, high]) = self.reach(p.x) else { return false };
        let open = ((high.x - low.x) * 0.5 * share).max(least_mm);
        p.y <= low.x + open || p.y >= high.x - open
    }
}

/// Planes along a mesh, about [`STEP_MM`] apart; the very ends have no section.
pub(crate) fn planes(mesh: &Mesh) -> Vec<f64> {
    let Some(bounds) = mesh.bounds() else { return Vec::new() };
    let (low, high) = (bounds.min.x, bounds.max.x);
    let n = ((high - low) / STEP_MM).ceil().max(1.0) as usize;
    let inset = ((high - low) * 1e-6 + 1e-3).min((high - low) * 0.25);
    let at = |i: usize| (low + (high - low) * i as f64 / n as f64).clamp(low + inset, high - inset);
    (0..=n).map(at).collect()
}

/// The part of a segment where `sign` times the coordinate is at least `least`.
fn beyond([p, q]: [DVec2; 2], axis: usize, sign: f64, least: f64) -> Option<[DVec2; 2]> {
    let (a, b) = (sign * p[axis] - least, sign * q[axis] - least);
    match (a >= 0.0, b >= 0.0) {
        (true, true) => Some([p, q]),
        (false, false) => None,
        (true, false) => Some([p, p + (q - p) * (a / (a - b))]),
        (false, true) => Some([p + (q - p) * (a / (a - b)), q]),
    }
}

fn to_segment_squared(p: DVec3, a: DVec3, b: DVec3) -> f64 {
    let along = b - a;
    let f = ((p - a).dot(along) / along.length_squared()).clamp(0.0, 1.0);
    (p - a - along * f).length_squared()
}

/// A line without the points that lie on the straight between others (Douglas and Peucker, Cartographica 10, 112 (1973)).
fn straightened(line: &[DVec3]) -> Vec<DVec3> {
    let mut keep = vec![false; line.len()];
    let Some(last) = line.len().checked_sub(1) else { return Vec::new() };
    (keep[0], keep[last]) = (true, true);
    let mut open = vec![(0, last)];
    while let Some((from, to)) = open.pop() {
        let far = (from + 1..to)
            .map(|k| (to_segment_squared(line[k], line[from], line[to]), k))
            .fold((0.0, from), |a, b| if b.0 > a.0 { b } else { a });
        if far.0 > STRAIGHT_MM * STRAIGHT_MM {
            keep[far.1] = true;
            open.extend([(from, far.1), (far.1, to)]);
        }
    }
    line.iter().zip(keep).filter(|(_, keep)| *keep).map(|(p, _)| *p).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use solid::loft;

    /// A lens of half width 30 and half thickness 6, tilted so that its edges run up by a tenth.
    fn blade() -> Mesh {
        let ring = |x: f64| {
            let at = |y: f64, z: f64| DVec3::new(x, y + x * 0.1, z);
            vec![at(30.0, 0.0), at(0.0, 6.0), at(-30.0, 0.0), at(0.0, -6.0)]
        };
        loft(&[ring(0.0), ring(50.0), ring(200.0)])
    }

    #[test]
    fn the_edges_of_a_tilted_lens_are_straight_lines() {
        let extent = Extent::of(&blade());
        let line = extent.line(Flank::PlusY);
        assert_eq!(line.len(), 2, "{line:?}");
        for p in line {
            // The middle of what is within 0.1 mm of the edge lies 0.05 mm inside it.
            assert!((p.y - (30.0 + p.x * 0.1) + 0.05).abs() < 1e-6 && p.z.abs() < 1e-9, "{p}");
        }
        assert!(extent.in_band(DVec3::new(100.0, 40.0 - 7.9, 1.5), Flank::PlusY, 8.0));
        assert!(!extent.in_band(DVec3::new(100.0, 40.0 - 8.3, 1.6), Flank::PlusY, 8.0));
        assert!(!extent.in_band(DVec3::new(100.0, -20.0, 0.0), Flank::PlusY, 8.0));
        assert!(extent.in_band(DVec3::new(100.0, -20.0, 0.0), Flank::MinusY, 8.0));
        // A ridge's band ends in the middle of the section, however wide it is.
        assert!(extent.in_band(DVec3::new(100.0, 10.0, 5.9), Flank::PlusZ, 30.0));
        assert!(!extent.in_band(DVec3::new(100.0, 10.0, -5.9), Flank::PlusZ, 30.0));
        assert!(extent.in_outer(DVec3::new(100.0, 31.0, 1.0), 1.0 / 3.0, 8.0));
        assert!(!extent.in_outer(DVec3::new(100.0, 29.0, 1.0), 1.0 / 3.0, 8.0));
    }

    #[test]
    fn a_flat_side_has_its_line_in_the_middle() {
        let extent = Extent::of(&solid::cuboid(DVec3::new(0.0, -5.0, -10.0), DVec3::new(80.0, 5.0, 14.0)));
        for p in extent.line(Flank::PlusY) {
            assert!((p.z - 2.0).abs() < 1e-9, "{p}");
        }
        assert!(Extent::of(&Mesh::default()).line(Flank::PlusY).is_empty());
        assert!(!Extent::of(&Mesh::default()).in_band(DVec3::ZERO, Flank::PlusY, 9.0));
    }
}
