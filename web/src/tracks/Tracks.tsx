// Everything that is known along the prop, in tracks on the prop's own axis.

import { useEffect, useRef } from "preact/hooks";
import { axis, goTo, marked, pageSpan, stations, station } from "../state/place";
import { stale, stageState, tracks, units } from "../state/store";
import type { StageName, Track } from "../api/types";
import { plain, value } from "../text/units";
import { Cuts } from "./Cuts";
import { linePath, range } from "./chart";
import { readings } from "./readings";
import { Scale } from "./Scale";

const HEIGHT = 58;
/** Room for a name left of a track on a wide page, px. */
const NAME_PX = 148;
const EDGE_PX = 14;

/** What is to come, in the words of the work, while a track is not there yet. */
const COMING: [StageName, string][] = [["geometry", "Wall, cuts and pixels"], ["light", "Luminance"], ["strength", "Bending"], ["power", "Voltage and temperature"]];

/** Keeps the axis in step with the width of the page. */
export function useAxisWidth(box: { current: HTMLElement | null }) {
  useEffect(() => {
    const sized = new ResizeObserver(() => {
      const width = box.current!.clientWidth;
      const rem = parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;
      const name = width >= 760 ? NAME_PX * Math.max(rem, 1) : EDGE_PX;
      box.current!.style.setProperty("--name", `${name}px`);
      pageSpan.value = [name, Math.max(width - EDGE_PX, name + 50)];
    });
    sized.observe(box.current!);
    return () => sized.disconnect();
  }, []);
}

export function Tracks() {
  const all = tracks.value?.tracks ?? [];
  return (
    <section class="tracks" aria-label="Along the prop">
      <Scale />
      {all.map((t) => (t.id === "cuts" ? <Cuts key={t.id} track={t} /> : <Chart key={t.id} track={t} />))}
      {COMING.filter(([s]) => stageState(s) === "waiting" || (stageState(s) === "working" && !all.some((t) => t.stage === s))).map(([s, words]) => (
        <p key={s} class="coming quiet">{words}: {stageState(s) === "working" ? "being worked out" : "to come"}</p>
      ))}
    </section>
  );
}

/** The frame of a track: its name with what it reads at the station line, and the axis. */
export function Row({ track, height, children }: { track: Track; height: number; children: preact.ComponentChildren }) {
  const box = useRef<HTMLDivElement>(null);
  const a = axis.value;
  const old = stale(track.stage);
  const at = station.value;
  const reads = at === null ? [] : readings(track, at, units.value);
  const span = marked.value;
  return (
    <div
      ref={box}
      class={`track${old ? " stale" : ""}`}
      id={`track-${track.id}`}
      data-track={track.id}
      onPointerMove={(e) => {
        if (e.pointerType === "mouse" && !e.buttons) goTo(a.station(e.clientX - box.current!.getBoundingClientRect().left));
      }}
      onPointerDown={(e) => {
        if (e.pointerType !== "mouse") goTo(a.station(e.clientX - box.current!.getBoundingClientRect().left));
      }}
    >
      <div class="track-name">
        <h3 title={track.about}>{track.title}</h3>
        {old && <span class="small old-word">older</span>}
        <div class="reads small">
          {reads.slice(0, 3).map((r) => (
            <span key={r.id} class={`read ${r.style}`} title={r.label}>{r.text}</span>
          ))}
        </div>
      </div>
      <svg class="plot" width="100%" height={height} role="img" aria-label={`${track.title}: ${track.about}`}>
        {span && <rect class="marked" x={a.px(span[0]) - 2} width={Math.max(a.px(span[1]) - a.px(span[0]), 0) + 4} y={0} height={height} />}
        {children}
        {at !== null && <line class="station" x1={a.px(at)} x2={a.px(at)} y1={0} y2={height} />}
      </svg>
    </div>
  );
}

function Chart({ track }: { track: Track }) {
  const a = axis.value;
  const [low, high] = range(track);
  const y = (v: number) => HEIGHT - 8 - ((v - low) / (high - low)) * (HEIGHT - 20);
  const right = a.spec.page[1];
  const left = a.spec.page[0];
  const [from, to] = stations.value;
  const charted = track.series.length > 0;
  return (
    <Row track={track} height={charted ? HEIGHT : 34}>
      {charted && (
        <>
          <line class="base" x1={a.px(from)} x2={a.px(to)} y1={y(Math.max(low, Math.min(0, high)))} y2={y(Math.max(low, Math.min(0, high)))} />
          <text class="limit-of" x={left - 4} y={y(high) + 4} text-anchor="end">{value(high, track.unit === "mm" ? "mm" : "1", units.value).replace(/\u202f.*/, "") || plain(high, 1)}</text>
        </>
      )}
      {track.spans.map((s) => (
        <g key={s.id}>
          <rect class="span" x={a.px(s.from_mm)} width={Math.max(a.px(s.to_mm) - a.px(s.from_mm), 1)} y={6} height={18} />
        </g>
      ))}
      {track.limits.map((l) => (
        <g key={l.label} class="limit">
          <title>{`${l.label}: ${value(l.value, track.unit, units.value)} (${l.source})`}</title>
          <line x1={left} x2={right} y1={y(l.value)} y2={y(l.value)} />
          <text x={right - 2} y={Math.max(y(l.value) - 3, 9)} text-anchor="end">{`${l.label} ${value(l.value, track.unit, units.value)}`}</text>
        </g>
      ))}
      {track.series.map((s) => (
        <path key={s.id} class={`series ${s.style}`} d={linePath(s, a, y)}>
          <title>{s.label}</title>
        </path>
      ))}
      {track.marks.map((m) => (
        <circle key={m.id} class={track.id === "pixels" ? "pixel" : "mark-dot"} cx={a.px(m.x_mm)} cy={charted ? HEIGHT - 6 : 17} r={2.2}>
          <title>{m.label}</title>
        </circle>
      ))}
    </Row>
  );
}
