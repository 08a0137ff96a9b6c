//! Does a spine that is not quite straight go into its straight slot?

use super::{Checked, Work};
use crate::catalogue::Bar;
use crate::finding::{Band, Finding, input};

/// How far stock bows over a metre: extruded metal (EN 755-9, from memory); pulled fibre and dowels (common practice, no
/// source). Over another length as the square of it, like any flat arc.
const METAL_MM: f64 = 1.5;
const OTHER_MM: f64 = 3.0;
/// Printed plastic on a bar, dry (from memory: 0.3 to 0.4).
const FRICTION: f64 = 0.4;
/// What a hand pushes a bar with and keeps feeling the way, N (our choice).
const PUSH_N: f64 = 30.0;

/// The hardest push that a length of spine takes.
pub(super) fn check(work: &Work) -> Option<Finding> {
    let (rail, rules) = (work.inside.rail.as_ref()?, work.project.spine.as_ref()?);
    let slider = rail.layout.spine.as_ref()?;
    let bar = &rules.bar;
    let longest = rail.spine_mm.iter().copied().reduce(|a, b| if b[1] - b[0] > a[1] - a[0] { b } else { a })?;
    let length_mm = longest[1] - longest[0];
    let bow_mm = (if bar.metal { METAL_MM } else { OTHER_MM }) * (length_mm * 1e-3) * (length_mm * 1e-3);
    // Of the fattest stock in a slot that prints narrow.
    let gap = |k: usize| {
        let drawn = rules.slot_mm[k].map_or(slider.gap_mm, |slot| 0.5 * (slot - bar.size_mm[k]));
        (drawn - 0.5 * (bar.tolerance_mm + rail.fit.slot_loss_mm)).max(0.0)
    };
    let gaps = [gap(0), gap(1)];
    let pushes = [0, 1].map(|k| push_n(bar, second_mm4(bar, k), length_mm, bow_mm - 2.0 * gaps[k]));
    let worst = usize::from(pushes[1] > pushes[0]);
    let goes = if pushes[worst] > 0.0 {
        format!("straightening it on its way takes a push of about {:.0} N", pushes[worst].max(1.0))
    } else {
        "it lies in it as it is".to_owned()
    };
    Some(
        Checked {
            id: "spine_bow",
            subject: "spine".into(),
            station_mm: Some(longest.map(|d| rail.way.station_at(d))),
            value: Band::factor(pushes[worst], 0.5, 2.0),
            unit: "N",
            min: None,
            max: Some(PUSH_N),
            source: format!("{PUSH_N:.0} N: what a hand pushes a bar with (our choice)"),
            message: format!(
                "The longest straight length, {length_mm:.0} mm, may be bowed by {bow_mm:.1} mm ({:.1} mm over a metre); the slot leaves it {:.2} mm a side, and {goes}.",
                if bar.metal { METAL_MM } else { OTHER_MM },
                gaps[worst]
            ),
            remedy: "take the straightest stock and bend it straight by hand, cut it into shorter lengths (spine.longest, spine.cut), or widen the slot (spine.slot-thickness, spine.slot-height)".into(),
        }
        .finding()
        .worked_from([
            input("length", length_mm, "mm", "the longest straight run"),
            input("bowed by", bow_mm, "mm", if bar.metal { "EN 755-9 for extruded metal, from memory" } else { "common practice, no source" }),
            input("gap a side", gaps[worst], "mm", "the slot as drawn, less the stock's tolerance and slot-loss"),
            input("stiffness", bar.holding.e_mpa[0], "MPa", "catalogue: bar"),
            input("second moment of its section", second_mm4(bar, worst), "mm4", "catalogue: bar"),
            input("friction", FRICTION, "1", "printed plastic, dry; from memory"),
        ]),
    )
}

/// Push against friction, N: a beam on its ends, pressed straight in its middle by 48 EI/L³ for each mm
/// (textbook), with as much again at the ends.
fn push_n(bar: &Bar, second_mm4: f64, length_mm: f64, pressed_mm: f64) -> f64 {
    let middle_n = 48.0 * bar.holding.e_mpa[0] * second_mm4 * pressed_mm.max(0.0) / (length_mm * length_mm * length_mm);
    2.0 * FRICTION * middle_n
}

/// Second moment of area of a bar that is bent along measure `k` of its section, mm4 (textbook).
fn second_mm4(bar: &Bar, k: usize) -> f64 {
    let [across, deep] = [bar.size_mm[1 - k], bar.size_mm[k]];
    if bar.round {
        std::f64::consts::PI / 64.0
            * (deep * deep * deep * deep - bar.bore_mm * bar.bore_mm * bar.bore_mm * bar.bore_mm)
    } else {
        across * deep * deep * deep / 12.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    /// 6061 flat 20 x 3 has I = 45 mm4 flat and 2000 mm4 on edge; 1 mm over 1 m takes 48 EI/L^3 = 0.1488 N and 6.614 N.
    #[test]
    fn a_bowed_bar_is_pressed_straight() {
        let bar = Catalogue::built_in().bars.into_iter().find(|b| b.name == "flat-aluminium-20x3").unwrap();
        let push = |k, mm| push_n(&bar, second_mm4(&bar, k), 1000.0, mm);
        assert!((push(0, 1.0) - 0.8 * 0.148_824).abs() < 1e-6, "{}", push(0, 1.0));
        assert!((push(1, 1.0) - 0.8 * 6.6144).abs() < 1e-5, "{}", push(1, 1.0));
        assert_eq!(push(0, -0.3), 0.0);
        let half = push_n(&bar, second_mm4(&bar, 0), 500.0, 1.0);
        assert!((half / push(0, 1.0) - 8.0).abs() < 1e-9);
    }
}
