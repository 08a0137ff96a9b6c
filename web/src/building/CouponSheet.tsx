// A printer's coupon, filled in where it is measured: line by line, each kept at once.

import { useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import { get } from "../api/client";
import type { CouponLine, CouponSheet as Sheet, Job } from "../api/types";
import { tell } from "../state/store";
import { had } from "./coupon";
import { measure } from "./writes";

const HOW = ["no", "press", "slides", "loose"];

export function CouponSheet({ job, printer }: { job: Job; printer: string }) {
  const sheet = useSignal<Sheet | null>(null);
  const fetched = () => get("/api/steps/coupon/{id}", printer).then((got) => (sheet.value = got), tell);
  if (!sheet.value) {
    return <p><button type="button" onClick={() => void fetched()}>Fill in its coupon</button></p>;
  }
  return (
    <div class="coupon-sheet" tabIndex={0} role="region" aria-label={`Coupon of ${printer}`}>
      <table>
        <thead><tr><th scope="col">What</th><th scope="col">Calipers show</th><th scope="col">It goes</th></tr></thead>
        <tbody>
          {sheet.value.lines.map((l) => <Line key={l.line} line={l} had={had(job, l.line)} keep={(v) => measure(job.name, "coupon", v)} />)}
        </tbody>
      </table>
    </div>
  );
}

function Line({ line, had: [reading, how], keep }: { line: CouponLine; had: [string, string]; keep: (value: string) => Promise<boolean> }) {
  const row = useRef<HTMLTableRowElement>(null);
  // What stands there now, even where it is not acknowledged yet. A comma parts what is filled in.
  const fill = () => {
    const now = (of: string) => (row.current?.querySelector<HTMLInputElement | HTMLSelectElement>(of)?.value ?? "").trim().replace(",", ".");
    void keep([line.line, now("input"), now("select")].join(","));
  };
  return (
    <tr ref={row} data-coupon={line.line}>
      <th scope="row">{line.title}<span class="drawn quiet small">drawn {line.drawn}</span></th>
      <td>
        {line.read && (
          <input type="text" class="narrow" aria-label={`Calipers show at ${line.title}`} value={reading} placeholder={line.drawn} onChange={fill} />
        )}
      </td>
      <td>
        {line.tried && (
          <select aria-label={`How it goes at ${line.title}`} value={how} onChange={fill}>
            <option value="">not tried</option>
            {HOW.map((h) => <option key={h} value={h}>{h === "no" ? "does not go in" : h}</option>)}
          </select>
        )}
      </td>
    </tr>
  );
}
