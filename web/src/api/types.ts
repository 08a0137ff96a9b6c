// What the program says: its answers, as they come. Units are in the names.

export interface Band { value: number; low: number; high: number }
export type Point = [number, number, number];

export type StageName = "shape" | "geometry" | "print" | "light" | "strength" | "power" | "all";
export type StageState = "waiting" | "working" | "stale" | "done" | "failed" | "none";
export interface StageOf { name: StageName; state: StageState; build: number | null }

/** A mistake in the project or the mesh, with its place. */
export interface Trouble {
  kind: "file" | "toml" | "project" | "mesh" | "shape";
  key: string | null;
  line: number | null;
  column: number | null;
  length: number | null;
  source: string | null;
  message: string;
  help: string | null;
}

export interface Progress { build?: number; doing: string; done: number }

export interface State {
  version: string;
  mode: "project" | "start";
  file: string;
  folder: string;
  revision: string;
  undo: { what: string }[];
  redo: { what: string }[];
  changed_by: "page" | "file" | "undo" | "start";
  build: number;
  working: boolean;
  progress: Progress | null;
  stages: StageOf[];
  trouble: Trouble[];
  steps: number;
  sharing: { lan: boolean; here: boolean };
}

export type FieldKind = "length" | "share" | "number" | "flag" | "choice" | "choices" | "text";
export interface Choice { value: string; title: string }
export interface Field {
  key: string;
  group: string;
  label: string;
  kind: FieldKind;
  value: string | number | boolean | string[] | null;
  si: number | null;
  choices: Choice[] | null;
  default: string | number | boolean | string[] | null;
}

export interface Project {
  revision: string;
  text: string;
  name: string;
  inches: boolean;
  wearer_mm: number | null;
  fields: Field[];
}

export interface Conflict { key: string; yours: string | null; theirs: string | null; base: string | null }
export interface Changed { revision: string; told: string[] }

export interface MeshRef { hash: string; triangles: number; full_triangles: number }
export type Role = "lit" | "plain" | "cover";
export interface BodyOf { id: string; name: string; role: Role; station_mm: [number, number]; mesh: MeshRef }
export interface Piece {
  id: string;
  number: number;
  name: string;
  body: string;
  role: Role;
  material: string;
  wall_mm: number | null;
  station_mm: [number, number];
  /** How it prints, once that is known. */
  print: { printer: string; pose: string; mass_g: Band; time_s: Band } | null;
  mesh: MeshRef;
}
export interface Joint {
  id: string;
  number: number;
  station_mm: number;
  point_mm: Point;
  along: Point;
  kind: string;
  locked: boolean;
  /** A joint of the maker's own, or where two bodies meet: it stands where the project or the shape says. */
  own: boolean;
  meeting?: boolean;
  pieces: [number, number];
}
export interface Fitting {
  id: string;
  kind: "strip" | "spine" | "part" | "wire";
  name: string;
  station_mm: [number, number];
  mesh: MeshRef;
  letter?: string;
  title?: string;
  way_out_mm?: Point | null;
}
export interface Pixel { strip: number; number: number; station_mm: number; point_mm: Point; facing: Point }
export interface Scene {
  build: number;
  shows: "nothing" | "shape" | "pieces";
  span_mm: [number, number];
  bounds_mm: [Point, Point];
  path: [number, number, number, number][];
  bodies: BodyOf[];
  pieces: Piece[];
  joints: Joint[];
  fittings: Fitting[];
  pixels: Pixel[];
  figure: { height_mm: number } | null;
}

export interface LightBody { id: string; along: number; around: number; from_mm: number; step_mm: number; first: number }
export interface Light {
  build: number;
  pixels: number;
  strips: number;
  pixel_lm: Point;
  levels: number[];
  viewed_mm: number;
  bodies: LightBody[];
  response_of: [number, number, number];
  responses: number;
  texels: number;
  windows: { name: string; body: string; lit_mm: [number, number]; mean_cd_m2: number; reflectance: number }[];
}

export type Style = "ink" | "slate" | "moss" | "plum" | "light";
export interface Series { id: string; label: string; style: Style; step: boolean; x_mm: number[]; y: (number | null)[] }
export interface Mark { id: string; x_mm: number; label: string; kind: string; locked?: boolean }
export interface Stretch { id: string; from_mm: number; to_mm: number; label: string; kind: string; reach_mm?: [number, number] | null }
export interface Track {
  id: string;
  stage: StageName;
  build: number;
  title: string;
  unit: string;
  about: string;
  series: Series[];
  limits: { label: string; value: number; source: string }[];
  marks: Mark[];
  spans: Stretch[];
}
export interface Tracks { build: number; span_mm: [number, number]; tracks: Track[] }

export type Verdict = "fails" | "unsure" | "note" | "holds";
export interface Finding {
  id: string;
  verdict: Verdict;
  subject: string;
  station_mm: [number, number] | null;
  measured: Band & { unit: string };
  limit: { min?: number; max?: number; unit: string; source: string } | null;
  message: string;
  remedy: string;
  targets: string[];
}
export interface Findings { build: number; counts: Record<Verdict, number>; findings: Finding[] }
export interface Why { id: string; what: string; how: string | null; source: string | null; inputs: string | null; more: string | null }
export interface Drawings { build: number; drawings: { name: string; title: string }[] }
export interface Summary {
  build: number;
  name: string;
  length_mm: number;
  mass_g: Band | null;
  pieces: number;
  print_elapsed_s: Band | null;
  cost: (Band & { currency: string }) | null;
  runs_h: Band | null;
  finish: string | null;
  in_time: number | null;
}

export interface RehearsalEvent { t_s: number; kind: string; mode: string; detail: string }
export interface Rehearsal {
  id: number;
  lasts_s: number;
  hz: number;
  strips: number;
  pixels: number;
  frame_hz: number;
  events: RehearsalEvent[];
  modes: { t_s: number; mode: string }[];
  levels: { step_s: number; current_a: number[]; sound_dbfs: number[] };
  motion: { step_s: number; rate_dps: Point[]; force_g: Point[] };
  notes: string[];
  most_a: number;
  frames: string;
  sound: string;
}
export interface LiveAnswer {
  id: string;
  hz: number;
  mode: string;
  events: RehearsalEvent[];
  frame: string;
  sound_hz: number;
  sound: string;
}

export interface StepValue { id: number; kind: string; value: string; at: string; by: string }
export interface StepPhoto { id: number; at: string; bytes: number; kind: string }
export interface StepTimer { id: number; label: string; ends: number; at: string }
export type JobState = "open" | "begun" | "done";
export interface Job {
  name: string;
  trade: string;
  hands_min: number;
  after: string[];
  from: string | null;
  to: string | null;
  critical: boolean;
  station_mm: [number, number] | null;
  state: JobState;
  ticked_at: string | null;
  ticked_by: string | null;
  values: StepValue[];
  photos: StepPhoto[];
  timers: StepTimer[];
  asks: string[];
}
export interface Steps {
  version: number;
  planned: boolean;
  start_day: string | null;
  jobs: Job[];
  gone: { name: string; state: JobState; ticked_at: string | null }[];
}

export interface StartInfo { folder: string; figure_mm: number; example: boolean }
export interface StartMesh {
  upload: string;
  bodies: { name: string; role: Role; triangles: number; size: Point }[];
  long_units: number;
  axis: string;
  axis_reason: string;
  tip: "high" | "low";
  tip_reason: string;
  guesses: { unit: string; length_mm: number; words: string }[];
  mesh: MeshRef;
  faults: string[];
}
export interface Share { url: string; qr: string; ends: number }
