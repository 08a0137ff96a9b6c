//! What a wall sends back and lets through, by adding and doubling: no random walk, no noise, a few thousandths of a second.
//!
//! van de Hulst, *Multiple Light Scattering*, vol. 1, 1980, chapters 4 and 5; Prahl, van Gemert and Welch, *Determining the
//! optical properties of turbid media by using the adding-doubling method*, Appl. Opt. 32, 559 (1993). Angles are split at
//! the critical one, and where light comes in slanting at its own, so that each range is smooth; the first thin layer is
//! Wiscombe's diamond scheme (J. Quant. Spectrosc. Radiat. Transfer 16, 637 (1976)); forward peaks are taken out by the
//! delta-M method (Wiscombe, J. Atmos. Sci. 34, 1408 (1977)).

use crate::fresnel::{critical_cosine, diffuse_from_outside, reflectance, refracted_cosine};
use crate::matrix::Square;
use crate::medium::{Coat, Finish, Medium, OpticsError, Wall};
use crate::quadrature::{Points, gauss, legendre_all, radau};
use crate::{Incidence, Shares};

/// Angles that a half-space of directions is split into when nothing else is asked for: within 0.0002 of what many
/// more give, for walls that scatter evenly.
pub const ANGLES: usize = 24;

/// What `wall` does with light, worked out for about `angles` directions a half-space ([`ANGLES`] is usual; 8 to 128).
///
/// # Errors
///
/// [`OpticsError`] for a wall that can't be, a cosine that is not above 0.01 to 1, or too few or too many angles.
///
/// # Example
///
/// ```
/// use glow::{ANGLES, Finish, Incidence, Medium, Wall, doubled};
/// // Another adding-doubling library gives 0.358 for this wall and light that comes straight on.
/// let plastic = Medium::of_reduced(2.0, 0.005, 1.46)?;
/// let wall = Wall::checked(plastic, 2.0, Finish::Bare, Finish::Bare)?;
/// assert!((doubled(&wall, Incidence::Collimated { cosine: 1.0 }, ANGLES)?.through() - 0.358).abs() < 0.001);
/// # Ok::<(), glow::OpticsError>(())
/// ```
pub fn doubled(wall: &Wall, incidence: Incidence, angles: usize) -> Result<Shares, OpticsError> {
    wall.check()?;
    crate::medium::within("angles", angles as f64, 8.0, 128.0)?;
    let index = wall.medium.index;
    let slanting = match (incidence, wall.inner) {
        (Incidence::Collimated { cosine }, finish) => {
            crate::medium::within("cosine of incidence", cosine, 0.01, 1.0)?;
            // A coat scatters what comes to it, whatever its direction.
            matches!(finish, Finish::Bare).then(|| refracted_cosine(cosine, 1.0 / index).unwrap_or(1.0))
        }
        _ => None,
    };
    let directions = Directions::of(index, slanting, angles);
    let layer = layer(&wall.medium, wall.thickness_mm, &directions)?;
    faced(wall, incidence, slanting, &directions, &layer)
}

/// The directions of a half-space inside the plastic.
struct Directions {
    /// Cosine and weight.
    points: Points,
    /// Share of a Lambertian flux that goes along each: 2 cosine weight; 1 together.
    flux: Vec<f64>,
    /// Degrees of Legendre polynomials that they can tell.
    degrees: usize,
}

impl Directions {
    fn of(index: f64, slanting: Option<f64>, angles: usize) -> Self {
        let mut edges = vec![0.0];
        edges.extend([critical_cosine(index)].into_iter().chain(slanting));
        edges.push(1.0);
        edges.dedup_by(|b, a| *b - *a < 1e-9);
        // Where the slanting direction came to lie on another edge, that one stands for both.
        if let Some(last) = edges.last_mut() {
            *last = 1.0;
        }
        let ranges = edges.len() - 1;
        let each = (angles / ranges).max(LEAST_EACH);
        let mut points = Points::new();
        for (at, ends) in edges.windows(2).enumerate() {
            let inside = at == 0 && index > 1.0;
            points.extend(if inside { gauss(each, ends[0], ends[1]) } else { radau(each, ends[0], ends[1]) });
        }
        let flux = points.iter().map(|[cosine, weight]| 2.0 * cosine * weight).collect();
        let degrees = points.len().min(2 * each - 1);
        Self { points, flux, degrees }
    }

    fn len(&self) -> usize {
        self.points.len()
    }

    /// The flux of a radiance.
    fn flux_of(&self, radiance: &[f64]) -> f64 {
        self.flux.iter().zip(radiance).map(|(f, r)| f * r).sum()
    }

    /// The direction next to a cosine.
    fn nearest(&self, cosine: f64) -> usize {
        let far = |at: &usize| (self.points[*at][0] - cosine).abs();
        (0..self.len()).min_by(|a, b| far(a).total_cmp(&far(b))).unwrap_or(0)
    }
}

/// Fewest angles in a range between two edges.
const LEAST_EACH: usize = 6;

