import { expect, test } from "vitest";
import { had } from "../src/building/coupon";

const value = (id: number, kind: string, value: string) => ({ id, kind, value, at: "", by: "" });

test("what was filled in last behind a line is shown there", () => {
  const job = {
    values: [
      value(1, "coupon", "bench,pla,1,slot,3 mm,1,0.1 mm,3.1 mm,press"),
      value(2, "coupon", "bench,pla,1,slot,3 mm,1,0.1 mm,3.2 mm,slides"),
      value(3, "coupon", "bench,pla,1,slot,3 mm,11,0.1 mm,3.3 mm,loose"),
      value(4, "note", "bench,pla,1,slot,3 mm,1,0.1 mm,,no"),
    ],
  };
  expect(had(job, "bench,pla,1,slot,3 mm,1,0.1 mm")).toEqual(["3.2 mm", "slides"]);
  expect(had(job, "bench,pla,1,slot,3 mm,2,0.2 mm")).toEqual(["", ""]);
});
