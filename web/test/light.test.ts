import { expect, test } from "vitest";
import type { Light } from "../src/api/types";
import { allIn, decodeResponses, linear, luminance, ofFrame, texture } from "../src/stage/glow";
import { decodeFrames, frameAt } from "../src/rehearsal/frames";
import { onScreen } from "../src/rehearsal/screen";
import { felt } from "../src/rehearsal/felt";

const light: Light = {
  build: 1, pixels: 2, strips: 2, pixel_lm: [1, 2, 0.5], levels: [1, 0.5], viewed_mm: 1000,
  bodies: [{ id: "body-1", along: 2, around: 1, from_mm: 0, step_mm: 5, first: 0 }], response_of: [0, 0, 1], responses: 2, texels: 2, windows: [],
};

/** Two patches of 100 mm2 and none; pixel 1 sends all its light to the first, pixel 2 half of it, in blue nothing. */
function bin(): ArrayBuffer {
  const out = new ArrayBuffer(16 + 8 + 2 * (8 + 8));
  const v = new DataView(out);
  "LTLR".split("").forEach((c, i) => v.setUint8(i, c.charCodeAt(0)));
  v.setUint16(4, 1, true);
  v.setUint16(6, 2, true);
  v.setUint32(8, 2, true);
  v.setUint32(12, 2, true);
  v.setFloat32(16, 100, true);
  for (const [r, scale] of [1, 0].entries()) {
    const at = 24 + r * 16;
    v.setFloat32(at, scale, true);
    v.setUint16(at + 8, 65535, true);
    v.setUint16(at + 10, 32768, true);
    // The patch without surface, which must not count.
    v.setUint16(at + 12, 65535, true);
  }
  return out;
}

test("a matt patch shines by Lambert's law", () => {
  const responses = decodeResponses(bin());
  const lum = luminance(light, responses, new Float32Array([1, 0, 1, 0, 0, 0]));
  // 1 lm from 100 mm2 that sends it out evenly: 1 / (1e-4 m2 * pi) = 3183.1 cd/m2 (Lambert's cosine law).
  expect(lum[0]).toBeCloseTo(3183.1, 0);
  expect([lum[1], lum[2]]).toEqual([0, 0]);
  expect([...lum.slice(3)]).toEqual([0, 0, 0]);
  const both = luminance(light, responses, allIn(light, "#ff0000", 1));
  expect(both[0]! / lum[0]!).toBeCloseTo(1 + 0.5 * (32768 / 65535), 5);
});

test("what shines as the strip's white does is the screen's white", () => {
  // 1, 2 and 0.5 lm: of 70 cd/m2, 20 come from red, 40 from green, 10 from blue.
  const [r, g, b, a] = texture(new Float32Array([0, 0, 0, 20, 40, 10]), 1, 1, 70, light.pixel_lm);
  for (const v of [r, g, b, a]) expect(v).toBeCloseTo(1, 5);
});

test("what is cut short is refused", () => {
  expect(() => decodeResponses(bin().slice(0, 50))).toThrow("too early");
  expect(() => decodeResponses(new ArrayBuffer(4))).toThrow("no light");
  expect(() => decodeFrames(new ArrayBuffer(30))).toThrow("no frames");
});

test("screen colours are linear light, and back", () => {
  // IEC 61966-2-1: code 188 is close to half of the light.
  expect(linear(188)).toBeCloseTo(0.503, 2);
  expect(linear(0)).toBe(0);
  expect(linear(255)).toBe(1);
  for (const code of [0, 5, 80, 188, 255]) expect(Math.abs(onScreen(linear(code) * 255) - code)).toBeLessThanOrEqual(1);
});

test("all strips show a rehearsal's frame", () => {
  expect([...ofFrame(light, new Uint8Array([255, 0, 51]))]).toEqual([1, 0, 0.20000000298023224, 1, 0, 0.20000000298023224]);
});

test("a frame holds until the next that differs", () => {
  const out = new ArrayBuffer(20 + 2 * 7);
  const v = new DataView(out);
  "LTFR".split("").forEach((c, i) => v.setUint8(i, c.charCodeAt(0)));
  [1, 1, 1, 10].forEach((n, i) => v.setUint16(4 + 2 * i, n, true));
  v.setUint32(12, 20, true);
  v.setUint32(16, 2, true);
  v.setUint32(20, 2, true);
  v.setUint8(24, 9);
  v.setUint32(27, 5, true);
  v.setUint8(31, 7);
  const frames = decodeFrames(out);
  expect([0.1, 0.2, 0.49, 0.5, 9].map((t) => frameAt(frames, t)[0])).toEqual([0, 9, 9, 7, 7]);
});

test("a sensor at rest feels one g upwards; a swing pulls by its speed squared", () => {
  const [still] = felt({ pitch: 0, yaw: 0 }, { pitch: 0, yaw: 0 }, 1, 0.01, false, 0);
  expect(still!.map((v) => v + 0)).toEqual([0, 0, 1, 0, 0, 0, 0]);
  const [up] = felt({ pitch: 90, yaw: 0 }, { pitch: 90, yaw: 0 }, 1, 0.01, true, 0);
  expect(up![0]).toBeCloseTo(1, 9);
  expect(up![6]).toBe(1);
  // 360 degrees a second at 0.25 m: w^2 r = 39.478 * 0.25 = 9.87 m/s2.
  const swing = felt({ pitch: 0, yaw: 0 }, { pitch: 0, yaw: 36 }, 10, 0.01, false, 0);
  expect(swing[9]![5]).toBeCloseTo(360, 6);
  expect(swing[9]![0]).toBeCloseTo(-39.478 * 0.25 / 9.80665, 3);
});
