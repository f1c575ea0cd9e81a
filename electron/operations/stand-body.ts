/** Which landmarks stand a limb, a torso or a part up, and what is done without them: shared with `form`. */
import { fault } from '../../shared-types/faults/index.ts';
import type { Matrix4, Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { REGIONS } from '../../shared-types/measures/index.ts';
import { done, failed, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { RunContext } from '../../shared-types/progress.ts';
import type { Standing } from '../../shared-types/recipe.ts';
import { guessLimb, guessTorso, standLimb, standPart, standTorso } from '../geometry/register/stand-body.ts';
import { openEnd, type Stood } from '../geometry/register/stand-up.ts';

type Placed = Readonly<Record<string, Vec3>>;

interface Joints {
  readonly what: string;
  readonly lower: readonly string[];
  /** One of them will do. */
  readonly upper: readonly string[];
  readonly ahead: string;
}

const LIMBS: readonly Joints[] = [
  { what: 'forearm', lower: [], upper: [], ...REGIONS.arm.axis, ahead: 'stylion-radiale' },
  { what: 'lower leg', lower: [], upper: [], ...REGIONS.leg.axis, ahead: 'patella' },
];

const TORSO = ['suprasternale', 'cervicale', 'xiphion', 'midback'] as const;
const PART = ['part-origin', 'part-ahead', 'part-left'] as const;

/** By the landmarks of the region's frame; by a guess, with a warning, where none is placed. */
export function standBody(
  region: Exclude<Standing, 'head'>,
  mesh: Mesh,
  placed: Placed,
  warnings: Warning[],
  run: RunContext,
): Outcome<Stood> {
  if (Object.keys(placed).length > 0 || region === 'part') {
    const stood = byLandmarks(region, placed);
    if (stood.ok && region === 'limb') warnings.push(...endDoubt(mesh, stood.value, run));
    return stood;
  }
  const stood =
    region === 'limb'
      ? guessLimb(mesh, () => run.step('stand', 0, 1))
      : guessTorso(mesh, (share) => run.step('stand', share, 1));
  if (stood === undefined) return failed(fault('mesh.no-faces', {}));
  warnings.push({
    code: 'stand.guessed',
    sentence: `No landmarks were given, so the ${region} was stood up by a guess (confidence ${(stood.confidence * 100).toFixed(0)} %); look at it, and which way it faces, and give the landmarks of its frame.`,
  });
  return done(stood);
}

/** Cosine from upright beyond which a cut end counts as looking away from the trunk. */
const LOOKS_DOWN = -0.5;

/** A limb is cut where it joined the trunk: a cut end that looks the other way speaks of joints exchanged. */
function endDoubt(mesh: Mesh, { matrix }: Stood, run: RunContext): Warning[] {
  const end = openEnd(mesh, () => run.step('stand', 0, 1));
  // Rows of the matrix are the axes: the third is up.
  const rise = end === undefined ? 0 : end.normal.reduce((sum, x, k) => sum + x * matrix[8 + k], 0);
  if (rise > LOOKS_DOWN) return [];
  const sentence =
    'With these landmarks the open or cut end of the limb looks away from the trunk; if it is where the limb joined the body, upper and lower joint are exchanged.';
  return [{ code: 'stand.upside-down', sentence }];
}

function byLandmarks(region: Exclude<Standing, 'head'>, placed: Placed): Outcome<Stood> {
  const isMissing = (name: string): boolean => placed[name] === undefined;
  const give = (matrix: Matrix4 | undefined): Outcome<Stood> =>
    matrix === undefined
      ? failed(fault('landmark.in-line', {}))
      : done({ matrix, method: region, confidence: 1 } satisfies Stood);
  const lack = (what: string, names: readonly string[]): Outcome<Stood> =>
    failed(fault('landmark.frame', { what, names: names.join(', ') }));
  if (region === 'torso') {
    const missing = TORSO.filter(isMissing);
    if (missing.length > 0) return lack('torso', missing);
    const [suprasternale, cervicale, xiphion, midback] = TORSO.map((name) => placed[name]);
    return give(standTorso({ suprasternale, cervicale, xiphion, midback }));
  }
  if (region === 'part') {
    const missing = PART.filter(isMissing);
    if (missing.length > 0) return lack('part', missing);
    const [origin, ahead, left] = PART.map((name) => placed[name]);
    return give(standPart(origin, ahead, left));
  }
  const known = ({ lower, upper, ahead }: Joints): number =>
    new Set([...lower, ...upper, ahead].filter((name) => !isMissing(name))).size;
  const [limb] = LIMBS.toSorted((a, b) => known(b) - known(a));
  const upper = limb.upper.filter((name) => !isMissing(name));
  const missing = new Set([...limb.lower, limb.ahead].filter(isMissing));
  if (upper.length === 0) missing.add(limb.upper.join(' or '));
  if (missing.size > 0) return lack(limb.what, [...missing]);
  return give(
    standLimb(
      limb.lower.map((name) => placed[name]),
      upper.map((name) => placed[name]),
      placed[limb.ahead],
    ),
  );
}
