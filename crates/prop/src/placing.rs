//! From the maker's file to the prop frame: which way is long, which end is the tip, how large it really is.

use crate::outcome::Role;
use crate::project::ShapeRules;
use crate::slices::{Slice, slices};
use solid::mend::Fault;
use solid::{Bounds, DAffine3, DMat3, DVec3, Mesh};

/// A body of the shape before it is placed: name, role, mended mesh in the file's own coordinates.
#[derive(Clone, Debug)]
pub struct RawBody {
    /// Name.
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// Mesh in the file's coordinates and unit.
    pub mesh: Mesh,
}

/// How the shape lies in its file, with reasons in words for what was guessed.
#[derive(Clone, Debug, PartialEq)]
pub struct Lie {
    /// Rotation from the file's axes to the prop's (no scale).
    pub turn: DMat3,
    /// The file's axis nearest the prop's length: 0, 1, 2.
    pub axis: usize,
    /// Whether the prop's length runs aslant of that axis: along the shape's own longest direction, not the file's.
    pub aslant: bool,
    /// Why that direction was taken.
    pub axis_reason: String,
    /// Whether the tip is at the high end of that axis.
    pub tip_high: bool,
    /// Why that end was taken.
    pub tip_reason: String,
    /// Extent along the prop in file units.
    pub long_units: f64,
}

/// One way to read a file without a unit.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitGuess {
    /// Unit in words.
    pub unit: &'static str,
    /// Length of the prop if the file is in that unit, mm.
    pub length_mm: f64,
}

const AXES: [DVec3; 3] = [DVec3::X, DVec3::Y, DVec3::Z];
const AXIS_NAMES: [&str; 3] = ["x", "y", "z"];
/// Ends whose outlines differ by less than this share are alike.
const ALIKE_SHARE: f64 = 0.01;

/// Finds how the shape lies, keeping to what the maker said. `None` when there is no extent at all.
///
/// The long direction is that of the greatest spread of the surface (first principal axis of the area); when a file axis
/// lies within 15 degrees of it, the file axis is taken, since makers draw along axes. The thickness is the remaining
/// direction with the least extent. The tip is the end where the lit bodies are; when that does not tell, the end whose
/// outer tenth holds less volume.
pub fn lie(bodies: &[RawBody], rules: &ShapeRules) -> Option<Lie> {
    let bounds = Bounds::of(bodies.iter().flat_map(|b| b.mesh.bounds()).flat_map(|b| [b.min, b.max]))?;
    let (long, axis, axis_reason) = match rules.axis {
        Some(a) => (AXES[a], a, format!("shape.axis says {}", AXIS_NAMES[a])),
        None => long_direction(bodies, &bounds),
    };
    let thick = thickness(&bounds, bodies, long, rules.thickness_axis);
    let (low, high) = extent(bodies, long)?;
    if high - low <= 0.0 || !(high - low).is_finite() {
        return None;
    }
    let (tip_high, tip_reason) = match rules.tip_high {
        Some(t) => (t, format!("shape.tip says {}", if t { "high" } else { "low" })),
        None => guess_tip(bodies, long, low, high),
    };
    let along = if tip_high { long } else { -long };
    let across = thick.cross(along);
    // Rows: the prop's axes in file coordinates.
    let turn = DMat3::from_cols(along, across, thick).transpose();
    Some(Lie { turn, axis, aslant: long != AXES[axis], axis_reason, tip_high, tip_reason, long_units: high - low })
}

fn extent(bodies: &[RawBody], direction: DVec3) -> Option<(f64, f64)> {
    bodies
        .iter()
        .flat_map(|b| &b.mesh.vertices)
        .map(|v| v.dot(direction))
        .fold(None, |e: Option<(f64, f64)>, x| Some(e.map_or((x, x), |(l, h)| (l.min(x), h.max(x)))))
}

