"""Plates as written: nothing overlaps, measured by shapely on the meshes; times and masses add up."""

import json
import math

import numpy
import pytest
import shapely

import pack as packs

# Coordinates and placings are read as 32-bit floats: 2e-5 mm at 250 mm, twice for a turn.
FILE_STEP_MM = 1e-4


@pytest.fixture(scope="module")
def index(pack):
    return json.loads((pack.home / "plates/index.json").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def plates(pack, index):
    """Each row with what lib3mf read, in strict mode, from its file."""
    return [(row, packs.read_3mf(pack.home / "plates" / row["file"])) for row in index["plates"]]


def outline(piece):
    polygon = shapely.Polygon(piece["outline"])
    return polygon if polygon.is_valid else polygon.buffer(0)


def test_every_piece_is_on_one_plate_and_each_plate_is_strictly_valid(pack, plates):
    on = sorted(piece["name"] for row, _ in plates for piece in row["pieces"])
    assert on == sorted(piece.name for piece in pack.pieces)
    for row, file in plates:
        assert file.warnings == [] and file.unit == "mm", row["name"]
        assert [named.name for named in file.objects] == [piece["name"] for piece in row["pieces"]], row["name"]
        assert all(named.manifold_and_oriented for named in file.objects), row["name"]


def test_a_plate_holds_the_pieces_themselves_moved_rigidly(pack, plates):
    by_name = {piece.name: piece for piece in pack.pieces}
    for row, file in plates:
        for named, piece in zip(file.objects, row["pieces"], strict=True):
            move = numpy.array(piece["to_plate"]).reshape(4, 4)
            turn = move[:3, :3]
            assert numpy.abs(turn @ turn.T - numpy.eye(3)).max() < 1e-12 and numpy.linalg.det(turn) > 0
            assert numpy.abs(turn[2] - [0, 0, 1]).max() == 0 and move[2, 3] == 0, "about the vertical, along the bed"
            own = by_name[named.name].mesh.vertices @ turn.T + move[:3, 3]
            assert numpy.abs(own - named.mesh.vertices).max() < FILE_STEP_MM, named.name
            assert by_name[named.name].row["printer"] == row["printer"]
            assert by_name[named.name].row["material"] == row["material"]


def test_the_meshes_stay_inside_their_outlines_and_the_bed(plates):
    for row, file in plates:
        bed = numpy.array(row["bed_mm"])
        for named, piece in zip(file.objects, row["pieces"], strict=True):
            low, high = named.mesh.bounds
            keep = row["margin_mm"] - FILE_STEP_MM
            assert (low[:2] >= keep).all() and (high[:2] <= bed[:2] - keep).all() and high[2] <= bed[2], named.name
            # The outline has no hole: a triangle whose sides lie inside lies inside.
            edges = numpy.unique(numpy.sort(named.mesh.edges, axis=1), axis=0)
            flat = named.mesh.vertices[:, :2]
            grown = outline(piece).buffer(FILE_STEP_MM)
            shapely.prepare(grown)
            assert shapely.covers(grown, shapely.linestrings(flat[edges])).all(), named.name


def test_pieces_keep_their_distance(plates):
    pairs = 0
    for row, _ in plates:
        laid = [(piece, outline(piece)) for piece in row["pieces"]]
        for k, (a, shape_a) in enumerate(laid):
            for b, shape_b in laid[:k]:
                need = row["spacing_mm"] + a["brim_mm"] + b["brim_mm"]
                assert shape_a.distance(shape_b) >= need - 1e-6, (row["name"], a["number"], b["number"])
                pairs += 1
    assert pairs > 0


def test_times_and_masses_add_up(pack, index):
    for end in ("value", "low", "high"):
        busy = {}
        for row in index["plates"]:
            busy[row["printer"]] = busy.get(row["printer"], 0) + row["time_s"][end]
        assert index["elapsed_s"][end] == pytest.approx(max(busy.values()), rel=1e-12)
    for stock in index["materials"]:
        plates = [row for row in index["plates"] if row["material"] == stock["material"]]
        assert stock["plates"] == len(plates)
        assert stock["mass_g"]["value"] == pytest.approx(sum(row["mass_g"]["value"] for row in plates))
        pieces = sum(p.row["mass_g"]["value"] for p in pack.pieces if p.row["material"] == stock["material"])
        # Brims of one layer add little.
        assert pieces <= stock["mass_g"]["value"] <= pieces * 1.02
        # Enough for the heavy end and one plate in ten failing; resin is counted in ml, by its own mass for each.
        per_unit = 1.0 if stock["unit"] == "m" else stock["mass_g"]["value"] / stock["amount"]["value"]
        most = stock["mass_g"]["high"] / per_unit * (1 + stock["spoilt_share"][1])
        assert stock["packages"] == math.ceil(most / stock["package"])
    # A plate is no shorter than its slowest piece, and no longer than all of them one by one.
    times = {p.row["number"]: p.row["print_time_s"]["value"] for p in pack.pieces}
    for row in index["plates"]:
        each = [times[piece["number"]] for piece in row["pieces"]]
        assert max(each) - 1e-6 <= row["time_s"]["value"] <= sum(each) + 1e-6, row["name"]
