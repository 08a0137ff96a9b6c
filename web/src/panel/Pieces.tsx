// The pieces by number, and the drawings: the same prop as lists.

import { choose, chosen } from "../state/place";
import { drawings, scene, stale, units } from "../state/store";
import { band, length, time } from "../text/units";

/** Shown in place of what is being worked out. */
const WAITED_FOR = "…";

export function Pieces() {
  const s = scene.value;
  const u = units.value;
  const sheets = drawings.value?.drawings ?? [];
  if (!s || s.pieces.length === 0) return null;
  return (
    <section class={`pieces${stale("geometry") ? " stale" : ""}`} aria-labelledby="pieces-title">
      <h2 id="pieces-title">Pieces</h2>
      <div class="wide-table" tabIndex={0} role="region" aria-label="Table of pieces">
        <table>
          <thead><tr><th scope="col">Piece</th><th scope="col">Stations</th><th scope="col">Printer</th><th scope="col">Mass</th><th scope="col">Printing</th></tr></thead>
          <tbody>
            {s.pieces.map((p) => (
              <tr key={p.id} class={chosen.value.includes(p.id) ? "chosen" : ""}>
                <th scope="row"><button type="button" class="plain" onClick={() => choose(p.station_mm, [p.id])}>{p.name}</button></th>
                <td>{length(p.station_mm[0], u)} to {length(p.station_mm[1], u)}</td>
                <td>{p.print ? `${p.print.printer}, ${p.print.pose}` : WAITED_FOR}</td>
                <td>{p.print ? band({ ...p.print.mass_g, unit: "g" }, u) : WAITED_FOR}</td>
                <td>{p.print ? time(p.print.time_s.value) : WAITED_FOR}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {s.fittings.some((f) => f.kind === "part") && (
        <>
          <h3>Inside</h3>
          <ul class="inside-list">
            {s.fittings.filter((f) => f.kind === "part").map((f) => (
              <li key={f.id}><button type="button" class="plain" onClick={() => choose(f.station_mm, [f.id])}>{f.name}</button> <span class="quiet small">{f.title} at {length(f.station_mm[0], u)}</span></li>
            ))}
          </ul>
        </>
      )}
      {sheets.length > 0 && (
        <details>
          <summary>Drawings</summary>
          <ul class="inside-list">
            {sheets.map((d) => <li key={d.name}><a href={`/api/drawings/${encodeURIComponent(d.name)}`} target="_blank" rel="noreferrer">{d.title}</a></li>)}
          </ul>
        </details>
      )}
    </section>
  );
}
