// What is wrong with the project or the shape, with its place; and what was refused. What was last good stays on show.

import { connected, conflict, project, refused, state } from "../state/store";
import { Dialog } from "../parts/Dialog";
import type { Trouble as TroubleOf } from "../api/types";

const WHAT: Record<TroubleOf["kind"], string> = {
  file: "The project file cannot be read",
  toml: "The project file has a mistake",
  project: "The project file has a mistake",
  learnt: "What was learnt has a mistake",
  mesh: "The shape cannot be read",
  beside: "A file beside the project cannot be read",
  shape: "The shape cannot be made into pieces",
};

export function Trouble() {
  const trouble = state.value?.trouble ?? [];
  const said = refused.value;
  return (
    <div aria-live="polite" class="troubles">
      {!connected.value && (
        <div class="notice trouble" role="alert">
          <p><span class="mark fails">✕ No answer</span> The program does not answer. The page goes on by itself as soon as it does; nothing that was acknowledged is lost.</p>
        </div>
      )}
      {trouble.length > 0 && (
        <div class="notice trouble" role="alert" data-trouble={trouble[0]!.kind}>
          {trouble.map((t, i) => <One key={i} trouble={t} />)}
          <p class="small">What is shown below is the last that could be worked out. The page goes on by itself when this is mended.</p>
        </div>
      )}
      {said && (
        <div class="notice trouble" role="alert">
          <div class="row">
            <p class="grow"><span class="mark fails">✕ Not done</span> {said.message} {said.remedy}</p>
            <button type="button" onClick={() => (refused.value = null)}>Put away</button>
          </div>
          {said.trouble.map((t, i) => <One key={i} trouble={t} />)}
        </div>
      )}
    </div>
  );
}

function One({ trouble: t }: { trouble: TroubleOf }) {
  const column = Math.max((t.column ?? 1) - 1, 0);
  return (
    <div class="one-trouble">
      <p>
        <span class="mark fails">✕ {WHAT[t.kind]}</span>
        {t.line !== null && <> in {t.file ?? state.value?.file}, line {t.line}{t.column !== null && <>, column {t.column}</>}</>}
        {t.key !== null && <> (<code>{t.key}</code>)</>}
        {": "}{t.message}
      </p>
      {t.source !== null && t.source !== "" && (
        <pre><code>{`${t.line ?? ""}  ${t.source}\n${" ".repeat(String(t.line ?? "").length + 2 + column)}${"^".repeat(Math.max(t.length ?? 1, 1))}`}</code></pre>
      )}
      {t.help && <p>→ {t.help}</p>}
    </div>
  );
}

/** A change that meets another one: both are laid before the maker. */
export function ConflictDialog() {
  const now = conflict.value;
  if (!now) return null;
  const shown = (v: string | null) => (v === null ? <i>not there</i> : <code>{v.length > 400 ? `${v.slice(0, 400)} …` : v}</code>);
  return (
    <Dialog title="Changed by somebody else meanwhile" close={() => (conflict.value = null)}>
      <p>What you changed was changed in the project file too. Nothing is lost; say which holds.</p>
      {now.conflicts.length > 0 ? (
        <div class="wide-table" tabIndex={0} role="region" aria-label="Both values">
          <table>
            <thead><tr><th scope="col">Value</th><th scope="col">was</th><th scope="col">is now</th><th scope="col">yours</th></tr></thead>
            <tbody>
              {now.conflicts.map((c) => (
                <tr key={c.key}><th scope="row">{c.key}</th><td>{shown(c.base)}</td><td>{shown(c.theirs)}</td><td>{shown(c.yours)}</td></tr>
              ))}
            </tbody>
          </table>
        </div>
      ) : (
        <p>The file of {project.value?.name ?? "this project"} was edited outside.</p>
      )}
      <div class="row">
        <button type="button" class="main" onClick={() => (conflict.value = null)}>Keep what is there</button>
        <button type="button" onClick={() => void now.insist()}>Put mine in</button>
      </div>
    </Dialog>
  );
}