/// A layer without faces: what radiance it sends back and lets through. It is the same from both sides.
struct Layer {
    back: Square,
    through: Square,
}

fn layer(medium: &Medium, thickness_mm: f64, directions: &Directions) -> Result<Layer, OpticsError> {
    let n = directions.len();
    // Delta-M: what is scattered into the forward peak goes on as if it had not been.
    let g = medium.anisotropy;
    let powers: Vec<f64> = std::iter::successors(Some(1.0), |p| Some(p * g)).take(directions.degrees + 1).collect();
    let peak = powers[directions.degrees].max(0.0);
    let scatter = medium.scatter_per_mm * (1.0 - peak);
    let extinction = scatter + medium.absorb_per_mm;
    let depth = extinction * thickness_mm;
    if depth == 0.0 {
        return Ok(Layer { back: Square::zero(n), through: Square::unit(n) });
    }
    let albedo = scatter / extinction;
    let polynomials: Vec<Vec<f64>> =
        directions.points.iter().map(|[cosine, _]| legendre_all(directions.degrees, *cosine)).collect();
    // Scattering from direction j to i, forward or (sign of odd polynomials turned) back, 1/2 of it a share.
    let turned = |i: usize, j: usize, back: bool| -> f64 {
        let of = |k: usize| {
            let moment = (powers[k] - peak) / (1.0 - peak);
            let sign = if back && k % 2 == 1 { -1.0 } else { 1.0 };
            (2.0 * k as f64 + 1.0) * moment * sign * polynomials[i][k] * polynomials[j][k]
        };
        (0..directions.degrees).map(of).sum()
    };
    let smallest = directions.points[0][0];
    let doublings = libm::ceil(libm::log2(depth / (THIN * smallest))).max(0.0);
    let thin = depth / libm::exp2(doublings);
    let scattered = |i: usize, j: usize, back: bool| {
        let [cosine, _] = directions.points[i];
        thin / 2.0 * albedo / 2.0 * turned(i, j, back) * directions.points[j][1] / cosine
    };
    let lost = |i: usize, j: usize| if i == j { thin / 2.0 / directions.points[i][0] } else { 0.0 };
    let ahead = Square::of(n, |i, j| lost(i, j) - scattered(i, j, false));
    let astern = Square::of(n, |i, j| scattered(i, j, true));
    // (1 + a) T - b R = 1 - a and (1 + a) R - b T = b: solved for T + R and T - R.
    let unit = Square::unit(n);
    let (less, more) = (ahead.plus(-1.0, &astern), ahead.plus(1.0, &astern));
    let solved = |m: &Square| solve(&unit.plus(1.0, m), &unit.plus(-1.0, m));
    let (sum, difference) = (solved(&less)?, solved(&more)?);
    let halved = |sign: f64| Square::zero(n).plus(0.5, &sum.plus(sign, &difference));
    let mut layer = Layer { back: halved(-1.0), through: halved(1.0) };
    for _ in 0..doublings as u32 {
        layer = twice(&layer)?;
    }
    Ok(layer)
}

/// The first layer's depth, in parts of the most slanting cosine: the diamond scheme is then exact to 2e-4.
const THIN: f64 = 0.05;

fn twice(half: &Layer) -> Result<Layer, OpticsError> {
    let Layer { back, through } = half;
    // Light that goes to and fro between the two halves.
    let between = solve(&Square::unit(back.size()).plus(-1.0, &back.times(back)), through)?;
    let there = through.times(&between);
    Ok(Layer { back: back.plus(1.0, &through.times(&back.times(&between))), through: there })
}

/// The answer to `left x = right`. Here `left` is always 1 less something that loses light on its way, so there is one.
fn solve(left: &Square, right: &Square) -> Result<Square, OpticsError> {
    left.solved(right).ok_or(OpticsError::Endless)
}

/// What a face beyond the critical angle sends back: clear plastic without absorption would else keep light for ever.
const NEARLY_ALL: f64 = 1.0 - 1e-12;

/// What a face sends back into the plastic, as a matrix on radiance.
fn mirrored(finish: Finish, index: f64, directions: &Directions) -> Square {
    match finish {
        Finish::Bare => Square::of(directions.len(), |i, j| {
            if i == j { reflectance(directions.points[i][0], index).min(NEARLY_ALL) } else { 0.0 }
        }),
        Finish::Coat(coat) => Square::of(directions.len(), |_, j| coat.reflectance * directions.flux[j]),
    }
}

/// What leaves the plastic through a face, of a radiance that comes to it.
fn leaving(finish: Finish, index: f64, directions: &Directions, radiance: &[f64]) -> f64 {
    match finish {
        Finish::Bare => {
            let out =
                |(i, r): (usize, &f64)| directions.flux[i] * r * (1.0 - reflectance(directions.points[i][0], index));
            radiance.iter().enumerate().map(out).sum()
        }
        Finish::Coat(coat) => coat.transmittance * directions.flux_of(radiance),
    }
}

