//! Light coupons as files: meshes, the sheet to fill in, a page that says how to measure, with its drawing.

mod drawing;
mod page;
mod sheet;
#[cfg(test)]
mod tests;

use crate::{Artifact, PackError};
use prop::coupon::LightCoupon;
use solid::DAffine3;
use solid::write::{Part, stl, threemf};

/// Writes light coupons: wedge and frame as 3MF and STL in a folder of their coupon, `measure.html`, `light-coupon.svg` and
/// `readings.csv`.
///
/// # Errors
/// [`PackError::NotFinite`] for a number that is none.
pub fn light_coupon(prop: &str, coupons: &[LightCoupon]) -> Result<Vec<Artifact>, PackError> {
    let mut artifacts = Vec::new();
    for coupon in coupons {
        for part in [&coupon.wedge, &coupon.frame] {
            let place = format!("{}, {}", coupon.printer, part.name);
            if let Some(value) = part.mesh.vertices.iter().flat_map(|v| v.to_array()).find(|v| !v.is_finite()) {
                return Err(PackError::NotFinite { place, value });
            }
            let path = format!("light-{}/{}", coupon.number, part.name);
            let title = format!("{prop}: {} in {}: {}", coupon.printer, coupon.material, part.name);
            let body = Part { name: part.name.clone(), mesh: &part.mesh, placed: DAffine3::IDENTITY };
            let metadata = [("Title", title.as_str()), ("Application", "Lanthorn")];
            artifacts.push(Artifact::new(format!("{path}.3mf"), threemf(&[body], &metadata)));
            artifacts.push(Artifact::new(format!("{path}.stl"), stl(&part.mesh, &part.name)));
        }
    }
    let drawn = drawing::draw(prop, coupons);
    artifacts.push(Artifact::new("readings.csv", sheet::template(coupons)));
    artifacts.push(Artifact::new("measure.html", page::page(prop, coupons, &drawn)));
    artifacts.push(Artifact::new("light-coupon.svg", drawn.to_file()));
    artifacts.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(artifacts)
}
