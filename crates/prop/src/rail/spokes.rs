//! The section for three to six strips that stand evenly round the spine and face outwards.
//!
//! ```text
//!        \   strip   /      spokes grow from the wall, behind the bars between the windows
//!         \ _______ /       lips hold each strip's edges, light leaves between them
//!  strip   |   o   |  strip spine in the middle of the hub
//!          |_______|        wires pass beside the last spoke
//!         /  strip  \
//! ```

use super::layout::{APART_MM, Layout, WEB_HALF_MM};
use solid::DVec2;
use std::f64::consts::{PI, TAU};

/// Corners of a round slot or rod.
const ROUND_CORNERS: u32 = 48;
/// Corners of each round end of the wires' way.
const END_CORNERS: u32 = 16;

/// How the strips stand round the spine.
#[derive(Clone, Debug, PartialEq)]
pub struct Spokes {
    /// So many strips, and as many spokes.
    pub count: u32,
    /// The spine's slot, counter-clockwise; empty without a spine.
    pub slot: Vec<DVec2>,
    /// Middle of the wires in solid bodies: beside the spine.
    pub wire_in_bore: DVec2,
    /// Middle of the wires in lit bodies: beside the last spoke, behind the bar that it stands behind.
    pub wire_in_cavity: DVec2,
}

/// A circle as a polygon outside it (`outside`) or inside it.
pub(super) fn round(radius_mm: f64, outside: bool) -> Vec<DVec2> {
    let reach = if outside { solid::around_mm(radius_mm, ROUND_CORNERS) } else { radius_mm };
    (0..ROUND_CORNERS).map(|k| direction(TAU * f64::from(k) / f64::from(ROUND_CORNERS)) * reach).collect()
}

fn direction(angle: f64) -> DVec2 {
    DVec2::new(libm::cos(angle), libm::sin(angle))
}

/// Turns an outline by the direction that +u goes to.
pub fn turned(outline: &[DVec2], to: DVec2) -> Vec<DVec2> {
    outline.iter().map(|p| to.rotate(*p)).collect()
}

/// How far an outline reaches in a direction, mm.
fn reach(outline: &[DVec2], direction: DVec2) -> f64 {
    outline.iter().map(|p| p.dot(direction)).fold(0.0, f64::max)
}

/// The direction that strip `index` (from 0) of `count` faces.
pub(super) fn facing(count: u32, index: u32) -> DVec2 {
    direction(TAU * f64::from(index) / f64::from(count))
}

/// The direction of the spoke on the far side of strip `index` (from 0): between it and the next.
fn spoke(count: u32, index: u32) -> DVec2 {
    direction(TAU * (f64::from(index) + 0.5) / f64::from(count))
}

/// How far out the strips' slots begin, mm: a web is left between each and the spine's slot, and two webs between
/// neighbours.
pub(super) fn seat_mm(count: u32, slot: &[DVec2], strip_v: f64) -> f64 {
    let web = 2.0 * WEB_HALF_MM;
    let off_spine = (0..count).map(|k| reach(slot, facing(count, k))).fold(0.0, f64::max);
    let (sin, cos) = libm::sincos(PI / f64::from(count));
    // A slot's corner stays half a web off the plane between two strips.
    let off_neighbour = (strip_v * cos + WEB_HALF_MM) / sin;
    if slot.is_empty() { off_neighbour } else { off_neighbour.max(off_spine + web / 2.0) }
}

/// The way of the wires: in solid bodies and in lit ones, mm. Both lie on one line beside the last spoke, so that the
/// wires pass from one to the other without crossing it.
pub(super) fn wires(count: u32, slot: &[DVec2], rib_u: f64, open_v: f64, room_mm: f64) -> [DVec2; 2] {
    let along = spoke(count, count - 1);
    let aside = DVec2::new(-along.y, along.x);
    let off = WEB_HALF_MM + room_mm + 4.0 * APART_MM;
    let slot_mm = slot.iter().map(|p| p.length()).fold(0.0, f64::max);
    let clear = slot_mm + room_mm;
    let near = (clear * clear - off * off).max(0.0).sqrt();
    // Beyond the first strip's lips, and beside the way of its light.
    let (sin, cos) = libm::sincos(PI / f64::from(count));
    let beyond_lips = (rib_u + room_mm - off * sin) / cos;
    let off_light = (off * cos + open_v + room_mm) / sin;
    let far = beyond_lips.max(off_light).max(near + APART_MM);
    [along * near + aside * off, along * far + aside * off]
}

/// A way of this half-width from one point to another with round ends, as a counter-clockwise outline.
fn capsule(from: DVec2, to: DVec2, half_mm: f64) -> Vec<DVec2> {
    let along = (to - from).normalize_or(DVec2::X);
    let reach = solid::around_mm(half_mm, 2 * END_CORNERS);
    let end = |middle: DVec2, start: f64| {
        (0..=END_CORNERS)
            .map(move |k| middle + along.rotate(direction(start + PI * f64::from(k) / f64::from(END_CORNERS))) * reach)
    };
    end(to, -PI / 2.0).chain(end(from, PI / 2.0)).collect()
}

