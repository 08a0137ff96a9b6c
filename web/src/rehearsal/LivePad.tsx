// The pad on which the prop is moved live.

import { begin, end, happened, hold, knock, live, mode, pressed } from "./live";
import { pause } from "./player";
import { useSignal } from "@preact/signals";

export function LivePad() {
  const at = useSignal({ pitch: 0, yaw: 0 });
  const to = (pitch: number, yaw: number) => {
    at.value = { pitch: Math.min(Math.max(pitch, -90), 90), yaw: Math.min(Math.max(yaw, -120), 120) };
    hold(at.value);
  };
  const press = (down: boolean) => (pressed.value = down);
  return (
    <section class="live" aria-labelledby="live-title">
      <div class="row">
        <h3 id="live-title">In your hand</h3>
        {live.value ? (
          <button type="button" onClick={end}>Put it down</button>
        ) : (
          <button type="button" onClick={() => {
            pause();
            void begin();
          }}>Take it up</button>
        )}
        {live.value && (
          <>
            <button
              type="button"
              aria-pressed={pressed.value}
              onPointerDown={() => press(true)}
              onPointerUp={() => press(false)}
              onPointerLeave={() => press(false)}
              onKeyDown={(e) => (e.key === " " || e.key === "Enter") && press(true)}
              onKeyUp={() => press(false)}
            >
              Its button
            </button>
            <button type="button" onClick={knock}>Strike</button>
          </>
        )}
      </div>
      {live.value && (
        <>
          <p class="small">Move the pointer over the field, or use the arrow keys in it: up and down tilts the tip, left and right swings it. Mode: <b>{mode.value}</b></p>
          <div
            class="pad"
            tabIndex={0}
            role="group"
            aria-label={`The prop in your hand: tip ${Math.round(at.value.pitch)} degrees up`}
            onPointerMove={(e) => {
              const box = e.currentTarget.getBoundingClientRect();
              to(90 - (180 * (e.clientY - box.top)) / box.height, 120 - (240 * (box.right - e.clientX)) / box.width);
            }}
            onKeyDown={(e) => {
              const by: [number, number] | undefined = ({ ArrowUp: [15, 0], ArrowDown: [-15, 0], ArrowLeft: [0, -30], ArrowRight: [0, 30] } as Record<string, [number, number]>)[e.key];
              if (!by) return;
              e.preventDefault();
              to(at.value.pitch + by[0], at.value.yaw + by[1]);
            }}
          >
            <svg width="100%" height="100%" viewBox="-120 -90 240 180" aria-hidden="true">
              <line class="thin" x1={-120} x2={120} y1={0} y2={0} />
              <g transform={`translate(${at.value.yaw * 0.6} 0) rotate(${-at.value.pitch})`}>
                <path class="thick" d="M-22 -3H40L58 0 40 3H-22Z" />
              </g>
            </svg>
          </div>
          <ol class="small happened" aria-label="What happened, newest first">
            {happened.value.map((e, i) => <li key={`${e.t_s} ${i}`}>{e.t_s.toFixed(1)} s: {e.kind}{e.detail && `, ${e.detail}`}</li>)}
          </ol>
        </>
      )}
    </section>
  );
}
