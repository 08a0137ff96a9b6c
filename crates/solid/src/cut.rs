//! Cutting a solid by planes into closed parts.
//!
//! Only triangles that straddle a plane are split. Each corner a cut makes is made once per edge and plane, so the
//! parts are closed by construction, not by matching coordinates. A corner exactly on a plane counts as outside both
//! parts that meet there: a ledge that lies in the plane goes to the side its material is on and leaves no film on the
//! other.

use std::collections::HashMap;

use glam::{DVec2, DVec3};
use rayon::prelude::*;

use crate::Mesh;
use crate::boolean::triangulate;

/// The plane of all points p with `normal` . p = `offset_mm`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    /// Unit normal.
    pub normal: DVec3,
    /// Distance of the plane from the origin along the normal, mm.
    pub offset_mm: f64,
}

impl Plane {
    /// The plane through a point, across a unit normal.
    pub fn through(point: DVec3, normal: DVec3) -> Plane {
        Plane { normal, offset_mm: normal.dot(point) }
    }

    /// Signed distance of a point, mm: positive on the side the normal points to.
    pub fn distance_mm(&self, point: DVec3) -> f64 {
        self.normal.dot(point) - self.offset_mm
    }
}

/// Why a solid could not be cut. Planes are counted from 0 in the order given.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum CutError {
    /// A plane's normal is not a unit vector, or a number in it is not finite.
    #[error("plane {plane} needs a finite offset and a normal of length 1; its normal is {normal}")]
    BadPlane {
        /// Which plane.
        plane: usize,
        /// Its normal.
        normal: DVec3,
    },
    /// A vertex is not a finite point.
    #[error("vertex {vertex} is not a finite point")]
    NotFinite {
        /// Index of the vertex.
        vertex: usize,
    },
    /// A triangle names a vertex that isn't there.
    #[error("triangle {triangle} names a vertex beyond the last")]
    BadIndex {
        /// Index of the triangle.
        triangle: usize,
    },
    /// Two planes meet inside the solid, or are given in the wrong order.
    #[error(
        "planes {first} and {second} touch, cross or run in the wrong order near {at} mm; move one along or turn it"
    )]
    PlanesMeet {
        /// The earlier plane.
        first: usize,
        /// The later plane.
        second: usize,
        /// A point of the solid on the wrong side of one of them, mm.
        at: DVec3,
    },
    /// The surface is open where a plane cuts it.
    #[error("the solid is not closed where plane {plane} cuts it near {at} mm; heal it first")]
    NotClosed {
        /// Which plane.
        plane: usize,
        /// Where the section breaks off, mm.
        at: DVec3,
    },
    /// A section could not be filled with triangles.
    #[error(
        "the section at plane {plane} ({points} points) can't be filled; move the plane by a tenth of a millimetre"
    )]
    Unfilled {
        /// Which plane.
        plane: usize,
        /// How many points its loops have.
        points: usize,
    },
    /// The parts don't add up to the whole, so the input wasn't closed or crosses itself badly.
    #[error("the parts hold {parts_mm3:.6} mm3 but the solid held {whole_mm3:.6} mm3; heal it first")]
    Unbalanced {
        /// Volume before, mm3.
        whole_mm3: f64,
        /// Sum of the volumes after, mm3.
        parts_mm3: f64,
    },
}

