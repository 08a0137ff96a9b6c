//! A graded wall's thickness at any point of a body.

use super::{Grading, SIDES, in_beads, shares};
use crate::outcome::BodyView;
use crate::path::CentrePath;
use crate::strength::Thinnest;
use solid::DVec3;

/// Thickness wanted at points in and about a body, without steps.
#[derive(Clone, Debug)]
pub struct WallField {
    rings: Vec<Ring>,
    from_mm: f64,
    step_mm: f64,
    sides_mm: [Vec<f64>; SIDES],
    /// What strength leaves at the least, for each ring of cells, mm.
    least_mm: Vec<f64>,
    limits_mm: [f64; 2],
    slope: f64,
    beads: Option<Beads>,
}

/// A thickness in whole beads.
#[derive(Clone, Copy, Debug)]
struct Beads {
    width_mm: f64,
    /// Slope of the thickness that is rounded.
    slope: f64,
}

/// The section of the body at one x.
#[derive(Clone, Copy, Debug)]
struct Ring {
    x: f64,
    station_mm: f64,
    along: DVec3,
    middle: DVec3,
    half: [f64; 2],
}

/// Half a section, at least, mm: a tip's last sections would make the sides change over nothing.
const LEAST_HALF_MM: f64 = 4.0;
/// Spare on the slope found at points, for the places between.
const SPARE: f64 = 1.2;
/// Steepest field that is given out; steeper ones are made flatter around.
const STEEPEST: f64 = 0.4;
/// Ramps between whole numbers of beads change by this much over a millimetre.
const RAMP: f64 = 0.45;
/// Half the way over which the slope is measured, mm.
const ASIDE_MM: f64 = 0.25;
/// What is left of the sides' difference each time it is too steep.
const FLATTER: f64 = 0.8;
/// A side with less of a place than this doesn't decide how thick the wall is there.
const LEAST_SHARE: f64 = 0.1;

/// A place of the outer surface behind which something has to have room.
#[derive(Clone, Copy, Debug)]
pub struct Narrow {
    /// On the outer surface, prop frame, mm.
    pub at: DVec3,
    /// The wall's thickness there, at most, mm.
    pub most_mm: f64,
}

/// What keeps a thickness from being what light would have it.
#[derive(Clone, Copy, Debug)]
pub struct Bounds<'a> {
    /// Where something has to have room.
    pub narrow: &'a [Narrow],
    /// What strength needs, in shares of the even wall.
    pub thinnest: &'a [Thinnest],
    /// The even wall, mm.
    pub even_mm: f64,
    /// About such places the thickness changes no faster along the prop.
    pub slope: f64,
}

impl WallField {
    /// The field of a grading whose first ring of cells begins at station `from_mm` and that are `step_mm` long, on a body
    /// seen in `view`; no thinner than strength allows, thinner than the grading where it is to leave room, and about there
    /// changing no faster than is said along the prop. `None` for a body without a silhouette, or when the thickness changes too fast along the prop.
    pub fn new(
        view: &BodyView,
        path: &CentrePath,
        [from_mm, step_mm]: [f64; 2],
        grading: &Grading,
        bounds: &Bounds,
    ) -> Option<WallField> {
        let rings: Vec<Ring> = (view.side.edge.iter().zip(&view.top.edge))
            .map(|(side, top)| {
                let middle = DVec3::new(side[0], (top[1] + top[2]) / 2.0, (side[1] + side[2]) / 2.0);
                let half = [top, side].map(|e| (0.5 * (e[2] - e[1])).max(LEAST_HALF_MM));
                let station_mm = path.station_of(middle);
                Ring { x: side[0], station_mm, along: path.frame(station_mm).along, middle, half }
            })
            .collect();
        if rings.len() < 2 || grading.sides_mm[0].is_empty() {
            return None;
        }
        let mut field = WallField {
            rings,
            from_mm,
            step_mm,
            sides_mm: grading.sides_mm.clone(),
            least_mm: Vec::new(),
            limits_mm: grading.limits_mm,
            slope: 0.0,
            beads: None,
        };
        let most_mm = field.most_mm(bounds.narrow, bounds.slope);
        field.least_mm = field.least_mm(bounds);
        for _ in 0..30 {
            for (sides, most) in field.sides_mm.iter_mut().zip(&most_mm) {
                let both = field.least_mm.iter().zip(most);
                sides.iter_mut().zip(both).for_each(|(mm, (least, most))| *mm = mm.max(*least).min(*most));
            }
            field.slope = SPARE * field.steepest() + 1e-3;
            if field.slope <= STEEPEST {
                return Some(field);
            }
            for k in 0..field.sides_mm[0].len() {
                let mean = field.sides_mm.iter().map(|s| s[k]).sum::<f64>() / SIDES as f64;
                field.sides_mm.iter_mut().for_each(|s| s[k] = mean + (s[k] - mean) * FLATTER);
                // Room goes before strength: what is left is judged on the pieces.
                let room = most_mm.iter().map(|m| m[k]).fold(field.least_mm[k], f64::min);
                field.least_mm[k] = room + (field.least_mm[k] - room) * FLATTER;
            }
        }
        None
    }

