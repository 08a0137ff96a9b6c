// What a motion sensor in the grip feels of a hand that moves.

/** From the wrist to the sensor, m: about a forearm's reach in the grip (common practice, no source). */
const REACH_M = 0.25;
const G = 9.80665;

/** How the prop lies: tip up, and turned, degrees. */
export interface Held { pitch: number; yaw: number }

/** One reading of the sensor: force, g; rates, degrees a second; button. */
export type Sample = [number, number, number, number, number, number, number];

/**
 * What a sensor in the grip feels on the way from one attitude to another in `count` even steps of `step_s`: gravity as the
 * prop is tilted, the pull outwards of the swing, and its rates. `knock` is a blow across, g, felt in the first few steps.
 */
export function felt(from: Held, to: Held, count: number, step_s: number, button: boolean, knock: number): Sample[] {
  const rate = (a: number, b: number) => (b - a) / (count * step_s);
  const [up, side] = [rate(from.pitch, to.pitch), rate(from.yaw, to.yaw)];
  const spin = (Math.hypot(up, side) * Math.PI) / 180;
  const pull = (spin * spin * REACH_M) / G;
  return Array.from({ length: count }, (_, i) => {
    const pitch = ((from.pitch + ((to.pitch - from.pitch) * (i + 1)) / count) * Math.PI) / 180;
    const blow = knock > 0 && i < 3 ? knock * (1 - i / 3) : 0;
    // At rest it feels the ground push up: along the prop as it is tilted. A swing pulls towards the hand.
    return [Math.sin(pitch) - pull, blow, Math.cos(pitch), 0, -up, side, button ? 1 : 0];
  });
}
