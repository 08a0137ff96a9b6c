//! Nesting against a polygon library and against a shelf method written for this test.

use super::nest::{Bed, Footprint, Nest, gap_mm, nest};
use proptest::prelude::*;
use solid::DVec2;
use solid::section::{area_mm2, inset, intersect};

const BED: Bed = Bed { size_mm: [220.0, 200.0], margin_mm: 5.0, spacing_mm: 5.0 };

struct Dice(u64);

impl Dice {
    fn below(&mut self, most: f64) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64 * most
    }
}

fn scaled(corners: &[(f64, f64)], size: DVec2) -> Vec<DVec2> {
    corners.iter().map(|(x, y)| DVec2::new(*x, *y) * size).collect()
}

/// An oblong, a lens, an angle, a fork or a star.
fn any_outline(dice: &mut Dice) -> Vec<DVec2> {
    let size = DVec2::new(10.0 + dice.below(110.0), 10.0 + dice.below(80.0));
    match dice.below(5.0) as u32 {
        0 => scaled(&[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)], size),
        1 => scaled(
            &[(0.0, 0.5), (0.3, 0.1), (0.5, 0.0), (0.7, 0.1), (1.0, 0.5), (0.7, 0.9), (0.5, 1.0), (0.3, 0.9)],
            size,
        ),
        2 => scaled(&[(0.0, 0.0), (1.0, 0.0), (1.0, 0.3), (0.3, 0.3), (0.3, 1.0), (0.0, 1.0)], size),
        3 => scaled(
            &[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.8, 1.0), (0.8, 0.2), (0.2, 0.2), (0.2, 1.0), (0.0, 1.0)],
            size,
        ),
        _ => (0..11)
            .map(|k| {
                let (s, c) = libm::sincos(f64::from(k) / 11.0 * std::f64::consts::TAU);
                DVec2::new(c, s) * (5.0 + dice.below(40.0))
            })
            .collect(),
    }
}

fn any_pieces(dice: &mut Dice, most: f64) -> Vec<Footprint> {
    let count = 1 + dice.below(most) as usize;
    (0..count)
        .map(|_| Footprint { outline: any_outline(dice), brim_mm: if dice.below(3.0) < 1.0 { 4.0 } else { 0.0 } })
        .collect()
}

/// Every piece lies somewhere once, within the margins, and no nearer to another than it may.
#[track_caller]
fn sound(bed: &Bed, pieces: &[Footprint], nest: &Nest) {
    let mut seen: Vec<usize> = nest.plates.iter().flatten().map(|at| at.piece).chain(nest.outsize.clone()).collect();
    seen.sort_unstable();
    assert_eq!(seen, (0..pieces.len()).collect::<Vec<_>>());
    for plate in &nest.plates {
        let laid: Vec<Vec<DVec2>> =
            plate.iter().map(|at| pieces[at.piece].outline.iter().map(|p| at.to_bed(*p)).collect()).collect();
        for (k, outline) in laid.iter().enumerate() {
            for p in outline {
                let room =
                    (*p - DVec2::splat(bed.margin_mm)).min(DVec2::from(bed.size_mm) - DVec2::splat(bed.margin_mm) - *p);
                assert!(room.min_element() > -1e-6, "{p} is off the bed");
            }
            for other in 0..k {
                let need = bed.spacing_mm + pieces[plate[k].piece].brim_mm + pieces[plate[other].piece].brim_mm;
                let gap = gap_mm(outline, &laid[other]);
                assert!(gap >= need - 1e-6, "{gap} of {need}");
                // The polygon library agrees: grown by all but a hair of that, they have nothing in common.
                let grown = inset(std::slice::from_ref(outline), 0.01 - need).unwrap();
                assert_eq!(area_mm2(&intersect(&grown, &laid[other..=other]).unwrap()), 0.0);
            }
        }
    }
}

