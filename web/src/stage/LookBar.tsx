// The ways of looking at the prop: views, room, light, open, apart. All of it with a key of its own to press.

import { apart, bright, colour, frame, level, lit, open, turn, turned, view, VIEWS } from "../state/looks";
import { shown, showWhole, whole, zoom } from "../state/place";
import { stageState } from "../state/store";
import { TakeOut } from "./TakeOut";

export function LookBar() {
  const { roll, yaw } = turned.value;
  const is = (v: keyof typeof VIEWS) => roll === VIEWS[v].roll && yaw === VIEWS[v].yaw;
  const none = stageState("light") === "none";
  const wholeNow = shown.value[0] === whole.value[0] && shown.value[1] === whole.value[1];
  return (
    <div class="lookbar row" role="toolbar" aria-label="How the prop is looked at">
      <span class="row" role="group" aria-label="View">
        <button type="button" aria-pressed={is("side")} onClick={() => view("side")}>Side</button>
        <button type="button" aria-pressed={is("top")} onClick={() => view("top")}>Top</button>
        <button type="button" aria-pressed={is("grip")} onClick={() => view("grip")}>From the grip</button>
        <button type="button" onClick={() => turn(15, 0)} aria-label="Roll it">⟳</button>
      </span>
      <span class="row" role="group" aria-label="Closer">
        <button type="button" onClick={() => zoom(0.8)} aria-label="Wider">−</button>
        <button type="button" onClick={() => zoom(1.25)} aria-label="Closer">+</button>
        <button type="button" disabled={wholeNow} onClick={showWhole}>Whole</button>
      </span>
      <span class="row" role="group" aria-label="Inside">
        <button type="button" aria-pressed={open.value} onClick={() => (open.value = !open.value)}>Cut open</button>
        <label class="row small slide">Apart
          <input type="range" min={0} max={1} step={0.05} value={apart.value} onInput={(e) => (apart.value = Number(e.currentTarget.value))} />
        </label>
      </span>
      <TakeOut />
      <span class="row" role="group" aria-label="Light">
        <button type="button" aria-pressed={!bright.value} onClick={() => (bright.value = !bright.value)}>Dark room</button>
        <button type="button" aria-pressed={lit.value} disabled={none} onClick={() => (lit.value = !lit.value)}>Lit</button>
        {lit.value && frame.value === null && (
          <>
            <label class="row small">Colour
              <input class="swatch" type="color" value={colour.value} onInput={(e) => (colour.value = e.currentTarget.value)} />
            </label>
            <label class="row small slide">Driven
              <input type="range" min={0.02} max={1} step={0.02} value={level.value} aria-valuetext={`${Math.round(level.value * 100)} %`} onInput={(e) => (level.value = Number(e.currentTarget.value))} />
              {Math.round(level.value * 100)} %
            </label>
          </>
        )}
        {none && <span class="small quiet">this prop has no light</span>}
      </span>
    </div>
  );
}
