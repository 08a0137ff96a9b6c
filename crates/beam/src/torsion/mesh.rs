//! Triangles over a section, fine enough for what is solved on them.

use std::collections::BTreeMap;

use glam::DVec2;
use spade::handles::FixedVertexHandle;
use spade::{AngleLimit, ConstrainedDelaunayTriangulation, Point2, RefinementParameters, Triangulation};

use super::TorsionError;
use super::plan::{Plan, side};
use crate::section::{Outline, Properties, Region};
use solid::skyline::rings;

/// Corners and sides nearer than this are one.
pub(super) const TOUCH_MM: f64 = 1e-3;

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
    /// Which piece each node belongs to.
    pub(super) piece_of: Vec<usize>,
    /// How many pieces.
    pub(super) pieces: usize,
    /// Which emptiness a node borders on.
    pub(super) void_of: Vec<Option<usize>>,
    /// Area of each hole; `None` for the outside.
    pub(super) void_areas: Vec<Option<f64>>,
}

pub(super) type Net = ConstrainedDelaunayTriangulation<Point2<f64>>;

type Sides = Vec<[usize; 2]>;

/// Makes triangles whose sides on an outline are `size` wall thicknesses long.
///
/// A first net through the outlines alone tells which region or emptiness each place belongs to. Each region is then
/// filled by itself with its sides kept as they are, so that neighbours share the nodes of a seam.
pub(super) fn mesh(regions: &[Region], section: &Properties, size: f64) -> Result<Mesh, TorsionError> {
    let untidy = |meshed_mm2| TorsionError::Untidy { meshed_mm2, area_mm2: section.area_mm2 };
    let (points, sides) = sides(regions, section, size);
    let plan = Plan::new(&net(&points, &sides).ok_or(untidy(0.0))?, regions)?;
    let meshed_mm2 = plan.solid_area_mm2();
    if (meshed_mm2 - section.area_mm2).abs() > MISSED * section.area_mm2 {
        return Err(untidy(meshed_mm2));
    }
    let fine = size * thinnest(regions, section);
    let limits = RefinementParameters::new()
        .exclude_outer_faces(true)
        .keep_constraint_edges()
        .with_angle_limit(AngleLimit::from_radius_to_shortest_edge_ratio(SLENDER))
        .with_min_required_area(1e-4 * fine * fine)
        .with_max_allowed_area(section.area_mm2 * size * size / 16.0)
        .with_max_additional_vertices(20 * points.len() + 2000);
    let mut filled = Filled { points: plan.points.clone(), triangles: Vec::new() };
    for region in 0..regions.len() {
        filled.fill(region, &plan.sides_of(region), &limits).ok_or(untidy(0.0))?;
    }
    Ok(filled.mesh(&plan))
}

/// A net through points and sides, the points keeping their numbers; `None` where two of them are the same.
fn net(points: &[DVec2], sides: &[[usize; 2]]) -> Option<Net> {
    let mut net = Net::new();
    for p in points {
        net.insert(Point2::new(p.x, p.y)).ok()?;
    }
    if net.num_vertices() != points.len() {
        return None;
    }
    for side in sides {
        let [a, b] = side.map(FixedVertexHandle::from_index);
        net.add_constraint_and_split(a, b, |p| p);
    }
    Some(net)
}

/// Corners, three to a triangle, region by region.
struct Filled {
    points: Vec<DVec2>,
    triangles: Vec<([usize; 3], usize)>,
}

impl Filled {
    /// Adds the triangles of the region inside these sides.
    fn fill(&mut self, region: usize, sides: &[[usize; 2]], limits: &RefinementParameters<f64>) -> Option<()> {
        let mut used: Vec<usize> = sides.iter().flatten().copied().collect();
        used.sort_unstable();
        used.dedup();
        let places: Vec<DVec2> = used.iter().map(|&u| self.points[u]).collect();
        let own = |u: &usize| used.partition_point(|v| v < u);
        let mine: Sides = sides.iter().map(|[a, b]| [own(a), own(b)]).collect();
        let mut net = net(&places, &mine)?;
        let mut outside = vec![false; net.num_all_faces()];
        let refined = net.refine(limits.clone());
        outside.resize(net.num_all_faces(), false);
        refined.excluded_faces.iter().for_each(|f| outside[f.index()] = true);
        for vertex in net.vertices().skip(used.len()) {
            used.push(self.points.len());
            self.points.push(DVec2::new(vertex.position().x, vertex.position().y));
        }
        for face in net.inner_faces().filter(|f| !outside[f.fix().index()]) {
            self.triangles.push((face.vertices().map(|v| used[v.fix().index()]), region));
        }
        Some(())
    }

    /// With nodes in the middles of sides, and what is empty around.
    fn mesh(&self, plan: &Plan) -> Mesh {
        let mut corner = vec![None; self.points.len()];
        let mut middle: BTreeMap<[usize; 2], usize> = BTreeMap::new();
        let mut nodes: Vec<DVec2> = Vec::new();
        let mut triangles = Vec::with_capacity(self.triangles.len());
        for &([a, b, c], region) in &self.triangles {
            let corners = [a, b, c].map(|p| {
                *corner[p].get_or_insert_with(|| {
                    nodes.push(self.points[p]);
                    nodes.len() - 1
                })
            });
            let middles = [[a, b], [b, c], [c, a]].map(|[p, q]| {
                *middle.entry(side(p, q)).or_insert_with(|| {
                    nodes.push(self.points[p].midpoint(self.points[q]));
                    nodes.len() - 1
                })
            });
            triangles.push(Triangle {
                nodes: std::array::from_fn(|k| if k < 3 { corners[k] } else { middles[k - 3] }),
                region,
            });
        }
        let (void_areas, touched) = plan.voids();
        let mut joined = Joined::new(void_areas.len());
        let mut void_of: Vec<Option<usize>> = vec![None; nodes.len()];
        for ([a, b], void) in touched {
            for node in [corner[a], corner[b], middle.get(&[a, b]).copied()].into_iter().flatten() {
                match void_of[node] {
                    Some(other) => joined.join(other, void),
                    None => void_of[node] = Some(void),
                }
            }
        }
        // Holes that meet in a point have one φ, and are one.
        let mut areas: Vec<Option<f64>> = vec![None; void_areas.len()];
        for (void, area) in void_areas.iter().enumerate().skip(1) {
            let root = joined.root(void);
            if root > 0 {
                areas[root] = Some(areas[root].unwrap_or(0.0) + area);
            }
        }
        void_of.iter_mut().flatten().for_each(|v| *v = joined.root(*v));
        let Ordered { order, pinned, piece_of, pieces } = ordered(&nodes, &triangles);
        Mesh { nodes, triangles, order, pinned, piece_of, pieces, void_of, void_areas: areas }
    }
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

/// What hangs together, walked through.
struct Ordered {
    order: Vec<usize>,
    pinned: Vec<bool>,
    piece_of: Vec<usize>,
    pieces: usize,
}

/// The nodes of each piece in rings, neighbours with the fewest neighbours first, then turned about: as Cuthill & McKee's
/// order is best.
fn ordered(nodes: &[DVec2], triangles: &[Triangle]) -> Ordered {
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
    let mut found = Ordered {
        order: Vec::with_capacity(nodes.len()),
        pinned: vec![false; nodes.len()],
        piece_of: vec![0; nodes.len()],
        pieces: 0,
    };
    for mine in rings(&neighbours) {
        found.pinned[mine[0]] = true;
        mine.iter().for_each(|&n| found.piece_of[n] = found.pieces);
        found.pieces += 1;
        found.order.extend(mine.into_iter().rev());
    }
    found
}
