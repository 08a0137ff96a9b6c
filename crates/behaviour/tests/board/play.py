# Runs the program of a board under an interpreter, with only the hardware put in: `play.py FOLDER RECORDING`. What happens is
# printed as the engine's own log has it. A recording has a line a sample: six counts, button, millivolts of the cell.
import os
import struct
import sys


class Done(Exception):
    pass


class Board:
    rows = None
    row = None
    n = -1
    owed = 0
    sound = None
    played = None
    strip = None
    setup = 0


def checksum(data):
    a = 1
    b = 0
    for v in data:
        a = (a + v) & 0x3FFF
        b = (b + a) & 0x3FFF
    return b << 14 | a


def gravity():
    if Board.n >= 0 and Board.n % 64 == 0:
        d = main.prop.detector
        print("%d G %d %d %d" % (Board.n, d.x, d.y, d.z))


class Pin:
    IN = 0
    OUT = 1
    PULL_UP = 2

    def __init__(self, number, mode=0, pull=None):
        self.number = number

    def value(self):
        return 0 if Board.row[6] else 1


class ADC:
    def __init__(self, pin):
        pass

    # What a converter of 16 bits with the divider would say, so that the millivolts come out again.
    def read_u16(self):
        return ((Board.row[7] << 16) + CELL_FULL_MV - 1) // CELL_FULL_MV


class I2C:
    def __init__(self, bus, *, scl, sda, freq):
        assert freq == 400000

    def writeto_mem(self, address, register, data):
        assert len(data) == 1
        Board.setup += 1

    def readfrom_mem_into(self, address, register, raw):
        gravity()
        line = Board.rows.readline()
        if not line:
            raise Done()
        Board.row = r = [int(v) for v in line.split(",")]
        Board.n += 1
        assert WDT.fed == Board.n, "the watchdog is fed once a step, after all of it"
        struct.pack_into(">7h", raw, 0, r[0], r[1], r[2], 0, r[3], r[4], r[5])
        Board.owed += SOUND_HZ
        if Board.owed >= 256 * PACE:
            Board.owed -= 256 * PACE
            Board.sound.asks(Board.sound)


class I2S:
    TX = 1
    MONO = 0

    def __init__(self, number, *, sck, ws, sd, mode, bits, format, rate, ibuf):
        assert (bits, rate) == (16, SOUND_HZ)
        Board.sound = self

    def irq(self, asks):
        self.asks = asks

    # While one block is played the next is mixed into another.
    def write(self, block):
        assert len(block) == 256 and block is not Board.played
        Board.played = block


class WDT:
    fed = 0

    def __init__(self, timeout):
        assert timeout <= 8388

    def feed(self):
        WDT.fed += 1


# The first frame after a reset is dark, and nothing else has happened before it.
def sent(wire):
    if Board.strip is None:
        assert not any(wire) and Board.setup == 0 and Board.sound is None
    Board.strip = bytes(wire)


def bitstream(pin, kind, times, wire):
    assert kind == 0 and len(times) == 4
    sent(wire)


class PIO:
    OUT_LOW = 0
    SHIFT_LEFT = 0


class StateMachine:
    def __init__(self, number, program, freq, out_base, set_base):
        assert freq == 8000000 and out_base is set_base

    def active(self, on):
        pass


class DMA:
    def pack_ctrl(self, size, inc_write, treq_sel):
        return (size, inc_write, treq_sel)

    def config(self, read, write, count, ctrl, trigger):
        assert ctrl == (2, False, 8) and count == len(read)
        wire = []
        for word in read:
            assert word & 0xFF == 0
            wire += [word >> 24, word >> 16 & 0xFF, word >> 8 & 0xFF]
        sent(wire)


def asm_pio(**options):
    return lambda program: program


class Module:
    pass


def module(name, **parts):
    made = Module()
    for part in parts:
        setattr(made, part, parts[part])
    sys.modules[name] = made


# Each event of a step, as the engine writes it; and the strip must have been sent what was painted.
def tell(kind, *rest):
    line = "%d %s" % (Board.n, kind)
    for part in rest:
        line += " " + str(part)
    if kind == "F":
        line += " %d" % checksum(main.prop.painter.shown)
    elif kind == "B":
        raw = bytearray()
        for v in main.prop.mixer.block:
            raw.append(v & 0xFF)
            raw.append(v >> 8 & 0xFF)
        line += " %d" % checksum(raw)
    print(line)


folder, recording = sys.argv[1], sys.argv[2]
Board.rows = open(recording)
os.chdir(folder)
sys.path.insert(0, ".")
module("machine", Pin=Pin, ADC=ADC, I2C=I2C, I2S=I2S, WDT=WDT, bitstream=bitstream)
module("rp2", PIO=PIO, StateMachine=StateMachine, DMA=DMA, asm_pio=asm_pio)
module(
    "time", ticks_us=lambda: 0, ticks_add=lambda a, b: a + b & 0xFFFF, ticks_diff=lambda a, b: 0,
    sleep_us=lambda us: None,
)
from settings import CELL_FULL_MV, PACE, PIXELS, SENSOR_SETUP, SOUND_HZ, STRIPS, WIRE  # noqa: E402
import main  # noqa: E402

try:
    main.run(tell)
except Done:
    pass
shown = main.prop.painter.shown
wire = bytes([shown[3 * (k // 3) + WIRE[k % 3]] for k in range(3 * PIXELS)] * STRIPS)
assert Board.strip == wire, "the strip was sent something else"
assert Board.setup == len(SENSOR_SETUP) and WDT.fed == Board.n + 1
