//! Coupons as files: meshes, the sheet to fill in, a drawing that names every slot.

mod drawing;
mod sheet;
#[cfg(test)]
mod tests;

use crate::{Artifact, PackError};
use prop::coupon::{Coupon, StockMeasure};
use solid::DAffine3;
use solid::write::{Part, stl, threemf};

/// Writes coupons: each part as 3MF and STL in a folder of its coupon, `coupon.svg` and `readings.csv`.
///
/// # Errors
/// [`PackError::NotFinite`] for a number that is none.
pub fn coupon(prop: &str, coupons: &[Coupon], stock: &[StockMeasure]) -> Result<Vec<Artifact>, PackError> {
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
    artifacts.push(Artifact::new("readings.csv", sheet::template(coupons, stock)));
    artifacts.push(Artifact::new("coupon.svg", drawing::draw(prop, coupons).to_file()));
    artifacts.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(artifacts)
}
