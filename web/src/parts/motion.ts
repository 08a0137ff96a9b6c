// Things that move by themselves for a moment; at once for whoever wants no motion.

/** Whether motion is to be spared. */
const still = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

/** Goes from one value to another, gently at both ends; gives what stops it. */
export function glide(from: number, to: number, ms: number, put: (value: number) => void, over?: () => void): () => void {
  if (still() || from === to) {
    put(to);
    over?.();
    return () => undefined;
  }
  const began = performance.now();
  let asked = requestAnimationFrame(function step() {
    const t = Math.min((performance.now() - began) / ms, 1);
    put(from + (to - from) * t * t * (3 - 2 * t));
    if (t < 1) asked = requestAnimationFrame(step);
    else over?.();
  });
  return () => cancelAnimationFrame(asked);
}
