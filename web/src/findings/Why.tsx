// The 'why' behind a number: what is checked, how it is worked out, from what, and where that comes from.

import { signal } from "@preact/signals";
import { get } from "../api/client";
import type { Finding, Why as WhyOf } from "../api/types";
import { Dialog } from "../parts/Dialog";
import { tell, units } from "../state/store";
import { band, value } from "../text/units";

const asked = signal<{ finding: Finding; said: WhyOf | null } | null>(null);

/** Opens the reasons of a finding. */
export function why(finding: Finding): void {
  asked.value = { finding, said: null };
  get("/api/why/{id}", finding.id).then(
    (said) => {
      if (asked.value?.finding === finding) asked.value = { finding, said };
    },
    tell,
  );
}

export function WhyDialog() {
  const now = asked.value;
  if (!now) return null;
  const { finding: f, said } = now;
  const u = units.value;
  return (
    <Dialog title={`Why: ${f.subject}`} close={() => (asked.value = null)}>
      <p>{f.message}</p>
      <dl class="facts">
        <dt>Measured</dt><dd>{band(f.measured, u)}</dd>
        {f.limit && (
          <>
            <dt>Limit</dt>
            <dd>
              {f.limit.min !== null && `at least ${value(f.limit.min, f.limit.unit, u)} `}
              {f.limit.max !== null && `at most ${value(f.limit.max, f.limit.unit, u)}`}
              <br /><span class="quiet">{f.limit.source}</span>
            </dd>
          </>
        )}
        {said && <><dt>What is checked</dt><dd>{said.what}</dd></>}
        {said?.how && <><dt>How</dt><dd class="how">{said.how}</dd></>}
        {said?.inputs && <><dt>From</dt><dd>{said.inputs}</dd></>}
        {said?.source && <><dt>Source</dt><dd>{said.source}</dd></>}
        {said?.more && <><dt>More</dt><dd>{said.more}</dd></>}
        {f.remedy && <><dt>What to do</dt><dd>{f.remedy}</dd></>}
      </dl>
      {!said && <p class="quiet">The guide's words are being fetched.</p>}
    </Dialog>
  );
}