    /// The thickness that strength leaves at the least, for each ring of cells, mm: the thickest that is allowed where more is
    /// needed.
    fn least_mm(&self, bounds: &Bounds) -> Vec<f64> {
        let count = self.sides_mm[0].len();
        let mut least = vec![self.limits_mm[0]; count];
        for place in bounds.thinnest {
            // Rings between whose middles the stretch lies.
            let [from, to] = place.span_mm.map(|s| (s - self.from_mm) / self.step_mm - 0.5);
            let rings = from.floor().max(0.0) as usize..((to.ceil() + 1.0).max(0.0) as usize).min(count);
            let mm = (place.share * bounds.even_mm).min(self.limits_mm[1]);
            for k in rings {
                least[k] = least[k].max(mm);
            }
        }
        let step = bounds.slope * self.step_mm;
        for k in 1..count {
            least[k] = least[k].max(least[k - 1] - step);
        }
        for k in (1..count).rev() {
            least[k - 1] = least[k - 1].max(least[k] - step);
        }
        least
    }

    /// The thickness that leaves room, on each side for each ring of cells, mm: infinite where nothing needs any.
    fn most_mm(&self, narrow: &[Narrow], slope: f64) -> [Vec<f64>; SIDES] {
        let count = self.sides_mm[0].len();
        let mut most: [Vec<f64>; SIDES] = std::array::from_fn(|_| vec![f64::INFINITY; count]);
        for place in narrow {
            let (station_mm, at) = self.locate(place.at);
            let ring = (station_mm - self.from_mm) / self.step_mm - 0.5;
            let around = (ring - 1.0).ceil().max(0.0) as usize..((ring + 1.0).floor().max(-1.0) + 1.0) as usize;
            for (side, share) in most.iter_mut().zip(shares(at)) {
                if share >= LEAST_SHARE {
                    for k in around.clone().take_while(|k| *k < count) {
                        side[k] = side[k].min(place.most_mm);
                    }
                }
            }
        }
        let step = slope * self.step_mm;
        for side in &mut most {
            for k in 1..count {
                side[k] = side[k].min(side[k - 1] + step);
            }
            for k in (1..count).rev() {
                side[k - 1] = side[k - 1].min(side[k] + step);
            }
        }
        most
    }

    /// The same in whole numbers of beads, with ramps between.
    #[must_use]
    pub fn in_beads(self, width_mm: f64) -> WallField {
        let beads = Beads { width_mm, slope: self.slope };
        WallField { beads: Some(beads), slope: self.slope.max(RAMP), ..self }
    }

    /// Thickness wanted at a point, mm.
    pub fn at(&self, p: DVec3) -> f64 {
        let (station_mm, place) = self.locate(p);
        let of = shares(place);
        let mm: f64 = self.sides_mm.iter().zip(of).map(|(side, share)| share * self.along(side, station_mm)).sum();
        // Whole beads don't take away what strength needs.
        let least = |mm: f64| mm.min(self.along(&self.least_mm, station_mm));
        let whole = self.beads.map_or(mm, |b| in_beads(mm, b.width_mm, b.slope, RAMP).max(least(mm)));
        whole.clamp(self.limits_mm[0], self.limits_mm[1])
    }

    /// Change of the thickness over a millimetre along each axis.
    pub fn gradient(&self, p: DVec3) -> DVec3 {
        let change = |a: &DVec3| (self.at(p + *a * ASIDE_MM) - self.at(p - *a * ASIDE_MM)) / (2.0 * ASIDE_MM);
        DVec3::AXES.iter().map(|a| *a * change(a)).sum()
    }

    /// Thickness on each side, a value for each ring of cells, before it is made whole beads, mm.
    pub fn sides_mm(&self) -> &[Vec<f64>; SIDES] {
        &self.sides_mm
    }

    /// The most that strength leaves at the least anywhere, mm.
    pub fn strong_mm(&self) -> f64 {
        self.least_mm.iter().copied().fold(self.limits_mm[0], f64::max)
    }

