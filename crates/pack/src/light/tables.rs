//! The numbers behind the drawings, and the response for those who light the prop anew.

use super::stem;
use crate::Artifact;
use crate::csv::line;
use prop::light::{Lighting, SECTORS};
use prop::outcome::Outcome;
use serde::Serialize;

/// What `light/response.json` says; `light/response-N.bin` hold the shares.
#[derive(Serialize)]
struct Index<'a> {
    prop: &'a str,
    input_hash: &'a str,
    /// What the response files are: see docs/guide.md.
    format: &'static str,
    /// Which response file holds for red, green and blue.
    response_of: [String; 3],
    /// Flux of one pixel's red, green and blue chip at full, lm.
    pixel_lm: [f64; 3],
    /// Pixels in the order of the response.
    pixels: Vec<PixelRow>,
    windows: Vec<&'a str>,
    bodies: Vec<BodyRow<'a>>,
}

#[derive(Serialize)]
struct PixelRow {
    strip: u32,
    number: u32,
    station_mm: f64,
    /// How far it is driven so that the windows glow as they are judged, 0 to 1.
    level: f64,
}

/// The cells of one body: patch = first + (along * sectors + sector) * (windows + 1) + window, where window 0 stands for
/// what belongs to none.
#[derive(Serialize)]
struct BodyRow<'a> {
    body: &'a str,
    first: usize,
    along: usize,
    sectors: usize,
    from_mm: f64,
    step_mm: f64,
    /// Area of each cell, mm2.
    area_mm2: Vec<f64>,
}

pub(super) fn files(outcome: &Outcome, light: &Lighting) -> Vec<Artifact> {
    let mut files = vec![index(outcome, light)];
    for (k, response) in light.responses.iter().enumerate() {
        files.push(Artifact::new(response_path(k), response.to_bytes()));
    }
    for (k, profile) in light.profiles.iter().enumerate() {
        let mut text = line(&["station_mm", "area_mm2", "luminance_cd_m2", "sigma_cd_m2", "low_cd_m2", "high_cd_m2"]);
        for i in (0..profile.station_mm.len()).filter(|i| profile.area_mm2[*i] > 0.0) {
            let at = |p: &prop::light::Profile| format!("{:.2}", p.luminance_cd_m2[i]);
            let end = |e: &Vec<prop::light::Profile>| e.get(k).map_or_else(|| at(profile), at);
            text += &line(&[
                format!("{:.2}", profile.station_mm[i]),
                format!("{:.3}", profile.area_mm2[i]),
                at(profile),
                format!("{:.2}", profile.sigma_cd_m2[i]),
                end(&light.ends[0]),
                end(&light.ends[1]),
            ]);
        }
        files.push(Artifact::new(format!("light/{}-{}.csv", k + 1, stem(light.name(profile))), text));
    }
    files
}

fn response_path(k: usize) -> String {
    format!("light/response-{}.bin", k + 1)
}

fn index(outcome: &Outcome, light: &Lighting) -> Artifact {
    let round = |v: f64, to: f64| (v * to).round() / to;
    let mut first = 0;
    let mut bodies = Vec::new();
    for cells in &light.cells {
        bodies.push(BodyRow {
            body: &outcome.bodies[cells.body].name,
            first,
            along: cells.along,
            sectors: SECTORS,
            from_mm: round(cells.from_mm, 1e4),
            step_mm: round(cells.step_mm, 1e6),
            area_mm2: cells.area_mm2.iter().map(|a| round(*a, 1e3)).collect(),
        });
        first += cells.count();
    }
    let pixels = outcome.pixels.iter().zip(&light.levels);
    let index = Index {
        prop: &outcome.prop,
        input_hash: &outcome.input_hash,
        format: "lanthorn response 1",
        response_of: light.response_of.map(response_path),
        pixel_lm: light.pixel_lm,
        pixels: pixels
            .map(|(p, level)| PixelRow {
                strip: p.strip,
                number: p.number,
                station_mm: round(p.station_mm, 1e3),
                level: round(f64::from(*level), 1e4),
            })
            .collect(),
        windows: light.windows.list().iter().map(|w| w.name.as_str()).collect(),
        bodies,
    };
    let text = serde_json::to_string(&index).expect("numbers and texts can always be written");
    Artifact::new("light/response.json", text + "\n")
}
