// Writing down what was done: sent again under the same name until the program says that it is kept.

import { signal } from "@preact/signals";
import { Refusal, get, request, send, upload } from "../api/client";
import type { JobState, Posts, Removable } from "../api/types";
import { myName } from "../state/settings";
import { connected, steps, tell } from "../state/store";

/** Ticks that were not acknowledged yet, by job. */
export const unkept = signal<ReadonlyMap<string, JobState>>(new Map());

const AGAIN_MS = 1000;

/** Sends one write until it is acknowledged or refused; says whether it is kept. */
async function write(act: () => Promise<{ version: number }>): Promise<boolean> {
  for (;;) {
    try {
      await act();
      connected.value = true;
      steps.value = await get("/api/steps");
      return true;
    } catch (e) {
      if (!(e instanceof Refusal)) throw e;
      // Gone or busy: the same write again, which is done once however often it comes.
      if (e.status !== 0 && e.status !== 503 && e.status !== 408) {
        tell(e);
        return false;
      }
      connected.value = e.status !== 0;
      await new Promise((r) => setTimeout(r, AGAIN_MS));
    }
  }
}

/** Paths that write one entry. */
type Entries = { [P in keyof Posts]: Posts[P]["body"] extends { request: string; by: string } ? P : never }[keyof Posts];

function put<P extends Entries>(path: P, body: Omit<Posts[P]["body"], "request" | "by">): Promise<boolean> {
  const whole = { request: request(), by: myName.value, ...body } as Posts[P]["body"];
  return write(() => send(path, whole) as Promise<{ version: number }>);
}

/** The clock on the wall here, as the plan writes it. */
function wallClock(now: Date): string {
  const two = (v: number) => String(v).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())} ${two(now.getHours())}:${two(now.getMinutes())}`;
}

export async function tick(job: string, state: JobState): Promise<void> {
  unkept.value = new Map(unkept.value).set(job, state);
  await put("/api/steps/tick", { job, state, local: wallClock(new Date()) });
  const rest = new Map(unkept.value);
  // A later tick of the same job waits for its own answer.
  if (rest.get(job) === state) rest.delete(job);
  unkept.value = rest;
}

export const measure = (job: string, kind: string, value: string): Promise<boolean> => put("/api/steps/value", { job, kind, value });
export const time = (job: string, label: string, minutes: number): Promise<boolean> => put("/api/steps/timer", { job, label, minutes });
export const remove = (what: Removable, id: number): Promise<boolean> => put("/api/steps/remove", { what, id });

export function photo(job: string, file: File): Promise<boolean> {
  const words = new URLSearchParams({ job, by: myName.value, request: request() });
  return write(() => upload(`/api/steps/photo?${words.toString()}`, file));
}

/** What measured print times say, put into the project's own readings. */
export const learnt = signal<string[]>([]);
export async function learn(): Promise<void> {
  try {
    learnt.value = (await send("/api/steps/learn", {})).learnt;
  } catch (e) {
    tell(e);
  }
}
