"""What the detectors hear in recordings of real people: the BasicMotions set, 80 clips of 10 s from a wrist, 10 rows a second
(A. Bagnall et al., "The UEA multivariate time series classification archive, 2018", arXiv:1811.00075), as the Python package
`aeon` carries it. Acceleration is in m/s2 without gravity, rates are in rad/s. Nothing but the package is fetched.
"""
import pathlib
import subprocess
import sys
import zipfile

import pytest

ROOT = pathlib.Path(__file__).resolve().parent.parent
PACKAGE = "aeon==1.6.0"
DATA = "aeon/datasets/data/BasicMotions/BasicMotions_%s.ts"


@pytest.fixture(scope="module")
def heard(tmp_path_factory):
    """Triggers of each clip, by what its people did."""
    folder = tmp_path_factory.mktemp("people")
    # The environment of these checks has no pip of its own: the Python it was made from fetches for it.
    python = pathlib.Path(sys.base_prefix) / "bin" / "python3"
    fetch = [str(python), "-m", "pip", "download", "-q", "--no-deps", "--dest", str(folder), PACKAGE]
    subprocess.run(fetch, check=True, timeout=600)
    clips = {}
    with zipfile.ZipFile(next(folder.glob("aeon-*.whl"))) as wheel:
        for part in ("TRAIN", "TEST"):
            text = wheel.read(DATA % part).decode()
            for line in text.split("@data", 1)[1].split():
                *columns, label = line.split(":")
                path = folder / f"{label}-{len(clips):02}.csv"
                rows = zip(*(column.split(",") for column in columns))
                lines = [",".join((f"{k / 10}", *row)) for k, row in enumerate(rows)]
                path.write_text("\n".join(["t_s,ax,ay,az,gx,gy,gz", *lines]) + "\n")
                clips[path] = (label, set())
    command = ["cargo", "run", "-q", "-p", "behaviour", "--example", "listen", "--"]
    ran = subprocess.run(command + [str(p) for p in clips], cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=True)
    for line in ran.stdout.splitlines():
        path, _, trigger = line.rsplit(" ", 2)
        clips[pathlib.Path(path)][1].add(trigger)
    return list(clips.values())


@pytest.mark.parametrize(
    "label, least, most", [("Walking", 0, 0), ("Standing", 0, 0), ("Badminton", 19, 20)]
)
def test_swings_of_people(heard, label, least, most):
    clips = [triggers for name, triggers in heard if name == label]
    assert len(clips) == 20
    assert least <= sum("swing" in triggers for triggers in clips) <= most
