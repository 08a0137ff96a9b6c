//! Laying outlines on beds so that they keep their distance and few beds are used.

use super::pose::sincos_deg;
use super::raster::{Runs, runs};
use solid::DVec2;

/// A bed to lay pieces on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bed {
    /// Width and depth, mm.
    pub size_mm: [f64; 2],
    /// Kept free of pieces at each side, mm. A brim may run into it, and a wider one keeps its piece further in.
    pub margin_mm: f64,
    /// Kept free between what is laid, brims included, mm.
    pub spacing_mm: f64,
}

/// What a piece takes of a bed.
#[derive(Clone, Debug, PartialEq)]
pub struct Footprint {
    /// Its outline, counter-clockwise, mm.
    pub outline: Vec<DVec2>,
    /// Width of the brim round it, mm.
    pub brim_mm: f64,
}

/// Where a piece lies: turned about the bed's vertical, then shifted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placing {
    /// Which of the pieces, from 0.
    pub piece: usize,
    /// Turn, degrees, counter-clockwise from above.
    pub turn_deg: f64,
    /// Shift after the turn, mm from the bed's corner.
    pub shift: DVec2,
}

impl Placing {
    /// A point of the piece on the bed.
    pub fn to_bed(&self, point: DVec2) -> DVec2 {
        turned(point, self.turn_deg) + self.shift
    }
}

/// Beds with pieces on them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Nest {
    /// One list for each bed, none of them empty.
    pub plates: Vec<Vec<Placing>>,
    /// Pieces that fit an empty bed at none of the turns.
    pub outsize: Vec<usize>,
}

/// Pieces are turned in steps of this, degrees.
const TURN_STEP_DEG: u32 = 15;
/// Side of the squares that places are counted in, mm; a larger bed gets larger squares.
const CELL_MM: f64 = 1.0;
const MOST_CELLS: f64 = 500.0;
/// Shuffled orders tried besides the sorted ones.
const SHUFFLES: u32 = 4;

/// Lays the pieces on as few beds as are found.
///
/// Guarantees that any two outlines on a bed are at least the spacing and both brims apart and that each keeps the
/// margin; outlines may be concave and interlock. Each piece goes where its far edge lies nearest to the front, on the
/// first bed that takes it; several orders are tried, and rows of boxes as well, so that never more beds are used than
/// boxes laid in rows by falling depth would take. The same pieces always give the same beds.
pub fn nest(bed: &Bed, pieces: &[Footprint]) -> Nest {
    let room = Room::of(bed, pieces);
    let shapes: Vec<Vec<Turned>> = pieces.iter().map(|p| room.turns(p, bed)).collect();
    let (fitting, outsize): (Vec<usize>, Vec<usize>) = (0..pieces.len()).partition(|i| !shapes[*i].is_empty());
    let area: f64 = fitting.iter().map(|i| solid::section::area_mm2(std::slice::from_ref(&pieces[*i].outline))).sum();
    let least = ((area / (room.size.x * room.size.y)).ceil() as usize).max(1);
    let mut best = in_rows(&room, bed, pieces, &fitting);
    for order in orders(pieces, &fitting) {
        // One bed can still be filled more closely to the front; of several, none can be saved any more.
        if best.len() > 1 && best.len() == least {
            break;
        }
        let rank = |plates: &[Vec<Placing>]| (plates.len(), depth_mm(plates, pieces));
        if let Some(tried) = lay(&room, &shapes, &order, best.len())
            && rank(&tried) < rank(&best)
        {
            best = tried;
        }
    }
    for plate in &mut best {
        centre(plate, pieces, bed);
    }
    Nest { plates: best, outsize }
}

/// Least distance between two outlines, mm; 0 when they touch or overlap, infinite when one is empty.
pub fn gap_mm(a: &[DVec2], b: &[DVec2]) -> f64 {
    let loops = [a.to_vec(), b.to_vec()];
    let inside = |of: usize, p: &DVec2| solid::section::point_in(&loops[of..=of], *p);
    if a.is_empty() || b.is_empty() {
        return f64::INFINITY;
    }
    if inside(0, &b[0]) || inside(1, &a[0]) || crosses(a, b) {
        return 0.0;
    }
    let to = |of: usize, p: &DVec2| solid::section::distance_to(&loops[of..=of], *p);
    a.iter().map(|p| to(1, p)).chain(b.iter().map(|p| to(0, p))).fold(f64::INFINITY, f64::min)
}

