// What is known: the program's answers, fetched again when it says that a stage has new ones.

import { batch, computed, signal, type Signal } from "@preact/signals";
import { Refusal, get, send } from "../api/client";
import type {
  Changed, Conflict, Drawings, Edit, Findings, Gets, Light, News, Posts, Progress, Project, Scene, StageName, StageState, State,
  Steps, Summary, Tracks, Trouble,
} from "../api/types";
import type { System } from "../text/units";
import { chosenUnits } from "./settings";

export const state = signal<State | null>(null);
export const progress = signal<Progress | null>(null);
export const project = signal<Project | null>(null);
export const scene = signal<Scene | null>(null);
export const light = signal<Light | null>(null);
export const tracks = signal<Tracks | null>(null);
export const findings = signal<Findings | null>(null);
export const summary = signal<Summary | null>(null);
export const drawings = signal<Drawings | null>(null);
export const steps = signal<Steps | null>(null);
/** Whether the program answers. */
export const connected = signal(true);
/** The last thing that was refused, until it is put away. */
export const refused = signal<{ message: string; remedy: string; trouble: Trouble[] } | null>(null);
/** A change that meets somebody else's: until the maker has chosen. */
export const conflict = signal<{ conflicts: Conflict[]; insist: () => Promise<void> } | null>(null);
/** Cuts moved by hand whose pieces are not there yet, by joint number; pieces of a later build than `build` have them there. */
const moves = signal<ReadonlyMap<number, { station_mm: number; build: number }>>(new Map());
/** Where they are: joint number to station, mm. */
export const movedCuts = computed<ReadonlyMap<number, number>>(() => new Map([...moves.value].map(([joint, m]) => [joint, m.station_mm])));
/** Whether one of them is still in the maker's hand, or nothing was begun with it yet. */
export const cutHeld = computed(() => [...moves.value.values()].some((m) => m.build === state.value?.build));

export const units = computed<System>(() => chosenUnits.value ?? (project.value?.inches ? "in" : "mm"));

/** What is shown of a stage. */
export function stageState(name: StageName): StageState {
  return state.value?.stages.find((s) => s.name === name)?.state ?? "waiting";
}

/** Whether what is shown of a stage belongs to an older project. */
export function stale(name: StageName): boolean {
  const now = stageState(name);
  return now === "stale" || (now === "working" && isOlder(name));
}

function isOlder(name: StageName): boolean {
  const s = state.value;
  const stage = s?.stages.find((x) => x.name === name);
  return !!s && !!stage && stage.build !== null && stage.build < s.build;
}

/** Fetches into a signal. What is not known yet (409) or not there (404) is `null`; only the newest answer counts. */
const asked = new Map<string, number>();
async function fill<P extends keyof Gets>(into: Signal<Gets[P] | null>, path: P): Promise<void> {
  const turn = (asked.get(path) ?? 0) + 1;
  asked.set(path, turn);
  try {
    const got = await get(path);
    if (asked.get(path) === turn) into.value = got;
  } catch (e) {
    if (!(e instanceof Refusal)) throw e;
    if (e.status === 0) connected.value = false;
    else if (e.status === 404 && asked.get(path) === turn) into.value = null;
  }
}

const fetchScene = (): Promise<void> => fill(scene, "/api/scene");

/** Whether a stage has anything to show: what has not is not asked for. */
function known(name: StageName): boolean {
  const stage = state.value?.stages.find((s) => s.name === name);
  return stage !== undefined && stage.build !== null && stage.state !== "none" && stage.state !== "waiting";
}

/** What shows the results of a stage. */
const SHOWN: Record<StageName, () => Promise<void>[]> = {
  // Pieces stay until there are others.
  shape: () => (scene.value?.shows === "pieces" ? [] : [fetchScene()]),
  geometry: () => [fetchScene(), fill(tracks, "/api/tracks")],
  print: () => [fetchScene(), fill(tracks, "/api/tracks")],
  light: () => [fill(light, "/api/light"), fill(tracks, "/api/tracks")],
  strength: () => [fill(tracks, "/api/tracks")],
  power: () => [fill(tracks, "/api/tracks")],
  all: () => [
    fetchScene(), fill(findings, "/api/findings"), fill(tracks, "/api/tracks"), fill(summary, "/api/summary"),
    fill(drawings, "/api/drawings"), fill(steps, "/api/steps"),
  ],
};

function fetchAll(): void {
  if (state.value?.mode !== "project") return;
  void fill(project, "/api/project");
  if (known("light")) void fill(light, "/api/light");
  else light.value = null;
  if (known("all")) SHOWN.all();
  else if (known("geometry")) SHOWN.geometry();
  else void fetchScene();
}

