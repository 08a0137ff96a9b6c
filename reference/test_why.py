"""What findings say they were worked out from: that it is there, and that the equations hold of it."""

import json
import math
import tomllib

import pytest

from pack import ROOT, homes

REASONS = tomllib.loads((ROOT / "crates/lanthorn/src/open/why.toml").read_text())
COMPUTED = {kind for equation in REASONS["equation"] for kind in equation["of"]}


@pytest.fixture(params=homes(), ids=lambda home: home.name)
def findings(request):
    return json.loads((request.param / "findings.json").read_text(encoding="utf-8"))["findings"]


def inputs(finding):
    return {i["name"]: i["value"] for i in finding.get("inputs", [])}


def test_what_is_computed_says_from_what(findings):
    told = [f for f in findings if f["id"] in COMPUTED]
    assert len({f["id"] for f in told}) > 40
    assert [(f["id"], f["subject"]) for f in told if not f.get("inputs")] == []


def test_inputs_are_whole_and_have_the_names_of_the_letters(findings):
    letters = {kind: e["symbols"] for e in REASONS["equation"] for kind in e["of"]}
    for finding in findings:
        for given in finding.get("inputs", []):
            assert set(given) == {"name", "value", "unit", "from"} and all(given[k] for k in ("name", "unit", "from"))
            assert math.isfinite(given["value"]), finding
        for _, name in letters.get(finding["id"], []):
            assert name in inputs(finding) or (finding["id"], name) in NOT_ALWAYS, (finding["id"], name, finding["subject"])


# Letters that stand for something only in some cases.
NOT_ALWAYS = {
    ("joint_glue", "thickness there"),  # where the spine does not bridge it
    ("heat_car", "light at full"),  # dark there
    ("heat_cell", "light at full"),
    ("heat_cell", "worn at"),
    ("graded_wall", "ripple of the even wall"),  # where it was left even
    ("graded_wall", "ripple of the graded wall"),
}


def bending(i):
    """von Mises for pull and shear together (Gere & Goodno, Mechanics of Materials)."""
    return i["strength"] / math.sqrt(i["stress along"] ** 2 + 3 * i["shear"] ** 2)


def buckling(i):
    """A long plate held at both sides, k = 4 (Timoshenko & Gere, Theory of Elastic Stability; from memory)."""
    slender = i["wall"] / i["breadth"]
    return 4 * math.pi**2 * i["stiffness"] / (12 * (1 - 0.37**2)) * slender**2 / i["pressed with"]


def straightened(i):
    """A beam on two ends pressed straight in the middle, 48 E I / l^3, against friction there and at the ends."""
    pressed = max(i["bowed by"] - 2 * i["gap a side"], 0)
    stiff = 48 * i["stiffness"] * i["second moment of its section"] / i["length"] ** 3
    return 2 * i["friction"] * stiff * pressed


def at_ear(i, level):
    """A point source: 10 lg of the power, 6 dB for each doubling of the distance."""
    return i["speaker, 1 W in 1 m"] + 10 * math.log10(i["amplifier"]) - 20 * math.log10(i["ear"] / 1000) + i[level]


def spare(i):
    wide, deep = (i[f"bed, {k}"] - 2 * i["margin"] - i[k] for k in ("wide", "deep"))
    room = min(wide, deep, i["bed, high"] - i["margin"] - i["high"])
    return 0 if abs(room) < 1e-6 else room


