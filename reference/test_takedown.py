"""Joints that come apart: the two written pieces clear each other all along the way together, and a bayonet then locks."""

import tomllib

import manifold3d
import numpy
import pytest
import trimesh

from pack import ROOT
from test_pieces import as_manifold

SEARCH_MM = 3.0


def joints(pack):
    return [j for j in pack.joints if j.get("take_down")]


def moved(mesh, back_mm, back_deg):
    """In the joint's axes: pulled back along the plug, turned back about it."""
    turn = trimesh.transformations.rotation_matrix(numpy.radians(-back_deg), [0, 0, 1])
    turn[2, 3] = -back_mm
    copy = mesh.copy()
    copy.apply_transform(turn)
    return copy


def near_cut(mesh, reach_mm):
    """What lies around the joint: the rest can't touch, and is slow."""
    box = manifold3d.Manifold.cube([400.0, 400.0, 2 * (reach_mm + 30.0)], True)
    return as_manifold(mesh) ^ box


def sides(pack, joint):
    """The plug's piece and the socket's, in the joint's axes."""
    apart = joint["take_down"]
    to_joint = numpy.linalg.inv(numpy.array(apart["to_prop"]).reshape(4, 4))
    both = []
    for number in joint["pieces"]:
        mesh = next(p for p in pack.pieces if p.row["number"] == number).placed()
        mesh.apply_transform(to_joint)
        both.append(mesh)
    return both if apart["plug"] == "butt" else both[::-1]


def test_the_plug_clears_its_socket_along_the_way(pack):
    for joint in joints(pack):
        apart = joint["take_down"]
        plug, socket = sides(pack, joint)
        still = near_cut(socket, apart["reach_mm"])
        turn = apart["turn_deg"]
        for back in numpy.linspace(apart["reach_mm"] + 2.0, 0.5, 12):
            going = near_cut(moved(plug, back, turn), 3 * apart["reach_mm"])
            gap = going.min_gap(still, SEARCH_MM)
            least = min(back, apart["gap_mm"]) - 0.03
            assert gap >= least, f"J{joint['number']} {back:.1f} mm before it is home: {gap:.3f} mm"


def test_a_bayonet_turns_home_past_its_bumps_and_locks(pack):
    for joint in joints(pack):
        apart = joint["take_down"]
        if not apart["turn_deg"]:
            continue
        plug, socket = sides(pack, joint)
        still = near_cut(socket, apart["reach_mm"])
        for back_deg in numpy.linspace(apart["turn_deg"], 0.0, 16):
            # A hair off the face, so that touching faces count as nothing.
            overlap = (near_cut(moved(plug, 0.02, back_deg), 3 * apart["reach_mm"]) ^ still).volume()
            # Two ridges of a fraction of a millimetre are all that may be in the way, and nothing once home.
            most = 0.0 if back_deg == 0.0 else 12.0
            assert overlap <= most + 1e-6, f"J{joint['number']} at {back_deg:.0f} degrees: {overlap:.2f} mm3"
        pulled = (near_cut(moved(plug, 1.0, 0.0), 3 * apart["reach_mm"]) ^ still).volume()
        assert pulled > 1.0, f"J{joint['number']} can be pulled apart: {pulled:.3f} mm3"
        freed = (near_cut(moved(plug, 1.0, apart["turn_deg"]), 3 * apart["reach_mm"]) ^ still).volume()
        assert freed == pytest.approx(0.0, abs=1e-6), f"J{joint['number']} stays shut: {freed:.3f} mm3"


def test_magnets_pull_in_one_position_only(pack):
    for joint in joints(pack):
        pairs = joint["take_down"]["magnets"]
        poles = [pair["pole"] for pair in pairs]
        assert all(a != b for a, b in poles), poles
        for by in range(1, len(poles)):
            pulls = sum(1 if poles[k][0] != poles[(k + by) % len(poles)][1] else -1 for k in range(len(poles)))
            assert pulls <= 0, f"J{joint['number']} pulls when turned by {by}: {poles}"


def test_a_connector_has_its_room_in_the_plug(pack):
    """A box as large as the connector lies in the plug's end, beside the bar, and meets neither."""
    rows = tomllib.loads((ROOT / "catalogue/hardware.toml").read_text(encoding="utf-8"))["connector"]
    for joint in joints(pack):
        apart = joint["take_down"]
        for bought in (b for b in apart["bought"] if b["what"] == "connector"):
            wide, high, long = (float(v.removesuffix(" mm")) for v in rows[bought["row"]]["size"])
            plug = near_cut(sides(pack, joint)[0], apart["reach_mm"])
            to_joint = numpy.linalg.inv(numpy.array(apart["to_prop"]).reshape(4, 4))
            bars = [mesh.copy() for name, mesh in pack.inside.items() if name.startswith("spine")]
            assert bars
            for bar in bars:
                bar.apply_transform(to_joint)
            taken = sum((near_cut(bar, apart["reach_mm"]) for bar in bars), plug)
            # The box ends with the plug; outside the plug it would be free anywhere.
            within = (plug ^ manifold3d.Manifold.cube([400, 400, long], True).translate([0, 0, apart["reach_mm"] - long / 2])).hull()
            places = [
                manifold3d.Manifold.cube([*size, long - 0.1], True).translate([x, y, apart["reach_mm"] - long / 2 - 0.05])
                for size in [(wide, high), (high, wide)]
                for x in numpy.arange(-12, 12.1, 0.5)
                for y in numpy.arange(-12, 12.1, 0.5)
                if numpy.hypot(x, y) < 12
            ]
            assert any((box ^ taken).is_empty() and (box - within).volume() < 0.5 for box in places), joint["number"]
