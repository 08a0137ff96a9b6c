// What the strip showed in a rehearsal: `frames.bin`, and the frame of any moment.

/** What the strip showed: frames that differ from the one before, by number. */
export interface Frames { pixels: number; rate: number; numbers: Uint32Array; colours: Uint8Array }

/** Reads `frames.bin`; throws with what is wrong when it is none. */
export function decodeFrames(data: ArrayBuffer): Frames {
  const view = new DataView(data);
  const word = data.byteLength >= 20 ? String.fromCharCode(...new Uint8Array(data, 0, 4)) : "";
  if (word !== "LTFR" || view.getUint16(4, true) !== 1) throw new Error("these are no frames of form 1");
  const pixels = view.getUint16(6, true);
  const count = view.getUint32(16, true);
  const each = 4 + 3 * pixels;
  if (data.byteLength < 20 + count * each) throw new Error("the frames ended too early");
  const numbers = new Uint32Array(count);
  const colours = new Uint8Array(count * 3 * pixels);
  for (let i = 0; i < count; i += 1) {
    numbers[i] = view.getUint32(20 + i * each, true);
    colours.set(new Uint8Array(data, 24 + i * each, 3 * pixels), i * 3 * pixels);
  }
  return { pixels, rate: view.getUint16(10, true), numbers, colours };
}

/** The frame on the strip at a moment: dark before the first. */
export function frameAt(frames: Frames, seconds: number): Uint8Array {
  const wanted = Math.floor(seconds * frames.rate + 1e-6);
  let [low, high] = [0, frames.numbers.length - 1];
  while (low <= high) {
    const middle = (low + high) >> 1;
    if (frames.numbers[middle]! <= wanted) low = middle + 1;
    else high = middle - 1;
  }
  const size = 3 * frames.pixels;
  return high < 0 ? new Uint8Array(size) : frames.colours.subarray(high * size, (high + 1) * size);
}
