// One value of the project: typed, drawn along or chosen. It goes into the file when it is done, not at every stroke.

import { useSignal } from "@preact/signals";
import { useId, useRef } from "preact/hooks";
import type { Field as FieldOf } from "../api/types";
import { change, refused, units } from "../state/store";
import { length, like, parseLength, plain } from "../text/units";

type Value = FieldOf["value"];

/** Puts one value into the project file. */
async function put(field: FieldOf, value: Value): Promise<boolean> {
  return value === field.value || change([{ key: field.key, value }]);
}

function shownText(v: Value): string {
  return v === null ? "" : Array.isArray(v) ? v.join(", ") : String(v);
}

export function Field({ field }: { field: FieldOf }) {
  const id = useId();
  const inner = { id, field };
  const unset = field.value === null;
  const troubled = refused.value?.trouble.find((t) => t.key === field.key);
  return (
    <div class="field" data-key={field.key}>
      <label for={id} title={field.key}>{field.label}</label>
      <div class="field-input">
        {field.kind === "flag" ? <Flag {...inner} /> : field.kind === "choice" ? <OneOf {...inner} /> : field.kind === "choices" ? <SomeOf {...inner} /> : <Typed {...inner} />}
      </div>
      {!unset && field.default !== null && (
        <button type="button" class="plain small" onClick={() => void put(field, null)} title={`As it would be without: ${shownText(field.default)}`}>
          reset<span class="unseen"> {field.label}</span>
        </button>
      )}
      {troubled && <p class="field-trouble small" role="alert"><span class="mark fails">✕ {troubled.message}</span> {troubled.help}</p>}
    </div>
  );
}

interface Inner { id: string; field: FieldOf }

function Flag({ id, field }: Inner) {
  const now = field.value ?? field.default;
  return <input id={id} type="checkbox" checked={now === true} onChange={(e) => void put(field, e.currentTarget.checked)} />;
}

function OneOf({ id, field }: Inner) {
  const choices = field.choices ?? [];
  const now = shownText(field.value ?? field.default);
  const known = choices.some((c) => c.value === now);
  return (
    <select id={id} value={now} onChange={(e) => void put(field, e.currentTarget.value)}>
      {!known && <option value={now}>{now || "not said"}</option>}
      {choices.map((c) => <option key={c.value} value={c.value}>{c.title}</option>)}
    </select>
  );
}

function SomeOf({ id, field }: Inner) {
  const now = Array.isArray(field.value) ? field.value : Array.isArray(field.default) ? field.default : [];
  return (
    <span id={id} class="some row" role="group" aria-label={field.label}>
      {(field.choices ?? []).map((c) => (
        <label key={c.value} class="row small">
          <input
            type="checkbox"
            checked={now.includes(c.value)}
            onChange={(e) => void put(field, e.currentTarget.checked ? [...now, c.value] : now.filter((v) => v !== c.value))}
          />
          {c.title}
        </label>
      ))}
    </span>
  );
}

/** Text, with a slider beside it where it is a length or a share. */
function Typed({ id, field }: Inner) {
  /** What is being typed or drawn, until it is in the file. */
  const text = useSignal<string | null>(null);
  const drawn = useSignal<number | null>(null);
  const sent = useRef<string | null>(null);
  const number = field.kind === "number";
  const keep = (value: Value) => {
    void put(field, value).then((kept) => {
      if (!kept) return;
      text.value = null;
      drawn.value = null;
    });
  };
  const done = () => {
    const said = text.value?.trim();
    // Leaving a field does not say again what Enter said.
    if (said === undefined || said === sent.current) return;
    sent.current = said;
    if (said === shownText(field.value)) text.value = null;
    else keep(said === "" ? null : meant(field, said));
  };
  const bounds = slide(field);
  const si = drawn.value ?? field.si;
  return (
    <>
      <input
        id={id}
        type="text"
        inputMode={number ? "decimal" : "text"}
        autocomplete="off"
        spellcheck={false}
        value={drawn.value === null ? (text.value ?? shownText(field.value)) : written(field, drawn.value)}
        placeholder={field.default === null ? "" : shownText(field.default)}
        onInput={(e) => {
          text.value = e.currentTarget.value;
          drawn.value = null;
          sent.current = null;
        }}
        onBlur={done}
        onKeyDown={(e) => {
          if (e.key === "Enter") done();
          else if (e.key === "Escape") text.value = null;
        }}
      />
      {field.kind === "length" && units.value === "in" && field.si !== null && <span class="quiet small">{length(field.si, "in")}</span>}
      {bounds && si !== null && (
        <input
          type="range"
          aria-label={`${field.label}, by drawing`}
          aria-valuetext={written(field, si)}
          min={bounds.min}
          max={bounds.max}
          step={bounds.step}
          value={si}
          onInput={(e) => (drawn.value = Number(e.currentTarget.value))}
          onChange={(e) => keep(written(field, Number(e.currentTarget.value)))}
        />
      )}
    </>
  );
}

/** What somebody typed, as the file takes it: a bare number is in the units shown. */
function meant(field: FieldOf, said: string): string | number {
  if (field.kind === "number") return Number.isFinite(Number(said)) ? Number(said) : said;
  if (!/^[\d.,]+$/.test(said)) return said;
  if (field.kind === "share") return `${said.replace(",", ".")} %`;
  const mm = field.kind === "length" ? parseLength(said, units.value) : null;
  if (mm === null) return said;
  return units.value === "in" ? `${said} in` : like("mm", mm);
}

function written(field: FieldOf, si: number): string {
  return field.kind === "share" ? `${plain(si * 100, 0)} %` : like(typeof field.value === "string" ? field.value : null, si);
}

/** How far a slider goes: about half and one and a half times what there is, in steps a hand can make. */
function slide(field: FieldOf): { min: number; max: number; step: number } | null {
  if (field.si === null || field.value === null || Array.isArray(field.value)) return null;
  if (field.kind === "share") return { min: 0, max: 1, step: 0.01 };
  if (field.kind !== "length" || field.si <= 0) return null;
  const step = field.si < 10 ? 0.1 : field.si < 100 ? 0.5 : field.si < 600 ? 1 : 5;
  const round = (v: number) => Math.round(v / step) * step;
  return { min: round(Math.max(field.si * 0.5, step)), max: round(field.si * 1.5), step };
}