/// The simple shelf method: boxes as they are, by falling depth, each beside the last or on a new shelf or bed
/// (next-fit decreasing height; Coffman, Garey, Johnson and Tarjan, SIAM J. Comput. 9, 1980). Number of beds.
fn shelves(bed: &Bed, pieces: &[Footprint]) -> usize {
    let room = DVec2::from(bed.size_mm) - DVec2::splat(2.0 * bed.margin_mm);
    let mut boxes: Vec<DVec2> = pieces
        .iter()
        .map(|p| {
            let fold = |by: fn(DVec2, DVec2) -> DVec2| p.outline.iter().copied().reduce(by).unwrap();
            fold(DVec2::max) - fold(DVec2::min) + DVec2::splat(bed.spacing_mm + 2.0 * p.brim_mm)
        })
        .collect();
    boxes.sort_by(|a, b| b.y.total_cmp(&a.y));
    // Half the spacing and a brim may stand over each side.
    let room = room + DVec2::splat(bed.spacing_mm);
    let (mut beds, mut x, mut y, mut shelf) = (0, f64::INFINITY, f64::INFINITY, 0.0);
    for b in boxes {
        if x + b.x > room.x {
            (x, y, shelf) = (0.0, y + shelf, b.y);
            if y + b.y > room.y {
                (beds, y) = (beds + 1, 0.0);
            }
        }
        x += b.x;
    }
    beds
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]
    #[test]
    fn nothing_overlaps_whatever_is_laid(seed: u64, spacing in 0.5f64..12.0, width in 60.0f64..300.0) {
        let bed = Bed { size_mm: [width, 150.0], margin_mm: 3.0, spacing_mm: spacing };
        let pieces = any_pieces(&mut Dice(seed), 9.0);
        sound(&bed, &pieces, &nest(&bed, &pieces));
    }
}

#[test]
fn a_hundred_random_loads_take_no_more_beds_than_shelves() {
    let (mut ours, mut theirs) = (0, 0);
    for seed in 0..100 {
        let mut dice = Dice(seed);
        let pieces = any_pieces(&mut dice, 24.0);
        let nest = nest(&BED, &pieces);
        assert!(nest.outsize.is_empty());
        sound(&BED, &pieces, &nest);
        let on_shelves = shelves(&BED, &pieces);
        assert!(nest.plates.len() <= on_shelves, "case {seed}: {} beds, {on_shelves} on shelves", nest.plates.len());
        (ours, theirs) = (ours + nest.plates.len(), theirs + on_shelves);
    }
    // Interlocking must pay, and not only keep up.
    assert!(ours * 5 < theirs * 4, "{ours} beds, {theirs} on shelves");
}

#[test]
fn angles_interlock() {
    // Two angles of 180 x 160 with legs 20 wide fit one bed only one within the other.
    let corners = [(0.0, 0.0), (180.0, 0.0), (180.0, 20.0), (20.0, 20.0), (20.0, 160.0), (0.0, 160.0)];
    let angle = Footprint { outline: corners.map(|(x, y)| DVec2::new(x, y)).to_vec(), brim_mm: 0.0 };
    let nest = nest(&BED, &[angle.clone(), angle]);
    assert_eq!(nest.plates.len(), 1);
}

#[test]
fn what_fits_exactly_fits_and_what_is_larger_is_named() {
    let oblong = |w: f64, h: f64| Footprint {
        outline: scaled(&[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)], DVec2::new(w, h)),
        brim_mm: 4.0,
    };
    // A brim wider than the margin keeps its piece 3 mm further in, unless there is no room for that.
    let small = Footprint { brim_mm: 8.0, ..oblong(204.0, 100.0) };
    let x = |p: &Footprint| {
        let at = super::nest::nest(&BED, std::slice::from_ref(p)).plates[0][0];
        at.to_bed(p.outline[0]).x.min(at.to_bed(p.outline[2]).x)
    };
    assert!((x(&small) - 8.0).abs() < 1e-6);
    assert!(x(&Footprint { brim_mm: 8.0, ..oblong(208.0, 100.0) }) < 7.0);
    let pieces = [oblong(210.0, 190.0), oblong(190.0, 210.0), oblong(211.0, 190.0), oblong(1.0, 1.0)];
    let nest = nest(&BED, &pieces);
    assert_eq!((nest.plates.len(), nest.outsize.as_slice()), (3, &[2][..]));
    sound(&BED, &pieces, &nest);
    assert_eq!(super::nest::nest(&BED, &[]), Nest::default());
}
