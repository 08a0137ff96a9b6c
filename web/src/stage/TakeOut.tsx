// One thing taken out of its place, on the way on which it comes out.

import { useRef } from "preact/hooks";
import { glide } from "../parts/motion";
import { out, taken, view } from "../state/looks";
import { scene } from "../state/store";
import { wayName } from "./ways";

const MS = 1400;

export function TakeOut() {
  const stop = useRef(() => undefined as void);
  const ways = scene.value?.ways ?? [];
  if (ways.length === 0) return null;
  const names = ways.map(wayName);
  const now = taken.value !== null && names.includes(taken.value) ? taken.value : null;
  const take = (name: string | null) => {
    stop.current();
    if (name !== null) {
      // Most ways lead towards whoever looks from the side, who would see none of it.
      if (now === null) view("grip");
      taken.value = name;
      stop.current = glide(0, 1, MS, (v) => (out.value = v));
    } else {
      stop.current = glide(out.value, 0, MS / 2, (v) => (out.value = v), () => (taken.value = null));
    }
  };
  const share = Math.round(out.value * 100);
  return (
    <span class="row" role="group" aria-label="Out of its place">
      <label class="row small">Take out
        <select value={now ?? ""} onChange={(e) => take(e.currentTarget.value || null)}>
          <option value="">nothing</option>
          {names.map((n) => <option key={n} value={n}>{n}</option>)}
        </select>
      </label>
      {now !== null && (
        <label class="row small slide">Way out
          <input
            type="range"
            min={0}
            max={1}
            step={0.02}
            value={out.value}
            aria-valuetext={share === 0 ? "on its seat" : share === 100 ? "free" : `${share} % of its way out`}
            onInput={(e) => {
              stop.current();
              out.value = Number(e.currentTarget.value);
            }}
          />
          <span class="way-share">{share === 0 ? "seated" : share === 100 ? "free" : `${share} %`}</span>
        </label>
      )}
    </span>
  );
}
