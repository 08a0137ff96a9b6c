//! An outline as its two edges over x.

use crate::drawing::DrawingError;
use glam::DVec2;
use thiserror::Error;

/// Nearer than this along x two corners are one, mm: a hundredth of what a printer shows.
pub(crate) const SAME_MM: f64 = 0.01;
/// An edge may run back so far, mm: end faces and steps are rarely drawn quite square.
const BACK_MM: f64 = 0.05;
/// A step across is drawn as a slope so long, mm: two flat faces in one plane would touch.
const STEP_MM: f64 = 0.1;

/// What is wrong with an outline's form. Places are mm in the drawing, y down as it is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum Fault {
    /// Two of its edges cross.
    #[error("crosses itself at ({:.1}, {:.1}) mm", at_mm[0], at_mm[1])]
    Crosses {
        /// Where.
        at_mm: [f64; 2],
    },
    /// It runs back.
    #[error("runs back along its length at ({:.1}, {:.1}) mm: at each place along the prop it may have one width only; draw hooks and barbs as bodies of their own", at_mm[0], at_mm[1])]
    RunsBack {
        /// Where.
        at_mm: [f64; 2],
    },
    /// Nothing inside.
    #[error("encloses nothing")]
    Flat,
    /// A coordinate that is no number.
    #[error("has a coordinate that is no number")]
    NotFinite,
}

impl Fault {
    /// The same with its place moved; `to` takes and gives mm, y up.
    pub(crate) fn moved(self, to: impl Fn(DVec2) -> DVec2) -> Fault {
        let moved = |[x, y]: [f64; 2]| {
            let p = to(DVec2::new(x, -y));
            [p.x, -p.y]
        };
        match self {
            Fault::Crosses { at_mm } => Fault::Crosses { at_mm: moved(at_mm) },
            Fault::RunsBack { at_mm } => Fault::RunsBack { at_mm: moved(at_mm) },
            same => same,
        }
    }

    /// The same, said of a named outline.
    pub fn of(self, name: &str) -> DrawingError {
        DrawingError::Form { name: name.to_owned(), fault: self }
    }
}

/// An outline as its lower and upper edge over x, straight between corners. Both have the same x, which grow.
#[derive(Clone, Debug, PartialEq)]
pub struct Span {
    /// Where along x, mm.
    pub x_mm: Vec<f64>,
    /// Lower edge there, mm.
    pub low_mm: Vec<f64>,
    /// Upper edge there, mm.
    pub high_mm: Vec<f64>,
}

impl Span {
    /// The edges of a closed outline with corners in mm; each vertical line may meet it twice at the most.
    ///
    /// # Errors
    /// A [`Fault`] with its place.
    pub fn of(points: &[DVec2]) -> Result<Span, Fault> {
        if !points.iter().all(|p| p.is_finite()) {
            return Err(Fault::NotFinite);
        }
        crossing(points)?;
        let (from, to) = points.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.x), b.max(p.x)));
        let tall = points.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.y), b.max(p.y)));
        if points.len() < 3 || to - from < 3.0 * SAME_MM || tall.1 - tall.0 < SAME_MM {
            return Err(Fault::Flat);
        }
        let first = |wanted: f64| points.iter().position(|p| p.x == wanted).unwrap_or(0);
        let (start, end) = (first(from), first(to));
        let around = |a: usize, b: usize| -> Vec<DVec2> {
            let count = (b + points.len() - a) % points.len();
            (0..=count).map(|k| points[(a + k) % points.len()]).collect()
        };
        let one = around(start, end);
        let mut other = around(end, start);
        other.reverse();
        let [one, other] = [sloped(&one)?, sloped(&other)?];
        let x_mm = apart(one.iter().chain(&other).map(|p| p.x).collect(), [from, to]);
        let at = |edge: &[DVec2]| x_mm.iter().map(|x| on(edge, *x)).collect::<Vec<f64>>();
        let (a, b) = (at(&one), at(&other));
        let is_lower = a.iter().zip(&b).map(|(a, b)| b - a).sum::<f64>() > 0.0;
        let (low_mm, high_mm) = if is_lower { (a, b) } else { (b, a) };
        // Slopes in place of steps may bring the edges together, never past each other.
        let high_mm = low_mm.iter().zip(&high_mm).map(|(low, high)| high.max(*low)).collect();
        Ok(Span { x_mm, low_mm, high_mm })
    }

    /// Where it begins and ends, mm.
    pub fn reach_mm(&self) -> [f64; 2] {
        [self.x_mm[0], self.x_mm[self.x_mm.len() - 1]]
    }

    /// Lower and upper edge at x, mm; beyond the ends those of the end.
    pub fn at(&self, x_mm: f64) -> [f64; 2] {
        let k = self.x_mm.partition_point(|x| *x <= x_mm).clamp(1, self.x_mm.len() - 1);
        let share = ((x_mm - self.x_mm[k - 1]) / (self.x_mm[k] - self.x_mm[k - 1])).clamp(0.0, 1.0);
        [&self.low_mm, &self.high_mm].map(|edge| edge[k - 1] + (edge[k] - edge[k - 1]) * share)
    }

    /// Area between the edges, mm².
    pub fn area_mm2(&self) -> f64 {
        let wide: Vec<f64> = self.low_mm.iter().zip(&self.high_mm).map(|(l, h)| h - l).collect();
        self.x_mm.windows(2).zip(wide.windows(2)).map(|(x, w)| 0.5 * (x[1] - x[0]) * (w[0] + w[1])).sum()
    }
}

