//! How long a thing is that is pictured beside a figure of known height.

use std::f64::consts::FRAC_PI_2;
use thiserror::Error;

/// A figure on its feet is pictured at most its height and at least this share of it: bent knees, a lowered head (common
/// practice, no source: about 5 %).
const LEAST_STANCE: f64 = 0.95;
/// The camera stands so many figure heights away or farther, where nothing is said: about where a figure fills a photograph's
/// height through a normal lens (own computation).
const LEAST_AWAY: f64 = 2.0;

/// What is marked in the picture: places in pixels, x to the right and y down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marks {
    /// Crown and soles of the figure.
    pub figure_px: [[f64; 2]; 2],
    /// Both ends of the thing.
    pub thing_px: [[f64; 2]; 2],
    /// How far a mark may be off, pixels.
    pub off_px: f64,
    /// How far the thing may lean out of the picture's plane, degrees.
    pub tilt_deg: f64,
    /// How much nearer to the camera than the figure, or farther, it may be, mm.
    pub nearer_mm: f64,
}

/// A length with what it may be at least and at most, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proportion {
    /// Most likely.
    pub length_mm: f64,
    /// Least.
    pub least_mm: f64,
    /// Most.
    pub most_mm: f64,
}

/// Why marks give no length.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum PictureError {
    /// No number.
    #[error("a mark, height or allowance is no number that can be used")]
    NotFinite,
    /// The two marks of one thing are too near.
    #[error(
        "the {what}'s two marks are {apart_px:.1} pixels apart, no more than the {off_px} that each may be off: mark it in a larger picture"
    )]
    Near {
        /// Figure or prop.
        what: &'static str,
        /// How far apart they are.
        apart_px: f64,
        /// How far a mark may be off.
        off_px: f64,
    },
    /// It could point at the camera.
    #[error("a lean of {tilt_deg} degrees out of the picture leaves no length to see: say less than 60")]
    Tilt {
        /// The lean.
        tilt_deg: f64,
    },
}

