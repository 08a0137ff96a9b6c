"""Parts as solids in the assembled prop: air around them, their way in, their neighbours; wires in their ways; lids."""

import csv
import json

import manifold3d
import numpy
import pytest

import outer
from near import sample
from test_pieces import as_manifold

# Common practice, no source: less air than this is a press fit; a sensor is glued in and may sit closer.
CLEAR_MM = 0.15
CLEAR_SENSOR_MM = 0.1
# Between parts: insulation and a little.
APART_MM = 1.0
# Files hold 32-bit floats.
FILE_STEP_MM = 1e-3
# Farther than this nothing is measured.
FAR_MM = 2.0
# A bundle drawn this much thinner than stated must touch nothing.
SLIM = 0.98


class Part:
    """A row of the list with its solid and its way."""

    def __init__(self, row, mesh, way):
        self.row, self.mesh, self.way = row, mesh, way
        self.name = f"part {row['letter']} {row['name']}"
        self.least = CLEAR_SENSOR_MM if row["kind"] == "sensor" else CLEAR_MM


@pytest.fixture(scope="module")
def parts(pack):
    """By the project: where it names parts, list, solids and ways must hold every one of them."""
    named = pack.project.get("part", {})
    meshes = {n: m for n, m in pack.inside.items() if n.startswith("part ")}
    if not named:
        assert meshes == {}
        return []
    rows = list(csv.DictReader((pack.home / "parts/parts.csv").open(newline="")))
    assert sorted(r["name"] for r in rows) == sorted(named)
    ways = {w["name"]: w for w in ways_in(pack) if w["kind"] == "part"}
    assert sorted(ways) == sorted(named)
    found = [Part(r, meshes.pop(f"part {r['letter']} {r['name']}"), ways[r["name"]]) for r in rows]
    assert meshes == {}
    for part in found:
        assert part.mesh.is_watertight and part.mesh.volume > 0, part.name
        # As large as the list says: a box of its measures holds it, and it spans the box.
        size = sorted(float(part.row[k]) for k in ("length mm", "width mm", "thickness mm"))
        spans = part.mesh.bounding_box_oriented.primitive.extents
        assert (numpy.sort(spans) >= numpy.array(size) * 0.97 - 0.05).all(), f"{part.name}: {spans}, listed {size}"
    return found


@pytest.fixture(scope="module")
def solids(pack):
    """Each piece in the assembled prop: number, solid, box."""
    return [(p.row["number"], as_manifold(p.placed()), p.placed().bounds) for p in pack.pieces]


def ways_in(pack):
    return json.loads((pack.home / "pieces/ways.json").read_text(encoding="utf-8"))["ways"]


def gap(mesh, solids, away=()):
    """Least distance from a solid to the pieces that are there, and which piece; overlap counts as none at all."""
    own = as_manifold(mesh)
    low, high = mesh.bounds[0] - FAR_MM, mesh.bounds[1] + FAR_MM
    least, nearest = FAR_MM, None
    for number, solid, bounds in solids:
        if number in away or (bounds[0] > high).any() or (bounds[1] < low).any():
            continue
        # Only what is about the part: its own faces stay, those of the box are too far to matter.
        near = solid ^ manifold3d.Manifold.cube(high - low + 2.0).translate(low - 1.0)
        if near.is_empty():
            continue
        here = 0.0 if (own ^ near).volume() > 1e-6 else own.min_gap(near, FAR_MM)
        if here < least:
            least, nearest = here, number
    return least, nearest


def test_every_part_has_its_air(parts, solids):
    for part in parts:
        least, piece = gap(part.mesh, solids)
        assert least >= part.least - FILE_STEP_MM, f"{part.name}: {least:.3f} mm to piece {piece}"


def test_every_part_has_its_way_in(parts, solids):
    for part in parts:
        poses = [numpy.array(p).reshape(4, 4) for p in part.way["poses"]]
        assert len(poses) >= 2 and numpy.array_equal(poses[-1], numpy.eye(4)), part.name
        steps = [numpy.linalg.norm(b[:3, 3] - a[:3, 3]) for a, b in zip(poses, poses[1:])]
        assert max(steps) <= 2.0 + 1e-9, f"{part.name}: {max(steps)} mm from pose to pose"
        tightest = FAR_MM
        for pose in poses:
            moved = part.mesh.copy()
            moved.apply_transform(pose)
            least, piece = gap(moved, solids, part.way["away"])
            at = numpy.linalg.norm(pose[:3, 3])
            assert least >= part.least - FILE_STEP_MM, f"{part.name}: {least:.3f} mm to piece {piece}, {at:.1f} mm out"
            tightest = min(tightest, least)
        # At its largest it has what is stated; at nominal size at least as much.
        assert tightest >= part.way["clearance_mm"] - 0.02, f"{part.name}: {tightest:.3f} mm"
        # Where it starts it is free: nothing of the prop is left before it, as far as it is long again.
        start = part.mesh.copy()
        start.apply_transform(poses[0])
        out = poses[0][:3, 3] / numpy.linalg.norm(poses[0][:3, 3])
        for step in (5.0, 20.0, 60.0):
            further = start.copy()
            further.apply_translation(out * step)
            assert gap(further, solids, part.way["away"])[0] >= part.least - FILE_STEP_MM, f"{part.name}: not free"