fn sides(outline: &[DVec2]) -> impl Iterator<Item = (DVec2, DVec2)> + Clone {
    (0..outline.len()).map(move |k| (outline[k], outline[(k + 1) % outline.len()]))
}

fn crosses(a: &[DVec2], b: &[DVec2]) -> bool {
    let side = |p: DVec2, q: DVec2, r: DVec2| (q - p).perp_dot(r - p) > 0.0;
    sides(a).any(|(p, q)| sides(b).any(|(r, s)| side(p, q, r) != side(p, q, s) && side(r, s, p) != side(r, s, q)))
}

pub(super) fn turned(p: DVec2, turn_deg: f64) -> DVec2 {
    let (sin, cos) = sincos_deg(turn_deg);
    DVec2::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos)
}

fn bounds(points: impl Iterator<Item = DVec2>) -> (DVec2, DVec2) {
    points.fold((DVec2::INFINITY, DVec2::NEG_INFINITY), |(l, h), p| (l.min(p), h.max(p)))
}

/// How far a piece's brim would reach over the margin, mm.
fn over_mm(piece: &Footprint, bed: &Bed) -> f64 {
    (piece.brim_mm - bed.margin_mm).max(0.0)
}

/// The room on a bed, in squares.
struct Room {
    /// Without the margins, mm.
    size: DVec2,
    corner: DVec2,
    cell_mm: f64,
    /// Squares beyond the room on each side, for brims and half the spacing.
    pad: i32,
    rows: usize,
}

/// A piece at one turn.
struct Turned {
    turn_deg: f64,
    /// From the turned outline to the one whose box begins at the origin.
    shift: DVec2,
    size: DVec2,
    /// Squares it takes with its half of the spacing.
    runs: Runs,
}

impl Room {
    fn of(bed: &Bed, pieces: &[Footprint]) -> Room {
        let size = (DVec2::from(bed.size_mm) - DVec2::splat(2.0 * bed.margin_mm)).max(DVec2::ZERO);
        let cell_mm = CELL_MM.max(size.max_element() / MOST_CELLS);
        let reach = pieces.iter().map(|p| p.brim_mm).fold(0.0, f64::max) + bed.spacing_mm / 2.0;
        let pad = (reach / cell_mm).ceil() as i32 + 2;
        let rows = (size.y / cell_mm).ceil() as usize + 2 * pad as usize + 2;
        Room { size, corner: DVec2::splat(bed.margin_mm), cell_mm, pad, rows }
    }

    /// The piece at each turn at which it fits. Where its brim would not fit on the bed at any, the bed's edge cuts it.
    fn turns(&self, piece: &Footprint, bed: &Bed) -> Vec<Turned> {
        let whole = self.turns_within(piece, bed, over_mm(piece, bed));
        if whole.is_empty() { self.turns_within(piece, bed, 0.0) } else { whole }
    }

    fn turns_within(&self, piece: &Footprint, bed: &Bed, over_mm: f64) -> Vec<Turned> {
        let reach = piece.brim_mm + bed.spacing_mm / 2.0;
        let over = DVec2::splat(over_mm);
        let at = |turn: u32| {
            let turn_deg = f64::from(turn * TURN_STEP_DEG);
            let outline: Vec<DVec2> = piece.outline.iter().map(|p| turned(*p, turn_deg)).collect();
            let (low, high) = bounds(outline.iter().copied());
            let size = high - low + over * 2.0;
            // Rounding must not refuse a piece that fits exactly.
            ((self.size - size).min_element() >= -1e-6).then(|| {
                let outline: Vec<DVec2> = outline.iter().map(|p| *p - low + over).collect();
                Turned { turn_deg, shift: over - low, size, runs: runs(&outline, reach, self.cell_mm) }
            })
        };
        (0..360 / TURN_STEP_DEG).filter_map(at).collect()
    }
}

