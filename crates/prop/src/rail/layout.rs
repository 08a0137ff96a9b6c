//! The section of the rail: how wide each slot must be so that strip and spine slide, and where rib, lip and bore lie.
//!
//! Section axes: **u** the way the strip faces, **v** along the strip's width, origin in the middle of the spine.
//!
//! ```text
//!        v ^   ######################   rib, grown from the wall
//!          |   ####   ########   ####
//!          |   ###|   |      |   |###   lips hold the strip's edges
//!          +---   strip spine strip   ---> u   light leaves between the lips
//! ```
//!
//! From three strips on they stand round the spine instead, held by spokes: see [`super::spokes`].

use super::spokes::{self, Spokes};
use crate::catalogue::Printer;
use crate::project::{LightRules, SpineRules};
use solid::DVec2;
use thiserror::Error;

/// Thickness of a lip in front of the strip, mm: three beads of a 0.4 nozzle.
const LIP_MM: f64 = 1.2;
/// How far a lip should reach over the strip's edge, mm.
const LIP_REACH_MM: f64 = 1.2;
/// The least it may reach and still hold, mm.
const LIP_LEAST_MM: f64 = 0.5;
/// Rib left behind a slot before it may narrow to a stem, mm.
const HEAD_MM: f64 = 2.0;
/// Half the thickness of a web that takes the spine's place, of a stem or of a spoke, mm.
pub(super) const WEB_HALF_MM: f64 = 1.2;
/// Steps in which the wires' place beside the ribs is lowered, mm.
const WIRE_STEP_MM: f64 = 0.25;
/// Beyond anything in a section, mm.
const FAR_MM: f64 = 1e4;
/// A tool that must not share a surface with another is this much smaller, mm.
pub(super) const APART_MM: f64 = 0.01;

/// Why no section can be laid out.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum LayoutError {
    /// Solder bumps take so much of the strip's width that nothing is left to hold it by.
    #[error(
        "strip {strip}: its board is {width_mm:.1} mm wide and pixels and solder take {crown_mm:.1} mm of that; \
         the rail needs {need_mm:.1} mm of bare edge on each side"
    )]
    NoEdge {
        /// Strip row.
        strip: String,
        /// Board width, mm.
        width_mm: f64,
        /// Width taken by pixels and bumps, mm.
        crown_mm: f64,
        /// Bare edge needed, mm.
        need_mm: f64,
    },
}

/// What has to slide, and with how much room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fit {
    /// Gap per side that is left in the worst case, mm.
    pub least_gap_mm: f64,
    /// How much narrower a slot may print, mm in all.
    pub slot_loss_mm: f64,
    /// How much smaller a hole may print, mm on its diameter.
    pub hole_loss_mm: f64,
    /// Gap per side for glued locating fits, mm.
    pub glue_gap_mm: f64,
    /// Gap per side around what is pressed into a hole that printed small, mm.
    pub press_gap_mm: f64,
}

impl Fit {
    /// The most careful fit over some printers.
    pub fn over<'a>(printers: impl IntoIterator<Item = &'a Printer>) -> Fit {
        let of = |p: &Printer| Fit {
            least_gap_mm: p.slide_gap_mm[0],
            slot_loss_mm: p.slot_loss_mm,
            hole_loss_mm: p.hole_loss_mm,
            glue_gap_mm: p.glue_gap_mm,
            press_gap_mm: p.press_gap_mm,
        };
        let both = |a: Fit, b: Fit| Fit {
            least_gap_mm: a.least_gap_mm.max(b.least_gap_mm),
            slot_loss_mm: a.slot_loss_mm.max(b.slot_loss_mm),
            hole_loss_mm: a.hole_loss_mm.max(b.hole_loss_mm),
            glue_gap_mm: a.glue_gap_mm.max(b.glue_gap_mm),
            press_gap_mm: a.press_gap_mm.max(b.press_gap_mm),
        };
        printers.into_iter().map(of).reduce(both).unwrap_or(Fit::NONE)
    }

    /// No room at all.
    const NONE: Fit =
        Fit { least_gap_mm: 0.0, slot_loss_mm: 0.0, hole_loss_mm: 0.0, glue_gap_mm: 0.0, press_gap_mm: 0.0 };

    /// Gap per side to draw around what is pressed into an upright hole and may be `tolerance_mm` larger than nominal, mm.
    pub fn pressed_gap_mm(&self, tolerance_mm: f64) -> f64 {
        self.press_gap_mm + (self.hole_loss_mm + tolerance_mm) / 2.0
    }

    /// Gap per side to draw around a part that may be `tolerance_mm` larger than nominal, mm.
    pub fn drawn_gap_mm(&self, tolerance_mm: f64) -> f64 {
        self.least_gap_mm + (self.slot_loss_mm + tolerance_mm) / 2.0
    }
}

