"""Sections and beams, worked out by our own crate, against the libraries sectionproperties and PyNiteFEA."""

import json
import math
import os
import subprocess

import pytest
from Pynite import FEModel3D
from sectionproperties.analysis import Section
from sectionproperties.pre import CompoundGeometry, Geometry, Material
from shapely import Polygon
from shapely.geometry import box

from pack import ROOT

# One Poisson's ratio for all: that library weighs torsion with E.
POISSON = 0.35
PLASTIC, METAL = 3500.0, 68_900.0


def lens(width, height, corners=96):
    """Two arcs that meet in points, as a blade is cut across."""
    radius = (width * width / 4 + height * height / 4) / height
    reach = math.asin(width / 2 / radius)
    low = [reach * (2 * k / corners - 1) for k in range(corners)]
    upper = [(radius * math.sin(t), radius * math.cos(t) - radius + height / 2) for t in low]
    lower = [(-y, -z) for y, z in upper]
    return Polygon(upper[::-1] + lower[::-1])


def ring(outer, inner):
    return outer.difference(inner)


HOLLOW_LENS = ring(lens(80, 26), lens(70, 20))
SECTIONS = {
    "hollow rectangle": [(PLASTIC, ring(box(-20, -10, 20, 10), box(-18, -8, 18, 8)))],
    "solid lens": [(PLASTIC, lens(80, 26))],
    "hollow lens": [(PLASTIC, HOLLOW_LENS)],
    "slit lens": [(PLASTIC, HOLLOW_LENS.difference(box(5, 0, 5.5, 20)))],
    "box with bar": [
        (PLASTIC, ring(box(-20, -15, 20, 15), box(-17, -12, 17, 12))),
        (METAL, box(-10, -12, 10, -9)),
    ],
    "two cells": [(PLASTIC, box(-30, -12, 30, 12).difference(box(-28, -10, -6, 10)).difference(box(-4, -10, 28, 10)))],
}


def loops(shape):
    return {"outer": list(shape.exterior.coords)[:-1], "holes": [list(hole.coords)[:-1] for hole in shape.interiors]}


def regions(parts):
    return [{"e_mpa": e, "g_mpa": e / 2 / (1 + POISSON), "outlines": [loops(shape)]} for e, shape in parts]


# Stations, mm; bending about y and z, N mm2, from each on; how the piece before joins that after, N mm a radian or None for firm.
STATIONS = [0, 100, 250, 300, 500, 700, 900, 1100, 1400, 1700]
STIFF = [(4e8, 9e8)] * 4 + [(2e8, 6e8)] * 3 + [(0.8e8, 2e8)] * 3
JOINT_AT = 5
JOINT = [3e6, 2e6, 4e6]
HANDS = [1, 3]
WRIST = 2e5
PULL = [500.0, -3000.0, -9806.65]
POINTS = [(9, [3.0, -2.0, -4.0], [500.0, 0.0, 0.0]), (6, [0.0, 1.0, -2.0], [0.0, 300.0, -200.0])]
MASS = 0.35


def asked_line(jointed, free):
    # Firm is null, free is 0.
    stops = [
        {
            "x_mm": x,
            "ea_n": 1e6,
            "about_y_nmm2": about_y,
            "about_z_nmm2": about_z,
            "gj_nmm2": 1.5e8,
            "mass_g_mm": MASS,
            "joint": (JOINT if not free else [JOINT[0], 0, 0]) if jointed and k == JOINT_AT else None,
        }
        for k, (x, (about_y, about_z)) in enumerate(zip(STATIONS, STIFF))
    ]
    supports = [
        {"stop": HANDS[0], "hold": [None, None, None, None, WRIST, WRIST]},
        {"stop": HANDS[1], "hold": [0, None, None, 0, 0, 0]},
    ]
    if free:
        supports.append({"stop": 8, "hold": [0, None, None, 0, 0, 0]})
    points = [{"stop": k, "force_n": f, "moment_nmm": m} for k, f, m in POINTS]
    return {"stops": stops, "supports": supports, "pull_mm_s2": PULL, "points": points}


# Whether there is a joint, and whether it turns freely (and a third place holds).
LINES = {"stepped": (False, False), "jointed": (True, False), "hinged": (True, True)}


@pytest.fixture(scope="module")
def ours():
    program = os.environ.get("BEAM_BEAMS", str(ROOT / "target/debug/examples/beams"))
    asked = {
        "sections": [regions(parts) for parts in SECTIONS.values()],
        "lines": [asked_line(*line) for line in LINES.values()],
    }
    done = subprocess.run([program], input=json.dumps(asked), capture_output=True, text=True, encoding="utf-8")
    assert done.returncode == 0, done.stdout + done.stderr
    said = json.loads(done.stdout)
    return dict(zip(SECTIONS, said["sections"])), dict(zip(LINES, said["lines"]))


def near(found, wanted, share):
    assert wanted != 0 and abs(found / wanted - 1) <= share, (found, wanted)


