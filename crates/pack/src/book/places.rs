//! Small drawings that steps point with: a plate, a section, and where on the prop something is.

use super::model::Picture;
use crate::svg::{Anchor, Drawing, Sheet};
use crate::view::{MARGIN, View, outline, span, view_range};
use crate::words;
use crate::{plates, sections};
use prop::outcome::Outcome;
use solid::DVec2;

/// Width of the whole prop in a drawing of a place, mm on the sheet.
const WIDTH: f64 = 160.0;

/// Drawings by their path in the pack, each once.
#[derive(Default)]
pub(crate) struct Places {
    pub(crate) sheets: Vec<(String, Sheet)>,
}

impl Places {
    fn add(&mut self, path: String, alt: String, sheet: impl FnOnce() -> Option<Sheet>) -> Option<Picture> {
        if self.sheets.iter().all(|(known, _)| *known != path) {
            self.sheets.push((path.clone(), sheet()?));
        }
        Some(Picture { file: path, alt, caption: String::new() })
    }

    /// One plate from above.
    pub(super) fn plate(&mut self, outcome: &Outcome, plate: usize) -> Picture {
        let name = outcome.plates[plate].name.as_str();
        let (path, alt) = (format!("steps/plate-{name}.svg"), format!("Plate {name} from above, front below"));
        self.add(path, alt, || Some(plates::one(outcome, plate))).unwrap_or_else(|| self.station(outcome, None))
    }

    /// The section with a label, or where it would be.
    pub(super) fn section(&mut self, outcome: &Outcome, label: &str, station_mm: Option<[f64; 2]>) -> Picture {
        let path = format!("steps/section-{}.svg", label.replace(' ', "-"));
        let alt = format!("Section at {label}, seen from the tip");
        self.add(path, alt, || sections::one(outcome, label)).unwrap_or_else(|| self.station(outcome, station_mm))
    }

    /// The whole prop from the side, with stations marked.
    pub(super) fn station(&mut self, outcome: &Outcome, station_mm: Option<[f64; 2]>) -> Picture {
        let whole = [0.0, outcome.path.length_mm()];
        let [from, to] = station_mm.unwrap_or(whole).map(|s| s.round());
        let path = match station_mm {
            Some(_) => format!("steps/at-{from}-{to}.svg"),
            None => "steps/whole.svg".to_owned(),
        };
        let alt = match station_mm {
            Some(_) => format!("The prop from the side, marked at {}", words::stations([from, to])),
            None => "The whole prop from the side".to_owned(),
        };
        let picture = Picture { file: path.clone(), alt: alt.clone(), caption: String::new() };
        self.add(path, alt, || Some(place(outcome, station_mm.map(|_| [from, to])))).unwrap_or(picture)
    }
}

/// Draws the prop from the side, small, with a bracket round stations.
pub(super) fn place(outcome: &Outcome, station_mm: Option<[f64; 2]>) -> Sheet {
    let [left, right] = span(outcome);
    let scale = ((right - left) / WIDTH).max(1e-6);
    let mut view = View { scale, left_mm: left, zero_y: 0.0, top_view: false };
    let range = view_range(outcome, &view);
    let above = 8.0;
    view.zero_y = above + range[1] / scale;
    let below = view.zero_y - range[0] / scale;
    let title = match station_mm {
        Some(at) => format!("{}: {}", outcome.prop, words::stations(at)),
        None => outcome.prop.clone(),
    };
    let mut d = Drawing::new("place", title, "The whole prop from the side, butt left and tip right.".to_owned());
    for body in &outcome.views {
        d.outlines("thick", [outline(&view, view.silhouette(body))]);
    }
    if let Some(at) = station_mm {
        let [a, b] = at.map(|s| view.x(outcome.path.point(s).x));
        // A place of no length is shown as wide as it can be seen.
        let (a, b) = if b - a < 1.5 { ((a + b) / 2.0 - 0.75, (a + b) / 2.0 + 0.75) } else { (a, b) };
        let (top, bottom) = (above - 3.0, below + 3.0);
        let lip = 1.5_f64.min((b - a) / 2.0);
        for (x, inwards) in [(a, lip), (b, -lip)] {
            let line = [
                DVec2::new(x + inwards, top),
                DVec2::new(x, top),
                DVec2::new(x, bottom),
                DVec2::new(x + inwards, bottom),
            ];
            d.polyline("thick", line);
        }
        let middle = ((a + b) / 2.0).clamp(MARGIN + 16.0, MARGIN + WIDTH - 16.0);
        d.text("small", DVec2::new(middle, bottom + 4.5), Anchor::Middle, &words::stations(at));
    }
    d.finish(DVec2::new(WIDTH + 2.0 * MARGIN, below + 10.0))
}