impl Spokes {
    /// What the section is made of: outlines that are joined, and outlines that are then taken away.
    pub(super) fn material(&self, layout: &Layout, reach_mm: f64) -> [Vec<Vec<DVec2>>; 2] {
        let mut joined = vec![self.hub(layout.rib_u)];
        joined.extend((0..self.count).map(|k| self.spoke(k, layout.front_u, reach_mm)));
        let mut taken: Vec<Vec<DVec2>> = (0..self.count)
            .map(|k| turned(&strip_slot(layout, layout.rib_u + 1.0, 0.0), facing(self.count, k)))
            .collect();
        taken.extend((!self.slot.is_empty()).then(|| self.slot.clone()));
        [joined, taken]
    }

    /// The hub as a polygon with a face in front of each strip.
    fn hub(&self, face_mm: f64) -> Vec<DVec2> {
        let corner = face_mm / libm::cos(PI / f64::from(self.count));
        (0..self.count).map(|k| spoke(self.count, k) * corner).collect()
    }

    fn spoke(&self, index: u32, from_mm: f64, to_mm: f64) -> Vec<DVec2> {
        let w = WEB_HALF_MM;
        let along = [(from_mm, -w), (to_mm, -w), (to_mm, w), (from_mm, w)].map(|(u, v)| DVec2::new(u, v));
        turned(&along, spoke(self.count, index))
    }

    /// Tool for the wires in solid bodies: open to the spine.
    pub(super) fn bore(&self, layout: &Layout) -> Vec<Vec<DVec2>> {
        vec![capsule(DVec2::ZERO, self.wire_in_bore, layout.wire_radius + layout.wire_gap)]
    }

    /// Tool for the spine alone.
    pub(super) fn spine_bore(&self) -> Vec<Vec<DVec2>> {
        let shrink = |p: &DVec2| *p * (1.0 - APART_MM / p.length().max(1.0));
        if self.slot.is_empty() { Vec::new() } else { vec![self.slot.iter().map(shrink).collect()] }
    }

    /// Tools for the end block of a lit body: the strips with their bumps pass it too, and the wires go from the
    /// spine to their place in the cavity.
    pub(super) fn mouth(&self, layout: &Layout) -> Vec<Vec<DVec2>> {
        let mut tools = self.bore(layout);
        tools.push(capsule(self.wire_in_bore, self.wire_in_cavity, layout.wire_radius + layout.wire_gap));
        let slot = strip_slot(layout, layout.crown_u, APART_MM);
        tools.extend((0..self.count).map(|k| turned(&slot, facing(self.count, k))));
        tools
    }

    /// What a joint's own parts keep off, with a gap: hub with all that stands out of it, spokes and wires.
    pub(super) fn kept_free(&self, layout: &Layout, gap_mm: f64, far_mm: f64) -> Vec<Vec<DVec2>> {
        let mut zones = vec![self.hub(layout.crown_u.max(layout.rib_u) + gap_mm)];
        let spoke = |k| {
            let e = spoke(self.count, k);
            capsule(DVec2::ZERO, e * far_mm, WEB_HALF_MM + gap_mm)
        };
        zones.extend((0..self.count).map(spoke));
        zones.push(capsule(DVec2::ZERO, self.wire_in_cavity, layout.wire_radius + gap_mm));
        zones
    }

    /// Whether a point of the section lies within `near_mm` of hub or spokes.
    pub(super) fn near(&self, layout: &Layout, p: DVec2, near_mm: f64) -> bool {
        let corner = layout.rib_u.max(layout.crown_u) / libm::cos(PI / f64::from(self.count));
        let beside = |k: u32| {
            let e = spoke(self.count, k);
            p.dot(e) > 0.0 && p.perp_dot(e).abs() < WEB_HALF_MM + near_mm
        };
        p.length() < corner + near_mm || (0..self.count).any(beside)
    }
}

/// Where a strip that faces +u passes: its board, and what stands out of it up to `to_u`. All of it smaller by `less`.
fn strip_slot(layout: &Layout, to_u: f64, less: f64) -> Vec<DVec2> {
    let (back, front) = (layout.back_u + less, layout.front_u - less);
    let (w, o) = (layout.strip_v - less, layout.open_v - less);
    [(back, -w), (front, -w), (front, -o), (to_u, -o), (to_u, o), (front, o), (front, w), (back, w)]
        .map(|(u, v)| DVec2::new(u, v))
        .to_vec()
}

#[cfg(test)]
mod tests {
    use super::super::layout::{Fit, lay_out};
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::project::{LightRules, SpineRules};
    use solid::section::{area_mm2, distance_to, intersect, point_in, subtract};

