"""Circuits worked out by our own crate, against the circuit simulator ngspice: every node, and a flash in time.

The netlists are written here from what the parts are, not from what our program does: cells as sources behind resistances,
converters and pixels as behavioural sources."""

import json
import math
import os
import shutil
import subprocess

import pytest

from pack import ROOT

# Every node within this many volts.
NEAR_V = 1e-3

# A transient within this share of its swing.
NEAR_SHARE = 0.02

COPPER_PER_K = 0.00393


def cell(volt=3.9, ohm=0.05):
    return {"name": "cell", "kind": "cell", "nodes": ["cell", "0"], "open_v": volt, "ohm": ohm}


def wire(name, a, b, awg=22, length_mm=400):
    return {"name": name, "kind": "wire", "nodes": [a, b], "awg": awg, "length_mm": length_mm}


def converter(a, b, minus, most_in_a=6.0):
    numbers = {"output_v": 5.1, "output_ohm": 0.02, "efficiency": 0.88, "idle_a": 0.002, "lowest_in_v": 2.5}
    return {"name": "converter", "kind": "converter", "nodes": [a, b, minus], "most_in_a": most_in_a, **numbers}


def strip(name, nodes, taps, pixels=60, rail_ohm=0.0033, channel_a=0.012):
    red, blue, none = [channel_a, 1.8, 2.5], [channel_a, 2.8, 3.7], [0.0, 2.8, 3.7]
    numbers = {"rail_ohm": rail_ohm, "channels": [red, blue, blue, none], "idle_a": 0.001, "idle_v": 2.5}
    return {"name": name, "kind": "strip", "nodes": nodes, "taps": taps, "pixels": pixels, **numbers}


def fed_at_one_end():
    return [cell(5.0, 0.02), wire("red", "cell", "a"), wire("black", "b", "0"), strip("strip", ["a", "b"], [0])]


def fed_at_both_ends():
    wires = [wire("red", "cell", "a"), wire("black", "b", "0"), wire("far red", "cell", "c", 24, 1400), wire("far black", "d", "0", 24, 1400)]
    return [cell(5.0, 0.02), *wires, strip("strip", ["a", "b", "c", "d"], [0, 61])]


def behind_a_converter(both_ends):
    wires = [wire("red", "cell", "in", 20), wire("black", "minus", "0", 20), wire("strip red", "out", "a"), wire("strip black", "b", "minus")]
    if both_ends:
        wires += [wire("far red", "out", "c", 24, 1400), wire("far black", "d", "minus", 24, 1400)]
        return [cell(), *wires, converter("in", "out", "minus"), strip("strip", ["a", "b", "c", "d"], [0, 61])]
    return [cell(), *wires, converter("in", "out", "minus"), strip("strip", ["a", "b"], [0])]


def folded_back():
    """A weak cell, thin wires and a converter at its limit: green and blue are short of voltage."""
    wires = [wire("red", "cell", "in", 20), wire("black", "minus", "0", 20), wire("strip red", "out", "a", 24), wire("strip black", "b", "minus", 24)]
    load = {"name": "controller", "kind": "current", "nodes": ["out", "minus"], "amps": 0.08, "lowest_v": 3.0}
    return [cell(3.7, 0.06), *wires, converter("in", "out", "minus", 3.0), load, strip("strip", ["a", "b"], [0], 112, 0.0025)]


def many():
    """Two strips and everything else, one strip fed in its middle and at its end by different wires."""
    wires = [wire("red", "cell", "plug", 20, 150), wire("black", "minus", "0", 20, 150), wire("one red", "out", "a", 24), wire("one black", "b", "minus", 24)]
    wires += [wire("two red", "out", "c", 24, 900), wire("two black", "d", "minus", 26, 700), wire("two far", "out", "e", 28, 1200), wire("two far black", "f", "minus", 26, 900)]
    plug = {"name": "plug", "kind": "contact", "nodes": ["plug", "in"], "ohm": 0.015}
    amp = {"name": "amplifier", "kind": "amplifier", "nodes": ["in", "minus"], "speaker_ohm": 4.0, "efficiency": 0.85, "idle_a": 0.0028, "lowest_v": 2.5}
    power = {"name": "sensor", "kind": "power", "nodes": ["out", "minus"], "watt": 0.5, "lowest_v": 3.0}
    strips = [strip("one", ["a", "b"], [0], 40), strip("two", ["c", "d", "e", "f"], [20, 81], 80)]
    return [cell(4.0, 0.04), *wires, plug, converter("in", "out", "minus"), amp, power, *strips]


STILL = {
    "one end": fed_at_one_end(),
    "both ends": fed_at_both_ends(),
    "one end, converter": behind_a_converter(False),
    "both ends, converter": behind_a_converter(True),
    "folded back": folded_back(),
    "many parts": many(),
}
DRIVES = {"white": [1.0, 1.0, 1.0, 0.0], "blue": [0.1, 0.4, 1.0, 0.0], "dark": [0.0, 0.0, 0.0, 0.0]}
SOUND_W = 2.0
AMBIENT_C = 35.0