/// One thing that slides, as an outline in the section, with the gap drawn around it.
#[derive(Clone, Debug, PartialEq)]
pub struct Slider {
    /// Outline at nominal size, counter-clockwise, mm.
    pub nominal: Vec<DVec2>,
    /// Outline at its largest, mm.
    pub largest: Vec<DVec2>,
    /// Gap per side as drawn, mm.
    pub gap_mm: f64,
}

/// The section of the rail, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// Back of the strip's slot. For ribs also the half-width of the spine's slot along u (half the web where there is
    /// no spine).
    pub back_u: f64,
    /// Half-height of the spine's slot; 0 where there is no spine.
    pub spine_v: f64,
    /// Front of the strip's slot.
    pub front_u: f64,
    /// Half-height of the strip's slot.
    pub strip_v: f64,
    /// Half-height of the opening between the lips.
    pub open_v: f64,
    /// Outer face of the lips.
    pub rib_u: f64,
    /// Emitting face of the pixels.
    pub emit_u: f64,
    /// Furthest that pixels and solder bumps reach.
    pub crown_u: f64,
    /// 1 to 6 strips; 0 when there is only a spine.
    pub rows: u32,
    /// How three strips or more stand; `None` for ribs.
    pub spokes: Option<Spokes>,
    /// The spine.
    pub spine: Option<Slider>,
    /// The strip that faces +u.
    pub strip: Option<Slider>,
    /// Middle of the wire way where it passes a bore, on the +u side.
    pub wire_u: f64,
    /// Half the wire bundle.
    pub wire_radius: f64,
    /// Air drawn around the bundle where it passes a bore.
    pub wire_gap: f64,
}

