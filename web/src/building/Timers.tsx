// Timers that run: the program's clock counts, so that every page says the same.

import { signal } from "@preact/signals";
import { get } from "../api/client";
import type { Job } from "../api/types";
import { time as duration } from "../text/units";
import { remove } from "./writes";

/** Seconds since 1970 by the program's clock. */
const clock = signal(Date.now() / 1000);
let ahead = 0;

/** Keeps the clock while the room is open; gives what ends it. */
export function keepTime(): () => void {
  get("/api/time").then((t) => (ahead = t.now - Date.now() / 1000), () => undefined);
  const each = setInterval(() => (clock.value = Date.now() / 1000 + ahead), 1000);
  return () => clearInterval(each);
}

export function Timers({ jobs }: { jobs: readonly Job[] }) {
  const all = jobs.flatMap((j) => j.timers.map((t) => ({ job: j.name, ...t }))).sort((a, b) => a.ends - b.ends);
  if (all.length === 0) return null;
  return (
    <ul class="timers" aria-label="Timers">
      {all.map((t) => {
        const left = t.ends - clock.value;
        return (
          <li key={t.id} class={left <= 0 ? "over" : ""}>
            <b>{t.label}</b> <span>{left > 0 ? `${clockFace(left)} left` : `✓ over since ${duration(-left)}`}</span>
            <span class="quiet small"> {t.job}</span>
            <button type="button" class="plain small" onClick={() => void remove("timer", t.id)}>remove<span class="unseen"> timer {t.label} of {t.job}</span></button>
          </li>
        );
      })}
    </ul>
  );
}

function clockFace(seconds: number): string {
  const s = Math.ceil(seconds);
  const two = (v: number) => String(v).padStart(2, "0");
  return s >= 3600 ? `${Math.floor(s / 3600)}:${two(Math.floor((s % 3600) / 60))}:${two(s % 60)}` : `${Math.floor(s / 60)}:${two(s % 60)}`;
}
