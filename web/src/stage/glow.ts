// From how far each pixel is driven to how bright each patch of the surface is: the program's responses, summed here, so that
// another colour shows at once.

import type { Light } from "../api/types";

/** What each pixel at full does to each patch of the surface. */
export interface Responses {
  texels: number;
  pixels: number;
  /** Area of each patch, mm2; 0 where there is no surface. */
  area: Float32Array;
  /** For each response: a scale for each patch, and shares patch by patch, pixel by pixel. */
  scale: Float32Array[];
  share: Uint16Array[];
}

/** Reads `light.bin`; throws with what is wrong when it is none. */
export function decodeResponses(bytes: ArrayBuffer): Responses {
  const view = new DataView(bytes);
  const word = bytes.byteLength >= 16 ? String.fromCharCode(...new Uint8Array(bytes, 0, 4)) : "";
  if (word !== "LTLR" || view.getUint16(4, true) !== 1) throw new Error("this is no light of the workbench's form 1");
  const n = view.getUint16(6, true);
  const texels = view.getUint32(8, true);
  const pixels = view.getUint32(12, true);
  const each = texels * 4 + texels * pixels * 2;
  if (bytes.byteLength < 16 + texels * 4 + n * each) throw new Error("the light ended too early");
  // Copied where a response does not begin at a multiple of four.
  const floats = (at: number) => new Float32Array(bytes.slice(at, at + texels * 4));
  const area = floats(16);
  const scale: Float32Array[] = [];
  const share: Uint16Array[] = [];
  for (let r = 0; r < n; r += 1) {
    const at = 16 + texels * 4 + r * each;
    scale.push(floats(at));
    share.push(new Uint16Array(bytes.slice(at + texels * 4, at + each)));
  }
  return { texels, pixels, area, scale, share };
}

/** Light as it is driven, 0 to 255, of one channel of a screen colour "#rrggbb" (sRGB, IEC 61966-2-1). */
export function linear(channel: number): number {
  const v = channel / 255;
  return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
}

/** How far red, green and blue are driven for a screen colour, linear, 0 to 1. */
export function drivenBy(colour: string): [number, number, number] {
  const part = (i: number) => linear(Number.parseInt(colour.slice(i, i + 2), 16) || 0);
  return [part(1), part(3), part(5)];
}

/**
 * Luminance of every patch, cd/m2: red, green and blue one after the other for each patch. `driven`: red, green, blue of each
 * pixel through all strips, linear, 0 to 1.
 */
export function luminance(light: Light, responses: Responses, driven: Float32Array): Float32Array {
  const { texels, pixels, area, scale, share } = responses;
  const out = new Float32Array(texels * 3);
  const sums = new Float64Array(texels);
  for (let r = 0; r < share.length; r += 1) {
    const rows = share[r]!;
    for (let c = 0; c < 3; c += 1) {
      if (light.response_of[c] !== r) continue;
      sums.fill(0);
      const lit: number[] = [];
      for (let p = 0; p < pixels; p += 1) if (driven[3 * p + c]! > 0) lit.push(p);
      if (lit.length === 0) continue;
      for (let t = 0; t < texels; t += 1) {
        if (area[t]! <= 0) continue;
        let sum = 0;
        const row = t * pixels;
        for (const p of lit) sum += rows[row + p]! * driven[3 * p + c]!;
        const flux = (sum * scale[r]![t]! * light.pixel_lm[c]!) / 65535;
        out[3 * t + c] = flux / (area[t]! * 1e-6) / Math.PI;
      }
    }
  }
  return out;
}

/** All pixels in one colour at a share of full, each as far as the project's levels let it go. */
export function allIn(light: Light, colour: string, level: number): Float32Array {
  const rgb = drivenBy(colour);
  const out = new Float32Array(light.pixels * 3);
  for (let p = 0; p < light.pixels; p += 1) {
    for (let c = 0; c < 3; c += 1) out[3 * p + c] = rgb[c]! * level * (light.levels[p] ?? 1);
  }
  return out;
}

/** A frame of a rehearsal on all strips, which show the same: driven bytes of one strip. */
export function ofFrame(light: Light, frame: Uint8Array): Float32Array {
  const out = new Float32Array(light.pixels * 3);
  const one = Math.max(Math.round(light.pixels / Math.max(light.strips, 1)), 1);
  for (let p = 0; p < light.pixels; p += 1) {
    for (let c = 0; c < 3; c += 1) out[3 * p + c] = (frame[3 * (p % one) + c] ?? 0) / 255;
  }
  return out;
}

/**
 * Colours of patches for the card, linear: red, green, blue and 1 of each, floats since bytes would band. 1 of all three is
 * the screen's white, which stands for `white` cd/m2: an eye that is used to the strip's own white sees it as white, so each
 * chip counts by its share `pixel_lm` of that.
 */
export function texture(lum: Float32Array, first: number, count: number, white: number, pixel_lm: readonly number[]): Float32Array {
  const whole = pixel_lm.reduce((sum, lm) => sum + lm, 0);
  const out = new Float32Array(count * 4);
  for (let t = 0; t < count; t += 1) {
    for (let c = 0; c < 3; c += 1) out[4 * t + c] = (lum[3 * (first + t) + c]! * whole) / (Math.max(pixel_lm[c]!, 1e-9) * white);
    out[4 * t + 3] = 1;
  }
  return out;
}
