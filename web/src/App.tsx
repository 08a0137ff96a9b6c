// The page: one prop, its tracks, and what is done with it in each room.

import { useRef } from "preact/hooks";
import { Building } from "./building/Building";
import { Findings } from "./findings/Findings";
import { WhyDialog } from "./findings/Why";
import { Header, room } from "./frame/Header";
import { ShareDialog } from "./frame/Share";
import { ConflictDialog, Trouble } from "./frame/Trouble";
import { Values } from "./panel/Values";
import { Pieces } from "./panel/Pieces";
import { Rehearsing } from "./rehearsal/Rehearsing";
import { LookBar } from "./stage/LookBar";
import { Stage } from "./stage/Stage";
import { Start } from "./start/Start";
import { state } from "./state/store";
import { Scale } from "./tracks/Scale";
import { Tracks, useAxisWidth } from "./tracks/Tracks";

export function App() {
  const s = state.value;
  return (
    <>
      <a class="skip" href="#main">To the prop</a>
      <Header />
      <Trouble />
      <main id="main" tabIndex={-1} data-room={s === null ? "none" : s.mode === "start" ? "start" : room.value}>
        {s === null ? <p class="wait">Waiting for the program.</p> : s.mode === "start" ? <Start /> : room.value === "building" ? <Building /> : <Bench />}
      </main>
      <WhyDialog />
      <ConflictDialog />
      <ShareDialog />
    </>
  );
}

/** The prop on its bench, and under it either everything about it or its rehearsal in time. */
function Bench() {
  const box = useRef<HTMLDivElement>(null);
  useAxisWidth(box);
  const rehearsing = room.value === "rehearsal";
  return (
    <div ref={box} class="bench">
      <div class="stage-hold">
        <Stage />
        <LookBar />
      </div>
      {rehearsing ? (
        <>
          <Scale />
          <Rehearsing />
        </>
      ) : (
        <>
          <Tracks />
          <div class="below">
            <Values />
            <Findings />
            <Pieces />
          </div>
        </>
      )}
    </div>
  );
}
