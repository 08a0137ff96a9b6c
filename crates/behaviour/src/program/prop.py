# Modes, light and sound: one step a sample.
from array import array
import kernels
from detect import Detector
from settings import *

TRIGGERS = (
    "short-press", "long-press", "swing", "swing-end", "strike", "twist", "tip-up", "tip-down", "level", "still",
    "dropped", "time", "battery-low",
)
GAMMA = bytes([(v * v * (v + 1020) + 162562) // 325125 for v in range(256)])


def chance_after(s):
    s ^= (s << 7) & 0xFFFF
    s ^= s >> 9
    return s ^ ((s << 8) & 0xFFFF)


class Watch:
    def __init__(self, runs, change, bright, cost):
        base = PIXELS - WINDOW + 1
        self.near = array("i", [PIXELS, WINDOW, 0, change, bright, cost, 2 * cost])
        self.whole = array("i", [PIXELS, PIXELS, base, change, bright, cost, 2 * cost])
        self.extreme = array("i", [0] * runs)
        self.risen = bytearray(runs)
        self.purse = bytearray([2 * cost] * runs)

    def scan(self, values, hold):
        held = kernels.scan(self.near, values, self.extreme, self.risen, self.purse, hold)
        return kernels.scan(self.whole, values, self.extreme, self.risen, self.purse, hold) or held

    def commit(self, values):
        kernels.commit(self.near, values, self.extreme, self.risen, self.purse)
        kernels.commit(self.whole, values, self.extreme, self.risen, self.purse)


class Painter:
    def __init__(self):
        self.levels = [bytearray(PIXELS) for _ in range(MOST_LIGHTS)]
        self.frame = bytearray(3 * PIXELS)
        self.shown = bytearray(3 * PIXELS)
        self.phases = [0] * MOST_LIGHTS
        self.chance = 0xACE1
        self.left = self.fade = self.loss = self.place = self.rest = 0
        self.red = self.green = self.blue = 0
        if WINDOW:
            runs = PIXELS - WINDOW + 2
            cost = (FRAMES_A_SECOND + 3) // 4
            self.luminance = array("i", [0] * PIXELS)
            self.reds = array("i", [0] * PIXELS)
            self.hold = bytearray(PIXELS)
            self.light_watch = Watch(runs, CHANGE, BRIGHT, cost)
            self.red_watch = Watch(runs, RED_CHANGE, RED_BRIGHT, cost)

    def begin(self):
        for k in range(MOST_LIGHTS):
            self.phases[k] = 0
            kernels.flat(self.levels[k], 0, PIXELS, 0)

    def strike(self, flash):
        if flash[0] == 0 or (self.rest > 0 and WINDOW):
            return
        self.chance = chance_after(self.chance)
        self.place = self.chance % PIXELS if flash[2] < 0 else flash[2]
        self.left = 65536
        self.fade = flash[0]
        self.loss = flash[1]
        self.red = flash[3]
        self.green = flash[4]
        self.blue = flash[5]
        self.rest = FRAMES_A_SECOND // 3 + 1

    def paint(self, lights, dim):
        frame = self.frame
        n = 3 * PIXELS
        kernels.flat(frame, 0, n, 0)
        k = 0
        for light in lights:
            self.light(k, light)
            k += 1
        if self.left > 0:
            kernels.flash(frame, PIXELS, self.place, self.left, self.loss, self.red, self.green, self.blue)
            self.left -= self.fade
        if self.rest > 0:
            self.rest -= 1
        if LEVELS:
            kernels.graded(frame, LEVELS, PIXELS)
        if dim < 256:
            kernels.scale(frame, n, dim << 2)
        asked = kernels.total(frame, n)
        if asked > BUDGET:
            kernels.scale(frame, n, (BUDGET << 10) // asked)
        if WINDOW:
            self.calm()
        self.shown[:] = frame
        return kernels.total(frame, n)

    def light(self, k, light):
        what, step, one, two, first, end, red, green, blue = light
        levels = self.levels[k]
        phase = self.phases[k]
        pixels = end - first
        if what == 0:
            kernels.flat(levels, first, end, 255)
        elif what == 1:
            up = 65536 - phase if phase > 32768 else phase
            kernels.flat(levels, first, end, two + ((255 - two) * up >> 15))
        elif what == 2:
            kernels.pulse(levels, first, end, phase * pixels >> 8, one, 65280 // one, two)
        elif what == 3:
            kernels.edge(levels, first, end, phase * pixels >> 8)
        elif what == 4:
            kernels.edge(levels, first, end, (pixels << 8) - (phase * pixels >> 8))
        elif what == 5:
            self.chance = kernels.flicker(levels, first, end, two, self.chance)
        elif what == 6:
            kernels.fade(levels, first, end, two)
            self.chance = chance_after(self.chance)
            if self.chance <= one:
                self.chance = chance_after(self.chance)
                levels[first + self.chance % pixels] = 255
        phase += step
        if what == 3 or what == 4:
            self.phases[k] = phase if phase < 65536 else 65536
        else:
            self.phases[k] = phase & 0xFFFF
        kernels.colour(self.frame, levels, GAMMA, first, end, red, green, blue)

    # Pixels that would flash too often keep what they showed.
    def calm(self):
        frame = self.frame
        hold = self.hold
        kernels.flat(hold, 0, PIXELS, 0)
        held = False
        for turn in range(5):
            kernels.measure(self.luminance, self.reds, frame, PIXELS)
            bad = self.light_watch.scan(self.luminance, hold)
            bad = self.red_watch.scan(self.reds, hold) or bad
            if not bad:
                break
            held = True
            if turn == 4:
                kernels.flat(hold, 0, PIXELS, 1)
            kernels.keep(frame, self.shown, hold, PIXELS)
        if held:
            if kernels.total(frame, 3 * PIXELS) > BUDGET:
                frame[:] = self.shown
            kernels.measure(self.luminance, self.reds, frame, PIXELS)
        self.light_watch.commit(self.luminance)
        self.red_watch.commit(self.reds)


class Voice:
    def __init__(self):
        self.sound = self.at = self.part = self.gain = self.aim = 0
        self.again = False
        self.pace = 4096

    def begin(self, sound, again, gain, aim):
        self.sound = sound
        self.again = again
        self.at = self.part = 0
        self.pace = 4096
        self.gain = gain
        self.aim = aim


class Mixer:
    def __init__(self, files):
        self.files = files
        self.voices = [Voice() for _ in range(4)]
        self.window = array("h", [0] * 514)
        self.view = memoryview(self.window)
        self.sums = array("i", [0x10000000] * 256)
        self.block = array("h", [0] * 256)

    def hum(self, sound):
        old = self.voices[0]
        if sound == old.sound:
            return
        new = self.voices[1]
        self.voices[0] = new
        self.voices[1] = old
        old.aim = 0
        new.begin(sound, True, 0, 0)

    def left(self, voice):
        return SOUNDS[voice.sound - 1][1] - voice.at if voice.sound else 0

    def shot(self, sound, gain):
        k = 3 if self.left(self.voices[3]) < self.left(self.voices[2]) else 2
        self.voices[k].begin(sound, False, gain, gain)

    def hush(self):
        self.voices[2].aim = self.voices[3].aim = 0

    def busy(self):
        return self.voices[2].sound > 0 or self.voices[3].sound > 0

    # Samples of a sound's file into the window, round and round or with silence after its end.
    def fill(self, wanted, sound, at, again):
        length = SOUNDS[sound - 1][1]
        file = self.files[sound - 1]
        done = 0
        while done < wanted:
            if at >= length:
                if not again:
                    break
                at = 0
            some = wanted - done
            if some > length - at:
                some = length - at
            file.seek(44 + 2 * at)
            file.readinto(self.view[done:done + some])
            done += some
            at += some
        while done < wanted:
            self.window[done] = 0
            done += 1

    def mix(self):
        for index in range(4):
            voice = self.voices[index]
            if voice.sound == 0:
                continue
            self.fill(((voice.part + voice.pace * 256) >> 12) + 2, voice.sound, voice.at, voice.again)
            step = voice.aim - voice.gain
            if step > 32:
                step = 32
            elif step < -32:
                step = -32
            end = kernels.add(self.sums, self.window, voice.part, voice.pace, voice.gain, step)
            voice.gain += step
            voice.at += end >> 12
            voice.part = end & 4095
            length = SOUNDS[voice.sound - 1][1]
            if voice.again:
                while voice.at >= length:
                    voice.at -= length
                if index == 1 and voice.gain == 0:
                    voice.sound = 0
            elif voice.at >= length:
                voice.sound = 0
        kernels.clip(self.block, self.sums)


class Prop:
    # `files`: the sounds, open for reading. `tell`: is told what happens, or None.
    def __init__(self, files, tell=None):
        self.tell = tell
        self.detector = Detector()
        self.painter = Painter()
        self.mixer = Mixer(files)
        self.mode = 0
        self.since = 0
        self.to_frame = 0
        self.follow = 0
        self.duck = 256
        self.empty = False

    # Takes one sample; whether the strip has a new frame in `painter.shown`.
    def step(self, fx, fy, fz, wx, wy, wz, button, cell_mv):
        detector = self.detector
        said = detector.step(fx, fy, fz, wx, wy, wz, button, cell_mv)
        if self.since < 0x3FFFFFFF:
            self.since += 1
        lasts = MODES[self.mode][3]
        over = lasts > 0 and self.since == lasts
        empty = detector.empty
        if empty and not self.empty:
            if self.tell:
                self.tell("E")
            self.painter.left = 0
            self.mixer.hush()
            self.go(0)
        self.empty = empty
        if over:
            self.act(11, 0)
        k = 0
        while k < len(said):
            self.act(said[k], said[k + 1])
            k += 2
        painted = self.to_frame == 0
        if painted:
            self.to_frame = FRAME_EVERY
            total = self.painter.paint(MODES[self.mode][1], DIM if detector.low else 256)
            if self.tell:
                self.tell("F", total)
        self.to_frame -= 1
        return painted

    def act(self, trigger, strength):
        if self.tell:
            self.tell("T", TRIGGERS[trigger], strength)
        if self.empty:
            return
        row = RULES[self.mode * 13 + trigger]
        if row == 0:
            return
        to, shot, flash = ACTS[row - 1]
        if shot[0] > 0:
            self.mixer.shot(shot[0], shot[1])
            self.duck = shot[2]
            if self.tell:
                self.tell("S", shot[0] - 1, shot[1])
        self.painter.strike(flash)
        if to > 0 and to - 1 != self.mode:
            self.go(to - 1)

    def go(self, mode):
        self.mode = mode
        self.since = 0
        self.painter.begin()
        self.mixer.hum(MODES[mode][2][0])
        if self.tell:
            self.tell("M", mode)

    # The next 256 samples of sound, in `mixer.block`.
    def sound(self):
        speed = self.detector.speed
        if speed > 1024:
            speed = 1024
        self.follow += (speed - self.follow) >> 2
        hum, gain, swell, bend = MODES[self.mode][2]
        full = gain + (swell * self.follow >> 10)
        if full > 256:
            full = 256
        mixer = self.mixer
        voice = mixer.voices[0]
        voice.pace = 4096 + (bend * self.follow >> 10)
        voice.aim = full * self.duck >> 8 if mixer.busy() else full
        mixer.mix()
        if self.tell:
            self.tell("B")
