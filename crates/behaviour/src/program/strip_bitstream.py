# The strip by the board's own bit stream, which holds up only whoever calls it.
from machine import Pin, bitstream
from settings import *


class Strip:
    def __init__(self):
        self.pin = Pin(PIN_STRIP, Pin.OUT)
        self.wire = bytearray(3 * PIXELS * STRIPS)

    def send(self, frame):
        wire = self.wire
        one, two, three = WIRE
        at = 0
        for _ in range(STRIPS):
            for o in range(0, 3 * PIXELS, 3):
                wire[at] = frame[o + one]
                wire[at + 1] = frame[o + two]
                wire[at + 2] = frame[o + three]
                at += 3
        bitstream(self.pin, 0, (400, 850, 800, 450), wire)