fn long_direction(bodies: &[RawBody], bounds: &Bounds) -> (DVec3, usize, String) {
    let principal = principal_direction(bodies);
    let axis = (0..3).max_by(|a, b| principal[*a].abs().total_cmp(&principal[*b].abs())).unwrap_or(0);
    let lean_deg = libm::acos(principal[axis].abs().min(1.0)).to_degrees();
    if lean_deg <= 15.0 {
        let units = (bounds.size()[axis] * 1e4).round() / 1e4;
        let reason = format!("the shape is longest along the file's {} ({units} units)", AXIS_NAMES[axis]);
        return (AXES[axis], axis, reason);
    }
    let along = if principal[axis] < 0.0 { -principal } else { principal };
    let reason = format!("the shape lies {lean_deg:.0} degrees off the file's {}", AXIS_NAMES[axis]);
    (along, axis, reason)
}

/// First principal axis of the surface's area, by power iteration on its covariance about its centroid.
fn principal_direction(bodies: &[RawBody]) -> DVec3 {
    let patches = || {
        bodies.iter().flat_map(|b| {
            (0..b.mesh.triangles.len()).map(move |t| {
                let corners = b.mesh.corners(t);
                let middle = (corners[0] + corners[1] + corners[2]) / 3.0;
                (corners, middle, b.mesh.area_vector(t).length())
            })
        })
    };
    let (sum, area) = patches().fold((DVec3::ZERO, 0.0), |(s, a), (_, m, w)| (s + m * w, a + w));
    let center = sum / f64::max(area, f64::MIN_POSITIVE);
    let mut rows = [DVec3::ZERO; 3];
    // The second moment of a triangle about any point is that of a twelfth of its area at each corner and nine twelfths in
    // its middle, so how a surface is cut into triangles does not tell.
    for ([p, q, r], m, w) in patches() {
        for (at, share) in [(p, 1.0), (q, 1.0), (r, 1.0), (m, 9.0)] {
            let at = at - center;
            for k in 0..3 {
                rows[k] += at * (at[k] * w * share / 12.0);
            }
        }
    }
    let mut v = DVec3::new(1.0, 0.9, 0.8).normalize();
    for _ in 0..200 {
        let Some(next) = DVec3::new(rows[0].dot(v), rows[1].dot(v), rows[2].dot(v)).try_normalize() else {
            return DVec3::X;
        };
        v = next;
    }
    v
}

fn thickness(bounds: &Bounds, bodies: &[RawBody], long: DVec3, asked: Option<usize>) -> DVec3 {
    let square = |v: DVec3| (v - long * v.dot(long)).try_normalize();
    if let Some(thick) = asked.and_then(|a| square(AXES[a])) {
        return thick;
    }
    let lit: Vec<&RawBody> = bodies.iter().filter(|b| b.role == Role::Lit).collect();
    let of: Vec<&RawBody> = if lit.is_empty() { bodies.iter().collect() } else { lit };
    let mut best = (f64::INFINITY, DVec3::Z);
    // z first, so that a round prop keeps the file's z as its thickness.
    for axis in [DVec3::Z, DVec3::Y, DVec3::X] {
        let Some(direction) = square(axis) else { continue };
        if axis.dot(long).abs() > 0.8 {
            continue;
        }
        let across = direction.cross(long);
        let spread = |d: DVec3| {
            let range = of.iter().flat_map(|b| &b.mesh.vertices).map(|v| (*v - bounds.center()).dot(d));
            let (l, h) = range.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
            h - l
        };
        let size = spread(direction);
        if size < best.0 * 0.999 && size <= spread(across) * 1.001 {
            best = (size, direction);
        }
    }
    best.1
}

