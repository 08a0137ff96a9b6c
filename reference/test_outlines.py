"""Solids from drawn outlines against closed forms, and lengths from pictures against a camera written here."""

import itertools
import math
import os
import re
import subprocess

import manifold3d
import numpy
import pytest
import shapely

from pack import ROOT, read_3mf

NEAR = 0.005


def run(*words, cwd):
    program = os.environ.get("LANTHORN_BIN", str(ROOT / "target/debug/lanthorn"))
    return subprocess.run([program, *map(str, words)], cwd=cwd, capture_output=True, text=True, encoding="utf-8")


def drawing(size, *paths):
    inside = "".join(f'<path id="{name}" d="{d}"/>' for name, d in paths)
    return f'<svg xmlns="http://www.w3.org/2000/svg" width="{size[0]}mm" height="{size[1]}mm" viewBox="0 0 {size[0]} {size[1]}">{inside}</svg>'


def solids(home, side, top=None, *words):
    (home / "side.svg").write_text(side)
    if top:
        (home / "top.svg").write_text(top)
        words = ("--top", "top.svg", *words)
    done = run("new", "made", "--side", "side.svg", *words, cwd=home)
    assert done.returncode == 0, done.stdout + done.stderr
    file = read_3mf(home / "made/shape/side.3mf")
    assert not file.warnings and file.unit == "mm" and all(named.manifold_and_oriented for named in file.objects)
    found = {named.name: named.mesh for named in file.objects}
    for name, mesh in found.items():
        assert mesh.is_watertight and mesh.is_winding_consistent and mesh.is_volume, name
        solid = manifold3d.Manifold(manifold3d.Mesh64(mesh.vertices, mesh.faces.astype(numpy.uint64)))
        assert solid.status() == manifold3d.Error.NoError, name
        assert len(solid.decompose()) == 1 and solid.genus() == 0, name
        # A surface that passes through itself encloses places twice: its union with nothing has another volume.
        assert (solid + manifold3d.Manifold()).volume() == pytest.approx(mesh.volume, rel=1e-5), name
        low, high = mesh.bounds[:, 0]
        for share in numpy.linspace(0.013, 0.987, 25):
            loops = section(mesh, low + share * (high - low))
            assert len(loops) == 1 and loops[0].is_valid and loops[0].is_simple, (name, share)
    return found


def section(mesh, x):
    lines = mesh.section(plane_origin=[x, 0, 0], plane_normal=[1, 0, 0])
    return [shapely.Polygon(loop[:, 1:]) for loop in lines.discrete]


def lens_area(width, depth):
    """Two circular segments of chord width and height depth / 2: R^2 (t - sin t) / 2 each (handbooks)."""
    a, b = width / 2, depth / 2
    radius, angle = (a * a + b * b) / (2 * b), 4 * math.atan(b / a)
    return radius * radius * (angle - math.sin(angle))


def test_a_frustum_of_an_elliptic_cone(tmp_path):
    side = drawing((300, 60), ("staff", "M0 0 L300 20 V40 L0 60 Z"))
    top = drawing((300, 60), ("staff", "M0 18 L300 24 V36 L0 42 Z"))
    mesh = solids(tmp_path, side, top, "--section", "oval")["staff"]
    a, b, c, d = 30, 12, 10, 6
    exact = math.pi * 300 / 3 * (a * b + c * d + (a * d + c * b) / 2)
    assert mesh.volume == pytest.approx(exact, rel=NEAR)
    for x in (50, 100, 250):
        at = math.pi * (a + (c - a) * x / 300) * (b + (d - b) * x / 300)
        assert section(mesh, x)[0].area == pytest.approx(at, rel=NEAR), x


def test_a_lens_blade_that_tapers(tmp_path):
    """Width and depth shrink together, so sections are alike and the volume is that of a frustum."""
    side = drawing((600, 80), ("blade", "M0 0 L600 24 V56 L0 80 Z"))
    top = drawing((600, 80), ("blade", "M0 30 L600 36 V44 L0 50 Z"))
    mesh = solids(tmp_path, side, top, "--section", "lens", "--length", "120 cm")["blade"]
    # To twice its size: 1200 mm long, 160 x 40 mm at the butt, 64 x 16 mm at the tip.
    first, last = lens_area(160, 40), lens_area(64, 16)
    assert mesh.volume == pytest.approx(1200 / 3 * (first + math.sqrt(first * last) + last), rel=NEAR)
    assert section(mesh, 600)[0].area == pytest.approx(lens_area(112, 28), rel=NEAR)


def test_a_round_cone_runs_out_into_a_point(tmp_path):
    mesh = solids(tmp_path, drawing((100, 400), ("tip", "M20 400 H80 L50 0 Z")), None, "--section", "round", "--butt", "below")["tip"]
    assert mesh.volume == pytest.approx(math.pi * 30 * 30 * 400 / 3, rel=NEAR)
    assert mesh.extents == pytest.approx([400, 60, 60], abs=0.05)


