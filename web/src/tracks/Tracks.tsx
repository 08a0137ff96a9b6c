// Everything that is known along the prop, in tracks on the prop's own axis.

import { useEffect, useRef } from "preact/hooks";
import { axis, goTo, marked, pageSpan, stations, station } from "../state/place";
import { stale, stageState, tracks, units } from "../state/store";
import { WhyNumber } from "../findings/Why";
import type { StageName, Track } from "../api/types";
import { plain, value } from "../text/units";
import { Cuts } from "./Cuts";
import { linePath, range } from "./chart";
import { readings } from "./readings";
import { Scale } from "./Scale";

const HEIGHT = 58;
/** Room for a name left of a track on a wide page, px. */
const NAME_PX = 156;
const EDGE_PX = 14;

/** What is to come, in the words of the work, while a track is not there yet. */
const COMING: [StageName, string][] = [["geometry", "Wall, cuts and pixels"], ["light", "Luminance"], ["strength", "Bending"], ["power", "Voltage and temperature"]];

/** Keeps the axis in step with the width of the page. */
export function useAxisWidth(box: { current: HTMLElement | null }) {
  useEffect(() => {
    const on = box.current!;
    const sized = new ResizeObserver(() => {
      const width = on.clientWidth;
      const rem = parseFloat(getComputedStyle(document.documentElement).fontSize) / 16;
      const name = width >= 760 ? NAME_PX * Math.max(rem, 1) : EDGE_PX;
      on.style.setProperty("--name", `${name}px`);
      pageSpan.value = [name, Math.max(width - EDGE_PX, name + 50)];
    });
    sized.observe(on);
    return () => sized.disconnect();
  }, []);
}

export function Tracks() {
  const all = tracks.value?.tracks ?? [];
  return (
    <section class="tracks" aria-labelledby="tracks-title">
      <h2 id="tracks-title" class="unseen">Along the prop</h2>
      <Scale />
      <StationLine />
      {all.map((t) => (t.id === "cuts" ? <Cuts key={t.id} track={t} /> : <Chart key={t.id} track={t} />))}
      {COMING.filter(([s]) => stageState(s) === "waiting" || (stageState(s) === "working" && !all.some((t) => t.stage === s))).map(([s, words]) => (
        <p key={s} class="coming quiet">{words}: {stageState(s) === "working" ? "being worked out" : "to come"}</p>
      ))}
    </section>
  );
}

/** The one line through all of them. */
function StationLine() {
  return station.value === null ? null : <div class="station-line" style={{ left: `${axis.value.px(station.value)}px` }} />;
}

/** What a track reads at the station line. */
function Reads({ track }: { track: Track }) {
  const at = station.value;
  const reads = at === null ? [] : readings(track, at, units.value);
  return (
    <div class="reads small">
      {reads.slice(0, 4).map((r) => <span key={r.id} class={`read ${r.style}`} title={r.label}>{r.text}</span>)}
    </div>
  );
}

/** The frame of a track: its name with what it reads at the station line, and the axis. */
export function Row({ track, height, children }: { track: Track; height: number; children: preact.ComponentChildren }) {
  const box = useRef<HTMLDivElement>(null);
  const a = axis.value;
  const old = stale(track.stage);
  const span = marked.value;
  const at = station.value;
  const read = at === null ? "" : `${readings(track, at, units.value).map((r) => r.text).join(", ")} at station ${value(at, "mm", units.value)}`;
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
        <h3 title={track.about}>{track.title}{old && <span class="old-word"> older</span>}</h3>
        <div class="track-more">
          <WhyNumber of={`track.${track.id}`} name={track.title} shown={read} />
          <Reads track={track} />
        </div>
      </div>
      <svg class="plot" width="100%" height={height} role="img" aria-label={`${track.title}: ${track.about}`}>
        {span && <rect class="marked" x={a.px(span[0]) - 2} width={Math.max(a.px(span[1]) - a.px(span[0]), 0) + 4} y={0} height={height} />}
        {children}
      </svg>
    </div>
  );
}

/** The ends of the scale at a track's side, as exact as tells them apart; their unit stands with the readings. */
function ends([low, high]: readonly [number, number], unit: string): [string, string] {
  if (unit === "mm") return [low, high].map((v) => value(v, "mm", units.value).replace(/\u202f.*/, "")) as [string, string];
  const digits = (v: number) => (Math.abs(v) < 1 ? 2 : Math.abs(v) < 10 ? 1 : 0);
  for (let more = 0; ; more += 1) {
    const [a, b] = [plain(low, digits(low) + more), plain(high, digits(high) + more)];
    if (a !== b || more === 4) return [a, b];
  }
}

function Chart({ track }: { track: Track }) {
  const a = axis.value;
  const [low, high] = range(track);
  const y = (v: number) => HEIGHT - 8 - ((v - low) / (high - low)) * (HEIGHT - 20);
  const right = a.spec.page[1];
  const left = a.spec.page[0];
  const [from, to] = stations.value;
  const charted = track.series.length > 0;
  const [lowest, highest] = ends([low, high], track.unit);
  return (
    <Row track={track} height={charted ? HEIGHT : 34}>
      {charted && (
        <>
          <line class="base" x1={a.px(from)} x2={a.px(to)} y1={y(Math.max(low, Math.min(0, high)))} y2={y(Math.max(low, Math.min(0, high)))} />
          <text class="limit-of" x={left - 5} y={y(high) + 4} text-anchor="end">{highest}</text>
          {y(low) - y(high) > 24 && <text class="limit-of" x={left - 5} y={y(low) + 4} text-anchor="end">{lowest}</text>}
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
        </g>
      ))}
      {track.series.map((s) => (
        <path key={s.id} class={`series ${s.style}`} d={linePath(s, a, y)}>
          <title>{s.label}</title>
        </path>
      ))}
      {track.limits.map((l) => (
        <g key={l.label} class="limit">
          <text x={right - 2} y={Math.max(y(l.value) - 3, 9)} text-anchor="end">{`${l.label} ${value(l.value, track.unit, units.value)}`}</text>
        </g>
      ))}
      {track.marks.map((m) => (
        <circle key={m.id} class={track.id === "pixels" ? "pixel" : "mark-dot"} cx={a.px(m.x_mm)} cy={charted ? HEIGHT - 6 : 17} r={2.2}>
          <title>{m.label}</title>
        </circle>
      ))}
    </Row>
  );
}
