//! The sheet to fill in.

use crate::csv;
use prop::coupon::LightCoupon;

const HOW_TO: &str = "\
# Light through the steps of a wedge; measure.html says how to measure. Lines without a reading do not count.\n\
# step: the figure on the wedge; screen: the bare screen straight on; screen-60: the same looked at 60 degrees aslant; dark:\n\
# the frame's own face beside a window.\n\
# thickness: as drawn; write what calipers show in its place if you measured it.\n\
# colour: white, or red, green, blue for a line each.\n\
# how: camera (pixel value 0 to 255), raw (linear value), meter, or share (in percent of the bare screen).\n\
# exposure: 1/60 s; a meter has none.\n";

const COLUMNS: [&str; 8] = ["printer", "material", "step", "thickness", "colour", "how", "exposure", "reading"];
/// Exposures of the bare screen that draw a camera's curve.
const SCREENS: usize = 5;

/// Lines for the screen, for the dark and for every step.
pub(super) fn template(coupons: &[LightCoupon]) -> String {
    let mut out = HOW_TO.to_owned();
    out.push_str(&csv::line(&COLUMNS));
    for coupon in coupons {
        let mut line = |step: &str, thickness: &str| {
            out.push_str(&csv::line(&[
                coupon.printer.as_str(),
                &coupon.material,
                step,
                thickness,
                "white",
                "",
                "",
                "",
            ]));
        };
        (0..SCREENS).for_each(|_| line("screen", ""));
        line("screen-60", "");
        line("dark", "");
        for step in &coupon.steps {
            line(&step.figure.to_string(), &format!("{:.2} mm", step.thickness_mm));
        }
    }
    out
}
