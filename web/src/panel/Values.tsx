// What can be changed, by what it is about. The project file stays the one source; this is a way into it.

import { useSignal } from "@preact/signals";
import { project } from "../state/store";
import { Field } from "./Field";
import { Figure } from "./Figure";
import { ProjectText } from "./ProjectText";

const GROUPS: [string, string][] = [
  ["size", "Size"], ["wall", "Wall"], ["light", "Light"], ["spine", "Spine"], ["bays", "Bays"], ["power", "Power"],
  ["print", "Printers"], ["strength", "Strength"],
];

export function Values() {
  const at = useSignal("size");
  const fields = project.value?.fields ?? [];
  const groups = GROUPS.filter(([g]) => g === "size" || fields.some((f) => f.group === g));
  const pick = (by: number) => {
    const i = groups.findIndex(([g]) => g === at.value);
    at.value = groups[(i + by + groups.length) % groups.length]![0];
    document.getElementById(`tab-${at.value}`)?.focus();
  };
  return (
    <section class="values" aria-labelledby="values-title">
      <h2 id="values-title">Values</h2>
      <div
        class="tabs"
        role="tablist"
        aria-label="What the values are about"
        onKeyDown={(e) => {
          if (e.key === "ArrowRight") pick(1);
          else if (e.key === "ArrowLeft") pick(-1);
          else return;
          e.preventDefault();
        }}
      >
        {groups.map(([g, title]) => (
          <button
            key={g}
            id={`tab-${g}`}
            type="button"
            role="tab"
            aria-selected={at.value === g}
            aria-controls="values-panel"
            tabIndex={at.value === g ? 0 : -1}
            onClick={() => (at.value = g)}
          >
            {title}
          </button>
        ))}
      </div>
      <div id="values-panel" role="tabpanel" aria-labelledby={`tab-${at.value}`} class="values-panel">
        {at.value === "size" && <Figure />}
        <div class="fields">
          {fields.filter((f) => f.group === at.value).map((f) => <Field key={f.key} field={f} />)}
        </div>
      </div>
      <ProjectText />
    </section>
  );
}
