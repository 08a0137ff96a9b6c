// What the program takes and says, written from its own types by `cargo xtask types`. Units are in the names.

export type Axis = "x" | "y" | "z";

export type Band = {
  value: number;
  low: number;
  high: number;
};

export type Base = {
  base: string;
};

export type BodyOf = {
  id: string;
  name: string;
  role: Role;
  station_mm: [number, number];
  light_span_mm: [number, number];
  mesh: MeshRef;
};

export type BuildAsked = {
  build: number;
};

export type Changed = {
  /** The text's name now. */
  revision: string;
  /** What was changed. */
  told: Array<string>;
};

export type ChangedBy = "start" | "page" | "file" | "undo";

export type Changes = {
  base: string;
  changes: Array<Edit>;
};

export type Choice = {
  value: string;
  title: string;
};

export type Clock = {
  now: number;
};

export type Conflict = {
  key: string;
  yours: string | null;
  theirs: string | null;
  base: string | null;
};

export type Cost = {
  currency: string;
  value: number;
  low: number;
  high: number;
};

export type Counts = {
  fails: number;
  unsure: number;
  note: number;
  holds: number;
};

export type CouponLine = {
  /** The line as the sheet has it, up to what is filled in: a reading and how it went are put behind it. */
  line: string;
  /** What it is. */
  title: string;
  /** As drawn, with its unit. */
  drawn: string;
  /** Whether calipers can take it. */
  read: boolean;
  /** Whether something is tried in it. */
  tried: boolean;
};

export type CouponSheet = {
  printer: string;
  lines: Array<CouponLine>;
};

export type CutAsked = {
  base: string;
  joint: number;
  station_mm?: number;
  lock?: boolean;
};

export type Cuts = {
  lock: Array<string>;
  forbid: Array<[string, string]>;
  shift: Array<Shift>;
};

export type Drawing = {
  name: string;
  title: string;
};

export type Drawings = {
  build: number;
  drawings: Array<Drawing>;
};

export type Edit = {
  /** Where, dotted as in the file: `body."upper shaft".wall`. */
  key: string;
  /** What is to stand there; `null` takes the key out. */
  value: unknown;
};

export type Field = {
  key: string;
  group: Group;
  label: string;
  kind: FieldKind;
  value: Held | null;
  si: number | null;
  choices: Array<Choice> | null;
  default: string | null;
};

export type FieldKind = "length" | "share" | "number" | "flag" | "text" | "choice" | "choices";

export type Figure = {
  height_mm: number;
};

export type Finding = {
  id: string;
  verdict: Verdict;
  subject: string;
  station_mm: [number, number] | null;
  measured: Measured;
  limit: Limit | null;
  message: string;
  remedy: string;
  /** Which of its kind it is, from 0. */
  nth: number;
  /** Ids of things in the scene that it speaks of. */
  targets: Array<string>;
};

export type Findings = {
  build: number;
  counts: Counts;
  findings: Array<Finding>;
};

export type Fitting = {
  id: string;
  kind: FittingKind;
  name: string;
  letter: string | null;
  title: string | null;
  station_mm: [number, number];
  way_out_mm: [number, number, number] | null;
  mesh: MeshRef;
};

export type FittingKind = "strip" | "spine" | "part";

export type Given = {
  /** Its letter in the equation, if it has one. */
  symbol: string | null;
  name: string;
  value: number;
  unit: string;
  /** Who says it. */
  from: string;
};

export type Gone = {
  name: string;
  state: JobState;
  ticked_at: string;
};

export type Group = "size" | "wall" | "print" | "light" | "spine" | "bays" | "power" | "strength";

export type Guess = {
  unit: string;
  length_mm: number;
  words: string;
};

export type Held = boolean | number | string | Array<string>;

export type Job = {
  values: Array<StepValue>;
  photos: Array<StepPhoto>;
  timers: Array<StepTimer>;
  name: string;
  trade: string;
  from_min: number;
  to_min: number;
  hands_min: number;
  after: Array<string>;
  from: string;
  to: string;
  critical: boolean;
  station_mm: [number, number] | null;
  asks: Array<string>;
  /** The printer whose coupon is measured here. */
  coupon: string | null;
  state: JobState;
  ticked_at: string | null;
  ticked_by: string | null;
};

