//! A closed triangle surface that can be edited: half-edges with twins, corners on a whole-number grid.
//!
//! Half-edge `h` starts at `start[h]` and belongs to triangle `h / 3`; its twin runs the other way in the neighbour.

use glam::DVec3;

use crate::Mesh;

/// Marks a dead triangle or vertex.
pub(super) const NONE: u32 = u32::MAX;

pub(super) struct Surface {
    /// First vertex of each half-edge, or [`NONE`] in dead triangles.
    pub(super) start: Vec<u32>,
    twin: Vec<u32>,
    /// One half-edge that starts at each vertex, or [`NONE`] for dead vertices.
    out: Vec<u32>,
    /// Grid position of each vertex: whole numbers up to 2^24, so that cross products are exact.
    pub(super) at: Vec<DVec3>,
}

pub(super) fn next(h: u32) -> u32 {
    if h % 3 == 2 { h - 2 } else { h + 1 }
}

fn prev(h: u32) -> u32 {
    if h.is_multiple_of(3) { h + 2 } else { h - 1 }
}

impl Surface {
    /// Pairs the half-edges of a mesh and splits vertices and edges at which sheets touch, so that every vertex has one
    /// ring of triangles. Positions are left empty. `Err` with a faulty edge and how many there are.
    pub(super) fn new(mesh: &Mesh) -> Result<(Surface, Vec<DVec3>), ([u32; 2], usize)> {
        let proper = |t: &&[u32; 3]| t[0] != t[1] && t[1] != t[2] && t[2] != t[0];
        let start: Vec<u32> = mesh.triangles.iter().filter(proper).flatten().copied().collect();
        let mut surface = Surface { twin: vec![NONE; start.len()], start, out: Vec::new(), at: Vec::new() };
        let crowded = surface.pair(&mesh.vertices)?;
        surface.remove_flaps();
        let mut points = mesh.vertices.clone();
        surface.split_fans(&mut points);
        surface.split_doubled_edges(crowded, &mut points);
        Ok((surface, points))
    }

    pub(super) fn end(&self, h: u32) -> u32 {
        self.start[next(h) as usize]
    }

    /// The corner opposite a half-edge in its triangle.
    pub(super) fn apex(&self, h: u32) -> u32 {
        self.start[prev(h) as usize]
    }

    pub(super) fn twin(&self, h: u32) -> u32 {
        self.twin[h as usize]
    }

    pub(super) fn is_live(&self, triangle: u32) -> bool {
        self.start[3 * triangle as usize] != NONE
    }

    pub(super) fn is_vertex(&self, v: u32) -> bool {
        self.out[v as usize] != NONE
    }

    pub(super) fn triangles(&self) -> u32 {
        (self.start.len() / 3) as u32
    }

    pub(super) fn corners(&self, triangle: u32) -> [u32; 3] {
        let t = 3 * triangle as usize;
        [self.start[t], self.start[t + 1], self.start[t + 2]]
    }

