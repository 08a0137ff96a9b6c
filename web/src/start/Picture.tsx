// The shape that was sent, from butt, left, to tip, right: it turns when the other end is to be the tip.

import { useComputed, useSignal, useSignalEffect } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import { bytes } from "../api/client";
import type { StartMesh } from "../api/types";
import type { Point } from "../axis/axis";
import { glide } from "../parts/motion";
import { type Decoded, decode, silhouette } from "../stage/mesh";
import { Theatre } from "../stage/theatre";
import { dark } from "../state/settings";
import { tell } from "../state/store";

/** It is shown this long, whatever the file's unit is. */
const LONG = 1000;
const HEIGHT = 180;
const MARGIN = 16;

export function Picture({ mesh, turned, words }: { mesh: StartMesh; turned: boolean; words: string }) {
  const box = useRef<HTMLDivElement>(null);
  const canvas = useRef<HTMLCanvasElement>(null);
  const theatre = useSignal<Theatre | null>(null);
  const flat = useSignal(false);
  const shape = useSignal<Shape | null>(null);
  const width = useSignal(600);
  const yaw = useSignal(turned ? 180 : 0);
  const roll = useSignal(0);

  useEffect(() => {
    const on = box.current!;
    let made: Theatre | null = null;
    try {
      made = new Theatre(canvas.current!);
    } catch {
      flat.value = true;
    }
    theatre.value = made;
    const sized = new ResizeObserver(() => {
      width.value = on.clientWidth;
      made?.resize(on.clientWidth, HEIGHT);
    });
    sized.observe(on);
    return () => {
      sized.disconnect();
      made?.dispose();
    };
  }, []);
  useEffect(() => {
    bytes(`/api/mesh/${mesh.mesh.hash}`).then((got) => (shape.value = shaped(decode(got), mesh.long_units)), tell);
  }, [mesh.mesh.hash]);
  useEffect(() => glide(yaw.peek(), turned ? 180 : 0, 700, (v) => (yaw.value = v)), [turned]);

  const look = useComputed(() => {
    const s = shape.value;
    if (!s) return null;
    const size = (axis: 1 | 2) => s.bounds[1][axis] - s.bounds[0][axis];
    const page = [MARGIN, Math.max(width.value - MARGIN, MARGIN + 1)] as const;
    // All of it is seen, however wide it is.
    const perPixel = Math.max(LONG / (page[1] - page[0]), Math.hypot(size(1), size(2)) / (HEIGHT - 2 * MARGIN));
    const half = (perPixel * (page[1] - page[0])) / 2;
    return { page, shown: [LONG / 2 - half, LONG / 2 + half] as const, broad: size(1) >= size(2) ? 0 : -90 };
  });
  useSignalEffect(() => {
    const [on, s] = [theatre.value, shape.value];
    if (on && s) on.show([{ id: "shape", kind: "body", number: 0, mesh: s.mesh, light: null, lightAt: null }], s.bounds);
  });
  useSignalEffect(() => {
    const now = look.value;
    if (now) {
      theatre.value?.setLook({
        shown: now.shown, page: now.page, roll: now.broad + roll.value, yaw: yaw.value, bright: true, lit: false, open: false, apart: 0,
        moved: null, cuts: [], station: null, chosen: [], dark: dark.value,
      });
    }
  });

  return (
    <div class="picture" data-ready={shape.value ? (flat.value ? "flat" : "drawn") : "waiting"} data-yaw={Math.round(yaw.value)}>
      <div ref={box} class="picture-hold" role="img" aria-label={words}>
        <canvas ref={canvas} hidden={flat.value} />
        {flat.value && shape.value && <Drawn shape={shape.value} width={width.value} turned={turned} />}
      </div>
      <p class="picture-ends small" aria-hidden="true"><span>butt</span><b>tip ▸</b></p>
      <button type="button" class="small" onClick={() => (roll.value += 45)}>Roll it</button>
    </div>
  );
}

interface Shape { mesh: Decoded; bounds: [Point, Point] }

/** Brought to the length in which it is shown. */
function shaped(mesh: Decoded, long: number): Shape {
  const by = long > 0 ? LONG / long : 1;
  const low: Point = [Infinity, Infinity, Infinity];
  const high: Point = [-Infinity, -Infinity, -Infinity];
  mesh.positions.forEach((v, i) => {
    const axis = (i % 3) as 0 | 1 | 2;
    const mm = by * (mesh.origin[axis] + mesh.step * v);
    low[axis] = Math.min(low[axis], mm);
    high[axis] = Math.max(high[axis], mm);
  });
  const [x, y, z] = mesh.origin;
  return { mesh: { ...mesh, origin: [x * by, y * by, z * by], step: mesh.step * by }, bounds: [low, high] };
}

/** Where there is no 3D: its outline. */
function Drawn({ shape, width, turned }: { shape: Shape; width: number; turned: boolean }) {
  const [low, high] = shape.bounds;
  const up = high[1] - low[1] >= high[2] - low[2] ? 1 : 2;
  const s = silhouette([shape.mesh], low[0], high[0], 300, up);
  const scale = Math.min((width - 2 * MARGIN) / LONG, (HEIGHT - 2 * MARGIN) / (high[up] - low[up]));
  const x = (mm: number) => width / 2 + (turned ? -1 : 1) * (mm - (low[0] + high[0]) / 2) * scale;
  const y = (mm: number) => HEIGHT / 2 - (mm - (low[up] + high[up]) / 2) * scale;
  const points = [...s.x.map((v, i) => [v, s.high[i]!]), ...s.x.map((v, i) => [v, s.low[i]!]).reverse()];
  return <svg class="outline" width={width} height={HEIGHT} aria-hidden="true"><path class="thick" d={`M${points.map(([v, h]) => `${x(v!).toFixed(1)},${y(h!).toFixed(1)}`).join("L")}Z`} /></svg>;
}
