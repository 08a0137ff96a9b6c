// The prop across the whole width of the page.

import { batch, useSignal, useSignalEffect } from "@preact/signals";
import { useEffect, useRef } from "preact/hooks";
import type { Scene } from "../api/types";
import { apart, bright, frame, lit, open, out, planeAt, taken, shining, turn, turned, view, wantLight, white } from "../state/looks";
import { axis, chosen, goTo, pan, showWhole, station, zoom } from "../state/place";
import { dark } from "../state/settings";
import { cutHeld, light, movedCuts, scene, settleCuts, stageState, stale, state } from "../state/store";
import { texture } from "./glow";
import { Outline } from "./Outline";
import { type Plane, Theatre, type Thing } from "./theatre";
import { things } from "./things";
import { type Moved, movedBy, wayName } from "./ways";

const TURN_KEYS: Record<string, [number, number]> = {
  ArrowUp: [-5, 0], ArrowDown: [5, 0], ArrowLeft: [0, -5], ArrowRight: [0, 5],
};

export function Stage() {
  const canvas = useRef<HTMLCanvasElement>(null);
  const box = useRef<HTMLDivElement>(null);
  const theatre = useSignal<Theatre | null>(null);
  const flat = useSignal(false);
  const shown = useSignal<Thing[]>([]);
  const ready = useSignal(false);
  /** The scene whose things are shown. */
  const on = useSignal<Scene | null>(null);

  useEffect(() => {
    let made: Theatre;
    try {
      made = new Theatre(canvas.current!);
    } catch {
      flat.value = true;
      return undefined;
    }
    theatre.value = made;
    const held = box.current!;
    const sized = new ResizeObserver(() => made.resize(held.clientWidth, held.clientHeight));
    sized.observe(held);
    return () => {
      sized.disconnect();
      made.dispose();
    };
  }, []);

  // Meshes, as the scene names them.
  useSignalEffect(() => {
    const [now, of] = [scene.value, light.value];
    if (!now || now.shows === "nothing") return;
    things(now, of).then(
      (next) => {
        if (scene.peek() !== now) return;
        batch(() => {
          shown.value = next;
          theatre.peek()?.show(next, now.bounds_mm);
          ready.value = true;
          on.value = now;
          settleCuts(now.build);
        });
      },
      () => undefined, // Nothing shown has these meshes any more: a newer scene is on its way.
    );
  });

  useSignalEffect(() => {
    theatre.value?.setLook({
      shown: axis.value.spec.shown,
      page: axis.value.spec.page,
      roll: turned.value.roll,
      yaw: turned.value.yaw,
      bright: bright.value,
      lit: lit.value,
      open: open.value,
      apart: apart.value,
      moved: moved(),
      cuts: cutPlanes(on.value),
      station: station.value === null ? null : planeAt(station.value),
      chosen: chosen.value,
      dark: dark.value,
    });
  });

  // Pieces are on their way, or about to be asked for.
  useSignalEffect(() => theatre.value?.setBusy(cutHeld.value || (state.value?.working === true && (on.value?.build ?? 0) < state.value.build)));

  useSignalEffect(() => {
    if (lit.value && light.value) void wantLight(light.value).catch(() => undefined);
  });
  useSignalEffect(() => {
    const [lum, of, drawn] = [shining.value, light.value, theatre.value];
    if (!lum || !of || !drawn) return;
    for (const b of of.bodies) drawn.setGlow(b.id, b.along, b.around, texture(lum, b.first, b.along * b.around, white.value, of.pixel_lm));
  });

  const gestures = useGestures(box);
  const dim = !bright.value;
  return (
    <div
      ref={box}
      class={`stage${dim ? " dim" : ""}${stale("geometry") ? " old" : ""}`}
      tabIndex={0}
      role="group"
      aria-label="The prop"
      aria-describedby="stage-help"
      data-ready={ready.value ? (flat.value ? "flat" : "drawn") : "waiting"}
      data-software={theatre.value?.software ? "yes" : "no"}
      onKeyDown={(e) => {
        const by = TURN_KEYS[e.key];
        if (by) turn(by[0], by[1]);
        else if (e.key === "+" || e.key === "=") zoom(1.25);
        else if (e.key === "-") zoom(0.8);
        else if (e.key === "0" || e.key === "Home") {
          showWhole();
          view(null);
        } else return;
        e.preventDefault();
      }}
      {...gestures}
    >
      <canvas ref={canvas} aria-hidden="true" hidden={flat.value} />
      {flat.value && <Outline things={shown.value} moved={moved()} />}
      <p id="stage-help" class="unseen">
        {describe()} Arrow keys turn it, plus and minus look closer and wider, 0 shows it whole.
      </p>
      {!ready.value && <p class="stage-wait">The shape is being read.</p>}
      {stale("geometry") && <p class="stage-note">Being worked out again: shown as it was</p>}
      {lit.value && shining.value && (
        <p class="stage-note low">
          Seen in {bright.value ? "a bright" : "a dark"} room from {((light.value?.viewed_mm ?? 0) / 1000).toFixed(1)} m; the screen's white is {white.value} cd/m²
          {frame.value ? ", as rehearsed" : ""}
        </p>
      )}
      {lit.value && !light.value && stageState("light") !== "none" && <p class="stage-note low">Its light is not known yet</p>}
    </div>
  );
}

