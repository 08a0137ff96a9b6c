# The strip by a state machine fed by direct memory access: nothing waits, and sound never breaks.
from array import array
import kernels
import rp2
from machine import Pin
from settings import *


# Ten ticks a bit at 8 MHz: high for 3, then high for 3 more if the bit is 1, low for the rest.
@rp2.asm_pio(sideset_init=rp2.PIO.OUT_LOW, out_shiftdir=rp2.PIO.SHIFT_LEFT, autopull=True, pull_thresh=24)
def bits():
    wrap_target()
    label("next")
    out(x, 1).side(0)[3]
    jmp(not_x, "zero").side(1)[2]
    jmp("next").side(1)[2]
    label("zero")
    nop().side(0)[2]
    wrap()


class Strip:
    def __init__(self):
        # Machine 4 is the first of the second block; sound has the first block.
        self.machine = rp2.StateMachine(4, bits, freq=8000000, sideset_base=Pin(PIN_STRIP))
        self.machine.active(1)
        self.words = array("I", [0] * PIXELS)
        self.carrier = rp2.DMA()
        # Words, paced by the machine's queue (request 8).
        self.control = self.carrier.pack_ctrl(size=2, inc_write=False, treq_sel=8)

    def show(self, frame):
        # 30 us a pixel: the last frame has long gone out.
        kernels.words(self.words, frame, PIXELS, WIRE[0], WIRE[1], WIRE[2])
        self.carrier.config(read=self.words, write=self.machine, count=PIXELS, ctrl=self.control, trigger=True)
