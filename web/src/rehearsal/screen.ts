/** A colour of the screen for driven bytes (linear light; sRGB after IEC 61966-2-1). */
export function onScreen(driven: number): number {
  const v = driven / 255;
  return Math.round(255 * (v <= 0.0031308 ? 12.92 * v : 1.055 * v ** (1 / 2.4) - 0.055));
}
