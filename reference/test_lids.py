"""Lids on their ways: those of the examples, and one that slides on a plain handle of its own."""

import manifold3d
import numpy
import pytest
import trimesh

import pack as packs
from test_formats import run
from test_parts import FAR_MM, gap, ways_in
from test_pieces import as_manifold

# A lid lies on a tenth of air, and may come so near the body on its way.
LID_MM = 0.05
# Pulled so far straight off, one that slides has met the body.
PULLED_MM = 1.2

HANDLE = """
[prop]
name = "Handle"
[shape]
file = "handle.stl"
length = "30 cm"
tip = "high"
[body.handle]
role = "plain"
material = "abs-white"
[printer.bench]
kind = "filament-220"
[part.cell]
kind = "cell-18650"
in = "handle"
lid = "slide"
"""


@pytest.fixture(scope="module")
def handle(tmp_path_factory):
    """An oval of 38 by 32 mm with a cell behind a lid that slides."""
    folder = tmp_path_factory.mktemp("handle")
    angle = numpy.radians(numpy.arange(0, 360, 3))
    ring = numpy.column_stack([numpy.zeros_like(angle), 19 * numpy.cos(angle), 16 * numpy.sin(angle)])
    trimesh.convex.convex_hull(numpy.vstack([ring, ring + [300, 0, 0]])).export(folder / "handle.stl")
    (folder / "prop.toml").write_text(HANDLE, encoding="utf-8")
    done = run("build", folder / "prop.toml", "--out", folder / "pack")
    assert done.returncode == 0, done.stdout + done.stderr
    return packs.read(folder / "pack")


def followed(pack):
    """Moves each lid along its way: how many of them snap."""
    pieces = {p.row["number"]: p for p in pack.pieces}
    solids = [(number, as_manifold(p.placed()), p.placed().bounds) for number, p in pieces.items()]
    ways = {w["piece"]: w for w in ways_in(pack) if w["kind"] == "lid"}
    assert sorted(ways) == sorted(pack.lids)
    for number, way in ways.items():
        name, mesh = pieces[number].name, pieces[number].placed()
        poses = [numpy.array(p).reshape(4, 4) for p in way["poses"]]
        assert len(poses) >= 4 and numpy.array_equal(poses[-1], numpy.eye(4)), name
        steps = [numpy.linalg.norm(b[:3, 3] - a[:3, 3]) for a, b in zip(poses, poses[1:])]
        assert max(steps) <= 2.0 + 1e-9, f"{name}: {max(steps)} mm from pose to pose"
        there, snap = [s for s in solids if s[0] != number], way["snap"]
        if snap:
            ball = manifold3d.Manifold.sphere(snap["within_mm"] + 0.1, 48).translate(snap["at"])
            there = [(n, solid - ball, bounds) for n, solid, bounds in there]
        tightest = FAR_MM
        for pose in poses:
            least, piece = gap(moved(mesh, pose[:3, 3]), there)
            assert least >= LID_MM, f"{name}: {least:.3f} mm to piece {piece}, moved by {pose[:3, 3]}"
            tightest = min(tightest, least)
        assert abs(tightest - way["clearance_mm"]) <= 0.03, f"{name}: {tightest:.3f}, stated {way['clearance_mm']} mm"
        # Off its seat it leaves square to it, first of all from where it is seated unless it slides.
        out = poses[0][:3, 3] - poses[3][:3, 3]
        pulled = moved(mesh, PULLED_MM * out / numpy.linalg.norm(out))
        assert (gap(pulled, there)[0] == 0.0) == bool(snap), f"{name}: one that slides is held, no other"
    return sum(bool(w["snap"]) for w in ways.values())


def moved(mesh, by):
    copy = mesh.copy()
    copy.apply_translation(by)
    return copy


def test_every_lid_has_its_way(pack):
    followed(pack)


def test_a_lid_that_slides_has_its_way_and_no_other(handle):
    assert followed(handle) == 1
