//! Pockets of disc magnets, the pole that looks out marked in each pocket's floor.

use super::{BEFORE_MM, drilled};
use crate::catalogue::Magnet;
use crate::outcome::{Bought, MagnetPair};
use crate::project::Pole;
use crate::rail::layout::Fit;
use solid::{BooleanError, DAffine3, DVec2, DVec3, Mesh};

/// A magnet lies this much below the face, mm, so that faces meet and not magnets.
const BELOW_MM: f64 = 0.1;
/// Wall kept around and behind a pocket, mm: three beads of a 0.4 nozzle.
pub(crate) const POCKET_WALL_MM: f64 = 1.2;
/// Depth, length and stroke of the polarity mark, mm.
const MARK_DEEP_MM: f64 = 0.5;
const MARK_MM: f64 = 3.0;
const MARK_STROKE_MM: f64 = 0.9;

/// A magnet's pocket.
pub(crate) struct Pocket {
    pub(crate) radius_mm: f64,
    /// Without the mark.
    depth_mm: f64,
}

impl Pocket {
    /// The pocket that the fattest magnet is pressed into, as it is drawn for printers of this fit.
    pub(crate) fn of(magnet: &Magnet, fit: &Fit) -> Pocket {
        Pocket {
            radius_mm: magnet.diameter_mm / 2.0 + fit.pressed_gap_mm(magnet.tolerance_mm),
            depth_mm: magnet.thickness_mm + magnet.tolerance_mm + BELOW_MM,
        }
    }

    /// How deep it goes with its mark, mm.
    pub(crate) fn deep_mm(&self) -> f64 {
        self.depth_mm + MARK_DEEP_MM
    }

    /// The pocket that goes from a face at `face` in the direction `into` along z, with its mark.
    pub(crate) fn cut(
        &self,
        axes: &DAffine3,
        middle: DVec2,
        face: f64,
        into: f64,
        pole: Pole,
    ) -> Result<Mesh, BooleanError> {
        let floor = face + into * self.depth_mm;
        let (mouth, below) = (face - into * BEFORE_MM, floor + into * MARK_DEEP_MM);
        let well = drilled(axes, middle, self.radius_mm, mouth.min(floor), mouth.max(floor));
        let inside = floor - into * 0.2;
        let (half, stroke) = ((MARK_MM / 2.0).min(self.radius_mm * 0.6), MARK_STROKE_MM / 2.0);
        let bar =
            |x: f64, y: f64| [(-x, -y), (x, -y), (x, y), (-x, y)].map(|(x, y)| middle + DVec2::new(x, y)).to_vec();
        let strokes = match pole {
            Pole::Minus => vec![bar(half, stroke)],
            Pole::Plus => vec![bar(half, stroke), bar(stroke, half)],
        };
        let marks: Vec<Mesh> =
            strokes.iter().map(|s| solid::prism(s, axes, inside.min(below), inside.max(below))).collect();
        solid::union(&well, &solid::union_all(&marks)?)
    }

    /// The record of a pair at `middle`, its faces at two heights.
    pub(crate) fn pair(&self, axes: &DAffine3, middle: DVec2, face: [f64; 2], pole: [Pole; 2]) -> MagnetPair {
        MagnetPair {
            face: face.map(|z| -> DVec3 { axes.transform_point3(middle.extend(z)) }),
            pole,
            pocket_mm: 2.0 * self.radius_mm,
            depth_mm: self.depth_mm,
        }
    }
}

impl Bought {
    /// The magnets of so many pairs.
    pub(crate) fn magnets(magnet: &Magnet, pairs: u32) -> Bought {
        Bought { what: "magnet", row: magnet.name.clone(), title: magnet.title.clone(), count: 2 * pairs }
    }
}

/// The poles that look at each other, on the one piece and on the other. Unasked, the first half of the pairs is north on
/// the first piece: then no turn makes more pairs pull than push.
pub(crate) fn poles_of(asked: &[Option<Vec<Pole>>; 2], pairs: u32) -> [Vec<Pole>; 2] {
    let other =
        |poles: &Vec<Pole>| poles.iter().map(|p| if *p == Pole::Plus { Pole::Minus } else { Pole::Plus }).collect();
    let first = asked[0]
        .clone()
        .or_else(|| asked[1].as_ref().map(other))
        .unwrap_or_else(|| (0..pairs).map(|k| if k < pairs.div_ceil(2) { Pole::Plus } else { Pole::Minus }).collect());
    let second: Vec<Pole> = asked[1].clone().unwrap_or_else(|| other(&first));
    [first, second]
}