/// Lays out the section for a strip, a spine or both.
///
/// # Errors
/// [`LayoutError::NoEdge`] when the strip cannot be held by its edges.
pub fn lay_out(
    light: Option<&LightRules>,
    spine: Option<&SpineRules>,
    fit: &Fit,
    wire_bundle_mm: f64,
) -> Result<Layout, LayoutError> {
    let gap = |tolerance_mm: f64| fit.drawn_gap_mm(tolerance_mm);
    let rows = light.map_or(0, |l| l.rows);
    let around = rows > 2;
    let (slot_u, spine_v, spine, slot) = match spine {
        Some(rules) => {
            let bar = &rules.bar;
            let g = gap(bar.tolerance_mm);
            let half = bar.size_mm.map(|mm| mm / 2.0);
            let [u, v] = [0, 1].map(|k| rules.slot_mm[k].map_or(half[k] + g, |mm| mm / 2.0));
            let more = bar.tolerance_mm / 2.0;
            // A round rod between two ribs lies in a square slot; between spokes its slot is round.
            let outline = |u: f64, v: f64, outside: bool| {
                if around && bar.round { spokes::round(u.max(v), outside) } else { rect(-u, u, v) }
            };
            let slider = Slider {
                nominal: outline(half[0], half[1], false),
                largest: outline(half[0] + more, half[1] + more, false),
                gap_mm: g,
            };
            (u, v, Some(slider), outline(u, v, true))
        }
        None => (WEB_HALF_MM, 0.0, None, Vec::new()),
    };
    let wire_radius = wire_bundle_mm / 2.0;
    let wire_gap = gap(0.0) + APART_MM;
    let Some(rules) = light else {
        let wire_u = slot_u + wire_radius + wire_gap;
        return Ok(Layout {
            back_u: slot_u,
            spine_v,
            front_u: slot_u,
            strip_v: spine_v,
            open_v: spine_v,
            rib_u: slot_u,
            emit_u: slot_u,
            crown_u: slot_u,
            rows,
            spokes: None,
            spine,
            strip: None,
            wire_u,
            wire_radius,
            wire_gap,
        });
    };
    let strip = &rules.strip;
    let [width, wider] = strip.width_mm;
    let g = gap(wider);
    let thick_gap = fit.least_gap_mm + fit.slot_loss_mm / 2.0;
    let strip_v = width / 2.0 + g;
    let back_u = if around { spokes::seat_mm(rows, &slot, strip_v) } else { slot_u };
    let front_u = back_u + rules.tape_mm + strip.board_mm + 2.0 * thick_gap;
    let open_v = (strip.crown_mm / 2.0 + thick_gap).max(width / 2.0 - LIP_REACH_MM);
    if open_v > width / 2.0 - LIP_LEAST_MM {
        return Err(LayoutError::NoEdge {
            strip: strip.name.clone(),
            width_mm: width,
            crown_mm: strip.crown_mm,
            need_mm: LIP_LEAST_MM + thick_gap,
        });
    }
    let rib_u = front_u + LIP_MM;
    let back = back_u + rules.tape_mm + thick_gap;
    let emit_u = back + strip.height_mm[0];
    // Bumps stand on the board; the pixels' own height counts too.
    let tall = (strip.board_mm + strip.bump_mm).max(strip.height_mm[0] + strip.height_mm[1]);
    let crown_u = back + tall + thick_gap;
    let slider = Slider {
        nominal: tee(back, strip.board_mm, width, strip.height_mm[0], strip.crown_mm),
        largest: tee(back, strip.board_mm, width + wider, tall, strip.crown_mm),
        gap_mm: thick_gap.min(g),
    };
    let spokes = around.then(|| {
        let [wire_in_bore, wire_in_cavity] = spokes::wires(rows, &slot, rib_u, open_v, wire_radius + wire_gap);
        Spokes { count: rows, slot, wire_in_bore, wire_in_cavity }
    });
    Ok(Layout {
        back_u,
        spine_v,
        front_u,
        strip_v,
        open_v,
        rib_u,
        emit_u,
        crown_u,
        rows,
        spokes,
        spine,
        strip: Some(slider),
        wire_u: rib_u.max(crown_u) + wire_radius + wire_gap,
        wire_radius,
        wire_gap,
    })
}

fn rect(left: f64, right: f64, half: f64) -> Vec<DVec2> {
    vec![DVec2::new(left, -half), DVec2::new(right, -half), DVec2::new(right, half), DVec2::new(left, half)]
}

/// A board with a crown of pixels and solder on its front.
fn tee(back: f64, board: f64, width: f64, tall: f64, crown: f64) -> Vec<DVec2> {
    let (w, c, f, t) = (width / 2.0, crown / 2.0, back + board, back + tall);
    [(back, -w), (f, -w), (f, -c), (t, -c), (t, c), (f, c), (f, w), (back, w)].map(|(u, v)| DVec2::new(u, v)).to_vec()
}

impl Layout {
    /// The direction that each strip faces, in the section; strip 1 faces +u.
    pub fn facings(&self) -> Vec<DVec2> {
        match &self.spokes {
            Some(s) => (0..s.count).map(|k| spokes::facing(s.count, k)).collect(),
            None => [DVec2::X, -DVec2::X].into_iter().take(self.rows as usize).collect(),
        }
    }

    /// Outlines that the rail's solid is made of: joined, then taken away. They reach `reach_mm` far into the wall; ribs
    /// narrow to a stem above their head if `stem`.
    pub fn material(&self, reach_mm: f64, stem: bool) -> [Vec<Vec<DVec2>>; 2] {
        if let Some(s) = &self.spokes {
            return s.material(self, reach_mm);
        }
        let upper = self.rib(reach_mm, stem);
        let lower = upper.iter().rev().map(|p| DVec2::new(p.x, -p.y)).collect();
        [vec![upper, lower], Vec::new()]
    }

    /// Half-height above which the rib may narrow to a stem, mm.
    pub(super) fn head_v(&self) -> f64 {
        self.spine_v.max(self.strip_v) + HEAD_MM
    }

