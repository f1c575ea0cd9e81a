/** The ease as colours on the part, for files that hold colours and for the screens. */

/** Inside the body; short of the room needed; then further off, mm above the room needed. */
const STOPS: readonly (readonly [number, number, number, number])[] = [
  [-4, 128, 16, 48],
  [0, 204, 62, 48],
  [2, 226, 148, 66],
  [6, 236, 214, 138],
  [14, 116, 170, 150],
  [30, 62, 104, 150],
];

/**
 * 8-bit RGB per vertex for gaps in mm: dark red inside the body, red where the room needed is just missing, over yellow
 * to blue where it is far away. `neededMm` shifts the scale. O(vertices).
 */
export function easeColours(gapsMm: Float64Array, neededMm: number): Uint8Array {
  const colours = new Uint8Array(3 * gapsMm.length);
  gapsMm.forEach((gap, v) => {
    const over = gap - neededMm;
    let i = 1;
    while (i < STOPS.length - 1 && over > STOPS[i][0]) i++;
    const [low, high] = [STOPS[i - 1], STOPS[i]];
    const share = Math.min(1, Math.max(0, (over - low[0]) / (high[0] - low[0])));
    for (let k = 0; k < 3; k++) colours[3 * v + k] = Math.round(low[k + 1] + share * (high[k + 1] - low[k + 1]));
  });
  return colours;
}