HELD = {
    "strength_held": bending,
    "strength_swing": bending,
    "strength_strike": bending,
    "strength_stored": bending,
    "spine_bears": bending,
    "wall_buckles": buckling,
    "spine_bow": straightened,
    "joint_play": lambda i: math.radians(i["tilt"]) * i["to the nearer end"],
    "takedown_play": lambda i: math.degrees(math.atan(2 * i["gap a side"] / i["reach"])),
    "glow_bright": lambda i: i["window in white"] * math.pi / (i["light of the room"] * i["sent back by the unlit wall"]),
    "glow_even": lambda i: i["darkest"] / i["brightest"],
    "glow_across": lambda i: i["darkest"] / i["brightest"],
    "glow_ends": lambda i: i["darkest"] / i["brightest"],
    "glow_leak": lambda i: i["brightest dark place"] / i["mean of the windows"],
    "glow_joint": lambda i: abs(i["over the joint"] - (i["before it"] + i["behind it"]) / 2)
    / (i["over the joint"] + (i["before it"] + i["behind it"]) / 2),
    "power_lasts": lambda i: 3600
    * i["capacity of a cell"]
    * i["cells side by side"]
    * (1 - i["charge left at the end"])
    / i["mean current"],
    "power_colour": lambda i: min(max((i["voltage of the pixel"] - 2.8) / 0.9, 0), 1)
    / min((i["voltage of the pixel"] - 1.8) / 0.7, 1),
    "fuse_holds": lambda i: i["worst instant"] / i["rating"],
    "wire_warm": lambda i: i["air"] + i["warmer by"],
    # ASTM B258: 39 steps from 36 AWG, 0.127 mm, to 0000, 11.684 mm.
    "wire_fits": lambda i: 0.127 * 92 ** ((36 - i["gauge"]) / 39) + i["insulation, both sides"],
    "bulk_capacitor": lambda i: 1e6 * i["more current at once"] * i["bridged for"] / i["fall"],
    "sound_loud": lambda i: at_ear(i, "loudest second under a full sine"),
    "sound_dose": lambda i: at_ear(i, "mean under a full sine") + 10 * math.log10(i["gone through for"] / 8),
    "event_sound": lambda i: i["loudest second at the ear"] + 20 * math.log10(i["ear"] / i["measured at"]),
    "plan_in_time": lambda i: i["event"] - i["finished"],
    "plan_chance": lambda i: i["in time"] / i["plays"],
    "plan_change": lambda i: i["finished as it is"] - i["finished then"],
    "volumes_add_up": lambda i: abs((i["printed"] + i["taken away"] - i["added"]) / i["solid"] - 1),
    "fits_printer": spare,
    "strip_slides": lambda i: i["gap of the largest, a side"] - i["printed narrower by, in all"] / 2,
    "spine_slides": lambda i: i["gap of the largest, a side"] - i["printed narrower by, in all"] / 2,
    "part_way": lambda i: i["gap as drawn"] - i["printed narrower by, in all"] / 2,
    "cover_passes": lambda i: i["gap as drawn, a side"] - i["printed narrower by, a side"],
    "wire_way": lambda i: 2 * i["from the wires' middle to plastic"] - i["printed narrower by, in all"],
    "cut_clear": lambda i: abs(i["cut at station"] - i["nearest pixel at station"]) - i["breadth of a pixel"] / 2,
    "wrap_length": lambda i: i["lengths"] * i["each cut to"],
    "grip_girth": lambda i: i["round"] / math.pi,
    "cost_reprints": lambda i: i["plates"] * (1 / (1 - i["of plates fail"]) - 1),
    "cell_quick": lambda i: i["to open"] + i["to unplug"] + i["way out"] / i["drawn at"],
}


def test_equations_hold_of_their_inputs(findings):
    """By expressions of this file, written after the sources named there and not after the program's code."""
    seen = set()
    for finding in findings:
        expected = HELD.get(finding["id"])
        if expected and finding.get("inputs"):
            seen.add(finding["id"])
            value = finding["measured"]["value"]
            assert value == pytest.approx(expected(inputs(finding)), rel=1e-6, abs=1e-9), finding
    assert len(seen) > 25, sorted(seen)


SUMS = {"finished_weight", "event_mass", "travel_mass", "cost_total", "cost_within", "plate_time", "board_busy", "plan_hands"}


def test_sums_are_sums(findings):
    for finding in findings:
        if finding["id"] in SUMS:
            total = sum(i["value"] for i in finding["inputs"])
            assert finding["measured"]["value"] == pytest.approx(total, rel=1e-9), finding


def test_what_the_wrist_holds_is_mass_times_lever(findings):
    """Statics; mass that lies beside the line from hand to balance, within a centimetre of it, adds a little."""
    held = next(f for f in findings if f["id"] == "wrist_holds")
    i = inputs(held)
    lever = abs(i["balances at"] - i["held at"]) / 1000
    weight = i["mass"] / 1000 * 9.80665
    assert held["measured"]["value"] == pytest.approx(weight * lever, rel=0.05, abs=weight * 0.01)


def test_glue_that_is_needed_is_what_its_inputs_ask(findings):
    """Two flanges, each half of the area, a thickness apart: p (A/2) (h/2) = k M."""
    for finding in findings:
        if finding["id"] == "joint_glue":
            i = inputs(finding)
            k, p = i["times, swung or knocked"], i["borne by glue"]
            if "thickness there" in i:
                need = 4 * k * i["their moment about it"] / (p * i["thickness there"])
            else:
                need = k * i["mass beyond it"] / 1000 * 9.81 / p
            assert finding["limit"]["min"] == pytest.approx(max(need, i["least that is worth it"]), rel=1e-9), finding