    /// Lower edge of the upper rib as steps (from u, to u, height), left to right.
    fn steps(&self) -> Vec<(f64, f64, f64)> {
        // Without a spine a web stands in its place; the ribs overlap there so that they are one.
        let middle = if self.spine.is_some() { self.spine_v } else { -0.1 };
        let lip = LIP_MM;
        let mut steps = Vec::new();
        match self.rows {
            2 => {
                steps.push((-self.rib_u, -self.front_u, self.open_v));
                steps.push((-self.front_u, -self.back_u, self.strip_v));
            }
            _ => steps.push((-self.back_u - lip, -self.back_u, (self.spine_v - LIP_REACH_MM).max(0.5))),
        }
        steps.push((-self.back_u, self.back_u, middle));
        if self.rows > 0 {
            steps.push((self.back_u, self.front_u, self.strip_v));
            steps.push((self.front_u, self.rib_u, self.open_v));
        } else {
            steps.push((self.back_u, self.back_u + lip, (self.spine_v - LIP_REACH_MM).max(0.5)));
        }
        steps
    }

    /// Outline of the upper rib, counter-clockwise, up to `top_v`; narrowed to a stem above its head if `stem`.
    pub fn rib(&self, top_v: f64, stem: bool) -> Vec<DVec2> {
        let steps = self.steps();
        let mut outline = Vec::new();
        for (from, to, v) in &steps {
            outline.push(DVec2::new(*from, *v));
            outline.push(DVec2::new(*to, *v));
        }
        let (left, right) = (steps[0].0, steps[steps.len() - 1].1);
        if stem {
            let head = self.head_v();
            // The head's shoulders slope at 45 degrees so that a lying piece can print them too.
            let slope = (right - WEB_HALF_MM).min(-left - WEB_HALF_MM).max(0.0);
            outline.push(DVec2::new(right, head));
            outline.push(DVec2::new(WEB_HALF_MM, head + slope));
            outline.push(DVec2::new(WEB_HALF_MM, top_v.max(head + slope + 1.0)));
            outline.push(DVec2::new(-WEB_HALF_MM, top_v.max(head + slope + 1.0)));
            outline.push(DVec2::new(-WEB_HALF_MM, head + slope));
            outline.push(DVec2::new(left, head));
        } else {
            outline.push(DVec2::new(right, top_v));
            outline.push(DVec2::new(left, top_v));
        }
        outline
    }

    /// Outermost u of the ribs on each side: negative side, positive side.
    fn rib_reach(&self) -> [f64; 2] {
        let steps = self.steps();
        [steps[0].0, steps[steps.len() - 1].1]
    }

    /// Tools that bore the way of spine and wires through solid bodies; between ribs the strips pass there too.
    pub fn bore(&self) -> Vec<Vec<DVec2>> {
        self.spokes.as_ref().map_or_else(|| vec![self.rib_bore()], |s| s.bore(self))
    }

    /// Tools that bore the butt-side end block of a lit body: there the strips go in.
    pub fn mouth(&self) -> Vec<Vec<DVec2>> {
        self.spokes.as_ref().map_or_else(|| self.bore(), |s| s.mouth(self))
    }

    /// Tools for the spine where it runs alone.
    pub fn spine_bore(&self) -> Vec<Vec<DVec2>> {
        self.spokes.as_ref().map_or_else(|| self.bore(), Spokes::spine_bore)
    }

    /// Places of the wires' middle in a lit body, the best first: out of the light.
    pub fn wires_in_cavity(&self) -> Vec<DVec2> {
        match &self.spokes {
            Some(s) => vec![s.wire_in_cavity],
            None => {
                let top = self.head_v();
                let steps = (top / WIRE_STEP_MM).ceil() as usize;
                (0..=steps).map(|k| DVec2::new(self.wire_u, (top - WIRE_STEP_MM * k as f64).max(0.0))).collect()
            }
        }
    }

    /// Middle of the wires in solid bodies.
    pub fn wires_in_bore(&self) -> DVec2 {
        self.spokes.as_ref().map_or(DVec2::new(self.wire_u, 0.0), |s| s.wire_in_bore)
    }

