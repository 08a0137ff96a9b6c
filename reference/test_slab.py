"""Light through flat walls, walked and doubled by our own crate, against the adding-doubling library iadpython."""

import json
import os
import subprocess

import iadpython
import pytest

from pack import ROOT

# index, scattering and absorption per mm, anisotropy, thickness in mm
SLABS = [
    (1.0, 1.0, 0.0, 0.0, 1.0),
    (1.0, 1.8, 0.2, 0.75, 1.0),
    (1.0, 2.0, 0.01, 0.0, 2.0),
    (1.0, 4.0, 0.1, 0.0, 1.2),
    (1.0, 0.5, 0.5, 0.0, 0.8),
    (1.0, 10.0, 0.05, 0.8, 3.0),
    (1.46, 0.25, 0.005, 0.0, 2.0),
    (1.46, 1.0, 0.005, 0.0, 1.2),
    (1.46, 2.0, 0.02, 0.0, 1.6),
    (1.46, 4.0, 0.005, 0.0, 4.0),
    (1.46, 20.0, 0.005, 0.9, 2.0),
    (1.46, 0.5, 0.3, 0.0, 3.0),
    (1.5, 0.9, 0.1, 0.0, 100.0),
    (1.5, 0.1, 0.002, 0.0, 1.0),
    (1.5, 0.5, 0.01, 0.0, 3.0),
    (1.5, 1.0, 0.05, 0.5, 2.0),
    (1.5, 2.0, 0.005, 0.0, 0.8),
    (1.5, 3.0, 0.1, 0.0, 2.0),
    (1.5, 6.0, 0.002, 0.0, 1.2),
    (1.57, 1.0, 0.3, 0.0, 2.0),
]

PACKETS = 100_000

# What that library itself is good for: its values move by as much between 16 angles and more.
ITS_OWN = 0.001


@pytest.fixture(scope="module")
def ours():
    names = ("index", "scatter_per_mm", "absorb_per_mm", "anisotropy", "thickness_mm")
    asked = {"packets": PACKETS, "seed": 1, "slabs": [dict(zip(names, slab)) for slab in SLABS]}
    program = os.environ.get("GLOW_SLABS", str(ROOT / "target/debug/examples/slabs"))
    done = subprocess.run([program], input=json.dumps(asked), capture_output=True, text=True, encoding="utf-8")
    assert done.returncode == 0, done.stdout + done.stderr
    return json.loads(done.stdout)


def theirs(index, scatter, absorb, anisotropy, thickness):
    """Sent back and passed, of light along the normal and of diffuse light."""
    extinction = scatter + absorb
    sample = iadpython.Sample(a=scatter / extinction, b=extinction * thickness, g=anisotropy, d=thickness, n=index, quad_pts=16)
    straight_back, straight_through, diffuse_back, diffuse_through = sample.rt()
    return {"straight": (straight_back, straight_through), "diffuse": (diffuse_back, diffuse_through)}


def test_there_are_enough_slabs_of_each_kind():
    assert len(SLABS) >= 16
    assert {1.0, 1.5} <= {slab[0] for slab in SLABS}


@pytest.mark.parametrize("which", range(len(SLABS)), ids=[" ".join(map(str, slab)) for slab in SLABS])
def test_a_wall_does_with_light_what_the_other_library_says(ours, which):
    for light, (back, through) in theirs(*SLABS[which]).items():
        got = ours[which][light]
        assert abs(got["booked"] - 1) < 1e-9
        for name, want in (("back", back), ("through", through)):
            sigma = got["sigma_" + name]
            # No noisier than sending each packet one way, which alone would say nothing of a sigma that is too large.
            assert sigma <= (got[name] * (1 - got[name]) / PACKETS) ** 0.5 + 1e-12
            off = abs(got[name] - want)
            assert off <= 4 * sigma + ITS_OWN and off <= 0.005 + ITS_OWN, (light, name, got[name], want, sigma)
            assert abs(got["doubled_" + name] - want) <= 2 * ITS_OWN, (light, name, got["doubled_" + name], want)