    const FIT: Fit =
        Fit { least_gap_mm: 0.2, slot_loss_mm: 0.2, hole_loss_mm: 0.2, glue_gap_mm: 0.15, press_gap_mm: 0.0 };

    fn layout(count: u32, bar: Option<&str>) -> Layout {
        let stock = Catalogue::built_in();
        let strip = stock.strips.iter().find(|s| s.name == "strip-60").unwrap().clone();
        let light = LightRules::plain(strip, count);
        let spine = bar.map(|name| SpineRules::plain(stock.bars.iter().find(|b| b.name == name).unwrap().clone()));
        lay_out(Some(&light), spine.as_ref(), &FIT, 4.0).unwrap()
    }

    /// What is printed: joined outlines less those taken away.
    fn printed(l: &Layout) -> Vec<Vec<DVec2>> {
        let [joined, taken] = l.material(40.0, false);
        let far = vec![vec![DVec2::splat(-60.0), DVec2::new(60.0, -60.0), DVec2::splat(60.0), DVec2::new(-60.0, 60.0)]];
        let mut empty = far.clone();
        for part in joined {
            empty = subtract(&empty, &[part]).unwrap();
        }
        let mut solid = subtract(&far, &empty).unwrap();
        for part in taken {
            solid = subtract(&solid, &[part]).unwrap();
        }
        solid
    }

    #[test]
    fn all_that_slides_has_its_gap_and_is_held() {
        for count in 3..=6 {
            for bar in [Some("round-glass-8"), Some("flat-aluminium-12x3"), None] {
                let l = layout(count, bar);
                let solid = printed(&l);
                let strip = l.strip.clone().unwrap();
                for to in l.facings() {
                    for outline in [&strip.nominal, &strip.largest] {
                        let least = if outline == &strip.nominal { 0.2 } else { 0.2 - 1e-9 };
                        for p in turned(outline, to) {
                            assert!(!point_in(&solid, p), "{count} {bar:?}: {p} lies in the rail");
                            assert!(distance_to(&solid, p) >= least, "{count} {bar:?}: {p}");
                        }
                    }
                    // Lips reach over both edges of the board.
                    for side in [1.0, -1.0] {
                        let lip = DVec2::new(l.front_u + 0.3, side * (l.strip_v - 0.3));
                        assert!(point_in(&solid, to.rotate(lip)), "{count} {bar:?}: no lip");
                    }
                    assert!(!point_in(&solid, to * (l.crown_u + 15.0)), "{count}: the light's way is shut");
                }
                for p in l.spine.iter().flat_map(|s| &s.largest) {
                    assert!(!point_in(&solid, *p) && distance_to(&solid, *p) >= 0.3 - 1e-9, "{count} {bar:?}: {p}");
                }
            }
        }
    }

    #[test]
    fn neighbours_leave_a_web_and_the_rail_is_one() {
        for count in 3..=6 {
            let l = layout(count, Some("round-glass-8"));
            let spokes = l.spokes.clone().unwrap();
            // Of a regular polygon: sides of the strip's width and web stand at least this far out.
            let angle = PI / f64::from(count);
            let seat = l.strip_v / libm::tan(angle) + WEB_HALF_MM / libm::sin(angle);
            assert!(l.back_u >= seat - 1e-9, "{count}: {} under {seat}", l.back_u);
            let outer: Vec<_> = printed(&l).into_iter().filter(|o| area_mm2(std::slice::from_ref(o)) > 0.0).collect();
            assert_eq!(outer.len(), 1, "{count}: hub and spokes hang together");
            assert_eq!(spokes.slot.len(), ROUND_CORNERS as usize);
        }
    }

    #[test]
    fn wires_pass_beside_rail_light_and_spine() {
        for count in 3..=6 {
            let l = layout(count, Some("round-glass-8"));
            let spokes = l.spokes.clone().unwrap();
            let solid = printed(&l);
            let away = distance_to(&solid, spokes.wire_in_cavity);
            assert!(!point_in(&solid, spokes.wire_in_cavity) && away >= l.wire_radius, "{count}: {away}");
            assert!(spokes.wire_in_bore.length() >= 4.0 + l.wire_radius, "{count}: beside the rod");
            // Off the ray that leaves the middle of the pixels beside them at 45 degrees; six strips stand closer than that.
            let p = spokes.wire_in_cavity.abs();
            let off_ray = (p.y - (p.x - l.emit_u)) * core::f64::consts::FRAC_1_SQRT_2;
            assert!(count > 5 || off_ray > l.wire_radius, "{count}: in the light");
            // The end block's tools meet, so that the wires pass from one to the other.
            let [near, far] = [spokes.bore(&l), spokes.mouth(&l)].map(|t| t[t.len().min(1) - 1].clone());
            assert!(!intersect(&[near], &[far]).unwrap().is_empty(), "{count}");
        }
    }
}
