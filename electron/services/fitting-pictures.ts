/** The pictures of a form for its fitting sheet, with spans and tapes drawn where they lie. */
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import type { FormRevision } from '../../shared-types/records/form.ts';
import { drawnSpansOf } from '../geometry/measure/drawn-spans.ts';
import { drawnTapesOf, type DrawnTape } from '../geometry/measure/drawn-tapes.ts';
import { boundsOf } from '../geometry/mesh/quantities.ts';
import type { SheetPicture } from '../papers/fitting-sheet.ts';
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

export interface Standing {
  /** The form's axes in words. */
  readonly frame: string;
  readonly captions: readonly [string, string];
}
const UPRIGHT: Standing = {
  frame: 'x forward, y to the wearer’s left, z up',
  captions: ['From the front', 'From the wearer’s left'],
};
/** By the way a form was stood up, where it is not upright like a head or torso. */
const OTHER_STANDING: Readonly<Record<string, Standing>> = {
  limb: {
    frame: 'x toward thumb or kneecap, z along it toward the trunk',
    captions: ['From thumb or kneecap', 'A quarter round from there'],
  },
  part: { frame: 'as its three points set it', captions: ['Along its first axis', 'Along its second axis'] },
};

export function standingOf({ steps }: Pick<FormRevision, 'steps'>): Standing {
  const method = steps.find(({ verb }) => verb === 'stand')?.figures['method'];
  return (typeof method === 'string' ? OTHER_STANDING[method] : undefined) ?? UPRIGHT;
}

export interface DrawnLengths {
  readonly spans: ReturnType<typeof drawnSpansOf>;
  readonly tapes: ReturnType<typeof drawnTapesOf>;
}

export const drawnLengthsOf = (mesh: Mesh, revision: FormRevision): DrawnLengths => ({
  spans: drawnSpansOf(revision),
  tapes: drawnTapesOf(revision, mesh),
});

/** Two views at one scale. `tags` are the numbers of the lengths in the table. O(faces + pixels). */
export function picturesOf(
  mesh: Mesh,
  standing: Standing,
  { spans, tapes }: DrawnLengths,
  tags: ReadonlyMap<string, string>,
): SheetPicture[] {
  const { min, max } = boundsOf(mesh.positions);
  const heightMm = max[2] - min[2] + 2 * PICTURE_MARGIN_MM;
  return VIEWS.map(({ view, axis }, index) => {
    const widthMm = max[axis] - min[axis] + 2 * PICTURE_MARGIN_MM;
    const picture = paperPicture(mesh, view, { widthMm, heightMm, pixelsPerMm: PIXELS_PER_MM });
    // A span that runs mostly toward the eye would be drawn too short: it belongs on the other picture.
    const across = spans.filter(({ from, to }) => {
      const [side, ahead] = [Math.abs(from[axis] - to[axis]), Math.abs(from[1 - axis] - to[1 - axis])];
      return Math.hypot(side, from[2] - to[2]) > ahead;
    });
    return {
      png: picture.png,
      caption: standing.captions[index],
      widthMm: picture.widthMm,
      heightMm: picture.heightMm,
      lengths: across.map(({ name, from, to }) => ({
        tag: tags.get(name) ?? '',
        from: picture.toPicture(from),
        to: picture.toPicture(to),
      })),
      tapes: tapes.map((one) => ({ tag: tags.get(one.name) ?? '', runs: seenRuns(one, picture) })),
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
