/** An invented limb or torso scanned with a phone and measured by hand: the scan, and the recipe a maker would write. */
import type { Matrix4, Vec3 } from '../../shared-types/mesh.ts';
import type { Recipe } from '../../shared-types/recipe.ts';
import { transformPoint } from '../geometry/mesh/transform.ts';
import { inventLeg } from './leg.ts';
import { inventLimb, type InventedBody, type LimbWishes } from './limb.ts';
import { roughen, type PhoneScan, type PhoneScanWishes } from './phone-scan.ts';
import { seeded } from './seeded.ts';
import { inventTorso, type TorsoWishes } from './torso.ts';

export interface ScannedBody {
  readonly body: InventedBody;
  readonly scan: PhoneScan;
  /** Points in the scan's own frame and unit; the readings scatter by their uncertainties. */
  readonly recipe: Recipe;
}

type Point = [number, number, number];

/** The plane through `at` that keeps the side `way` points to, in the body's frame. */
interface Cut {
  readonly at: Vec3;
  readonly way: Vec3;
}

/** Standard uncertainties of a careful maker, mm. */
const LIMB_U_MM = { span: 1, girth: 3 } as const;
const TORSO_U_MM = { span: 3, girth: 8 } as const;

/** A forearm as a phone sees it: the upper arm's cut open, and a patch under the wrist never seen. */
export function scanLimb(wishes: LimbWishes, faces: number, scan: Partial<PhoneScanWishes> = {}): ScannedBody {
  const body = inventLimb(wishes);
  const [x, y, z] = body.landmarks['upperarm-front'];
  const holes = [
    { centre: [x, 0, z + 22] as const, radiusMm: 1.3 * y },
    { centre: [0, -16, -60] as const, radiusMm: 8 },
  ];
  const rough = roughen(body.mesh(faces), { seed: wishes.seed, holes, cutBelowMm: -1000, chair: false, ...scan });
  const cut: Cut = { at: [0, 0, z - 10], way: [0, 0, -1] };
  return { body, scan: rough, recipe: recipeOf(body, 'limb', [cut], rough.truth.formToScan, LIMB_U_MM, wishes.seed) };
}

/** A lower leg as a phone sees it, standing: the thigh's cut open, the sole on the ground and never seen. */
export function scanLeg(wishes: LimbWishes, faces: number, scan: Partial<PhoneScanWishes> = {}): ScannedBody {
  const body = inventLeg(wishes);
  const { stoutness = 1 } = wishes;
  const [, , knee] = body.landmarks['knee-inner'];
  const long = knee / 385;
  const holes = [
    { centre: [0, 0, 522 * long] as const, radiusMm: 85 * stoutness },
    { centre: [150 * stoutness, 0, -70 * long] as const, radiusMm: 6 },
  ];
  const rough = roughen(body.mesh(faces), {
    seed: wishes.seed,
    holes,
    cutBelowMm: -72 * long,
    chair: false,
    // Floating bits are strewn where a head has none; here they would lie inside the body.
    debris: 0,
    ...scan,
  });
  // Above the knee, and where it stood on the ground.
  const cuts: readonly Cut[] = [
    { at: [0, 0, 470 * long], way: [0, 0, -1] },
    { at: [0, 0, -71 * long], way: [0, 0, 1] },
  ];
  return { body, scan: rough, recipe: recipeOf(body, 'limb', cuts, rough.truth.formToScan, LIMB_U_MM, wishes.seed) };
}

/** A torso as a phone sees it: neck and hips open, the armpits never seen. */
export function scanTorso(wishes: TorsoWishes, faces: number, scan: Partial<PhoneScanWishes> = {}): ScannedBody {
  const body = inventTorso(wishes);
  const { height = 1, breadth = 1 } = wishes;
  const holes = [
    { centre: [12, 0, 92 * height] as const, radiusMm: 66 },
    ...[1, -1].map((side) => ({ centre: [-8, side * 168 * breadth, -128 * height] as const, radiusMm: 18 })),
  ];
  const rough = roughen(body.mesh(faces), {
    seed: wishes.seed,
    holes,
    cutBelowMm: -455 * height,
    // Floating bits are strewn where a head has none; here they would lie inside the body.
    debris: 0,
    ...scan,
  });
  const cuts: readonly Cut[] = [
    { at: [0, 0, -435 * height], way: [0, 0, 1] },
    { at: [0, 0, 45 * height], way: [0, 0, -1] },
  ];
  return { body, scan: rough, recipe: recipeOf(body, 'torso', cuts, rough.truth.formToScan, TORSO_U_MM, wishes.seed) };
}

function recipeOf(
  { landmarks, spans, girths, extremes = [] }: InventedBody,
  region: 'limb' | 'torso',
  cuts: readonly Cut[],
  formToScan: Matrix4,
  u: { readonly span: number; readonly girth: number },
  seed: number,
): Recipe {
  const random = seeded(seed + 1270);
  const place = (p: Vec3): Point => [...transformPoint(formToScan, p)] as Point;
  // What a hand does to a true length: its own scatter, read to half a millimetre.
  const read = (trueMm: number, uMm: number): number => Math.round(2 * (trueMm + uMm * random.normal())) / 2;
  return {
    region,
    trim: cuts.map(({ at, way }) => {
      const [from, to] = [place(at), place([at[0] + way[0], at[1] + way[1], at[2] + way[2]])];
      return [...from, to[0] - from[0], to[1] - from[1], to[2] - from[2]] as [number, number, number, ...Point];
    }),
    landmarks: Object.fromEntries(Object.entries(landmarks).map(([name, point]) => [name, place(point)])),
    spans: spans.map(({ name, from, to, lengthMm }) => ({
      name,
      from: place(from),
      to: place(to),
      measured: read(lengthMm, u.span),
      u: u.span,
    })),
    girths: girths.map(({ name, through, lengthMm }) => ({
      name,
      through: through.map(place) as [Point, Point, Point],
      measured: read(lengthMm, u.girth),
      u: u.girth,
    })),
    ...(extremes.length === 0
      ? {}
      : {
          levels: extremes.map(({ name, most, between, lengthMm }) => ({
            name,
            most,
            between: [...between] as [string, string],
            measured: read(lengthMm, u.girth),
            u: u.girth,
          })),
        }),
    faces: 9_500,
    keep: 'largest',
  };
}
