//! Triangles over a section, and the emptiness around it divided into what hangs together.

use glam::DVec2;
use spade::handles::FixedVertexHandle;
use spade::{AngleLimit, ConstrainedDelaunayTriangulation, Point2, RefinementParameters, Triangulation};

use super::TorsionError;
use crate::section::{Outline, Properties, Region};

/// Corners and sides nearer than this are one.
const TOUCH_MM: f64 = 1e-3;

/// Triangles lower than this are rounding along a straight outline, not material.
const FLAT_MM: f64 = 1e-7;

/// Circumradius over shortest side: no angle under 25° but those of the outlines.
const SLENDER: f64 = 1.18;

/// Largest share of the section's area by which triangles may miss it.
const MISSED: f64 = 1e-3;

/// A triangle with its nodes: corners, then the middles of the sides.
pub(super) struct Triangle {
    pub(super) nodes: [usize; 6],
    pub(super) region: usize,
}

/// Triangles where there is material.
pub(super) struct Mesh {
    pub(super) nodes: Vec<DVec2>,
    pub(super) triangles: Vec<Triangle>,
    /// Nodes in an order that keeps neighbours near.
    pub(super) order: Vec<usize>,
    /// The first node of each piece that hangs together.
    pub(super) pinned: Vec<bool>,
    /// How many pieces.
    pub(super) pieces: usize,
    /// Which emptiness a node borders on.
    pub(super) void_of: Vec<Option<usize>>,
    /// Area of each hole; `None` for the outside.
    pub(super) void_areas: Vec<Option<f64>>,
}

type Sides = Vec<[usize; 2]>;

/// Makes triangles whose sides on an outline are `size` wall thicknesses long.
pub(super) fn mesh(regions: &[Region], section: &Properties, size: f64) -> Result<Mesh, TorsionError> {
    let (points, sides) = sides(regions, section, size);
    let mut net = ConstrainedDelaunayTriangulation::<Point2<f64>>::new();
    let handles: Vec<FixedVertexHandle> = points
        .iter()
        .map(|p| net.insert(Point2::new(p.x, p.y)))
        .collect::<Result<_, _>>()
        .map_err(|_| TorsionError::Untidy { meshed_mm2: 0.0, area_mm2: section.area_mm2 })?;
    for [a, b] in sides {
        if handles[a] != handles[b] {
            net.add_constraint_and_split(handles[a], handles[b], |p| p);
        }
    }
    let fine = size * thinnest(regions, section);
    net.refine(
        RefinementParameters::new()
            .exclude_outer_faces(true)
            .with_angle_limit(AngleLimit::from_radius_to_shortest_edge_ratio(SLENDER))
            .with_min_required_area(1e-4 * fine * fine)
            .with_max_allowed_area(section.area_mm2 * size * size / 16.0)
            .with_max_additional_vertices(20 * points.len() + 2000),
    );
    Builder::new(&net, regions)?.built(section)
}

fn loops(outline: &Outline) -> impl Iterator<Item = &Vec<DVec2>> {
    std::iter::once(&outline.outer).chain(&outline.holes)
}

/// Twice the area over the perimeter: the thickness, for a thin wall.
fn thickness(region: &Region, area: f64) -> f64 {
    let around = |l: &Vec<DVec2>| (0..l.len()).map(|i| l[i].distance(l[(i + 1) % l.len()])).sum::<f64>();
    2.0 * area / region.outlines.iter().flat_map(loops).map(around).sum::<f64>()
}

fn thinnest(regions: &[Region], section: &Properties) -> f64 {
    let each = regions.iter().zip(&section.parts).map(|(r, p)| thickness(r, p.area_mm2));
    each.fold(f64::INFINITY, f64::min)
}

