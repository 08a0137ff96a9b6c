# The strip by a state machine fed by direct memory access: the program goes on at once, and sound never breaks.
import kernels
import rp2
import time
from array import array
from machine import Pin
from settings import *


# Ten ticks a bit at 8 MHz: three high, three as the bit says, four low.
@rp2.asm_pio(
    out_init=rp2.PIO.OUT_LOW, set_init=rp2.PIO.OUT_LOW, out_shiftdir=rp2.PIO.SHIFT_LEFT, autopull=True, pull_thresh=24
)
def bits():
    wrap_target()
    out(x, 1)
    set(pins, 1)[2]
    mov(pins, x)[2]
    set(pins, 0)[2]
    wrap()


class Strip:
    def __init__(self):
        pin = Pin(PIN_STRIP)
        # Machine 4 is the first of the second block; sound has the first block.
        self.machine = rp2.StateMachine(4, bits, freq=8000000, out_base=pin, set_base=pin)
        self.machine.active(1)
        self.words = array("I", [0] * (PIXELS * STRIPS))
        view = memoryview(self.words)
        self.parts = [view[k * PIXELS:(k + 1) * PIXELS] for k in range(STRIPS)]
        self.carrier = rp2.DMA()
        # Words, paced by the machine's queue (request 8).
        self.control = self.carrier.pack_ctrl(size=2, inc_write=False, treq_sel=8)
        self.free = time.ticks_us()

    def send(self, frame):
        # Nothing waits here unless the program has fallen behind and catches up: a frame that ran into the one before would show
        # pixels of both. 30 us a pixel, and a pause after which the strip takes the next frame from its first pixel.
        while time.ticks_diff(self.free, time.ticks_us()) > 0:
            pass
        self.free = time.ticks_add(time.ticks_us(), 30 * PIXELS * STRIPS + 500)
        for part in self.parts:
            kernels.words(part, frame, PIXELS, WIRE[0], WIRE[1], WIRE[2])
        self.carrier.config(read=self.words, write=self.machine, count=PIXELS * STRIPS, ctrl=self.control, trigger=True)
