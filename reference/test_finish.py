"""What is painted, measured by trimesh on the pieces as they were written: every face that lies on the maker's surface."""

import csv
import json
import tomllib

import numpy
import pytest
import shapely

import outer
import pack as packs


@pytest.fixture(scope="module")
def placed(pack):
    return outer.place(pack)


@pytest.fixture
def areas(pack):
    with open(pack.home / "work/areas.csv", encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def joined_mm2(surfaces, body, covers, mesh, faces):
    """Of these faces what lies against another body: the middles of quarters of quarters of each, in shares of its area."""
    others = [s for name, s in surfaces.items() if name != body and name not in covers]
    if body in covers:
        return 0.0
    low, high = mesh.triangles[faces].min(axis=1), mesh.triangles[faces].max(axis=1)
    gone = 0.0
    for surface in others:
        box = surface.triangles.reshape(-1, 3)
        near = ((low <= box.max(axis=0) + 0.01) & (high >= box.min(axis=0) - 0.01)).all(axis=1)
        near &= numpy.abs(mesh.face_normals[faces][:, 0]) > 0.7
        for face in faces[near]:
            points, share = spread(mesh.triangles[face])
            on, distance, triangle = surface.nearest(points, candidates=24)
            against = (surface.normals[triangle] @ mesh.face_normals[face]) < -0.7
            gone += mesh.area_faces[face] * ((distance < 0.01) & against).mean()
    return gone


def spread(triangle, parts=12):
    """Middles of the small triangles that a triangle is cut into."""
    a, b, c = triangle
    grid = [(i + 1 / 3, j + 1 / 3) for i in range(parts) for j in range(parts - i)]
    grid += [(i + 2 / 3, j + 2 / 3) for i in range(parts) for j in range(parts - i - 1)]
    u, v = numpy.array(grid).T / parts
    return a + numpy.outer(u, b - a) + numpy.outer(v, c - a), len(grid)


def test_the_outside_of_every_piece_is_within_half_a_percent(pack, placed, areas):
    surfaces, pieces = placed
    for p in pieces:
        number = f"{p.piece.row['number']:02d}"
        told = sum(float(r["area_mm2"]) for r in areas if r["piece"] == number and r["place"] != "hollow")
        faces = numpy.flatnonzero(p.on_surface)
        body = p.piece.row["body"]
        mesh = p.mesh
        # Faces on the surface that look the other way are the insides of pockets that end on it.
        _, _, at = surfaces[body].nearest(mesh.triangles_center[faces], candidates=12)
        faces = faces[(surfaces[body].normals[at] * mesh.face_normals[faces]).sum(axis=1) > 0.7]
        seen = mesh.area_faces[faces].sum() - joined_mm2(surfaces, body, pack.covers, mesh, faces)
        assert told == pytest.approx(seen, rel=0.005, abs=1.0), p.piece.name


def test_zones_are_what_is_left_of_the_outside(pack, placed, areas):
    """What of a body gets its coats: all of its outside but the windows, whose areas are measured in test_windows."""
    surfaces, pieces = placed
    windows = json.loads((pack.home / "light/windows.json").read_text(encoding="utf-8"))["windows"]
    for body in pack.bodies:
        seen = 0.0
        for p in pieces:
            if p.piece.row["body"] == body:
                faces = numpy.flatnonzero(p.on_surface)
                _, _, at = surfaces[body].nearest(p.mesh.triangles_center[faces], candidates=12)
                faces = faces[(surfaces[body].normals[at] * p.mesh.face_normals[faces]).sum(axis=1) > 0.7]
                seen += p.mesh.area_faces[faces].sum() - joined_mm2(surfaces, body, pack.covers, p.mesh, faces)
        bare = sum(w["area_mm2"] for w in windows if w["body"] == body)
        told = sum(float(r["area_mm2"]) for r in areas if r["body"] == body and r["place"] == "outside")
        assert told == pytest.approx(seen - bare, rel=0.005), body


def test_windows_add_up_to_what_the_bodies_have(pack, areas):
    """A window of the body is that of its pieces, but for what openings take."""
    windows = json.loads((pack.home / "light/windows.json").read_text(encoding="utf-8"))["windows"]
    for window in windows:
        told = sum(float(r["area_mm2"]) for r in areas if r["place"] == f"window {window['name']}")
        assert told <= window["area_mm2"] * 1.005
        assert told >= window["area_mm2"] * 0.9


CATALOGUE = packs.ROOT / "catalogue"
LOSS = {"can": (0.3, 0.5), "airbrush": (0.2, 0.4), "brush": (0.05, 0.15)}


def catalogue(name):
    return tomllib.loads((CATALOGUE / f"{name}.toml").read_text(encoding="utf-8"))


def table(pack, name):
    with open(pack.home / f"work/{name}.csv", encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def number(text):
    return float(text.split()[0].rstrip("%"))


def test_wet_paint_follows_from_area_film_and_solids(pack, areas):
    """A micrometre on a square metre is a millilitre of what stays; the rows say film and solids."""
    coats = catalogue("coats")["coat"]
    rows = [row for row in table(pack, "finish") if row["what"].startswith("coat ") and row["unit"] == "ml"]
    assert rows
    for row in rows:
        zone = row["what"].split(" of ", 1)[1]
        body, place = (zone, "outside") if not zone.startswith(("window ", "hollow of ")) else (None, zone)
        if zone.startswith("hollow of "):
            body, place = zone.removeprefix("hollow of "), "hollow"
        own = [r for r in areas if r["place"] == place and (body is None or r["body"] == body)]
        m2 = sum(float(r["area_mm2"]) for r in own) * 1e-6
        coat = coats[row["with"]]
        least, most = LOSS[row["by"]]
        stays = m2 * number(coat["film"]) / (number(coat["solids"]) / 100)
        assert float(row["least"]) == pytest.approx(stays / (1 - least), rel=0.005, abs=0.02)
        assert float(row["most"]) == pytest.approx(stays / (1 - most), rel=0.005, abs=0.02)


def test_wraps_are_as_long_as_the_helix_on_the_real_girth(pack):
    """Girths by trimesh's sections and shapely's hull; on each of them N turns of a helix are N sqrt(G^2 + p^2) long."""
    wraps = pack.project.get("wrap", {})
    rows = {row["what"]: row for row in table(pack, "finish")}
    kinds = catalogue("finishing")["wrap"]
    for name, rules in wraps.items():
        kind = kinds[rules["kind"]] | rules
        width, thick = number(kind["width"]), number(kind["thickness"])
        low, high = (number(s) for s in rules["stations"])
        apart = width + number(rules.get("apart", "0 mm"))
        mesh = pack.bodies[rules["in"]]
        long, steps = 0.0, 60
        for k in range(steps):
            x = low + (k + 0.5) * (high - low) / steps
            section = mesh.section(plane_origin=[x, 0, 0], plane_normal=[1, 0, 0])
            hull = shapely.MultiPoint(section.vertices[:, 1:]).convex_hull
            girth = hull.length + numpy.pi * thick
            pitch = apart / numpy.sqrt(1 - (apart / girth) ** 2)
            long += (high - low) / steps / pitch * numpy.hypot(girth, pitch)
        bands = 2 if rules.get("pattern") == "crossed" else 1
        cut = bands * (long / (1 + number(kind["stretch"]) / 100) + 2 * number(rules.get("ends", "150 mm")))
        assert float(rows[f"wrap {name}"]["amount"]) == pytest.approx(cut / 1000, rel=0.01), name


def test_the_list_adds_up(pack):
    rows = table(pack, "shopping")
    has = pack.project.get("has", {})
    for row in rows:
        needed, taken, there, missing, package = (
            float(row[k]) for k in ("needed", "taken", "has", "missing", "package")
        )
        assert taken >= needed - 1e-3 and (there > 0) == (row["row"] in has), row
        if "cut from lengths" not in row["added"]:
            assert missing == pytest.approx(max(taken - there, 0), abs=2e-3), row
            assert int(row["packages"]) == int(numpy.ceil(missing / package - 1e-6)), row
    costs = table(pack, "cost")
    for end in ("least", "most"):
        told = next(float(row[f"all_{end}"]) for row in costs if row["what"] == "all that is bought")
        assert told == pytest.approx(sum(float(row[f"cost_{end}"] or 0) for row in rows), abs=0.01 * len(rows))
    # Everything that was built is on it.
    kinds = {row["kind"] for row in rows}
    assert {"filament", "strip", "wire", "part", "glue", "primer", "paint", "paper"} <= kinds
    parts = sum(float(row["needed"]) for row in rows if row["kind"] == "part")
    assert parts == len(pack.project["part"])
    weight = sum(float(row["mass_g"]) for row in costs if row["what"] == "weight")
    [found] = [f for f in pack.findings["findings"] if f["id"] == "finished_weight"]
    assert found["measured"]["value"] == pytest.approx(weight, abs=0.2)


def test_every_piece_has_its_cost(pack):
    """The table's pieces are those written; material of each is its mass times the price of a gram, failed prints and all."""
    costs = {row["name"]: row for row in table(pack, "cost") if row["what"].startswith("piece ")}
    assert set(costs) == {piece.name for piece in pack.pieces}
    failing = number(pack.project["plan"].get("failing", "8 %")) / 100
    prices = catalogue("prices")["price"]
    materials = catalogue("materials")["material"]
    for row in costs.values():
        assert float(row["prints"]) == pytest.approx(1 / (1 - failing), abs=0.01)
        price = prices[row["material"]]
        mass = float(row["mass_g"])
        count = mass / number(materials[row["material"]]["density"]) if price["per"].endswith("l") else mass
        for end, each in zip(("least", "most"), price["each"]):
            assert float(row[f"material_{end}"]) == pytest.approx(count / 1000 * number(each) / (1 - failing), abs=0.02)
