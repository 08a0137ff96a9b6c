//! Coupons as files: meshes, the sheet to fill in, a drawing that names every slot.

mod drawing;
pub mod sheet;
#[cfg(test)]
mod tests;

use crate::check::finite;
use crate::patterns::{Pattern, printed};
use crate::printed::Origin;
use crate::{Artifact, PackError};
use prop::coupon::{Coupon, StockMeasure};
use prop::project::Imprint;
use solid::write::{Part, stl, threemf};
use solid::{DAffine3, Mesh};

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
            let of = format!("{prop}: {} in {}", coupon.printer, coupon.material);
            artifacts.extend(part_files(&format!("coupon-{}", coupon.number), &of, &part.name, &part.mesh)?);
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
    artifacts.push(Artifact::new("readings.csv", readings));
    artifacts.sort_by(|a, b| a.path.cmp(&b.path));
    Ok(artifacts)
}

/// A part as 3MF and STL in a folder; `of` is what its coupon tries.
///
/// # Errors
/// [`PackError::NotFinite`] for a coordinate that is no number.
pub(crate) fn part_files(folder: &str, of: &str, name: &str, mesh: &Mesh) -> Result<[Artifact; 2], PackError> {
    let title = format!("{of}: {name}");
    mesh.vertices.iter().try_for_each(|v| finite(&title, &v.to_array()))?;
    let body = Part { name: name.to_owned(), mesh, placed: DAffine3::IDENTITY };
    let metadata = [("Title", title.as_str()), ("Application", "Lanthorn")];
    let path = format!("{folder}/{name}");
    Ok([
        Artifact::new(format!("{path}.3mf"), threemf(&[body], &metadata)),
        Artifact::new(format!("{path}.stl"), stl(mesh, name)),
    ])
}
