//! How long a thing is that is pictured beside a figure of known height.

use glam::DVec2;
use thiserror::Error;

/// A lean is tried at so many places to either side.
const LEANS: i32 = 8;
/// So many times as far away as at least, a picture has no perspective left to speak of.
const FAR: f64 = 100.0;

/// What is marked in the picture: places in pixels, x to the right and y down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Marks {
    /// Crown and soles of the figure.
    pub figure_px: [[f64; 2]; 2],
    /// Both ends of the thing.
    pub thing_px: [[f64; 2]; 2],
    /// The middle of the whole picture; that of the figure where nothing is known.
    pub middle_px: Option<[f64; 2]>,
}

/// What is not known of how the picture was taken: all that is allowed for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowances {
    /// How far each mark may be off, pixels.
    pub off_px: f64,
    /// The share of its height that the figure stands at the least: bent knees, a lowered head.
    pub least_stance: f64,
    /// How far the thing may lean towards the camera or away from it, degrees.
    pub tilt_deg: f64,
    /// How far the camera may look up or down, degrees.
    pub pitch_deg: f64,
    /// How much nearer to the camera than the figure, or farther, the thing may be, mm.
    pub nearer_mm: f64,
    /// How far from the figure the camera is at least, mm.
    pub away_mm: f64,
    /// The share by which the lens may show one of the two larger than the other.
    pub lens: f64,
}

impl Allowances {
    /// For a photograph of somebody who poses with the thing: common practice, no source, but for the distance, at which a
    /// figure fills the height of a picture of 28 degrees (own computation: a lens of 50 mm before a frame 24 mm tall takes in 27).
    pub fn usual(height_mm: f64) -> Allowances {
        Allowances {
            off_px: 3.0,
            least_stance: 0.95,
            tilt_deg: 15.0,
            pitch_deg: 5.0,
            nearer_mm: 200.0,
            away_mm: 2.0 * height_mm,
            lens: 0.02,
        }
    }
}

/// What makes a length uncertain.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// Marks that are off.
    Marks,
    /// A figure that does not stand upright.
    Stance,
    /// A thing that leans towards the camera or away from it.
    Tilt,
    /// A camera that looks up or down.
    Pitch,
    /// A thing nearer to the camera or farther from it than the figure.
    Nearer,
    /// A lens that shows one larger than the other.
    Lens,
}

/// A length with what it may be at least and at most, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Proportion {
    /// As the picture shows it, thing and figure side by side, square to the camera, the stance half way to its least.
    pub length_mm: f64,
    /// Least, with everything at its worst together.
    pub least_mm: f64,
    /// Most, with everything at its worst together.
    pub most_mm: f64,
    /// What each cause does alone: least and most, mm.
    pub alone: Vec<(Cause, [f64; 2])>,
}

/// Why marks give no length.
#[derive(Clone, Copy, Debug, PartialEq, Error)]
pub enum PictureError {
    /// A number that can't be.
    #[error("{what} is {value}, which can't be: {way_out}")]
    Number {
        /// What.
        what: &'static str,
        /// Its value.
        value: f64,
        /// What to do.
        way_out: &'static str,
    },
    /// The two marks of one thing are too near.
    #[error(
        "the {what}'s two marks are {apart_px:.1} pixels apart, and each may be off by {off_px}: mark it in a larger picture"
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
    #[error(
        "leaning by {tilt_deg} degrees it could point at the camera, so no length is too long: take a picture from its side"
    )]
    Tilt {
        /// The lean.
        tilt_deg: f64,
    },
    /// It could reach the camera.
    #[error("from {away_mm:.0} mm away the prop could reach the camera: take a picture from farther away")]
    Close {
        /// How far from the figure the camera is.
        away_mm: f64,
    },
}

/// One way in which the picture may have been taken.
#[derive(Clone, Copy)]
struct Guess {
    stance: f64,
    tilt_deg: f64,
    pitch_deg: f64,
    nearer_mm: f64,
    away_mm: f64,
    /// Of both marks and lens: what is seen of the thing against the figure.
    seen: f64,
}

