//! What a stack of coats comes to: one coat that sends back and lets through as much.

use crate::catalogue::{Coat, CoatKind, PerColour};
use glow::Finish;

/// A stack of coats seen as one.
#[derive(Clone, Debug, PartialEq)]
pub struct Skin {
    /// What it sends back to the plastic, 0 to 1.
    pub towards_plastic: PerColour,
    /// What its free face sends back, 0 to 1.
    pub away: PerColour,
    /// What it lets through, 0 to 1.
    pub through: PerColour,
    /// Whether there is nothing or only clear coat on the plastic: its face to the air then lies a little further out, and
    /// Fresnel's formulas hold there. `through` is still what the clear coats take.
    pub bare: bool,
    /// Catalogue names of the coats, from the plastic on.
    pub coats: Vec<String>,
}

impl Skin {
    /// The stack of `coats`, from the plastic on.
    ///
    /// Two layers that scatter send light back and forth between them: together they let through T1 T2 / (1 - R1 R2) and send
    /// back R1 + T1^2 R2 / (1 - R1 R2) (Stokes, Proc. R. Soc. London 11, 545 (1862), for a pile of plates; from memory).
    /// Each coat is taken to send back as much from either face.
    pub fn of(coats: &[Coat]) -> Skin {
        let mut skin = Skin {
            towards_plastic: [0.0; 3],
            away: [0.0; 3],
            through: [1.0; 3],
            bare: coats.iter().all(|c| c.kind == CoatKind::Clear),
            coats: coats.iter().map(|c| c.name.clone()).collect(),
        };
        for coat in coats {
            for k in 0..3 {
                let (back, through) = (coat.towards_light[k], coat.through[k]);
                let (near, away, passed) = (skin.towards_plastic[k], skin.away[k], skin.through[k]);
                // Two faces that send back all would keep light between them for ever: none of it comes out.
                let again = if away * back < 1.0 { 1.0 / (1.0 - away * back) } else { 0.0 };
                skin.towards_plastic[k] = near + passed * passed * back * again;
                skin.away[k] = back + through * through * away * again;
                skin.through[k] = passed * through * again;
            }
        }
        skin
    }

    /// The same for following light of a colour (0 red, 1 green, 2 blue).
    pub fn finish(&self, colour: usize) -> Finish {
        if self.bare {
            return Finish::Bare;
        }
        // Rounding must not make light.
        let transmittance = self.through[colour].min(1.0 - self.towards_plastic[colour]);
        Finish::Coat(glow::Coat { reflectance: self.towards_plastic[colour], transmittance })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    fn coat(kind: CoatKind, back: f64, through: f64) -> Coat {
        Coat { kind, towards_light: [back; 3], through: [through; 3], ..Catalogue::built_in().coats.remove(0) }
    }

    /// A pile of m equal plates that take nothing lets through t / (t + m (1 - t)): Stokes's closed form, from memory.
    #[test]
    fn a_pile_of_clear_plates_follows_the_closed_form() {
        let plate = coat(CoatKind::Paint, 0.3, 0.7);
        for m in 1..8usize {
            let skin = Skin::of(&vec![plate.clone(); m]);
            let closed = 0.7 / (0.7 + m as f64 * 0.3);
            assert!((skin.through[1] - closed).abs() < 1e-12, "{m}: {} is not {closed}", skin.through[1]);
            assert!((skin.towards_plastic[1] + skin.through[1] - 1.0).abs() < 1e-12, "nothing is lost");
            assert!((skin.away[1] - skin.towards_plastic[1]).abs() < 1e-12);
        }
    }

    #[test]
    fn the_coat_on_the_plastic_decides_what_the_light_sees() {
        let (white, black) = (coat(CoatKind::Primer, 0.8, 0.15), coat(CoatKind::Paint, 0.04, 0.0));
        let bright = Skin::of(&[white.clone(), black.clone()]);
        assert!(bright.towards_plastic[0] > 0.8 && bright.away[0] < 0.05 && bright.through[0] == 0.0);
        let dark = Skin::of(&[black, white]);
        assert!(dark.towards_plastic[0] < 0.05 && dark.away[0] > 0.75, "{dark:?}");
        assert!(matches!(bright.finish(0), Finish::Coat(c) if c.transmittance == 0.0));
    }

    #[test]
    fn clear_coat_leaves_the_face_to_the_air() {
        let skin = Skin::of(&[coat(CoatKind::Clear, 0.0, 0.98)]);
        assert!(skin.bare && skin.finish(2) == Finish::Bare && skin.through[2] == 0.98);
        assert!(Skin::of(&[]).bare);
        let mirrors = Skin::of(&[coat(CoatKind::Paint, 1.0, 0.0), coat(CoatKind::Paint, 1.0, 0.0)]);
        assert_eq!((mirrors.through[0], mirrors.towards_plastic[0]), (0.0, 1.0));
        assert!(mirrors.finish(0).check().is_ok());
    }
}
