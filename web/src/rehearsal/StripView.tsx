// The strip as it is driven now, pixel by pixel from the wire's end: what is seen even where the prop itself is not lit yet.

import { frame } from "../state/looks";
import { onScreen } from "./screen";

export function StripView() {
  const f = frame.value;
  if (!f) return null;
  const n = Math.floor(f.length / 3);
  const on = Array.from({ length: n }, (_, i) => [f[3 * i]!, f[3 * i + 1]!, f[3 * i + 2]!].map(onScreen));
  const bright = on.filter((c) => Math.max(...c) > 8).length;
  return (
    <svg class="strip-view" viewBox={`0 0 ${Math.max(n, 1)} 1.4`} preserveAspectRatio="none" width="100%" height="22" role="img" aria-label={`The strip: ${bright} of ${n} pixels shine`}>
      <rect width={n} height="1.4" fill="#0b0f14" />
      {on.map((c, i) => <rect key={i} x={i + 0.12} y={0.2} width={0.76} height={1} fill={`rgb(${c.join()})`} />)}
    </svg>
  );
}
