"""Windows: the area of each, found again on the outer faces of the printed pieces from what light/windows.json says of it."""

import json

import numpy
import pytest
import trimesh

import outer

SAMPLES = 200_000
# Random samples; where a piece is cut out for a cover's seat or a port, its window is not there.
TOLERANCE = 0.03
SIDES = {"+y": (1, 1.0), "-y": (1, -1.0), "+z": (2, 1.0), "-z": (2, -1.0)}
JOINED_MM = 0.5
# As the outer surface's middle is found: in slices so long.
SLICE_MM = 2.0


@pytest.fixture(scope="module")
def said(pack):
    return json.loads((pack.home / "light" / "windows.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def placed(pack):
    return outer.place(pack)[1]


def test_every_lit_body_has_a_window(pack, said):
    lit = {piece.row["body"] for piece in pack.pieces if piece.row["role"] == "lit"}
    assert lit and lit == {w["body"] for w in said["windows"] if w["body"] in lit}


def test_areas_are_found_again_on_the_printed_pieces(pack, said, placed):
    path = numpy.array(said["path"])
    for body in {w["body"] for w in said["windows"]}:
        points, normals, each_mm2 = outside(placed, body)
        stations, along = on_path(path, points)
        free = numpy.ones(len(points), dtype=bool)
        for window in (w for w in said["windows"] if w["body"] == body):
            within = free & holds(window, pack.bodies[body], points, normals, stations, along)
            free &= ~within
            area = within.sum() * each_mm2
            noise = 4 * each_mm2 * numpy.sqrt(within.sum())
            assert window["area_mm2"] > 0
            assert abs(area - window["area_mm2"]) < TOLERANCE * window["area_mm2"] + noise, (window["name"], area)
            reached = stations[within]
            assert reached.min() > window["station_mm"][0] - 1.5
            assert reached.max() < window["station_mm"][1] + 1.5


def outside(placed, body):
    """Points spread over the outer faces of a body's pieces, their normals, and the area that each stands for."""
    meshes = [p.mesh.submesh([numpy.flatnonzero(p.on_surface)], append=True) for p in placed if p.piece.row["body"] == body]
    whole = trimesh.util.concatenate([m for m in meshes if len(m.faces)])
    points, faces = trimesh.sample.sample_surface(whole, SAMPLES, seed=11)
    return numpy.asarray(points), whole.face_normals[faces], whole.area / SAMPLES


def holds(window, mesh, points, normals, stations, along):
    keeps = numpy.ones(len(points), dtype=bool)
    for end in window["joined_mm"]:
        keeps &= ~((abs(stations - end) < JOINED_MM) & (abs((normals * along).sum(axis=1)) > 0.9))
    if window["stations_mm"]:
        keeps &= numpy.any([(stations >= a) & (stations <= b) for a, b in window["stations_mm"]], axis=0)
    if window["faces"]:
        through = numpy.cross(along, [0.0, 1.0, 0.0])
        through /= numpy.linalg.norm(through, axis=1, keepdims=True)
        frame = {1: numpy.cross(through, along), 2: through}
        cosine = numpy.cos(numpy.radians(window["faces"]["within_deg"]))
        looks = [((normals * frame[axis]).sum(axis=1) * sign >= cosine) for axis, sign in sides(window["faces"])]
        keeps &= numpy.any(looks, axis=0)
    if window["outer_third"]:
        low, high = reach(mesh, points[:, 0], 1)
        open_mm = numpy.maximum((high - low) / 6, 8.0)
        keeps &= (points[:, 1] <= low + open_mm) | (points[:, 1] >= high - open_mm)
    if window["band"]:
        in_band = numpy.zeros(len(points), dtype=bool)
        for (axis, sign), line in zip(sides(window["band"]), window["band"]["lines"], strict=True):
            low, high = reach(mesh, points[:, 0], axis)
            near = to_line(points, numpy.array(line)) <= window["band"]["width_mm"]
            in_band |= near & (sign * (points[:, axis] - (low + high) / 2) >= 0)
        keeps &= in_band
    return keeps


def sides(rule):
    return [SIDES[word] for word in rule["sides"]]


def reach(mesh, x, axis):
    """Least and largest coordinate of a body at each x, from its vertices in slices."""
    vertices = mesh.vertices
    slices = numpy.arange(vertices[:, 0].min(), vertices[:, 0].max() + SLICE_MM, SLICE_MM)
    which = numpy.clip(numpy.searchsorted(slices, vertices[:, 0]) - 1, 0, len(slices) - 1)
    low, high = numpy.full(len(slices), numpy.inf), numpy.full(len(slices), -numpy.inf)
    numpy.minimum.at(low, which, vertices[:, axis])
    numpy.maximum.at(high, which, vertices[:, axis])
    known = numpy.isfinite(low)
    middle = slices[known] + SLICE_MM / 2
    return numpy.interp(x, middle, low[known]), numpy.interp(x, middle, high[known])


def to_line(points, line):
    """Distance to the nearest segment of a polyline."""
    best = numpy.full(len(points), numpy.inf)
    for a, b in zip(line[:-1], line[1:]):
        share = numpy.clip((points - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1)
        best = numpy.minimum(best, numpy.linalg.norm(points - a - share[:, None] * (b - a), axis=1))
    return best


def on_path(path, points):
    """Station and direction along of the path's nearest point to each point; the ends run on straight."""
    best = numpy.full(len(points), numpy.inf)
    stations, along = numpy.zeros(len(points)), numpy.zeros((len(points), 3))
    start = 0.0
    for i, (a, b) in enumerate(zip(path[:-1], path[1:])):
        length = numpy.linalg.norm(b - a)
        share = (points - a) @ (b - a) / length**2
        share = numpy.clip(share, -numpy.inf if i == 0 else 0, numpy.inf if i == len(path) - 2 else 1)
        distance = numpy.linalg.norm(points - a - share[:, None] * (b - a), axis=1)
        nearer = distance < best
        best[nearer] = distance[nearer]
        stations[nearer] = (start + share * length)[nearer]
        along[nearer] = (b - a) / length
        start += length
    return stations, along
