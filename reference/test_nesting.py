"""A hundred random loads nested by the program, judged by shapely and by a shelf method written here."""

import json
import os
import subprocess

import numpy
import pytest
import shapely

from pack import ROOT


@pytest.fixture(scope="module")
def loads():
    program = os.environ.get("NEST_CASES", str(ROOT / "target/debug/examples/nest_cases"))
    done = subprocess.run([program], capture_output=True, text=True, encoding="utf-8", timeout=1800)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_nothing_overlaps_and_every_piece_is_laid_once(loads):
    bed = loads["bed"]
    width, depth = bed["size_mm"]
    keep = bed["margin_mm"] - 1e-6
    room = shapely.box(keep, keep, width - keep, depth - keep)
    assert len(loads["cases"]) == 100
    for number, case in enumerate(loads["cases"]):
        laid = sorted(at["piece"] for plate in case["plates"] for at in plate)
        assert laid == list(range(len(case["pieces"]))), number
        for plate in case["plates"]:
            polygons = [shapely.Polygon(at["outline"]) for at in plate]
            for k, (at, polygon) in enumerate(zip(plate, polygons, strict=True)):
                own = case["pieces"][at["piece"]]
                assert polygon.is_valid and room.covers(polygon), number
                # Turned and shifted, nothing else: the distances from corner to corner stay.
                steps = [numpy.hypot(*numpy.diff(points, axis=0).T) for points in (own["outline"], at["outline"])]
                assert numpy.abs(steps[0] - steps[1]).max() < 1e-9, number
                for other, other_polygon in zip(plate[:k], polygons[:k], strict=True):
                    need = bed["spacing_mm"] + own["brim_mm"] + case["pieces"][other["piece"]]["brim_mm"]
                    assert polygon.distance(other_polygon) >= need - 1e-6, number


def shelves(bed, pieces):
    """Next-fit decreasing height (Coffman, Garey, Johnson and Tarjan, 1980) on boxes with half the spacing round them."""
    room = numpy.array(bed["size_mm"]) - 2 * bed["margin_mm"] + bed["spacing_mm"]
    boxes = [numpy.ptp(p["outline"], axis=0) + bed["spacing_mm"] + 2 * p["brim_mm"] for p in pieces]
    count, x, y, shelf = 0, numpy.inf, numpy.inf, 0.0
    for width, depth in sorted(boxes, key=lambda box: -box[1]):
        if x + width > room[0]:
            x, y, shelf = 0.0, y + shelf, depth
            if y + depth > room[1]:
                count, y = count + 1, 0.0
        x += width
    return count


def test_no_more_plates_than_on_shelves(loads):
    ours = [len(case["plates"]) for case in loads["cases"]]
    theirs = [shelves(loads["bed"], case["pieces"]) for case in loads["cases"]]
    assert all(a <= b for a, b in zip(ours, theirs, strict=True)), (ours, theirs)
    # Nesting must be worth something besides.
    assert sum(ours) <= 0.85 * sum(theirs), (sum(ours), sum(theirs))