/// Corners with those that touch made one, and sides through every corner they pass, cut to length; each side once.
fn sides(regions: &[Region], section: &Properties, size: f64) -> (Vec<DVec2>, Sides) {
    let mut points: Vec<DVec2> = Vec::new();
    let mut raw: Vec<([usize; 2], f64)> = Vec::new();
    for (region, part) in regions.iter().zip(&section.parts) {
        let length = size * thickness(region, part.area_mm2);
        for corners in region.outlines.iter().flat_map(loops) {
            let ids: Vec<usize> = corners.iter().map(|c| one_of(&mut points, *c)).collect();
            raw.extend((0..ids.len()).map(|i| ([ids[i], ids[(i + 1) % ids.len()]], length)));
        }
    }
    let corners = points.len();
    let mut through: Vec<([usize; 2], f64)> = Vec::new();
    for (side, length) in raw {
        let stops = passed(&points[..corners], side);
        through.extend(stops.windows(2).map(|w| ([w[0].min(w[1]), w[0].max(w[1])], length)));
    }
    through.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    through.dedup_by_key(|t| t.0);
    let mut cut = Vec::new();
    for ([a, b], length) in through.into_iter().filter(|t| t.0[0] != t.0[1]) {
        let (from, to) = (points[a], points[b]);
        let n = (from.distance(to) / length).ceil().clamp(1.0, 1e4) as usize;
        let mut last = a;
        for k in 1..n {
            points.push(from.lerp(to, k as f64 / n as f64));
            cut.push([last, points.len() - 1]);
            last = points.len() - 1;
        }
        cut.push([last, b]);
    }
    (points, cut)
}

fn one_of(points: &mut Vec<DVec2>, point: DVec2) -> usize {
    points.iter().position(|p| p.distance_squared(point) < TOUCH_MM * TOUCH_MM).unwrap_or_else(|| {
        points.push(point);
        points.len() - 1
    })
}

/// The corners that a side passes, its ends with them, in order.
fn passed(points: &[DVec2], [a, b]: [usize; 2]) -> Vec<usize> {
    let (from, way) = (points[a], points[b] - points[a]);
    let length = way.length();
    if length == 0.0 {
        return vec![a];
    }
    let along = way / length;
    let mut stops: Vec<(f64, usize)> = points
        .iter()
        .enumerate()
        .filter(|(i, _)| *i != a && *i != b)
        .map(|(i, p)| (i, *p - from))
        .filter(|(_, d)| along.perp_dot(*d).abs() < TOUCH_MM && (0.0..=length).contains(&along.dot(*d)))
        .map(|(i, d)| (along.dot(d), i))
        .collect();
    stops.sort_by(|p, q| p.0.total_cmp(&q.0).then(p.1.cmp(&q.1)));
    std::iter::once(a).chain(stops.into_iter().map(|s| s.1)).chain([b]).collect()
}

fn inside(corners: &[DVec2], at: DVec2) -> bool {
    let crosses = |i: usize| {
        let (p, q) = (corners[i], corners[(i + 1) % corners.len()]);
        (p.y > at.y) != (q.y > at.y) && at.x < p.x + (at.y - p.y) / (q.y - p.y) * (q.x - p.x)
    };
    (0..corners.len()).filter(|&i| crosses(i)).count() % 2 == 1
}

fn covers(region: &Region, at: DVec2) -> bool {
    region.outlines.iter().any(|o| inside(&o.outer, at) && !o.holes.iter().any(|h| inside(h, at)))
}

/// Every triangle of the net, with material or empty.
struct Builder {
    points: Vec<DVec2>,
    corners: Vec<[usize; 3]>,
    /// Ids of the sides 0-1, 1-2, 2-0 of each triangle.
    edges: Vec<[usize; 3]>,
    edge_count: usize,
    region: Vec<Option<usize>>,
    /// The triangle across each side; `None` outside the net.
    across: Vec<[Option<usize>; 3]>,
}