/// The length of a thing from a picture of it with a figure of a known height, mm, by similar triangles:
/// height × thing / figure, with what stance, lean, distance and marks may do to it, all at their worst together.
///
/// # Errors
/// [`PictureError`]: marks that lie together, numbers that are none.
pub fn proportion(height_mm: f64, marks: &Marks) -> Result<Proportion, PictureError> {
    let apart = |[a, b]: [[f64; 2]; 2]| libm::hypot(a[0] - b[0], a[1] - b[1]);
    let (figure, thing) = (apart(marks.figure_px), apart(marks.thing_px));
    let Marks { off_px, tilt_deg, nearer_mm, .. } = *marks;
    let numbers = [height_mm, figure, thing, off_px, tilt_deg, nearer_mm];
    if !numbers.iter().all(|n| n.is_finite() && *n >= 0.0) || height_mm <= 0.0 {
        return Err(PictureError::NotFinite);
    }
    for (what, apart_px) in [("figure", figure), ("prop", thing)] {
        if apart_px <= 2.0 * off_px || apart_px == 0.0 {
            return Err(PictureError::Near { what, apart_px, off_px });
        }
    }
    let tilt = tilt_deg.to_radians();
    if tilt_deg >= 60.0 || tilt >= FRAC_PI_2 {
        return Err(PictureError::Tilt { tilt_deg });
    }
    let ratio = height_mm * thing / figure;
    let marks_off = [
        (thing - 2.0 * off_px) / thing * figure / (figure + 2.0 * off_px),
        (thing + 2.0 * off_px) / thing * figure / (figure - 2.0 * off_px),
    ];
    let away_mm = LEAST_AWAY * height_mm;
    // What is nearer looks larger: its true length is less.
    let depth = [(away_mm - nearer_mm).max(0.0) / away_mm, (away_mm + nearer_mm) / away_mm];
    let stance = [LEAST_STANCE, 1.0];
    // Leaning, one end is nearer: the picture of a bar of length l about its middle at distance d is that of
    // l cos t / (1 - (l sin t / 2d)²), so it can also look longer than it is.
    let lean = |length_mm: f64| {
        let swing = length_mm * libm::sin(tilt) / (2.0 * away_mm);
        1.0 - (swing * swing).min(0.5)
    };
    let upright = [lean(ratio), 1.0 / libm::cos(tilt)];
    let end = |k: usize| ratio * marks_off[k] * depth[k] * stance[k] * upright[k];
    let middle = ratio * 0.5 * (stance[0] + stance[1]) * 0.5 * (1.0 + upright[1]);
    Ok(Proportion { length_mm: middle, least_mm: end(0), most_mm: end(1) })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pinhole camera at the origin that looks along y: where a point (x, away, up) comes out, pixels.
    fn pictured([x, away, up]: [f64; 3]) -> [f64; 2] {
        let scale = 2400.0 / away;
        [1000.0 + x * scale, 700.0 - up * scale]
    }

    /// A figure of 172 cm and a prop of 160 cm that leans in the picture and out of it, seen from 3.5 to 8 m.
    #[test]
    fn pictured_props_have_their_length_within_what_is_stated() -> Result<(), PictureError> {
        let (height, length) = (1720.0, 1600.0);
        for tilt_deg in [0.0, 10.0, 20.0_f64] {
            for away in [3500.0, 5000.0, 8000.0] {
                for nearer in [-300.0, 0.0, 300.0] {
                    for roll_deg in [0.0, 35.0, 90.0_f64] {
                        for stance in [0.95, 0.98, 1.0] {
                            let (tilt, roll) = (tilt_deg.to_radians(), roll_deg.to_radians());
                            let half = 0.5 * length;
                            let along = [
                                half * libm::cos(tilt) * libm::sin(roll),
                                half * libm::sin(tilt),
                                half * libm::cos(tilt) * libm::cos(roll),
                            ];
                            let middle = [500.0, away - nearer, 0.0];
                            let end = |s: f64| pictured([0, 1, 2].map(|k| middle[k] + s * along[k]));
                            let feet = -0.5 * height;
                            let figure_px =
                                [pictured([0.0, away, feet + stance * height]), pictured([0.0, away, feet])];
                            let marks = Marks {
                                figure_px,
                                thing_px: [end(-1.0), end(1.0)],
                                off_px: 3.0,
                                tilt_deg: 20.0,
                                nearer_mm: 300.0,
                            };
                            let said = proportion(height, &marks)?;
                            assert!(
                                said.least_mm <= length && length <= said.most_mm,
                                "{said:?} {tilt_deg} {away} {nearer} {roll_deg} {stance}"
                            );
                            assert!(said.least_mm < said.length_mm && said.length_mm < said.most_mm);
                            // Not so wide that it says nothing.
                            assert!(said.most_mm < 1.5 * said.least_mm, "{said:?}");
                        }
                    }
                }
            }
        }
        Ok(())
    }

    #[test]
    fn a_flat_picture_gives_the_plain_ratio() -> Result<(), PictureError> {
        let marks = Marks {
            figure_px: [[0.0, 0.0], [0.0, 860.0]],
            thing_px: [[10.0, 0.0], [10.0, 430.0]],
            off_px: 0.0,
            tilt_deg: 0.0,
            nearer_mm: 0.0,
        };
        let said = proportion(1720.0, &marks)?;
        assert!((said.most_mm - 860.0).abs() < 1e-9 && (said.least_mm - 0.95 * 860.0).abs() < 1e-9);
        Ok(())
    }

    #[test]
    fn marks_that_say_nothing_are_refused() {
        let good = Marks {
            figure_px: [[0.0, 0.0], [0.0, 800.0]],
            thing_px: [[0.0, 0.0], [300.0, 0.0]],
            off_px: 3.0,
            tilt_deg: 15.0,
            nearer_mm: 200.0,
        };
        assert!(proportion(1700.0, &good).is_ok());
        let near = Marks { thing_px: [[0.0, 0.0], [5.0, 0.0]], ..good };
        assert!(matches!(proportion(1700.0, &near), Err(PictureError::Near { what: "prop", .. })));
        assert_eq!(proportion(1700.0, &Marks { tilt_deg: 75.0, ..good }), Err(PictureError::Tilt { tilt_deg: 75.0 }));
        assert_eq!(proportion(f64::NAN, &good), Err(PictureError::NotFinite));
        assert_eq!(proportion(-1.0, &good), Err(PictureError::NotFinite));
        assert_eq!(
            proportion(1700.0, &Marks { figure_px: [[f64::INFINITY, 0.0], [0.0; 2]], ..good }),
            Err(PictureError::NotFinite)
        );
    }
}