export type JobState = "open" | "begun" | "done";

export type Joint = {
  id: string;
  number: number;
  station_mm: number;
  point_mm: [number, number, number];
  along: [number, number, number];
  kind: JointKind;
  /** Locked by the maker. */
  locked: boolean;
  /** One that the maker asked for, to be opened. */
  own: boolean;
  /** One body ends here and another begins. */
  meeting: boolean;
  pieces: [number, number];
};

export type JointKind = "collar" | "pegs" | "faces" | "bayonet" | "screws" | "magnets";

export type Learnt = {
  learnt: Array<string>;
};

export type Levels = {
  step_s: number;
  current_a: Array<number>;
  sound_dbfs: Array<number>;
};

export type Light = {
  build: number;
  pixels: number;
  strips: number;
  /** Flux of a pixel's red, green and blue at full, lm. */
  pixel_lm: [number, number, number];
  /** How far each pixel goes, 0 to 1. */
  levels: Array<number>;
  viewed_mm: number;
  bodies: Array<LightBody>;
  response_of: [number, number, number];
  responses: number;
  texels: number;
  windows: Array<Window>;
};

export type LightBody = {
  id: string;
  along: number;
  around: number;
  from_mm: number;
  step_mm: number;
  first: number;
};

export type Limit = {
  min: number | null;
  max: number | null;
  unit: string;
  source: string;
};

export type LimitLine = {
  label: string;
  value: number;
  source: string;
};

export type LiveAnswer = {
  id: string;
  hz: number;
  mode: string;
  events: Array<RehearsalEvent>;
  /** Pixels, three bytes each, in base64. */
  frame: string;
  sound_hz: number;
  /** Samples of two bytes, in base64. */
  sound: string;
};

export type LiveAsked = {
  /** `None` takes it up. */
  id: string | null;
  /** Force by axis, g; rate by axis, degrees a second; its button, 0 or 1. */
  samples: Array<[number, number, number, number, number, number, number]>;
};

export type Mark = {
  id: string;
  x_mm: number;
  label: string;
  kind: string;
  locked: boolean;
};

export type Measured = {
  value: number;
  low: number;
  high: number;
  unit: string;
};

export type MeshRef = {
  hash: string;
  triangles: number;
  full_triangles: number;
};

export type Mode = "project" | "start";

export type ModeFrom = {
  t_s: number;
  mode: string;
};

export type Motion = {
  step_s: number;
  rate_dps: Array<[number, number, number]>;
  force_g: Array<[number, number, number]>;
};

export type Opened = {
  folder: string;
};

export type Piece = {
  id: string;
  number: number;
  name: string;
  body: string;
  role: Role;
  material: string;
  wall_mm: number | null;
  station_mm: [number, number];
  /** How it prints, once that is known. */
  print: Print | null;
  mesh: MeshRef;
};

export type Pixel = {
  strip: number;
  number: number;
  station_mm: number;
  point_mm: [number, number, number];
  facing: [number, number, number];
};

export type Pose = "upright" | "inverted" | "lying";

export type Print = {
  printer: string;
  pose: Pose;
  mass_g: Band;
  time_s: Band;
};

export type Progress = {
  build: number;
  doing: string;
  done: number;
};

export type Project = {
  revision: string;
  /** Names and sizes are of the last text that reads, `None` where none did. */
  name: string | null;
  inches: boolean;
  wearer_mm: number | null;
  fields: Array<Field>;
  cuts: Cuts | null;
  text: string;
};

export type Refused = {
  error: Words;
  /** The text's name now. */
  revision: string | null;
  /** What was changed by somebody else too. */
  conflicts: Array<Conflict> | null;
  /** The text as it is now. */
  theirs: string | null;
  /** What is wrong with the text that was sent. */
  trouble: Array<Trouble> | null;
};

export type Rehearsal = {
  id: number;
  lasts_s: number;
  hz: number;
  strips: number;
  pixels: number;
  frame_hz: number;
  events: Array<RehearsalEvent>;
  modes: Array<ModeFrom>;
  levels: Levels;
  motion: Motion;
  /** Remarks on the motion. */
  notes: Array<string>;
  most_a: number;
  /** Where its frames and its sound are. */
  frames: string;
  sound: string;
};

export type RehearsalAsked = {
  generate?: string;
  seed?: number;
  recording?: string;
  cell_v?: number;
};

