/**
 * The invented production "The Lantern Guard": two wearers and a bought visor, with what a maker would have of them.
 * All of it is made up: no such people, play or product.
 */
import type { Matrix4, Vec3 } from '../../shared-types/mesh.ts';
import type { Recipe } from '../../shared-types/recipe.ts';
import { transformPoint } from '../geometry/mesh/transform.ts';
import { inventHead, type HeadLandmark, type HeadWishes, type InventedHead } from './head.ts';
import { roughen, type PhoneScan, type PhoneScanWishes } from './phone-scan.ts';
import { seeded } from './seeded.ts';

export interface InventedWearer {
  /** For file names. */
  readonly id: string;
  /** For sentences; a role, marked invented. */
  readonly role: string;
  readonly head: HeadWishes;
  readonly faces: number;
  readonly scan: PhoneScanWishes;
  readonly scanFile: string;
  /** A reading taken wrong on purpose, and by how much. */
  readonly misread?: { readonly name: string; readonly byMm: number };
  /** A reading held back as an independent check. */
  readonly held?: string;
}

export const PRODUCTION = 'The Lantern Guard';

export const WEARERS: readonly InventedWearer[] = [
  {
    id: 'captain',
    role: 'the captain of the guard (invented)',
    head: { seed: 11, lengthMm: 198, breadthMm: 151, heightMm: 130 },
    faces: 53_000,
    scan: { seed: 11, unitsPerMm: 0.001, colours: true },
    scanFile: 'captain-scan.zip',
    misread: { name: 'bizygomatic breadth', byMm: 11 },
  },
  {
    id: 'understudy',
    role: 'the understudy (invented)',
    head: { seed: 29, lengthMm: 188, breadthMm: 147, heightMm: 126 },
    faces: 200_000,
    // Arbitrary units, as pictures without a scale bar give.
    scan: { seed: 29, unitsPerMm: 1 / 61.7, charts: 14, colours: true },
    scanFile: 'understudy-scan.ply',
    held: 'head breadth',
  },
];

export const VISOR = { file: 'visor.stl', pivotToPivotMm: 172, mmPerUnit: 26.3 } as const;

/** Head forms of this production end here, at the root of the neck, mm. */
export const TRIM_HEIGHT_MM = -155;

/** Standard uncertainties of the readings, mm: a patient maker with a calliper and a dressmaker's tape. */
const SPAN_U_MM = 0.8;
const GIRTH_U_MM = 3;
/** Readings with an ordinary scatter (rms near 1, none beyond 1.7 but the planted slip) and no lean in common. */
const READING_SEED = 1270;

/** The names are those of ISO 7250-1; these three fix the form frame. */
const PICKED: readonly HeadLandmark[] = ['tragion-left', 'tragion-right', 'orbitale-left'];

export interface ScannedWearer {
  readonly wearer: InventedWearer;
  readonly head: InventedHead;
  readonly scan: PhoneScan;
  /** What the maker wrote down, points in the scan's own frame and unit. */
  readonly recipe: Recipe;
}

/** Scan a wearer and measure them: the same each time. */
export function scanWearer(wearer: InventedWearer): ScannedWearer {
  const head = inventHead(wearer.head);
  const scan = roughen(head.mesh(wearer.faces), wearer.scan);
  return { wearer, head, scan, recipe: recipeOf(wearer, head, scan.truth.formToScan) };
}

function recipeOf(wearer: InventedWearer, head: InventedHead, formToScan: Matrix4): Recipe {
  const random = seeded(wearer.head.seed + READING_SEED);
  const place = (p: Vec3): [number, number, number] => [...transformPoint(formToScan, p)] as [number, number, number];
  // What a hand does to a true length: its own scatter, read to half a millimetre; and once, a slip.
  const read = (name: string, trueMm: number, u: number): number => {
    const slip = wearer.misread?.name === name ? wearer.misread.byMm : 0;
    return Math.round(2 * (trueMm + u * random.normal() + slip)) / 2;
  };
  const base = place([0, 0, TRIM_HEIGHT_MM]);
  const above = place([0, 0, TRIM_HEIGHT_MM + 1]);
  return {
    trim: [[...base, above[0] - base[0], above[1] - base[1], above[2] - base[2]]],
    landmarks: Object.fromEntries(PICKED.map((name) => [name, place(head.landmarks[name])])),
    spans: head.spans.map((span) => ({
      name: span.name,
      from: place(span.from),
      to: place(span.to),
      measured: read(span.name, span.lengthMm, SPAN_U_MM),
      u: SPAN_U_MM,
      ...(wearer.held === span.name ? { hold: true } : {}),
    })),
    girths: head.girths.map((girth) => ({
      name: girth.name,
      through: girth.through.map(place) as [
        [number, number, number],
        [number, number, number],
        [number, number, number],
      ],
      measured: read(girth.name, girth.lengthMm, GIRTH_U_MM),
      u: GIRTH_U_MM,
    })),
    faces: 9_500,
    keep: 'largest',
  };
}
