// The 'why' behind a number: what it is, its equation with the numbers that went into it, and by whose word it is so.

import { signal } from "@preact/signals";
import { get } from "../api/client";
import type { Finding, Given, Why as WhyOf } from "../api/types";
import { Dialog } from "../parts/Dialog";
import { tell, units } from "../state/store";
import { band, value } from "../text/units";

interface Asked {
  title: string;
  /** The number as it is shown, where no finding tells it; empty where none is shown. */
  shown: string;
  finding?: Finding;
  said: WhyOf | null;
}
const asked = signal<Asked | null>(null);

function ask(what: Asked, id: string): void {
  asked.value = what;
  get("/api/why/{id}", id).then(
    (said) => {
      if (asked.value === what) asked.value = { ...what, said };
    },
    tell,
  );
}

/** Opens the reasons of a finding. */
export function why(finding: Finding): void {
  ask({ title: finding.subject, shown: "", finding, said: null }, `${finding.id}.${finding.nth}`);
}

/** The control beside a number of the summary or at a track: `name` is what it is called in words. */
export function WhyNumber({ of, name, shown }: { of: `${"summary" | "track"}.${string}`; name: string; shown: string }) {
  return (
    <button type="button" class="plain small why" aria-label={`why: ${name}`} onClick={() => ask({ title: name, shown, said: null }, of)}>
      why
    </button>
  );
}

export function WhyDialog() {
  const now = asked.value;
  if (!now) return null;
  const { finding: f, said } = now;
  const u = units.value;
  return (
    <Dialog title={`Why: ${now.title}`} close={() => (asked.value = null)}>
      {f && <p>{f.message}</p>}
      <dl class="facts">
        {now.shown && <><dt>Now</dt><dd>{now.shown}</dd></>}
        {f && <><dt>Measured</dt><dd>{band(f.measured, u)}</dd></>}
        {f?.limit && (
          <>
            <dt>Limit</dt>
            <dd>
              {f.limit.min !== null && `at least ${value(f.limit.min, f.limit.unit, u)} `}
              {f.limit.max !== null && `at most ${value(f.limit.max, f.limit.unit, u)}`}
              <br /><span class="quiet">{f.limit.source}</span>
            </dd>
          </>
        )}
        {said && <><dt>{f ? "What is checked" : "What it is"}</dt><dd>{said.what}</dd></>}
        {said?.equation && <><dt>Equation</dt><dd class="equation">{said.equation}</dd></>}
        {said && said.inputs.length > 0 && <><dt>Inputs</dt><dd><Inputs all={said.inputs} /></dd></>}
        {said?.how && <><dt>How</dt><dd class="how">{said.how}</dd></>}
        {said?.from && <><dt>From</dt><dd>{said.from}</dd></>}
        {said?.source && <><dt>Source</dt><dd>{said.source}</dd></>}
        {said?.more && <><dt>More</dt><dd>{said.more}</dd></>}
        {f?.remedy && <><dt>What to do</dt><dd>{f.remedy}</dd></>}
      </dl>
      {!said && <p class="quiet">It is being asked for.</p>}
    </Dialog>
  );
}

/** Letter, name, value and who says it, one under the other. */
function Inputs({ all }: { all: Given[] }) {
  return (
    <ul class="inputs">
      {all.map((i, k) => (
        <li key={k}>
          {i.symbol && <><i class="letter">{i.symbol}</i> </>}
          {i.name}: <b>{value(i.value, i.unit, units.value)}</b> <span class="small quiet">{i.from}</span>
        </li>
      ))}
    </ul>
  );
}