export type RehearsalEvent = {
  t_s: number;
  kind: string;
  mode: string;
  detail: string;
};

export type Removable = "value" | "photo" | "timer";

export type RemoveAsked = {
  request: string;
  by: string;
  what: Removable;
  id: number;
};

export type Role = "lit" | "plain" | "cover";

export type Scene = {
  build: number;
  shows: Shows;
  span_mm: [number, number];
  bounds_mm: [[number, number, number], [number, number, number]];
  /** Station, x, y, z. */
  path: Array<[number, number, number, number]>;
  bodies: Array<BodyOf>;
  pieces: Array<Piece>;
  joints: Array<Joint>;
  fittings: Array<Fitting>;
  pixels: Array<Pixel>;
  ways: Array<Way>;
  figure: Figure | null;
};

export type Series = {
  id: string;
  label: string;
  style: Style;
  step: boolean;
  x_mm: Array<number>;
  y: Array<number | null>;
};

export type Share = {
  url: string;
  /** As SVG. */
  qr: string;
  /** Until when it is good, seconds since 1970. */
  ends: number;
};

export type Sharing = {
  lan: boolean;
  here: boolean;
};

export type Shift = {
  joint: number;
  by: string;
};

export type Shows = "nothing" | "shape" | "pieces";

export type SpanKind = "piece" | "cover";

export type StageName = "shape" | "geometry" | "print" | "light" | "strength" | "power" | "all";

export type StageNews = {
  build: number;
  name: StageName;
};

export type StageOf = {
  name: StageName;
  state: StageState;
  /** The build that what is shown comes from. */
  build: number | null;
};

export type StageState = "waiting" | "working" | "stale" | "done" | "failed" | "none";

export type StartBody = {
  name: string;
  role: Role;
  triangles: number;
  /** Length, width, thickness in the file's own units. */
  size: [number, number, number];
};

export type StartInfo = {
  folder: string;
  figure_mm: number;
};

export type StartMesh = {
  upload: string;
  bodies: Array<StartBody>;
  /** How long it is, in the file's own units. */
  long_units: number;
  /** Along which of the file's axes it lies. */
  axis: Axis;
  axis_reason: string;
  tip: Tip;
  tip_reason: string;
  guesses: Array<Guess>;
  /** Lying along x from butt to tip as guessed, in the file's own units. */
  mesh: MeshRef;
  faults: Array<string>;
};

export type StartWanted = {
  upload: string;
  name: string;
  length: string;
  tip?: Tip;
  axis?: Axis;
  lit: Array<string>;
  wearer?: string;
};

export type State = {
  version: string;
  mode: Mode;
  file: string | null;
  folder: string | null;
  revision: string | null;
  undo: Array<Step>;
  redo: Array<Step>;
  changed_by: ChangedBy | null;
  build: number;
  working: boolean;
  progress: Progress | null;
  stages: [StageOf, StageOf, StageOf, StageOf, StageOf, StageOf, StageOf];
  trouble: Array<Trouble>;
  steps: number;
  sharing: Sharing;
};

export type Step = {
  what: string;
};

export type StepPhoto = {
  id: number;
  kind: string;
  bytes: number;
  at: string;
  by: string;
};

export type StepTimer = {
  id: number;
  label: string;
  ends: number;
  at: string;
  by: string;
};

export type StepValue = {
  id: number;
  kind: string;
  value: string;
  at: string;
  by: string;
};

export type Steps = {
  version: number;
  /** Whether the project has a plan. */
  planned: boolean;
  start_day: string | null;
  jobs: Array<Job>;
  gone: Array<Gone>;
};

export type StepsNews = {
  version: number;
};

export type Stretch = {
  id: string;
  from_mm: number;
  to_mm: number;
  label: string;
  kind: SpanKind;
  reach_mm: [number, number] | null;
};

export type Style = "ink" | "slate" | "moss" | "plum" | "light";

export type Summary = {
  build: number;
  name: string;
  length_mm: number;
  mass_g: Band | null;
  pieces: number;
  plates: number;
  print_elapsed_s: Band;
  cost: Cost | null;
  /** How long a charge lasts. */
  runs_h: Band | null;
  /** The last day of the plan. */
  finish: string | null;
  /** How likely it is to be ready in time, 0 to 1. */
  in_time: number | null;
};