/// What stays in a coat, of a radiance that comes to it from the plastic.
fn staying(finish: Finish, directions: &Directions, radiance: &[f64]) -> f64 {
    match finish {
        Finish::Bare => 0.0,
        Finish::Coat(coat) => kept(coat) * directions.flux_of(radiance),
    }
}

fn kept(coat: Coat) -> f64 {
    (1.0 - coat.reflectance - coat.transmittance).max(0.0)
}

/// The layer with its faces, lit.
fn faced(
    wall: &Wall,
    incidence: Incidence,
    slanting: Option<f64>,
    directions: &Directions,
    layer: &Layer,
) -> Result<Shares, OpticsError> {
    let index = wall.medium.index;
    let n = directions.len();
    let lit = slanting.map(|cosine| directions.nearest(cosine));
    let (specular, first_back, first_kept) = match (wall.inner, incidence) {
        (Finish::Coat(coat), _) => (0.0, coat.reflectance, kept(coat)),
        (Finish::Bare, Incidence::Collimated { cosine }) => (reflectance(cosine, 1.0 / index), 0.0, 0.0),
        (Finish::Bare, Incidence::Diffuse) => (diffuse_from_outside(index), 0.0, 0.0),
    };
    let mut entering: Vec<f64> = (0..n)
        .map(|i| match wall.inner {
            Finish::Coat(coat) => coat.transmittance,
            Finish::Bare => {
                let passed = 1.0 - reflectance(directions.points[i][0], index);
                match lit {
                    Some(at) if at == i => passed / directions.flux[i],
                    Some(_) => 0.0,
                    // Radiance rises by the square of the index inside the cone that air reaches.
                    None => passed * index * index,
                }
            }
        })
        .collect();
    if slanting.is_none() && wall.inner == Finish::Bare {
        // Near the critical angle a face changes too fast for a few angles to sum it up; what enters is known.
        let scale = (1.0 - specular) / directions.flux_of(&entering);
        entering.iter_mut().for_each(|e| *e *= scale);
    }
    if entering.iter().all(|e| *e == 0.0) {
        return Ok(Shares {
            specular,
            diffuse_back: first_back,
            unscattered_through: 0.0,
            diffuse_through: 0.0,
            absorbed_wall: 0.0,
            absorbed_coats: first_kept,
        });
    }
    let Layer { back, through } = layer;
    let (at_inner, at_outer) = (mirrored(wall.inner, index, directions), mirrored(wall.outer, index, directions));
    let unit = Square::unit(n);
    // Upward radiance at the outer face from downward radiance at the inner one, and all that comes back up.
    let risen = solve(&unit.plus(-1.0, &at_outer.times(back)), &at_outer.times(through))?;
    let up = back.plus(1.0, &through.times(&risen));
    let down_inner = solve(&unit.plus(-1.0, &at_inner.times(&up)), &unit)?.on(&entering);
    let up_inner = up.on(&down_inner);
    let up_outer = risen.on(&down_inner);
    let down_outer: Vec<f64> = through.on(&down_inner).iter().zip(back.on(&up_outer)).map(|(a, b)| a + b).collect();
    // Walls of millions of free paths pass less than rounding leaves.
    let passed = leaving(wall.outer, index, directions, &down_outer).max(0.0);
    let [straight_back, straight_through] = unscattered(wall, &entering, directions);
    let unscattered_through = straight_through.min(passed);
    let returned = leaving(wall.inner, index, directions, &up_inner);
    let specular = specular + straight_back.min(returned);
    let diffuse_back = first_back + returned - straight_back.min(returned);
    let absorbed_coats =
        first_kept + staying(wall.inner, directions, &up_inner) + staying(wall.outer, directions, &down_outer);
    let left = 1.0 - specular - diffuse_back - passed - absorbed_coats;
    Ok(Shares {
        specular,
        diffuse_back,
        unscattered_through,
        diffuse_through: passed - unscattered_through,
        // Without absorption nothing stays but the error of the angles.
        absorbed_wall: left.max(0.0),
        absorbed_coats,
    })
}

/// What comes back from the far face, and what passes, without a scatter, however often it went to and fro between bare
/// faces.
fn unscattered(wall: &Wall, entering: &[f64], directions: &Directions) -> [f64; 2] {
    if (wall.inner, wall.outer) != (Finish::Bare, Finish::Bare) {
        return [0.0; 2];
    }
    let depth = wall.medium.extinction_per_mm() * wall.thickness_mm;
    let mut all = [0.0; 2];
    for (i, [cosine, _]) in directions.points.iter().enumerate() {
        let (mirrored, once) = (reflectance(*cosine, wall.medium.index), libm::exp(-depth / cosine));
        let round = mirrored * once;
        if mirrored < 1.0 {
            let out = directions.flux[i] * entering[i] * once * (1.0 - mirrored) / (1.0 - round * round);
            all[0] += out * round;
            all[1] += out;
        }
    }
    all
}

#[cfg(test)]
mod tests;
