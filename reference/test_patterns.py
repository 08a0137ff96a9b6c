"""Patterns at full size: squares and neighbouring pages true, masks as large as what they are said to cover."""

import json
import re
import xml.etree.ElementTree

import pytest
import shapely

# ISO 216; ANSI/ASME Y14.1: lying.
PAPERS = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}
# Printers at home leave so much, mm.
MARGIN_MM = 10.0
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def patterns(pack):
    home = pack.home / "patterns"
    return home, json.loads((home / "index.json").read_text(encoding="utf-8"))["patterns"]


def read(path):
    return xml.etree.ElementTree.parse(path).getroot()


def on_paper(patterns):
    home, index = patterns
    return [(home, entry, paper) for entry in index for paper in entry["papers"]]


def test_everything_asked_for_is_there(patterns, pack):
    home, index = patterns
    assert {"outline", "masks", "wraps", "cut-list", "sizing"} <= {entry["name"] for entry in index}
    said = {file for entry in index for file in entry["files"]}
    said |= {file for entry in index for paper in entry["papers"] for file in [paper["pdf"], *paper["pages"]]}
    assert said | {"index.json"} == {str(path.relative_to(home)) for path in home.rglob("*") if path.is_file()}
    name = pack.project["prop"]["name"]
    for home, _, paper in on_paper(patterns):
        for page in paper["pages"]:
            root = read(home / page)
            wide, high = PAPERS[paper["paper"]]
            assert (root.get("width"), root.get("height")) == (f"{wide:g}mm", f"{high:g}mm"), page
            assert root.get("viewBox") == f"0 0 {wide:g} {high:g}", page
            assert any(name in (text.text or "") for text in root.iter(SVG + "text")), page


def test_squares_measure_what_they_say(patterns):
    for home, _, paper in on_paper(patterns):
        if not paper["tiles"]:
            continue
        root = read(home / paper["pages"][0])
        squares = [r for r in root.iter(SVG + "rect") if r.get("class") == "square"]
        assert [(r.get("width"), r.get("height")) for r in squares] == [("100", "100"), ("101.6", "101.6")]
        assert float(squares[1].get("width")) == 4 * 25.4
        wide, high = PAPERS[paper["paper"]]
        for x, y, w, h in ([float(r.get(k)) for k in ("x", "y", "width", "height")] for r in squares):
            assert min(x, y, wide - x - w, high - y - h) >= MARGIN_MM


def test_neighbouring_pages_show_the_same_sheet_and_their_crosses_meet(patterns):
    compared = 0
    for home, _, paper in on_paper(patterns):
        if not paper["tiles"]:
            continue
        pages = [(tile["from_mm"], home / page) for tile, page in zip(paper["tiles"], paper["pages"][1:], strict=True)]
        for a, one in pages:
            for b, other in pages:
                step = [q - p for p, q in zip(a, b)]
                size = paper["shown_mm"][1]
                if not ((0 < step[0] < size[0] and step[1] == 0) or (step[0] == 0 and 0 < step[1] < size[1])):
                    continue
                mine, others = shown(one, a, paper), shown(other, b, paper)
                # Three crosses lie on the line where they meet, two lines each.
                assert len(mine["marks"] & others["marks"]) == 6, (one, other)
                low = [max(p, q) for p, q in zip(a, b)]
                far = [min(p, q) + s for p, q, s in zip(a, b, size)]
                # What crosses the strip that both show is on both, with the same numbers.
                strip = shapely.box(*low, *far).buffer(-0.5)
                for kinds in (mine["lines"] ^ others["lines"],):
                    assert not [k for k in kinds if shapely.LineString(k).intersects(strip)], (one, other)
                compared += 1
    assert compared > 10


def shown(path, begins, paper):
    """Crosses of a page, and straight lines of its part of the sheet, on the sheet in hundredths of a millimetre."""
    root = read(path)
    window = next(g for g in root.iter(SVG + "g") if (g.get("transform") or "").startswith("translate"))
    shift = [float(v) for v in re.findall(r"-?[\d.]+", window.get("transform"))]
    corner = paper["shown_mm"][0]
    # The sheet's own numbers, moved so that what the page begins with lies at the page's corner.
    assert all(abs(c - b - s) < 0.006 for c, b, s in zip(corner, begins, shift)), path
    lines = {ends(line) for line in window.iter(SVG + "line")}
    marks = {
        tuple((round(x - shift[0], 2), round(y - shift[1], 2)) for x, y in ends(line))
        for line in root.iter(SVG + "line")
        if line.get("class") == "mark"
    }
    return {"lines": lines, "marks": marks}


def ends(line):
    x1, y1, x2, y2 = (float(line.get(k)) for k in ("x1", "y1", "x2", "y2"))
    return (x1, y1), (x2, y2)


def test_masks_are_as_large_as_their_windows_and_true(patterns, pack):
    home, index = patterns
    masks = next(entry for entry in index if entry["name"] == "masks")
    windows = json.loads((pack.home / "light/windows.json").read_text(encoding="utf-8"))["windows"]
    drawn = mask_areas(home / "masks.svg")
    assert masks["parts"]
    for part in masks["parts"]:
        assert abs(part["edge_error"]) < 0.03 and abs(part["area_error"]) < 0.03, part
        flat = part["area_mm2"] * (1 + part["area_error"])
        assert abs(drawn[part["name"]] - flat) < 0.01 * flat + 2.0, (part, drawn[part["name"]])
    for window in windows:
        parts = [p for p in masks["parts"] if p["window"] == window["name"]]
        if window["implied"] and not parts:
            continue
        covered = sum(p["area_mm2"] for p in parts)
        assert abs(covered - window["area_mm2"]) < 0.01 * window["area_mm2"] + 10, (window["name"], covered)


def mask_areas(path):
    """Area within each mask's thick outline in the drawing, holes off, by shapely."""
    areas = {}
    for group in read(path).iter(SVG + "g"):
        name = (group.findtext(SVG + "title") or "").removeprefix("Mask ").split(":")[0]
        outline = next((p for p in group.findall(SVG + "path") if p.get("class") == "thick"), None)
        if outline is None or not group.get("id", "").startswith("masks-mask-"):
            continue
        rings = [
            [tuple(map(float, point.split())) for point in re.findall(r"[-\d.]+ [-\d.]+", ring)]
            for ring in outline.get("d").split("Z")
            if ring.strip()
        ]
        shapes = [shapely.Polygon(ring) for ring in rings]
        assert all(shape.is_valid for shape in shapes), name
        shapes.sort(key=lambda s: -s.area)
        areas[name] = shapes[0].area - sum(s.area for s in shapes[1:])
    return areas
