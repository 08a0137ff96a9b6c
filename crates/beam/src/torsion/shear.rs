//! What a force across a bar does to its section.
//!
//! Where bending changes along a bar, the stress along it changes too, and shear stress in the section holds the
//! balance: ∇·τ = −E (r·κ′), with EI κ′ = V. With τ = G∇ψ this is the equation of warping with another right side; the
//! flexibility comes from its energy. Pilkey, *Analysis and Design of Elastic Beams* (2002), with Poisson's ratio 0
//! (from memory). Pieces that do not touch each bend about their own centroid.

use glam::{DMat2, DVec2};

use super::Peak;
use super::element::Element;
use super::mesh::Mesh;
use super::solve::Warping;

/// Forces along y and z.
pub(super) struct Sheared {
    /// mm in each mm for each newton.
    pub(super) flexibility: DMat2,
    /// ψ at each node for κ′ = 1 along y and along z.
    psi: [Vec<f64>; 2],
    /// From a force to κ′.
    to_bend: DMat2,
}

pub(super) fn sheared(mesh: &Mesh, elements: &[Element], warping: &Warping) -> Sheared {
    let centroids = centroids(mesh, elements);
    // What E r adds at a node, r from the centroid of the piece.
    let first = |t: usize, e: &Element, i: usize| (e.first[i] - centroids[t] * e.volume[i]) * e.e_mpa;
    let psi = [
        warping.solve(mesh, elements, |t, e, i| first(t, e, i).x),
        warping.solve(mesh, elements, |t, e, i| first(t, e, i).y),
    ];
    let mut energy = DMat2::ZERO;
    let mut ei = DMat2::ZERO;
    for (t, (element, triangle)) in elements.iter().zip(&mesh.triangles).enumerate() {
        for (i, &node) in triangle.nodes.iter().enumerate() {
            let first = first(t, element, i);
            energy += DMat2::from_cols(first * psi[0][node], first * psi[1][node]);
            // A plane is the sum of its shape functions, so ∫E r r is a sum of ∫E r N.
            let at = mesh.nodes[node] - mesh.nodes[mesh.triangles[0].nodes[0]];
            ei += DMat2::from_cols(first * at.x, first * at.y);
        }
    }
    let to_bend = ei.inverse();
    Sheared { flexibility: to_bend.transpose() * energy * to_bend, psi, to_bend }
}

/// The centroid, weighted with E, of the piece that each triangle belongs to, from the section's.
fn centroids(mesh: &Mesh, elements: &[Element]) -> Vec<DVec2> {
    let mut sums = vec![(DVec2::ZERO, 0.0); mesh.pieces];
    for (element, triangle) in elements.iter().zip(&mesh.triangles) {
        let sum = &mut sums[mesh.piece_of[triangle.nodes[0]]];
        sum.0 += element.first.iter().sum::<DVec2>() * element.e_mpa;
        sum.1 += element.volume.iter().sum::<f64>() * element.e_mpa;
    }
    mesh.triangles.iter().map(|t| sums[mesh.piece_of[t.nodes[0]]]).map(|(first, ea)| first / ea).collect()
}

/// The highest stress in each region, in the middles of triangles' sides.
pub(super) fn peaks(
    mesh: &Mesh,
    elements: &[Element],
    regions: usize,
    gj_nmm2: f64,
    warped: &[f64],
    sheared: &Sheared,
) -> Vec<Peak> {
    let mut found = vec![Peak::default(); regions];
    for (element, triangle) in elements.iter().zip(&mesh.triangles) {
        let peak = &mut found[triangle.region];
        let slopes = |values: &[f64]| element.slopes_at_middles(&triangle.nodes.map(|n| values[n]));
        let (twist, bent) = (slopes(warped), [slopes(&sheared.psi[0]), slopes(&sheared.psi[1])]);
        for k in 0..3 {
            let turned = element.middle(k).perp();
            peak.torque = peak.torque.max((twist[k] + turned).length() * element.g_mpa / gj_nmm2);
            let by_force = DMat2::from_cols(bent[0][k], bent[1][k]) * sheared.to_bend * element.g_mpa;
            peak.force = peak.force.max(DVec2::new(by_force.x_axis.length(), by_force.y_axis.length()));
        }
    }
    found
}