/// The length of a thing from a picture of it with a figure of a known height, mm: by the pinhole camera that pictures the figure
/// where it is marked, turned round; least and most of all ways in which it may have been taken.
///
/// # Errors
/// [`PictureError`]: marks that lie together, numbers that can't be, allowances that leave no bound.
pub fn proportion(height_mm: f64, marks: &Marks, allowed: &Allowances) -> Result<Proportion, PictureError> {
    checked(height_mm, marks, allowed)?;
    let a = allowed;
    let middle = 0.5 * (1.0 + a.least_stance);
    let plain = Guess { stance: middle, tilt_deg: 0.0, pitch_deg: 0.0, nearer_mm: 0.0, away_mm: a.away_mm, seen: 1.0 };
    let [figure, thing] = [marks.figure_px, marks.thing_px].map(|m| (point(m[0]) - point(m[1])).length());
    let off = 2.0 * a.off_px;
    let marked = [(thing - off) / thing * figure / (figure + off), (thing + off) / thing * figure / (figure - off)];
    let lens = [1.0 - a.lens, 1.0 + a.lens];
    let leans: Vec<f64> = (-LEANS..=LEANS).map(|k| a.tilt_deg * f64::from(k) / f64::from(LEANS)).collect();
    let pitches = [-a.pitch_deg, 0.0, a.pitch_deg];
    let nearer = [-a.nearer_mm, 0.0, a.nearer_mm];
    let aways = [a.away_mm, FAR * a.away_mm];
    let stances = [a.least_stance, middle, 1.0];

    let mut alone = Vec::new();
    let tell = |cause: Cause, guesses: Vec<Guess>| reach(height_mm, marks, guesses).map(|reach| (cause, reach));
    alone.push(tell(Cause::Marks, marked.map(|seen| Guess { seen, ..plain }).into())?);
    alone.push(tell(Cause::Stance, stances.map(|stance| Guess { stance, ..plain }).into())?);
    alone.push(tell(Cause::Tilt, leans.iter().map(|t| Guess { tilt_deg: *t, ..plain }).collect())?);
    alone.push(tell(Cause::Pitch, pitches.map(|pitch_deg| Guess { pitch_deg, ..plain }).into())?);
    alone.push(tell(Cause::Nearer, nearer.map(|nearer_mm| Guess { nearer_mm, ..plain }).into())?);
    alone.push(tell(Cause::Lens, lens.map(|seen| Guess { seen, ..plain }).into())?);

    let mut all = Vec::new();
    for stance in stances {
        for tilt_deg in &leans {
            for pitch_deg in pitches {
                for nearer_mm in nearer {
                    for away_mm in aways {
                        let guess = |k: usize| Guess {
                            stance,
                            tilt_deg: *tilt_deg,
                            pitch_deg,
                            nearer_mm,
                            away_mm,
                            seen: marked[k] * lens[k],
                        };
                        all.extend([guess(0), guess(1)]);
                    }
                }
            }
        }
    }
    let [least_mm, most_mm] = reach(height_mm, marks, all)?;
    let length_mm = length(height_mm, marks, plain)?;
    Ok(Proportion { length_mm, least_mm, most_mm, alone })
}

