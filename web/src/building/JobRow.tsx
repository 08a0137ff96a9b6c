// One step: its tick, and what was measured, seen and timed at it.

import { useSignal } from "@preact/signals";
import { useId } from "preact/hooks";
import type { Job } from "../api/types";
import { time as duration } from "../text/units";
import { CouponSheet } from "./CouponSheet";
import { measure, photo, remove, tick, time, unkept } from "./writes";

const KINDS: Record<string, [title: string, example: string]> = {
  "print-time": ["printed in", "11 h 20 min"],
  "glue-time": ["glue held for", "20 min"],
  volt: ["meter, V", "4.1 V"],
  ampere: ["meter, A", "0.8 A"],
  length: ["length", "2.1 mm"],
  mass: ["weight", "61 g"],
  note: ["note", "what you saw"],
};

export function JobRow({ job }: { job: Job }) {
  const id = useId();
  const waiting = unkept.value.get(job.name);
  const state = waiting ?? job.state;
  const had = job.values.length + job.photos.length + job.timers.length;
  return (
    <li class={`job ${state}`} data-job={job.name} data-state={job.state} data-kept={waiting === undefined ? "yes" : "no"}>
      <div class="job-head">
        <input id={id} type="checkbox" checked={state === "done"} onChange={(e) => void tick(job.name, e.currentTarget.checked ? "done" : "open")} />
        <label for={id} class="grow job-name">{job.name}</label>
        {waiting !== undefined && <span class="small mark unsure"><span class="sign" aria-hidden="true" />not kept yet</span>}
        {job.critical && state !== "done" && <span class="small tag" title="Put off, everything ends later">on the way to the finish</span>}
      </div>
      <div class="job-more small">
        <span class="quiet">
          {job.trade}
          {job.from && `, ${job.from.slice(11)} to ${job.to?.slice(0, 10) === job.from.slice(0, 10) ? job.to.slice(11) : job.to}`}
          {job.hands_min > 0 && `, ${duration(job.hands_min * 60)} of your hands`}
          {job.state !== "open" && job.ticked_at && `; ${job.state} ${job.ticked_at}${job.ticked_by ? ` by ${job.ticked_by}` : ""}`}
        </span>
        {state === "open" && <button type="button" class="small" onClick={() => void tick(job.name, "begun")}>Begin<span class="unseen"> {job.name}</span></button>}
        {state === "begun" && <span class="tag">begun</span>}
        <details class="job-details">
          <summary>{had > 0 ? `${had} written down` : "Write down"}<span class="unseen"> at {job.name}</span></summary>
          <Details job={job} />
        </details>
      </div>
    </li>
  );
}

function Details({ job }: { job: Job }) {
  const written = job.values.filter((v) => v.kind !== "coupon");
  const kinds = [...job.asks, ...Object.keys(KINDS).filter((k) => !job.asks.includes(k))];
  const kind = useSignal(kinds[0] ?? "note");
  const value = useSignal("");
  const label = useSignal("cures");
  const minutes = useSignal(30);
  const id = useId();
  return (
    <div class="job-inside">
      {job.after.length > 0 && <p class="quiet">After: {job.after.join("; ")}</p>}
      {job.coupon !== null && <CouponSheet job={job} printer={job.coupon} />}
      <ul class="written">
        {written.map((v) => (
          <li key={v.id} data-value={v.id}>
            {KINDS[v.kind]?.[0] ?? v.kind}: <b>{v.value}</b> <span class="quiet">{v.at}{v.by && `, ${v.by}`}</span>{" "}
            <button type="button" class="plain" onClick={() => void remove("value", v.id)}>remove<span class="unseen"> {v.value}</span></button>
          </li>
        ))}
      </ul>
      <form
        class="row"
        onSubmit={(e) => {
          e.preventDefault();
          void measure(job.name, kind.value, value.value).then((kept) => kept && (value.value = ""));
        }}
      >
        <label class="unseen" for={`${id}-kind`}>What was measured</label>
        <select id={`${id}-kind`} value={kind.value} onChange={(e) => (kind.value = e.currentTarget.value)}>
          {kinds.map((k) => <option key={k} value={k}>{KINDS[k]?.[0] ?? k}</option>)}
        </select>
        <label class="unseen" for={`${id}-value`}>Value with its unit</label>
        <input id={`${id}-value`} type="text" value={value.value} placeholder={KINDS[kind.value]?.[1] ?? ""} onInput={(e) => (value.value = e.currentTarget.value)} />
        <button type="submit" disabled={value.value.trim() === ""}>Keep</button>
      </form>
      <form
        class="row"
        onSubmit={(e) => {
          e.preventDefault();
          void time(job.name, label.value.trim() || "timer", minutes.value);
        }}
      >
        <label class="row">Timer <input type="text" class="narrow" value={label.value} onInput={(e) => (label.value = e.currentTarget.value)} /></label>
        <label class="row"><input type="number" class="narrow" min={1} max={20160} value={minutes.value} onInput={(e) => (minutes.value = Math.max(1, Number(e.currentTarget.value) || 1))} /> min</label>
        <button type="submit">Start timer</button>
      </form>
      <label class="row">Photo
        <input
          type="file"
          accept="image/jpeg,image/png,image/webp"
          onChange={(e) => {
            const input = e.currentTarget;
            const file = input.files?.[0];
            if (file) void photo(job.name, file).then(() => (input.value = ""));
          }}
        />
      </label>
      <ul class="photos">
        {job.photos.map((p) => (
          <li key={p.id}>
            <a href={`/api/steps/photo/${p.id}`} target="_blank" rel="noreferrer"><img src={`/api/steps/photo/${p.id}`} alt={`Photo of ${job.name}, ${p.at}`} loading="lazy" width={120} height={90} /></a>
            <button type="button" class="plain" onClick={() => void remove("photo", p.id)}>remove<span class="unseen"> photo of {p.at}</span></button>
          </li>
        ))}
      </ul>
    </div>
  );
}
