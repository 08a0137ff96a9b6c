import { expect, test } from "vitest";
import type { Scene, Way } from "../src/api/types";
import { movedBy, poseAt, wayName } from "../src/stage/ways";

const seated = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
/** Turned a quarter about x, then moved by 0, 30, 40 mm. */
const free = [1, 0, 0, 0, 0, 0, 1, 0, 0, -1, 0, 0, 0, 30, 40, 1];
const near = (a: readonly number[], b: readonly number[]) => a.forEach((v, i) => expect(v).toBeCloseTo(b[i]!, 9));

test("on its seat, free, and turned half as far half way", () => {
  near(poseAt([free, seated], 0), seated);
  near(poseAt([free, seated], 1), free);
  const half = Math.SQRT1_2;
  near(poseAt([free, seated], 0.5), [1, 0, 0, 0, 0, half, half, 0, 0, -half, half, 0, 0, 15, 20, 1]);
});

test("each pose of a way is passed, nearest the seat first", () => {
  const lifted = seated.with(13, 10);
  near(poseAt([free, lifted, seated], 0.5), lifted);
  near(poseAt([free, lifted, seated], 0.25), seated.with(13, 5));
});

test("a way of no poses or one moves nothing, and beyond its ends there is no more way", () => {
  near(poseAt([], 0.5), seated);
  near(poseAt([seated], 1), seated);
  near(poseAt([free, seated], 7), free);
  near(poseAt([free, seated], -1), seated);
});

test("a way moves its piece or its part, and what has to be off before is away only meanwhile", () => {
  const pose = seated as Way["poses"][number];
  const scene = { fittings: [{ id: "part-A", kind: "part", name: "A cell", letter: "A" }, { id: "part-B", kind: "part", name: "B fuse", letter: "B" }] } as Scene;
  const cell: Way = { kind: "part", name: "cell", piece: null, poses: [pose, pose], away: [3, 12] };
  expect(movedBy(cell, scene, 0.5)).toMatchObject({ ids: ["part-A"], away: ["piece-03", "piece-12"] });
  expect(movedBy(cell, scene, 0).away).toEqual([]);
  const lid: Way = { ...cell, kind: "lid", name: "grip", piece: 3, away: [] };
  expect(movedBy(lid, scene, 1).ids).toEqual(["piece-03"]);
  expect([cell, lid, { ...lid, kind: "cover" as const, name: "ring" }].map(wayName)).toEqual(["cell", "lid of grip (piece 03)", "ring (piece 03)"]);
});
