//! How far each pixel goes so that windows glow evenly (`light.levels`), as the engine takes it.

use serde::Deserialize;

/// Levels of one strip, 255 all the way, from those of all pixels: strip, number (both from 1) and level, 0 to 1. All strips show
/// the same, so each place takes the mean of its pixels. None if all of them go all the way.
pub(super) fn drives(pixels: impl Iterator<Item = (u32, f64)>, each: u16) -> Vec<u8> {
    let mut sums = vec![(0.0, 0.0); usize::from(each)];
    for (number, level) in pixels {
        if let Some((sum, count)) = sums.get_mut((number as usize).wrapping_sub(1)) {
            // To four digits, as the pack's own table has it, so that both lead to the same.
            *sum += (level * 1e4).round() / 1e4;
            *count += 1.0;
        }
    }
    // A pixel of which nothing is known goes all the way: the light may not have been followed.
    let drive = |(sum, count): (f64, f64)| if count > 0.0 { (255.0 * sum / count).round() as u8 } else { 255 };
    let levels: Vec<u8> = sums.into_iter().map(drive).collect();
    if levels.iter().all(|l| *l == 255) { Vec::new() } else { levels }
}

/// What is asked of a pack's `light/response.json`.
#[derive(Deserialize)]
struct Index {
    pixels: Vec<Row>,
}

#[derive(Deserialize)]
struct Row {
    strip: u32,
    number: u32,
    level: f64,
}

/// Levels for the engine out of a pack's `light/response.json`, for strips of so many pixels.
///
/// # Errors
/// A sentence: it is no such file, or of other strips.
pub fn levels_of_pack(text: &str, strips: u16, each: u16) -> Result<Vec<u8>, String> {
    let index: Index =
        serde_json::from_str(text).map_err(|e| format!("this is no light/response.json of a pack ({e})"))?;
    let found = index.pixels.len();
    let wanted = usize::from(strips) * usize::from(each);
    let known = |row: &Row| (1..=u32::from(strips)).contains(&row.strip) && (1..=u32::from(each)).contains(&row.number);
    if found != wanted || !index.pixels.iter().all(known) {
        return Err(format!(
            "it has {found} pixels, and the prop {wanted} ({strips} strips of {each}): build the pack again"
        ));
    }
    if let Some(row) = index.pixels.iter().find(|r| !(0.0..=1.0).contains(&r.level)) {
        return Err(format!(
            "the level of pixel {} of strip {} is {}; 0 to 1 can be",
            row.number, row.strip, row.level
        ));
    }
    Ok(drives(index.pixels.iter().map(|r| (r.number, r.level)), each))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = r#"{"prop": "axe", "pixels": [
        {"strip": 1, "number": 1, "station_mm": 3.0, "level": 1.0}, {"strip": 1, "number": 2, "station_mm": 9.0, "level": 0.5},
        {"strip": 2, "number": 1, "station_mm": 3.0, "level": 0.8}, {"strip": 2, "number": 2, "station_mm": 9.0, "level": 0.3}]}"#;

    #[test]
    fn strips_that_show_the_same_take_the_mean() {
        assert_eq!(levels_of_pack(TEXT, 2, 2).expect("levels"), [230, 102]);
        let full = TEXT.replace("0.5", "1.0").replace("0.8", "1.0").replace("0.3", "1.0");
        assert_eq!(levels_of_pack(&full, 2, 2).expect("levels"), [0_u8; 0]);
    }

    #[test]
    fn without_levels_all_pixels_go_all_the_way() {
        assert_eq!(drives(std::iter::empty(), 3), [0_u8; 0]);
        assert_eq!(drives([(2, 0.0)].into_iter(), 3), [255, 0, 255]);
        assert_eq!(drives([(0, 0.5), (4, 0.5)].into_iter(), 3), [0_u8; 0], "no pixels of this strip");
    }

    #[test]
    fn levels_of_another_prop_are_refused() {
        let says = |text: &str, strips, each, words: &str| {
            let error = levels_of_pack(text, strips, each).expect_err("refused");
            assert!(error.contains(words), "{error}");
        };
        says(TEXT, 2, 3, "it has 4 pixels, and the prop 6 (2 strips of 3)");
        says(TEXT, 1, 4, "it has 4 pixels");
        says(&TEXT.replace("0.3", "1.3"), 2, 2, "the level of pixel 2 of strip 2 is 1.3");
        says("{}", 1, 1, "no light/response.json");
        says("t_s,ax_g", 1, 1, "no light/response.json");
    }
}
