"""The light coupons that the program writes, measured by libraries not ours."""

import csv
import math
import re
import tomllib

import iadpython
import numpy
import pytest

from pack import ROOT, read_3mf
from test_coupon import GRID_MM, lanthorn, mm


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    home = tmp_path_factory.mktemp("light")
    example = ROOT / "examples/reed-glaive"
    (home / "shape").mkdir()
    (home / "shape/reed-glaive.3mf").write_bytes((example / "shape/reed-glaive.3mf").read_bytes())
    (home / "prop.toml").write_bytes((example / "prop.toml").read_bytes())
    lanthorn("coupon", "light", "prop.toml", "--out", "light", cwd=home)
    return home


def steps(home):
    lines = [line for line in (home / "light/readings.csv").read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    found = {}
    for row in csv.DictReader(lines):
        if row["step"].isdigit():
            found.setdefault(row["step"][:-1], []).append(mm(row["thickness"]))
    return found


def test_every_part_is_one_closed_body(bench):
    files = sorted(bench.glob("light/light-*/*.3mf"))
    assert len(files) >= 2 and len(files) % 2 == 0
    for path in files:
        found = read_3mf(path)
        assert found.warnings == [] and found.unit == "mm" and found.n_build_items == 1, path
        mesh = found.objects[0].mesh
        assert found.objects[0].manifold_and_oriented and mesh.is_watertight and mesh.body_count == 1, path
        assert mesh.volume > 0 and abs(mesh.bounds[0]).max() < 1e-6, path


def test_steps_are_as_thick_as_the_sheet_says(bench):
    wedges = steps(bench)
    assert wedges
    for number, thicknesses in wedges.items():
        mesh = read_3mf(bench / f"light/light-{number}/{number}-wedge.3mf").objects[0].mesh
        long = mesh.bounds[1][0]
        assert thicknesses == sorted(thicknesses) and len(set(thicknesses)) == len(thicknesses) >= 4
        # Rays through the middle of each window and its corners: it stands, and its first step lies at the far end of x.
        for k, thickness in enumerate(thicknesses):
            x = long - 6 - 18 * (k + 0.5)
            places = numpy.array([[x + dx, -10, 25 + dz] for dx in (-5.9, 0, 5.9) for dz in (-7.9, 0, 7.9)])
            rays = numpy.tile([0.0, 1.0, 0.0], (len(places), 1))
            hits, at, _ = mesh.ray.intersects_location(places, rays)
            for ray in range(len(places)):
                y = numpy.unique(numpy.round(hits[at == ray][:, 1], 6))
                assert numpy.ptp(y) == pytest.approx(thickness, abs=GRID_MM), (number, k)
                assert len(y) == 2 and y[0] == pytest.approx(0, abs=1e-6)


def test_the_frame_shows_the_middle_of_every_step_and_nothing_else(bench):
    for number, thicknesses in steps(bench).items():
        frame = read_3mf(bench / f"light/light-{number}/{number}-frame.3mf").objects[0].mesh
        section = frame.section(plane_origin=[0, 0, 1.5], plane_normal=[0, 0, 1])
        boxes = [(ring[:, :2].min(axis=0), ring[:, :2].max(axis=0)) for ring in map(numpy.asarray, section.discrete)]
        boxes.sort(key=lambda box: numpy.prod(box[1] - box[0]))
        windows = sorted(boxes[:-1], key=lambda box: box[0][0])
        assert len(windows) == len(thicknesses)
        for k, (low, high) in enumerate(windows):
            assert high - low == pytest.approx([12, 16], abs=GRID_MM)
            # 2.4 mm of rim and 0.5 mm of room before the wedge.
            assert (low[0] + high[0]) / 2 == pytest.approx(2.9 + 6 + 18 * (k + 0.5), abs=GRID_MM)
        assert frame.bounds[1][2] > 2 + max(thicknesses) + 0.6


def test_the_page_names_what_is_written(bench):
    page = (bench / "light/measure.html").read_text(encoding="utf-8")
    for href in re.findall(r'href="([^"#]+)"', page):
        assert (bench / "light" / href).is_file(), href


def seen(scatter, absorb, index, thickness, behind, full):
    """A step on a screen, by another library's adding-doubling: what is straight, what is scattered, what comes again."""
    depth = (scatter + absorb) * thickness
    sample = iadpython.Sample(a=scatter / (scatter + absorb), b=depth, g=0, n=index, quad_pts=16)
    _, through, back, _ = sample.rt()
    face = ((index - 1) / (index + 1)) ** 2
    once = math.exp(-depth)
    straight = (1 - face) ** 2 * once / (1 - (face * once) ** 2)
    return (straight + full * (through - straight)) / (1 - behind * back)


@pytest.mark.parametrize("scatter, absorb", [(1.8, 0.004), (4.5, 0.02)])
def test_what_made_the_readings_is_learnt_from_them(bench, scatter, absorb):
    lines = [line for line in (bench / "light/readings.csv").read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    material = rows[0]["material"]
    rows = [row for row in rows if row["printer"] == rows[0]["printer"] and row["material"] == material]
    table = tomllib.loads((ROOT / "catalogue/materials.toml").read_text(encoding="utf-8"))["material"][material]
    index = table.get("index-green", table.get("index"))
    # The screen keeps 70 % of its brightness at 60 degrees: a cosine to the power p, passed on as 1 + 0.37 cosine.
    power = -math.log2(0.7)
    full = (2 / (2 + power) + 0.74 / (3 + power)) / (1 + 0.74 / 3)
    noise = numpy.random.default_rng(7)
    for row in rows:
        row["how"] = "share"
        if row["step"] == "screen-60":
            row["reading"] = "70 %"
        elif row["step"].isdigit():
            share = seen(scatter, absorb, index, mm(row["thickness"]), 0.10, full)
            row["reading"] = f"{100 * share * math.exp(0.02 * noise.standard_normal()):.2f} %"
    path = bench / f"readings-{scatter}.csv"
    with path.open("w", newline="") as out:
        writer = csv.DictWriter(out, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)
    (bench / "learnt.toml").unlink(missing_ok=True)
    said = lanthorn("calibrate", "light", path.name, "--date", "2026-11-25", cwd=bench)
    number = r"([\d.]+)"
    told = re.search(rf"scatters {number} /mm \({number} to {number}\); absorbs {number} /mm \({number} to {number}\)", said)
    assert told, said
    usual, low, high, absorbs, least, most = map(float, told.groups())
    assert low < scatter < high and high / low < 2.5, said
    assert least < absorb < most, said
