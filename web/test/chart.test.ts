import { expect, test } from "vitest";
import type { Series, Track } from "../src/api/types";
import { Axis } from "../src/axis/axis";
import { at, linePath, range } from "../src/tracks/chart";

const line: Series = { id: "a", label: "a", style: "ink", step: false, x_mm: [0, 10, 20, 30], y: [0, 10, null, 5] };
const steps: Series = { ...line, step: true, x_mm: [0, 10, 20], y: [2, 3, null] };

test("between two readings a line is straight, a step holds; gaps read nothing", () => {
  expect([at(line, 5), at(line, 10), at(line, 15), at(line, 25), at(line, 30), at(line, 31), at(line, -1)]).toEqual([5, 10, null, null, 5, null, null]);
  expect([at(steps, 9.9), at(steps, 10), at(steps, 19), at(steps, 25)]).toEqual([2, 3, 3, null]);
});

test("a drawn line has the gaps of its readings", () => {
  const axis = new Axis({ shown: [0, 30], page: [0, 30], path: [] });
  expect(linePath(line, axis, (v) => v)).toBe("M0.0 0.0L10.0 10.0M30.0 5.0H31.0");
  expect(linePath(steps, axis, (v) => v)).toBe("M0.0 2.0H10.0V3.0H20.0");
});

test("a track holds its readings and limits, amounts from zero", () => {
  const track = (y: (number | null)[], limit?: number): Track => ({
    id: "t", stage: "geometry", build: 1, title: "", unit: "mm", about: "", marks: [], spans: [],
    series: [{ ...line, y }], limits: limit === undefined ? [] : [{ label: "", value: limit, source: "" }],
  });
  expect(range(track([1, 2, null, 2]))).toEqual([0, 2]);
  expect(range(track([1, 2], 9))).toEqual([0, 9]);
  expect(range(track([95, 100]))).toEqual([95, 100]);
  expect(range(track([null]))).toEqual([0, 1]);
});
