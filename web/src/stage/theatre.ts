// The prop in three dimensions: what is where, and one picture of it whenever something changed. Nothing is drawn meanwhile.

import * as three from "three";
import type { Point, Span } from "../axis/axis";
import { type Decoded, sketched } from "./mesh";
import { MOST_CUTS, fragment, vertex } from "./shader";
import type { Moved } from "./ways";

/** A thing to be shown. */
export interface Thing {
  id: string;
  kind: "piece" | "body" | "cover" | "strip" | "spine" | "part";
  /** Counts pieces, so that neighbours have another tone. */
  number: number;
  mesh: Decoded;
  /** Light coordinates, and which body's light they are in. */
  lightAt: Float32Array | null;
  light: string | null;
}

/** A plane: unit normal, and its distance from the origin, mm. */
export type Plane = readonly [number, number, number, number];

/** How it is looked at. */
export interface Look {
  shown: Span;
  /** Where `shown` lies on the canvas, px. */
  page: Span;
  /** Turned about the prop's own axis, and about the upright, degrees. */
  roll: number;
  yaw: number;
  bright: boolean;
  lit: boolean;
  open: boolean;
  /** 0 together, 1 well apart. */
  apart: number;
  moved: Moved | null;
  cuts: readonly Plane[];
  station: Plane | null;
  chosen: readonly string[];
  dark: boolean;
}

interface Placed {
  thing: Thing;
  object: three.Mesh;
  material: three.ShaderMaterial;
  line: three.Mesh | null;
  whole: three.BufferAttribute;
  /** Its triangles in a sketch, once there was one. */
  sketch: three.BufferAttribute | null;
}

/** Larger ones are shown without a line of ink round them: it is drawn by drawing them twice. */
const MOST_LINED = 400_000;

/** Without a graphics card, what moves is sketched: with fewer pixels, fewer triangles of about this size (mm), and no line of
 * ink. The whole picture follows when nothing has moved for so long, ms. */
const SKETCH = { pixels: 0.5, triangle: 8, rest: 300 };

/** Without a graphics card, edges are made smooth by more pixels rather than by samples of each: those would take half the time
 * of a sketch. */
const SMOOTH_PIXELS = 2;

const SEATED = new three.Matrix4();

const TONES = {
  light: { piece: ["#fbf8f0", "#efebdf"], cover: ["#cfd3d2", "#cfd3d2"], strip: ["#c9b98f", "#c9b98f"], spine: ["#9aa7b2", "#9aa7b2"], part: ["#b9c3b1", "#c7b3c1"] },
  dark: { piece: ["#77808a", "#6a737d"], cover: ["#5d6a72", "#5d6a72"], strip: ["#8a7b55", "#8a7b55"], spine: ["#8fa0ae", "#8fa0ae"], part: ["#6f7d66", "#7d6676"] },
} as const;

/** A canvas with the prop on it. */
export class Theatre {
  readonly renderer: three.WebGLRenderer;
  /** Whether the pictures are computed without a graphics card. */
  readonly software: boolean;
  private readonly camera = new three.OrthographicCamera();
  private readonly scene = new three.Scene();
  private readonly turned = new three.Group();
  private readonly middle = new three.Group();
  private placed: Placed[] = [];
  private readonly textures = new Map<string, three.DataTexture>();
  private readonly shared = {
    ink: { value: new three.Color() },
    ground: { value: new three.Color() },
    room: { value: 1 },
    lit: { value: 0 },
    opened: { value: false },
    opening: { value: new three.Vector4(0, 0, 1, 0) },
    cuts: { value: Array.from({ length: MOST_CUTS }, () => new three.Vector4()) },
    cutCount: { value: 0 },
    station: { value: new three.Vector4() },
    perPixel: { value: 1 },
    density: { value: 1 },
  };
  private readonly swell = { value: 0 };
  private look: Look | null = null;
  private asked = 0;
  /** Rings when nothing has moved for a while; 0 when the picture is whole. */
  private rest = 0;
  private busy = false;

  /** Throws where there is no WebGL. */
  constructor(readonly canvas: HTMLCanvasElement) {
    this.software = drawnInSoftware();
    this.renderer = new three.WebGLRenderer({ canvas, antialias: !this.software, powerPreference: "low-power" });
    this.turned.add(this.middle);
    this.scene.add(this.turned);
  }

