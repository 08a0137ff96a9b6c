//! Coupons as files: meshes, the sheet to fill in, a drawing that names every slot.

mod drawing;
pub mod sheet;
#[cfg(test)]
mod tests;

use crate::patterns::{Pattern, printed};
use crate::printed::Origin;
use crate::{Artifact, PackError};
use prop::coupon::{Coupon, StockMeasure};
use prop::project::Imprint;
use solid::DAffine3;
use solid::write::{Part, stl, threemf};

/// Writes coupons: each part as 3MF and STL in a folder of its coupon, `readings.csv`, and the drawing of all: `coupon.svg`, and to print
/// at full size `coupon.pdf` on one sheet, `coupon-a4.pdf` and `coupon-letter.pdf` on pages.
///
/// # Errors
/// [`PackError::NotFinite`] for a number that is none, [`PackError::Print`] when pages cannot be laid out.
pub fn coupon(
    prop: &str,
    imprint: &Imprint,
    coupons: &[Coupon],
    stock: &[StockMeasure],
) -> Result<Vec<Artifact>, PackError> {
    let mut artifacts = Vec::new();
    for coupon in coupons {
        for part in &coupon.parts {
            let place = format!("{}, {}", coupon.printer, part.name);
            if let Some(value) = part.mesh.vertices.iter().flat_map(|v| v.to_array()).find(|v| !v.is_finite()) {
                return Err(PackError::NotFinite { place, value });
            }
            let path = format!("coupon-{}/{}", coupon.number, part.name);
            let title = format!("{prop}: {} in {}: {}", coupon.printer, coupon.material, part.name);
            let body = Part { name: part.name.clone(), mesh: &part.mesh, placed: DAffine3::IDENTITY };
            let metadata = [("Title", title.as_str()), ("Application", "Lanthorn")];
            artifacts.push(Artifact::new(format!("{path}.3mf"), threemf(&[body], &metadata)));
            artifacts.push(Artifact::new(format!("{path}.stl"), stl(&part.mesh, &part.name)));
        }
    }
    let readings = sheet::template(coupons, stock);
    let pattern = Pattern {
        name: "coupon",
        title: "fit coupons".to_owned(),
        sheet: drawing::draw(prop, coupons),
        notes: vec!["Lay each print on its drawing; under a step stands its gap on each side, mm.".to_owned()],
    };
    artifacts.extend(printed(&pattern, &Origin { prop, imprint, made_from: &readings })?);
    artifacts.push(Artifact::new("coupon.svg", pattern.sheet.signed(&imprint.lines()).to_file()));
    artifacts.push(Artifact::new("readings.csv", readings));
    artifacts.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(artifacts)
}