def test_bevels_and_tables(tmp_path):
    side = drawing((200, 40), ("blade", "M0 0 H200 V40 H0 Z"))
    flat = solids(tmp_path, side, None, "--section", "bevel", "--flat", "50 %", "--edge", "2 mm", "--thick", "10 mm")["blade"]
    assert flat.volume == pytest.approx(200 * (20 * 10 + 20 * 6), rel=1e-4)
    home = tmp_path / "table"
    home.mkdir()
    (home / "star.csv").write_text("# across, through\n1,0\n0.3,0.3\n0,1\n-0.3,0.3\n-1,0\n-0.3,-0.3\n0,-1\n0.3,-0.3\n")
    star = solids(home, side, None, "--section", "star.csv", "--thick", "30 mm")["blade"]
    # Four kites with diagonals from the middle: half the area 8 * (1 * 0.3 - 0 * 0.3) / 2, times the half axes.
    assert star.volume == pytest.approx(200 * 8 * 0.3 / 2 * 20 * 15, rel=1e-4)


def test_curves_steps_and_shoulders(tmp_path):
    """Area of the outlines by shapely; two bodies that meet, one with a step."""
    leaf = "M120 20 C200 -6 300 6 360 30 C300 54 200 66 120 40 Z"
    grip = "M0 20 H100 V12 H120 V48 H100 V40 H0 Z"
    found = solids(tmp_path, drawing((360, 60), ("grip", grip), ("blade", leaf)), None, "--section", "lens", "--section", "grip=oval", "--thick", "9 mm")
    assert found["grip"].bounds[1][0] == pytest.approx(found["blade"].bounds[0][0], abs=1e-4)
    grown = math.pi / 4 * 9 * (100 * 20 + 20 * 36)
    assert found["grip"].volume == pytest.approx(grown, rel=NEAR)

    def cubic(a, b, c, d, t):
        u = 1 - t
        return u**3 * a + 3 * u * u * t * b + 3 * u * t * t * c + t**3 * d

    t = numpy.linspace(0, 1, 4001)
    x, y = cubic(120, 200, 300, 360, t), cubic(20, -6, 6, 30, t)
    for at in (150, 240, 330):
        width = 2 * (30 - numpy.interp(at, x, y))
        assert section(found["blade"], at)[0].area == pytest.approx(lens_area(width, min(9, width)), rel=NEAR), at


def camera(points, pitch, focal, bend):
    """Pixels of places (x, away, up): a pinhole turned up by a pitch, its lens bending rays outwards or inwards by r^2."""
    sin, cos = math.sin(pitch), math.cos(pitch)
    for x, away, up in points:
        depth, high = away * cos + up * sin, up * cos - away * sin
        u, v = x / depth, high / depth
        pull = 1 + bend * (u * u + v * v)
        yield 2000 + focal * u * pull, 1500 - focal * v * pull


@pytest.mark.parametrize("tilt_deg", [0, 8, 15])
def test_lengths_from_pictures_hold_within_what_is_stated(tmp_path, tilt_deg):
    length, height = 1480.0, 1750.0
    cases = itertools.product((-1, 1), (-600, 700), (-0.03, 0.03), ((3600, 4), (6000, -3)), (0, 50, 100), (-150, 150))
    for number, (sign, beside, bend, (away, pitch_deg), roll_deg, nearer) in enumerate(cases):
        if number % 4 != tilt_deg % 4:
            continue
        tilt, roll, pitch = (math.radians(a) for a in (sign * tilt_deg, roll_deg, pitch_deg))
        stance = 0.96 if number % 3 else 1.0
        centre = (0, away * math.cos(pitch), away * math.sin(pitch))
        figure = [(0, centre[1], centre[2] + s * stance * height / 2) for s in (1, -1)]
        along = (math.cos(tilt) * math.sin(roll), math.sin(tilt), math.cos(tilt) * math.cos(roll))
        prop = [(beside + s * length / 2 * along[0], centre[1] - nearer + s * length / 2 * along[1], centre[2] + s * length / 2 * along[2]) for s in (1, -1)]
        marks = [" ".join(f"{x:.0f},{y:.0f}" for x, y in camera(two, pitch, 4000, bend)) for two in (figure, prop)]
        done = run("proportion", "--figure", marks[0], "--prop", marks[1], "--wearer", f"{height} mm", "--tilt", "15 deg", cwd=tmp_path)
        assert done.returncode == 0, done.stderr
        middle, least, most = (float(cm) * 10 for cm in re.search(r"is ([\d.]+) cm long: ([\d.]+) cm at least and ([\d.]+) cm", done.stdout).groups())
        assert least <= length <= most, (done.stdout, tilt_deg, sign, beside, bend, away, roll_deg, nearer)
        assert least < middle < most and most < 1.6 * least, done.stdout
    # For a taller wearer it grows alike.
    taller = run("proportion", "--figure", marks[0], "--prop", marks[1], "--figure-height", f"{height} mm", "--wearer", f"{2 * height} mm", cwd=tmp_path)
    assert float(re.search(r"is ([\d.]+) cm long", taller.stdout).group(1)) == pytest.approx(2 * middle / 10, abs=0.11)
