// Where the maker looks: one station line, one stretch shown, one thing chosen.

import { batch, computed, signal } from "@preact/signals";
import { Axis, closer, moved, type PathPoint, type Span } from "../axis/axis";
import { scene, tracks } from "./store";

/** The station line, mm; `null` until somebody points. */
export const station = signal<number | null>(null);
/** Ids of the scene that are chosen, by a finding or by hand. */
export const chosen = signal<readonly string[]>([]);
/** A stretch of stations that a finding speaks of. */
export const marked = signal<Span | null>(null);
/** Where the axis lies on the page, px from the left of a track. */
export const pageSpan = signal<Span>([0, 1000]);

const asked = signal<Span | null>(null);

export const path = computed<readonly PathPoint[]>(() => scene.value?.path.map(([s, x]) => [s, x] as const) ?? []);

/** The prop from butt to tip as it lies along the page, mm, with a little air at both ends. */
export const whole = computed<Span>(() => {
  const bounds = scene.value?.bounds_mm;
  const [from, to]: Span = bounds ? [bounds[0][0], bounds[1][0]] : (tracks.value?.span_mm ?? [0, 1000]);
  const air = Math.max((to - from) * 0.012, 1);
  return [from - air, to + air];
});

/** Stations that there are, mm. */
export const stations = computed<Span>(() => scene.value?.span_mm ?? tracks.value?.span_mm ?? [0, 1000]);

export const shown = computed<Span>(() => {
  const a = asked.value;
  return a ? moved(a, whole.value, 0) : whole.value;
});

export const axis = computed(() => new Axis({ shown: shown.value, page: pageSpan.value, path: path.value }));

/** Looks closer (above 1) or wider at a place of the page, px. */
export function zoom(factor: number, px?: number): void {
  const { page } = axis.value.spec;
  const at = px === undefined ? (station.value === null ? (page[0] + page[1]) / 2 : axis.value.px(station.value)) : px;
  const x = shown.value[0] + (at - page[0]) / axis.value.scale;
  asked.value = closer(shown.value, whole.value, Math.min(Math.max(x, shown.value[0]), shown.value[1]), factor);
}

/** Moves along the prop by so many pixels. */
export function pan(px: number): void {
  asked.value = moved(shown.value, whole.value, px / axis.value.scale);
}

export function showWhole(): void {
  asked.value = null;
}

/** Puts the station line somewhere on the prop, and looks there if it is off the page. */
export function goTo(mm: number): void {
  const [from, to] = stations.value;
  const next = Math.min(Math.max(mm, from), to);
  station.value = next;
  const px = axis.value.px(next);
  const { page } = axis.value.spec;
  if (px < page[0]) pan(px - page[0] - 40);
  else if (px > page[1]) pan(px - page[1] + 40);
}

/** Chooses a place with what is there. */
export function choose(span: Span | null, targets: readonly string[]): void {
  batch(() => {
    chosen.value = targets;
    marked.value = span;
  });
  if (span) goTo((span[0] + span[1]) / 2);
}

/** The arrow keys' way: a step along the prop, ten with shift, ends with Home and End. Says whether the key was one. */
export function stepKey(e: { key: string; shiftKey: boolean }, step = 1): boolean {
  const at = station.value ?? (stations.value[0] + stations.value[1]) / 2;
  const by = e.shiftKey ? 10 * step : step;
  switch (e.key) {
    case "ArrowRight": case "ArrowUp": goTo(at + by); return true;
    case "ArrowLeft": case "ArrowDown": goTo(at - by); return true;
    case "PageUp": goTo(at + 50); return true;
    case "PageDown": goTo(at - 50); return true;
    case "Home": goTo(stations.value[0]); return true;
    case "End": goTo(stations.value[1]); return true;
    default: return false;
  }
}