fn checked(height_mm: f64, marks: &Marks, a: &Allowances) -> Result<(), PictureError> {
    let fits = |what, value: f64, least: f64, most: f64, way_out| {
        // Also says no to what is no number.
        let error = PictureError::Number { what, value, way_out };
        if least <= value && value <= most { Ok(()) } else { Err(error) }
    };
    fits("the figure's height", height_mm, 1.0, 1e6, "give what is known of it")?;
    for [x, y] in marks.figure_px.into_iter().chain(marks.thing_px).chain(marks.middle_px) {
        fits("a mark", x, -1e6, 1e6, "give pixels from the picture's left")?;
        fits("a mark", y, -1e6, 1e6, "give pixels from the picture's top")?;
    }
    fits("how far a mark may be off", a.off_px, 0.0, 1e6, "give pixels, 0 or more")?;
    fits("the least stance", a.least_stance, 0.5, 1.0, "give a share of the height from 50 % to 100 %")?;
    fits("the lean", a.tilt_deg, 0.0, 60.0, "give 0 to 60 degrees; a picture from its side needs less")?;
    fits("how far the camera looks up or down", a.pitch_deg, 0.0, 30.0, "give 0 to 30 degrees")?;
    fits("how much nearer it may be", a.nearer_mm, 0.0, 0.9 * a.away_mm, "give less than the camera's distance")?;
    fits("the camera's distance", a.away_mm, 0.6 * height_mm, 1e9, "give more than six tenths of the figure's height")?;
    fits("what the lens does", a.lens, 0.0, 0.5, "give a share from 0 % to 50 %")?;
    for (what, [p, q]) in [("figure", marks.figure_px), ("prop", marks.thing_px)] {
        let apart_px = (point(p) - point(q)).length();
        if apart_px <= 4.0 * a.off_px || apart_px == 0.0 {
            return Err(PictureError::Near { what, apart_px, off_px: a.off_px });
        }
    }
    Ok(())
}

fn point(p: [f64; 2]) -> DVec2 {
    DVec2::from_array(p)
}

fn reach(height_mm: f64, marks: &Marks, guesses: Vec<Guess>) -> Result<[f64; 2], PictureError> {
    let mut ends = [f64::INFINITY, f64::NEG_INFINITY];
    for guess in guesses {
        let at = length(height_mm, marks, guess)?;
        ends = [ends[0].min(at), ends[1].max(at)];
    }
    Ok(ends)
}

