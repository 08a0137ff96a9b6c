//! The one mesh type: shared vertices, indexed triangles, and what can be counted on them.

use glam::{DAffine3, DVec3};

/// An indexed triangle mesh. Coordinates in millimetres; triangles run counter-clockwise seen from outside.
///
/// Nothing is promised about closedness: [`Mesh::edge_census`] counts it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mesh {
    /// Vertex positions, mm.
    pub vertices: Vec<DVec3>,
    /// Vertex indices, three a triangle.
    pub triangles: Vec<[u32; 3]>,
}

/// An axis-aligned box, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Smallest corner.
    pub min: DVec3,
    /// Largest corner.
    pub max: DVec3,
}

impl Bounds {
    /// The smallest box around some points, or `None` without any.
    pub fn of(points: impl IntoIterator<Item = DVec3>) -> Option<Bounds> {
        points.into_iter().fold(None, |all: Option<Bounds>, p| {
            Some(all.map_or(Bounds { min: p, max: p }, |b| Bounds { min: b.min.min(p), max: b.max.max(p) }))
        })
    }

    /// Edge lengths, mm.
    pub fn size(&self) -> DVec3 {
        self.max - self.min
    }

    /// Middle point.
    pub fn center(&self) -> DVec3 {
        (self.min + self.max) * 0.5
    }
}

/// How the edges of a mesh are used. A closed, oriented surface has none of any list.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct EdgeCensus {
    /// Edges with one triangle only (vertex pairs in the triangle's direction).
    pub open: Vec<[u32; 2]>,
    /// Edges whose two triangles run the same way along them.
    pub flipped: Vec<[u32; 2]>,
    /// Edges with three or more triangles.
    pub crowded: Vec<[u32; 2]>,
}

impl EdgeCensus {
    /// Whether every edge has exactly two triangles that run opposite ways.
    pub fn is_closed(&self) -> bool {
        self.open.is_empty() && self.flipped.is_empty() && self.crowded.is_empty()
    }
}

impl Mesh {
    /// Whether there is no triangle.
    pub fn is_empty(&self) -> bool {
        self.triangles.is_empty()
    }

    /// The three corners of triangle `index`.
    #[inline]
    pub fn corners(&self, index: usize) -> [DVec3; 3] {
        self.triangles[index].map(|v| self.vertices[v as usize])
    }

    /// The box around all vertices, or `None` without any.
    pub fn bounds(&self) -> Option<Bounds> {
        Bounds::of(self.vertices.iter().copied())
    }

    /// Signed volume, mm3, by the divergence theorem about the middle of the box: positive for a closed mesh whose
    /// triangles face outwards, meaningless for an open one.
    pub fn volume_mm3(&self) -> f64 {
        let origin = self.bounds().map_or(DVec3::ZERO, |b| b.center());
        (0..self.triangles.len())
            .map(|t| {
                let [a, b, c] = self.corners(t).map(|p| p - origin);
                a.dot(b.cross(c))
            })
            .sum::<f64>()
            / 6.0
    }

    /// Surface area, mm2.
    pub fn area_mm2(&self) -> f64 {
        (0..self.triangles.len()).map(|t| self.area_vector(t).length()).sum()
    }

    /// Half the cross product of two edges of triangle `index`: outward, as long as its area in mm2.
    pub fn area_vector(&self, index: usize) -> DVec3 {
        let [a, b, c] = self.corners(index);
        (b - a).cross(c - a) * 0.5
    }

    /// Adds all of `other`, unjoined.
    pub fn append(&mut self, other: &Mesh) {
        let base = u32::try_from(self.vertices.len()).expect("a mesh has fewer than 2^32 vertices");
        self.vertices.extend_from_slice(&other.vertices);
        self.triangles.extend(other.triangles.iter().map(|t| t.map(|v| v + base)));
    }

    /// The same surface facing the other way.
    #[must_use]
    pub fn reversed(mut self) -> Mesh {
        for t in &mut self.triangles {
            t.swap(1, 2);
        }
        self
    }

    /// Every vertex mapped; a mirroring map also turns the triangles so that they still face outwards.
    #[must_use]
    pub fn transformed(&self, map: &DAffine3) -> Mesh {
        let moved = Mesh {
            vertices: self.vertices.iter().map(|v| map.transform_point3(*v)).collect(),
            triangles: self.triangles.clone(),
        };
        if map.matrix3.determinant() < 0.0 { moved.reversed() } else { moved }
    }