    /// Half-edges that start at a vertex, all round.
    pub(super) fn around(&self, v: u32) -> impl Iterator<Item = u32> + '_ {
        let first = self.out[v as usize];
        std::iter::successors(Some(first), move |h| {
            let turned = self.twin(prev(*h));
            (turned != first).then_some(turned)
        })
    }

    pub(super) fn neighbours(&self, v: u32) -> impl Iterator<Item = u32> + '_ {
        self.around(v).map(|h| self.end(h))
    }

    fn adjacent(&self, u: u32, v: u32) -> bool {
        self.neighbours(u).any(|w| w == v)
    }

    /// Twice the area vector of three grid points, exact.
    fn cross(a: DVec3, b: DVec3, c: DVec3) -> DVec3 {
        (b - a).cross(c - a)
    }

    fn area(&self, triangle: u32) -> DVec3 {
        let [a, b, c] = self.corners(triangle).map(|v| self.at[v as usize]);
        Self::cross(a, b, c)
    }

    /// Whether a triangle's corners lie on one line (exact).
    pub(super) fn is_flat(&self, triangle: u32) -> bool {
        self.area(triangle) == DVec3::ZERO
    }

    /// Whether moving `v` to `to` leaves the triangles around it, except those that hold `gone`, facing as they do and
    /// with an area.
    pub(super) fn may_move(&self, v: u32, to: DVec3, gone: Option<u32>) -> bool {
        self.around(v).filter(|h| gone.is_none_or(|g| self.end(*h) != g && self.apex(*h) != g)).all(|h| {
            let (a, b) = (self.at[self.end(h) as usize], self.at[self.apex(h) as usize]);
            let (before, after) = (Self::cross(self.at[v as usize], a, b), Self::cross(to, a, b));
            after != DVec3::ZERO && (before == DVec3::ZERO || before.dot(after) > 0.0)
        })
    }

    /// How many triangles around `v` would be flat or turned over with `v` at `to`.
    pub(super) fn spoiled_around(&self, v: u32, to: DVec3) -> usize {
        let spoiled = |h: &u32| {
            let (a, b) = (self.at[self.end(*h) as usize], self.at[self.apex(*h) as usize]);
            let (before, after) = (Self::cross(self.at[v as usize], a, b), Self::cross(to, a, b));
            after == DVec3::ZERO || before.dot(after) < 0.0
        };
        self.around(v).filter(spoiled).count()
    }

    /// Whether the edge is one of a tetrahedron that is a shell by itself.
    pub(super) fn in_tetrahedron(&self, h: u32) -> bool {
        [self.start[h as usize], self.end(h), self.apex(h), self.apex(self.twin(h))]
            .into_iter()
            .all(|v| self.neighbours(v).count() == 3)
            && self.adjacent(self.apex(h), self.apex(self.twin(h)))
    }

    /// Takes away a shell that is a tetrahedron.
    pub(super) fn remove_tetrahedron(&mut self, h: u32) {
        let corners = [self.start[h as usize], self.end(h), self.apex(h), self.apex(self.twin(h))];
        let faces: Vec<u32> = corners.iter().flat_map(|v| self.around(*v)).map(|h| h / 3).collect();
        for t in faces {
            self.kill(t);
        }
        for v in corners {
            self.out[v as usize] = NONE;
        }
    }

    fn kill(&mut self, triangle: u32) {
        self.start[3 * triangle as usize..3 * triangle as usize + 3].fill(NONE);
    }

    /// Whether pulling the end of `h` into its start keeps a closed surface without pinches: the two have no common
    /// neighbours but the corners of the two triangles that vanish (the link condition, Dey et al. 1999).
    pub(super) fn may_collapse(&self, h: u32) -> bool {
        let (u, v) = (self.start[h as usize], self.end(h));
        let (c, d) = (self.apex(h), self.apex(self.twin(h)));
        c != d && self.neighbours(u).filter(|w| self.adjacent(*w, v)).count() == 2 && !self.in_tetrahedron(h)
    }

    /// Pulls the end of `h` into its start; two triangles vanish. The caller asked [`Surface::may_collapse`].
    pub(super) fn collapse(&mut self, h: u32) {
        let (u, v, t) = (self.start[h as usize], self.end(h), self.twin(h));
        let moved: Vec<u32> = self.around(v).collect();
        for g in moved {
            self.start[g as usize] = u;
        }
        for side in [h, t] {
            let (from_apex, from_u) = (self.twin(next(side)), self.twin(prev(side)));
            let apex = self.apex(side);
            self.join(from_apex, from_u);
            self.out[u as usize] = from_u;
            self.out[apex as usize] = from_apex;
            self.kill(side / 3);
        }
        self.out[v as usize] = NONE;
    }

    fn join(&mut self, g: u32, h: u32) {
        self.twin[g as usize] = h;
        self.twin[h as usize] = g;
    }

    /// Whether the edge of `h` can turn to join the two corners opposite to it.
    pub(super) fn may_flip(&self, h: u32) -> bool {
        let (m, d) = (self.apex(h), self.apex(self.twin(h)));
        m != d && !self.adjacent(m, d)
    }

    /// Turns an edge: triangles a b m and b a d become a d m and d b m. The caller asked [`Surface::may_flip`].
    pub(super) fn flip(&mut self, h: u32) {
        let t = self.twin(h);
        let (a, b, m, d) = (self.start[h as usize], self.start[t as usize], self.apex(h), self.apex(t));
        let (beside_b, beside_a) = (self.twin(next(h)), self.twin(next(t)));
        let (h1, t1) = (next(h), next(t));
        self.start[h1 as usize] = d;
        self.start[t1 as usize] = m;
        self.join(h, beside_a);
        self.join(t, beside_b);
        self.join(h1, t1);
        for (v, edge) in [(a, h), (d, h1), (b, t), (m, t1)] {
            self.out[v as usize] = edge;
        }
    }

    /// The mesh of what is alive, vertices in their order, and a map from grid to space.
    pub(super) fn to_mesh(&self, place: impl Fn(DVec3) -> DVec3) -> Mesh {
        let mut slot = vec![NONE; self.at.len()];
        let mut mesh = Mesh::default();
        for (v, slot) in slot.iter_mut().enumerate().filter(|(v, _)| self.is_vertex(*v as u32)) {
            *slot = mesh.vertices.len() as u32;
            mesh.vertices.push(place(self.at[v]));
        }
        let live = (0..self.triangles()).filter(|t| self.is_live(*t));
        mesh.triangles = live.map(|t| self.corners(t).map(|v| slot[v as usize])).collect();
        mesh
    }

    /// Finds twins. Returns the half-edges of edges with more than two triangles.
    fn pair(&mut self, points: &[DVec3]) -> Result<Vec<u32>, ([u32; 2], usize)> {
        // Half-edges sorted by their smaller vertex (counting), then by the larger in small groups.
        let ends = |h: u32| (self.start[h as usize], self.end(h));
        let count = self.start.len() as u32;
        let mut first = vec![0u32; points.len() + 1];
        for h in 0..count {
            let (a, b) = ends(h);
            first[a.min(b) as usize + 1] += 1;
        }
        for v in 1..first.len() {
            first[v] += first[v - 1];
        }
        let mut fill = first.clone();
        let mut order = vec![(NONE, NONE); self.start.len()];
        for h in 0..count {
            let (a, b) = ends(h);
            let slot = &mut fill[a.min(b) as usize];
            order[*slot as usize] = (a.max(b), h);
            *slot += 1;
        }
        let (mut crowded, mut faults, mut first_fault) = (Vec::new(), 0, None);
        for v in 0..points.len() {
            let group = &mut order[first[v] as usize..first[v + 1] as usize];
            group.sort_unstable();
            for edge in group.chunk_by(|p, q| p.0 == q.0) {
                let halves: Vec<u32> = edge.iter().map(|e| e.1).collect();
                let up = |h: &u32| self.start[*h as usize] == v as u32;
                if halves.iter().filter(|h| up(h)).count() * 2 != halves.len() {
                    faults += 1;
                    first_fault.get_or_insert([v as u32, edge[0].0]);
                } else if let [g, h] = halves[..] {
                    self.join(g, h);
                } else {
                    self.pair_crowded(halves.clone(), v as u32, points);
                    crowded.extend(halves);
                }
            }
        }
        match first_fault {
            Some(edge) => Err((edge, faults)),
            None => Ok(crowded),
        }
    }

    /// Pairs the triangles around an edge so that each pair holds material between them: bodies that touch part.
    fn pair_crowded(&mut self, halves: Vec<u32>, low: u32, points: &[DVec3]) {
        let high =
            if self.start[halves[0] as usize] == low { self.end(halves[0]) } else { self.start[halves[0] as usize] };
        let origin = points[low as usize];
        let axis = (points[high as usize] - origin).normalize_or(DVec3::Z);
        let x = axis.any_orthonormal_vector();
        let y = axis.cross(x);
        let mut by_angle: Vec<(f64, bool, u32)> = halves
            .into_iter()
            .map(|h| {
                let p = points[self.apex(h) as usize] - origin;
                (libm::atan2(p.dot(y), p.dot(x)), self.start[h as usize] == low, h)
            })
            .collect();
        by_angle.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.2.cmp(&b.2)));
        // Material lies clockwise of a triangle that runs up the edge: it pairs with the nearest one before it that runs
        // down and is still free.
        while let Some(i) = (0..by_angle.len()).find(|i| {
            let before = by_angle[(i + by_angle.len() - 1) % by_angle.len()];
            by_angle[*i].1 && !before.1
        }) {
            let j = (i + by_angle.len() - 1) % by_angle.len();
            self.join(by_angle[i].2, by_angle[j].2);
            by_angle.remove(i.max(j));
            by_angle.remove(i.min(j));
        }
    }

    /// Gives every ring of triangles at a vertex a vertex of its own.
    fn split_fans(&mut self, points: &mut Vec<DVec3>) {
        self.out = vec![NONE; points.len()];
        let mut seen = vec![false; self.start.len()];
        for h in 0..self.start.len() as u32 {
            if seen[h as usize] || !self.is_live(h / 3) {
                continue;
            }
            let mut v = self.start[h as usize];
            if self.out[v as usize] != NONE {
                points.push(points[v as usize]);
                self.out.push(NONE);
                v = self.out.len() as u32 - 1;
            }
            self.out[v as usize] = h;
            let mut g = h;
            loop {
                seen[g as usize] = true;
                self.start[g as usize] = v;
                g = self.twin(prev(g));
                if g == h {
                    break;
                }
            }
        }
    }

    /// Takes away pairs of neighbours with the same three corners, back to back, and joins what they parted.
    fn remove_flaps(&mut self) {
        let mut suspects: Vec<u32> = (0..self.start.len() as u32).rev().collect();
        while let Some(h) = suspects.pop() {
            if !self.is_live(h / 3) || self.apex(h) != self.apex(self.twin(h)) {
                continue;
            }
            let t = self.twin(h);
            for (front, back) in [(next(h), prev(t)), (prev(h), next(t))] {
                let (before, behind) = (self.twin(front), self.twin(back));
                if before != back {
                    self.join(before, behind);
                    suspects.push(before);
                }
            }
            self.kill(h / 3);
            self.kill(t / 3);
        }
    }

    /// Puts a vertex in the middle of all but one of several edges between the same two vertices.
    fn split_doubled_edges(&mut self, mut halves: Vec<u32>, points: &mut Vec<DVec3>) {
        loop {
            halves.retain(|h| self.is_live(*h / 3));
            let mut edges: Vec<([u32; 2], u32)> = halves
                .iter()
                .map(|h| ([self.start[*h as usize], self.end(*h)], *h))
                .filter(|e| e.0[0] < e.0[1])
                .collect();
            edges.sort_unstable();
            // A split renames the other half-edges of its triangles: look again after each.
            let Some(pair) = edges.windows(2).find(|w| w[0].0 == w[1].0) else { return };
            let ([a, b], h) = pair[1];
            let m = points.len() as u32;
            points.push((points[a as usize] + points[b as usize]) * 0.5);
            self.out.push(NONE);
            let first_new = self.start.len() as u32;
            self.split_edge(h, m);
            halves.extend(first_new..first_new + 6);
        }
    }

    /// Splits the edge of `h` (a to b) at a new vertex `m`: triangles a b c, b a d become a m c, m b c and b m d, m a d.
    fn split_edge(&mut self, h: u32, m: u32) {
        let t = self.twin(h);
        let (a, b, c, d) = (self.start[h as usize], self.start[t as usize], self.apex(h), self.apex(t));
        let (h1, t1) = (next(h), next(t));
        let (beside_b, beside_a) = (self.twin(h1), self.twin(t1));
        let (p, q) = (self.start.len() as u32, self.start.len() as u32 + 3);
        self.start.extend([m, b, c, m, a, d]);
        self.twin.extend([NONE; 6]);
        self.start[h1 as usize] = m;
        self.start[t1 as usize] = m;
        self.join(h, q);
        self.join(t, p);
        self.join(h1, p + 2);
        self.join(t1, q + 2);
        self.join(p + 1, beside_b);
        self.join(q + 1, beside_a);
        for (v, edge) in [(a, h), (b, t), (m, p), (c, p + 2), (d, q + 2)] {
            self.out[v as usize] = edge;
        }
    }
}
