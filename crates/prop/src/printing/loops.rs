//! How many outlines each layer has.

use solid::Mesh;

/// Number of closed outlines in the sections of a closed mesh at ascending heights, holes counted like islands.
///
/// Triangles that a height crosses hang together across the edges that it crosses: each chain of them is one outline.
pub(super) fn loops(mesh: &Mesh, heights: &[f64]) -> Vec<u32> {
    let z = |v: u32| mesh.vertices[v as usize].z;
    // A corner on the plane counts as above it, as in the sections themselves.
    let between = |low: f64, high: f64| {
        let first = heights.partition_point(|h| *h <= low);
        first..heights.partition_point(|h| *h <= high)
    };
    let crossed = |corners: &[u32]| {
        let (low, high) =
            corners.iter().map(|v| z(*v)).fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), z| (l.min(z), h.max(z)));
        between(low, high)
    };
    let mut count = vec![0u32; heights.len()];
    for t in &mesh.triangles {
        crossed(t).for_each(|layer| count[layer] += 1);
    }
    let joints = neighbours(mesh);
    // The neighbours that each height joins, height by height.
    let mut ends = vec![0usize; heights.len() + 1];
    for joint in &joints {
        crossed(&joint.edge).for_each(|layer| ends[layer + 1] += 1);
    }
    for layer in 0..heights.len() {
        ends[layer + 1] += ends[layer];
    }
    let mut at = ends.clone();
    let mut joined = vec![0u32; ends[heights.len()]];
    for (index, joint) in joints.iter().enumerate() {
        for layer in crossed(&joint.edge) {
            joined[at[layer]] = index as u32;
            at[layer] += 1;
        }
    }
    let mut parent: Vec<u32> = (0..mesh.triangles.len() as u32).collect();
    for layer in 0..heights.len() {
        let here = || joined[ends[layer]..ends[layer + 1]].iter().map(|j| joints[*j as usize].triangles);
        for [a, b] in here() {
            let (a, b) = (root(&mut parent, a), root(&mut parent, b));
            if a != b {
                parent[a.max(b) as usize] = a.min(b);
                count[layer] -= 1;
            }
        }
        // Only what was touched is put back.
        here().flatten().for_each(|t| parent[t as usize] = t);
    }
    count
}

/// Two triangles that share an edge.
struct Joint {
    edge: [u32; 2],
    triangles: [u32; 2],
}

fn neighbours(mesh: &Mesh) -> Vec<Joint> {
    let mut edges: Vec<([u32; 2], u32)> = Vec::with_capacity(mesh.triangles.len() * 3);
    for (t, corners) in (0u32..).zip(&mesh.triangles) {
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            edges.push(([a.min(b), a.max(b)], t));
        }
    }
    edges.sort_unstable();
    edges
        .chunk_by(|a, b| a.0 == b.0)
        .flat_map(|same| same.windows(2).map(|w| Joint { edge: w[0].0, triangles: [w[0].1, w[1].1] }))
        .collect()
}

fn root(parent: &mut [u32], mut t: u32) -> u32 {
    while parent[t as usize] != t {
        parent[t as usize] = parent[parent[t as usize] as usize];
        t = parent[t as usize];
    }
    t
}

#[cfg(test)]
mod tests {
    use super::super::trial::{circle, column, tube};
    use super::*;
    use solid::{DVec3, cuboid, sphere};

    #[test]
    fn islands_and_holes_are_counted() {
        let mut mesh = tube(&circle(20.0, 60), &circle(15.0, 60), 30.0);
        mesh.append(&column(&circle(5.0, 40), 10.0));
        mesh.append(&sphere(DVec3::new(50.0, 0.0, 20.0), 6.0, 3));
        // Up to 10 the column as well; from 14 to 26 the ball as well.
        assert_eq!(loops(&mesh, &[0.1, 5.0, 12.0, 20.0, 25.9, 29.0, 40.0]), [3, 3, 2, 3, 3, 2, 0]);
    }

    #[test]
    fn a_table_has_four_legs_and_one_top() {
        let mut mesh = cuboid(DVec3::new(0.0, 0.0, 20.0), DVec3::new(50.0, 40.0, 25.0));
        for (x, y) in [(1.0, 1.0), (1.0, 34.0), (44.0, 1.0), (44.0, 34.0)] {
            let leg = cuboid(DVec3::new(x, y, 0.0), DVec3::new(x + 5.0, y + 5.0, 21.0));
            mesh = solid::union(&mesh, &leg).unwrap();
        }
        assert_eq!(loops(&mesh, &[0.1, 10.0, 19.9, 20.1, 24.9]), [4, 4, 4, 1, 1]);
    }
}