/// Cuts a closed, oriented solid into `planes.len() + 1` parts: part k lies behind plane k and before plane k - 1, the
/// normals pointing from part to part. Parts may be empty. Inward-facing shells are voids and stay voids.
///
/// Every part is closed and oriented, and the volumes add up to the whole.
///
/// # Errors
/// When planes meet inside the solid or are not in order, when the solid is open, or when numbers are not finite.
pub fn split(mesh: &Mesh, planes: &[Plane]) -> Result<Vec<Mesh>, CutError> {
    let parts = with_retries(planes, |planes| {
        let (mut parts, work) = distribute(mesh, planes, |_| true)?;
        let done: Vec<Result<(), CutError>> =
            parts.par_iter_mut().enumerate().map(|(k, part)| finish(mesh, planes, &work, k, part)).collect();
        done.into_iter().collect::<Result<(), CutError>>()?;
        Ok(parts)
    })?;
    let (whole_mm3, parts_mm3) = (mesh.volume_mm3(), parts.iter().map(Mesh::volume_mm3).sum::<f64>());
    // Terms of the volume sum are as large as area times distance from the middle; their rounding is far below this. That of
    // the coordinates shows even where there is no area.
    let reach = mesh.bounds().map_or(0.0, |b| b.size().length() / 2.0);
    let rounding = 1e-11 * mesh.area_mm2() * reach + f64::EPSILON * reach * reach * reach;
    if (whole_mm3 - parts_mm3).abs() > rounding {
        return Err(CutError::Unbalanced { whole_mm3, parts_mm3 });
    }
    Ok(parts)
}

/// The part of a closed, oriented solid in front of `low` and behind `high`.
///
/// # Errors
/// As [`split`]; `low` counts as plane 0.
pub fn slab(mesh: &Mesh, low: Option<&Plane>, high: Option<&Plane>) -> Result<Mesh, CutError> {
    let planes: Vec<Plane> = low.into_iter().chain(high).copied().collect();
    let wanted = usize::from(low.is_some());
    with_retries(&planes, |planes| {
        let (mut parts, work) = distribute(mesh, planes, |k| k == wanted)?;
        finish(mesh, planes, &work, wanted, &mut parts[wanted])?;
        Ok(std::mem::take(&mut parts[wanted]))
    })
}

/// Stands for what a cut made, where a triangle or a corner of the mesh is named.
pub(crate) const CUT: u32 = u32::MAX;

/// Parts of a solid, and what of them is the solid's own.
pub(crate) struct Slabs {
    /// The parts, closed, unjoined.
    pub(crate) parts: Mesh,
    /// Which vertex of the solid each vertex is, or [`CUT`].
    pub(crate) vertices: Vec<u32>,
    /// Which triangle of the solid each triangle is, or [`CUT`].
    pub(crate) triangles: Vec<u32>,
}

/// The parts of a closed, oriented solid between each two planes, as [`split`] makes them; planes come in pairs, all in order.
pub(crate) fn slabs(mesh: &Mesh, planes: &[Plane]) -> Result<Slabs, CutError> {
    with_retries(planes, |planes| {
        let between = |k: usize| k % 2 == 1;
        let (mut parts, work) = distribute(mesh, planes, between)?;
        let mut slabs = Slabs { parts: Mesh::default(), vertices: Vec::new(), triangles: Vec::new() };
        let mut first = Vec::with_capacity(parts.len());
        for (k, part) in parts.iter_mut().enumerate() {
            first.push((slabs.parts.vertices.len(), slabs.parts.triangles.len()));
            if between(k) {
                finish(mesh, planes, &work, k, part)?;
                slabs.parts.append(part);
            }
        }
        slabs.vertices = vec![CUT; slabs.parts.vertices.len()];
        slabs.triangles = vec![CUT; slabs.parts.triangles.len()];
        let inside = |code: i32| Some((code / 2) as usize).filter(|k| code % 2 == 0 && between(*k));
        for (v, code) in work.codes.iter().enumerate() {
            if let Some(k) = inside(*code).filter(|_| work.rank[v] != u32::MAX) {
                slabs.vertices[first[k].0 + work.rank[v] as usize] = v as u32;
            }
        }
        // Those that no plane touches come first in each part, in their order.
        let mut next: Vec<usize> = first.iter().map(|f| f.1).collect();
        for (i, t) in mesh.triangles.iter().enumerate() {
            let [a, b, c] = t.map(|v| work.codes[v as usize]);
            if let Some(k) = inside(a).filter(|_| a == b && b == c) {
                slabs.triangles[next[k]] = i as u32;
                next[k] += 1;
            }
        }
        Ok(slabs)
    })
}