def test_parts_keep_apart(parts):
    own = [(p.name, as_manifold(p.mesh)) for p in parts]
    for i, (name, solid) in enumerate(own):
        for other_name, other in own[:i]:
            assert (solid ^ other).volume() < 1e-6, f"{name} and {other_name} overlap"
            apart = solid.min_gap(other, FAR_MM)
            assert apart >= APART_MM - FILE_STEP_MM, f"{name} and {other_name}: {apart:.2f} mm"


def test_every_bundle_has_its_way(pack, parts, solids):
    """Outside of the plugs' homes, where a bundle comes apart into single wires, a round bar of its thickness laid along
    the way meets no piece."""
    path = pack.home / "pieces/wires.json"
    if not path.exists():
        assert len(parts) < 2
        return
    wires = json.loads(path.read_text(encoding="utf-8"))["wires"]
    letters = {p.row["letter"] for p in parts}
    for wire in wires:
        assert {wire["from"], wire["to"]} <= letters | {None}, wire["name"]
        points = numpy.array(wire["points"])
        assert len(points) >= 2, f"{wire['name']} has no way"
        bar = along(points, wire["homes_mm"], wire["bundle_mm"] / 2 * SLIM)
        if bar is None:
            continue
        for number, solid, bounds in solids:
            if (bounds[0] < points.max(axis=0) + 3).all() and (points.min(axis=0) - 3 < bounds[1]).all():
                shared = (bar ^ solid).volume()
                assert shared < 0.01, f"{wire['name']} and piece {number} share {shared:.3f} mm3"


def along(points, homes, radius):
    """A round bar along the way, with the stretches left out that lie within its ends' homes."""
    lengths = numpy.linalg.norm(numpy.diff(points, axis=0), axis=1)
    counts = numpy.maximum(numpy.ceil(lengths / 1.0).astype(int), 1)
    fine = [a + (b - a) * k / n for a, b, n in zip(points, points[1:], counts) for k in range(n)] + [points[-1]]
    fine = numpy.array(fine)
    kept = numpy.linalg.norm(fine - points[0], axis=1) > homes[0] + 1
    kept &= numpy.linalg.norm(fine - points[-1], axis=1) > homes[1] + 1
    ball = manifold3d.Manifold.sphere(radius, 24)
    links = [
        manifold3d.Manifold.batch_hull([ball.translate(a), ball.translate(b)])
        for a, b, here in zip(fine, fine[1:], kept[:-1] & kept[1:])
        if here
    ]
    return manifold3d.Manifold.batch_boolean(links, manifold3d.OpType.Add) if links else None


def test_lids_are_the_makers_surface(pack, parts):
    """A lid is cut from the maker's own surface: seen from where it comes off, it shows that and its rim."""
    numbers = pack.lids
    if not numbers:
        return
    surfaces, placed = outer.place(pack)
    for p in (p for p in placed if p.piece.row["number"] in numbers):
        letters = [q for q in parts if q.row["comes out"] == f"under lid {p.piece.row['number']:02}"]
        out = numpy.array(letters[0].way["poses"][-2]).reshape(4, 4)[:3, 3]
        out = out / numpy.linalg.norm(out)
        faces = p.mesh.face_normals @ out > 0.3
        area = p.mesh.area_faces
        shown = area[faces & p.on_surface].sum()
        plan = (area * numpy.abs(p.mesh.face_normals @ out)).sum() / 2
        assert shown >= 0.8 * plan, f"{p.piece.name}: {shown:.0f} of {plan:.0f} mm2 are the maker's surface"
        points, _ = sample(p.mesh.submesh([numpy.flatnonzero(faces & p.on_surface)], append=True), 4000, seed=2)
        worst = surfaces[p.piece.row["body"]].nearest(points)[1].max()
        assert worst <= 0.01, f"{p.piece.name}: {worst:.4f} mm off the maker's surface"
