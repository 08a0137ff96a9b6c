"""Nothing is lost: pieces and what was taken away add up to the maker's solid, by manifold3d as well."""

import manifold3d
import numpy
import pytest

from test_pieces import as_manifold

SHARE = 1e-4


# Coordinates are written in steps of this.
GRID_MM = 1 / 1024


def test_each_piece_has_its_stated_volume(pack):
    for piece in pack.pieces:
        assert piece.mesh.volume == pytest.approx(piece.row["volume_mm3"], rel=SHARE), piece.name
        assert piece.row["taken_mm3"] >= 0 and piece.row["added_mm3"] >= 0, piece.name


def test_stated_volumes_add_up_to_each_body(pack):
    for name, body in pack.bodies.items():
        rows = [p.row for p in pack.pieces if p.row["body"] == name and p.row["number"] not in pack.lids]
        total = sum(r["volume_mm3"] + r["taken_mm3"] - r["added_mm3"] for r in rows)
        assert total == pytest.approx(body.volume, rel=SHARE), name


def test_what_is_left_of_the_solid_is_what_was_taken(pack):
    """The maker's solid less all pieces, by manifold3d: its volume is the difference of theirs only when no two pieces
    share room and none lies outside."""
    union = manifold3d.Manifold.batch_boolean
    core = [b for name, b in pack.bodies.items() if name not in pack.covers]
    alone = union([as_manifold(b) for b in core], manifold3d.OpType.Add)
    assert alone.volume() == pytest.approx(sum(b.volume for b in core), rel=SHARE), "the bodies overlap"
    solid = union([as_manifold(b) for b in pack.bodies.values()], manifold3d.OpType.Add)
    whole = solid.volume()
    # Where a cover is drawn into the body it sits on, the bore takes from the cover what the body keeps.
    shared = sum(b.volume for b in pack.bodies.values()) - whole
    pieces = [as_manifold(p.placed()) for p in pack.pieces]
    rest = manifold3d.Manifold.batch_boolean([solid, *pieces], manifold3d.OpType.Subtract)
    assert rest.volume() == pytest.approx(whole - sum(p.volume() for p in pieces), abs=SHARE * whole)
    # What was taken for a lid is filled by the lid again.
    taken = sum(
        -p.volume() if piece.row["number"] in pack.lids else piece.row["taken_mm3"] - piece.row["added_mm3"]
        for piece, p in zip(pack.pieces, pieces)
    )
    assert rest.volume() == pytest.approx(taken - shared, abs=SHARE * whole)


def test_no_two_pieces_share_room(pack):
    placed = [(p.name, as_manifold(p.placed()), p.placed().bounds) for p in pack.pieces]
    for i, (name, solid, bounds) in enumerate(placed):
        for other_name, other, other_bounds in placed[:i]:
            if (bounds[0] < other_bounds[1]).all() and (other_bounds[0] < bounds[1]).all():
                both = solid ^ other
                shared = both.volume()
                # Faces that touch may share what rounding to the grid moved them: a film thinner than one step of it.
                film = 2 * shared / both.surface_area() if shared > 0 else 0
                assert shared <= 1e-5 * min(solid.volume(), other.volume()) or film <= GRID_MM, (
                    f"{name} and {other_name}: {shared} mm3, {film} mm thick"
                )