/// The triangles that reach in front of `low` and behind `high`, whole, with the vertices they use, all in their order: an
/// open surface that between the planes is the mesh's own. [`slab`] and sections there come out the same, and sooner.
///
/// # Errors
/// When the planes are not planes.
pub fn reaching(mesh: &Mesh, low: Option<&Plane>, high: Option<&Plane>) -> Result<Mesh, CutError> {
    check_planes(&low.into_iter().chain(high).copied().collect::<Vec<_>>())?;
    const BEFORE: u8 = 1;
    const BEYOND: u8 = 2;
    let side = |p: &DVec3| {
        let before = low.is_some_and(|plane| plane.distance_mm(*p) <= 0.0);
        let beyond = high.is_some_and(|plane| plane.distance_mm(*p) >= 0.0);
        u8::from(before) * BEFORE + u8::from(beyond) * BEYOND
    };
    let sides: Vec<u8> = mesh.vertices.par_iter().with_min_len(4096).map(side).collect();
    let reaches = |t: &&[u32; 3]| t.iter().fold(BEFORE | BEYOND, |all, v| all & sides[*v as usize]) == 0;
    let mut triangles: Vec<[u32; 3]> = mesh.triangles.iter().filter(reaches).copied().collect();
    let mut place = vec![0u32; mesh.vertices.len()];
    triangles.iter().flatten().for_each(|v| place[*v as usize] = 1);
    let mut vertices = Vec::new();
    for (v, place) in place.iter_mut().enumerate().filter(|(_, used)| **used == 1) {
        *place = vertices.len() as u32;
        vertices.push(mesh.vertices[v]);
    }
    triangles.iter_mut().flatten().for_each(|v| *v = place[*v as usize]);
    Ok(Mesh { vertices, triangles })
}

/// The loops in which a plane cuts a solid, as points of the plane: outer loops counter-clockwise seen against the
/// normal, holes clockwise.
pub(crate) fn section_loops(mesh: &Mesh, plane: &Plane) -> Result<Vec<Vec<DVec3>>, CutError> {
    let planes = [*plane];
    check_planes(&planes)?;
    let codes = place_vertices(mesh, &planes)?;
    let mut cuts = CutPoints::new(mesh, &planes, 0);
    for (i, t) in mesh.triangles.iter().enumerate() {
        let Some([a, b, c]) = corner_codes(&codes, t) else { return Err(CutError::BadIndex { triangle: i }) };
        if a.min(b).min(c) <= 0 && a.max(b).max(c) > 0 {
            cuts.outline(*t, [a, b, c])?;
        }
    }
    let loops = cuts.loops(Side::High)?;
    Ok(loops.into_iter().map(|l| l.into_iter().map(|v| cuts.points[v as usize]).collect()).collect())
}

/// Runs a cut, moving a plane whose section can't be filled by a millionth of a millimetre a few times.
fn with_retries<T>(planes: &[Plane], cut: impl Fn(&[Plane]) -> Result<T, CutError>) -> Result<T, CutError> {
    let mut planes = planes.to_vec();
    for _ in 0..4 {
        match cut(&planes) {
            Err(CutError::Unfilled { plane, .. }) => planes[plane].offset_mm += 1e-6,
            other => return other,
        }
    }
    cut(&planes)
}

fn check_planes(planes: &[Plane]) -> Result<(), CutError> {
    let good = |p: &Plane| p.offset_mm.is_finite() && (p.normal.length() - 1.0).abs() < 1e-9;
    match planes.iter().position(|p| !good(p)) {
        Some(plane) => Err(CutError::BadPlane { plane, normal: planes[plane].normal }),
        None => Ok(()),
    }
}

