//! What grading a wall has done: its thickness on the pieces, and the light before and after.

use super::{Checked, Work};
use crate::finding::{Band, FOLLOWED, Finding, input};
use crate::light::{Lighting, Profile, evenness, mean_ripple, share_of_ripple};
use crate::stages::InsideBody;

pub(super) fn check(work: &Work) -> Vec<Finding> {
    let asked = work.inside.bodies.iter().filter(|b| b.rules.graded.is_some());
    let mut found: Vec<Finding> = asked.filter(|b| b.field.is_none()).map(stayed_even).collect();
    let (Some(before), Some(after)) = (work.even_light, work.light) else { return found };
    let graded = |p: &Profile| work.inside.bodies.iter().any(|b| b.body == p.body && b.field.is_some());
    let both = 0..after.profiles.len().min(before.profiles.len());
    found.extend(both.filter(|k| graded(&after.profiles[*k])).filter_map(|k| window(work, before, after, k)));
    found
}

/// A wall that was to be graded and is not.
fn stayed_even(body: &InsideBody) -> Finding {
    Checked {
        id: "graded_wall",
        subject: body.rules.name.clone(),
        station_mm: None,
        value: Band::exact(1.0),
        unit: "1",
        min: None,
        max: Some(0.0),
        source: format!("body.{}.wall", body.rules.name),
        message: format!(
            "No light was followed through {}: its wall is even, {:.1} mm thick.",
            body.rules.name, body.rules.wall_mm
        ),
        remedy: "a graded wall needs pixels behind a window, and light.follow = true".into(),
    }
    .finding()
    .worked_from([input("wall", body.rules.wall_mm, "mm", format!("body.{}.wall", body.rules.name))])
}

/// Ripple and light of one window, of the even wall and of the graded one.
fn window(work: &Work, before: &Lighting, after: &Lighting, k: usize) -> Option<Finding> {
    let [share, sigma] = share_of_ripple(before, after, k)?;
    let ripples = [mean_ripple(before, k)?, mean_ripple(after, k)?];
    let lit = after.lit_mm[k];
    let [even, graded] = [before, after].map(|light| {
        let light_cd_m2 = light.profiles[k].mean(lit).map_or(0.0, |r| r.value);
        let smoothed = light.profiles[k].smoothed(light.pitch_mm, lit);
        (light_cd_m2 / power(light), evenness(&smoothed).map_or(0.0, |r| r.value))
    });
    let body = work.inside.bodies.iter().find(|b| b.body == after.profiles[k].body)?;
    let rules = body.rules.graded?;
    // Where strength held the wall to more than the light or the maker would have.
    let strong_mm = body.field.as_ref().map_or(rules.least_mm, |f| f.strong_mm());
    let strength = if strong_mm > rules.least_mm + 0.05 {
        format!(" Strength keeps it at {strong_mm:.1} mm where that is most needed.")
    } else {
        String::new()
    };
    Some(
        Checked {
            id: "graded_wall",
            subject: format!("window {}", after.name(&after.profiles[k])),
            station_mm: Some(lit),
            value: Band { low: (share - 2.0 * sigma).max(0.0), ..Band::about(share, 2.0 * sigma) },
            unit: "1",
            min: None,
            max: Some(1.0),
            source: "the same prop with an even wall of the mean thickness, for the same power".into(),
            message: format!(
                "Graded from {:.1} to {:.1} mm, single pixels show as a ripple of {:.2} % in the mean and {:.2} % at most, where an even wall of {:.1} mm has {:.2} % and {:.2} %; the darkest stretch has {:.0} % of the brightest's luminance (before: {:.0} %), and the window {:.0} % of the light for the same power.{strength}",
                rules.least_mm,
                rules.most_mm,
                ripples[1][0].value * 100.0,
                ripples[1][1].value * 100.0,
                (rules.least_mm + rules.most_mm) / 2.0,
                ripples[0][0].value * 100.0,
                ripples[0][1].value * 100.0,
                graded.1 * 100.0,
                even.1 * 100.0,
                graded.0 / even.0 * 100.0
            ),
            remedy: "give it wider limits (wall-least, wall-most), or take an even wall: this window gains nothing".into(),
        }
        .finding()
        .worked_from([
            input("ripple of the even wall", ripples[0][0].value, "1", FOLLOWED),
            input("ripple of the graded wall", ripples[1][0].value, "1", FOLLOWED),
            input("thinnest", rules.least_mm, "mm", format!("body.{}.wall-least", body.rules.name)),
            input("thickest", rules.most_mm, "mm", format!("body.{}.wall-most", body.rules.name)),
        ]),
    )
}

/// Mean level of the pixels.
fn power(light: &Lighting) -> f64 {
    light.levels.iter().map(|l| f64::from(*l)).sum::<f64>() / light.levels.len().max(1) as f64
}