/// Length of the outlines in which the plane of all points p with p . `long` = `at` cuts the bodies.
fn girth(bodies: &[RawBody], long: DVec3, at: f64) -> f64 {
    let mut sum = 0.0;
    for b in bodies {
        for t in 0..b.mesh.triangles.len() {
            let corners = b.mesh.corners(t);
            let away = corners.map(|c| c.dot(long) - at);
            let mut ends = (0..3).filter_map(|k| {
                let (u, v) = (k, (k + 1) % 3);
                ((away[u] < 0.0) != (away[v] < 0.0)).then(|| corners[u].lerp(corners[v], away[u] / (away[u] - away[v])))
            });
            if let (Some(one), Some(other)) = (ends.next(), ends.next()) {
                sum += one.distance(other);
            }
        }
    }
    sum
}

fn guess_tip(bodies: &[RawBody], long: DVec3, low: f64, high: f64) -> (bool, String) {
    let middle = |role_is_lit: bool| {
        let (mut sum, mut weight) = (0.0, 0.0);
        for b in bodies.iter().filter(|b| (b.role == Role::Lit) == role_is_lit && b.role != Role::Cover) {
            let v = b.mesh.volume_mm3().abs();
            let center = b.mesh.bounds().map_or(DVec3::ZERO, |b| b.center());
            sum += center.dot(long) * v;
            weight += v;
        }
        (weight > 0.0).then(|| sum / weight)
    };
    if let (Some(lit), Some(plain)) = (middle(true), middle(false))
        && (lit - plain).abs() > 0.05 * (high - low)
    {
        return (lit > plain, "the lit part is at that end".into());
    }
    // Near the ends, not at them: a flat end says nothing of how it got there.
    let inwards = (high - low) / 20.0;
    let (at_low, at_high) = (girth(bodies, long, low + inwards), girth(bodies, long, high - inwards));
    if (at_high - at_low).abs() <= ALIKE_SHARE * at_high.max(at_low) {
        return (true, "both ends are alike, so the high end was taken".into());
    }
    (at_high < at_low, "that end is the slimmer one".into())
}

impl UnitGuess {
    /// "150.0 cm if it is in metres, 89 % of the wearer's height".
    pub fn describe(&self, wearer_mm: Option<f64>) -> String {
        let beside = wearer_mm
            .map_or_else(String::new, |w| format!(", {:.0} % of the wearer's height", self.length_mm / w * 100.0));
        format!("{:.1} cm if it is in {}{beside}", self.length_mm / 10.0, self.unit)
    }
}

/// The three likeliest readings of an extent, likeliest first: what the file itself says of its unit (`unit_mm`, in
/// millimetres), then those whose length is nearest, as a ratio, to the wearer's height (150 cm when unknown).
pub fn unit_guesses(long_units: f64, unit_mm: Option<f64>, wearer_mm: Option<f64>) -> Vec<UnitGuess> {
    let mut all: Vec<UnitGuess> =
        [("millimetres", 1.0), ("inches", 25.4), ("centimetres", 10.0), ("metres", 1000.0), ("feet", 304.8)]
            .map(|(unit, mm)| UnitGuess { unit, length_mm: long_units * mm })
            .to_vec();
    let wearer = wearer_mm.unwrap_or(1500.0);
    let far = |g: &UnitGuess| libm::fabs(libm::log(g.length_mm / wearer));
    all.sort_by(|a, b| far(a).total_cmp(&far(b)));
    if let Some(mm) = unit_mm {
        let said = UnitGuess { unit: "the file's own unit", length_mm: long_units * mm };
        all.retain(|g| (g.length_mm - said.length_mm).abs() > 1e-9 * said.length_mm);
        all.insert(0, said);
    }
    all.truncate(3);
    all
}

/// What is wrong with a body, in words: `at` is the place in the prop frame, `scale` millimetres of the finished prop for
/// one unit of the file.
pub fn fault_words(f: &Fault, at: DVec3, scale: f64) -> String {
    let finished = Fault { length_mm: f.length_mm * scale, ..*f };
    let [x, y, z] = f.place.to_array().map(|v| rounded(v, 1e4));
    format!(
        "{} at station {:.0} mm, across {:.1}, through {:.1} mm; in the file's own coordinates at {x:.4}, {y:.4}, {z:.4}",
        finished.describe(),
        rounded(at.x, 1.0),
        rounded(at.y, 10.0),
        rounded(at.z, 10.0),
    )
}