impl Builder {
    fn new(net: &ConstrainedDelaunayTriangulation<Point2<f64>>, regions: &[Region]) -> Result<Self, TorsionError> {
        let points = net.vertices().map(|v| DVec2::new(v.position().x, v.position().y)).collect();
        let faces = net.num_inner_faces();
        let mut found = Self {
            points,
            corners: Vec::with_capacity(faces),
            edges: Vec::with_capacity(faces),
            edge_count: net.num_undirected_edges(),
            region: Vec::with_capacity(faces),
            across: Vec::with_capacity(faces),
        };
        // Face 0 is the outer one: inner ones count from 1.
        for face in net.inner_faces() {
            let corners = face.vertices().map(|v| v.fix().index());
            let sides = face.adjacent_edges();
            found.corners.push(corners);
            found.edges.push(sides.map(|e| e.as_undirected().fix().index()));
            found.across.push(sides.map(|e| e.rev().face().as_inner().map(|f| f.fix().index() - 1)));
            let middle = corners.iter().map(|&c| found.points[c]).sum::<DVec2>() / 3.0;
            let mut holders = (0..regions.len()).filter(|&r| covers(&regions[r], middle));
            let first = holders.next();
            let [a, b, c] = corners.map(|c| found.points[c]);
            let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
            let height = (b - a).perp_dot(c - a).abs() / longest;
            let high = height > 2.0 * TOUCH_MM;
            if let (Some(first), Some(second), true) = (first, holders.next(), high) {
                return Err(TorsionError::Overlap { first, second, at_mm: middle });
            }
            found.region.push(first.filter(|_| height > FLAT_MM));
        }
        Ok(found)
    }

    fn area(&self, triangle: usize) -> f64 {
        let [a, b, c] = self.corners[triangle].map(|c| self.points[c]);
        0.5 * (b - a).perp_dot(c - a).abs()
    }

    /// Emptinesses: for each empty triangle which, and the area of each, `None` for the outside (number 0).
    fn voids(&self) -> (Vec<Option<usize>>, Vec<Option<f64>>) {
        let mut of = vec![None; self.corners.len()];
        let mut areas = vec![None];
        let is_rim = |t: usize| self.across[t].contains(&None);
        let empty: Vec<usize> = (0..self.corners.len()).filter(|&t| self.region[t].is_none()).collect();
        let starts = empty.iter().filter(|t| is_rim(**t)).chain(empty.iter().filter(|t| !is_rim(**t)));
        for &start in starts {
            if of[start].is_some() {
                continue;
            }
            let void = if is_rim(start) { 0 } else { areas.len() };
            let (mut open, mut area) = (vec![start], 0.0);
            of[start] = Some(void);
            while let Some(t) = open.pop() {
                area += self.area(t);
                for next in self.across[t].into_iter().flatten() {
                    if self.region[next].is_none() && of[next].is_none() {
                        of[next] = Some(void);
                        open.push(next);
                    }
                }
            }
            if void > 0 {
                areas.push(Some(area));
            }
        }
        (of, areas)
    }

