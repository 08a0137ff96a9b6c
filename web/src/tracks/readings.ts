// What the tracks read at the station line.

import type { Style, Track } from "../api/types";
import { type System, value } from "../text/units";
import { at } from "./chart";

export interface Reading { id: string; label: string; style: Style; text: string }

/** Each series' value at a station, where it has one. */
export function readings(track: Track, station: number, system: System): Reading[] {
  return track.series.flatMap((s) => {
    const v = at(s, station);
    return v === null ? [] : [{ id: s.id, label: s.label, style: s.style, text: value(v, track.unit, system) }];
  });
}
