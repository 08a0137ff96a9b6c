// Pieces and cuts: each cut is dragged or moved by keys within what its printers reach; locked ones stay.

import { useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import type { Joint, Stretch, Track } from "../api/types";
import { axis, choose, chosen, goTo, station } from "../state/place";
import { lockCut, moveCut, movedCuts, scene, showCut, units } from "../state/store";
import { length } from "../text/units";
import { Row } from "./Tracks";

const BAR = { y: 30, height: 20 };
/** Lids and covers lie beside the pieces they belong to, in rows of their own. */
const ROW = 19;

export function Cuts({ track }: { track: Track }) {
  const a = axis.value;
  const joints = scene.value?.joints ?? [];
  const pieces = scene.value?.pieces ?? [];
  const rows = laid(track.spans);
  const deepest = Math.max(0, ...rows);
  const under = BAR.y + BAR.height + deepest * ROW + 6;
  return (
    <div class="cuts">
      <Row track={track} height={under + 18}>
        {track.spans.map((s, i) => {
          const row = rows[i]!;
          const y = row === 0 ? BAR.y : BAR.y + BAR.height + 3 + (row - 1) * ROW;
          const height = row === 0 ? BAR.height : ROW - 4;
          const [from, to] = [a.px(edge(s.id, 0) ?? s.from_mm), a.px(edge(s.id, 1) ?? s.to_mm)];
          const picked = chosen.value.includes(s.id);
          const name = pieces.find((p) => p.id === s.id)?.number;
          const short = name === undefined ? s.label : String(name).padStart(2, "0");
          const wide = to - from;
          return (
            <g key={s.id} class={`piece${picked ? " chosen" : ""}`} onClick={() => choose([s.from_mm, s.to_mm], [s.id])}>
              <title>{s.label}</title>
              {s.reach_mm && row === 0 && (
                <path class="reach" d={`M${a.px(s.reach_mm[0])} ${under + (i % 2) * 6}v4H${a.px(s.reach_mm[1])}v-4`} />
              )}
              <rect x={from} width={Math.max(wide, 1)} y={y} height={height} />
              {wide > 16 && <text x={(from + to) / 2} y={y + height / 2 + 4} text-anchor="middle">{wide > 8 * s.label.length ? s.label : short}</text>}
            </g>
          );
        })}
      </Row>
      <div class="handles">
        {joints.map((j) => <Handle key={j.id} joint={j} />)}
      </div>
    </div>
  );
}

/** The row of each piece: the first in which it meets none before it. */
function laid(spans: readonly Stretch[]): number[] {
  const ends: number[] = [];
  return spans.map((s) => {
    let row = ends.findIndex((end) => s.from_mm >= end - 0.5);
    if (row === -1) row = ends.length;
    ends[row] = s.to_mm;
    return row;
  });
}

/** Where an end of a piece is now, when its cut has been moved and its mesh not yet. */
function edge(id: string, end: 0 | 1): number | null {
  const piece = scene.value?.pieces.find((p) => p.id === id);
  if (!piece || movedCuts.value.size === 0) return null;
  const joint = scene.value?.joints.find((j) => j.pieces[1 - end] === piece.number && movedCuts.value.has(j.number));
  return joint ? movedCuts.value.get(joint.number)! : null;
}

function Handle({ joint }: { joint: Joint }) {
  const dragged = useSignal<number | null>(null);
  const stepped = useRef(0);
  const at = dragged.value ?? movedCuts.value.get(joint.number) ?? joint.station_mm;
  // A maker's own joint, or one where bodies meet, has no lock to open.
  const bound = joint.own || joint.meeting === true;
  const fixed = joint.locked || bound;
  const a = axis.value;
  if (!a.meets([at, at])) return null;

  const show = (mm: number) => {
    dragged.value = mm;
    showCut(joint.number, mm);
    goTo(mm);
  };
  const settle = () => {
    clearTimeout(stepped.current);
    const mm = dragged.value;
    dragged.value = null;
    if (mm !== null) void moveCut(joint.number, Math.round(mm * 10) / 10);
  };
  const neighbours = (): [number, number] => {
    const others = (scene.value?.joints ?? []).map((j) => j.station_mm).filter((s) => s !== joint.station_mm);
    const span = scene.value?.span_mm ?? [0, 0];
    const below = others.filter((s) => s < joint.station_mm);
    const above = others.filter((s) => s > joint.station_mm);
    return [Math.max(span[0], ...below) + 5, Math.min(span[1], ...above) - 5];
  };
  const [least, most] = neighbours();
  const clamp = (mm: number) => Math.min(Math.max(mm, least), most);
  const before = Math.max(-Infinity, ...(scene.value?.joints ?? []).filter((j) => j.number < joint.number).map((j) => a.px(movedCuts.value.get(j.number) ?? j.station_mm)));
  const crowded = a.px(at) - before < 26;
  const say = `${length(at, units.value)}${joint.own ? ", set by the project" : bound ? ", where bodies meet" : joint.locked ? ", locked" : ""}`;
  return (
    <div class={`handle${fixed ? " fixed" : ""}${crowded ? " crowded" : ""}`} style={{ left: `${a.px(at)}px` }}>
      <div
        class="grab"
        role="slider"
        tabIndex={0}
        aria-label={`Cut ${joint.id}`}
        aria-valuemin={Math.round(Math.min(least, at))}
        aria-valuemax={Math.round(Math.max(most, at))}
        aria-valuenow={Math.round(at * 10) / 10}
        aria-valuetext={say}
        aria-disabled={fixed}
        title={`${joint.id}: ${say}`}
        onFocus={() => goTo(at)}
        onPointerDown={(e) => {
          if (fixed || e.button !== 0) return;
          e.preventDefault();
          e.stopPropagation();
          e.currentTarget.focus();
          e.currentTarget.setPointerCapture(e.pointerId);
          show(at);
        }}
        onPointerMove={(e) => {
          e.stopPropagation();
          if (dragged.value === null) return;
          const track = e.currentTarget.closest(".cuts")!.getBoundingClientRect();
          show(clamp(a.station(e.clientX - track.left)));
        }}
        onPointerUp={settle}
        onPointerCancel={() => {
          dragged.value = null;
          showCut(joint.number, null);
        }}
        onKeyDown={(e) => {
          const by = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageUp: 10, PageDown: -10 }[e.key];
          if (by !== undefined) {
            e.preventDefault();
            if (fixed) return;
            show(clamp(at + by * (e.shiftKey ? 10 : 1)));
            // Sent when the fingers rest, or at once with Enter.
            clearTimeout(stepped.current);
            stepped.current = window.setTimeout(settle, 700);
          } else if (e.key === "Enter") {
            settle();
          } else if (e.key.toLowerCase() === "l" && !bound) {
            void lockCut(joint.number, !joint.locked);
          }
        }}
      >
        <span class="cut-name">{joint.id}{fixed ? <span aria-hidden="true"> ▪</span> : ""}</span>
      </div>
      {!bound && station.value !== null && Math.abs(station.value - at) < 0.6 && (
        <button class="lock small" type="button" aria-pressed={joint.locked} onClick={() => void lockCut(joint.number, !joint.locked)}>
          {joint.locked ? "Free" : "Lock"}
          <span class="unseen"> cut {joint.id}</span>
        </button>
      )}
    </div>
  );
}
