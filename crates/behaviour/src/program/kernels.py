# Loops over pixels and samples. Compiled to machine code where the board can; the arithmetic is that of whole numbers.
import micropython


@micropython.viper
def flat(levels: ptr8, first: int, end: int, level: int):
    i = first
    while i < end:
        levels[i] = level
        i += 1


@micropython.viper
def pulse(levels: ptr8, first: int, end: int, centre: int, reach: int, loss: int, low: int):
    around = (end - first) << 8
    far = reach << 8
    i = first
    while i < end:
        apart = ((i - first) << 8) - centre
        if apart < 0:
            apart = 0 - apart
        if apart > around - apart:
            apart = around - apart
        bright = 0
        if apart < far:
            bright = 255 - ((apart * loss) >> 16)
        if bright < low:
            bright = low
        levels[i] = bright
        i += 1


@micropython.viper
def edge(levels: ptr8, first: int, end: int, at: int):
    i = first
    while i < end:
        v = at - ((i - first) << 8)
        if v < 0:
            v = 0
        elif v > 255:
            v = 255
        levels[i] = v
        i += 1


@micropython.viper
def flicker(levels: ptr8, first: int, end: int, low: int, chance: int) -> int:
    s = chance
    i = first
    v = 0
    while i < end:
        if ((i - first) & 3) == 0:
            s ^= (s << 7) & 0xFFFF
            s ^= s >> 9
            s ^= (s << 8) & 0xFFFF
            aim = low + (((s & 255) * (256 - low)) >> 8)
            v = int(levels[i])
            v += (aim - v) >> 3
        levels[i] = v
        i += 1
    return s


@micropython.viper
def fade(levels: ptr8, first: int, end: int, low: int):
    i = first
    while i < end:
        v = int(levels[i])
        if v > low:
            v = v - (v >> 4) - 1
        if v < low:
            v = low
        levels[i] = v
        i += 1


@micropython.viper
def colour(frame: ptr8, levels: ptr8, gamma: ptr8, first: int, end: int, red: int, green: int, blue: int):
    o = 3 * first
    i = first
    while i < end:
        v = int(levels[i])
        x = v * red
        frame[o] = gamma[(x + 1 + (x >> 8)) >> 8]
        x = v * green
        frame[o + 1] = gamma[(x + 1 + (x >> 8)) >> 8]
        x = v * blue
        frame[o + 2] = gamma[(x + 1 + (x >> 8)) >> 8]
        o += 3
        i += 1


@micropython.viper
def flash(frame: ptr8, n: int, place: int, strength: int, loss: int, red: int, green: int, blue: int):
    o = 0
    i = 0
    while i < n:
        apart = i - place
        if apart < 0:
            apart = 0 - apart
        share = (strength - apart * loss) >> 8
        if share > 0:
            v = int(frame[o])
            frame[o] = v + (((red - v) * share) >> 8)
            v = int(frame[o + 1])
            frame[o + 1] = v + (((green - v) * share) >> 8)
            v = int(frame[o + 2])
            frame[o + 2] = v + (((blue - v) * share) >> 8)
        o += 3
        i += 1


@micropython.viper
def total(frame: ptr8, n: int) -> int:
    t = 0
    i = 0
    while i < n:
        t += int(frame[i])
        i += 1
    return t


@micropython.viper
def scale(frame: ptr8, n: int, k: int):
    i = 0
    while i < n:
        frame[i] = (int(frame[i]) * k) >> 10
        i += 1


# Each pixel as far as its level lets it, 255 all the way.
@micropython.viper
def graded(frame: ptr8, levels: ptr8, n: int):
    o = 0
    i = 0
    while i < n:
        share = int(levels[i]) + 1
        frame[o] = (int(frame[o]) * share + 128) >> 8
        frame[o + 1] = (int(frame[o + 1]) * share + 128) >> 8
        frame[o + 2] = (int(frame[o + 2]) * share + 128) >> 8
        o += 3
        i += 1


@micropython.viper
def measure(luminance: ptr32, reds: ptr32, frame: ptr8, n: int):
    o = 0
    i = 0
    while i < n:
        r = int(frame[o])
        g = int(frame[o + 1])
        b = int(frame[o + 2])
        luminance[i] = 54 * r + 183 * g + 19 * b
        v = 0
        if r >= 4 * (g + b):
            v = r - g - b
        reds[i] = v
        o += 3
        i += 1


