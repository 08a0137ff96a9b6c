// A rehearsal in time: frames of the strip and sound in step, at any moment of it.

import { computed, signal } from "@preact/signals";
import { bytes } from "../api/client";
import type { Rehearsal } from "../api/types";
import { frame, lit } from "../state/looks";
import { stageState } from "../state/store";
import { type Frames, decodeFrames, frameAt } from "./frames";

export const rehearsal = signal<Rehearsal | null>(null);
export const frames = signal<Frames | null>(null);
/** The moment shown, s. */
export const now = signal(0);
export const playing = signal(false);
export const loud = signal(true);
/** Whether sound and picture came from this machine's sound clock, or without sound from its own. */
export const sounding = signal(false);
export const pixelsNow = computed(() => (frames.value ? frameAt(frames.value, now.value) : null));

let context: AudioContext | null = null;
let buffer: AudioBuffer | null = null;
let source: AudioBufferSourceNode | null = null;
let began = { clock: 0, at: 0 };
let ticking = 0;

/** The one sound output of the page; made when the maker first asks for sound, as browsers want it. */
export function sound(): AudioContext | null {
  try {
    context ??= new AudioContext();
    void context.resume().catch(() => undefined);
    return context;
  } catch {
    return null; // A machine without sound still shows the light.
  }
}

/** Takes up a rehearsal that was just made. */
export async function load(next: Rehearsal): Promise<void> {
  pause();
  const [picture, wave] = await Promise.all([bytes(next.frames), bytes(next.sound)]);
  frames.value = decodeFrames(picture);
  buffer = null;
  const out = sound();
  if (out) {
    try {
      buffer = await out.decodeAudioData(wave);
    } catch {
      buffer = null;
    }
  }
  rehearsal.value = next;
  lit.value = stageState("light") !== "none";
  seek(0);
}

const clock = () => (source && context && context.state === "running" ? context.currentTime : performance.now() / 1000);

export function play(): void {
  const r = rehearsal.value;
  if (!r || playing.value) return;
  if (now.value >= r.lasts_s - 0.01) now.value = 0;
  playing.value = true;
  start();
  const tick = () => {
    if (!playing.peek()) return;
    now.value = Math.min(began.at + clock() - began.clock, r.lasts_s);
    frame.value = pixelsNow.value;
    if (now.value >= r.lasts_s) pause();
    else ticking = requestAnimationFrame(tick);
  };
  ticking = requestAnimationFrame(tick);
}

function start(): void {
  source?.stop();
  source = null;
  const out = sound();
  if (out && buffer && loud.value && out.state === "running") {
    source = out.createBufferSource();
    source.buffer = buffer;
    source.connect(out.destination);
    source.start(0, Math.min(now.value, buffer.duration));
  } else if (out && buffer && loud.value) {
    // The browser lets sound through a moment later: begin again with it.
    void out.resume().then(() => playing.peek() && !source && out.state === "running" && start(), () => undefined);
  }
  sounding.value = source !== null;
  began = { clock: clock(), at: now.value };
}

export function pause(): void {
  playing.value = false;
  cancelAnimationFrame(ticking);
  source?.stop();
  source = null;
}

/** Goes to a moment; what plays goes on from there. */
export function seek(seconds: number): void {
  const r = rehearsal.value;
  if (!r) return;
  now.value = Math.min(Math.max(seconds, 0), r.lasts_s);
  frame.value = pixelsNow.value;
  if (playing.value) start();
}

/** The room is left: the prop is shown in its plain colour again. */
export function leave(): void {
  pause();
  frame.value = null;
}
