// The wearer and the prop beside each other, to one scale: the length is drawn up or down at the prop's tip, or typed.

import { useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import { change, project, scene, units } from "../state/store";
import { length, like } from "../text/units";

const HEIGHT = 230;
const FLOOR = 212;

/**
 * A plain figure of height 100 standing on 0, as a path; proportions as figure drawing counts them, seven and a half heads
 * (common practice, no source).
 */
export const FIGURE = "M0 -100a6.6 6.8 0 0 1 3 12.7L3 -84.5C7 -83.5 10.5 -82.5 11.5 -80L15.5 -56 17.5 -40.5 15.5 -39 11 -54 8.5 -68 8 -55 9 -47 7 -25 6 -2.5 9 0H1.800L1.200 -24 0 -44 -1.200 -24 -1.800 0H-9L-6 -2.5 -7 -25 -9 -47 -8 -55 -8.5 -68 -11 -54 -15.5 -39 -17.5 -40.5 -15.5 -56 -11.5 -80C-10.5 -82.5 -7 -83.5 -3 -84.5L-3 -87.3A6.6 6.8 0 0 1 0 -100Z";

export function Figure() {
  const drawn = useSignal<number | null>(null);
  const pending = useRef(0);
  const field = project.value?.fields.find((f) => f.key === "shape.length");
  const wearer = project.value?.wearer_mm ?? scene.value?.figure?.height_mm ?? 1750;
  const bounds = scene.value?.bounds_mm;
  const known = field?.si ?? (bounds ? bounds[1][0] - bounds[0][0] : null);
  if (known === null) return null;
  const now = drawn.value ?? known;
  const tallest = Math.max(wearer, known * 1.25);
  const scale = (FLOOR - 14) / tallest;
  const tip = FLOOR - now * scale;
  const put = (mm: number) => {
    drawn.value = null;
    const value = field && typeof field.value === "string" ? field.value : null;
    void change([{ key: "shape.length", value: like(value, mm) }]);
  };
  const clamp = (mm: number) => Math.min(Math.max(Math.round(mm / 5) * 5, 100), 3000);
  const stated = project.value?.wearer_mm !== null;
  return (
    <div class="figure">
      <svg viewBox={`0 0 240 ${HEIGHT}`} width="240" height={HEIGHT} role="img" aria-label={`The prop, ${length(now, units.value)}, beside a figure of ${length(wearer, units.value)}`}>
        <line class="thin" x1="10" x2="230" y1={FLOOR} y2={FLOOR} />
        <path class="person" transform={`translate(70 ${FLOOR}) scale(${(wearer * scale) / 100})`} d={FIGURE} />
        <rect class="prop-bar" x="143" width="9" y={tip} height={now * scale} />
        <text x="70" y={HEIGHT - 3} text-anchor="middle">{length(wearer, units.value)}{stated ? "" : " (a guess)"}</text>
        <text x="160" y={Math.max(tip + 4, 12)}>{length(now, units.value)}</text>
        {wearer !== now && <text class="quiet" x="160" y={Math.max(tip + 20, 28)}>{Math.round((now / wearer) * 100)} % of it</text>}
      </svg>
      {field && (
        <div
          class="tip-grab"
          role="slider"
          tabIndex={0}
          aria-orientation="vertical"
          aria-label="Length of the prop"
          aria-valuemin={100}
          aria-valuemax={3000}
          aria-valuenow={Math.round(now)}
          aria-valuetext={length(now, units.value)}
          style={{ top: `${tip - 12}px` }}
          onPointerDown={(e) => {
            e.preventDefault();
            e.currentTarget.focus();
            e.currentTarget.setPointerCapture(e.pointerId);
            drawn.value = now;
          }}
          onPointerMove={(e) => {
            if (drawn.value === null || !e.currentTarget.hasPointerCapture(e.pointerId)) return;
            const box = e.currentTarget.parentElement!.getBoundingClientRect();
            drawn.value = clamp((FLOOR - (e.clientY - box.top)) / scale);
          }}
          onPointerUp={() => {
            if (drawn.value !== null && drawn.value !== known) put(drawn.value);
            else drawn.value = null;
          }}
          onKeyDown={(e) => {
            const by = { ArrowUp: 5, ArrowRight: 5, ArrowDown: -5, ArrowLeft: -5, PageUp: 50, PageDown: -50 }[e.key];
            if (by === undefined) return;
            e.preventDefault();
            drawn.value = clamp(now + by);
            clearTimeout(pending.current);
            pending.current = window.setTimeout(() => put(drawn.value ?? now), 800);
          }}
        />
      )}
    </div>
  );
}