/** Cuts of what is shown, each where it was moved to. */
function cutPlanes(of: Scene | null): Plane[] {
  return (of?.joints ?? []).map((j): Plane => {
    const moved = movedCuts.value.get(j.number);
    if (moved !== undefined) return planeAt(moved)!;
    const [x, y, z] = j.along;
    return [x, y, z, x * j.point_mm[0] + y * j.point_mm[1] + z * j.point_mm[2]];
  });
}

/** What is out of its place. */
function moved(): Moved | null {
  const s = scene.value;
  const way = s?.ways.find((w) => wayName(w) === taken.value);
  return s && way ? movedBy(way, s, out.value) : null;
}

function describe(): string {
  const s = scene.value;
  if (!s || s.shows === "nothing") return "Not read yet.";
  const what = s.shows === "pieces" ? `${s.pieces.length} pieces, ${s.joints.length} joints, ${s.pixels.length} pixels.` : "Its shape, not yet in pieces.";
  return `${Math.round(s.span_mm[1] - s.span_mm[0])} mm from butt, left, to tip, right. ${what}`;
}

/** Turning by drag, the station line under the pointer, closer by pinch or wheel with the control key. */
function useGestures(box: { current: HTMLDivElement | null }) {
  const held = useRef(new Map<number, { x: number; y: number }>());
  const place = (e: PointerEvent | WheelEvent) => e.clientX - box.current!.getBoundingClientRect().left;

  useEffect(() => {
    const wheel = (e: WheelEvent) => {
      if (!e.ctrlKey && !e.shiftKey) return; // The page scrolls.
      e.preventDefault();
      if (e.shiftKey) pan(e.deltaY || e.deltaX);
      else zoom(Math.exp(-e.deltaY / 300), place(e));
    };
    const on = box.current!;
    on.addEventListener("wheel", wheel, { passive: false });
    return () => on.removeEventListener("wheel", wheel);
  }, []);

  return {
    onPointerDown: (e: PointerEvent) => {
      if ((e.target as Element).closest("button")) return;
      held.current.set(e.pointerId, { x: e.clientX, y: e.clientY });
      if (e.pointerType === "mouse") box.current!.setPointerCapture(e.pointerId);
    },
    onPointerMove: (e: PointerEvent) => {
      const from = held.current.get(e.pointerId);
      if (!from) {
        if (e.pointerType === "mouse") goTo(axis.value.station(place(e)));
        return;
      }
      const others = [...held.current.entries()].filter(([id]) => id !== e.pointerId);
      const other = others[0]?.[1];
      if (other) {
        const [was, is] = [Math.abs(from.x - other.x), Math.abs(e.clientX - other.x)];
        if (was > 10) zoom(is / was, place(e));
      } else if (e.shiftKey) {
        pan(from.x - e.clientX);
      } else {
        turn((e.clientY - from.y) * 0.4, (e.clientX - from.x) * 0.25);
      }
      held.current.set(e.pointerId, { x: e.clientX, y: e.clientY });
    },
    onPointerUp: (e: PointerEvent) => void held.current.delete(e.pointerId),
    onPointerCancel: (e: PointerEvent) => void held.current.delete(e.pointerId),
    onDblClick: () => {
      showWhole();
      view(null);
    },
  };
}
