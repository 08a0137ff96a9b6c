//! Light coupons as files: meshes, the sheet to fill in, a page that says how to measure, with its drawing.

mod drawing;
mod page;
mod sheet;
#[cfg(test)]
mod tests;

use crate::coupon::part_files;
use crate::patterns::{Pattern, printed};
use crate::printed::Origin;
use crate::{Artifact, PackError};
use prop::coupon::LightCoupon;
use prop::project::Imprint;

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
            let of = format!("{prop}: {} in {}", coupon.printer, coupon.material);
            artifacts.extend(part_files(&format!("light-{}", coupon.number), &of, &part.name, &part.mesh)?);
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
    artifacts.push(Artifact::new("readings.csv", readings));
    artifacts.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(artifacts)
}