function take(next: State): void {
  const before = state.value;
  batch(() => {
    connected.value = true;
    state.value = next;
    if (next.progress || !next.working) progress.value = next.working ? next.progress : null;
  });
  if (!before || before.mode !== next.mode || before.folder !== next.folder) fetchAll();
  else if (before.revision !== next.revision) void fill(project, "/api/project");
}

/** Listens to the program until the page is left. */
export function listen(): void {
  const source = new EventSource("/api/events");
  const on = <K extends keyof News>(kind: K, act: (data: News[K]) => void) =>
    source.addEventListener(kind, (e) => act(JSON.parse((e as MessageEvent<string>).data) as News[K]));
  let broken = false;
  on("state", (d) => {
    take(d);
    if (broken) {
      // Another run of the program may count its builds anew.
      moves.value = new Map();
      fetchAll();
    }
    broken = false;
  });
  on("progress", (d) => (progress.value = d));
  on("stage", ({ name }) => {
    if (name === "light" && stageState("light") === "none") light.value = null;
    else SHOWN[name]();
  });
  on("steps", () => void fill(steps, "/api/steps"));
  source.addEventListener("resync", () => {
    void get("/api/state").then(take);
    fetchAll();
  });
  source.onerror = () => {
    connected.value = false;
    broken = true;
  };
  addEventListener("pagehide", () => source.close());
}

/** Tells a refusal, whatever it was. */
export function tell(e: unknown): void {
  if (!(e instanceof Refusal)) throw e;
  if (e.status === 0) connected.value = false;
  refused.value = { message: e.message, remedy: e.remedy, trouble: e.more.trouble ?? [] };
}

/** Paths that change the project's text. */
type Edits = { [P in keyof Posts]: Posts[P] extends { body: { base: string }; answer: Changed } ? P : never }[keyof Posts];

/** Sends a change of the project made on top of what the page shows; a conflict is laid before the maker. */
async function edit<P extends Edits>(path: P, body: Omit<Posts[P]["body"], "base">, base?: string, how: "POST" | "PUT" = "POST"): Promise<boolean> {
  refused.value = null;
  try {
    const on = base ?? project.value?.revision ?? state.value?.revision;
    const done: Changed = await send(path, { base: on, ...body } as Posts[P]["body"], how);
    if (project.value) project.value = { ...project.value, revision: done.revision };
    await fill(project, "/api/project");
    return true;
  } catch (e) {
    if (e instanceof Refusal && e.code === "conflict" && e.more.revision) {
      const revision = e.more.revision;
      void fill(project, "/api/project");
      const insist = async () => {
        conflict.value = null;
        await edit(path, body, revision, how);
      };
      const whole = "text" in body ? [{ key: "the whole file", yours: body.text as string, theirs: e.more.theirs ?? null, base: null }] : [];
      conflict.value = { conflicts: e.more.conflicts ?? whole, insist };
    } else {
      tell(e);
    }
    return false;
  }
}

/** Puts values into the project file; `null` takes one out. */
export function change(changes: Edit[]): Promise<boolean> {
  return edit("/api/change", { changes });
}

/** Shows a cut in another place; `null`: where its pieces have it. */
export function showCut(joint: number, station_mm: number | null): void {
  const next = new Map(moves.value);
  if (station_mm === null) next.delete(joint);
  else next.set(joint, { station_mm, build: state.value?.build ?? 0 });
  moves.value = next;
}

/** Pieces of a build are shown: cuts that were moved before it are where they belong. */
export function settleCuts(build: number): void {
  const left = [...moves.value].filter(([, m]) => m.build >= build);
  if (left.length < moves.value.size) moves.value = new Map(left);
}

/** Moves a cut; it is shown there at once, its pieces follow. */
export async function moveCut(joint: number, station_mm: number): Promise<void> {
  showCut(joint, station_mm);
  const before = project.value?.revision;
  const done = await edit("/api/cut", { joint, station_mm });
  // Refused, or where it was already: no other pieces are to come.
  if (!done || project.value?.revision === before) showCut(joint, null);
}

export const lockCut = (joint: number, lock: boolean): Promise<boolean> => edit("/api/cut", { joint, lock });
export const undo = (): Promise<boolean> => edit("/api/undo", {});
export const redo = (): Promise<boolean> => edit("/api/redo", {});
export const replan = (): Promise<boolean> => edit("/api/steps/replan", {});

/** Replaces the whole text of the project file. */
export const putText = (base: string, text: string): Promise<boolean> => edit("/api/text", { text }, base, "PUT");

/** Stops the work, or begins it anew. */
export async function work(what: "cancel" | "build"): Promise<void> {
  try {
    await send(what === "build" ? "/api/build" : "/api/cancel", {});
  } catch (e) {
    tell(e);
  }
}