export type Text = {
  base: string;
  text: string;
};

export type TickAsked = {
  request: string;
  by: string;
  job: string;
  state: JobState;
  /** The clock on the wall: `2026-03-03 18:30`. */
  local?: string;
};

export type TimerAsked = {
  request: string;
  by: string;
  job: string;
  label: string;
  minutes: number;
};

export type Tip = "high" | "low";

export type Track = {
  id: string;
  stage: StageName;
  build: number;
  title: string;
  unit: string;
  about: string;
  series: Array<Series>;
  limits: Array<LimitLine>;
  marks: Array<Mark>;
  spans: Array<Stretch>;
};

export type Tracks = {
  build: number;
  span_mm: [number, number];
  tracks: Array<Track>;
};

export type Trouble = {
  kind: TroubleKind;
  /** The file that the place is in, where it is not the project's own. */
  file: string | null;
  key: string | null;
  line: number | null;
  column: number | null;
  length: number | null;
  /** The line itself. */
  source: string | null;
  message: string;
  help: string;
};

export type TroubleKind = "file" | "toml" | "project" | "learnt" | "mesh" | "beside" | "shape";

export type ValueAsked = {
  request: string;
  by: string;
  job: string;
  kind: string;
  value: string;
};

export type Verdict = "fails" | "unsure" | "note" | "holds";

export type Way = {
  kind: WayKind;
  name: string;
  piece: number | null;
  poses: Array<[number, number, number, number, number, number, number, number, number, number, number, number, number, number, number, number]>;
  away: Array<number>;
};

export type WayKind = "cover" | "part" | "lid";

export type Why = {
  /** What it is, in the guide's words. */
  what: string;
  /** Its equation. */
  equation: string | null;
  /** The numbers that went into it. */
  inputs: Array<Given>;
  /** How it is worked out, in words. */
  how: string | null;
  /** From what, in words. */
  from: string | null;
  /** By whose word it is worked out so. */
  source: string | null;
  /** Where more stands. */
  more: string | null;
};

export type Window = {
  name: string;
  body: string;
  lit_mm: [number, number];
  mean_cd_m2: number | null;
  reflectance: number;
};

export type Words = {
  code: string;
  message: string;
  remedy: string;
};

export type Written = {
  version: number;
  id: number | null;
};

/** What is said at a path. */
export type Gets = {
  "/api/state": State;
  "/api/project": Project;
  "/api/scene": Scene;
  "/api/light": Light;
  "/api/tracks": Tracks;
  "/api/findings": Findings;
  "/api/why/{id}": Why;
  "/api/summary": Summary;
  "/api/drawings": Drawings;
  "/api/time": Clock;
  "/api/start": StartInfo;
  "/api/steps": Steps;
  "/api/steps/coupon/{id}": CouponSheet;
};

/** What is sent to a path, and what is said to it. */
export type Posts = {
  "/api/change": { body: Changes; answer: Changed };
  "/api/text": { body: Text; answer: Changed };
  "/api/undo": { body: Base; answer: Changed };
  "/api/redo": { body: Base; answer: Changed };
  "/api/share": { body: Record<string, never>; answer: Share };
  "/api/build": { body: Record<string, never>; answer: BuildAsked };
  "/api/cancel": { body: Record<string, never>; answer: BuildAsked };
  "/api/cut": { body: CutAsked; answer: Changed };
  "/api/rehearsal": { body: RehearsalAsked; answer: Rehearsal };
  "/api/live": { body: LiveAsked; answer: LiveAnswer };
  "/api/start/project": { body: StartWanted; answer: Opened };
  "/api/start/example": { body: Record<string, never>; answer: Opened };
  "/api/steps/tick": { body: TickAsked; answer: Written };
  "/api/steps/value": { body: ValueAsked; answer: Written };
  "/api/steps/timer": { body: TimerAsked; answer: Written };
  "/api/steps/remove": { body: RemoveAsked; answer: Written };
  "/api/steps/learn": { body: Record<string, never>; answer: Learnt };
  "/api/steps/replan": { body: Base; answer: Changed };
};

/** What pages are told, by kind. */
export type News = {
  state: State;
  progress: Progress;
  stage: StageNews;
  steps: StepsNews;
};
