# What a step of the board's program costs under an interpreter: `micropython -X heapsize=32m bench/controller.py FOLDER RECORDING`, FOLDER being a
# pack's controller/ or what `cargo run -p behaviour --example rehearsals -- DIR` writes (DIR/quick/viper, DIR/recordings/*.csv).
# Times are of this machine, whose interpreter is the one of boards: loops compiled, the rest as bytecode. How they compare with
# each other carries over to a board better than what they are.
import os
import sys
import time

folder, recording = sys.argv[1:3]
with open(recording) as lines:
    rows = [[int(v) for v in line.split(",")] for line in lines]
os.chdir(folder)
sys.path.insert(0, "")
from prop import Prop
from settings import *

prop = Prop([open("sounds/%s.wav" % name, "rb") for name, _ in SOUNDS])
spent = {"step": [], "step with a frame": [], "block of sound": []}
owed = 0
for fx, fy, fz, wx, wy, wz, button, cell in rows:
    begun = time.ticks_us()
    painted = prop.step(fx, fy, fz, wx, wy, wz, button > 0, cell)
    spent["step with a frame" if painted else "step"].append(time.ticks_diff(time.ticks_us(), begun))
    owed += SOUND_HZ
    if owed >= 256 * PACE:
        owed -= 256 * PACE
        begun = time.ticks_us()
        prop.sound()
        spent["block of sound"].append(time.ticks_diff(time.ticks_us(), begun))
for what in ("step", "step with a frame", "block of sound"):
    times = sorted(spent[what])
    print("%s: %d us in the middle, %d us at most of nine in ten, %d of them" % (
        what, times[len(times) // 2], times[len(times) * 9 // 10], len(times)))
print("%d pixels, %d samples of motion and %d of sound a second" % (PIXELS, PACE, SOUND_HZ))
