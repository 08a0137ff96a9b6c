# What the board runs after every reset: dark first, then sensor, strip and sound in step.
import time
from array import array
from machine import ADC, I2C, I2S, Pin, WDT
from settings import *
from strip import Strip

strip = Strip()
strip.send(bytes(3 * PIXELS))
prop = None


class Sensor:
    def __init__(self):
        self.bus = I2C(I2C_BUS, scl=Pin(PIN_CLOCK), sda=Pin(PIN_DATA), freq=400000)
        for register, value in SENSOR_SETUP:
            self.bus.writeto_mem(SENSOR_ADDRESS, register, bytes([value]))
        self.raw = bytearray(14)
        self.values = array("h", [0] * 7)

    # Seven numbers, high byte first: force x, y, z, warmth, rate x, y, z as the chip lies.
    def read(self):
        raw = self.raw
        self.bus.readfrom_mem_into(SENSOR_ADDRESS, SENSOR_DATA, raw)
        for k in range(7):
            self.values[k] = ((raw[2 * k] << 8 | raw[2 * k + 1]) ^ 0x8000) - 0x8000

    # Along an axis of the prop: 1, 2, 3 is the chip's x, y, z, negative the other way.
    def along(self, first, axis):
        if axis > 0:
            return self.values[first + axis - 1]
        value = self.values[first - axis - 1]
        return -value if value > -32768 else 32767


class Cell:
    def __init__(self):
        self.adc = ADC(Pin(PIN_CELL))
        # Some converters see a third of their range until they are told to see all of it: a low cell would seem full.
        if hasattr(self.adc, "atten"):
            self.adc.atten(ADC.ATTN_11DB)

    def mv(self):
        return self.adc.read_u16() * CELL_FULL_MV >> 16


def run(tell=None):
    global prop
    # Not before the strip is dark: reading it in takes a moment.
    from prop import Prop
    prop = Prop([open("sounds/%s.wav" % name, "rb") for name, _ in SOUNDS], tell)
    sensor = Sensor()
    button = Pin(PIN_BUTTON, Pin.IN, Pin.PULL_UP)
    cell = Cell()
    ready = [True]

    def played(_):
        ready[0] = True

    sound = I2S(
        0, sck=Pin(PIN_SOUND_CLOCK), ws=Pin(PIN_SOUND_CLOCK + 1), sd=Pin(PIN_SOUND_DATA), mode=I2S.TX, bits=16,
        format=I2S.MONO, rate=SOUND_HZ, ibuf=1024,
    )
    sound.irq(played)
    spare = array("h", [0] * 256)
    sound.write(spare)
    ready[0] = False
    watchdog = WDT(timeout=2000)
    due = time.ticks_us()
    while True:
        sensor.read()
        x, y, z = AXES
        painted = prop.step(
            sensor.along(0, x), sensor.along(0, y), sensor.along(0, z),
            sensor.along(4, x), sensor.along(4, y), sensor.along(4, z),
            button.value() == 0, cell.mv(),
        )
        if painted:
            strip.send(prop.painter.shown)
        if ready[0]:
            ready[0] = False
            prop.sound()
            # The board plays this one while the next is mixed into the other.
            block = prop.mixer.block
            prop.mixer.block = spare
            sound.write(block)
            spare = block
        watchdog.feed()
        due = time.ticks_add(due, STEP_US)
        left = time.ticks_diff(due, time.ticks_us())
        if left > 0:
            time.sleep_us(left)
        elif left < -100000:
            due = time.ticks_us()


# Held down at a reset, the button keeps the program from starting, so that nothing watches while files are changed.
if __name__ == "__main__":
    button = Pin(PIN_BUTTON, Pin.IN, Pin.PULL_UP)
    # Its wire takes a moment to rise.
    time.sleep_us(1000)
    if button.value():
        run()
