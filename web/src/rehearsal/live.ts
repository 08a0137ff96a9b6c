// The prop in the hand that moves the pointer: its motion goes to the program as a sensor would feel it, and light and sound
// come back.

import { signal } from "@preact/signals";
import { send } from "../api/client";
import type { LiveAnswer, RehearsalEvent } from "../api/types";
import { frame, lit } from "../state/looks";
import { stageState, tell } from "../state/store";
import { type Held, felt } from "./felt";
import { loud, sound } from "./player";

export const live = signal(false);
export const mode = signal("");
export const happened = signal<RehearsalEvent[]>([]);
export const pressed = signal(false);

/** How often motion is sent, s. */
const EVERY_S = 0.08;
let id: string | null = null;
let hz = 0;
let held: Held = { pitch: 0, yaw: 0 };
let aim: Held = { pitch: 0, yaw: 0 };
let blow = 0;
let timer = 0;
let heardUntil = 0;

/** Where the hand is going. */
export function hold(to: Held): void {
  aim = to;
}
export function knock(): void {
  blow = 12;
}

export async function begin(): Promise<void> {
  sound();
  try {
    const first = await send("/api/live", { id: null, samples: [] });
    id = first.id;
    hz = first.hz;
    mode.value = first.mode;
    happened.value = [];
    live.value = true;
    lit.value = stageState("light") !== "none";
    heardUntil = 0;
    void step();
  } catch (e) {
    tell(e);
  }
}

export function end(): void {
  live.value = false;
  clearTimeout(timer);
  frame.value = null;
}

async function step(): Promise<void> {
  if (!live.peek() || id === null) return;
  const started = performance.now();
  const count = Math.max(Math.round(hz * EVERY_S), 1);
  const samples = felt(held, aim, count, 1 / hz, pressed.peek(), blow);
  held = aim;
  blow = 0;
  try {
    const said = await send("/api/live", { id, samples });
    if (!live.peek()) return;
    mode.value = said.mode;
    if (said.events.length > 0) happened.value = [...said.events.slice().reverse(), ...happened.value].slice(0, 12);
    frame.value = unpacked(said.frame);
    if (loud.peek()) hear(said);
  } catch (e) {
    end();
    tell(e);
    return;
  }
  timer = window.setTimeout(() => void step(), Math.max(EVERY_S * 1000 - (performance.now() - started), 0));
}

function unpacked(text: string): Uint8Array {
  return Uint8Array.from(atob(text), (c) => c.charCodeAt(0));
}

/** Plays what was heard meanwhile, right after what was heard before. */
function hear(said: LiveAnswer): void {
  const out = sound();
  const raw = unpacked(said.sound);
  if (!out || out.state !== "running" || raw.length < 2) return;
  const numbers = new Int16Array(raw.buffer.slice(0, raw.length & ~1));
  const buffer = out.createBuffer(1, numbers.length, said.sound_hz);
  buffer.copyToChannel(Float32Array.from(numbers, (v) => v / 32768), 0);
  const source = out.createBufferSource();
  source.buffer = buffer;
  source.connect(out.destination);
  heardUntil = Math.max(heardUntil, out.currentTime + 0.03);
  source.start(heardUntil);
  heardUntil += buffer.duration;
}
