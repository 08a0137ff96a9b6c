//! What was mended, told where it is on the prop.

use crate::outcome::{MendNote, MendSpot};
use solid::DAffine3;
use solid::mend::Mend;

/// A mend in the prop frame: `to_prop` maps the file's coordinates there, in millimetres.
pub fn mend_note(body: &str, mend: &Mend, to_prop: &DAffine3) -> MendNote {
    let scale = libm::cbrt(to_prop.matrix3.determinant().abs());
    let spots: Vec<MendSpot> = mend
        .spots
        .iter()
        .map(|b| MendSpot { place: to_prop.transform_point3(b.center()), size_mm: b.size().length() * scale })
        .collect();
    MendNote { body: body.to_owned(), what: words(mend, &spots), kind: mend.kind.describe(), spots }
}

/// How many, what, and where the largest and the next few lie.
fn words(mend: &Mend, spots: &[MendSpot]) -> String {
    /// Stations named beside the largest place's.
    const MORE: usize = 5;
    let Some(largest) = spots.first() else { return format!("{} {}", mend.count, mend.kind.describe()) };
    let plain = |v: f64| (v * 10.0).round() / 10.0 + 0.0;
    let [x, y, z] = largest.place.to_array().map(plain);
    let mut text = format!("{} {} (", mend.count, mend.kind.describe());
    if spots.len() > 1 {
        text += "the largest place ";
    }
    text += &format!("{:.2} mm across at station {x:.1} mm, across {y:.1}, through {z:.1} mm", largest.size_mm);
    let others: Vec<String> = spots.iter().skip(1).take(MORE).map(|s| format!("{:.0}", s.place.x + 0.0)).collect();
    if !others.is_empty() {
        text += &format!("; more at stations {}", others.join(", "));
        if spots.len() > 1 + MORE {
            text += " and others";
        }
    }
    text + ")"
}

#[cfg(test)]
mod tests {
    use super::*;
    use solid::mend::MendKind;
    use solid::{Bounds, DVec3};

    #[test]
    fn a_mend_is_told_at_the_size_of_the_finished_prop() {
        let spot = |x: f64, size: f64| Bounds { min: DVec3::new(x, 0.0, 0.0), max: DVec3::new(x, 3.0, 4.0) * size };
        let mend = Mend { kind: MendKind::FilledHoles, count: 2, spots: vec![spot(0.0, 1.0), spot(0.0, 0.0)] };
        let note = mend_note("blade", &mend, &DAffine3::from_scale(DVec3::splat(10.0)));
        assert_eq!(note.spots[0], MendSpot { place: DVec3::new(0.0, 15.0, 20.0), size_mm: 50.0 });
        assert_eq!(
            note.what,
            "2 holes filled (the largest place 50.00 mm across at station 0.0 mm, across 15.0, through 20.0 mm; more at stations 0)"
        );
        let turned = Mend { kind: MendKind::InsideOut, count: 1, spots: vec![spot(0.0, 1.0)] };
        let words = mend_note("blade", &turned, &DAffine3::from_translation(DVec3::X * -0.01)).what;
        assert!(words.ends_with("(5.00 mm across at station 0.0 mm, across 1.5, through 2.0 mm)"), "{words}");
    }
}
