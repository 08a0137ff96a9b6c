// Rates, forces, modes, triggers, current and level under each other on one axis of time; one line of now through all of them.

import { useEffect, useRef } from "preact/hooks";
import { useSignal } from "@preact/signals";
import type { Rehearsal } from "../api/types";
import { plain } from "../text/units";
import { now, seek } from "./player";

interface Row { title: string; unit: string; lines: { label: string; style: string; step_s: number; y: number[] }[]; limit?: { label: string; value: number } }

const HEIGHT = 54;
/** Half of what a letter of a trigger's name takes at most, px. */
const HALF_LETTER = 3.3;

function rows(r: Rehearsal): Row[] {
  const axis = (of: readonly number[][], i: number) => of.map((v) => v[i] ?? 0);
  const { rate_dps, force_g, step_s } = r.motion;
  const three = (of: readonly number[][]) => (["ink", "slate", "plum"] as const).map((style, i) => ({ label: ["along", "across", "through"][i]!, style, step_s, y: axis(of, i) }));
  return [
    { title: "Turning", unit: "°/s", lines: three(rate_dps) },
    { title: "Force", unit: "g", lines: three(force_g) },
    { title: "Current", unit: "A", lines: [{ label: "current", style: "ink", step_s: r.levels.step_s, y: r.levels.current_a }], limit: { label: "allowed", value: r.most_a } },
    { title: "Sound", unit: "dB of full", lines: [{ label: "level", style: "moss", step_s: r.levels.step_s, y: r.levels.sound_dbfs.map((v) => Math.max(v, -60)) }] },
  ];
}

