//! A closed surface from rings: outlines in planes across x, as many vertices on each as its girth needs, zipped to
//! the next ring.

use crate::section::Place;
use solid::{DVec3, Mesh};
use std::f64::consts::TAU;

/// Turning by one radian counts like this many millimetres of girth, so that tight curves get their vertices.
const TURN_MM: f64 = 1.2;

/// Steps in which an outline is measured.
const MEASURE_STEPS: usize = 1440;

/// One ring: an outline at a place, given by the direction of its normal (radians from +y towards +z).
pub struct Ring<'a> {
    /// The bare outline, which decides where its vertices go.
    pub outline: Box<dyn Fn(f64) -> Place + 'a>,
    /// The vertex that belongs to a place of the outline.
    pub vertex: Box<dyn Fn(Place) -> DVec3 + 'a>,
}

/// What closes a row of rings.
pub enum Ends {
    /// A point at either end: first, last.
    Points(DVec3, DVec3),
    /// The last ring joins the first: a tube bent round to itself.
    Joined,
}

/// The surface through the rings. Seen along the direction in which the rings follow each other, outlines run
/// anticlockwise around +x for an outward surface that advances along +x.
pub fn sweep(rings: &[Ring<'_>], ends: &Ends, edge_mm: f64) -> Mesh {
    let mut mesh = Mesh::default();
    let mut rows: Vec<Row> = Vec::with_capacity(rings.len());
    for (index, ring) in rings.iter().enumerate() {
        rows.push(place(ring, if index % 2 == 0 { 0.0 } else { 0.5 }, edge_mm, &mut mesh));
    }
    match ends {
        Ends::Points(first, last) => {
            let tip = add(&mut mesh, *first);
            fan(&rows[0], tip, false, &mut mesh);
            rows.windows(2).for_each(|pair| zip(&pair[0], &pair[1], &mut mesh));
            let tip = add(&mut mesh, *last);
            fan(&rows[rows.len() - 1], tip, true, &mut mesh);
        }
        Ends::Joined => {
            rows.windows(2).for_each(|pair| zip(&pair[0], &pair[1], &mut mesh));
            zip(&rows[rows.len() - 1], &rows[0], &mut mesh);
        }
    }
    mesh
}

/// Vertices of one ring, evenly along its outline from `phase` of the first step on.
struct Row {
    first: u32,
    count: u32,
    phase: f64,
}

impl Row {
    fn vertex(&self, step: u32) -> u32 {
        self.first + step % self.count
    }

    fn fraction(&self, step: u32) -> f64 {
        (f64::from(step) + self.phase) / f64::from(self.count)
    }
}

fn add(mesh: &mut Mesh, vertex: DVec3) -> u32 {
    mesh.vertices.push(vertex);
    u32::try_from(mesh.vertices.len() - 1).expect("fewer than 2^32 vertices")
}

fn place(ring: &Ring<'_>, phase: f64, edge_mm: f64, mesh: &mut Mesh) -> Row {
    let step_rad = TAU / MEASURE_STEPS as f64;
    let mut run_mm = vec![0.0; MEASURE_STEPS + 1];
    let mut last = (ring.outline)(0.0).point;
    for k in 1..=MEASURE_STEPS {
        let next = (ring.outline)(step_rad * k as f64).point;
        // The turning weighs no more than the girth, or small rings would be crowded.
        let girth_mm = (next - last).length();
        run_mm[k] = run_mm[k - 1] + girth_mm + (TURN_MM * step_rad).min(girth_mm);
        last = next;
    }
    let whole_mm = run_mm[MEASURE_STEPS];
    let count = libm::round(whole_mm / edge_mm).max(6.0) as u32;
    let row = Row { first: mesh.vertices.len() as u32, count, phase };
    for i in 0..count {
        let at_mm = row.fraction(i) * whole_mm;
        let k = run_mm.partition_point(|r| *r <= at_mm).clamp(1, MEASURE_STEPS);
        let within = (at_mm - run_mm[k - 1]) / (run_mm[k] - run_mm[k - 1]);
        add(mesh, (ring.vertex)((ring.outline)(step_rad * ((k - 1) as f64 + within))));
    }
    row
}

fn fan(row: &Row, tip: u32, ahead: bool, mesh: &mut Mesh) {
    for i in 0..row.count {
        let (a, b) = (row.vertex(i), row.vertex(i + 1));
        mesh.triangles.push(if ahead { [a, b, tip] } else { [b, a, tip] });
    }
}

/// Triangles between two rings, always stepping on along the one that lags.
fn zip(near: &Row, far: &Row, mesh: &mut Mesh) {
    let (mut i, mut j) = (0, 0);
    while i < near.count || j < far.count {
        let step_near = j == far.count || (i < near.count && near.fraction(i + 1) <= far.fraction(j + 1));
        if step_near {
            mesh.triangles.push([near.vertex(i), near.vertex(i + 1), far.vertex(j)]);
            i += 1;
        } else {
            mesh.triangles.push([near.vertex(i), far.vertex(j + 1), far.vertex(j)]);
            j += 1;
        }
    }
}
