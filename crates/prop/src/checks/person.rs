//! Is the prop the right size for its wearer?

use super::{Checked, Work, note};
use crate::finding::{Band, Finding, input};

pub(super) fn check(work: &Work) -> Vec<Finding> {
    let length = work.placed.length_mm;
    match work.project.wearer_mm {
        Some(wearer) => vec![
            Checked {
                id: "length_wearer",
                subject: "prop".into(),
                station_mm: None,
                value: Band::exact(length),
                unit: "mm",
                min: None,
                max: Some(wearer),
                source: "two published event rules: no longer than the wearer is tall; ask your own event".into(),
                message: format!(
                    "{:.1} cm long, {:.0} % of the wearer's {:.0} cm.",
                    length / 10.0,
                    length / wearer * 100.0,
                    wearer / 10.0
                ),
                remedy: "shorten it (shape.length), make it to come apart, or ask the event".into(),
            }
            .finding()
            .worked_from([input("wearer", wearer, "mm", "wearer.height")]),
        ],
        None => vec![
            note(
                "length_wearer",
                "prop".into(),
                None,
                length,
                "mm",
                format!("{:.1} cm long; give wearer.height to compare.", length / 10.0),
            )
            .worked_from([input("length", length, "mm", "shape.length")]),
        ],
    }
}