/// Places from one end to the other in their order, none nearer to another than what counts as one.
pub(crate) fn apart(mut x_mm: Vec<f64>, [from, to]: [f64; 2]) -> Vec<f64> {
    x_mm.retain(|x| x - from >= SAME_MM && to - x >= SAME_MM);
    x_mm.sort_by(f64::total_cmp);
    x_mm.dedup_by(|b, a| *b - *a < SAME_MM);
    [from].into_iter().chain(x_mm).chain([to]).collect()
}

/// An edge whose x grow: steps inside become slopes; at the ends a step is the end's flat face and belongs to neither edge.
fn sloped(edge: &[DVec2]) -> Result<Vec<DVec2>, Fault> {
    let [from, to] = [edge[0].x, edge[edge.len() - 1].x];
    let mut out = vec![edge[0]];
    let mut far = from;
    for pair in edge.windows(2) {
        let (behind, p) = (pair[0], pair[1]);
        if p.x < far - BACK_MM {
            return Err(Fault::RunsBack { at_mm: [behind.x, -behind.y] });
        }
        let x = p.x.max(far);
        let last = out.len() - 1;
        if x - from < SAME_MM {
            // On the face at the start; the last corner of it is the edge's first.
            out[0] = DVec2::new(from, p.y);
        } else if to - x < SAME_MM {
            // The first corner on the face at the end is the edge's last.
            if out[last].x < to {
                out.push(DVec2::new(to, p.y));
            }
        } else if x - far < SAME_MM {
            let at = (far + STEP_MM).min(to);
            if out[last].x < at { out.push(DVec2::new(at, p.y)) } else { out[last].y = p.y }
        } else if x > out[last].x {
            // What a slope has passed is left out.
            out.push(DVec2::new(x, p.y));
        }
        far = x;
    }
    Ok(out)
}

fn on(edge: &[DVec2], x: f64) -> f64 {
    let k = edge.partition_point(|p| p.x <= x).clamp(1, edge.len() - 1);
    let (a, b) = (edge[k - 1], edge[k]);
    let share = if b.x > a.x { ((x - a.x) / (b.x - a.x)).clamp(0.0, 1.0) } else { 1.0 };
    a.y + (b.y - a.y) * share
}

/// The first place where two sides that are no neighbours meet, from the left.
pub(crate) fn crossing(points: &[DVec2]) -> Result<(), Fault> {
    let count = points.len();
    let side = |k: usize| (points[k], points[(k + 1) % count]);
    let left = |k: usize| side(k).0.x.min(side(k).1.x);
    let mut order: Vec<usize> = (0..count).collect();
    order.sort_by(|a, b| left(*a).total_cmp(&left(*b)).then(a.cmp(b)));
    let mut open: Vec<usize> = Vec::new();
    for k in order {
        let (a, b) = side(k);
        open.retain(|o| side(*o).0.x.max(side(*o).1.x) >= a.x.min(b.x));
        for o in &open {
            let are_neighbours = (k + 1) % count == *o || (*o + 1) % count == k;
            if let (false, Some(at)) = (are_neighbours, meet((a, b), side(*o))) {
                return Err(Fault::Crosses { at_mm: [at.x, -at.y] });
            }
        }
        open.push(k);
    }
    Ok(())
}

fn meet((a, b): (DVec2, DVec2), (c, d): (DVec2, DVec2)) -> Option<DVec2> {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p);
    let (c1, d1) = (side(a, b, c), side(a, b, d));
    let (a1, b1) = (side(c, d, a), side(c, d, b));
    let parts = |p: f64, q: f64| (p <= 0.0 && q >= 0.0) || (p >= 0.0 && q <= 0.0);
    if !parts(c1, d1) || !parts(a1, b1) {
        return None;
    }
    if c1 == d1 {
        // In one line: they meet where they overlap.
        let along = b - a;
        let share = |p: DVec2| (p - a).dot(along);
        let (near, far) = (share(c).min(share(d)), share(c).max(share(d)));
        let overlap = (near.max(0.0), far.min(along.length_squared()));
        return (c1 == 0.0 && along != DVec2::ZERO && overlap.0 <= overlap.1)
            .then(|| a + along * (overlap.0 / along.length_squared()));
    }
    Some(c.lerp(d, c1 / (c1 - d1)))
}

