// From the scene to things on show: meshes fetched once by the name of their bytes.

import { bytes } from "../api/client";
import type { Light, Scene } from "../api/types";
import { type Bend, type Decoded, type Rings, decode, lightPlaces, rings } from "./mesh";
import type { Thing } from "./theatre";

const meshes = new Map<string, Promise<Decoded>>();
const ringsOf = new WeakMap<Decoded, Rings>();
const placesOf = new WeakMap<Decoded, { key: string; at: Float32Array }>();

/** Pieces are shown with every triangle up to so many of all of them; above, their lighter copies. */
const MOST_WHOLE = 400_000;

/** `name`: a hash, with `?full=1` behind it for the mesh as it prints. */
function mesh(name: string): Promise<Decoded> {
  let known = meshes.get(name);
  if (!known) {
    known = bytes(`/api/mesh/${name}`).then(decode);
    meshes.set(name, known);
    // What could not be fetched is asked for again next time.
    known.catch(() => meshes.delete(name));
  }
  return known;
}

/** Things of a scene, in the order of the prop. Meshes that no scene shows any more are forgotten. */
export async function things(scene: Scene, light: Light | null): Promise<Thing[]> {
  const pieces = scene.shows === "pieces";
  const whole = scene.pieces.reduce((sum, p) => sum + p.mesh.full_triangles, 0) <= MOST_WHOLE;
  const pieceMesh = (p: Scene["pieces"][number]) => (whole && p.mesh.triangles < p.mesh.full_triangles ? `${p.mesh.hash}?full=1` : p.mesh.hash);
  const wanted = [
    ...(pieces ? scene.pieces.map(pieceMesh) : scene.bodies.map((b) => b.mesh.hash)),
    ...scene.bodies.filter((b) => light?.bodies.some((l) => l.id === b.id)).map((b) => b.mesh.hash),
    ...scene.fittings.map((f) => f.mesh.hash),
  ];
  const got = new Map<string, Decoded>();
  await Promise.all([...new Set(wanted)].map(async (hash) => got.set(hash, await mesh(hash))));
  for (const hash of meshes.keys()) if (!got.has(hash)) meshes.delete(hash);

  const litBody = (name: string) => {
    const body = scene.bodies.find((b) => b.name === name);
    const of = light?.bodies.find((l) => l.id === body?.id);
    const shape = body ? got.get(body.mesh.hash) : undefined;
    return of && shape ? { of, shape } : null;
  };
  const lightAt = (of: Decoded, body: string): Pick<Thing, "light" | "lightAt"> => {
    const found = litBody(body);
    if (!found) return { light: null, lightAt: null };
    const { id, from_mm, step_mm, along } = found.of;
    const span = [from_mm, from_mm + step_mm * along] as const;
    const key = `${id} ${span.join()}`;
    let at = placesOf.get(of);
    if (at?.key !== key) {
      const body = ringsOf.get(found.shape) ?? rings(found.shape);
      ringsOf.set(found.shape, body);
      // The card's first row is the first patch along, its first column the first angle.
      const places = lightPlaces(of, body, scene.path as readonly Bend[], span);
      const swapped = new Float32Array(places.length);
      for (let i = 0; i < places.length; i += 2) {
        swapped[i] = places[i + 1]!;
        swapped[i + 1] = places[i]!;
      }
      at = { key, at: swapped };
      placesOf.set(of, at);
    }
    return { light: id, lightAt: at.at };
  };

  const shown: Thing[] = [];
  if (pieces) {
    for (const p of scene.pieces) {
      const of = got.get(pieceMesh(p))!;
      const kind = p.role === "cover" ? "cover" : "piece";
      shown.push({ id: p.id, kind, number: p.number, mesh: of, ...lightAt(of, p.body) });
    }
  } else {
    scene.bodies.forEach((b, number) => {
      const of = got.get(b.mesh.hash)!;
      shown.push({ id: b.id, kind: b.role === "cover" ? "cover" : "body", number, mesh: of, ...lightAt(of, b.name) });
    });
  }
  scene.fittings.forEach((f, number) => {
    shown.push({ id: f.id, kind: f.kind, number, mesh: got.get(f.mesh.hash)!, light: null, lightAt: null });
  });
  return shown;
}
