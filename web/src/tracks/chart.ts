// From series to lines on a track.

import type { Axis } from "../axis/axis";
import type { Series, Track } from "../api/types";

/** Lowest and highest value that a track must hold. */
export function range(track: Track): [number, number] {
  let [low, high] = [Infinity, -Infinity];
  const take = (v: number | null) => {
    if (v === null || !Number.isFinite(v)) return;
    low = Math.min(low, v);
    high = Math.max(high, v);
  };
  for (const s of track.series) s.y.forEach(take);
  for (const l of track.limits) take(l.value);
  if (low > high) return [0, 1];
  // Amounts are seen from zero; what only varies a little far from it is not.
  if (low > 0 && low < 0.6 * high) low = 0;
  if (high < 0 && high > 0.6 * low) high = 0;
  if (high - low < 1e-9) return [Math.min(0, low), Math.max(high, low + 1)];
  return [low, high];
}

/** A series as a path: gaps stay gaps, steps hold their value up to the next. */
export function linePath(series: Series, axis: Axis, y: (v: number) => number): string {
  let d = "";
  let pen = false;
  let last = 0;
  series.x_mm.forEach((x, i) => {
    const v = series.y[i];
    const px = axis.px(x);
    if (series.step && pen) d += `H${px.toFixed(1)}`;
    if (v === null || v === undefined) {
      pen = false;
      return;
    }
    d += pen ? (series.step ? `V${y(v).toFixed(1)}` : `L${px.toFixed(1)} ${y(v).toFixed(1)}`) : `M${px.toFixed(1)} ${y(v).toFixed(1)}`;
    pen = true;
    last = px;
  });
  // A single value is a dot.
  return pen && d.lastIndexOf("M") === d.search(/M[^MLHV]*$/) ? `${d}H${(last + 1).toFixed(1)}` : d;
}

/** The value of a series at a station; `null` in a gap or past its ends. */
export function at(series: Series, station: number): number | null {
  const { x_mm, y } = series;
  let k = -1;
  let [low, high] = [0, x_mm.length - 1];
  while (low <= high) {
    const middle = (low + high) >> 1;
    if (x_mm[middle]! <= station) {
      k = middle;
      low = middle + 1;
    } else {
      high = middle - 1;
    }
  }
  if (k < 0) return null;
  const a = y[k] ?? null;
  if (a === null) return null;
  if (series.step) return k === x_mm.length - 1 && station > x_mm[k]! ? null : a;
  if (k === x_mm.length - 1) return station > x_mm[k]! + 1e-6 ? null : a;
  const b = y[k + 1] ?? null;
  if (b === null) return station === x_mm[k] ? a : null;
  const width = x_mm[k + 1]! - x_mm[k]!;
  return width > 0 ? a + ((b - a) * (station - x_mm[k]!)) / width : b;
}