/// What is taken of one bed: for each row of squares, the runs that are taken, ascending.
struct Taken(Vec<Vec<[i32; 2]>>);

impl Taken {
    /// The leftmost free place for a piece in a row, from 0 to `most`.
    fn free(&self, runs: &Runs, row: i32, most: i32) -> Option<i32> {
        let mut x = 0;
        'again: while x <= most {
            for (k, wanted) in (runs.first_row + row..).zip(&runs.rows) {
                let Some(taken) = self.0.get(k as usize).filter(|t| !t.is_empty()) else { continue };
                for [from, to] in wanted {
                    let hit = taken.iter().find(|t| t[1] > x + from).filter(|t| t[0] < x + to);
                    if let Some(hit) = hit {
                        x = hit[1] - from;
                        continue 'again;
                    }
                }
            }
            return Some(x);
        }
        None
    }

    fn take(&mut self, runs: &Runs, row: i32, x: i32) {
        for (k, wanted) in (runs.first_row + row..).zip(&runs.rows) {
            let Some(taken) = self.0.get_mut(k as usize) else { continue };
            taken.extend(wanted.iter().map(|[from, to]| [from + x, to + x]));
            taken.sort_unstable();
        }
    }
}

/// Where a piece could go on one bed.
struct Spot {
    top: f64,
    x: i32,
    row: i32,
    turn: usize,
}

/// First bed that takes it, for each piece in `order`. `None` when more than `most` beds would be needed.
fn lay(room: &Room, shapes: &[Vec<Turned>], order: &[usize], most: usize) -> Option<Vec<Vec<Placing>>> {
    let mut beds: Vec<(Taken, Vec<Placing>)> = Vec::new();
    for piece in order {
        let spot_on = |taken: &Taken| -> Option<Spot> {
            let mut best: Option<Spot> = None;
            for (turn, shape) in shapes[*piece].iter().enumerate() {
                let last = ((room.size - shape.size + DVec2::splat(1e-6)) / room.cell_mm).floor();
                for row in 0..=last.y as i32 {
                    let top = f64::from(row) * room.cell_mm + shape.size.y;
                    if best.as_ref().is_some_and(|b| b.top < top - 1e-9) {
                        break;
                    }
                    if let Some(x) = taken.free(&shape.runs, row + room.pad, last.x as i32) {
                        if best.as_ref().is_none_or(|b| top < b.top - 1e-9 || x < b.x) {
                            best = Some(Spot { top, x, row, turn });
                        }
                        break;
                    }
                }
            }
            best
        };
        let found = beds.iter().enumerate().find_map(|(bed, (taken, _))| Some((bed, spot_on(taken)?)));
        let (bed, spot) = match found {
            Some(found) => found,
            None if beds.len() == most => return None,
            None => {
                let empty = Taken(vec![Vec::new(); room.rows]);
                let spot = spot_on(&empty)?;
                beds.push((empty, Vec::new()));
                (beds.len() - 1, spot)
            }
        };
        let shape = &shapes[*piece][spot.turn];
        beds[bed].0.take(&shape.runs, spot.row + room.pad, spot.x);
        let at = DVec2::new(f64::from(spot.x), f64::from(spot.row)) * room.cell_mm;
        beds[bed].1.push(Placing { piece: *piece, turn_deg: shape.turn_deg, shift: shape.shift + room.corner + at });
    }
    Some(beds.into_iter().map(|(_, placed)| placed).collect())
}

