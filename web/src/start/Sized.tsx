// What a file does not say: how large the prop is, which end is the tip, what lights up, who carries it.

import { useSignal } from "@preact/signals";
import { send } from "../api/client";
import type { StartMesh } from "../api/types";
import { FIGURE } from "../panel/Figure";
import { tell, units } from "../state/store";
import { length, parseLength } from "../text/units";
import { Picture } from "./Picture";

export function Sized({ mesh, figure_mm, again }: { mesh: StartMesh; figure_mm: number; again: () => void }) {
  const name = useSignal("");
  const size = useSignal(`${Math.round((mesh.guesses[0]?.length_mm ?? 1500) / 10)} cm`);
  const wearer = useSignal("");
  const tip = useSignal(mesh.tip);
  const lit = useSignal<readonly string[]>(mesh.bodies.filter((b) => b.role === "lit").map((b) => b.name));
  const busy = useSignal(false);
  const tall = parseLength(wearer.value, "mm") ?? figure_mm;
  const own = parseLength(size.value, units.value);

  const make = async () => {
    busy.value = true;
    const said = wearer.value.trim();
    const body = { upload: mesh.upload, name: name.value.trim(), length: size.value.trim(), tip: tip.value, axis: mesh.axis, lit: [...lit.value] };
    try {
      await send("/api/start/project", said ? { ...body, wearer: said } : body);
    } catch (e) {
      tell(e);
    } finally {
      busy.value = false;
    }
  };
  return (
    <form
      class="sized"
      onSubmit={(e) => {
        e.preventDefault();
        void make();
      }}
    >
      {mesh.faults.length > 0 && (
        <div class="notice">
          <p>The shape has faults that will be mended, or told where they cannot:</p>
          <ul>{mesh.faults.map((f) => <li key={f}>{f}</li>)}</ul>
        </div>
      )}
      <div class="field"><label for="start-name">Its name</label><div class="field-input"><input id="start-name" required maxLength={60} value={name.value} placeholder="Sea axe" onInput={(e) => (name.value = e.currentTarget.value)} /></div></div>
      <fieldset>
        <legend>How long is it?</legend>
        <div class="guesses">
          {mesh.guesses.map((g) => (
            <label key={g.unit} class="guess">
              <Beside prop_mm={g.length_mm} figure_mm={tall} />
              <span class="row"><input type="radio" name="guess" checked={own !== null && Math.abs(own - g.length_mm) < 1} onChange={() => (size.value = `${Number((g.length_mm / 10).toFixed(1))} cm`)} /> {length(g.length_mm, units.value)}</span>
              <span class="small quiet">{g.words}</span>
            </label>
          ))}
        </div>
        <div class="field"><label for="start-length">or say so</label><div class="field-input"><input id="start-length" required value={size.value} onInput={(e) => (size.value = e.currentTarget.value)} /></div></div>
      </fieldset>
      <fieldset>
        <legend>Which end is the tip?</legend>
        <Picture mesh={mesh} turned={tip.value !== mesh.tip} words={`The shape from its butt, left, to its tip, right, where ${end(mesh.axis, tip.value)}`} />
        <p class="small quiet">It lies along {mesh.axis}: {mesh.axis_reason}. The tip is taken to be where {end(mesh.axis, mesh.tip)}: {mesh.tip_reason}.</p>
        <div class="row">
          {(["high", "low"] as const).map((t) => (
            <label key={t} class="row"><input type="radio" name="tip" checked={tip.value === t} onChange={() => (tip.value = t)} /> where {end(mesh.axis, t)}</label>
          ))}
        </div>
      </fieldset>
      <fieldset>
        <legend>What lights up?</legend>
        {mesh.bodies.map((b) => (
          <label key={b.name} class="row">
            <input type="checkbox" checked={lit.value.includes(b.name)} onChange={(e) => (lit.value = e.currentTarget.checked ? [...lit.value, b.name] : lit.value.filter((n) => n !== b.name))} />
            {b.name} <span class="quiet small">{b.triangles} triangles</span>
          </label>
        ))}
      </fieldset>
      <div class="field"><label for="start-wearer">Who carries it is tall</label><div class="field-input"><input id="start-wearer" value={wearer.value} placeholder={`${Math.round(figure_mm / 10)} cm`} onInput={(e) => (wearer.value = e.currentTarget.value)} /></div></div>
      <div class="row">
        <button type="submit" class="main" disabled={busy.value || name.value.trim() === ""}>{busy.value ? "Being made" : "Make the project"}</button>
        <button type="button" onClick={again}>Another file</button>
      </div>
    </form>
  );
}

const end = (axis: StartMesh["axis"], tip: StartMesh["tip"]) => `${axis} is ${tip === "high" ? "greatest" : "least"}`;

/** A length beside a figure, to one scale for all guesses that are near a person's size. */
function Beside({ prop_mm, figure_mm }: { prop_mm: number; figure_mm: number }) {
  const most = Math.max(figure_mm, Math.min(prop_mm, 3 * figure_mm));
  const scale = 96 / most;
  return (
    <svg width="110" height="112" viewBox="0 0 110 112" role="img" aria-label={prop_mm > 3 * figure_mm ? "Far larger than a figure" : "Beside a figure"}>
      <line class="thin" x1="4" x2="106" y1="104" y2="104" />
      <path class="person" transform={`translate(38 104) scale(${(figure_mm * scale) / 100})`} d={FIGURE} />
      <rect class="prop-bar" x="76" width="6" y={Math.max(104 - prop_mm * scale, 2)} height={Math.max(Math.min(prop_mm * scale, 102), 1)} />
    </svg>
  );
}
