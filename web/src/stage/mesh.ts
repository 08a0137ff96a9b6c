// Meshes as they come from the program: the quantised form, laid out again for the graphics card.

/** A mesh in the prop frame. */
export interface Decoded {
  /** Quantised places: millimetres are origin + step * value. */
  positions: Uint16Array;
  origin: readonly [number, number, number];
  step: number;
  /** Unit normals times 127, four to a vertex, the last 0. */
  normals: Int8Array;
  /** Light coordinates, two to a vertex, if it has them. */
  light: Uint16Array | null;
  indices: Uint32Array;
}

const HEAD = 32;

/** Reads a mesh; throws with what is wrong when it is none. */
export function decode(bytes: ArrayBuffer): Decoded {
  const view = new DataView(bytes);
  const word = bytes.byteLength >= HEAD ? String.fromCharCode(...new Uint8Array(bytes, 0, 4)) : "";
  if (word !== "LTMS" || view.getUint16(4, true) !== 1) throw new Error("this is no mesh of the workbench's form 1");
  const lit = (view.getUint16(6, true) & 1) === 1;
  const n = view.getUint32(8, true);
  const m = view.getUint32(12, true);
  const padded = (n * 6 + 3) & ~3;
  const normalsAt = HEAD + padded;
  const lightAt = normalsAt + n * 4;
  const indicesAt = lightAt + (lit ? n * 4 : 0);
  if (indicesAt + m * 12 > bytes.byteLength) throw new Error(`a mesh of ${n} corners and ${m} triangles ended too early`);
  return {
    positions: new Uint16Array(bytes, HEAD, n * 3),
    origin: [view.getFloat32(16, true), view.getFloat32(20, true), view.getFloat32(24, true)],
    step: view.getFloat32(28, true),
    normals: new Int8Array(bytes, normalsAt, n * 4),
    light: lit ? new Uint16Array(bytes, lightAt, n * 2) : null,
    indices: new Uint32Array(bytes, indicesAt, m * 3),
  };
}

/** Places in millimetres, three to a vertex. */
export function millimetres(mesh: Decoded): Float32Array {
  const out = new Float32Array(mesh.positions.length);
  for (let i = 0; i < out.length; i += 1) out[i] = mesh.origin[i % 3]! + mesh.step * mesh.positions[i]!;
  return out;
}

/**
 * Triangles for a sketch of a mesh, on its own vertices: those in one cube of `size` mm that look the same way become one, and
 * what falls flat is left out.
 */
export function sketched(mesh: Decoded, size: number): Uint32Array {
  const { positions, normals, indices } = mesh;
  const unit = Math.max(Math.round(size / mesh.step), 1);
  const cell = (place: number) => Math.floor(place / unit);
  const first = new Map<number, number>();
  const name = new Uint32Array(positions.length / 3);
  for (let v = 0; v < name.length; v += 1) {
    const way = (normals[4 * v]! < 0 ? 1 : 0) + (normals[4 * v + 1]! < 0 ? 2 : 0) + (normals[4 * v + 2]! < 0 ? 4 : 0);
    // Places are two bytes each: all three and the way are less than the 53 bits of a number.
    const key = ((cell(positions[3 * v]!) * 0x10000 + cell(positions[3 * v + 1]!)) * 0x10000 + cell(positions[3 * v + 2]!)) * 8 + way;
    const known = first.get(key);
    if (known === undefined) first.set(key, v);
    name[v] = known ?? v;
  }
  const out = new Uint32Array(indices.length);
  let n = 0;
  for (let t = 0; t < indices.length; t += 3) {
    const [a, b, c] = [name[indices[t]!]!, name[indices[t + 1]!]!, name[indices[t + 2]!]!];
    if (a === b || b === c || c === a) continue;
    out[n] = a;
    out[n + 1] = b;
    out[n + 2] = c;
    n += 3;
  }
  return out.slice(0, n);
}

/** One point of the centre path: station, x, y, z, mm. */
export type Bend = readonly [number, number, number, number];

/** The centre path at a distance along the prop: station, y, z there, mm. */
export function pathAt(path: readonly Bend[], x: number): [number, number, number] {
  const first = path[0];
  if (!first) return [x, 0, 0];
  let low = 0;
  let high = path.length - 1;
  const last = path[high]!;
  if (x <= first[1]) return [first[0] + (x - first[1]), first[2], first[3]];
  if (x >= last[1]) return [last[0] + (x - last[1]), last[2], last[3]];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (path[middle]![1] <= x) low = middle;
    else high = middle;
  }
  const a = path[low]!;
  const b = path[high]!;
  const t = b[1] > a[1] ? (x - a[1]) / (b[1] - a[1]) : 0;
  return [a[0] + (b[0] - a[0]) * t, a[2] + (b[2] - a[2]) * t, a[3] + (b[3] - a[3]) * t];
}

