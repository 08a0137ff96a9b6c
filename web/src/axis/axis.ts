// Where a station lies on the page. The prop and every track under it share one axis, so that they can be read straight down.

/** x, y, z, mm. */
export type Point = [number, number, number];
/** A stretch along the prop, mm. */
export type Span = readonly [from: number, to: number];

/** A point of the centre path: its station and how far along the prop it lies, mm. */
export type PathPoint = readonly [station: number, x: number];

/** The part of the page that the axis lies on. */
export interface AxisSpec {
  /** What is shown, mm along the prop. */
  shown: Span;
  /** Where it begins and ends on the page, px. */
  page: Span;
  /** The centre path by station; empty for a straight prop. */
  path: readonly PathPoint[];
}

/** Smallest stretch that can be shown, mm. */
const CLOSEST_MM = 20;

function along(points: readonly PathPoint[], value: number, from: 0 | 1): number {
  const to = from === 0 ? 1 : 0;
  const first = points[0];
  const last = points[points.length - 1];
  if (!first || !last || points.length < 2) return value;
  // Past an end the path goes on straight.
  if (value <= first[from]) return first[to] + (value - first[from]);
  if (value >= last[from]) return last[to] + (value - last[from]);
  let low = 0;
  let high = points.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (points[middle]![from] <= value) low = middle;
    else high = middle;
  }
  const a = points[low]!;
  const b = points[high]!;
  const width = b[from] - a[from];
  return width > 0 ? a[to] + ((b[to] - a[to]) * (value - a[from])) / width : a[to];
}

/** One axis: stations to pixels and back. */
export class Axis {
  constructor(readonly spec: AxisSpec) {}

  /** Pixels a millimetre along the prop. */
  get scale(): number {
    const { shown, page } = this.spec;
    return (page[1] - page[0]) / Math.max(shown[1] - shown[0], 1e-6);
  }

  /** Page position of a station, px. */
  px(station: number): number {
    return this.spec.page[0] + (along(this.spec.path, station, 0) - this.spec.shown[0]) * this.scale;
  }

  /** Station under a page position, mm. */
  station(px: number): number {
    return along(this.spec.path, this.spec.shown[0] + (px - this.spec.page[0]) / this.scale, 1);
  }

  /** Whether a stretch of stations is on the page at all. */
  meets(span: Span): boolean {
    return this.px(span[1]) >= this.spec.page[0] && this.px(span[0]) <= this.spec.page[1];
  }
}

/** A mark of the scale: with its number, or a bare tick. */
export interface Tick {
  station: number;
  label: string | null;
}

const MM_STEPS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
const INCH_STEPS = [1 / 16, 1 / 8, 1 / 4, 1 / 2, 1, 2, 4, 6, 12, 24];

/**
 * Marks of the scale. With room, a tick each 50 mm and a number each 100 mm, as on every drawing; closer or wider when the
 * prop is looked at from nearer or is very long. In inches the same in whole and broken inches.
 */
export function ticks(axis: Axis, whole: Span, inches: boolean): Tick[] {
  const unit = inches ? 25.4 : 1;
  const steps = inches ? INCH_STEPS : MM_STEPS;
  const { page } = axis.spec;
  const numbered = steps.find((s) => s * unit * axis.scale >= 44 && (inches || s >= 2)) ?? steps[steps.length - 1]!;
  const shown: Span = [axis.station(page[0]), axis.station(page[1])];
  const step = numbered / 2;
  const first = Math.ceil(Math.max(shown[0], whole[0]) / unit / step - 1e-9);
  const last = Math.floor(Math.min(shown[1], whole[1]) / unit / step + 1e-9);
  const marks: Tick[] = [];
  for (let i = first; i <= last; i += 1) {
    const value = i * step;
    marks.push({ station: value * unit + 0, label: i % 2 === 0 ? String(Math.round(value * 100) / 100) : null });
  }
  return marks;
}

/** The stretch shown after looking `factor` times closer at a place that stays where it is, never past what there is. */
export function closer(shown: Span, whole: Span, at: number, factor: number): Span {
  const most = whole[1] - whole[0];
  const width = Math.min(Math.max((shown[1] - shown[0]) / factor, Math.min(CLOSEST_MM, most)), most);
  const share = (at - shown[0]) / Math.max(shown[1] - shown[0], 1e-6);
  return within([at - share * width, at - share * width + width], whole);
}

/** The stretch moved by so many millimetres, as far as the prop goes. */
export function moved(shown: Span, whole: Span, by: number): Span {
  return within([shown[0] + by, shown[1] + by], whole);
}

function within([from, to]: Span, whole: Span): Span {
  const width = Math.min(to - from, whole[1] - whole[0]);
  const start = Math.min(Math.max(from, whole[0]), whole[1] - width);
  return [start, start + width];
}