    /// How each edge is used. O(n log n) in the triangles.
    pub fn edge_census(&self) -> EdgeCensus {
        let mut edges: Vec<(u32, u32, bool)> = Vec::with_capacity(self.triangles.len() * 3);
        for t in &self.triangles {
            for k in 0..3 {
                let (a, b) = (t[k], t[(k + 1) % 3]);
                edges.push(if a < b { (a, b, true) } else { (b, a, false) });
            }
        }
        edges.sort_unstable();
        let mut census = EdgeCensus::default();
        for group in edges.chunk_by(|p, q| (p.0, p.1) == (q.0, q.1)) {
            let (low, high, up) = group[0];
            match group {
                [_] => census.open.push(if up { [low, high] } else { [high, low] }),
                [first, second] if first.2 == second.2 => census.flipped.push([low, high]),
                [_, _] => {}
                _ => census.crowded.push([low, high]),
            }
        }
        census
    }

    /// The shells: sets of triangles connected through shared vertices, each as sorted triangle indices, in order of
    /// their first triangle.
    pub fn shells(&self) -> Vec<Vec<u32>> {
        let mut parent: Vec<u32> = (0..u32::try_from(self.vertices.len()).expect("fewer than 2^32 vertices")).collect();
        fn root(parent: &mut [u32], mut v: u32) -> u32 {
            while parent[v as usize] != v {
                parent[v as usize] = parent[parent[v as usize] as usize];
                v = parent[v as usize];
            }
            v
        }
        for t in &self.triangles {
            let a = root(&mut parent, t[0]);
            for v in &t[1..] {
                let b = root(&mut parent, *v);
                let a = root(&mut parent, a);
                parent[a.max(b) as usize] = a.min(b);
            }
        }
        let mut slot = vec![usize::MAX; self.vertices.len()];
        let mut shells: Vec<Vec<u32>> = Vec::new();
        for (i, t) in self.triangles.iter().enumerate() {
            let r = root(&mut parent, t[0]) as usize;
            if slot[r] == usize::MAX {
                slot[r] = shells.len();
                shells.push(Vec::new());
            }
            shells[slot[r]].push(i as u32);
        }
        shells
    }

    /// The mesh of some of the triangles, with only the vertices they use, in the order of first use.
    pub fn subset(&self, triangles: &[u32]) -> Mesh {
        let mut slot = vec![u32::MAX; self.vertices.len()];
        let mut part = Mesh::default();
        for t in triangles {
            part.triangles.push(self.triangles[*t as usize].map(|v| {
                if slot[v as usize] == u32::MAX {
                    slot[v as usize] = part.vertices.len() as u32;
                    part.vertices.push(self.vertices[v as usize]);
                }
                slot[v as usize]
            }));
        }
        part
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tetrahedron() -> Mesh {
        Mesh {
            vertices: vec![DVec3::ZERO, DVec3::X * 6.0, DVec3::Y * 6.0, DVec3::Z * 6.0],
            triangles: vec![[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]],
        }
    }

    #[test]
    fn a_corner_tetrahedron_holds_a_sixth_of_its_cube() {
        let t = tetrahedron();
        assert!((t.volume_mm3() - 36.0).abs() < 1e-12);
        assert!((t.clone().reversed().volume_mm3() + 36.0).abs() < 1e-12);
        assert!((t.area_mm2() - (3.0 * 18.0 + 18.0 * 3f64.sqrt())).abs() < 1e-9);
        assert!(t.edge_census().is_closed());
    }

    #[test]
    fn faults_are_counted_by_kind() {
        let mut open = tetrahedron();
        open.triangles.pop();
        assert_eq!(open.edge_census().open.len(), 3);
        let mut flipped = tetrahedron();
        flipped.triangles[0].swap(1, 2);
        assert_eq!(flipped.edge_census().flipped.len(), 3);
        let mut doubled = tetrahedron();
        doubled.triangles.push([1, 2, 3]);
        assert_eq!(doubled.edge_census().crowded.len(), 3);
    }

    #[test]
    fn mirroring_keeps_the_outside_outside() {
        let mirror = DAffine3::from_scale(DVec3::new(-1.0, 1.0, 1.0));
        assert!((tetrahedron().transformed(&mirror).volume_mm3() - 36.0).abs() < 1e-12);
    }

    #[test]
    fn shells_and_subsets() {
        let mut two = tetrahedron();
        two.append(&tetrahedron().transformed(&DAffine3::from_translation(DVec3::X * 100.0)));
        let shells = two.shells();
        assert_eq!(shells, vec![vec![0, 1, 2, 3], vec![4, 5, 6, 7]]);
        assert!((two.subset(&shells[1]).volume_mm3() - 36.0).abs() < 1e-9);
    }
}
