"""Which faces of the placed pieces are the maker's surface, and where it ends."""

from dataclasses import dataclass

import numpy
import trimesh

from near import Surface

# A face lies on the maker's surface when its corners do. Files hold 32-bit floats and placing rotates them.
ON_SURFACE_MM = 0.005


@dataclass
class Placed:
    """A piece in the prop frame, its faces sorted."""

    piece: object
    mesh: trimesh.Trimesh
    on_surface: numpy.ndarray  # per face
    rims: numpy.ndarray  # points every 0.2 mm along the edges where the maker's surface ends


def place(pack):
    """All pieces, each held against the surface of its own body."""
    surfaces = {name: Surface(mesh) for name, mesh in pack.bodies.items()}
    return surfaces, [sort_faces(piece, surfaces[piece.row["body"]]) for piece in pack.pieces]


def sort_faces(piece, surface):
    mesh = piece.placed()
    near, distance, _ = surface.nearest(mesh.vertices, candidates=12)
    on_vertex = distance < ON_SURFACE_MM
    on_face = on_vertex[mesh.faces].all(axis=1)
    # A face across a corner of the surface has its corners on it and its middle off it.
    some = numpy.flatnonzero(on_face)
    _, middle, _ = surface.nearest(mesh.triangles_center[some], candidates=12)
    on_face[some] = middle < ON_SURFACE_MM
    a, b = mesh.face_adjacency.T
    ends = mesh.face_adjacency_edges[on_face[a] != on_face[b]]
    return Placed(piece, mesh, on_face, along(mesh.vertices[ends], 0.2))


def along(edges, step_mm):
    """Points along edges, ends included."""
    if len(edges) == 0:
        return numpy.empty((0, 3))
    start, end = edges[:, 0], edges[:, 1]
    counts = numpy.ceil(numpy.linalg.norm(end - start, axis=1) / step_mm).astype(int) + 1
    which = numpy.repeat(numpy.arange(len(edges)), counts)
    within = numpy.arange(len(which)) - numpy.repeat(numpy.cumsum(counts) - counts, counts)
    share = (within / numpy.repeat(numpy.maximum(counts - 1, 1), counts))[:, None]
    return start[which] + (end - start)[which] * share
