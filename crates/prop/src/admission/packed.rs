//! Several parts in one case, each along its sides.
//!
//! Boxes are laid one after another into corners that those before leave open (extreme points: Crainic, Perboli and Tadei, "Extreme
//! point-based heuristics for three-dimensional bin packing", INFORMS Journal on Computing 20, 2008; from memory), in every order and
//! every way round, as far as the count of trials goes. What is found does go in; what is not found may.

/// Boxes that are laid in trial, in all.
const TRIALS: u32 = 600_000;

/// Room that laid boxes still share a side of, mm: rounding must not part them.
const TOUCH_MM: f64 = 1e-9;

/// A box where it lies: first corner and sides, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Laid {
    pub(super) at_mm: [f64; 3],
    pub(super) sides_mm: [f64; 3],
}

/// Most of the boxes that were found to go into a room together, largest first.
pub(super) fn packed(room_mm: [f64; 3], boxes_mm: &[[f64; 3]]) -> Vec<Laid> {
    let mut boxes = boxes_mm.to_vec();
    let volume = |b: &[f64; 3]| b.iter().product::<f64>();
    boxes.sort_by(|a, b| volume(b).total_cmp(&volume(a)));
    let mut search = Search { room_mm, boxes, left: TRIALS, best: Vec::new() };
    let mut used = vec![false; search.boxes.len()];
    search.on(&mut Vec::new(), &mut used);
    search.best
}

struct Search {
    room_mm: [f64; 3],
    boxes: Vec<[f64; 3]>,
    left: u32,
    best: Vec<Laid>,
}

impl Search {
    /// Lays another box; true when all lie or no trial is left.
    fn on(&mut self, laid: &mut Vec<Laid>, used: &mut [bool]) -> bool {
        if laid.len() > self.best.len() {
            self.best.clone_from(laid);
        }
        if laid.len() == self.boxes.len() {
            return true;
        }
        for k in 0..self.boxes.len() {
            // Of boxes alike the first is laid first.
            if used[k] || (0..k).any(|j| !used[j] && self.boxes[j] == self.boxes[k]) {
                continue;
            }
            for sides_mm in ways_round(self.boxes[k]) {
                for at_mm in corners(laid) {
                    let next = Laid { at_mm, sides_mm };
                    if !self.goes_in(&next, laid) {
                        continue;
                    }
                    if self.left == 0 {
                        return true;
                    }
                    self.left -= 1;
                    laid.push(next);
                    used[k] = true;
                    if self.on(laid, used) {
                        return true;
                    }
                    used[k] = false;
                    laid.pop();
                }
            }
        }
        false
    }

    fn goes_in(&self, next: &Laid, laid: &[Laid]) -> bool {
        let end = |l: &Laid, i: usize| l.at_mm[i] + l.sides_mm[i];
        (0..3).all(|i| end(next, i) <= self.room_mm[i] + TOUCH_MM)
            && laid
                .iter()
                .all(|l| (0..3).any(|i| end(next, i) <= l.at_mm[i] + TOUCH_MM || end(l, i) <= next.at_mm[i] + TOUCH_MM))
    }
}

/// Corners that boxes leave open: for each place along one axis where something begins or ends, with places along the others.
fn corners(laid: &[Laid]) -> Vec<[f64; 3]> {
    let ends = |i: usize| -> Vec<f64> {
        let mut all: Vec<f64> = laid.iter().map(|l| l.at_mm[i] + l.sides_mm[i]).chain([0.0]).collect();
        all.sort_by(f64::total_cmp);
        all.dedup();
        all
    };
    let [xs, ys, zs] = [0, 1, 2].map(ends);
    let mut all = Vec::with_capacity(xs.len() * ys.len() * zs.len());
    for z in &zs {
        for y in &ys {
            all.extend(xs.iter().map(|x| [*x, *y, *z]));
        }
    }
    all
}

/// The six ways round along the sides of the room, equal ones once.
fn ways_round([a, b, c]: [f64; 3]) -> Vec<[f64; 3]> {
    let mut all: Vec<[f64; 3]> = Vec::with_capacity(6);
    for way in [[a, b, c], [a, c, b], [b, a, c], [c, a, b], [b, c, a], [c, b, a]] {
        if !all.contains(&way) {
            all.push(way);
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every pair apart, and all inside.
    fn lies_well(room: [f64; 3], laid: &[Laid]) -> bool {
        let span = |l: &Laid, i: usize| [l.at_mm[i], l.at_mm[i] + l.sides_mm[i]];
        let apart =
            |a: &Laid, b: &Laid| (0..3).any(|i| span(a, i)[1] <= span(b, i)[0] || span(b, i)[1] <= span(a, i)[0]);
        laid.iter().all(|l| (0..3).all(|i| span(l, i)[0] >= 0.0 && span(l, i)[1] <= room[i]))
            && (0..laid.len()).all(|a| (0..a).all(|b| apart(&laid[a], &laid[b])))
    }

    /// Slothouber and Graatsma's puzzle (from memory): six boxes of 1 x 2 x 2 and three cubes of 1 fill a cube of 3, and leave nothing.
    #[test]
    fn a_puzzle_without_room_to_spare_is_solved() {
        let mut boxes = vec![[1.0, 2.0, 2.0]; 6];
        boxes.extend([[1.0; 3]; 3]);
        let laid = packed([3.0; 3], &boxes);
        assert_eq!(laid.len(), 9);
        assert!(lies_well([3.0; 3], &laid));
    }

    #[test]
    fn what_does_not_go_in_stays_out() {
        let room = [430.0, 150.0, 100.0];
        // Two lie beside each other, of a third there is no room either way.
        let laid = packed(room, &[[400.0, 70.0, 90.0]; 3]);
        assert_eq!(laid.len(), 2);
        assert!(lies_well(room, &laid));
        assert_eq!(packed(room, &[[431.0, 1.0, 1.0]]), []);
        assert_eq!(packed(room, &[]), []);
    }
}