/// Where each vertex lies: 2k strictly inside part k, 2k + 1 on the plane between parts k and k + 1.
fn place_vertices(mesh: &Mesh, planes: &[Plane]) -> Result<Vec<i32>, CutError> {
    let place = |vertex: usize| -> Result<i32, CutError> {
        let p = &mesh.vertices[vertex];
        if !p.is_finite() {
            return Err(CutError::NotFinite { vertex });
        }
        let mut code = 0;
        let mut behind = None;
        for (j, plane) in planes.iter().enumerate() {
            let d = plane.distance_mm(*p);
            match behind {
                Some(first) if d >= 0.0 => return Err(CutError::PlanesMeet { first, second: j, at: *p }),
                Some(_) => {}
                None if d > 0.0 => code += 2,
                None => {
                    code += i32::from(d == 0.0);
                    behind = Some(j);
                }
            }
        }
        Ok(code)
    };
    // The error reported is the first one, whatever the number of threads. A list of results would take ten times the room.
    const FAILED: i32 = -1;
    let vertices = (0..mesh.vertices.len()).into_par_iter().with_min_len(4096);
    let codes: Vec<i32> = vertices.map(|v| place(v).unwrap_or(FAILED)).collect();
    match codes.iter().position(|code| *code == FAILED) {
        Some(vertex) => place(vertex).map(|_| codes),
        None => Ok(codes),
    }
}

fn corner_codes(codes: &[i32], t: &[u32; 3]) -> Option<[i32; 3]> {
    Some([*codes.get(t[0] as usize)?, *codes.get(t[1] as usize)?, *codes.get(t[2] as usize)?])
}

/// What the parts still need once every triangle that no plane touches is in its part.
struct Work {
    codes: Vec<i32>,
    /// Index of each vertex in the part it is inside of.
    rank: Vec<u32>,
    /// Triangles to split, by part.
    straddlers: Vec<Vec<u32>>,
}

/// Gives every untouched triangle to its part, and lists the others for each part they reach into.
fn distribute(mesh: &Mesh, planes: &[Plane], asked: impl Fn(usize) -> bool) -> Result<(Vec<Mesh>, Work), CutError> {
    check_planes(planes)?;
    let codes = place_vertices(mesh, planes)?;
    let mut parts = vec![Mesh::default(); planes.len() + 1];
    let mut straddlers = vec![Vec::new(); parts.len()];
    let mut rank = vec![u32::MAX; codes.len()];
    for (i, t) in mesh.triangles.iter().enumerate() {
        let Some([a, b, c]) = corner_codes(&codes, t) else { return Err(CutError::BadIndex { triangle: i }) };
        let (low, high) = (a.min(b).min(c), a.max(b).max(c));
        for (v, code) in t.iter().zip([a, b, c]) {
            let k = (code / 2) as usize;
            if code % 2 == 0 && asked(k) && rank[*v as usize] == u32::MAX {
                rank[*v as usize] = parts[k].vertices.len() as u32;
                parts[k].vertices.push(mesh.vertices[*v as usize]);
            }
        }
        if low == high {
            let k = (low / 2) as usize;
            if low % 2 == 0 && asked(k) {
                parts[k].triangles.push(t.map(|v| rank[v as usize]));
            }
            continue;
        }
        // From the first to the last part that holds a piece of the triangle's inside.
        let reach = ((low + 1) / 2) as usize..=(high / 2) as usize;
        for (k, list) in straddlers.iter_mut().enumerate().take(reach.end() + 1).skip(*reach.start()) {
            if asked(k) {
                list.push(i as u32);
            }
        }
    }
    Ok((parts, Work { codes, rank, straddlers }))
}

/// Splits the straddling triangles of part `k` and fills its sections.
fn finish(mesh: &Mesh, planes: &[Plane], work: &Work, k: usize, part: &mut Mesh) -> Result<(), CutError> {
    if work.straddlers[k].is_empty() {
        return Ok(());
    }
    let base = part.vertices.len() as u32;
    let mut cuts = CutPoints::new(mesh, planes, k);
    for i in &work.straddlers[k] {
        let t = mesh.triangles[*i as usize];
        let outline = cuts.outline(t, t.map(|v| work.codes[v as usize]))?;
        let corners: Vec<u32> = outline
            .iter()
            .map(|corner| match corner {
                Corner::Old(v) => work.rank[*v as usize],
                Corner::New(v) => base + v,
            })
            .collect();
        let at = |v: u32| {
            if v < base { part.vertices[v as usize] } else { cuts.points[(v - base) as usize] }
        };
        // Of the two ways to halve a quadrilateral, the shorter diagonal makes the rounder triangles.
        let turn = usize::from(
            corners.len() == 4
                && at(corners[1]).distance_squared(at(corners[3])) < at(corners[0]).distance_squared(at(corners[2])),
        );
        for j in 1..corners.len() - 1 {
            let corner = |n: usize| corners[(n + turn) % corners.len()];
            part.triangles.push([corner(0), corner(j), corner(j + 1)]);
        }
    }
    for side in [Side::Low, Side::High] {
        let loops = cuts.loops(side)?;
        part.triangles.extend(cuts.fill(side, &loops)?.into_iter().map(|t| t.map(|v| v + base)));
    }
    part.vertices.extend_from_slice(&cuts.points);
    Ok(())
}

