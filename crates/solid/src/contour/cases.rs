//! How a surface can run through a cell: for each of the 256 sign patterns of its corners, which of the twelve edges
//! it crosses together.
//!
//! Corner `c` sits at x = bit 0, y = bit 1, z = bit 2 of `c`. Edge `4 a + k` runs along axis `a`; bits 0 and 1 of `k`
//! are its place along the axes after `a`. Face `2 a + s` lies across axis `a`, at its low end for `s` = 0.

/// No sheet crosses the edge.
pub(crate) const UNCROSSED: u8 = u8::MAX;

/// One sign pattern.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Case {
    /// The sheet of surface that crosses each edge, or [`UNCROSSED`].
    pub(crate) sheet: [u8; 12],
    /// Number of sheets.
    pub(crate) sheets: u8,
    /// A face with four crossings that all belong to one sheet.
    pub(crate) pinched: Option<u8>,
}

/// The two corners of an edge, the lower end first.
pub(crate) fn edge_corners(edge: usize) -> [usize; 2] {
    let (a, k) = (edge / 4, edge % 4);
    let low = (k & 1) << ((a + 1) % 3) | (k >> 1) << ((a + 2) % 3);
    [low, low | 1 << a]
}

/// The edge between two neighbouring corners.
fn edge_between(p: usize, q: usize) -> usize {
    let a = (p ^ q).trailing_zeros() as usize;
    4 * a + (p >> ((a + 1) % 3) & 1) + 2 * (p >> ((a + 2) % 3) & 1)
}

/// The four corners of a face, in order around it.
fn face_corners(face: usize) -> [usize; 4] {
    let (a, s) = (face / 2, face % 2);
    let (u, v) = (1 << ((a + 1) % 3), 1 << ((a + 2) % 3));
    [0, u, u | v, v].map(|c| c | s << a)
}

/// All patterns; bit `c` of the index says that corner `c` is inside.
///
/// Where the corners of a face alternate, the surface separates the corners on the side named by `separate_inside`.
pub(crate) fn cases(separate_inside: bool) -> Vec<Case> {
    (0..256).map(|pattern| case(pattern, separate_inside)).collect()
}

fn case(pattern: usize, separate_inside: bool) -> Case {
    let inside = |c: usize| pattern >> c & 1 == 1;
    let is_crossed = |e: usize| {
        let [p, q] = edge_corners(e);
        inside(p) != inside(q)
    };
    // Edges crossed together, joined face by face: `group[e]` is the lowest edge known to belong with `e`.
    let mut group: [usize; 12] = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11];
    let mut join = |e: usize, f: usize| {
        let (keep, drop) = (group[e].min(group[f]), group[e].max(group[f]));
        group.iter_mut().filter(|g| **g == drop).for_each(|g| *g = keep);
    };
    let crossed_on = |face: usize| {
        let c = face_corners(face);
        [0, 1, 2, 3].map(|k| edge_between(c[k], c[(k + 1) % 4])).into_iter().filter(|e| is_crossed(*e)).collect()
    };
    for face in 0..6 {
        let crossed: Vec<usize> = crossed_on(face);
        match crossed[..] {
            [e, f] => join(e, f),
            [e, f, g, h] => {
                // `e` and `f` meet at the second corner of the face.
                if inside(face_corners(face)[1]) == separate_inside {
                    join(e, f);
                    join(g, h);
                } else {
                    join(f, g);
                    join(h, e);
                }
            }
            _ => {}
        }
    }
    let mut sheet = [UNCROSSED; 12];
    let mut sheets = 0;
    for e in (0..12).filter(|e| is_crossed(*e)) {
        sheet[e] = if group[e] == e { sheets } else { sheet[group[e]] };
        sheets = sheets.max(sheet[e] + 1);
    }
    let is_pinched = |face: &usize| {
        let crossed: Vec<usize> = crossed_on(*face);
        crossed.len() == 4 && crossed.iter().all(|e| sheet[*e] == sheet[crossed[0]])
    };
    Case { sheet, sheets, pinched: (0..6).find(is_pinched).map(|f| f as u8) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn alternating_faces(pattern: usize) -> usize {
        let differs = |face: usize| {
            let c = face_corners(face).map(|c| pattern >> c & 1);
            c[0] != c[1] && c[1] != c[2] && c[2] != c[3]
        };
        (0..6).filter(|f| differs(*f)).count()
    }

    #[test]
    fn every_sheet_is_a_ring_of_three_to_twelve_edges() {
        for separate_inside in [true, false] {
            for (pattern, case) in cases(separate_inside).iter().enumerate() {
                for sheet in 0..case.sheets {
                    let n = case.sheet.iter().filter(|s| **s == sheet).count();
                    assert!((3..=12).contains(&n), "pattern {pattern}: {n} edges");
                }
            }
        }
    }

    /// Counted by hand: one corner or its opposite make one sheet, two opposite corners of the cube two, the four
    /// corners of a tetrahedron four.
    #[test]
    fn sheets_of_known_patterns() {
        let cases = cases(true);
        for (pattern, sheets) in [(0, 0), (255, 0), (1, 1), (254, 1), (0b1000_0001, 2), (0b0110_1001, 4), (0b1111, 1)] {
            assert_eq!(cases[pattern].sheets, sheets, "pattern {pattern:08b}");
        }
    }

    /// This is what makes turning a pinched cell's choice harmless to its other neighbours: it has no other face with
    /// a choice.
    #[test]
    fn a_pinched_cell_has_no_other_alternating_face_and_turning_it_unpinches() {
        let (kept, turned) = (cases(true), cases(false));
        let mut n = 0;
        for pattern in 0..256 {
            if kept[pattern].pinched.is_some() {
                n += 1;
                assert_eq!(alternating_faces(pattern), 1, "pattern {pattern:08b}");
                assert_eq!(turned[pattern].pinched, None, "pattern {pattern:08b}");
                assert_eq!(turned[pattern].sheets, kept[pattern].sheets + 1);
            }
        }
        assert!(n > 0);
    }
}
