// Building at the bench: the steps of the plan, ticked as they are done, by as many people as there are.

import { useComputed, useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import type { Job } from "../api/types";
import { myName } from "../state/settings";
import { replan, stale, steps } from "../state/store";
import { JobRow } from "./JobRow";
import { Timers, keepTime } from "./Timers";
import { learn, learnt, unkept } from "./writes";

export function Building() {
  const s = steps.value;
  const only = useSignal<"open" | "all">("open");
  useEffect(keepTime, []);
  const done = useComputed(() => (steps.value?.jobs ?? []).filter((j) => j.state === "done").length);
  if (!s) return <p class="wait">The steps are being worked out.</p>;
  const shown = only.value === "all" ? s.jobs : s.jobs.filter((j) => j.state !== "done" || unkept.value.has(j.name));
  const days = byDay(shown);
  const measured = s.jobs.some((j) => j.values.some((v) => v.kind === "print-time" || v.kind === "coupon"));
  return (
    <section class="building" aria-labelledby="building-title">
      <div class="row">
        <h2 id="building-title">Building</h2>
        <span class="grow"><b data-done={done.value}>{done.value}</b> of {s.jobs.length} steps done{stale("all") ? "; the plan is being worked out again" : ""}</span>
        <label class="row small">Your name
          <input type="text" autocomplete="nickname" maxLength={40} value={myName.value} onInput={(e) => (myName.value = e.currentTarget.value)} />
        </label>
      </div>
      <Timers jobs={s.jobs} />
      <div class="row" role="group" aria-label="Which steps">
        <button type="button" aria-pressed={only.value === "open"} onClick={() => (only.value = "open")}>Still to do</button>
        <button type="button" aria-pressed={only.value === "all"} onClick={() => (only.value = "all")}>All steps</button>
        <span class="grow" />
        {s.planned && <button type="button" onClick={() => void replan()}>Plan the rest again</button>}
        {measured && <button type="button" onClick={() => void learn()}>Learn from what was measured</button>}
      </div>
      {learnt.value.length > 0 && <ul class="notice">{learnt.value.map((l) => <li key={l}>{l}</li>)}</ul>}
      {s.jobs.length === 0 && <p class="wait">There are no steps yet: they come with the pieces.</p>}
      {days.map(([day, jobs]) => (
        <section key={day} class="day" aria-label={day || "Steps"}>
          {day && <h3>{day}</h3>}
          <ul class="jobs">
            {jobs.map((j) => <JobRow key={j.name} job={j} />)}
          </ul>
        </section>
      ))}
      {shown.length === 0 && s.jobs.length > 0 && <p>✓ Everything is done.</p>}
      {s.gone.length > 0 && (
        <details>
          <summary>{s.gone.length} ticked steps that this plan no longer has</summary>
          <ul>{s.gone.map((g) => <li key={g.name}>{g.name}: {g.state} {g.ticked_at}</li>)}</ul>
        </details>
      )}
    </section>
  );
}

/** Jobs by the day they begin, in the plan's order; all together where nothing is planned. */
function byDay(jobs: readonly Job[]): [string, Job[]][] {
  const days = new Map<string, Job[]>();
  for (const job of jobs) {
    const day = job.from?.slice(0, 10) ?? "";
    const title = day ? new Date(`${day}T12:00:00`).toLocaleDateString("en-GB", { weekday: "long", day: "numeric", month: "long" }) : "";
    days.set(title, [...(days.get(title) ?? []), job]);
  }
  return [...days];
}
