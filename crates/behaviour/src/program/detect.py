# What the hand did: one step a sample, whole numbers only.
from settings import *


def magnitude(a, b, c):
    a = abs(a)
    b = abs(b)
    c = abs(c)
    most = max(a, b, c)
    return most + ((a + b + c - most) * 3 >> 3)


class Detector:
    def __init__(self):
        self.begun = False
        self.said = []
        self.lx = self.ly = self.lz = 0
        self.jerks = self.peak_left = self.rest_left = self.peak = 0
        self.mx = self.my = self.mz = 0
        self.falling = self.armed = 0
        self.x = 16384
        self.y = self.z = 0
        self.unrest = 0
        self.swinging = False
        self.swung = 0
        self.twisted = 0
        self.held = self.tried = -1
        self.posed = 0
        self.still = 0
        self.sum = self.pressed = 0
        self.down = False
        self.cell = 0
        self.low = self.empty = False
        self.speed = 0

    # Adds to `said` the number of a trigger and how strong it was, one after the other.
    def step(self, fx, fy, fz, wx, wy, wz, button, cell_mv):
        said = self.said
        said.clear()
        x = self.x
        y = self.y
        z = self.z
        tx = wx >> 4
        ty = wy >> 4
        tz = wz >> 4
        across2 = ty * ty + tz * tz
        turn2 = across2 + tx * tx
        cx = fx >> 3
        cy = fy >> 3
        cz = fz >> 3
        force2 = cx * cx + cy * cy + cz * cz
        if not self.begun:
            self.begun = True
            self.lx = fx
            self.ly = fy
            self.lz = fz
            self.mx = fx << 6
            self.my = fy << 6
            self.mz = fz << 6
            if 32768 < force2 < 131072:
                x = fx << 3
                y = fy << 3
                z = fz << 3
        self.speed = speed = magnitude(tx, ty, tz)

        # Falling: light, and steady about its own mean.
        dx = fx - (self.mx >> 6)
        dy = fy - (self.my >> 6)
        dz = fz - (self.mz >> 6)
        self.mx += dx << MEAN_GAIN
        self.my += dy << MEAN_GAIN
        self.mz += dz << MEAN_GAIN
        off = max(abs(dx), abs(dy), abs(dz))
        if force2 < FALL_FORCE2 and off < FALL_OFF:
            if self.falling < 30000:
                self.falling += 1
            if self.falling == FALL_N:
                self.armed = LANDING_N
        else:
            self.falling = 0
            if self.armed > 0:
                self.armed -= 1

        # Strikes.
        jerk = magnitude((fx - self.lx) >> 3, (fy - self.ly) >> 3, (fz - self.lz) >> 3)
        self.lx = fx
        self.ly = fy
        self.lz = fz
        if self.peak_left > 0:
            if jerk > self.peak:
                self.peak = jerk
            self.peak_left -= 1
            if self.peak_left == 0:
                if DROPS and self.armed > 0:
                    self.rest_left = LANDED_N
                    said.append(10)
                else:
                    self.rest_left = REST_N
                    said.append(4)
                said.append(self.peak)
        elif self.rest_left > 0:
            self.rest_left -= 1
        elif jerk > STRIKE_ON and jerk << 8 > self.jerks * STRIKE_RATIO:
            self.peak_left = 2
            self.peak = jerk
        apart = (jerk << 8) - self.jerks
        self.jerks += apart >> (STRIKE_ATTACK if apart > 0 else STRIKE_RELEASE)

        # Swings; only hard ones while somebody runs.
        beyond = magnitude((fx - (x >> 3)) >> 3, (fy - (y >> 3)) >> 3, (fz - (z >> 3)) >> 3)
        unrest = self.unrest
        unrest += ((beyond << 8) - unrest) >> UNREST_SHIFT
        self.unrest = unrest
        if self.swinging:
            if across2 < SWING_OFF2:
                self.swung += 1
                if self.swung >= SWING_OFF_N:
                    self.swinging = False
                    self.swung = 0
                    said.append(3)
                    said.append(speed)
            else:
                self.swung = 0
        elif across2 > SWING_ON2 and (unrest < UNREST_MOST or across2 > SWING_HARD2):
            self.swung += 1
            if self.swung >= SWING_ON_N:
                self.swinging = True
                self.swung = 0
                said.append(2)
                said.append(speed)
        else:
            self.swung = 0

        # Twists.
        if (tx > TWIST_ON or -tx > TWIST_ON) and across2 < tx * tx >> 2:
            if self.twisted < 30000:
                self.twisted += 1
            if self.twisted == TWIST_N:
                said.append(5)
                said.append(speed)
        else:
            self.twisted = 0

        # Gravity turns the other way in the prop.
        p = wx >> 2
        q = wy >> 2
        r = wz >> 2
        dx = (((r * y - q * z) >> 8) * TURN_GAIN + 32768) >> 16
        dy = (((p * z - r * x) >> 8) * TURN_GAIN + 32768) >> 16
        dz = (((q * x - p * y) >> 8) * TURN_GAIN + 32768) >> 16
        x += dx
        y += dy
        z += dz
        if 47349 < force2 < 86666 and turn2 < 15099:
            x += ((fx << 3) - x) >> PULL_SHIFT
            y += ((fy << 3) - y) >> PULL_SHIFT
            z += ((fz << 3) - z) >> PULL_SHIFT
        a = x >> 3
        b = y >> 3
        c = z >> 3
        k = (49152 - ((a * a + b * b + c * c) >> 8)) >> 1
        self.x = x = (x * k + 8192) >> 14
        self.y = (y * k + 8192) >> 14
        self.z = (z * k + 8192) >> 14

        # Poses.
        if x > UPRIGHT:
            seen = 6
        elif x < -UPRIGHT:
            seen = 7
        elif -LEVEL < x < LEVEL:
            seen = 8
        else:
            seen = -1
        if seen != self.tried:
            self.tried = seen
            self.posed = 0
        elif seen >= 0 and seen != self.held:
            self.posed += 1
            if self.posed >= POSE_N:
                self.held = seen
                said.append(seen)
                said.append(speed)

        # Stillness.
        if off < STILL_FORCE and speed < STILL_TURN:
            if self.still < 30000:
                self.still += 1
            if self.still == STILL_N:
                said.append(9)
                said.append(speed)
        else:
            self.still = 0

        # The button, which bounces.
        s = self.sum
        if button:
            if s < 4:
                s += 1
        elif s > 0:
            s -= 1
        self.sum = s
        if self.down:
            if self.pressed < 30000:
                self.pressed += 1
            if self.pressed == LONG_N:
                said.append(1)
                said.append(speed)
            if s == 0:
                self.down = False
                if self.pressed < SHORT_N:
                    said.append(0)
                    said.append(speed)
        elif s == 4:
            self.down = True
            self.pressed = 0

        # The cell, averaged.
        now = cell_mv << 8
        mean = self.cell
        if mean == 0:
            mean = now
        else:
            mean += (now - mean) >> CELL_SHIFT
        self.cell = mean
        mean >>= 8
        self.empty = mean < EMPTY_MV + 100 if self.empty else mean < EMPTY_MV
        was = self.low
        self.low = mean < LOW_MV + 100 if was else mean < LOW_MV
        if self.low and not was:
            said.append(12)
            said.append(speed)
        return said