/// The length that is pictured so if the picture was taken so.
///
/// A place (X, Z) seen by a pinhole camera, Z along its axis, comes out at f X / Z from the picture's middle. Figure: its two depths
/// follow from distance and pitch, so f follows from its height. Thing: with depths Z ± L sin t / 2 at its ends, what is seen of it
/// gives an equation of the second degree for L.
fn length(height_mm: f64, marks: &Marks, g: Guess) -> Result<f64, PictureError> {
    let [crown, soles] = marks.figure_px.map(point);
    let [one, other] = marks.thing_px.map(point);
    let centre = marks.middle_px.map_or(0.5 * (crown + soles), point);
    let (sin_pitch, cos_pitch) = libm::sincos(g.pitch_deg.to_radians());
    let tall_mm = height_mm * g.stance;
    let deeper_mm = 0.5 * tall_mm * sin_pitch;
    let across = (g.away_mm + deeper_mm) * (crown - centre) - (g.away_mm - deeper_mm) * (soles - centre);
    let focal_px = across.length() / (tall_mm * cos_pitch);

    let (up, along) = ((crown - soles).normalize_or_zero(), (one - other).normalize_or_zero());
    // How far the thing's middle is above the figure's, as far as the pitch makes it deeper.
    let above_mm = (0.5 * (one + other - crown - soles)).dot(up) * tall_mm / (crown - soles).length();
    let depth_mm = g.away_mm - g.nearer_mm + above_mm * sin_pitch;
    let lean = g.tilt_deg.to_radians() + libm::asin(up.dot(along) * sin_pitch);
    let (sin, cos) = libm::sincos(lean);
    let a = (one - other) * (depth_mm * g.seen);
    let b = 0.5 * sin * (one + other - 2.0 * centre);
    let square = focal_px * focal_px * cos * cos - b.length_squared();
    if square <= 0.0 || cos <= 0.0 {
        return Err(PictureError::Tilt { tilt_deg: g.tilt_deg.abs() });
    }
    let half = a.dot(b);
    let length_mm = (half + (half * half + square * a.length_squared()).sqrt()) / square;
    let is_before = depth_mm > 0.5 * length_mm * sin.abs() && g.away_mm > deeper_mm.abs();
    if is_before && length_mm.is_finite() { Ok(length_mm) } else { Err(PictureError::Close { away_mm: g.away_mm }) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A pinhole camera that looks along y, turned up by a pitch: where a point (x, away, up) comes out, pixels.
    fn pictured([x, away, up]: [f64; 3], pitch_deg: f64) -> [f64; 2] {
        let (sin, cos) = libm::sincos(pitch_deg.to_radians());
        let (depth, high) = (away * cos + up * sin, up * cos - away * sin);
        [1000.0 + x * 2400.0 / depth, 700.0 - high * 2400.0 / depth]
    }

    /// A figure of 172 cm and a prop of 160 cm, which leans in the picture and out of it, to either side of the figure, before it and
    /// behind, the figure bent or upright, the camera level or pitched: what is stated holds for every one, at three tilts and more.
    #[test]
    fn pictured_props_have_their_length_within_what_is_stated() -> Result<(), PictureError> {
        let (height, length) = (1720.0, 1600.0);
        let mut widest = 0.0_f64;
        for tilt_deg in [-20.0, -10.0, 0.0, 10.0, 20.0_f64] {
            for (away, pitch_deg) in [(3500.0, 0.0), (3500.0, 5.0), (3500.0, -5.0), (8000.0, 3.0_f64)] {
                for (nearer, beside) in [(-300.0, 500.0), (0.0, -700.0), (300.0, 700.0), (300.0, -500.0)] {
                    for roll_deg in [0.0, 35.0, 90.0, 140.0_f64] {
                        for stance in [0.95, 1.0] {
                            let (tilt, roll) = (tilt_deg.to_radians(), roll_deg.to_radians());
                            let half = 0.5 * length;
                            let along = [
                                half * libm::cos(tilt) * libm::sin(roll),
                                half * libm::sin(tilt),
                                half * libm::cos(tilt) * libm::cos(roll),
                            ];
                            // The camera is turned about the figure's middle, which it keeps in its own.
                            let (sin, cos) = libm::sincos(pitch_deg.to_radians());
                            let middle = [beside, away * cos - nearer, away * sin];
                            let end = |s: f64| pictured([0, 1, 2].map(|k| middle[k] + s * along[k]), pitch_deg);
                            let figure =
                                |s: f64| pictured([0.0, away * cos, away * sin + 0.5 * s * stance * height], pitch_deg);
                            let marks = Marks {
                                figure_px: [figure(1.0), figure(-1.0)],
                                thing_px: [end(1.0), end(-1.0)],
                                middle_px: None,
                            };
                            let usual = Allowances::usual(height);
                            let allowed = Allowances { tilt_deg: 20.0, nearer_mm: 300.0, lens: 0.0, ..usual };
                            let said = proportion(height, &marks, &allowed)?;
                            assert!(
                                said.least_mm <= length && length <= said.most_mm,
                                "{said:?} {tilt_deg} {away} {pitch_deg} {nearer} {beside} {roll_deg} {stance}"
                            );
                            assert!(said.least_mm < said.length_mm && said.length_mm < said.most_mm);
                            widest = widest.max(said.most_mm / said.least_mm);
                        }
                    }
                }
            }
        }
        // Not so wide that it says nothing.
        assert!(widest < 1.6, "{widest}");
        Ok(())
    }

    /// If it is known how the picture was taken, the length comes out as it is: the equation against the camera above.
    #[test]
    fn the_camera_turned_round_gives_the_length() -> Result<(), PictureError> {
        let (away, beside, length, tilt) = (3000.0, 600.0, 1400.0, 18.0_f64.to_radians());
        let end = |s: f64| {
            pictured([beside + 0.5 * s * length * libm::cos(tilt), away + 0.5 * s * length * libm::sin(tilt), 0.0], 0.0)
        };
        let figure = |s: f64| pictured([0.0, away, 0.5 * s * 1720.0], 0.0);
        let marks = Marks { figure_px: [figure(1.0), figure(-1.0)], thing_px: [end(1.0), end(-1.0)], middle_px: None };
        let known = Guess { stance: 1.0, tilt_deg: 18.0, pitch_deg: 0.0, nearer_mm: 0.0, away_mm: away, seen: 1.0 };
        let found = super::length(1720.0, &marks, known)?;
        assert!((found - length).abs() < 1e-6, "{found}");
        Ok(())
    }

    fn plain() -> (Marks, Allowances) {
        let marks =
            Marks { figure_px: [[0.0, 0.0], [0.0, 860.0]], thing_px: [[10.0, 0.0], [10.0, 430.0]], middle_px: None };
        let none = Allowances {
            off_px: 0.0,
            least_stance: 1.0,
            tilt_deg: 0.0,
            pitch_deg: 0.0,
            nearer_mm: 0.0,
            away_mm: 3440.0,
            lens: 0.0,
        };
        (marks, none)
    }

    #[test]
    fn a_flat_picture_gives_the_plain_ratio_and_each_cause_its_share() -> Result<(), PictureError> {
        let (marks, none) = plain();
        let said = proportion(1720.0, &marks, &none)?;
        assert!([said.length_mm, said.least_mm, said.most_mm].iter().all(|mm| (mm - 860.0).abs() < 1e-9), "{said:?}");
        // By hand: 860 mm, times the stance; times 1.02; by 1/10 of the distance; 6 of 430 and of 860 pixels.
        let alone = |allowed: Allowances, cause: Cause| {
            let said = proportion(1720.0, &marks, &allowed)?;
            Ok::<_, PictureError>(said.alone.iter().find(|c| c.0 == cause).map(|c| c.1).unwrap_or_default())
        };
        let near = |found: [f64; 2], wanted: [f64; 2]| {
            assert!((0..2).all(|k| (found[k] - wanted[k]).abs() < 1e-6), "{found:?} {wanted:?}");
        };
        near(alone(Allowances { least_stance: 0.9, ..none }, Cause::Stance)?, [774.0, 860.0]);
        near(alone(Allowances { lens: 0.02, ..none }, Cause::Lens)?, [842.8, 877.2]);
        near(alone(Allowances { nearer_mm: 344.0, ..none }, Cause::Nearer)?, [774.0, 946.0]);
        let marked = [860.0 * 424.0 / 430.0 * 860.0 / 866.0, 860.0 * 436.0 / 430.0 * 860.0 / 854.0];
        near(alone(Allowances { off_px: 3.0, ..none }, Cause::Marks)?, marked);
        Ok(())
    }

    #[test]
    fn marks_that_say_nothing_are_refused() {
        let (marks, none) = plain();
        let usual = Allowances::usual(1700.0);
        assert!(proportion(1700.0, &marks, &usual).is_ok());
        let near = Marks { thing_px: [[0.0, 0.0], [5.0, 0.0]], ..marks };
        assert!(matches!(proportion(1700.0, &near, &usual), Err(PictureError::Near { what: "prop", .. })));
        let zero = Marks { figure_px: [[4.0, 4.0]; 2], ..marks };
        assert!(matches!(proportion(1700.0, &zero, &none), Err(PictureError::Near { what: "figure", .. })));
        let number = |height: f64, marks: Marks, allowed: Allowances| {
            matches!(proportion(height, &marks, &allowed), Err(PictureError::Number { .. }))
        };
        for bad in [f64::NAN, f64::INFINITY, -1.0] {
            assert!(number(bad, marks, usual));
            assert!(number(1700.0, marks, Allowances { tilt_deg: bad, ..usual }));
            assert!(number(1700.0, marks, Allowances { away_mm: bad, ..usual }));
            assert!(number(1700.0, marks, Allowances { lens: bad, ..usual }));
            assert!(number(1700.0, marks, Allowances { off_px: bad, ..usual }));
        }
        assert!(number(1700.0, Marks { figure_px: [[f64::INFINITY, 0.0], [0.0; 2]], ..marks }, usual));
        assert!(number(1700.0, marks, Allowances { tilt_deg: 75.0, ..usual }));
        // Far to the side and leaning so, it could point at the camera.
        let aside = Marks { thing_px: [[2600.0, 0.0], [3000.0, 430.0]], ..marks };
        let said = proportion(1700.0, &aside, &Allowances { tilt_deg: 60.0, ..usual });
        assert!(matches!(said, Err(PictureError::Tilt { .. } | PictureError::Close { .. })), "{said:?}");
    }
}
