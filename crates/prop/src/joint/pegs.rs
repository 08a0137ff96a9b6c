//! Loose pegs of stock rod in sockets of both pieces: they place the pieces and take the load across the joint, as long as
//! there is material for them.

use super::{Fastening, JointError, Loops, Place, extent, far_pair, holds_disc, material, within};
use crate::catalogue::Rod;
use crate::outcome::{JointKind, PegSet};
use crate::rail::layout::Fit;
use solid::section::intersect;
use solid::{DVec2, Mesh};

/// The shallowest socket worth drilling, mm.
const LEAST_DEPTH_MM: f64 = 8.0;
/// Sockets are tried in steps of this depth, mm.
const STEP_MM: f64 = 2.0;
/// Sections are taken this much deeper, mm, so that an end face at a step's very depth counts.
const CLEAR_MM: f64 = 0.2;
/// Wall kept around and behind a socket, mm.
const WALL_MM: f64 = 2.1;
/// Engagement that a peg should have, in depths of the section (common practice: 1.5 to 2).
const DEPTHS: f64 = 1.5;
/// No peg reaches further into a piece, mm: longer holes print crooked (our choice).
const MOST_MM: f64 = 60.0;
/// A socket takes at most this share of its piece's length.
const SPAN_SHARE: f64 = 0.4;
/// A piece longer than this is as good as one that is as long: its sockets go no deeper, mm.
pub(crate) const MOST_SPAN_MM: f64 = MOST_MM / SPAN_SHARE;
/// Each socket is this much deeper than the peg, mm: room for glue, and a peg cut a little long.
const SPARE_MM: f64 = 0.5;
/// Stock taken where the maker names none: glass fibre takes bending, and no event forbids it.
const USUAL: &str = "glass-";
/// A peg holds from two of its diameters on (common practice, no source).
pub(crate) const PEG_DIAMETERS: f64 = 2.0;
/// A peg thicker than this share of the section's depth leaves too little around it (our choice).
const THICKEST: f64 = 0.2;

/// Two pegs as far apart and as deep as there is room; `None` where there is none.
///
/// # Errors
/// [`JointError::NoRoom`] when the maker names stock that does not fit though thinner stock would.
pub(super) fn pegs(place: &Place) -> Result<Option<Fastening>, JointError> {
    let depths = Depths::of(place)?;
    if let Some(rod) = place.peg {
        let made = depths.seat(place, rod)?;
        if made.is_some() || place.asked != Some(JointKind::Pegs) {
            return Ok(made.map(|m| m.fastening(place, rod)));
        }
        return Err(JointError::NoRoom {
            what: too_thick(place, &depths, rod)?,
            remedy: "name thinner stock (peg), leave the key out so that what fits is taken, or move the cut to a thicker place"
                .into(),
            key: vec!["body".into(), place.body.to_owned(), "peg".into()],
        });
    }
    let mut usual: Vec<&Rod> = place.rods.iter().filter(|r| r.name.starts_with(USUAL)).collect();
    usual.sort_by(|a, b| b.diameter_mm.total_cmp(&a.diameter_mm));
    let thinnest = usual.last().map(|r| r.name.clone());
    for rod in usual {
        if rod.diameter_mm > THICKEST * depths.section_mm && thinnest.as_ref() != Some(&rod.name) {
            continue;
        }
        let made = depths.seat(place, rod)?;
        let holds = |m: &Seat| m.depth_mm[0].min(m.depth_mm[1]) >= PEG_DIAMETERS * rod.diameter_mm;
        // The thinnest is better than none, and its finding says what it lacks.
        if let Some(made) = made.filter(|m| holds(m) || thinnest.as_ref() == Some(&rod.name)) {
            return Ok(Some(made.fastening(place, rod)));
        }
    }
    Ok(None)
}

fn too_thick(place: &Place, depths: &Depths, rod: &Rod) -> Result<String, JointError> {
    let mut thinner: Vec<&Rod> = place.rods.iter().filter(|r| r.diameter_mm < rod.diameter_mm).collect();
    thinner.sort_by(|a, b| b.diameter_mm.total_cmp(&a.diameter_mm));
    let mut fits = None;
    for r in thinner {
        if depths.seat(place, r)?.is_some() {
            fits = Some(r);
            break;
        }
    }
    let instead = fits.map_or_else(
        || "no stock of the catalogue fits here".to_owned(),
        |r| format!("the thickest that fits is {:?} ({:.0} mm)", r.name, r.diameter_mm),
    );
    Ok(format!(
        "two pegs of {} are too thick for this joint: with {WALL_MM:.1} mm of wall around each socket they need {:.1} mm of \
         solid, and the section is {:.1} mm thick; {instead}",
        rod.title,
        2.0 * (socket_radius(&place.fit, rod) + WALL_MM),
        depths.section_mm
    ))
}

/// Radius of a socket as drawn, mm: glue has its room round the fattest rod in a hole that prints small.
fn socket_radius(fit: &Fit, rod: &Rod) -> f64 {
    (rod.diameter_mm + rod.tolerance_mm + fit.hole_loss_mm) / 2.0 + fit.glue_gap_mm
}

