import { expect, test } from "vitest";
import { decode, lightPlaces, millimetres, pathAt, rings, silhouette, sketched } from "../src/stage/mesh";

/** A box from 0 to 100 along, 20 across and 8 through, as the program sends it. */
function box(): ArrayBuffer {
  const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((i) => [i & 1 ? 1000 : 0, i & 2 ? 200 : 0, i & 4 ? 80 : 0]);
  const faces = [0, 2, 1, 1, 2, 3, 4, 5, 6, 5, 7, 6, 0, 1, 4, 1, 5, 4, 2, 6, 3, 3, 6, 7, 0, 4, 2, 2, 4, 6, 1, 3, 5, 3, 7, 5];
  const out = new ArrayBuffer(32 + 48 + 32 + faces.length * 4);
  const v = new DataView(out);
  "LTMS".split("").forEach((c, i) => v.setUint8(i, c.charCodeAt(0)));
  v.setUint16(4, 1, true);
  v.setUint32(8, 8, true);
  v.setUint32(12, 12, true);
  [0, -10, -4, 0.1].forEach((n, i) => v.setFloat32(16 + 4 * i, n, true));
  corners.flat().forEach((n, i) => v.setUint16(32 + 2 * i, n, true));
  faces.forEach((n, i) => v.setUint32(112 + 4 * i, n, true));
  return out;
}

test("places come back in millimetres", () => {
  const mm = millimetres(decode(box()));
  expect([...mm.slice(0, 3)]).toEqual([0, -10, -4]);
  expect(mm[21]).toBeCloseTo(100, 4);
  expect(mm[22]).toBeCloseTo(10, 4);
  expect(mm[23]).toBeCloseTo(4, 4);
  expect(() => decode(box().slice(0, 100))).toThrow("too early");
  expect(() => decode(new ArrayBuffer(8))).toThrow("no mesh");
});

test("the outline of a box is the box, from either side", () => {
  for (const [up, half] of [[1, 10], [2, 4]] as const) {
    const seen = silhouette([decode(box())], 0, 100, 50, up);
    expect(seen.x.length).toBe(51);
    for (const v of seen.high) expect(v).toBeCloseTo(half, 3);
    for (const v of seen.low) expect(v).toBeCloseTo(-half, 3);
  }
});

test("a sketch leaves out what is smaller than its triangles, and keeps the two sides of a wall apart", () => {
  const mesh = decode(box());
  expect(sketched(mesh, 1)).toEqual(mesh.indices);
  // Its thickness falls flat: what is left are its top and bottom, of the same four corners.
  const sheet = sketched(mesh, 15);
  expect(sheet.length).toBe(4 * 3);
  expect(new Set(sheet).size).toBe(4);
  expect(sketched(mesh, 30).length).toBe(0);
  const sides = { ...mesh, normals: mesh.normals.map((_, i) => (i % 4 === 2 ? (i >= 16 ? 127 : -127) : 0)) };
  expect(sketched(sides, 15)).toEqual(mesh.indices);
});

test("a flat section is drawn out to a circle before its angle counts", () => {
  const mesh = decode(box());
  const at = lightPlaces(mesh, rings(mesh), [], [0, 100]);
  // A corner of any box lies at an eighth of a turn.
  expect(at[2 * 7]).toBeCloseTo(1, 4);
  expect(at[2 * 7 + 1]).toBeCloseTo(0.125, 3);
  expect(at[2 * 0 + 1]).toBeCloseTo(-0.375, 3);
});

test("the centre path goes on straight past its ends", () => {
  const path = [[0, 0, 1, 2], [10, 10, 1, 4]] as const;
  expect(pathAt(path, 5)).toEqual([5, 1, 3]);
  expect(pathAt(path, -2)).toEqual([-2, 1, 2]);
  expect(pathAt(path, 12)).toEqual([12, 1, 4]);
});
