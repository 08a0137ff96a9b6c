"""The outer surface is the maker's: everywhere but within 1 mm of where pieces part or of what is opened for parts, to 0.01
mm, and nothing sticks out."""

import numpy
import pytest
import scipy.spatial
import trimesh

import outer
from near import Surface, sample

TOLERANCE_MM = 0.01
AWAY_FROM_CUTS_MM = 1.0
SAMPLES = 120_000
# A bore's clearance and what it needs on its way take no more than this.
BORED_MM = 2.0
# Ports, screw holes and notches open this much of a body's surface at most; a lid's own surface counts as kept.
OPENED_SHARE = 0.03


@pytest.fixture(scope="module")
def placed(pack):
    return outer.place(pack)


def test_every_part_of_the_makers_surface_is_there(pack, placed):
    _, pieces = placed
    for name, body in pack.bodies.items():
        own = [p for p in pieces if p.piece.row["body"] == name]
        kept = trimesh.util.concatenate([submesh(p.mesh, p.on_surface) for p in own])
        rims = numpy.concatenate([p.rims for p in own])
        points, _ = sample(body, SAMPLES, seed=7)
        others = [m for other, m in pack.bodies.items() if other != name]
        points = points[~on_shared_face(points, others)]
        if name in pack.covers:
            points = points[~in_the_bore(points, others)]
        free = len(points)
        if len(rims):
            away, _ = scipy.spatial.cKDTree(rims).query(points)
            points = points[away > AWAY_FROM_CUTS_MM]
        # Else a surface cut to shreds would pass. The end faces of a short body are a large share of it.
        least = 0.5 if name in pack.covers else 0.7
        assert free > least * SAMPLES, f"{name}: only {free} of {SAMPLES} samples lie off its neighbours"
        assert len(points) > 0.85 * free, f"{name}: only {len(points)} of {free} samples lie away from cuts"
        _, distance, _ = Surface(kept).nearest(points)
        off = numpy.flatnonzero(distance > TOLERANCE_MM)
        assert len(off) <= OPENED_SHARE * SAMPLES, f"{name}: {len(off)} of {SAMPLES} samples are missing"
        off = off[~opened(points[off], pack.openings)]
        if len(off):
            worst = off[distance[off].argmax()]
            raise AssertionError(f"{name}: {distance[worst]:.4f} mm at {points[worst].round(2)}")


def test_nothing_sticks_out_of_the_makers_solid(placed):
    surfaces, pieces = placed
    for p in pieces:
        surface = surfaces[p.piece.row["body"]]
        off = numpy.unique(p.mesh.faces[~p.on_surface])
        points = p.mesh.vertices[off]
        _, distance, _ = surface.nearest(points, candidates=12)
        points = points[distance > TOLERANCE_MM]
        out = surface.outside(points)
        # A collar reaches from its own body into the neighbour.
        for other in surfaces.values():
            if out.any() and other is not surface:
                out[out] = other.outside(points[out])
        assert not out.any(), f"{p.piece.name}: {out.sum()} vertices outside, first {points[out][0].round(3)}"


def on_shared_face(points, others):
    """Where the maker's bodies touch they are cut apart from the start: sockets and ways for wires open there."""
    shared = numpy.zeros(len(points), dtype=bool)
    for other in others:
        _, distance, _ = Surface(other).nearest(points, candidates=12)
        shared |= distance < TOLERANCE_MM
    if not shared.any():
        return shared
    return scipy.spatial.cKDTree(points[shared]).query(points)[0] <= AWAY_FROM_CUTS_MM


def in_the_bore(points, others):
    """What of a cover's surface lies in another body, or so near to it that the bore's clearance takes it."""
    bored = numpy.zeros(len(points), dtype=bool)
    for other in others:
        surface = Surface(other)
        _, distance, _ = surface.nearest(points, candidates=12)
        bored |= distance < BORED_MM
        bored[~bored] = ~surface.outside(points[~bored])
    return bored


def opened(points, openings):
    """Which points lie in a solid that is taken away on purpose, or within 1 mm of it."""
    found = numpy.zeros(len(points), dtype=bool)
    for mesh in openings:
        low, high = mesh.bounds[0] - AWAY_FROM_CUTS_MM, mesh.bounds[1] + AWAY_FROM_CUTS_MM
        near = numpy.flatnonzero(((points > low) & (points < high)).all(axis=1) & ~found)
        if len(near) == 0:
            continue
        spots, _ = sample(mesh, int(mesh.area / 0.05) + 100, seed=13)
        found[near] = scipy.spatial.cKDTree(spots).query(points[near])[0] <= AWAY_FROM_CUTS_MM
        surface = Surface(mesh)
        for i in near[~found[near]]:
            found[i] = surface.winding(points[i]) > 0.5
    return found


def submesh(mesh, faces):
    return trimesh.Trimesh(mesh.vertices, mesh.faces[faces], process=False)
