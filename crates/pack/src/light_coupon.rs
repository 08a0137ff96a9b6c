//! Light coupons as files: meshes, the sheet to fill in, a page that says how to measure, with its drawing.

mod drawing;
mod page;
mod sheet;
#[cfg(test)]
mod tests;

use crate::patterns::{Pattern, printed};
use crate::printed::Origin;
use crate::{Artifact, PackError};
use prop::coupon::LightCoupon;
use prop::project::Imprint;
use solid::DAffine3;
use solid::write::{Part, stl, threemf};

/// Writes light coupons: wedge and frame as 3MF and STL in a folder of their coupon, `measure.html`, `readings.csv`, and the drawing of
/// all: `light-coupon.svg`, and to print at full size `light-coupon.pdf` on one sheet, `light-coupon-a4.pdf` and
/// `light-coupon-letter.pdf` on pages.
///
/// # Errors
/// [`PackError::NotFinite`] for a number that is none, [`PackError::Print`] when pages cannot be laid out.
pub fn light_coupon(prop: &str, imprint: &Imprint, coupons: &[LightCoupon]) -> Result<Vec<Artifact>, PackError> {
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
    let readings = sheet::template(coupons);
    let pattern = Pattern {
        name: "light-coupon",
        title: "light coupons".to_owned(),
        sheet: drawing::draw(prop, coupons),
        notes: vec!["Lay wedge and frame on their drawings; measure.html says how to measure.".to_owned()],
    };
    artifacts.extend(printed(&pattern, &Origin { prop, imprint, made_from: &readings })?);
    artifacts.push(Artifact::new("measure.html", page::page(prop, coupons, &pattern.sheet)));
    artifacts.push(Artifact::new("light-coupon.svg", pattern.sheet.signed(&imprint.lines()).to_file()));
    artifacts.push(Artifact::new("readings.csv", readings));
    artifacts.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(artifacts)
}