  /** Puts other things on show; meshes that stay are kept on the card. */
  show(things: readonly Thing[], bounds: readonly [Point, Point]): void {
    const same = (a: Thing, b: Thing): boolean =>
      a.mesh === b.mesh && a.id === b.id && a.kind === b.kind && a.number === b.number && a.light === b.light && a.lightAt === b.lightAt;
    if (things.length === this.placed.length && things.every((t, k) => same(t, this.placed[k]!.thing))) return;
    const kept = new Map(this.placed.map((p) => [p.thing.mesh, p]));
    const next: Placed[] = [];
    for (const thing of things) {
      const old = kept.get(thing.mesh);
      if (old && old.thing.light === thing.light && old.thing.lightAt === thing.lightAt) {
        kept.delete(thing.mesh);
        next.push({ ...old, thing });
      } else {
        next.push(this.place(thing));
      }
    }
    for (const gone of kept.values()) {
      this.middle.remove(gone.object);
      discard(gone);
    }
    this.placed = next;
    const [low, high] = bounds;
    this.middle.position.set(0, -(low[1] + high[1]) / 2, -(low[2] + high[2]) / 2);
    this.redraw();
  }

  private place(thing: Thing): Placed {
    const { mesh } = thing;
    const geometry = new three.BufferGeometry();
    geometry.setAttribute("position", new three.BufferAttribute(mesh.positions, 3));
    geometry.setAttribute("normal", new three.InterleavedBufferAttribute(new three.InterleavedBuffer(mesh.normals, 4), 3, 0, true));
    if (thing.lightAt) geometry.setAttribute("lightAt", new three.BufferAttribute(thing.lightAt, 2));
    geometry.setIndex(new three.BufferAttribute(mesh.indices, 1));
    const material = new three.ShaderMaterial({
      vertexShader: vertex,
      fragmentShader: fragment,
      side: three.DoubleSide,
      uniforms: {
        ...this.shared,
        origin: { value: new three.Vector3(...mesh.origin) },
        size: { value: mesh.step },
        shift: { value: new three.Vector3() },
        tone: { value: new three.Color() },
        glow: { value: null },
        glows: { value: false },
        chosen: { value: false },
        marking: { value: thing.kind === "piece" || thing.kind === "body" },
        outline: { value: false },
        swell: { value: 0 },
      },
    });
    const object = new three.Mesh(geometry, material);
    object.frustumCulled = false;
    // Where it is, each picture says.
    object.matrixAutoUpdate = false;
    this.middle.add(object);
    let line: three.Mesh | null = null;
    if (mesh.indices.length / 3 <= MOST_LINED) {
      const inked = material.clone();
      inked.side = three.BackSide;
      // What changes from picture to picture is the same for both.
      inked.uniforms = { ...material.uniforms, outline: { value: true }, swell: this.swell };
      line = new three.Mesh(geometry, inked);
      line.frustumCulled = false;
      object.add(line);
    }
    return { thing, object, material, line, whole: geometry.index!, sketch: null };
  }

  /** The light on a body, patch by patch: along, around, and red, green, blue and 1 of each, 1 being the screen's white. */
  setGlow(body: string, along: number, around: number, colours: Float32Array): void {
    const old = this.textures.get(body);
    if (old && old.image.width === around && old.image.height === along) {
      (old.image.data as Float32Array).set(colours);
      old.needsUpdate = true;
    } else {
      old?.dispose();
      const made = new three.DataTexture(colours.slice(), around, along, three.RGBAFormat, three.FloatType);
      made.wrapS = three.RepeatWrapping;
      const smooth = this.renderer.getContext().getExtension("OES_texture_float_linear") !== null;
      made.magFilter = made.minFilter = smooth ? three.LinearFilter : three.NearestFilter;
      made.needsUpdate = true;
      this.textures.set(body, made);
    }
    this.redraw();
  }

  setLook(look: Look): void {
    if (JSON.stringify(look) === JSON.stringify(this.look)) return;
    this.look = look;
    this.redraw();
  }

  /** Whether something else has need of the processor: a picture that takes long waits for that. */
  setBusy(busy: boolean): void {
    this.busy = busy;
    if (this.rest) this.awaitRest();
  }

  private awaitRest(): void {
    clearTimeout(this.rest);
    this.rest = window.setTimeout(() => {
      if (this.busy) return;
      this.rest = 0;
      this.draw(false);
    }, SKETCH.rest);
  }

  /** The canvas has another size: css px. */
  resize(width: number, height: number): void {
    this.renderer.setSize(width, height, false);
    this.redraw();
  }