/// A hook that leans back over itself, for tests: it has two widths at a place.
#[cfg(test)]
pub(crate) const HOOK: [(f64, f64); 8] =
    [(0.0, 0.0), (60.0, 0.0), (60.0, 30.0), (20.0, 30.0), (20.0, 20.0), (50.0, 20.0), (50.0, 10.0), (0.0, 10.0)];

#[cfg(test)]
mod tests {
    use super::*;

    fn corners(all: &[(f64, f64)]) -> Vec<DVec2> {
        all.iter().map(|(x, y)| DVec2::new(*x, *y)).collect()
    }

    #[test]
    fn edges_follow_the_corners_whichever_way_round() -> Result<(), Fault> {
        let mut kite = corners(&[(0.0, 0.0), (30.0, 10.0), (100.0, 0.0), (40.0, -20.0)]);
        for _ in 0..2 {
            for turn in 0..4 {
                let mut turned = kite.clone();
                turned.rotate_left(turn);
                let span = Span::of(&turned)?;
                assert_eq!(span.x_mm, [0.0, 30.0, 40.0, 100.0]);
                assert_eq!(span.at(30.0), [-15.0, 10.0]);
                assert_eq!(span.at(100.0), [0.0, 0.0]);
                // Half the diagonals' product.
                assert!((span.area_mm2() - 1500.0).abs() < 1e-9);
            }
            kite.reverse();
        }
        Ok(())
    }

    #[test]
    fn flat_ends_and_steps_keep_their_width() -> Result<(), Fault> {
        let step = corners(&[
            (0.0, -5.0),
            (50.0, -5.0),
            (50.0, -9.0),
            (80.0, -9.0),
            (80.0, 9.0),
            (50.0, 9.0),
            (50.0, 5.0),
            (0.0, 5.0),
        ]);
        for turn in 0..8 {
            let mut turned = step.clone();
            turned.rotate_left(turn);
            let span = Span::of(&turned)?;
            assert_eq!((span.at(0.0), span.at(49.9), span.at(80.0)), ([-5.0, 5.0], [-5.0, 5.0], [-9.0, 9.0]));
            assert!((span.at(50.0 + STEP_MM)[1] - 9.0).abs() < 1e-9);
        }
        Ok(())
    }

    #[test]
    fn hand_drawn_ends_need_not_be_square() -> Result<(), Fault> {
        // The butt's face leans by 0.03 mm, one of the shoulder's faces back by 0.04.
        let hilt = corners(&[
            (0.03, -5.0),
            (50.0, -5.0),
            (49.96, -9.0),
            (80.0, -9.0),
            (80.0, 9.0),
            (50.0, 9.0),
            (50.0, 5.0),
            (0.0, 5.0),
        ]);
        let span = Span::of(&hilt)?;
        assert_eq!((span.reach_mm(), span.at(40.0), span.at(79.0)), ([0.0, 80.0], [-5.0, 5.0], [-9.0, 9.0]));
        // Nearest corners stand a hundredth apart at least.
        assert!(span.x_mm.windows(2).all(|w| w[1] - w[0] >= SAME_MM), "{:?}", span.x_mm);
        Ok(())
    }

    #[test]
    fn what_has_no_two_edges_is_refused_with_its_place() {
        let eight = corners(&[(0.0, 0.0), (10.0, 10.0), (20.0, 0.0), (20.0, 10.0), (10.0, 0.0), (0.0, 10.0)]);
        let fault = Span::of(&eight);
        assert!(matches!(fault, Err(Fault::Crosses { at_mm }) if at_mm == [5.0, -5.0]), "{fault:?}");
        let hook = corners(&HOOK);
        let fault = Span::of(&hook);
        assert!(matches!(fault, Err(Fault::RunsBack { .. })), "{fault:?}");
        assert!(Span::of(&corners(&[(0.0, 0.0), (9.0, 0.0), (4.0, 0.0)])).is_err());
        assert_eq!(Span::of(&corners(&[(0.0, 0.0)])), Err(Fault::Flat));
        assert_eq!(Span::of(&[]), Err(Fault::Flat));
        assert_eq!(Span::of(&corners(&[(0.0, 0.0), (f64::NAN, 0.0), (4.0, 4.0)])), Err(Fault::NotFinite));
        // Doubled back on itself in one line.
        let folded = corners(&[(0.0, 0.0), (10.0, 0.0), (10.0, 5.0), (5.0, 0.0), (2.0, 5.0)]);
        assert!(matches!(Span::of(&folded), Err(Fault::Crosses { .. })));
    }
}
