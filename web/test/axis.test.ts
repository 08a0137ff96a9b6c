import { expect, test } from "vitest";
import { Axis, closer, moved, ticks } from "../src/axis/axis";

const straight = new Axis({ shown: [0, 1500], page: [100, 1300], path: [] });

test("a station and its place on the page are each other's inverse", () => {
  expect(straight.px(750)).toBeCloseTo(700, 9);
  for (const station of [-20, 0, 333.3, 1500, 1600]) expect(straight.station(straight.px(station))).toBeCloseTo(station, 9);
});

test("on a curved prop a station stands above the place where it is", () => {
  // A quarter of a circle of 1000 mm: after arc s it has come 1000 sin(s / 1000) mm along.
  const path = Array.from({ length: 400 }, (_, i) => {
    const s = (i / 399) * 500 * Math.PI;
    return [s, 1000 * Math.sin(s / 1000)] as const;
  });
  const axis = new Axis({ shown: [0, 1000], page: [0, 1000], path });
  expect(axis.px(500 * Math.PI / 3)).toBeCloseTo(500, 1);
  expect(axis.station(500)).toBeCloseTo(500 * Math.PI / 3, 1);
});

test("a tick each 50 mm, a number each 100 mm; inches in inches", () => {
  const marks = ticks(straight, [0, 1500], false);
  expect(marks.map((m) => m.station).slice(0, 3)).toEqual([0, 50, 100]);
  expect(marks.filter((m) => m.label !== null).map((m) => m.label)).toEqual(
    Array.from({ length: 16 }, (_, i) => String(i * 100)),
  );
  const inches = ticks(straight, [0, 1500], true).filter((m) => m.label !== null);
  expect(inches.map((m) => m.label)).toEqual(Array.from({ length: 15 }, (_, i) => String(i * 4)));
  expect(inches[1]!.station).toBeCloseTo(4 * 25.4, 9);
});

test("looking closer keeps the place under the pointer and stays on the prop", () => {
  const [from, to] = closer([0, 1500], [0, 1500], 500, 2);
  expect([from, to]).toEqual([250, 1000]);
  expect(closer([250, 1000], [0, 1500], 500, 0.1)).toEqual([0, 1500]);
  expect(closer([0, 1500], [0, 1500], 0, 1e9)).toEqual([0, 20]);
  expect(moved([250, 1000], [0, 1500], 9999)).toEqual([750, 1500]);
});
