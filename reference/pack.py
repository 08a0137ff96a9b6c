"""Reads a pack with lib3mf (strict mode) and trimesh."""

import csv
import functools
import json
import os
import pathlib
import tomllib
from dataclasses import dataclass

import lib3mf
import numpy
import trimesh

ROOT = pathlib.Path(__file__).resolve().parent.parent


@dataclass
class Named:
    """One object of a 3MF file, in the file's millimetres, its build item's placing applied."""

    name: str
    mesh: trimesh.Trimesh
    manifold_and_oriented: bool


@dataclass
class ThreeMf:
    """What lib3mf found in a file."""

    warnings: list
    unit: str
    n_build_items: int
    objects: list


@dataclass
class Piece:
    """One row of pieces/index.json and its two files."""

    row: dict
    threemf: ThreeMf
    stl: trimesh.Trimesh

    @property
    def name(self):
        return self.row["name"]

    @property
    def mesh(self):
        """As it prints."""
        return self.threemf.objects[0].mesh

    @property
    def to_prop(self):
        return numpy.array(self.row["to_prop"], dtype=float).reshape(4, 4)

    def placed(self):
        """In the prop frame."""
        mesh = self.mesh.copy()
        mesh.apply_transform(self.to_prop)
        return mesh


@dataclass
class Pack:
    """Everything the checks measure."""

    home: pathlib.Path
    findings: dict
    pieces: list
    joints: list
    bodies: dict

    @functools.cached_property
    def project(self):
        """The example's project file."""
        return tomllib.loads((ROOT / "examples" / self.home.name / "prop.toml").read_text(encoding="utf-8"))

    @functools.cached_property
    def covers(self):
        """Names of the bodies that are bored to slide over the others; as drawn they may overlap them."""
        return {name for name, rules in self.project.get("body", {}).items() if rules.get("role") == "cover"}

    @functools.cached_property
    def inside(self):
        """Strips, lengths of spine and parts by name, as solids in the prop frame."""
        return by_name(read_3mf(self.home / "pieces/inside.3mf").objects)

    @functools.cached_property
    def bars(self):
        """The strips and lengths of spine among them."""
        return {name: mesh for name, mesh in self.inside.items() if not name.startswith("part ")}

    @functools.cached_property
    def lids(self):
        """Numbers of the pieces that are lids: each lies in room that counts as taken from its body's other pieces."""
        path = self.home / "parts/parts.csv"
        if not path.exists():
            assert not self.project.get("part"), "parts, and no list of them"
            return set()
        with path.open(newline="") as lines:
            ways = [row["comes out"] for row in csv.DictReader(lines)]
        return {int(way.removeprefix("under lid ")) for way in ways if way.startswith("under lid ")}

    @functools.cached_property
    def openings(self):
        """What is taken from the bodies for parts, lids and wires, as solids that may overlap."""
        path = self.home / "pieces/openings.3mf"
        if not path.exists():
            assert not self.project.get("part"), "parts, and nothing is opened for them"
            return []
        return [named.mesh for named in read_3mf(path).objects]


def by_name(objects):
    """Meshes by name; every name must be there once, or a mesh would go unchecked."""
    meshes = {}
    for named in objects:
        assert named.name, "an object without a name"
        assert named.name not in meshes, f"two objects are called {named.name!r}"
        meshes[named.name] = named.mesh
    return meshes


def read_3mf(path):
    """Reads in strict mode, so that anything lib3mf objects to is an exception."""
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    warnings = [reader.GetWarning(i) for i in range(reader.GetWarningCount())]
    objects = []
    items = model.GetBuildItems()
    n_items = 0
    while items.MoveNext():
        item = items.GetCurrent()
        n_items += 1
        resource = item.GetObjectResource()
        assert resource.IsMeshObject(), f"{path}: build item {n_items} is no mesh"
        mesh = model.GetMeshObjectByID(resource.GetResourceID())
        vertices = numpy.array([list(v.Coordinates) for v in mesh.GetVertices()], dtype=float)
        faces = numpy.array([list(t.Indices) for t in mesh.GetTriangleIndices()], dtype=int)
        place = item.GetObjectTransform() if item.HasObjectTransform() else None
        if place is not None:
            fields = numpy.array([list(row) for row in place.Fields], dtype=float)
            vertices = vertices @ fields[:3] + fields[3]
        objects.append(
            Named(
                name=mesh.GetName(),
                mesh=trimesh.Trimesh(vertices, faces, process=False),
                manifold_and_oriented=mesh.IsManifoldAndOriented(),
            )
        )
    unit = {lib3mf.ModelUnit.MilliMeter: "mm"}.get(model.GetUnit(), str(model.GetUnit()))
    return ThreeMf(warnings, unit, n_items, objects)


def homes():
    """The packs named by LANTHORN_PACKS, or those that the gate builds."""
    named = os.environ.get("LANTHORN_PACKS")
    if named:
        return [pathlib.Path(home) for home in named.split(os.pathsep)]
    return [ROOT / "target/demo" / example for example in ("reed-glaive", "beacon-staff")]


def read(home):
    """The pack in a directory that is called like its example."""
    index = json.loads((home / "pieces/index.json").read_text(encoding="utf-8"))
    pieces = []
    for row in index["pieces"]:
        path = home / "pieces" / row["file"]
        pieces.append(Piece(row, read_3mf(path), trimesh.load(path.with_suffix(".stl"), process=False)))
    shape = read_3mf(home / "shape/prop.3mf")
    return Pack(
        home=home,
        findings=json.loads((home / "findings.json").read_text(encoding="utf-8")),
        pieces=pieces,
        joints=index.get("joints", []),
        bodies=by_name(shape.objects),
    )
