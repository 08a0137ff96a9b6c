// What this is, how far the work is, undo and redo, and what belongs to this device.

import { signal } from "@preact/signals";
import { WhyNumber } from "../findings/Why";
import { chosenUnits, theme, type Theme } from "../state/settings";
import { progress, project, redo, scene, state, summary, undo, units, work } from "../state/store";
import { band, length, time } from "../text/units";
import { shareOpen } from "./Share";

export type Room = "prop" | "rehearsal" | "building";
export const ROOMS: [Room, string][] = [["prop", "Prop"], ["rehearsal", "Rehearsal"], ["building", "Building"]];

function fromHash(): Room {
  const word = location.hash.slice(1);
  return ROOMS.find(([r]) => r === word)?.[0] ?? "prop";
}
export const room = signal<Room>(fromHash());
addEventListener("hashchange", () => (room.value = fromHash()));

export function Header() {
  const s = state.value;
  const projectOpen = s?.mode === "project";
  return (
    <header class="head">
      <div class="row head-row">
        <h1>{projectOpen ? (project.value?.name ?? s.folder) : "Lanthorn"}</h1>
        {projectOpen && (
          <nav aria-label="Rooms">
            {ROOMS.map(([r, title]) => (
              <a key={r} href={`#${r}`} aria-current={room.value === r ? "page" : undefined}>{title}</a>
            ))}
          </nav>
        )}
        <span class="grow" />
        {projectOpen && <UndoRedo />}
        <label class="row small">
          <span class="unseen">Units</span>
          <select value={units.value} onChange={(e) => (chosenUnits.value = e.currentTarget.value === "in" ? "in" : "mm")}>
            <option value="mm">mm</option>
            <option value="in">inch</option>
          </select>
        </label>
        <label class="row small">
          <span class="unseen">Theme</span>
          <select value={theme.value} onChange={(e) => (theme.value = e.currentTarget.value as Theme)}>
            <option value="system">as the device</option>
            <option value="light">light</option>
            <option value="dark">dark</option>
          </select>
        </label>
        {s?.sharing.here && <button type="button" onClick={() => (shareOpen.value = true)}>To a phone</button>}
      </div>
      {projectOpen && <Facts />}
    </header>
  );
}

function UndoRedo() {
  const s = state.value!;
  const last = s.undo[s.undo.length - 1];
  const next = s.redo[s.redo.length - 1];
  return (
    <span class="row">
      <button type="button" disabled={!last} title={last ? `Take back: ${last.what}` : "Nothing to take back"} onClick={() => void undo()}>Undo</button>
      <button type="button" disabled={!next} title={next ? `Again: ${next.what}` : "Nothing to do again"} onClick={() => void redo()}>Redo</button>
    </span>
  );
}

/** The prop in a few numbers, and what is being worked out. */
function Facts() {
  const s = state.value!;
  const sum = summary.value;
  const u = units.value;
  const done = progress.value;
  // In words, as shown, and by which name of the summary.
  const facts: [string, string, string][] = [];
  const span = scene.value?.span_mm;
  if (sum) facts.push(["long", length(sum.length_mm, u), "length_mm"]);
  else if (span) facts.push(["long", length(span[1] - span[0], u), "length_mm"]);
  if (sum?.mass_g) facts.push(["weighs", band({ ...sum.mass_g, unit: "g" }, u), "mass_g"]);
  if (sum) facts.push(["pieces", String(sum.pieces), "pieces"]);
  if (sum?.print_elapsed_s) facts.push(["printing", time(sum.print_elapsed_s.value), "print_elapsed_s"]);
  if (sum?.runs_h) facts.push(["runs", `${sum.runs_h.value.toFixed(1)}\u202fh`, "runs_h"]);
  if (sum?.cost) facts.push(["costs", `${Math.round(sum.cost.value)}\u202f${sum.cost.currency}`, "cost"]);
  if (sum?.finish) facts.push(["finished", sum.finish, "finish"]);
  return (
    <div class="row facts-row small">
      <ul class="facts-line" aria-label="In numbers">
        {facts.map(([word, v, of]) => (
          <li key={word}><span class="quiet">{word}</span> {v} <WhyNumber of={`summary.${of}`} name={`${word} ${v}`} shown={v} /></li>
        ))}
      </ul>
      <span class="grow" />
      <span class="work" data-working={s.working ? "yes" : "no"} data-build={s.build}>
        {s.working ? (
          <>
            <progress max={1} value={done?.done ?? 0} aria-label="Worked out so far" />
            <span class="doing" aria-live="off">{done?.doing ?? "beginning"}</span>
            <button type="button" class="small" onClick={() => void work("cancel")}>Stop</button>
          </>
        ) : s.stages.some((x) => x.state === "stale" || x.state === "waiting") && s.trouble.length === 0 ? (
          <>
            <span>stopped; results are older</span>
            <button type="button" class="small" onClick={() => void work("build")}>Go on</button>
          </>
        ) : (
          <span class="quiet">{s.trouble.length > 0 ? "waits for the project" : "✓ all worked out"}</span>
        )}
      </span>
    </div>
  );
}