/** A body's sections as boxes along the prop: middle and half width, across and through, in equal steps of x. */
export interface Rings { from: number; step: number; boxes: Float64Array }

/** The rings of a body, a millimetre or a little more apart. */
export function rings(body: Decoded): Rings {
  let [from, to] = [Infinity, -Infinity];
  for (let i = 0; i < body.positions.length; i += 3) {
    const x = body.origin[0] + body.step * body.positions[i]!;
    if (x < from) from = x;
    if (x > to) to = x;
  }
  const bins = Math.min(Math.max(Math.ceil(to - from), 1), 2000);
  const views = [silhouette([body], from, to, bins, 1), silhouette([body], from, to, bins, 2)];
  const boxes = new Float64Array((bins + 1) * 4);
  views.forEach((view, axis) => {
    let at = 0;
    for (let k = 0; k <= bins; k += 1) {
      while (at + 1 < view.x.length && view.x[at + 1]! <= from + (k * (to - from)) / bins + 1e-6) at += 1;
      const [low, high] = [view.low[at] ?? 0, view.high[at] ?? 0];
      boxes[4 * k + 2 * axis] = (low + high) / 2;
      boxes[4 * k + 2 * axis + 1] = Math.max((high - low) / 2, 1e-3);
    }
  });
  return { from, step: (to - from) / bins, boxes };
}

/**
 * Where each vertex lies on the surface that the light is worked out on: share of the body's span, and the angle from across
 * towards through as a share of a turn, the section drawn out to a circle first. For pieces, which carry no light
 * coordinates of their own.
 */
export function lightPlaces(mesh: Decoded, body: Rings, path: readonly Bend[], span: readonly [number, number]): Float32Array {
  const n = mesh.positions.length / 3;
  const last = body.boxes.length / 4 - 1;
  const out = new Float32Array(n * 2);
  for (let i = 0; i < n; i += 1) {
    const x = mesh.origin[0] + mesh.step * mesh.positions[3 * i]!;
    const k = 4 * Math.min(Math.max(Math.floor((x - body.from) / body.step), 0), last);
    const y = mesh.origin[1] + mesh.step * mesh.positions[3 * i + 1]! - body.boxes[k]!;
    const z = mesh.origin[2] + mesh.step * mesh.positions[3 * i + 2]! - body.boxes[k + 2]!;
    out[2 * i] = (pathAt(path, x)[0] - span[0]) / (span[1] - span[0]);
    out[2 * i + 1] = Math.atan2(z / body.boxes[k + 3]!, y / body.boxes[k + 1]!) / (2 * Math.PI);
  }
  return out;
}

/** The outline of meshes seen along one axis: lowest and highest value in each of `bins` equal steps along the prop. */
export interface Silhouette { x: number[]; low: number[]; high: number[] }

/** Seen from the side (`up` 2: through the thickness) or from the top (`up` 1: across the width). */
export function silhouette(meshes: readonly Decoded[], from: number, to: number, bins: number, up: 1 | 2): Silhouette {
  const low = new Float64Array(bins + 1).fill(Infinity);
  const high = new Float64Array(bins + 1).fill(-Infinity);
  const width = (to - from) / bins;
  const spread = (xa: number, va: number, xb: number, vb: number) => {
    const [x0, v0, x1, v1] = xa <= xb ? [xa, va, xb, vb] : [xb, vb, xa, va];
    const first = Math.ceil((x0 - from) / width - 1e-6);
    const last = Math.floor((x1 - from) / width + 1e-6);
    for (let k = Math.max(first, 0); k <= Math.min(last, bins); k += 1) {
      const t = x1 > x0 ? Math.min(Math.max((from + k * width - x0) / (x1 - x0), 0), 1) : 0;
      const v = v0 + (v1 - v0) * t;
      if (v < low[k]!) low[k] = v;
      if (v > high[k]!) high[k] = v;
    }
  };
  for (const mesh of meshes) {
    const { indices, positions, origin, step } = mesh;
    const at = (i: number, axis: 0 | 1 | 2) => origin[axis] + step * positions[3 * i + axis]!;
    for (let t = 0; t < indices.length; t += 3) {
      const [a, b, c] = [indices[t]!, indices[t + 1]!, indices[t + 2]!];
      spread(at(a, 0), at(a, up), at(b, 0), at(b, up));
      spread(at(b, 0), at(b, up), at(c, 0), at(c, up));
      spread(at(c, 0), at(c, up), at(a, 0), at(a, up));
    }
  }
  const shape: Silhouette = { x: [], low: [], high: [] };
  for (let k = 0; k <= bins; k += 1) {
    if (low[k]! > high[k]!) continue;
    shape.x.push(from + k * width);
    shape.low.push(low[k]!);
    shape.high.push(high[k]!);
  }
  return shape;
}
