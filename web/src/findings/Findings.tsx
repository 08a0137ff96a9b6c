// Every check with its number: worst first, each leads to its place on the prop, each says why.

import { useSignal } from "@preact/signals";
import type { Finding, Verdict } from "../api/types";
import { choose, chosen, marked } from "../state/place";
import { findings, stale, stageState, units } from "../state/store";
import { band, length, value } from "../text/units";
import { why } from "./Why";

const WORDS: Record<Verdict, [sign: string, word: string, many: string]> = {
  fails: ["✕", "fails", "fail"],
  unsure: ["", "unsure", "unsure"],
  note: ["·", "note", "notes"],
  holds: ["✓", "holds", "hold"],
};
const ORDER: Verdict[] = ["fails", "unsure", "note", "holds"];

export function VerdictMark({ verdict }: { verdict: Verdict }) {
  const [sign, word] = WORDS[verdict];
  return <span class={`mark ${verdict}`}><span class="sign" aria-hidden="true">{sign}</span>{word}</span>;
}

export function Findings() {
  const shown = useSignal<Verdict | null>(null);
  const all = findings.value?.findings ?? [];
  const old = stale("all");
  const count = (v: Verdict) => all.filter((f) => f.verdict === v).length;
  // What troubles comes first; what holds is asked for.
  const worst = ORDER.find((v) => count(v) > 0) ?? "holds";
  const now = shown.value ?? worst;
  const list = all.filter((f) => f.verdict === now);
  return (
    <section class={`findings${old ? " stale" : ""}`} aria-labelledby="findings-title" id="findings">
      <div class="row">
        <h2 id="findings-title">Findings</h2>
        {old && <span class="small old-word">of an older project, until they are checked again</span>}
        {stageState("all") === "waiting" && <span class="small quiet">being checked</span>}
      </div>
      <div class="row verdicts" role="group" aria-label="Which findings">
        {ORDER.filter((v) => count(v) > 0).map((v) => (
          <button key={v} type="button" aria-pressed={now === v} onClick={() => (shown.value = v)}>
            <span aria-hidden="true">{WORDS[v][0] || "▨"}</span> {count(v)} {count(v) === 1 ? WORDS[v][1] : WORDS[v][2]}
          </button>
        ))}
      </div>
      <ol class="finding-list">
        {list.map((f, i) => <One key={`${f.id} ${f.subject} ${i}`} finding={f} />)}
      </ol>
    </section>
  );
}

function One({ finding: f }: { finding: Finding }) {
  const u = units.value;
  const here = f.station_mm !== null && marked.value !== null && marked.value[0] === f.station_mm[0] && marked.value[1] === f.station_mm[1];
  const picked = here && chosen.value.join() === f.targets.join();
  const limit = f.limit;
  return (
    <li class={`finding${picked ? " chosen" : ""}`}>
      <button type="button" class="finding-place" aria-pressed={picked} onClick={() => choose(f.station_mm, f.targets)}>
        <VerdictMark verdict={f.verdict} /> <b>{f.subject}</b>
        {f.station_mm && <span class="small"> at {length(f.station_mm[0], u)}{f.station_mm[1] - f.station_mm[0] > 1 ? ` to ${length(f.station_mm[1], u)}` : ""}</span>}
      </button>
      <p>{f.message}</p>
      {f.remedy && <p class="remedy">→ {f.remedy}</p>}
      <p class="small quiet">
        {band(f.measured, u)}
        {limit && <>; {limit.min !== null && `at least ${value(limit.min, limit.unit, u)}`}{limit.min !== null && limit.max !== null && ", "}{limit.max !== null && `at most ${value(limit.max, limit.unit, u)}`}</>}
        {" "}
        <button type="button" class="plain small" onClick={() => why(f)}>why<span class="unseen">: {f.subject}, {f.id.replace(/_/g, " ")}</span></button>
      </p>
    </li>
  );
}
