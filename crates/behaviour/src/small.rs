//! The one number type on the engine's path: what a 32-bit board keeps in a word without touching its heap.

use std::ops::{Add, AddAssign, Mul, Neg, Shl, Shr, Sub, SubAssign};

/// The largest value a 31-bit small integer holds either side of zero.
pub(crate) const MOST: i32 = (1 << 30) - 1;

/// An integer within ±(2³⁰ − 1). Every operation checks that in builds with debug assertions, which all tests are.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Small(pub(crate) i32);

impl Small {
    pub(crate) const ZERO: Small = Small(0);

    fn fit(value: i32) -> Small {
        debug_assert!((-MOST..=MOST).contains(&value), "{value} does not fit 31 bits");
        Small(value)
    }

    pub(crate) fn abs(self) -> Small {
        Small(self.0.abs())
    }

    pub(crate) fn squared(self) -> Small {
        self * self
    }
}

impl From<i16> for Small {
    fn from(value: i16) -> Small {
        Small(i32::from(value))
    }
}

macro_rules! both {
    ($($family:ident $operation:ident $sign:tt),*) => {$(
        impl $family for Small {
            type Output = Small;
            fn $operation(self, other: Small) -> Small {
                Small::fit(self.0 $sign other.0)
            }
        }
        impl $family<i32> for Small {
            type Output = Small;
            fn $operation(self, other: i32) -> Small {
                Small::fit(self.0 $sign other)
            }
        }
    )*};
}

both!(Add add +, Sub sub -, Mul mul *);

impl Shr<i32> for Small {
    type Output = Small;
    /// Towards minus infinity, as everywhere in the engine.
    fn shr(self, bits: i32) -> Small {
        Small(self.0 >> bits)
    }
}

impl Shl<i32> for Small {
    type Output = Small;
    fn shl(self, bits: i32) -> Small {
        Small::fit(self.0 * (1 << bits))
    }
}

impl Neg for Small {
    type Output = Small;
    fn neg(self) -> Small {
        Small(-self.0)
    }
}

impl AddAssign for Small {
    fn add_assign(&mut self, other: Small) {
        *self = *self + other;
    }
}

impl SubAssign for Small {
    fn sub_assign(&mut self, other: Small) {
        *self = *self - other;
    }
}

impl PartialEq<i32> for Small {
    fn eq(&self, other: &i32) -> bool {
        self.0 == *other
    }
}

impl PartialOrd<i32> for Small {
    fn partial_cmp(&self, other: &i32) -> Option<std::cmp::Ordering> {
        self.0.partial_cmp(other)
    }
}

/// About the length of a vector: the largest component and 3/8 of the two others, which is 3 % too short (along
/// a diagonal of two axes) to 13.2 % too long: the root of 1 + 2 (3/8)² is 1.132.
pub(crate) fn magnitude(v: [Small; 3]) -> Small {
    let [a, b, c] = v.map(Small::abs);
    let most = a.max(b).max(c);
    most + (((a + b + c - most) * 3) >> 3)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the square root, over directions of a fine grid.
    #[test]
    fn magnitudes_are_about_right() {
        for i in -20..=20 {
            for j in -20..=20 {
                for k in -20..=20 {
                    let v = [i * 1000, j * 1000, k * 1000];
                    let long = v.iter().map(|&c| f64::from(c) * f64::from(c)).sum::<f64>().sqrt();
                    let said = f64::from(magnitude(v.map(Small)).0);
                    assert!(said >= 0.972 * long - 1.0 && said <= 1.132 * long, "{v:?}: {said} for {long}");
                }
            }
        }
    }

    #[test]
    fn a_value_beyond_31_bits_is_caught_in_tests() {
        let caught = std::panic::catch_unwind(|| Small(MOST) + 1);
        assert!(caught.is_err());
        assert_eq!(Small(MOST) - MOST, 0);
    }
}
