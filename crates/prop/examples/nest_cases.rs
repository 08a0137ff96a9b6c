//! A hundred loads of random outlines, nested, as JSON for the reference checks: the bed, and for each load the outlines
//! as they came and as they lie.

#![expect(clippy::print_stdout, reason = "what it prints is what it is for")]

use prop::printing::{Bed, Footprint, nest};
use serde_json::{Value, json};
use solid::DVec2;

/// Knuth's 64-bit congruential generator, from 0 to 1.
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// A lens, an angle or a ragged star, 10 to 120 mm across.
fn outline(dice: &mut Dice) -> Vec<DVec2> {
    let size = DVec2::new(10.0 + 110.0 * dice.roll(), 10.0 + 80.0 * dice.roll());
    let kind = dice.roll();
    let corner = |k: u32| {
        let (s, c) = libm::sincos(f64::from(k) / 18.0 * std::f64::consts::TAU);
        DVec2::new(c, s)
    };
    match kind {
        k if k < 0.4 => (0..18).map(|k| corner(k) * size / 2.0).collect(),
        k if k < 0.7 => [(0.0, 0.0), (1.0, 0.0), (1.0, 0.25), (0.25, 0.25), (0.25, 1.0), (0.0, 1.0)]
            .map(|(x, y)| DVec2::new(x, y) * size)
            .to_vec(),
        _ => (0..18).map(|k| corner(k) * (5.0 + size.y / 2.0 * dice.roll())).collect(),
    }
}

fn main() {
    let bed = Bed { size_mm: [220.0, 200.0], margin_mm: 5.0, spacing_mm: 5.0 };
    let points = |outline: &[DVec2]| outline.iter().map(|p| json!([p.x, p.y])).collect::<Vec<Value>>();
    let cases: Vec<Value> = (0..100)
        .map(|seed| {
            let mut dice = Dice(seed);
            let count = 2 + (dice.roll() * 22.0) as usize;
            let pieces: Vec<Footprint> = (0..count)
                .map(|_| Footprint { outline: outline(&mut dice), brim_mm: if dice.roll() < 0.25 { 3.0 } else { 0.0 } })
                .collect();
            let laid = nest(&bed, &pieces);
            let plates: Vec<Value> = laid
                .plates
                .iter()
                .map(|plate| {
                    plate
                        .iter()
                        .map(|at| {
                            let lies: Vec<DVec2> = pieces[at.piece].outline.iter().map(|p| at.to_bed(*p)).collect();
                            json!({ "piece": at.piece, "outline": points(&lies) })
                        })
                        .collect()
                })
                .collect();
            let pieces: Vec<Value> =
                pieces.iter().map(|p| json!({ "outline": points(&p.outline), "brim_mm": p.brim_mm })).collect();
            json!({ "pieces": pieces, "plates": plates })
        })
        .collect();
    let bed = json!({ "size_mm": bed.size_mm, "margin_mm": bed.margin_mm, "spacing_mm": bed.spacing_mm });
    println!("{}", json!({ "bed": bed, "cases": cases }));
}
