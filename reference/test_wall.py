"""The wall of lit pieces, measured from every side.

A point on a surface inside a piece belongs to the wall when that surface faces straight away from the nearest point of
the maker's surface: then the distance between them is the wall there.

Where a hollow would be thinner than the least cavity, it stays solid: the inside of such a wall is rounded by a ball of that
width. So the wall is as thick as asked where that ball, laid against the inside, comes as near to the maker's surface as the
wall allows.
"""

import numpy
import pytest
import scipy.spatial
import trimesh

import outer
from near import Surface, sample

TOLERANCE_MM = 0.1
# Faces within this angle of the maker's surface count as parallel to it.
PARALLEL = numpy.cos(numpy.radians(8))
# Ribs of the rail start where strip or spine is this near; a collar is this long.
RAIL_MM = 5.0
COLLAR_MM = 16.0
# A number in relief: the diagonal of its figures, and how far they stand out.
NUMBER_MM = 18.0
NUMBER_RELIEF_MM = 0.7
SAMPLES_PER_PIECE = 60_000


@pytest.fixture(scope="module")
def lit(pack):
    surfaces, pieces = outer.place(pack)
    found = [(p, surfaces[p.piece.row["body"]]) for p in pieces if p.piece.row["role"] == "lit"]
    assert found, "no lit piece"
    return found


@pytest.fixture(scope="module")
def walls(pack, lit):
    """For each lit piece: points on the inside of its wall, and the wall there."""
    found = []
    for p, surface in lit:
        inner = trimesh.Trimesh(p.mesh.vertices, p.mesh.faces[~p.on_surface], process=False)
        points, faces = sample(inner, SAMPLES_PER_PIECE, seed=11)
        near, distance, _ = surface.nearest(points)
        away = (points - near) / distance[:, None]
        parallel = (away * inner.face_normals[faces]).sum(axis=1) > PARALLEL
        # A face where two bodies of the shape touch is a joint, not a wall.
        for other in pack.bodies:
            if other != p.piece.row["body"]:
                parallel &= Surface(pack.bodies[other]).nearest(near, candidates=12)[1] > 0.01
        normals = inner.face_normals[faces]
        radius = least_cavity_mm(pack, p.piece.row["body"]) / 2
        reached = surface.nearest(points + radius * normals)[1] - radius
        found.append((p, points[parallel], distance[parallel], reached[parallel]))
    return found


def least_cavity_mm(pack, body):
    """From the example's project file."""
    value, unit = pack.project["body"][body]["least-cavity"].split()
    assert unit == "mm"
    return float(value)


def test_nowhere_thinner(walls):
    for p, points, distance, _ in walls:
        asked = p.piece.row["wall_mm"]
        thin = distance.argmin()
        assert distance[thin] >= asked - TOLERANCE_MM, where(p, points[thin], distance[thin])


def test_as_thick_as_asked_where_no_rail_and_no_collar_is(pack, walls):
    bars = trimesh.util.concatenate(list(pack.bars.values()))
    bars = bars.subdivide_to_size(3.0)
    near_bar = scipy.spatial.cKDTree(sample(bars, 60_000, seed=5)[0])
    for p, points, distance, reached in walls:
        asked = p.piece.row["wall_mm"]
        clear = near_bar.query(points)[0] > RAIL_MM
        clear &= scipy.spatial.cKDTree(p.rims).query(points)[0] > COLLAR_MM
        # A piece is long enough to have wall that is nothing but wall.
        assert clear.sum() > 0.1 * SAMPLES_PER_PIECE or p.piece.row["name"] == last_lit(walls), p.piece.name
        thick = clear & (reached > asked + TOLERANCE_MM)
        if thick.any():
            # The piece's own number stands on its wall, out of sight: one small patch of figures, and no thicker.
            spot = points[thick]
            thickest = numpy.where(thick, distance, 0).argmax()
            told = f"{thick.sum()} points, {where(p, points[thickest], distance[thickest])}"
            assert numpy.linalg.norm(spot.max(axis=0) - spot.min(axis=0)) < NUMBER_MM, told
            assert distance[thickest] <= asked + NUMBER_RELIEF_MM + TOLERANCE_MM, told


def test_no_thin_spot_seen_from_outside(lit):
    """From points of the maker's surface to the nearest surface inside, whichever way that faces."""
    for p, _ in lit:
        asked = p.piece.row["wall_mm"]
        skin = trimesh.Trimesh(p.mesh.vertices, p.mesh.faces[p.on_surface], process=False)
        points, _ = sample(skin, 30_000, seed=3)
        # Where pieces part, the cut's own face begins at the maker's surface.
        points = points[scipy.spatial.cKDTree(p.rims).query(points)[0] > asked + 1.0]
        inner = trimesh.Trimesh(p.mesh.vertices, p.mesh.faces[~p.on_surface], process=False)
        _, distance, _ = Surface(inner).nearest(points)
        thin = distance.argmin()
        assert distance[thin] >= asked - TOLERANCE_MM, where(p, points[thin], distance[thin])


def last_lit(walls):
    return max(walls, key=lambda w: w[0].piece.row["station_mm"][1])[0].piece.name


def where(p, point, distance):
    return f"{p.piece.name}: {distance:.3f} mm, asked {p.piece.row['wall_mm']} mm, at {point.round(2)}"