@pytest.mark.parametrize("name", SECTIONS)
def test_a_section_is_as_stiff_as_the_other_library_says(ours, name):
    got = ours[0][name]
    pieces = [
        Geometry(shape, Material("m", e, POISSON, yield_strength=1, density=1, color="w")) for e, shape in SECTIONS[name]
    ]
    geometry = pieces[0] if len(pieces) == 1 else CompoundGeometry(pieces)
    whole = Section(geometry.create_mesh(mesh_sizes=[2.0] * len(pieces)))
    whole.calculate_geometric_properties()
    whole.calculate_warping_properties()
    near(got["area_mm2"], whole.get_area(), 0.005)
    near(got["ea_n"], whole.get_ea(), 0.005)
    about_y, about_z, mixed = whole.get_eic()
    near(got["about_y_nmm2"], about_y, 0.005)
    near(got["about_z_nmm2"], about_z, 0.005)
    assert abs(got["mixed_nmm2"] - mixed) < 0.001 * about_y
    y, z = whole.get_c()
    assert abs(got["centroid_mm"][0] - y) < 0.01 and abs(got["centroid_mm"][1] - z) < 0.01
    twist = whole.get_ej() / 2 / (1 + POISSON)
    near(got["gj_nmm2"], twist, 0.01)
    # The other one is an upper bound of its own.
    assert got["least_nmm2"] <= twist * 1.0001
    # Its other shear centre minds Poisson's ratio.
    for mine, other in zip(got["shear_centre_mm"], whole.get_sc_t()):
        assert abs(mine - other) < 0.2, (mine, other)


def theirs(jointed, free):
    """The same line. A joint is a millimetre of bar as soft as its springs: there is no other spring between bars in that library."""
    model = FEModel3D()
    model.add_material("unit", 1.0, 1.0, 0.3, 0.0)
    stations = list(STATIONS)
    names = [f"n{k}" for k in range(len(stations))]
    for name, x in zip(names, stations):
        model.add_node(name, x, 0, 0)
    soft = jointed and not free
    if soft:
        model.add_node("before", stations[JOINT_AT] - 1, 0, 0)
        twist, about_y, about_z = JOINT
        model.add_section("joint", 1e9, about_y, about_z, twist)
        model.add_member("joint", "before", names[JOINT_AT], "unit", "joint")
    members = []
    for k, (about_y, about_z) in enumerate(STIFF[:-1]):
        model.add_section(f"s{k}", 1e6, about_y, about_z, 1.5e8)
        end = "before" if soft and k + 1 == JOINT_AT else names[k + 1]
        members.append(model.add_member(f"m{k}", names[k], end, "unit", f"s{k}"))
        for axis, pull in zip("XYZ", PULL):
            model.add_member_dist_load(f"m{k}", f"F{axis}", pull * MASS * 1e-6, pull * MASS * 1e-6)
    if free:
        model.def_releases(f"m{JOINT_AT - 1}", Ryj=True, Rzj=True)
        # In series with the joint's own spring against torsion.
        length = stations[JOINT_AT] - stations[JOINT_AT - 1]
        model.add_section("series", 1e6, *STIFF[JOINT_AT - 1], length / (length / 1.5e8 + 1 / JOINT[0]))
        model.members[f"m{JOINT_AT - 1}"].section = model.sections["series"]
    model.def_support(names[HANDS[0]], True, True, True, True, False, False)
    for turn in ("RY", "RZ"):
        model.def_support_spring(names[HANDS[0]], turn, WRIST)
    model.def_support(names[HANDS[1]], False, True, True)
    if free:
        model.def_support(names[8], False, True, True)
    for k, force, moment in POINTS:
        for axis, value in zip("XYZ", force):
            model.add_node_load(names[k], f"F{axis}", value)
        for axis, value in zip("XYZ", moment):
            model.add_node_load(names[k], f"M{axis}", value)
    model.analyze_linear(check_statics=False)
    return model, names


@pytest.mark.parametrize("name", LINES)
def test_a_line_bends_as_the_other_library_says(ours, name):
    got = ours[1][name]
    model, names = theirs(*LINES[name])
    case = "Combo 1"
    for part, letter in enumerate("XYZ"):
        for of, key in (("D", "moved_mm"), ("R", "turned_rad")):
            wanted = [getattr(model.nodes[n], of + letter)[case] for n in names]
            found = [step[part] for step in got[key]]
            # Right after a free joint the turn belongs to another bar there.
            skip = {JOINT_AT} if LINES[name][1] and of == "R" else set()
            most = max(map(abs, wanted))
            for k, (a, b) in enumerate(zip(found, wanted)):
                assert k in skip or abs(a - b) <= 0.005 * most, (key, letter, k, a, b)
    held = [names[k] for k in HANDS] + ([names[8]] if LINES[name][1] else [])
    for part, letter in enumerate("XYZ"):
        wanted = [getattr(model.nodes[n], "RxnF" + letter)[case] for n in held]
        most = max(map(abs, wanted))
        for mine, other in zip(got["forces_n"], wanted):
            assert abs(mine[part] - other) <= 0.005 * most, (letter, got["forces_n"], wanted)
