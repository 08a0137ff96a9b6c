// The project file itself, for what has no place among the values.

import { useSignal } from "@preact/signals";
import { project, state, putText } from "../state/store";

export function ProjectText() {
  const draft = useSignal<{ base: string; text: string } | null>(null);
  const now = project.value;
  if (!now) return null;
  const text = draft.value?.text ?? now.text;
  const behind = draft.value !== null && draft.value.base !== now.revision;
  return (
    <details class="project-text">
      <summary>The project file, {state.value?.file}</summary>
      <label class="unseen" for="project-text">Text of the project file</label>
      <textarea
        id="project-text"
        spellcheck={false}
        rows={18}
        value={text}
        onInput={(e) => (draft.value = { base: draft.value?.base ?? now.revision, text: e.currentTarget.value })}
      />
      {behind && <p class="notice">The file was changed meanwhile. Saving lays both before you.</p>}
      <div class="row">
        <button
          type="button"
          disabled={draft.value === null}
          onClick={() => {
            const d = draft.value;
            if (d) void putText(d.base, d.text).then((done) => done && (draft.value = null));
          }}
        >
          Save
        </button>
        <button type="button" disabled={draft.value === null} onClick={() => (draft.value = null)}>Back to what is saved</button>
      </div>
    </details>
  );
}