    /// Least and most wall allowed, mm.
    pub fn limits_mm(&self) -> [f64; 2] {
        self.limits_mm
    }

    /// By how much it changes over a millimetre, at most.
    pub fn slope(&self) -> f64 {
        self.slope
    }

    /// Station of a point and its place in the section, in half widths and half heights.
    fn locate(&self, p: DVec3) -> (f64, [f64; 2]) {
        let i = self.rings.partition_point(|r| r.x <= p.x).clamp(1, self.rings.len() - 1);
        let (a, b) = (&self.rings[i - 1], &self.rings[i]);
        let f = ((p.x - a.x) / (b.x - a.x).max(1e-9)).clamp(0.0, 1.0);
        let [first, second] = [a, b].map(|ring| {
            let away = p - ring.middle;
            (ring.station_mm + away.dot(ring.along), [away.y / ring.half[0], away.z / ring.half[1]])
        });
        let mix = |u: f64, v: f64| u + (v - u) * f;
        (mix(first.0, second.0), [0, 1].map(|k| mix(first.1[k], second.1[k])))
    }

    fn along(&self, side: &[f64], station_mm: f64) -> f64 {
        let at = (station_mm - self.from_mm) / self.step_mm - 0.5;
        let at = at.clamp(0.0, side.len() as f64 - 1.0);
        let k = (at as usize).min(side.len().saturating_sub(2));
        let next = side[(k + 1).min(side.len() - 1)];
        side[k] + (next - side[k]) * (at - k as f64)
    }

