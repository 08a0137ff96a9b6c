//! How the prop glows, as the page takes it: what each pixel does to each place of the outside, so that any colour and any frame
//! is shown without asking again.

use prop::light::{Lighting, SECTORS};
use prop::outcome::Body;
use serde::Serialize;

/// What is known of the light but for the responses themselves.
#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Light"))]
pub(crate) struct LightShown {
    build: u64,
    pixels: usize,
    strips: usize,
    /// Flux of a pixel's red, green and blue at full, lm.
    pixel_lm: [f64; 3],
    /// How far each pixel goes, 0 to 1.
    levels: Vec<f32>,
    viewed_mm: f64,
    bodies: Vec<LitBody>,
    response_of: [usize; 3],
    responses: usize,
    texels: usize,
    windows: Vec<WindowShown>,
    #[serde(skip)]
    pub(crate) bytes: Vec<u8>,
}

#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "LightBody"))]
struct LitBody {
    id: String,
    along: usize,
    around: usize,
    from_mm: f64,
    step_mm: f64,
    first: usize,
}

#[derive(Clone, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS), ts(rename = "Window"))]
struct WindowShown {
    name: String,
    body: String,
    lit_mm: [f64; 2],
    mean_cd_m2: Option<f64>,
    reflectance: f64,
}

/// The light of a build.
pub(crate) fn shown(light: &Lighting, bodies: &[Body], strips: usize, build: u64) -> LightShown {
    let mut first = 0;
    let lit = light.cells.iter().map(|cells| {
        let body = LitBody {
            id: format!("body-{}", cells.body + 1),
            along: cells.along,
            around: SECTORS,
            from_mm: cells.from_mm,
            step_mm: cells.step_mm,
            first,
        };
        first += cells.along * SECTORS;
        body
    });
    let lit: Vec<LitBody> = lit.collect();
    let windows = light.profiles.iter().enumerate().map(|(k, profile)| WindowShown {
        name: light.name(profile).to_owned(),
        body: bodies.get(profile.body).map(|b| b.name.clone()).unwrap_or_default(),
        lit_mm: light.lit_mm[k],
        mean_cd_m2: profile.mean(light.lit_mm[k]).map(|r| r.value),
        reflectance: light.reflectance[k],
    });
    LightShown {
        build,
        pixels: light.levels.len(),
        strips,
        pixel_lm: light.pixel_lm,
        levels: light.levels.clone(),
        viewed_mm: light.viewed_mm,
        windows: windows.collect(),
        response_of: light.response_of,
        responses: light.responses.len(),
        texels: first,
        bytes: bytes(light, &lit, first),
        bodies: lit,
    }
}

/// Which texel each patch of the responses belongs to: what windows part is one place to look at.
fn texel_of_patch(light: &Lighting, lit: &[LitBody]) -> Vec<usize> {
    let of = |(cells, body): (&prop::light::Cells, &LitBody)| {
        let kinds = cells.windows + 1;
        let first = body.first;
        (0..cells.count()).map(move |patch| first + patch / kinds)
    };
    light.cells.iter().zip(lit).flat_map(of).collect()
}

fn bytes(light: &Lighting, lit: &[LitBody], texels: usize) -> Vec<u8> {
    let place = texel_of_patch(light, lit);
    let mut area = vec![0f32; texels];
    let areas = light.cells.iter().flat_map(|c| &c.area_mm2);
    place.iter().zip(areas).for_each(|(texel, mm2)| area[*texel] += *mm2 as f32);
    let pixels = light.levels.len();
    let mut bytes = Vec::with_capacity(16 + texels * (4 + light.responses.len() * (4 + 2 * pixels)));
    bytes.extend(b"LTLR");
    bytes.extend(1u16.to_le_bytes());
    bytes.extend((light.responses.len() as u16).to_le_bytes());
    bytes.extend((texels as u32).to_le_bytes());
    bytes.extend((pixels as u32).to_le_bytes());
    bytes.extend(area.iter().flat_map(|a| a.to_le_bytes()));
    for response in &light.responses {
        let mut share = vec![0f32; texels * pixels];
        for pixel in 0..pixels.min(response.n_pixels()) {
            for (patch, part) in response.row(pixel) {
                if let Some(texel) = place.get(patch as usize) {
                    share[texel * pixels + pixel] += part;
                }
            }
        }
        let rows = share.chunks(pixels.max(1));
        let most: Vec<f32> = rows.clone().map(|row| row.iter().copied().fold(0.0, f32::max)).collect();
        bytes.extend(most.iter().flat_map(|m| m.to_le_bytes()));
        for (row, most) in rows.zip(&most) {
            let scaled = |v: &f32| if *most > 0.0 { (v / most * 65_535.0).round() as u16 } else { 0 };
            bytes.extend(row.iter().map(scaled).flat_map(u16::to_le_bytes));
        }
    }
    bytes
}
