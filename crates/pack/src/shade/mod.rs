//! A shaded picture of a piece as it prints, cut open where its inside matters: a small z-buffer rasteriser.

mod light;
mod marks;
pub(crate) mod raster;
mod view;

use crate::PackError;
use prop::outcome::Piece;

/// Size of a picture, pixels.
pub(crate) const SIZE: [usize; 2] = [900, 700];
/// Samples a pixel in each direction.
const SUPER: usize = 3;

/// The picture of one piece as PNG.
pub(crate) fn picture(piece: &Piece) -> Result<Vec<u8>, PackError> {
    let view = view::View::of(&piece.mesh, piece.show_inside);
    let samples = raster::draw(&piece.mesh, &view);
    let mut image = light::image(&samples, &view);
    marks::scale_bar(&mut image, &view);
    encode(&image, SIZE, &[("Title", &piece.name)])
        .map_err(|e| PackError::Picture { name: piece.name.clone(), reason: e.to_string() })
}

/// A PNG of sRGB values 0 to 1, row by row, with texts about it.
pub(crate) fn encode(
    image: &[[f32; 3]],
    size: [usize; 2],
    about: &[(&str, &str)],
) -> Result<Vec<u8>, png::EncodingError> {
    let mut bytes = Vec::new();
    let [width, height] = size.map(|n| n as u32);
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_source_srgb(png::SrgbRenderingIntent::Perceptual);
    for (word, text) in about {
        encoder.add_itxt_chunk((*word).to_owned(), (*text).to_owned())?;
    }
    let mut writer = encoder.write_header()?;
    let data: Vec<u8> = image.iter().flatten().map(|v| (v.clamp(0.0, 1.0) * 255.0).round() as u8).collect();
    writer.write_image_data(&data)?;
    writer.finish()?;
    Ok(bytes)
}