export function StripChart({ rehearsal: r }: { rehearsal: Rehearsal }) {
  const box = useRef<HTMLDivElement>(null);
  const width = useSignal(900);
  useEffect(() => {
    const on = box.current!;
    const sized = new ResizeObserver(() => (width.value = on.clientWidth));
    sized.observe(on);
    return () => sized.disconnect();
  }, []);
  const name = width.value >= 760 ? 156 : 14;
  const right = width.value - 14;
  const px = (t: number) => name + ((right - name) * t) / Math.max(r.lasts_s, 1e-6);
  const time = (x: number) => ((x - name) / Math.max(right - name, 1)) * r.lasts_s;
  const scrub = (e: PointerEvent) => seek(time(e.clientX - box.current!.getBoundingClientRect().left));
  const every = [0.5, 1, 2, 5, 10, 20, 30, 60, 120].find((s) => px(s) - px(0) >= 46) ?? 300;
  const mode = [...r.modes].reverse().find((m) => m.t_s <= now.value)?.mode ?? "";
  return (
    <div
      ref={box}
      class="strip-chart tracks"
      style={{ "--name": `${name}px` }}
      role="slider"
      tabIndex={0}
      aria-label="Moment of the rehearsal"
      aria-valuemin={0}
      aria-valuemax={Number(r.lasts_s.toFixed(2))}
      aria-valuenow={Number(now.value.toFixed(2))}
      aria-valuetext={`${now.value.toFixed(2)} seconds, mode ${mode}`}
      onPointerDown={(e) => {
        e.currentTarget.setPointerCapture(e.pointerId);
        scrub(e);
      }}
      onPointerMove={(e) => e.buttons && scrub(e)}
      onKeyDown={(e) => {
        const by = { ArrowRight: 0.05, ArrowUp: 0.05, ArrowLeft: -0.05, ArrowDown: -0.05, PageUp: 1, PageDown: -1 }[e.key];
        if (by !== undefined) seek(now.value + by * (e.shiftKey ? 10 : 1));
        else if (e.key === "Home") seek(0);
        else if (e.key === "End") seek(r.lasts_s);
        else return;
        e.preventDefault();
      }}
    >
      <svg class="plot time-scale" width="100%" height="24" aria-hidden="true">
        {Array.from({ length: Math.floor(r.lasts_s / every) + 1 }, (_, i) => (
          <g key={i}>
            <line class="thin" x1={px(i * every)} x2={px(i * every)} y1={16} y2={24} />
            <text x={px(i * every)} y={12} text-anchor="middle">{plain(i * every, 1)}</text>
          </g>
        ))}
        <text x={4} y={12}>{width.value >= 760 ? "Time, s" : ""}</text>
      </svg>
      <Line title="Mode" sub={mode}>
        <svg class="plot" width="100%" height={46} aria-hidden="true">
          {r.modes.map((m, i) => {
            const to = r.modes[i + 1]?.t_s ?? r.lasts_s;
            const [x, w] = [px(m.t_s), px(to) - px(m.t_s)];
            return (
              <g key={i} class="piece">
                <rect x={x} width={Math.max(w, 1)} y={20} height={20} />
                {w > m.mode.length * 7 && <text x={x + 4} y={34}>{m.mode}</text>}
                <title>{m.mode}</title>
              </g>
            );
          })}
          {r.events.map((e, i) => (
            <g key={i} class="trigger">
              <title>{`${e.kind} at ${e.t_s.toFixed(2)} s ${e.detail}`}</title>
              <path d={`M${px(e.t_s)} 18l-3.5 -6h7z`} />
              {roomFor(r, i, px) && <text x={Math.max(px(e.t_s), name + HALF_LETTER * e.kind.length)} y={9} text-anchor="middle">{e.kind}</text>}
            </g>
          ))}
          <line class="station" x1={px(now.value)} x2={px(now.value)} y1={0} y2={46} />
        </svg>
      </Line>
      {rows(r).map((row) => {
        const all = row.lines.flatMap((l) => l.y);
        const low = Math.min(0, ...[all.reduce((a, b) => Math.min(a, b), 0)]);
        const high = Math.max(all.reduce((a, b) => Math.max(a, b), low + 1e-3), row.limit?.value ?? -Infinity);
        const y = (v: number) => HEIGHT - 6 - ((v - low) / (high - low || 1)) * (HEIGHT - 14);
        const ground = high > 0 ? Math.max(low, 0) : low;
        const at = row.lines.map((l) => l.y[Math.min(Math.floor(now.value / l.step_s), l.y.length - 1)]);
        return (
          <Line key={row.title} title={row.title} sub={at.map((v) => (v === undefined ? "–" : plain(v, Math.abs(v) < 10 ? 2 : 0))).join(" · ") + ` ${row.unit}`}>
            <svg class="plot" width="100%" height={HEIGHT} aria-hidden="true">
              <line class="base" x1={name} x2={right} y1={y(ground)} y2={y(ground)} />
              {row.limit && row.limit.value > 0 && (
                <g class="limit"><line x1={name} x2={right} y1={y(row.limit.value)} y2={y(row.limit.value)} /></g>
              )}
              {row.lines.map((l) => <path key={l.label} class={`series ${l.style}`} d={thin(l.y, l.step_s, px, y, right - name)}><title>{l.label}</title></path>)}
              <line class="station" x1={px(now.value)} x2={px(now.value)} y1={0} y2={HEIGHT} />
            </svg>
          </Line>
        );
      })}
    </div>
  );
}

function Line({ title, sub, children }: { title: string; sub: string; children: preact.ComponentChildren }) {
  return (
    <div class="track">
      <div class="track-name"><h3>{title}</h3><div class="reads small"><span class="read">{sub}</span></div></div>
      {children}
    </div>
  );
}

/** Whether a trigger's name stands clear of the one before. */
function roomFor(r: Rehearsal, i: number, px: (t: number) => number): boolean {
  const before = r.events[i - 1];
  return !before || px(r.events[i]!.t_s) - px(before.t_s) > 4 * (r.events[i]!.kind.length + before.kind.length);
}

/** A line of many samples: lowest and highest of each pixel's, so that no peak is lost. */
function thin(y: number[], step: number, px: (t: number) => number, up: (v: number) => number, width: number): string {
  const many = Math.max(Math.ceil(y.length / Math.max(width, 1)), 1);
  let d = "";
  for (let i = 0; i < y.length; i += many) {
    let [low, high] = [y[i]!, y[i]!];
    for (let k = i; k < Math.min(i + many, y.length); k += 1) {
      low = Math.min(low, y[k]!);
      high = Math.max(high, y[k]!);
    }
    const x = px(i * step).toFixed(1);
    d += `${d ? "L" : "M"}${x} ${up(low).toFixed(1)}`;
    if (high > low) d += `L${x} ${up(high).toFixed(1)}`;
  }
  return d;
}
