// The prop as a line drawing, for machines that have no 3D: outlines of the pieces on the same axis, from the side or the top.

import { useMemo } from "preact/hooks";
import { turned } from "../state/looks";
import { axis, chosen, station, whole } from "../state/place";
import { scene } from "../state/store";
import { silhouette } from "./mesh";
import type { Thing } from "./theatre";
import type { Moved } from "./ways";

const HEIGHT = 240;

export function Outline({ things, moved }: { things: readonly Thing[]; moved: Moved | null }) {
  const up = Math.abs(Math.sin((turned.value.roll * Math.PI) / 180)) > 0.7 ? 2 : 1;
  const [from, to] = whole.value;
  const shapes = useMemo(
    () => things.map((t) => ({ thing: t, shape: silhouette([t.mesh], from, to, 1200, up) })),
    [things, up, from, to],
  );
  const { page, shown } = axis.value.spec;
  const scale = axis.value.scale;
  const bounds = scene.value?.bounds_mm;
  const middle = bounds ? (bounds[0][up] + bounds[1][up]) / 2 : 0;
  const x = (mm: number) => (page[0] + (mm - shown[0]) * scale).toFixed(1);
  const y = (mm: number) => (HEIGHT / 2 - (mm - middle) * scale).toFixed(1);
  return (
    <svg class="outline" width="100%" height="100%" role="img" aria-label={up === 2 ? "Side view" : "Top view"}>
      {shapes.map(({ thing, shape }) => {
        const there = shape.x.map((v, i) => `${x(v)},${y(shape.high[i]!)}`);
        const back = shape.x.map((v, i) => `${x(v)},${y(shape.low[i]!)}`).reverse();
        const within = thing.kind !== "piece" && thing.kind !== "body" && thing.kind !== "cover";
        const picked = chosen.value.includes(thing.id);
        if (moved?.away.includes(thing.id)) return null;
        const [dx, dy] = moved?.ids.includes(thing.id) ? [moved.pose[12]! * scale, -moved.pose[12 + up]! * scale] : [0, 0];
        return <path key={thing.id} class={`${within ? "hidden" : "thick"}${picked ? " chosen" : ""}`} transform={dx || dy ? `translate(${dx.toFixed(1)} ${dy.toFixed(1)})` : undefined} d={`M${[...there, ...back].join("L")}Z`} />;
      })}
      {station.value !== null && <line class="station" x1={axis.value.px(station.value)} x2={axis.value.px(station.value)} y1={0} y2="100%" />}
    </svg>
  );
}
