// Rehearsing: a motion made or recorded, and what the prop does with it, on one axis of time.

import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { send } from "../api/client";
import type { RehearsalAsked } from "../api/types";
import { project, tell } from "../state/store";
import { LivePad } from "./LivePad";
import { end, live } from "./live";
import { leave, load, loud, now, pause, play, playing, rehearsal, seek } from "./player";
import { StripChart } from "./StripChart";
import { StripView } from "./StripView";

/** Acts that a motion is made of, as the program knows them. */
const ACTS = ["press", "swing", "strike", "parry", "tip-up", "tip-down", "level", "twist", "walk 10 s", "idle 10 s", "rest 5 s"];

export function Rehearsing() {
  const file = /^use\s*=\s*"(.*)"\s*$/m.exec(project.value?.text ?? "")?.[1];
  const acts = useSignal(file ?? "press, walk 5 s, swing, strike, swing");
  const seed = useSignal(1);
  const busy = useSignal(false);
  const none = useSignal("");

  useEffect(() => () => {
    end();
    leave();
  }, []);

  const make = async (body: RehearsalAsked) => {
    busy.value = true;
    none.value = "";
    end();
    try {
      await load(await send("/api/rehearsal", body));
    } catch (e) {
      tell(e);
    } finally {
      busy.value = false;
    }
  };
  const r = rehearsal.value;
  return (
    <section class="rehearsing" aria-labelledby="rehearsal-title">
      <h2 id="rehearsal-title" class="unseen">Rehearsal</h2>
      <form
        class="acts"
        onSubmit={(e) => {
          e.preventDefault();
          void make({ generate: acts.value, seed: seed.value });
        }}
      >
        <label for="acts">What is done with it</label>
        <textarea id="acts" rows={2} value={acts.value} onInput={(e) => (acts.value = e.currentTarget.value)} />
        <div class="row" role="group" aria-label="Add an act">
          {ACTS.map((a) => (
            <button key={a} type="button" class="small" onClick={() => (acts.value = acts.value.trim() ? `${acts.value.trim()}, ${a}` : a)}>
              <span class="unseen">add </span>{a}
            </button>
          ))}
        </div>
        <div class="row">
          <button class="main" type="submit" disabled={busy.value}>{busy.value ? "Rehearsing" : "Rehearse"}</button>
          <label class="row small">Person
            <input class="narrow" type="number" min={1} max={99} value={seed.value} onInput={(e) => (seed.value = Math.max(1, Number(e.currentTarget.value) || 1))} />
          </label>
          <label class="row small">or a recording (CSV)
            <input
              type="file"
              accept=".csv,text/csv,text/plain"
              onChange={(e) => {
                const chosen = e.currentTarget.files?.[0];
                if (chosen) void chosen.text().then((text) => make({ recording: text }));
              }}
            />
          </label>
        </div>
      </form>
      <StripView />
      {r && !live.value && (
        <>
          <div class="row transport" role="group" aria-label="In time">
            <button type="button" class="main" onClick={() => (playing.value ? pause() : play())}>{playing.value ? "Pause" : "Play"}</button>
            <button type="button" onClick={() => seek(0)}>From the start</button>
            <label class="row small"><input type="checkbox" checked={loud.value} onChange={(e) => {
              loud.value = e.currentTarget.checked;
              seek(now.value);
            }} /> sound</label>
            <span data-now={now.value.toFixed(2)}>{now.value.toFixed(2)} of {r.lasts_s.toFixed(1)} s</span>
          </div>
          <StripChart rehearsal={r} />
          {r.notes.length > 0 && <ul class="small quiet">{r.notes.map((n) => <li key={n}>{n}</li>)}</ul>}
        </>
      )}
      <LivePad />
    </section>
  );
}
