//! One index for each distinct place.

use glam::DVec3;
use hashbrown::HashTable;

/// Vertices with equal coordinates joined, numbered by first appearance.
#[derive(Default)]
pub(crate) struct Welder {
    table: HashTable<u32>,
    /// The distinct places so far.
    pub(crate) vertices: Vec<DVec3>,
}

impl Welder {
    /// Room for about `vertices` distinct places.
    pub(crate) fn with_capacity(vertices: usize) -> Welder {
        Welder { table: HashTable::with_capacity(vertices), vertices: Vec::with_capacity(vertices) }
    }

    /// The index of `point`, which must be finite; 0 and -0 are one place.
    pub(crate) fn index(&mut self, point: DVec3) -> u32 {
        let point = point + DVec3::ZERO;
        let vertices = &self.vertices;
        let hash = |v: &u32| hash_of(vertices[*v as usize]);
        match self.table.entry(hash_of(point), |v| vertices[*v as usize] == point, hash) {
            hashbrown::hash_table::Entry::Occupied(found) => *found.get(),
            hashbrown::hash_table::Entry::Vacant(free) => {
                let index = u32::try_from(vertices.len()).expect("a mesh has fewer than 2^32 vertices");
                free.insert(index);
                self.vertices.push(point);
                index
            }
        }
    }
}

/// Mixes the bits of three coordinates. Coordinates read from f32 or short decimals differ in their high bits only,
/// so every step folds the high half of a full product back onto the low half.
fn hash_of(point: DVec3) -> u64 {
    let fold = |h: u64, x: f64| {
        let product = u128::from(h ^ x.to_bits()) * 0x9e37_79b9_7f4a_7c15;
        (product as u64) ^ ((product >> 64) as u64)
    };
    let [x, y, z] = point.to_array();
    fold(fold(fold(0x243f_6a88_85a3_08d3, x).wrapping_add(1), y).wrapping_add(2), z)
}
