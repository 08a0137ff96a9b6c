"""Distances to fine triangle surfaces: candidates by a k-d tree over the triangles' middles, then exact."""

import numpy
import scipy.spatial
import trimesh


class Surface:
    """A closed triangle surface made for many questions."""

    def __init__(self, mesh, candidates=24):
        self.triangles = mesh.triangles
        self.normals = mesh.face_normals
        self.tree = scipy.spatial.cKDTree(self.triangles.mean(axis=1))
        self.candidates = min(candidates, len(self.triangles))

    def nearest(self, points, candidates=None):
        """For each point: the nearest surface point, the distance and the triangle. The distance is never too small, and
        exact where the true triangle is among the candidates, which it is on surfaces of even triangles."""
        k = min(candidates or self.candidates, len(self.triangles))
        near = numpy.empty((len(points), 3))
        face = numpy.empty(len(points), dtype=int)
        for start in range(0, len(points), 50_000):
            some = points[start : start + 50_000]
            _, index = self.tree.query(some, k=k, workers=-1)
            index = index.reshape(len(some), k)
            best = numpy.full(len(some), numpy.inf)
            for column in index.T:
                on = trimesh.triangles.closest_point(self.triangles[column], some)
                square = ((on - some) ** 2).sum(axis=1)
                closer = square < best
                best[closer] = square[closer]
                near[start : start + len(some)][closer] = on[closer]
                face[start : start + len(some)][closer] = column[closer]
        return near, numpy.linalg.norm(points - near, axis=1), face

    def outside(self, points):
        """Which points lie outside: by the side of the nearest triangle, and where that says outside, by the winding
        number over all triangles (van Oosterom and Strackee 1983), which is right also at edges. Once 50 are certain, the
        rest goes unasked: something is badly wrong then."""
        near, _, face = self.nearest(points, candidates=8)
        out = ((points - near) * self.normals[face]).sum(axis=1) > 0
        certain = 0
        for i in numpy.flatnonzero(out):
            out[i] = self.winding(points[i]) < 0.5
            certain += out[i]
            if certain == 50:
                break
        return out

    def winding(self, point):
        a, b, c = numpy.moveaxis(self.triangles - point, 1, 0)
        la, lb, lc = (numpy.linalg.norm(v, axis=1) for v in (a, b, c))
        volume = (a * numpy.cross(b, c)).sum(axis=1)
        spread = la * lb * lc + (a * b).sum(axis=1) * lc + (b * c).sum(axis=1) * la + (c * a).sum(axis=1) * lb
        return numpy.arctan2(volume, spread).sum() / (2 * numpy.pi)


def sample(mesh, count, seed):
    """Points spread evenly over a mesh, and their triangles; the same ones each time."""
    points, faces = trimesh.sample.sample_surface(mesh, count, seed=seed)
    return numpy.asarray(points), faces