    /// Whether a point of the section lies beside rib or spoke, within `near_mm`.
    pub fn near_rail(&self, p: DVec2, near_mm: f64) -> bool {
        let [left, right] = self.rib_reach();
        match &self.spokes {
            Some(s) => s.near(self, p, near_mm),
            None => p.x >= left - near_mm && p.x <= right + near_mm,
        }
    }

    /// Whether a point of the section lies beside the bore, within `near_mm`.
    pub fn near_bore(&self, p: DVec2, near_mm: f64) -> bool {
        let right = self.wire_u + self.wire_radius;
        match &self.spokes {
            Some(s) => p.length() <= s.wire_in_cavity.length() + self.wire_radius + self.wire_gap + near_mm,
            None => {
                let left = if self.rows > 0 { -self.crown_u } else { 0.0 };
                p.x >= left - near_mm && p.x <= right + near_mm
            }
        }
    }

    /// What a joint's own parts keep off, `gap_mm` away: the rail, what stands out of it between its lips, and the wires.
    pub fn kept_free(&self, gap_mm: f64) -> Vec<Vec<DVec2>> {
        if let Some(s) = &self.spokes {
            return s.kept_free(self, gap_mm, FAR_MM);
        }
        let [left, right] = self.rib_reach();
        let radius = self.wire_radius + gap_mm;
        let (crown_u, crown_v) = (self.crown_u + gap_mm, self.open_v + gap_mm);
        // The wires run on the +u side above the ribs' middle.
        let beside = right.max(self.wire_u + radius);
        let wires = [(0.0, -radius), (beside, -radius), (beside, FAR_MM), (0.0, FAR_MM)];
        vec![
            rect(left - gap_mm, right + gap_mm, FAR_MM),
            rect(-crown_u, crown_u, crown_v),
            wires.map(|(u, v)| DVec2::new(u, v)).to_vec(),
        ]
    }

    /// Beyond these u, negative and positive, a number on the wall is clear of rail and wires.
    pub fn beside(&self) -> [f64; 2] {
        let [left, _] = self.rib_reach();
        let right = self.wire_u + self.wire_radius;
        if self.spokes.is_some() { [-right, right] } else { [left, right] }
    }

    /// Room that the section takes across and through, mm.
    pub fn room_mm(&self) -> [f64; 2] {
        let [left, right] = self.rib_reach();
        match &self.spokes {
            Some(_) => [2.0 * self.crown_u; 2],
            None => [right - left, 2.0 * self.strip_v.max(self.spine_v)],
        }
    }

    fn rib_bore(&self) -> Vec<DVec2> {
        let a = APART_MM;
        let reach = self.wire_u + self.wire_radius + self.wire_gap;
        let wire_v = self.open_v.max(self.wire_radius + self.wire_gap);
        // Half-heights as steps from the middle outwards on the + side, then on the - side.
        let plus = [(self.back_u, self.spine_v), (self.front_u, self.strip_v), (reach, wire_v)];
        let minus = match self.rows {
            2 => vec![(self.back_u, self.spine_v), (self.front_u, self.strip_v), (self.crown_u, self.open_v)],
            _ => vec![(self.back_u, self.spine_v)],
        };
        let upper = |sides: &[(f64, f64)]| {
            let mut line: Vec<DVec2> = Vec::new();
            let mut from = 0.0;
            for (u, v) in sides {
                if *u <= from + 2.0 * a || *v <= a {
                    continue;
                }
                line.push(DVec2::new(from, v - a));
                line.push(DVec2::new(u - a, v - a));
                from = u - a;
            }
            line
        };
        let (right, left) = (upper(&plus), upper(&minus));
        let mut outline: Vec<DVec2> = Vec::new();
        outline.extend(left.iter().rev().map(|p| DVec2::new(-p.x, -p.y)));
        outline.extend(right.iter().map(|p| DVec2::new(p.x, -p.y)));
        outline.extend(right.iter().rev().map(|p| DVec2::new(p.x, p.y)));
        outline.extend(left.iter().map(|p| DVec2::new(-p.x, p.y)));
        outline.dedup_by(|a, b| (*a - *b).length() < 1e-9);
        if outline.len() > 1 && (outline[0] - outline[outline.len() - 1]).length() < 1e-9 {
            outline.pop();
        }
        outline
    }

