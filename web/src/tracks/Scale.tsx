// The station scale under the prop: the one line through everything is moved here, by pointer or by key.

import { ticks } from "../axis/axis";
import { axis, chosen, goTo, marked, station, stations, stepKey } from "../state/place";
import { movedCuts, scene, tracks, units } from "../state/store";
import { length } from "../text/units";
import { readings } from "./readings";

export function Scale() {
  const a = axis.value;
  const inches = units.value === "in";
  const at = station.value;
  const [from, to] = stations.value;
  return (
    <div
      class="scale"
      role="slider"
      tabIndex={0}
      aria-label="Station line"
      aria-valuemin={Math.round(from)}
      aria-valuemax={Math.round(to)}
      aria-valuenow={Math.round(at ?? from)}
      aria-valuetext={at === null ? "not set; arrow keys move it" : told(at)}
      onKeyDown={(e) => {
        if (stepKey(e)) e.preventDefault();
        else if (e.key === "Escape") {
          station.value = null;
          chosen.value = [];
          marked.value = null;
        }
      }}
      onPointerDown={(e) => {
        e.currentTarget.setPointerCapture(e.pointerId);
        goTo(a.station(e.clientX - e.currentTarget.getBoundingClientRect().left));
      }}
      onPointerMove={(e) => {
        if (e.buttons || e.pointerType === "mouse") goTo(a.station(e.clientX - e.currentTarget.getBoundingClientRect().left));
      }}
    >
      <svg width="100%" height="30" aria-hidden="true">
        {ticks(a, stations.value, inches).map((t) => {
          const x = a.px(t.station);
          return (
            <g key={t.station}>
              <line class="thin" x1={x} x2={x} y1={0} y2={t.label === null ? 5 : 9} />
              {t.label !== null && <text x={x} y={22} text-anchor="middle">{t.label}</text>}
            </g>
          );
        })}
        {at !== null && <line class="station" x1={a.px(at)} x2={a.px(at)} y1={0} y2={30} />}
      </svg>
      <span class="scale-name">{at === null ? (inches ? "Station, in" : "Station, mm") : `At ${length(at, units.value)}`}</span>
    </div>
  );
}

/** What is at a station, in one breath. */
function told(at: number): string {
  const here = (scene.value?.pieces ?? []).filter((p) => p.station_mm[0] <= at && at <= p.station_mm[1]);
  const near = (scene.value?.joints ?? []).filter((j) => Math.abs((movedCuts.value.get(j.number) ?? j.station_mm) - at) < 1.5);
  const numbers = (tracks.value?.tracks ?? []).flatMap((t) => readings(t, at, units.value).map((r) => `${t.title} ${r.text}`));
  return [length(at, units.value), ...here.map((p) => `piece ${p.name}`), ...near.map((j) => `joint ${j.id}`), ...numbers].join(", ");
}