  /** Draws in the next frame, once. */
  redraw(): void {
    if (this.software) this.awaitRest();
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => {
      this.asked = 0;
      this.draw(this.software);
    });
  }

  private draw(sketch: boolean): void {
    const look = this.look;
    if (!look) return;
    const whole = this.software ? SMOOTH_PIXELS : Math.min(devicePixelRatio, 2);
    const pixels = sketch ? SKETCH.pixels : whole;
    if (pixels !== this.renderer.getPixelRatio()) this.renderer.setPixelRatio(pixels);
    const size = this.renderer.getSize(new three.Vector2());
    this.aim(look, size);
    const s = this.shared;
    s.ink.value.set(look.dark ? "#0b0f14" : "#1d2733");
    const room = look.bright ? (look.dark ? "#181e26" : "#f6f3ea") : look.dark ? "#07090c" : "#23272c";
    s.ground.value.set(room);
    this.renderer.setClearColor(s.ground.value, 1);
    s.room.value = look.bright ? 1 : 0.12;
    s.lit.value = look.lit ? 1 : 0;
    s.opened.value = look.open;
    look.cuts.slice(0, MOST_CUTS).forEach((c, i) => s.cuts.value[i]!.set(c[0], c[1], c[2], c[3]));
    s.cutCount.value = Math.min(look.cuts.length, MOST_CUTS);
    s.station.value.set(...(look.station ?? [0, 0, 0, 0]));
    for (const placed of this.placed) {
      const { thing, object, material } = placed;
      if (sketch) placed.sketch ??= new three.BufferAttribute(sketched(thing.mesh, SKETCH.triangle), 1);
      object.geometry.setIndex(sketch ? placed.sketch : placed.whole);
      if (placed.line) placed.line.visible = !sketch;
      const kind = thing.kind === "body" ? "piece" : thing.kind;
      const u = material.uniforms as Record<string, three.IUniform>;
      (u["tone"]!.value as three.Color).set(TONES[look.dark ? "dark" : "light"][kind][thing.number % 2]!);
      const glow = thing.light === null ? undefined : this.textures.get(thing.light);
      u["glow"]!.value = glow ?? null;
      u["glows"]!.value = glow !== undefined;
      u["chosen"]!.value = look.chosen.includes(thing.id);
      this.lift(thing, u["shift"]!.value as three.Vector3, look);
      const within = kind === "strip" || kind === "spine" || kind === "part";
      const moves = look.moved?.ids.includes(thing.id) === true;
      object.matrix.copy(SEATED);
      if (moves) object.matrix.fromArray([...look.moved!.pose]);
      object.matrixWorldNeedsUpdate = true;
      object.visible = (!within || look.open || look.apart > 0 || moves || look.chosen.includes(thing.id)) && !look.moved?.away.includes(thing.id);
    }
    this.renderer.render(this.scene, this.camera);
  }

  /** Pieces go up and down in turn, so that each stays above its stations; what is inside stays where it is. */
  private lift(thing: Thing, shift: three.Vector3, look: Look): void {
    const far = thing.kind === "piece" ? look.apart * 70 * (thing.number % 2 === 0 ? 1 : -1) : thing.kind === "cover" ? look.apart * 130 : 0;
    const roll = (look.roll * Math.PI) / 180;
    // Up the page, whichever way the prop is turned.
    shift.set(0, far * Math.cos(roll), -far * Math.sin(roll));
  }

  private aim(look: Look, size: three.Vector2): void {
    const perPixel = (look.shown[1] - look.shown[0]) / Math.max(look.page[1] - look.page[0], 1);
    this.shared.density.value = this.renderer.getPixelRatio();
    this.shared.perPixel.value = perPixel / Math.min(this.shared.density.value, 1);
    this.swell.value = 1.1 * perPixel;
    const left = look.shown[0] - look.page[0] * perPixel;
    const right = left + size.x * perPixel;
    const half = (size.y * perPixel) / 2;
    const centre = (look.shown[0] + look.shown[1]) / 2;
    const far = 4000 + right - left;
    Object.assign(this.camera, { left: left - centre, right: right - centre, top: half, bottom: -half, near: 1, far: 2 * far });
    this.camera.position.set(0, 0, far);
    this.camera.updateProjectionMatrix();
    this.turned.rotation.set((look.roll * Math.PI) / 180, (look.yaw * Math.PI) / 180, 0, "YXZ");
    this.middle.position.x = -centre;
    // Opened on the side that is looked at: the half towards the eye is taken away.
    const eye = new three.Vector3(0, 0, 1).applyQuaternion(this.turned.quaternion.clone().invert());
    const across = new three.Vector3(0, eye.y, eye.z).normalize();
    const middle = this.middle.position;
    this.shared.opening.value.set(0, across.y, across.z, -across.y * middle.y - across.z * middle.z);
  }

  dispose(): void {
    cancelAnimationFrame(this.asked);
    clearTimeout(this.rest);
    this.placed.forEach(discard);
    for (const t of this.textures.values()) t.dispose();
    this.renderer.dispose();
  }
}

/** Whether pictures are computed without a graphics card here: asked before the canvas has its own, whose samples cannot be
 * changed. Where there is no WebGL it says no, and the canvas throws. */
function drawnInSoftware(): boolean {
  const gl = document.createElement("canvas").getContext("webgl2");
  if (!gl) return false;
  const info = gl.getExtension("WEBGL_debug_renderer_info");
  const name = String(gl.getParameter(info ? info.UNMASKED_RENDERER_WEBGL : gl.RENDERER));
  gl.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|software|basic render/i.test(name);
}

function discard({ object, material, line }: Placed): void {
  object.geometry.dispose();
  material.dispose();
  (line?.material as three.Material | undefined)?.dispose();
}
