"""The program that a pack brings, under two interpreters, against what `lanthorn rehearse` writes of the same motion.

Nothing of the engine is asked but its files: events by their rows, frames by what frames.bin says of them, sound by heard.wav.
"""
import csv
import io
import os
import struct
import subprocess
import sys
import time
import types
import wave

import pytest
from test_behaviour import CRATE, PLAY, ROOT, browser, done, unix

MOTION = "press, walk 5 s, swing, strike, swing, tip-up, swing, parry, twist, level, drop, press, rest 3 s, press 1000 ms, rest 3 s"


def checksum(data):
    a, b = 1, 0
    for v in data:
        a = (a + v) & 0x3FFF
        b = (b + a) & 0x3FFF
    return b << 14 | a


@pytest.fixture(scope="module")
def rehearsed(pack, tmp_path_factory):
    """A rehearsal of the pack's project, and its motion as the harness reads it."""
    folder = tmp_path_factory.mktemp(pack.home.name)
    project = ROOT / "examples" / pack.home.name / "prop.toml"
    if "behaviour" not in pack.project:
        pytest.skip("it does nothing")
    program = os.environ.get("LANTHORN_BIN", str(ROOT / "target/debug/lanthorn"))
    made = folder / "rehearsal"
    command = [program, "rehearse", project, "--generate", MOTION, "--seed", "3", "--out", made]
    levels = pack.home / "light/response.json"
    if levels.exists():
        command += ["--levels", levels]
    ran = subprocess.run([str(c) for c in command], capture_output=True, text=True, encoding="utf-8")
    assert ran.returncode == 0, ran.stderr
    with (made / "motion.csv").open(newline="") as lines:
        rows = list(csv.DictReader(lines))
    axes = settings_of(pack).AXES

    def as_the_chip_lies(along):
        chip = [0, 0, 0]
        for axis, value in zip(axes, along):
            chip[abs(axis) - 1] = value if axis > 0 else -value
        return chip

    counts = []
    for row in rows:
        force = as_the_chip_lies([round(float(row[f"a{k}_g"]) * 2048) for k in "xyz"])
        rate = as_the_chip_lies([round(float(row[f"g{k}_dps"]) * 16.384) for k in "xyz"])
        counts.append(",".join(map(str, [*force, *rate, row["button"], 3900])))
    recording = folder / "motion.txt"
    recording.write_text("\n".join(counts) + "\n")
    return made, recording, len(counts)


def wanted_frames(made):
    """Every frame, from the compact file."""
    data = (made / "frames.bin").read_bytes()
    letters, form, pixels, strips, hz, count, written = struct.unpack_from("<4sHHHHII", data)
    assert (letters, form, hz) == (b"LTFR", 1, 50) and strips >= 1
    at, frames, last, number = 20, [], bytes(3 * pixels), -1
    for _ in range(written):
        number = struct.unpack_from("<I", data, at)[0]
        frames += [last] * (number - len(frames))
        last = data[at + 4:at + 4 + 3 * pixels]
        frames.append(last)
        at += 4 + 3 * pixels
    frames += [last] * (count - len(frames))
    assert at == len(data) and len(frames) == count
    return frames


def compared(said, made, settings):
    """Events, frames and sound of a log against the rehearsal's files; how many lines there were."""
    said = [line.split() for line in said.splitlines()]
    with (made / "events.csv").open(newline="") as lines:
        rows = list(csv.DictReader(lines))
    names = {"T": lambda w: w[2], "M": lambda w: "mode", "S": lambda w: "sound", "E": lambda w: "empty"}
    happened = [(f"{int(w[0]) / settings.PACE:.4f}", names[w[1]](w)) for w in said if w[1] in names]
    assert happened == [(row["t_s"], row["kind"]) for row in rows]
    modes = [settings.MODES[int(w[2])][0] for w in said if w[1] == "M"]
    assert modes == [row["detail"] for row in rows if row["kind"] == "mode"]
    sounds = [settings.SOUNDS[int(w[2])][0] for w in said if w[1] == "S"]
    assert sounds == [row["detail"].split()[0] for row in rows if row["kind"] == "sound"]
    frames = wanted_frames(made)
    shown = [(int(w[2]), int(w[3])) for w in said if w[1] == "F"]
    assert shown == [(sum(f), checksum(f)) for f in frames]
    with wave.open(str(made / "heard.wav"), "rb") as heard:
        assert (heard.getnchannels(), heard.getsampwidth(), heard.getframerate()) == (1, 2, settings.SOUND_HZ)
        data = heard.readframes(heard.getnframes())
    blocks = [checksum(data[k:k + 512]) for k in range(0, len(data), 512)]
    assert [int(w[2]) for w in said if w[1] == "B"] == blocks
    return len(happened) + len(shown) + len(blocks)