# spec: pixels, pixels of a run, first run, least change, bright, price, most in a purse.
@micropython.viper
def scan(spec: ptr32, values: ptr32, extreme: ptr32, risen: ptr8, purse: ptr8, hold: ptr8) -> int:
    n = spec[0]
    wide = spec[1]
    base = spec[2]
    change = spec[3] * wide
    bright = spec[4] * wide
    cost = spec[5]
    t = 0
    i = 0
    while i < wide:
        t += values[i]
        i += 1
    held = 0
    # Pixels before this one are marked.
    marked = 0
    first = 0
    while first <= n - wide:
        if first > 0:
            t += values[first + wide - 1] - values[first - 1]
        k = base + first
        if int(purse[k]) < cost:
            e = extreme[k]
            bad = 0
            if int(risen[k]) > 0:
                if e - t >= change and t < bright:
                    bad = 1
            else:
                if t - e >= change and e < bright:
                    bad = 1
            if bad > 0:
                held = 1
                i = first
                if i < marked:
                    i = marked
                marked = first + wide
                while i < marked:
                    hold[i] = 1
                    i += 1
        first += 1
    return held


@micropython.viper
def commit(spec: ptr32, values: ptr32, extreme: ptr32, risen: ptr8, purse: ptr8):
    n = spec[0]
    wide = spec[1]
    base = spec[2]
    change = spec[3] * wide
    bright = spec[4] * wide
    t = 0
    i = 0
    while i < wide:
        t += values[i]
        i += 1
    first = 0
    while first <= n - wide:
        if first > 0:
            t += values[first + wide - 1] - values[first - 1]
        k = base + first
        money = int(purse[k]) + 1
        e = extreme[k]
        up = int(risen[k])
        if up > 0:
            if e - t >= change and t < bright:
                risen[k] = 0
                extreme[k] = t
                money -= spec[5]
            elif t > e:
                extreme[k] = t
        else:
            if t - e >= change and e < bright:
                risen[k] = 1
                extreme[k] = t
                money -= spec[5]
            elif t <= e:
                extreme[k] = t
        if money < 0:
            money = 0
        if money > spec[6]:
            money = spec[6]
        purse[k] = money
        first += 1


@micropython.viper
def keep(frame: ptr8, shown: ptr8, hold: ptr8, n: int):
    o = 0
    i = 0
    while i < n:
        if int(hold[i]) > 0:
            frame[o] = shown[o]
            frame[o + 1] = shown[o + 1]
            frame[o + 2] = shown[o + 2]
        o += 3
        i += 1


# A voice into the sums; samples are two's complement in 16 bits, however they are read.
@micropython.viper
def add(sums: ptr32, window: ptr16, part: int, pace: int, gain: int, step: int) -> int:
    at = part
    i = 0
    while i < 256:
        k = at >> 12
        a = ((int(window[k]) & 0xFFFF) ^ 0x8000) - 0x8000
        b = ((int(window[k + 1]) & 0xFFFF) ^ 0x8000) - 0x8000
        v = a + (((b - a) * ((at >> 4) & 255)) >> 8)
        sums[i] = sums[i] + v * (gain + ((step * i) >> 8))
        at += pace
        i += 1
    return at


# Sums count from 2 ** 28: a board of 64 bits reads negative words as large ones.
@micropython.viper
def clip(block: ptr16, sums: ptr32):
    i = 0
    while i < 256:
        v = (sums[i] - 0x10000000) >> 8
        if v > 32767:
            v = 32767
        elif v < -32768:
            v = -32768
        block[i] = v
        sums[i] = 0x10000000
        i += 1


# A frame as words for the strip, in the order of its wire from the top; each number says which of red, green and blue.
@micropython.viper
def words(out: ptr32, frame: ptr8, n: int, one: int, two: int, three: int):
    o = 0
    i = 0
    while i < n:
        out[i] = (int(frame[o + one]) << 24) | (int(frame[o + two]) << 16) | (int(frame[o + three]) << 8)
        o += 3
        i += 1
