//! Fifth stage: how the printed prop glows.

use super::Monitor;
use crate::light::{LightError, LightWork, Lighting};
use crate::memory::{Key, KeyOf, Memory};
use crate::outcome::Role;
use crate::refusal::Refusal;

/// Passes of a build that have a light each, at most: where walls are graded.
const PASSES: usize = 3;

/// Follows the light of every pixel through the printed pieces; `None` for a prop without pixels or windows. `made_from` names the
/// placed shape and its windows.
///
/// # Errors
/// A [`Refusal`] when a material lets no light through at all, a pixel lies in no cavity, or the work was stopped.
pub fn light(
    work: &LightWork,
    made_from: [Key; 2],
    memory: &Memory,
    monitor: &Monitor,
) -> Result<Option<Lighting>, Refusal> {
    let seen = work.project.for_light();
    // Every field is named, so that none is forgotten. Pieces are known by all that they were made from; joints and views follow
    // from these and the inside.
    let LightWork {
        project: _,
        placed: _,
        inside,
        split: _,
        printed,
        views: _,
        bars,
        wire_way,
        parts,
        windows: _,
        seed,
    } = work;
    let key = KeyOf::stage("light").and(&seen).and(&made_from).and(&inside.key).and(&printed.keys);
    let key = key.and(bars).and(wire_way).and(parts).and(seed).key();
    let work = LightWork { project: &seen, ..*work };
    let made = || crate::light::light(&work, &monitor.cancel).map_err(|e| refusal(&work, &e));
    memory.recall("light", PASSES, key, made).map(|known| Option::clone(&known))
}

fn refusal(work: &LightWork, error: &LightError) -> Refusal {
    match error {
        LightError::Light(glow::LightError::Cancelled(_)) => Refusal::Stopped,
        LightError::Light(glow::LightError::Scene(glow::SceneError::OpaqueMedium { body, .. })) => {
            let lit = || work.printed.pieces.iter().filter(|p| p.role == Role::Lit);
            let piece = match body {
                glow::Body::Solid(index) => lit().nth(*index),
                _ => lit().next(),
            };
            let body = piece.map_or("the lit body", |p| p.body.as_str());
            Refusal::of(
                &["body", body, "material"],
                format!("no light passes the plastic of {body}: {error}"),
                "print it in a white or natural plastic",
            )
        }
        LightError::Light(
            glow::LightError::PixelInside { pixel, .. } | glow::LightError::PixelOutside { pixel, .. },
        ) => {
            let station = work.inside.rail.as_ref().and_then(|r| r.pixels.get(*pixel)).map_or(0.0, |p| p.station_mm);
            Refusal::of(
                &["light"],
                format!("a pixel at station {station:.0} mm does not lie free in the cavity: {error}"),
                "give the strip a shorter stretch with light.from and light.to",
            )
        }
        LightError::Optics { material, .. } => {
            Refusal::of(&["material", material], error.to_string(), "correct its scatter, absorb or index")
        }
        LightError::Light(_) => Refusal::of(
            &["light"],
            format!("the light could not be followed: {error}"),
            "this is a fault of the program or of a very unusual mesh: remesh the body, or leave [light] out",
        ),
    }
}