/// `value` in whole parts, so many to the unit, and never a zero with a minus before it.
fn rounded(value: f64, parts: f64) -> f64 {
    (value * parts).round() / parts + 0.0
}

/// The map from the file to the prop frame: turned, scaled so that the extent along the prop is `length_mm`, and moved so
/// that the butt is at x = 0 with the middle of its first section at the origin.
pub fn file_to_prop(bodies: &[RawBody], lie: &Lie, length_mm: f64) -> DAffine3 {
    let scale = length_mm / lie.long_units;
    let turned = DAffine3::from_mat3(lie.turn * scale);
    let low = extent(bodies, lie.turn.row(0)).map_or(0.0, |(l, _)| l) * scale;
    // The middle of the butt: centroid of the sections in the first hundredth of the core bodies.
    let mut sum = DVec3::ZERO;
    let mut weight = 0.0;
    for body in bodies.iter().filter(|b| b.role != Role::Cover) {
        let near = body.mesh.transformed(&turned);
        let at: Vec<f64> = (1..=3).map(|k| low + length_mm * 0.003 * f64::from(k)).collect();
        for Slice { x, area_mm2, center, .. } in slices(&near, &at) {
            if area_mm2 > 0.0 {
                sum += DVec3::new(x, center.x, center.y) * area_mm2;
                weight += area_mm2;
            }
        }
    }
    let middle = if weight > 0.0 { sum / weight } else { DVec3::ZERO };
    DAffine3::from_translation(DVec3::new(-low, -middle.y, -middle.z)) * turned
}

#[cfg(test)]
mod tests {
    use super::*;
    use solid::cone_frustum;

    fn rules() -> ShapeRules {
        ShapeRules {
            file: String::new(),
            length_mm: None,
            axis: None,
            tip_high: None,
            thickness_axis: None,
            path: None,
        }
    }

    fn spike(from: DVec3, to: DVec3) -> Vec<RawBody> {
        vec![RawBody { name: "spike".into(), role: Role::Plain, mesh: cone_frustum(from, to, 3.0, 1.0, 48) }]
    }

    #[test]
    fn the_slim_end_of_the_longest_axis_is_the_tip() {
        let bodies = spike(DVec3::new(1.0, 80.0, 0.0), DVec3::new(1.0, -20.0, 0.0));
        let lie = lie(&bodies, &rules()).unwrap();
        assert_eq!((lie.axis, lie.tip_high), (1, false));
        let map = file_to_prop(&bodies, &lie, 1500.0);
        let butt = map.transform_point3(DVec3::new(1.0, 80.0, 0.0));
        let tip = map.transform_point3(DVec3::new(1.0, -20.0, 0.0));
        assert!(butt.length() < 1e-6, "{butt}");
        assert!((tip - DVec3::X * 1500.0).length() < 1e-6, "{tip}");
        assert!((map.matrix3.determinant() - 15.0f64.powi(3)).abs() < 1e-6, "a proper turn, no mirror");
    }

    #[test]
    fn how_the_triangles_lie_does_not_turn_the_prop() {
        // A prism with a slimmer last third: few triangles, whose corners say little of where their areas are.
        let ring = |x: f64, half: f64| {
            [[-2.0, -1.0], [2.0, -1.0], [2.0, 1.0], [-2.0, 1.0]].map(|c| DVec3::new(x, c[0] * half, c[1] * half))
        };
        let vertices = [ring(0.0, 13.0), ring(200.0, 13.0), ring(320.0, 7.0)].concat();
        let mut triangles: Vec<[u32; 3]> = vec![[0, 2, 1], [0, 3, 2], [8, 9, 10], [8, 10, 11]];
        for k in [0, 1, 2, 3, 4, 5, 6, 7u32] {
            let (a, b) = (k, k / 4 * 4 + (k + 1) % 4);
            triangles.extend([[a, b, b + 4], [a, b + 4, a + 4]]);
        }
        let mesh = Mesh { vertices, triangles };
        assert!(mesh.edge_census().is_closed() && mesh.volume_mm3() > 0.0);
        for turn in 0..3 {
            let mut mesh = mesh.clone();
            mesh.triangles.iter_mut().for_each(|t| t.rotate_left(turn));
            let bodies = [RawBody { name: "blade".into(), role: Role::Lit, mesh }];
            assert!(lie(&bodies, &rules()).unwrap().tip_high, "turned by {turn}");
        }
    }