CAPACITOR = {"name": "capacitor", "kind": "capacitor", "nodes": ["a", "b"], "farad": 2200e-6, "esr_ohm": 0.03}
FLASHES = {
    "behind a wire": [cell(5.0, 0.1), wire("red", "cell", "a", 26, 1500), wire("black", "b", "0", 26, 1500), CAPACITOR, strip("strip", ["a", "b"], [0], 60)],
    "behind a converter": [*folded_back(), CAPACITOR],
}
FLASH = {"step_s": 1e-5, "duration_s": 6e-3, "from_s": 0.5e-3, "to_s": 3.5e-3, "watch": ["a", "b", "cell"]}


# What ngspice is told.


def fold(volt, off_v, full_v):
    share = f"min(max(({volt} - {off_v}) / {full_v - off_v}, 0), 1)"
    return f"({share} * (2 - {share}))"


def resistor(name, a, b, ohm):
    return [f"R{name} {a} {b} {ohm:.12g}"]


def strip_lines(part, drive, ambient_c, gate):
    """Two rails of resistances, a behavioural source for each pixel; taps are the wires' own nodes."""
    key, lines = part["name"].replace(" ", "_"), []
    taps = dict(zip(part["taps"], zip(part["nodes"][::2], part["nodes"][1::2])))
    at = lambda n: taps.get(n, (f"{key}_p{n}", f"{key}_m{n}"))
    ohm = part["rail_ohm"] * (1 + COPPER_PER_K * (ambient_c - 20))
    for n in range(part["pixels"] + 1):
        for side, letter in enumerate("pm"):
            lines += resistor(f"{key}_{letter}{n}", at(n)[side], at(n + 1)[side], ohm)
    for n in range(1, part["pixels"] + 1):
        plus, minus = at(n)
        volt = f"v({plus},{minus})"
        terms = [f"{part['idle_a']} * {fold(volt, 0, part['idle_v'])}"]
        terms += [f"{gate} * {c[0] * d:.12g} * {fold(volt, c[1], c[2])}" for c, d in zip(part["channels"], drive) if c[0] * d > 0]
        lines.append(f"B{key}_{n} {plus} {minus} i = {' + '.join(terms)}")
    return lines


def lines_of(part, drive, sound_w, ambient_c, gate="1"):
    key, nodes = part["name"].replace(" ", "_"), part["nodes"]
    match part["kind"]:
        case "cell":
            return [f"V{key} {key}_open {nodes[1]} {part['open_v']}", *resistor(key, f"{key}_open", nodes[0], part["ohm"])]
        case "wire":
            area_mm2 = math.pi / 4 * (0.127 * 92 ** ((36 - part["awg"]) / 39)) ** 2
            ohm = part["length_mm"] / 1000 / (58 * area_mm2) * (1 + COPPER_PER_K * (ambient_c - 20))
            return resistor(key, *nodes, ohm)
        case "contact":
            return resistor(key, *nodes, part["ohm"])
        case "capacitor":
            return [f"C{key} {nodes[0]} {key}_inner {part['farad']}", *resistor(key, f"{key}_inner", nodes[1], part["esr_ohm"])]
        case "strip":
            return strip_lines(part, drive, ambient_c, gate)
        case "current":
            return [f"B{key} {nodes[0]} {nodes[1]} i = {part['amps']} * {fold(f'v({nodes[0]},{nodes[1]})', 0, part['lowest_v'])}"]
        case "power":
            volt = f"v({nodes[0]},{nodes[1]})"
            return [f"B{key} {nodes[0]} {nodes[1]} i = {part['watt']} / max({volt}, {part['lowest_v']})"]
        case "amplifier":
            volt = f"v({nodes[0]},{nodes[1]})"
            watt = f"min({sound_w}, {volt} * {volt} / {2 * part['speaker_ohm']})"
            return [f"B{key} {nodes[0]} {nodes[1]} i = {part['idle_a']} + {watt} / ({part['efficiency']} * max({volt}, 0.1))"]
        case "converter":
            plus, out, minus = nodes
            # The output's current runs through a source of no voltage; the inner source holds, or gives what its input may take.
            current, volt = f"i(V{key}_out)", f"max(v({plus},{minus}), 0.1)"
            inner = f"min({part['output_v']}, {part['efficiency']} * {volt} * {part['most_in_a'] - part['idle_a']} / max({current}, 1e-6))"
            return [
                f"B{key}_inner {key}_e {minus} v = {inner}",
                *resistor(key, f"{key}_e", f"{key}_o", part["output_ohm"]),
                f"V{key}_out {key}_o {out} 0",
                f"B{key}_in {plus} {minus} i = {part['idle_a']} + v({key}_e,{minus}) * {current} / ({part['efficiency']} * {volt})",
            ]
    raise AssertionError(part["kind"])