/// Which of a part's two planes.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
enum Side {
    Low,
    High,
}

/// A corner of what is left of a triangle: a vertex of the mesh, or a point a cut made.
enum Corner {
    Old(u32),
    New(u32),
}

/// The points that the planes of one part make, and the section segments between them.
struct CutPoints<'a> {
    mesh: &'a Mesh,
    planes: &'a [Plane],
    part: usize,
    by_edge: HashMap<(u32, u32, Side), u32>,
    points: Vec<DVec3>,
    low: Vec<[u32; 2]>,
    high: Vec<[u32; 2]>,
}

impl<'a> CutPoints<'a> {
    fn new(mesh: &'a Mesh, planes: &'a [Plane], part: usize) -> Self {
        CutPoints { mesh, planes, part, by_edge: HashMap::new(), points: Vec::new(), low: Vec::new(), high: Vec::new() }
    }

    fn plane_index(&self, side: Side) -> usize {
        match side {
            Side::Low => self.part - 1,
            Side::High => self.part,
        }
    }

    /// The point where an edge crosses a plane; the same whichever way the edge is walked.
    fn point(&mut self, a: u32, b: u32, side: Side) -> u32 {
        let (a, b) = (a.min(b), a.max(b));
        let plane = &self.planes[self.plane_index(side)];
        let points = &mut self.points;
        *self.by_edge.entry((a, b, side)).or_insert_with(|| {
            let (p, q) = (self.mesh.vertices[a as usize], self.mesh.vertices[b as usize]);
            let (dp, dq) = (plane.distance_mm(p), plane.distance_mm(q));
            points.push(if dq == 0.0 { q } else { p + (q - p) * (dp / (dp - dq)) });
            points.len() as u32 - 1
        })
    }

    /// What is left of a triangle between the planes, and its section segments noted.
    fn outline(&mut self, t: [u32; 3], codes: [i32; 3]) -> Result<Vec<Corner>, CutError> {
        let inside = 2 * self.part as i32;
        let states = codes.map(|c| (c - inside).signum());
        let mut corners = Vec::with_capacity(5);
        // Where the boundary of the triangle enters and leaves through each plane.
        let (mut low, mut high) = ([None; 2], [None; 2]);
        for i in 0..3 {
            let (u, v, su, sv) = (t[i], t[(i + 1) % 3], states[i], states[(i + 1) % 3]);
            if su == 0 {
                corners.push(Corner::Old(u));
            }
            if su * sv < 0 {
                self.check_order(u, v, su)?;
            }
            let mut pass = |cuts: &mut Self, side: Side, leaving: bool| {
                let point = cuts.point(u, v, side);
                corners.push(Corner::New(point));
                let ends = if side == Side::Low { &mut low } else { &mut high };
                ends[usize::from(leaving)] = Some(point);
            };
            if su < sv {
                if su < 0 {
                    pass(self, Side::Low, false);
                }
                if sv > 0 {
                    pass(self, Side::High, true);
                }
            } else if su > sv {
                if su > 0 {
                    pass(self, Side::High, false);
                }
                if sv < 0 {
                    pass(self, Side::Low, true);
                }
            }
        }
        // The triangle runs along the plane from where it leaves to where it enters; the filling runs back.
        if let [Some(enter), Some(leave)] = low {
            self.low.push([enter, leave]);
        }
        if let [Some(enter), Some(leave)] = high {
            self.high.push([enter, leave]);
        }
        Ok(corners)
    }