    #[test]
    fn what_the_maker_says_wins() {
        let bodies = spike(DVec3::ZERO, DVec3::X * 100.0);
        let said = ShapeRules { tip_high: Some(false), thickness_axis: Some(1), ..rules() };
        let lie = lie(&bodies, &said).unwrap();
        assert!(!lie.tip_high);
        assert!((lie.turn * DVec3::Y).z.abs() > 0.999);
    }

    #[test]
    fn a_leaning_shape_is_straightened() {
        let bodies = spike(DVec3::ZERO, DVec3::new(60.0, 80.0, 0.0));
        let lie = lie(&bodies, &rules()).unwrap();
        let map = file_to_prop(&bodies, &lie, 1000.0);
        let tip = map.transform_point3(DVec3::new(60.0, 80.0, 0.0));
        assert!((tip - DVec3::X * 1000.0).length() < 1e-6 && lie.aslant, "{tip}");
    }

    #[test]
    fn ends_alike_leave_the_tip_at_the_high_end() {
        let rod = |r: f64| {
            let mesh = cone_frustum(DVec3::ZERO, DVec3::Y * 90.0, 3.0, r, 48);
            lie(&[RawBody { name: "rod".into(), role: Role::Plain, mesh }], &rules()).unwrap()
        };
        for slightly in [2.99, 3.0, 3.01] {
            let lie = rod(slightly);
            assert!(lie.tip_high && lie.tip_reason.contains("both ends are alike"), "{lie:?}");
        }
        let lie = rod(3.2);
        assert!(!lie.tip_high && lie.tip_reason.contains("slimmer"), "{lie:?}");
    }

    #[test]
    fn a_fault_is_told_at_the_size_of_the_finished_prop() {
        use solid::mend::FaultKind;
        let fault = Fault {
            kind: FaultKind::OpenEdges,
            count: 2,
            length_mm: 1.5,
            place: DVec3::new(-1e-7, 0.25, -3.0),
            size: DVec3::ONE,
        };
        let words = fault_words(&fault, DVec3::new(-0.4, -0.04, 12.34), 10.0);
        assert_eq!(
            words,
            "the surface is open here: a hole 15.0 mm long, the longest of 2 at station 0 mm, across 0.0, through 12.3 mm; in the file's own coordinates at 0.0000, 0.2500, -3.0000"
        );
    }

    #[test]
    fn unitless_extents_get_three_readings() {
        let guesses = unit_guesses(1.5, None, Some(1680.0));
        assert_eq!(guesses[0], UnitGuess { unit: "metres", length_mm: 1500.0 });
        assert_eq!(guesses.len(), 3);
        assert_eq!(unit_guesses(59.0, None, Some(1680.0))[0].unit, "inches");
    }

    #[test]
    fn what_the_file_says_of_its_unit_comes_first() {
        let guesses = unit_guesses(59.0, Some(1.0), None);
        let lengths: Vec<f64> = guesses.iter().map(|g| g.length_mm).collect();
        assert_eq!((guesses[0].unit, guesses.len()), ("the file's own unit", 3));
        assert!(lengths[0] == 59.0 && !lengths[1..].contains(&59.0), "the same reading is not said twice: {lengths:?}");
        assert_eq!(
            guesses[0].describe(Some(118.0)),
            "5.9 cm if it is in the file's own unit, 50 % of the wearer's height"
        );
    }
}