    /// Corners that must lie inside the cavity for the strips to have their slots and their light a way out.
    pub fn strip_corners(&self) -> Vec<DVec2> {
        let one = [(self.front_u, self.strip_v), (self.back_u, self.strip_v), (self.crown_u, self.open_v)];
        let corners: Vec<DVec2> = one.iter().flat_map(|(u, v)| [DVec2::new(*u, *v), DVec2::new(*u, -v)]).collect();
        self.facings().into_iter().flat_map(|to| spokes::turned(&corners, to)).collect()
    }

    /// Corners that must lie inside the cavity for the spine to have its slot.
    pub fn spine_corners(&self) -> Vec<DVec2> {
        match &self.spokes {
            Some(s) => s.slot.clone(),
            None if self.spine.is_none() => Vec::new(),
            None => rect(-self.back_u, self.back_u, self.spine_v),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::{Bar, Strip};

    fn light(rows: u32) -> LightRules {
        let strip = Strip {
            name: "s".into(),
            title: "s".into(),
            pitch_mm: 16.67,
            width_mm: [10.0, 0.2],
            board_mm: 0.3,
            height_mm: [1.9, 0.1],
            pixel_mm: 5.0,
            bump_mm: 1.5,
            crown_mm: 6.0,
            mass_g_m: 20.0,
            shine: crate::catalogue::Shine::plain(),
            source: "test".into(),
        };
        LightRules::plain(strip, rows)
    }

    fn spine() -> SpineRules {
        SpineRules::plain(Bar {
            name: "b".into(),
            title: "b".into(),
            size_mm: [3.0, 12.0],
            round: false,
            tolerance_mm: 0.1,
            density_g_cm3: 2.7,
            reflect: 0.7,
            bore_mm: 0.0,
            wood: false,
            metal: true,
            holding: crate::catalogue::Holding::NONE,
            source: "test".into(),
        })
    }

    const FIT: Fit =
        Fit { least_gap_mm: 0.2, slot_loss_mm: 0.2, hole_loss_mm: 0.2, glue_gap_mm: 0.15, press_gap_mm: 0.0 };

    fn area(outline: &[DVec2]) -> f64 {
        (0..outline.len()).map(|i| outline[i].perp_dot(outline[(i + 1) % outline.len()])).sum::<f64>() / 2.0
    }

    #[test]
    fn slots_leave_the_least_gap_in_the_worst_case() {
        let l = lay_out(Some(&light(2)), Some(&spine()), &FIT, 4.0).unwrap();
        // Printed slot (less the loss) against the fattest bar: 0.2 mm left on each side.
        assert!(((2.0 * l.back_u - 0.2) - 3.1 - 0.4).abs() < 1e-12);
        assert!(((2.0 * l.spine_v - 0.2) - 12.1 - 0.4).abs() < 1e-12);
        assert!(((2.0 * l.strip_v - 0.2) - 10.2 - 0.4).abs() < 1e-12);
        assert!(l.open_v < 5.0 - LIP_LEAST_MM && l.open_v > 3.0);
        assert!(l.crown_u >= l.back_u + 0.1 + 0.3 + 1.5);
    }

    #[test]
    fn outlines_are_simple_and_counter_clockwise() {
        for rows in [1, 2] {
            for spine in [Some(spine()), None] {
                let l = lay_out(Some(&light(rows)), spine.as_ref(), &FIT, 4.0).unwrap();
                for outline in [l.rib(20.0, false), l.rib(30.0, true), l.strip.clone().unwrap().nominal] {
                    assert!(area(&outline) > 0.0, "rows {rows}: {outline:?}");
                }
                if spine.is_some() {
                    let bore = l.rib_bore();
                    assert!(area(&bore) > 0.0, "{bore:?}");
                    let widest = bore.iter().fold(0.0f64, |w, p| w.max(p.x));
                    assert!(widest > l.rib_u + 4.0, "the wires pass beside the ribs");
                }
            }
        }
    }

    #[test]
    fn a_strip_that_is_all_solder_is_refused() {
        let mut fat = light(2);
        fat.strip.crown_mm = 9.5;
        let refused = lay_out(Some(&fat), None, &FIT, 4.0).unwrap_err();
        assert!(refused.to_string().contains("9.5 mm"), "{refused}");
    }
}
