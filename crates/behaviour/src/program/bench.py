# For the bench, run from a computer while the button kept the program from starting: strip, sensor, button, cell and sound, one
# after the other. What it prints is what should be seen and heard.
import time
from array import array
from machine import I2S, Pin
from main import Cell, Sensor, strip
from settings import *


def light():
    # As little as can be seen well, and no more than the strip may take.
    v = min(40, BUDGET // max(PIXELS, 3))
    for name, colour in (("red", (v, 0, 0)), ("green", (0, v, 0)), ("blue", (0, 0, v))):
        print("strip: all", name)
        strip.send(bytes(colour * PIXELS))
        time.sleep_us(1000000)
    print("strip: the first pixel of each strip white")
    strip.send(bytes((v, v, v) + (0, 0, 0) * (PIXELS - 1)))
    time.sleep_us(1000000)
    strip.send(bytes(3 * PIXELS))


def sensor():
    felt = Sensor()
    print("sensor: g along, across, through; with the tip up the first is +1")
    for _ in range(5):
        felt.read()
        print(*("%.2f" % (felt.along(0, axis) / 2048) for axis in AXES))
        time.sleep_us(500000)


def sound():
    if not SOUNDS:
        return
    name = SOUNDS[0][0]
    print("sound:", name)
    out = I2S(
        0, sck=Pin(PIN_SOUND_CLOCK), ws=Pin(PIN_SOUND_CLOCK + 1), sd=Pin(PIN_SOUND_DATA), mode=I2S.TX, bits=16,
        format=I2S.MONO, rate=SOUND_HZ, ibuf=4096,
    )
    block = array("h", [0] * 256)
    with open("sounds/%s.wav" % name, "rb") as wav:
        wav.seek(44)
        while wav.readinto(block) == 512:
            out.write(block)


light()
sensor()
button = Pin(PIN_BUTTON, Pin.IN, Pin.PULL_UP)
print("button:", "down" if button.value() == 0 else "up")
print("cell: %d mV" % Cell().mv())
sound()