    /// Steepest change found around the points of every section's box, and a little out of it.
    fn steepest(&self) -> f64 {
        let mut most = 0.0f64;
        for ring in &self.rings {
            for i in -3..=3 {
                for j in -3..=3 {
                    let [y, z] = [(i, 0), (j, 1)].map(|(n, k)| f64::from(n) * 0.4 * ring.half[k]);
                    let p = ring.middle + DVec3::new(0.0, y, z);
                    most = most.max(self.gradient(p).length());
                }
            }
        }
        most
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outcome::{Role, Silhouette};
    use std::f64::consts::TAU;

    /// A straight bar along x, 60 wide and 14 high, 300 long, with thicknesses on its sides.
    fn bounded(sides: [&dyn Fn(f64) -> f64; SIDES], (narrow, thinnest): (&[Narrow], &[Thinnest])) -> Option<WallField> {
        let edge = |half: f64| Silhouette { edge: (0..=300).map(|x| [f64::from(x), -half, half]).collect() };
        let view = BodyView { name: "bar".into(), role: Role::Lit, side: edge(7.0), top: edge(30.0) };
        let path = CentrePath::new(vec![DVec3::ZERO, DVec3::X * 300.0]).unwrap();
        let sides_mm = sides.map(|f| (0..150).map(|k| f(2.0 * f64::from(k) + 1.0)).collect());
        WallField::new(
            &view,
            &path,
            [0.0, 2.0],
            &Grading { sides_mm, limits_mm: [1.2, 6.0], contrast: [0.0; 2], change: Default::default() },
            &Bounds { narrow, thinnest, even_mm: 2.0, slope: 0.25 },
        )
    }

    fn field(sides: [&dyn Fn(f64) -> f64; SIDES]) -> Option<WallField> {
        bounded(sides, (&[], &[]))
    }

    #[test]
    fn it_leaves_room_and_comes_back_no_faster_than_the_slope() {
        let narrow = [Narrow { at: DVec3::new(150.0, 2.0, 7.0), most_mm: 1.7 }];
        let field = bounded([&|_| 3.0, &|_| 3.0, &|_| 3.0, &|_| 3.0], (&narrow, &[])).unwrap();
        let top = |x: f64| field.at(DVec3::new(x, 0.0, 7.0));
        assert!(top(150.0) < 1.71 && top(149.0) < 1.8 && top(151.0) < 1.8, "{} {}", top(149.0), top(150.0));
        assert!((top(140.0) - 3.0).abs() < 1e-9 && (top(160.0) - 3.0).abs() < 1e-9);
        assert!((field.at(DVec3::new(150.0, 0.0, -7.0)) - 3.0).abs() < 0.02, "the other side stays");
        assert!((1..300).all(|x| (top(f64::from(x)) - top(f64::from(x) - 1.0)).abs() <= 0.25 + 1e-9));
    }

    /// Even wall 2 mm; the light would have 1.4 mm. From 100 to 110 mm strength needs 0.9 of the even wall, from 200 mm on five
    /// times it: that is the most there may be. Elsewhere the light decides, and rail room goes before strength.
    #[test]
    fn it_is_no_thinner_than_strength_allows() {
        let thinnest = [
            Thinnest { span_mm: [100.0, 110.0], share: 0.9 },
            Thinnest { span_mm: [110.0, 120.0], share: 0.2 },
            Thinnest { span_mm: [200.0, 320.0], share: 5.0 },
        ];
        let light: [&dyn Fn(f64) -> f64; SIDES] = [&|_| 1.4, &|_| 1.4, &|_| 1.4, &|_| 1.4];
        let field = bounded(light, (&[], &thinnest)).unwrap();
        let top = |field: &WallField, x: f64| field.at(DVec3::new(x, 0.0, 7.0));
        assert!((0..=10).all(|k| top(&field, 100.0 + f64::from(k)) >= 1.8 - 1e-9));
        assert!((top(&field, 90.0) - 1.4).abs() < 1e-9 && (top(&field, 125.0) - 1.4).abs() < 1e-9);
        assert!((top(&field, 250.0) - 6.0).abs() < 1e-9);
        assert!((1..300).all(|x| (top(&field, f64::from(x)) - top(&field, f64::from(x) - 1.0)).abs() <= 0.25 + 1e-9));
        let whole = field.clone().in_beads(0.45);
        assert!((top(&whole, 105.0) - 1.8).abs() < 0.05 && (top(&whole, 60.0) - 1.35).abs() < 0.06);
        let narrow = [Narrow { at: DVec3::new(250.0, 2.0, 7.0), most_mm: 1.7 }];
        assert!(top(&bounded(light, (&narrow, &thinnest)).unwrap(), 250.0) < 1.71);
    }

    #[test]
    fn a_side_has_its_own_thickness_and_the_middle_the_mean() {
        let field = field([&|_| 2.4, &|_| 2.0, &|_| 1.6, &|_| 2.0]).unwrap();
        assert!((field.at(DVec3::new(100.0, 30.0, 0.0)) - 2.4).abs() < 1e-9);
        assert!((field.at(DVec3::new(100.0, -30.0, 0.0)) - 1.6).abs() < 1e-9);
        assert!((field.at(DVec3::new(100.0, 0.0, 0.0)) - 2.0).abs() < 1e-9);
        assert!((field.at(DVec3::new(100.0, 0.0, 9.0)) - 2.0).abs() < 1e-9);
        assert_eq!(field.limits_mm(), [1.2, 6.0]);
        let whole = field.in_beads(0.45);
        assert!((whole.at(DVec3::new(100.0, 30.0, 0.0)) - 2.25).abs() < 1e-9);
        assert!((whole.at(DVec3::new(100.0, -30.0, 0.0)) - 1.8).abs() < 1e-9);
    }

    #[test]
    fn it_changes_no_faster_than_it_says() {
        let wave = |s: f64| 2.2 + 0.5 * libm::cos(TAU * s / 16.7);
        let field = field([&wave, &|_| 2.2, &wave, &|_| 2.2]).unwrap();
        // 0.5 mm of height over a pitch of 16.7 mm is 0.188 a millimetre, where the sides' middles are.
        assert!(field.slope() > 0.18 && field.slope() < 0.4, "{}", field.slope());
        let mut at = DVec3::new(20.0, 3.0, -2.0);
        let mut last = field.at(at);
        for k in 0..4000u32 {
            let turn = f64::from(k) * 0.37;
            let step =
                DVec3::new(0.06 + 0.1 * libm::sin(turn), 0.6 * libm::cos(turn * 1.7), 0.3 * libm::sin(turn * 2.3));
            at += step;
            let now = field.at(at);
            assert!((now - last).abs() <= field.slope() * step.length() + 1e-9, "{at}");
            last = now;
        }
    }

    #[test]
    fn a_field_too_steep_around_is_made_flatter_and_one_too_steep_along_refused() {
        let flatter = field([&|_| 2.0, &|_| 6.0, &|_| 2.0, &|_| 6.0]).unwrap();
        let top = flatter.at(DVec3::new(100.0, 0.0, 7.0));
        assert!(flatter.slope() <= 0.4 && top < 5.9 && top > 4.0, "{} {top}", flatter.slope());
        let steep = |s: f64| 2.0 + 2.0 * libm::cos(TAU * s / 16.7);
        assert!(field([&steep, &steep, &steep, &steep]).is_none());
    }
}