def spice(parts, drive, sound_w, ambient_c, command, wanted, extra=(), gate="1"):
    """What ngspice says: rows of values of the wanted nodes."""
    lines = ["circuit", *extra]
    for part in parts:
        lines += lines_of(part, drive, sound_w, ambient_c, gate)
    # The first guess for all supplies is up, as in use.
    options = ".options reltol=1e-6 vntol=1e-7 abstol=1e-9 itl1=1000 gmin=1e-12 method=gear"
    vectors = " ".join(f"v({n})" for n in wanted)
    lines += [options, ".control", "set wr_singlescale", "set numdgt=12", command, f"wrdata /dev/stdout {vectors}", ".endc", ".end"]
    program = shutil.which("ngspice")
    assert program, "ngspice is not installed"
    done = subprocess.run([program, "-b", "/dev/stdin"], input="\n".join(lines) + "\n", capture_output=True, text=True, encoding="utf-8")
    rows = []
    for line in done.stdout.splitlines():
        try:
            numbers = [float(word) for word in line.split()]
        except ValueError:
            continue
        if len(numbers) == len(wanted) + 1:
            rows.append(numbers)
    assert rows, done.stdout + done.stderr
    return rows


def ours(asked):
    program = os.environ.get("CIRCUIT_CIRCUITS", str(ROOT / "target/debug/examples/circuits"))
    done = subprocess.run([program], input=json.dumps(asked), capture_output=True, text=True, encoding="utf-8")
    assert done.returncode == 0, done.stdout + done.stderr
    return json.loads(done.stdout)


@pytest.mark.parametrize("drive", DRIVES)
@pytest.mark.parametrize("which", STILL)
def test_every_node_of_a_circuit_stands_where_the_simulator_says(which, drive):
    parts = STILL[which]
    [answer] = ours([{"parts": parts, "drive": DRIVES[drive], "sound_w": SOUND_W, "ambient_c": AMBIENT_C}])
    want = {name: volt for name, volt in answer["nodes"].items() if name != "0"}
    for part, rails in zip([p for p in parts if p["kind"] == "strip"], answer["strips"]):
        key = part["name"].replace(" ", "_")
        for n in range(part["pixels"] + 2):
            if n not in part["taps"]:
                want[f"{key}_p{n}"], want[f"{key}_m{n}"] = rails["plus_v"][n], rails["minus_v"][n]
    assert len(want) > 100
    names = sorted(want)
    [row] = spice(parts, DRIVES[drive], SOUND_W, AMBIENT_C, "op", names)
    off = {name: want[name] - volt for name, volt in zip(names, row[1:]) if abs(want[name] - volt) > NEAR_V}
    assert not off


def test_the_folded_back_strip_is_folded_back():
    [answer] = ours([{"parts": folded_back(), "drive": DRIVES["white"], "ambient_c": AMBIENT_C}])
    rails = answer["strips"][0]
    assert 2.8 < rails["plus_v"][112] - rails["minus_v"][112] < 3.6
    assert answer["nodes"]["out"] - answer["nodes"]["minus"] < 4.5


@pytest.mark.parametrize("which", FLASHES)
def test_a_flash_with_a_capacitor_goes_as_the_simulator_says(which):
    parts = FLASHES[which]
    [answer] = ours([{"parts": parts, "drive": DRIVES["white"], "ambient_c": AMBIENT_C, "flash": FLASH}])
    start, end = FLASH["from_s"], FLASH["to_s"]
    source = f"Vgate gate 0 PWL(0 0 {start} 0 {start + 1e-7} 1 {end} 1 {end + 1e-7} 0)"
    rows = spice(parts, DRIVES["white"], 0.0, AMBIENT_C, f"tran 2u {FLASH['duration_s']} 0 5u", FLASH["watch"], [source], "v(gate)")
    # The simulator's own steps, met by straight lines; where the light jumps, voltages may jump between two of our steps.
    times = [row[0] for row in rows]
    step = FLASH["step_s"]
    for column, name in enumerate(FLASH["watch"], 1):
        values = [row[column] for row in rows]
        swing = max(values) - min(values)
        assert swing > 0.02, name
        for at, volt in zip(answer["at_s"], answer["volts"][name]):
            if min(abs(at - start), abs(at - end)) <= 1.5 * step:
                continue
            k = next((k for k, t in enumerate(times) if t >= at), len(times) - 1)
            share = (at - times[k - 1]) / (times[k] - times[k - 1]) if k and times[k] > times[k - 1] else 0.0
            simulated = values[k - 1] + share * (values[k] - values[k - 1]) if k else values[0]
            assert abs(volt - simulated) <= NEAR_SHARE * swing, (name, at, volt, simulated, swing)
