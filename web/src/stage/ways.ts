// The way on which a cover, a lid or a part leaves its place.

import { Matrix4, Quaternion, Vector3 } from "three";
import type { Scene, Way } from "../api/types";

/** A thing off its seat. */
export interface Moved {
  /** The things that move. */
  ids: readonly string[];
  /** Their pose, column by column. */
  pose: readonly number[];
  /** Things that are not there meanwhile. */
  away: readonly string[];
}

const pieceId = (number: number) => `piece-${String(number).padStart(2, "0")}`;

/** A way's name among those of a scene. */
export const wayName = (w: Way) => (w.kind === "part" ? w.name : `${w.kind === "lid" ? "lid of " : ""}${w.name}${w.piece === null ? "" : ` (piece ${String(w.piece).padStart(2, "0")})`}`);

/** The thing of a way, `out` of the way from its seat, 0, to where it is free, 1. */
export function movedBy(way: Way, scene: Scene, out: number): Moved {
  const part = scene.fittings.filter((f) => f.kind === "part" && f.name === `${f.letter} ${way.name}`).map((f) => f.id);
  return {
    ids: way.piece === null ? part : [pieceId(way.piece)],
    pose: poseAt(way.poses, out),
    away: out > 0 ? way.away.map(pieceId) : [],
  };
}

/** Between the poses of a way, which begin where it is free and end on its seat. */
export function poseAt(poses: readonly (readonly number[])[], out: number): number[] {
  const at = (1 - Math.min(Math.max(out, 0), 1)) * Math.max(poses.length - 1, 0);
  const k = Math.min(Math.floor(at), Math.max(poses.length - 2, 0));
  const [a, b] = [poses[k], poses[k + 1] ?? poses[k]].map((p) => {
    const parts = [new Vector3(), new Quaternion(), new Vector3()] as const;
    new Matrix4().fromArray([...(p ?? new Matrix4().elements)]).decompose(...parts);
    return parts;
  });
  const t = at - k;
  const place = a![0].clone().lerp(b![0], t);
  return new Matrix4().compose(place, a![1].clone().slerp(b![1], t), new Vector3(1, 1, 1)).toArray();
}
