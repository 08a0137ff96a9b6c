// How the prop is looked at, and in which light.

import { computed, signal } from "@preact/signals";
import { bytes } from "../api/client";
import type { Light } from "../api/types";
import type { Point } from "../axis/axis";
import { type Responses, allIn, decodeResponses, luminance, ofFrame } from "../stage/glow";
import { light, scene } from "./store";

/** Degrees: about the prop's own axis, and about the upright. `null`: as its broad side lies. */
const turnedBy = signal<{ roll: number; yaw: number } | null>(null);
export const bright = signal(true);
export const lit = signal(false);
export const open = signal(false);
/** 0 together, 1 well apart. */
export const apart = signal(0);
/** The way, by its name, of what is taken out of its place, and how far it is out: 0 on its seat, 1 free. */
export const taken = signal<string | null>(null);
export const out = signal(0);
export const colour = signal("#ffffff");
/** Share of full. */
export const level = signal(1);
/** A frame of a rehearsal that is shown instead of the colour. */
export const frame = signal<Uint8Array | null>(null);

export const VIEWS = { side: { roll: -90, yaw: 0 }, top: { roll: 0, yaw: 0 }, grip: { roll: -35, yaw: 38 } } as const;

/** Its broad side first. */
const resting = computed(() => {
  const b = scene.value?.bounds_mm;
  const size = (axis: 1 | 2): number => (b ? b[1][axis] - b[0][axis] : 0);
  return size(1) >= size(2) ? VIEWS.top : VIEWS.side;
});
export const turned = computed(() => turnedBy.value ?? resting.value);

export function turn(roll: number, yaw: number): void {
  const now = turned.value;
  turnedBy.value = {
    roll: ((now.roll + roll + 540) % 360) - 180,
    yaw: Math.min(Math.max(now.yaw + yaw, -85), 85),
  };
}
export function view(which: keyof typeof VIEWS | null): void {
  turnedBy.value = which === null ? null : { ...VIEWS[which] };
}
/** Whether stations of the prop stand above those of the tracks. */
export const square = computed(() => Math.abs(turned.value.yaw) < 0.5);

const responses = signal<{ build: number; data: Responses } | null>(null);
let fetching = -1;

/** Fetches what each pixel does, once somebody wants to see it. */
export async function wantLight(known: Light): Promise<void> {
  if (responses.value?.build === known.build || fetching === known.build) return;
  fetching = known.build;
  try {
    const data = decodeResponses(await bytes(`/api/light.bin?build=${known.build}`));
    if (fetching === known.build) responses.value = { build: known.build, data };
  } finally {
    if (fetching === known.build) fetching = -1;
  }
}

/** What is on screen as white, cd/m2: windows at full and in this colour are seen as an eye used to the dark sees them. */
export const white = computed(() => {
  const means = light.value?.windows.flatMap((w) => (w.mean_cd_m2 !== null && w.mean_cd_m2 > 0 ? [w.mean_cd_m2] : [])) ?? [];
  const brightest = means.length > 0 ? Math.max(...means) : 100;
  // Two figures are enough for an exposure.
  const most = brightest * 0.8;
  const power = 10 ** Math.floor(Math.log10(most) - 1);
  return Math.round(most / power) * power;
});

/** Luminance of every patch as the prop is lit now, cd/m2. */
export const shining = computed<Float32Array | null>(() => {
  const [known, got] = [light.value, responses.value];
  if (!known || !got || !lit.value || got.data.pixels !== known.pixels) return null;
  const driven = frame.value ? ofFrame(known, frame.value) : allIn(known, colour.value, level.value);
  return luminance(known, got.data, driven);
});

/** The plane across the prop at a station, from its centre path. */
export function planeAt(station: number): [number, number, number, number] | null {
  const path = scene.value?.path;
  if (!path || path.length < 2) return [1, 0, 0, station];
  let k = path.findIndex((p) => p[0] >= station);
  if (k === -1) k = path.length - 1;
  k = Math.max(k, 1);
  const [a, b] = [path[k - 1]!, path[k]!];
  const along: Point = [b[1] - a[1], b[2] - a[2], b[3] - a[3]];
  const size = Math.hypot(...along) || 1;
  const n = along.map((v) => v / size) as Point;
  const t = (station - a[0]) / (b[0] - a[0] || 1);
  const point = [0, 1, 2].map((i) => a[i + 1]! + (b[i + 1]! - a[i + 1]!) * t);
  return [n[0], n[1], n[2], n[0] * point[0]! + n[1] * point[1]! + n[2] * point[2]!];
}