    fn built(self, section: &Properties) -> Result<Mesh, TorsionError> {
        let solid: Vec<usize> = (0..self.corners.len()).filter(|&t| self.region[t].is_some()).collect();
        let meshed_mm2: f64 = solid.iter().map(|&t| self.area(t)).sum();
        if (meshed_mm2 - section.area_mm2).abs() > MISSED * section.area_mm2 {
            return Err(TorsionError::Untidy { meshed_mm2, area_mm2: section.area_mm2 });
        }
        let corner_count = self.points.len();
        let all_nodes = |t: usize| {
            let ([a, b, c], [d, e, f]) = (self.corners[t], self.edges[t].map(|e| corner_count + e));
            [a, b, c, d, e, f]
        };
        // Numbers for the nodes that material uses.
        let mut number = vec![None; corner_count + self.edge_count];
        let mut nodes = Vec::new();
        let mut triangles = Vec::with_capacity(solid.len());
        for &t in &solid {
            let [a, b, c] = self.corners[t].map(|c| self.points[c]);
            let places = [a, b, c, a.midpoint(b), b.midpoint(c), c.midpoint(a)];
            let mut mine = [0; 6];
            for (k, node) in all_nodes(t).into_iter().enumerate() {
                mine[k] = *number[node].get_or_insert_with(|| {
                    nodes.push(places[k]);
                    nodes.len() - 1
                });
            }
            triangles.push(Triangle { nodes: mine, region: self.region[t].unwrap_or(0) });
        }
        let (void_of_triangle, void_areas) = self.voids();
        let mut joined = Joined::new(void_areas.len());
        let mut void_of: Vec<Option<usize>> = vec![None; nodes.len()];
        let mut touch = |node: usize, void: usize| {
            if let Some(node) = number[node] {
                match void_of[node] {
                    Some(other) => joined.join(other, void),
                    None => void_of[node] = Some(void),
                }
            }
        };
        for t in 0..self.corners.len() {
            let all = all_nodes(t);
            if let Some(void) = void_of_triangle[t] {
                all.into_iter().for_each(|n| touch(n, void));
            }
            for (side, across) in self.across[t].iter().enumerate() {
                if across.is_none() {
                    [all[side], all[(side + 1) % 3], all[side + 3]].into_iter().for_each(|n| touch(n, 0));
                }
            }
        }
        // Holes that meet in a point have one φ, and are one.
        let mut areas: Vec<Option<f64>> = vec![None; void_areas.len()];
        for (void, area) in void_areas.iter().enumerate().skip(1) {
            let root = joined.root(void);
            if root > 0 {
                areas[root] = Some(areas[root].unwrap_or(0.0) + area.unwrap_or(0.0));
            }
        }
        void_of.iter_mut().flatten().for_each(|v| *v = joined.root(*v));
        let (order, pinned, pieces) = ordered(&nodes, &triangles);
        Ok(Mesh { nodes, triangles, order, pinned, pieces, void_of, void_areas: areas })
    }
}

/// Which of several things are one; the lowest number stands for all.
struct Joined(Vec<usize>);

impl Joined {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn root(&self, mut of: usize) -> usize {
        while self.0[of] != of {
            of = self.0[of];
        }
        of
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b)] = a.min(b);
    }
}

/// An order of the nodes in rings from one end of each piece, which keeps rows short (Cuthill & McKee 1969), with the first
/// node of each piece and how many pieces there are.
fn ordered(nodes: &[DVec2], triangles: &[Triangle]) -> (Vec<usize>, Vec<bool>, usize) {
    let mut neighbours: Vec<Vec<usize>> = vec![Vec::new(); nodes.len()];
    for t in triangles {
        for &a in &t.nodes {
            neighbours[a].extend(t.nodes.iter().copied().filter(|&b| b != a));
        }
    }
    for list in &mut neighbours {
        list.sort_unstable();
        list.dedup();
    }
    let degrees: Vec<usize> = neighbours.iter().map(Vec::len).collect();
    for list in &mut neighbours {
        list.sort_by_key(|&n| (degrees[n], n));
    }
    let walk = |start: usize, seen: &mut [bool]| {
        let mut order = vec![start];
        seen[start] = true;
        let mut next = 0;
        while next < order.len() {
            for &n in &neighbours[order[next]] {
                if !seen[n] {
                    seen[n] = true;
                    order.push(n);
                }
            }
            next += 1;
        }
        order
    };
    let mut seen = vec![false; nodes.len()];
    let (mut order, mut pinned, mut pieces) = (Vec::with_capacity(nodes.len()), vec![false; nodes.len()], 0);
    for start in 0..nodes.len() {
        if seen[start] {
            continue;
        }
        // The last of a first walk lies at an end.
        let mut tried = seen.clone();
        let far = walk(start, &mut tried).last().copied().unwrap_or(start);
        let mine = walk(far, &mut seen);
        pinned[mine[0]] = true;
        pieces += 1;
        order.extend(mine.into_iter().rev());
    }
    (order, pinned, pieces)
}
