"""Covers go on: each pose of their way replayed by manifold3d; hollows of resin are drained."""

import numpy
import pytest
import trimesh

from test_parts import FAR_MM, FILE_STEP_MM, gap, ways_in
from test_pieces import as_manifold


@pytest.fixture(scope="module")
def on_their_way(pack):
    """Covers as pieces, each with its way."""
    ways = {w["piece"]: w for w in ways_in(pack) if w["kind"] == "cover"}
    pieces = [p for p in pack.pieces if p.row["body"] in pack.covers]
    assert sorted(ways) == sorted(p.row["number"] for p in pieces)
    return [(p, ways[p.row["number"]]) for p in pieces]


def test_every_cover_keeps_its_gap_all_the_way(pack, on_their_way):
    standing = [(p.row["number"], as_manifold(p.placed()), p.placed().bounds) for p in pack.pieces]
    for piece, way in on_their_way:
        own = piece.row["number"]
        poses = [numpy.array(p).reshape(4, 4) for p in way["poses"]]
        assert len(poses) >= 2 and numpy.array_equal(poses[-1], numpy.eye(4)), piece.name
        assert way["clearance_mm"] > 0.1, piece.name
        tightest = FAR_MM
        for pose in poses:
            turn = pose[:3, :3]
            assert numpy.abs(turn @ turn.T - numpy.eye(3)).max() < 1e-9, f"{piece.name}: not a rigid motion"
            moved = piece.placed()
            moved.apply_transform(pose)
            least, other = gap(moved, standing, {own, *way["away"]})
            assert least >= way["clearance_mm"] - FILE_STEP_MM, f"{piece.name}: {least:.3f} mm to piece {other}"
            tightest = min(tightest, least)
        # It is on, and not just somewhere near.
        assert tightest < FAR_MM, piece.name
        start = piece.placed()
        start.apply_transform(poses[0])
        spans = [p.placed().bounds for p in pack.pieces if p.row["number"] not in {own, *way["away"]}]
        low, high = numpy.min([s[0] for s in spans], axis=0), numpy.max([s[1] for s in spans], axis=0)
        assert (start.bounds[0] > high - 5.0).any() or (start.bounds[1] < low + 5.0).any(), f"{piece.name}: not off"


def test_no_hollow_of_resin_is_closed(pack):
    """A cavity without a hole would be a shell of its own."""
    for piece in (p for p in pack.pieces if p.row["body"] in pack.covers):
        faces = numpy.arange(len(piece.mesh.faces))
        assert len(trimesh.graph.connected_components(piece.mesh.face_adjacency, nodes=faces)) == 1, piece.name