/// The orders that are tried: by falling area, longest side, depth, width; as given; and some shuffles.
fn orders(pieces: &[Footprint], fitting: &[usize]) -> Vec<Vec<usize>> {
    let by = |key: &dyn Fn(&Footprint) -> f64| {
        let mut order: Vec<(f64, usize)> = fitting.iter().map(|i| (key(&pieces[*i]), *i)).collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        order.into_iter().map(|(_, i)| i).collect::<Vec<usize>>()
    };
    let size = |p: &Footprint| {
        let (low, high) = bounds(p.outline.iter().copied());
        high - low
    };
    let mut orders = vec![
        by(&|p| solid::section::area_mm2(std::slice::from_ref(&p.outline))),
        by(&|p| size(p).max_element()),
        by(&|p| size(p).y),
        by(&|p| size(p).x),
        fitting.to_vec(),
    ];
    // A fixed sequence (Knuth's 64-bit congruential generator), so that the same pieces give the same beds.
    let mut state = 1u64;
    for _ in 0..SHUFFLES {
        let mut order = orders[0].clone();
        for k in (1..order.len()).rev() {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            order.swap(k, ((state >> 33) % (k as u64 + 1)) as usize);
        }
        orders.push(order);
    }
    orders.dedup();
    orders
}

/// Boxes in rows, by falling depth: the plain method that nesting must not fall behind.
fn in_rows(room: &Room, bed: &Bed, pieces: &[Footprint], fitting: &[usize]) -> Vec<Vec<Placing>> {
    struct Row {
        plate: usize,
        y: f64,
        depth: f64,
        end: f64,
    }
    let mut boxes: Vec<(usize, f64, DVec2, DVec2)> = fitting
        .iter()
        .filter_map(|i| {
            // The first turn, straight where that fits.
            let first = room.turns(&pieces[*i], bed).into_iter().next()?;
            Some((*i, first.turn_deg, first.shift, first.size))
        })
        .collect();
    boxes.sort_by(|a, b| b.3.y.total_cmp(&a.3.y).then(a.0.cmp(&b.0)));
    let mut plates: Vec<Vec<Placing>> = Vec::new();
    let mut row: Option<Row> = None;
    // All boxes are as far apart as those with the widest brim must be.
    let between = bed.spacing_mm + 2.0 * pieces.iter().map(|p| p.brim_mm).fold(0.0, f64::max);
    for (piece, turn_deg, shift, size) in boxes {
        let next = row.as_ref().map(|r| {
            if r.end + size.x <= room.size.x + 1e-6 {
                Row { plate: r.plate, y: r.y, depth: r.depth, end: r.end }
            } else if r.y + r.depth + between + size.y <= room.size.y + 1e-6 {
                Row { plate: r.plate, y: r.y + r.depth + between, depth: size.y, end: 0.0 }
            } else {
                Row { plate: r.plate + 1, y: 0.0, depth: size.y, end: 0.0 }
            }
        });
        let mut at = next.unwrap_or(Row { plate: 0, y: 0.0, depth: size.y, end: 0.0 });
        if plates.len() <= at.plate {
            plates.push(Vec::new());
        }
        plates[at.plate].push(Placing { piece, turn_deg, shift: room.corner + DVec2::new(at.end, at.y) + shift });
        at.end += size.x + between;
        row = Some(at);
    }
    plates
}

/// How far back the last bed is filled, mm.
fn depth_mm(plates: &[Vec<Placing>], pieces: &[Footprint]) -> f64 {
    plates.last().map_or(0.0, |plate| extent(plate, pieces).1.y)
}

fn extent(plate: &[Placing], pieces: &[Footprint]) -> (DVec2, DVec2) {
    bounds(plate.iter().flat_map(|at| pieces[at.piece].outline.iter().map(|p| at.to_bed(*p))))
}

/// Shifts everything on a bed to its middle, where beds are flattest and warmest; brims stay on the bed.
fn centre(plate: &mut [Placing], pieces: &[Footprint], bed: &Bed) {
    let grown = plate.iter().flat_map(|at| {
        let over = DVec2::splat(over_mm(&pieces[at.piece], bed));
        pieces[at.piece].outline.iter().map(|p| at.to_bed(*p)).flat_map(move |p| [p - over, p + over])
    });
    let (low, high) = bounds(grown);
    let shift = DVec2::from(bed.size_mm) / 2.0 - (low + high) / 2.0;
    // A brim that the bed's edge cuts would push others out.
    let fits = (DVec2::from(bed.size_mm) - (high - low)).min_element() >= 2.0 * bed.margin_mm - 1e-6;
    if fits {
        plate.iter_mut().for_each(|at| at.shift += shift);
    }
}
