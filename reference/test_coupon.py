"""The coupons that the program writes, and what it learns from a sheet, by libraries not ours."""

import csv
import math
import os
import pathlib
import re
import subprocess

import numpy
import pytest
import scipy.stats
import trimesh

from pack import ROOT, read_3mf

# Coordinates lie on a grid of 1/1024 mm; a width has two ends.
GRID_MM = 2.5 / 1024


def lanthorn(*words, cwd):
    program = os.environ.get("LANTHORN_BIN", str(ROOT / "target/debug/lanthorn"))
    done = subprocess.run([program, *map(str, words)], cwd=cwd, capture_output=True, text=True, encoding="utf-8")
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    home = tmp_path_factory.mktemp("coupon")
    example = ROOT / "examples/reed-glaive"
    (home / "shape").mkdir()
    (home / "shape/reed-glaive.3mf").write_bytes((example / "shape/reed-glaive.3mf").read_bytes())
    (home / "prop.toml").write_bytes((example / "prop.toml").read_bytes())
    lanthorn("coupon", "fit", "prop.toml", "--out", "coupon", cwd=home)
    return home


def sheet(home):
    lines = [line for line in (home / "coupon/readings.csv").read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def mm(text):
    number, unit = text.split()
    assert unit == "mm"
    return float(number)


def test_every_part_is_one_closed_body_in_both_formats(bench):
    files = sorted(bench.glob("coupon/coupon-*/*.3mf"))
    assert len(files) >= 20
    for path in files:
        found = read_3mf(path)
        assert found.warnings == [] and found.unit == "mm" and found.n_build_items == 1, path
        assert found.objects[0].manifold_and_oriented, path
        mesh = found.objects[0].mesh
        stl = trimesh.load(path.with_suffix(".stl"), process=False)
        assert numpy.abs(stl.triangles - mesh.triangles).max() < 2e-5, path
        assert mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0 and mesh.body_count == 1, path
        assert abs(mesh.bounds[0]).max() < 1e-6, path


def openings(path, height):
    """Boxes of the holes in a level section, from left to right and from the back line to the front one."""
    mesh = read_3mf(path).objects[0].mesh
    section = mesh.section(plane_origin=[0, 0, height], plane_normal=[0, 0, 1])
    boxes = [(ring[:, :2].min(axis=0), ring[:, :2].max(axis=0)) for ring in map(numpy.asarray, section.discrete)]
    # The largest loop is the block itself.
    boxes.sort(key=lambda box: numpy.prod(box[1] - box[0]))
    return sorted(boxes[:-1], key=lambda box: (-round(box[0][1]), box[0][0]))


def test_gaps_grow_as_the_sheet_says(bench):
    rows = sheet(bench)
    ladders = {}
    for row in rows:
        if row["feature"] in ("strip-slot", "bar-slot", "peg-bore", "pin-bore", "lid-pocket"):
            ladders.setdefault((row["row"], row["feature"]), []).append(row)
    assert len(ladders) >= 10
    for (row, feature), steps in ladders.items():
        (path,) = bench.glob(f"coupon/coupon-*/{row}-{feature}.3mf")
        found = openings(path, 2.2)
        assert len(found) == len(steps), path
        gaps = [mm(step["gap"]) for step in steps]
        assert gaps == sorted(gaps) and len(set(gaps)) == len(gaps)
        for step, gap, (low, high) in zip(steps, gaps, found):
            # A slot's long side runs across the row; a bore's flats lie on the axes.
            width = high[1] - low[1]
            assert width == pytest.approx(mm(step["nominal"]) + 2 * gap, abs=GRID_MM), (path, step)


def test_the_rule_is_as_long_as_it_says(bench):
    rows = [row for row in sheet(bench) if row["feature"] in ("outside", "inside")]
    for row in rows:
        (path,) = bench.glob(f"coupon/coupon-*/{row['row']}-rule.3mf")
        if row["feature"] == "outside":
            found = numpy.ptp(read_3mf(path).objects[0].mesh.bounds[:, 0])
        else:
            found = max(high[0] - low[0] for low, high in openings(path, 2.0))
        assert found == pytest.approx(mm(row["nominal"]), abs=GRID_MM)


def band(values, usual):
    """The next reading, 19 times of 20: scaled inverse chi-square prior of weight 4 on the variance."""
    n = len(values)
    freedom = 4 + n - 1
    variance = (4 * usual**2 + (n - 1) * (numpy.var(values, ddof=1) if n > 1 else 0)) / freedom
    law = scipy.stats.t(freedom, loc=numpy.mean(values), scale=math.sqrt(variance * (1 + 1 / n)))
    return law.ppf(0.025), law.ppf(0.975)


def test_what_is_learnt_is_what_scipy_reckons(bench):
    rows = [row for row in sheet(bench) if row["row"].startswith("2") and row["feature"] == "bar-slot"]
    losses = [0.11, 0.16, 0.13, 0.19, 0.14]
    sheets = []
    for copy in range(2):
        lines = ["printer,material,feature,nominal,step,gap,reading,how"]
        for k, row in enumerate(rows):
            reading = ""
            if k < len(losses):
                reading = f"{mm(row['nominal']) + 2 * mm(row['gap']) - losses[k] - 0.01 * copy:.2f} mm"
            how = "press" if k < 3 else "slides" if k < 7 else "loose"
            lines.append(",".join([row["printer"], row["material"], row["feature"], row["nominal"], row["step"], row["gap"], reading, how]))
        path = bench / f"readings-{copy}.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        sheets.append(path)
    for path in sheets:
        said = lanthorn("calibrate", "fit", path.name, "--date", "2026-11-25", cwd=bench)
    read = losses + [loss + 0.01 for loss in losses]
    low, high = band(read, 0.05)
    found = re.search(r"slots lose: ([\d.-]+) mm \(([\d.-]+) to ([\d.-]+); 10 readings, standard deviation ([\d.]+)\)", said)
    assert found, said
    wanted = [numpy.mean(read), low, high, numpy.std(read, ddof=1)]
    assert [float(x) for x in found.groups()] == pytest.approx(wanted, abs=0.0051)
    # Two thresholds between the third and the fourth step, each known to a step's width.
    low, high = band([0.175, 0.175], math.hypot(0.02, 0.05 / math.sqrt(12)))
    found = re.search(r"slide gap a side, as drawn: ([\d.-]+) mm \(([\d.-]+) to ([\d.-]+)", said)
    assert [float(x) for x in found.groups()] == pytest.approx([0.175, low, high], abs=0.0051)
    assert (bench / "learnt.toml").read_text(encoding="utf-8").count("[[ladder]]") == 2


def test_measured_times_give_the_pace_that_scipy_reckons(bench):
    times = [1.32, 1.21, 1.27, 1.40, 1.18]
    lines = ["piece,printer,predicted,measured"]
    lines += [f"p{k},wide,{8 + 300} min,{8 + 300 * times[k]:.1f} min" for k in range(len(times))]
    (bench / "times.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    said = lanthorn("calibrate", "prints", "times.csv", cwd=bench)
    r = numpy.log(times)
    n = len(r)
    half = (math.log(1.25 / 0.8) / (2 * scipy.stats.norm.ppf(0.975))) ** 2 / 2
    s2 = (4 * half + (n - 1) * numpy.var(r, ddof=1)) / (3 + n)
    tau2 = max(half, r.mean() ** 2 - s2 / n)
    precision = n / s2 + 1 / tau2
    usual = (n / s2) * r.mean() / precision
    reach = scipy.stats.t.ppf(0.975, 3 + n) * math.sqrt(1 / precision + s2)
    found = re.search(r"wide: prints take (\d+) % \((\d+) to (\d+)\)", said)
    assert found, said
    wanted = [100 * math.exp(usual + k * reach) for k in (0, -1, 1)]
    assert [float(x) for x in found.groups()] == pytest.approx(wanted, abs=0.7)