def settings_of(pack):
    space = {}
    exec((pack.home / "controller/settings.py").read_text(), space)
    return types.SimpleNamespace(**space)


def test_the_packs_program_says_what_the_rehearsal_says(pack, rehearsed):
    made, recording, _ = rehearsed
    said = done([unix(), "-X", "heapsize=32m", PLAY, pack.home / "controller", recording])
    assert compared(said, made, settings_of(pack)) > 2000


def test_integers_of_31_bits_say_it_too(pack, rehearsed, tmp_path):
    """The same files without the marks by which loops are compiled."""
    made, recording, _ = rehearsed
    for path in (pack.home / "controller").rglob("*"):
        if path.suffix not in (".py", ".wav"):
            continue
        to = tmp_path / path.relative_to(pack.home / "controller")
        to.parent.mkdir(exist_ok=True)
        data = path.read_bytes()
        if path.name == "kernels.py":
            lines = data.decode().splitlines(True)
            data = "".join(
                line for line in lines if not line.startswith("@micropython") and line.strip() != "import micropython"
            ).encode()
        to.write_bytes(data)
    said = done(["node", CRATE / "tests/board/play.mjs", browser(), PLAY, tmp_path, recording])
    assert compared(said, made, settings_of(pack)) > 2000


def test_the_sounds_on_the_board_are_16_bit_mono(pack):
    settings = settings_of(pack)
    for name, length in settings.SOUNDS:
        with wave.open(str(pack.home / f"controller/sounds/{name}.wav"), "rb") as sound:
            assert (sound.getnchannels(), sound.getsampwidth(), sound.getframerate()) == (1, 2, settings.SOUND_HZ)
            assert sound.getnframes() == length


def test_the_bench_program_runs_through(pack, monkeypatch, capsys):
    """Under Python, with only the hardware put in: the board is dark first, every frame is whole and within the budget, the
    cell is read over its whole range, and the first sound is played."""
    settings = settings_of(pack)
    home = pack.home / "controller"
    sent, played, ranges = [], [], []

    class Part:
        def __init__(self, *given, **named):
            pass

    class Strip(Part):
        def send(self, frame):
            sent.append(bytes(frame))

    class Pin(Part):
        IN = PULL_UP = 0

        def value(self):
            return 1

    class ADC(Part):
        ATTN_11DB = 3

        def atten(self, value):
            ranges.append(value)

        def read_u16(self):
            return 38000

    class I2C(Part):
        def writeto_mem(self, address, register, data):
            pass

        def readfrom_mem_into(self, address, register, raw):
            for k in range(3):
                struct.pack_into(">h", raw, 2 * k, 2048 if abs(settings.AXES[0]) == k + 1 else 0)

    class I2S(Part):
        TX = MONO = 0

        def write(self, block):
            played.append(len(block))

    class Wav(io.FileIO):
        def readinto(self, block):
            return super().readinto(memoryview(block).cast("B"))

    machine = types.SimpleNamespace(ADC=ADC, I2C=I2C, I2S=I2S, Pin=Pin, WDT=Part)
    for name, module in (("machine", machine), ("strip", types.SimpleNamespace(Strip=Strip)), ("settings", settings)):
        monkeypatch.setitem(sys.modules, name, module)
    monkeypatch.delitem(sys.modules, "main", raising=False)
    monkeypatch.setattr(time, "sleep_us", lambda us: None, raising=False)
    monkeypatch.syspath_prepend(str(home))
    exec((home / "bench.py").read_text(), {"open": lambda name, mode: Wav(home / name)})
    monkeypatch.delitem(sys.modules, "main")
    dark = bytes(3 * settings.PIXELS)
    assert [len(frame) for frame in sent] == [len(dark)] * 6 and sent[0] == sent[-1] == dark
    assert all(0 < sum(frame) <= settings.BUDGET for frame in sent[1:-1])
    assert ranges == [ADC.ATTN_11DB]
    said = capsys.readouterr().out
    sign = "" if settings.AXES[0] > 0 else "-"
    assert "button: up" in said and f"cell: {38000 * settings.CELL_FULL_MV >> 16} mV" in said
    assert f"{sign}1.00 0.00 0.00" in said.replace("-0.00", "0.00")
    assert bool(played) == bool(settings.SOUNDS)
