import { expect, test } from "vitest";
import { band, length, parseLength, plain, time, value, written } from "../src/text/units";

test("numbers are rounded to what is known", () => {
  expect(plain(2.5, 2)).toBe("2.5");
  expect(plain(100, 0)).toBe("100");
  expect(plain(-0.0004, 2)).toBe("0");
  expect(plain(Number.NaN, 1)).toBe("–");
  expect(length(1499.6, "mm")).toBe("1500\u202fmm");
  expect(length(254, "in")).toBe("10\u202fin");
  expect(value(1234, "g", "mm")).toBe("1.23\u202fkg");
  expect(value(45, "deg", "mm")).toBe("45°");
  expect(value(13, "1", "mm")).toBe("13");
  expect(time(3600 * 5 + 60 * 7)).toBe("5\u202fh 7\u202fmin");
});

test("a band says its ends once with their unit", () => {
  expect(band({ value: 48, low: 41, high: 57, unit: "mm" }, "mm")).toBe("48\u202fmm (41 to 57)");
  expect(band({ value: 48, low: 48, high: 48, unit: "mm" }, "mm")).toBe("48\u202fmm");
});

test("lengths are read as makers write them", () => {
  // 1 in is 25.4 mm by definition (international inch, 1959).
  for (const [text, mm] of [
    ["150 cm", 1500], ["2mm", 2], ["1,5 m", 1500], ["12", 12], ["5 ft 9 in", 69 * 25.4], ["5'9\"", 69 * 25.4],
    ["1/8 in", 3.175], ["1 1/2 in", 38.1], ["3\"", 76.2],
  ] as const) {
    expect(parseLength(text, "mm"), text).toBeCloseTo(mm, 6);
  }
  for (const text of ["", "long", "1/0 in", "12 kg", "--3"]) expect(parseLength(text, "mm"), text).toBeNull();
  expect(parseLength("2", "in")).toBeCloseTo(50.8, 9);
});

test("what is written is read as the same length", () => {
  for (const mm of [0.4, 28, 1500.26]) expect(parseLength(written(mm, "mm"), "mm")).toBeCloseTo(mm, 1);
  expect(parseLength(written(1500, "in"), "mm")).toBeCloseTo(1500, 1);
});
