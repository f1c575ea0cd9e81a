/** A limb or trunk as a stack of level sections, for invented bodies. */
import type { Field } from '../geometry/figure/polygonise.ts';

/** Height, half the depth (x), half the breadth (y), and where its middle lies along x, mm. */
export type Section = readonly [z: number, halfX: number, halfY: number, middleX: number];

/**
 * A body whose level sections are ovals, smoothly changing between those given (Catmull-Rom through the heights, which
 * rise). The oval's exponent is 2 for an ellipse, more for a fuller one. It ends nowhere: cut it with planes.
 */
export function stack(sections: readonly Section[], exponent: number): Field {
  const at = new Float64Array(4);
  const low = sections[0][0];
  const high = sections[sections.length - 1][0];
  return (x, y, z) => {
    sectionAt(sections, Math.min(high, Math.max(low, z)), at);
    const k = (Math.abs((x - at[3]) / at[1]) ** exponent + Math.abs(y / at[2]) ** exponent) ** (1 / exponent);
    // About a distance: the overshoot in shares of the way to the middle, times that way.
    return (k - 1) * (k < 1 ? Math.min(at[1], at[2]) : Math.hypot(x - at[3], y) / k);
  };
}

function sectionAt(sections: readonly Section[], z: number, out: Float64Array): void {
  let i = 0;
  while (i < sections.length - 2 && sections[i + 1][0] < z) i++;
  const [a, b, c, d] = [Math.max(0, i - 1), i, i + 1, Math.min(sections.length - 1, i + 2)].map((n) => sections[n]);
  const t = (z - b[0]) / (c[0] - b[0]);
  for (let k = 1; k < 4; k++) {
    const into = ((c[k] - a[k]) / (c[0] - a[0])) * (c[0] - b[0]);
    const from = ((d[k] - b[k]) / (d[0] - b[0])) * (c[0] - b[0]);
    const t2 = t * t,
      t3 = t2 * t;
    out[k] = (2 * t3 - 3 * t2 + 1) * b[k] + (t3 - 2 * t2 + t) * into + (-2 * t3 + 3 * t2) * c[k] + (t3 - t2) * from;
  }
}
