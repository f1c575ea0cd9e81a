/** A form drawn as for paper, from two sides at one scale, with spans and tapes where they lie. Pure. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import type { FormPicture } from '../../../shared-types/operations/desk-pictures.ts';
import type { DrawnSpan } from '../measure/drawn-spans.ts';
import type { DrawnTape } from '../measure/drawn-tapes.ts';
import { boundsOf } from '../mesh/quantities.ts';
import { paperPicture, type PaperPicture } from './paper-picture.ts';
import { viewFrom } from './shade-mesh.ts';

/** Fine enough that a print at 1:3 has about 200 dots to the inch. */
const PIXELS_PER_MM = 2.8;
const PICTURE_MARGIN_MM = 8;
/** A tape is drawn in steps of this length, and where it lies no deeper than this behind what is seen. */
const TAPE_STEP_MM = 4;
const TAPE_DEPTH_MM = 2;

/** Toward -x and toward -y; `axis` runs across the picture. */
const VIEWS = [
  { view: viewFrom(0, 0), axis: 1 },
  { view: viewFrom(90, 0), axis: 0 },
] as const;

/** Two views at one scale. `tick` is called every few milliseconds. O(faces + pixels). */
export function formPictures(
  mesh: Mesh,
  { spans, tapes }: { readonly spans: readonly DrawnSpan[]; readonly tapes: readonly DrawnTape[] },
  tick: () => void = () => undefined,
): FormPicture[] {
  const { min, max } = boundsOf(mesh.positions);
  const heightMm = max[2] - min[2] + 2 * PICTURE_MARGIN_MM;
  return VIEWS.map(({ view, axis }) => {
    const widthMm = max[axis] - min[axis] + 2 * PICTURE_MARGIN_MM;
    const picture = paperPicture(mesh, view, { widthMm, heightMm, pixelsPerMm: PIXELS_PER_MM }, tick);
    // A span that runs mostly toward the eye would be drawn too short: it belongs on the other picture.
    const across = spans.filter(({ from, to }) => {
      const [side, ahead] = [Math.abs(from[axis] - to[axis]), Math.abs(from[1 - axis] - to[1 - axis])];
      return Math.hypot(side, from[2] - to[2]) > ahead;
    });
    const { grey, width, height } = picture;
    return {
      grey,
      width,
      height,
      widthMm,
      heightMm,
      spans: across.map(({ name, from, to }) => ({
        name,
        from: picture.toPicture(from),
        to: picture.toPicture(to),
      })),
      tapes: tapes.map((one) => ({ name: one.name, runs: seenRuns(one, picture) })),
    };
  });
}

/** The stretches of a tape that are on the near side. */
function seenRuns({ tape, isClosed }: DrawnTape, picture: PaperPicture): number[][] {
  const count = tape.length / 3;
  const corner = (k: number): Vec3 => [tape[(k % count) * 3], tape[(k % count) * 3 + 1], tape[(k % count) * 3 + 2]];
  const runs: number[][] = [];
  let isOn = false;
  for (let k = 0; k < (isClosed ? count : count - 1); k++) {
    const [a, b] = [corner(k), corner(k + 1)];
    const steps = Math.max(1, Math.ceil(Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]) / TAPE_STEP_MM));
    for (let step = 0; step < steps; step++) {
      const share = step / steps;
      const point: Vec3 = [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]), a[2] + share * (b[2] - a[2])];
      const isSeen = picture.depthBehind(point) < TAPE_DEPTH_MM;
      if (isSeen && !isOn) runs.push([]);
      if (isSeen) runs.at(-1)?.push(...picture.toPicture(point));
      isOn = isSeen;
    }
  }
  // Of a closed one the last stretch goes on at the first corner.
  const [first, last] = [runs[0], runs.at(-1)];
  if (
    isClosed &&
    isOn &&
    first !== undefined &&
    last !== undefined &&
    first !== last &&
    picture.depthBehind(corner(0)) < TAPE_DEPTH_MM
  ) {
    runs[0] = [...last, ...first];
    runs.pop();
  }
  return runs.filter((run) => run.length >= 4);
}