    /// An edge through both planes must meet the low one first.
    fn check_order(&self, u: u32, v: u32, state_of_u: i32) -> Result<(), CutError> {
        let (below, above) = if state_of_u < 0 { (u, v) } else { (v, u) };
        let (p, q) = (self.mesh.vertices[below as usize], self.mesh.vertices[above as usize]);
        let along = |plane: &Plane| {
            let (dp, dq) = (plane.distance_mm(p), plane.distance_mm(q));
            dp / (dp - dq)
        };
        let (first, second) = (self.plane_index(Side::Low), self.plane_index(Side::High));
        let (low, high) = (along(&self.planes[first]), along(&self.planes[second]));
        if low < high { Ok(()) } else { Err(CutError::PlanesMeet { first, second, at: p + (q - p) * high }) }
    }

    /// Section segments joined into loops of points.
    fn loops(&self, side: Side) -> Result<Vec<Vec<u32>>, CutError> {
        let segments = if side == Side::Low { &self.low } else { &self.high };
        trace(segments)
            .map_err(|point| CutError::NotClosed { plane: self.plane_index(side), at: self.points[point as usize] })
    }

    /// Triangles that fill the loops of one plane, facing out of the part.
    fn fill(&mut self, side: Side, loops: &[Vec<u32>]) -> Result<Vec<[u32; 3]>, CutError> {
        let mut flat: Vec<u32> = loops.iter().flatten().copied().collect();
        let Some(first) = flat.first() else { return Ok(Vec::new()) };
        let origin = self.points[*first as usize];
        let plane = self.plane_index(side);
        let outward = self.planes[plane].normal * if side == Side::Low { -1.0 } else { 1.0 };
        let mut x = outward.any_orthonormal_vector();
        // The triangulator sorts along its axes: turned axes get it past rare dead ends.
        for _ in 0..4 {
            let y = outward.cross(x);
            let project = |v: &u32| {
                let p = self.points[*v as usize] - origin;
                DVec2::new(p.dot(x), p.dot(y))
            };
            let outlines: Vec<Vec<DVec2>> = loops.iter().map(|l| l.iter().map(project).collect()).collect();
            if let Some(filling) = triangulate(&outlines) {
                for ends in filling.midpoints {
                    let [a, b] = ends.map(|v| self.points[flat[v as usize] as usize]);
                    flat.push(self.points.len() as u32);
                    self.points.push((a + b) * 0.5);
                }
                return Ok(filling.triangles.into_iter().map(|t| t.map(|v| flat[v as usize])).collect());
            }
            x = x * 0.8 + y * 0.6;
        }
        Err(CutError::Unfilled { plane, points: flat.len() })
    }
}

/// Directed segments joined end to end into closed loops, or the point where they don't join. Where several segments
/// leave a point (an edge shared by more than two triangles), any of them closes a loop.
fn trace(segments: &[[u32; 2]]) -> Result<Vec<Vec<u32>>, u32> {
    let mut sorted = segments.to_vec();
    sorted.sort_unstable();
    // A segment that runs both ways joins two triangles face to face and needs no filling.
    sorted = sorted.iter().filter(|[a, b]| sorted.binary_search(&[*b, *a]).is_err()).copied().collect();
    let mut arrivals: Vec<u32> = sorted.iter().map(|s| s[1]).collect();
    arrivals.sort_unstable();
    if let Some((s, arrival)) = sorted.iter().zip(&arrivals).find(|(s, arrival)| s[0] != **arrival) {
        return Err(s[0].min(*arrival));
    }
    let mut used = vec![false; sorted.len()];
    let mut loops = Vec::new();
    for first in 0..sorted.len() {
        if used[first] {
            continue;
        }
        used[first] = true;
        let [start, mut at] = sorted[first];
        let mut points = vec![start];
        while at != start {
            points.push(at);
            let mut next = sorted.partition_point(|s| s[0] < at);
            while used[next] {
                next += 1;
            }
            used[next] = true;
            at = sorted[next][1];
        }
        loops.push(points);
    }
    Ok(loops)
}

#[cfg(test)]
mod tests;