/// Material that goes on without a break from the cut to each depth, both sides.
struct Depths {
    /// For each side, from [`LEAST_DEPTH_MM`] on, a step apart.
    kept: [Vec<Loops>; 2],
    /// Thickness of the section at the cut, mm.
    section_mm: f64,
}

impl Depths {
    fn of(place: &Place) -> Result<Depths, JointError> {
        let faces = [material(place, 0, 0.05)?, material(place, 1, 0.05)?];
        let size = |loops: &Loops| {
            let [low, high] = extent(loops);
            if low.x < high.x { (high - low).min_element() } else { 0.0 }
        };
        let section_mm = size(&faces[0]).min(size(&faces[1]));
        let mut kept = [Vec::new(), Vec::new()];
        for (side, kept) in kept.iter_mut().enumerate() {
            let most = (DEPTHS * section_mm).min(MOST_MM).min(SPAN_SHARE * place.span_mm[side]).max(LEAST_DEPTH_MM);
            let mut all = faces[side].clone();
            // The wall behind the socket's end counts as well.
            let mut depth = STEP_MM;
            while depth <= most + 0.5 * STEP_MM + WALL_MM && !all.is_empty() {
                all = intersect(&all, &material(place, side, depth + CLEAR_MM)?)?;
                if depth >= LEAST_DEPTH_MM + WALL_MM - 0.5 * STEP_MM {
                    kept.push(all.clone());
                }
                depth += STEP_MM;
            }
        }
        Ok(Depths { kept, section_mm })
    }

    /// Where two pegs of this stock go: where depth times distance is most, since pegs resist tilting by the one and
    /// twisting by the other; then deeper still on the side that allows more.
    fn seat(&self, place: &Place, rod: &Rod) -> Result<Option<Seat>, JointError> {
        let radius = socket_radius(&place.fit, rod);
        let around = solid::around_mm(radius, 24) + WALL_MM;
        let depth = |k: usize| LEAST_DEPTH_MM + STEP_MM * k as f64;
        let mut best: Option<(f64, usize, [DVec2; 2])> = None;
        for k in 0..self.kept[0].len().min(self.kept[1].len()) {
            let room = within(&intersect(&self.kept[0][k], &self.kept[1][k])?, around)?;
            let Some([a, b]) = far_pair(&room).filter(|[a, b]| (*b - *a).length() >= 4.0 * radius) else { continue };
            let worth = depth(k) * (b - a).length();
            if best.is_none_or(|(most, ..)| worth > most) {
                best = Some((worth, k, [a, b]));
            }
        }
        Ok(best.map(|(_, k, middles)| {
            let deeper = |side: usize| {
                let fits = |loops: &Loops| middles.iter().all(|m| holds_disc(loops, *m, around - 1e-3));
                depth(k + self.kept[side].iter().skip(k + 1).take_while(|l| fits(l)).count())
            };
            Seat { middles, radius, depth_mm: [deeper(0), deeper(1)], section_mm: self.section_mm }
        }))
    }
}

/// Two sockets.
struct Seat {
    middles: [DVec2; 2],
    radius: f64,
    /// How far the peg reaches into each piece, mm.
    depth_mm: [f64; 2],
    section_mm: f64,
}

impl Seat {
    fn fastening(&self, place: &Place, rod: &Rod) -> Fastening {
        let along = place.basis.x.cross(place.basis.y);
        let [butt, tip] = self.depth_mm;
        let mut sockets = Mesh::default();
        for p in self.middles {
            let middle = place.basis.raise(p);
            let (from, to) = (middle - along * (butt + SPARE_MM), middle + along * (tip + SPARE_MM));
            sockets.append(&solid::cylinder(from, to, solid::around_mm(self.radius, 24), 24));
        }
        let engaged = butt.min(tip);
        let play = 2.0 * (self.radius - rod.diameter_mm / 2.0);
        Fastening {
            takes: [sockets.clone(), sockets],
            extra_glue_mm2: 2.0 * core::f64::consts::PI * rod.diameter_mm * engaged,
            depth_mm: self.depth_mm.map(|d| d + SPARE_MM),
            pegs: Some(PegSet {
                stock: rod.name.clone(),
                title: rod.title.clone(),
                diameter_mm: rod.diameter_mm,
                length_mm: butt + tip,
                count: 2,
                engaged_mm: engaged,
                play_deg: libm::atan2(play, engaged).to_degrees(),
                apart_mm: (self.middles[1] - self.middles[0]).length(),
                section_mm: self.section_mm,
            }),
            ..Fastening::of(JointKind::Pegs)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_socket_leaves_glue_its_room_in_a_hole_that_prints_small() {
        // By hand: 4 mm rod, 0.1 mm fat, in a hole 0.3 mm small, with 0.15 mm of glue a side: 4.4 mm and 0.3 mm.
        let rod = Rod {
            name: "glass-4".into(),
            title: "Glass rod".into(),
            diameter_mm: 4.0,
            tolerance_mm: 0.1,
            metal: false,
            wood: false,
            density_g_cm3: 1.9,
            source: "a test".into(),
        };
        let fit = Fit { least_gap_mm: 0.2, slot_loss_mm: 0.1, hole_loss_mm: 0.3, glue_gap_mm: 0.15, press_gap_mm: 0.0 };
        assert!((2.0 * socket_radius(&fit, &rod) - 4.7).abs() < 1e-12);
    }
}
