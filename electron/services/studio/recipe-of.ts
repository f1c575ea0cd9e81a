/** From a ticket's decisions and the wearer's sheet to the recipe that makes the form. */
import type { KnownLength } from '../../../shared-types/contract.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { Recipe } from '../../../shared-types/recipe.ts';
import type { TicketDraft, TicketMeasure } from '../../../shared-types/records/ticket.ts';

type Point = [number, number, number];

export interface PlacedMeasure {
  readonly name: string;
  readonly kind: TicketMeasure['kind'];
  /** Two for a span, three of its plane for a girth, an arc's in turn. */
  readonly points: readonly Point[];
  readonly taut?: boolean;
  readonly hairMm?: number;
  readonly role: TicketMeasure['role'];
  readonly measured?: number;
  readonly u?: number;
}

/**
 * Standard uncertainty that landmarks found by the program, and not looked at yet, add to a length, mm: the typical
 * error of the difference of two of them on invented heads (test/geometry/register/landmarks.test.ts).
 */
const FOUND_U_MM = 2.5;

/** Share of a girth's depth by which its third point lies beside its first: the plane is level, left to right. */
const ASIDE = 0.02;

/**
 * The measures whose landmarks are placed, with the wearer's values. A girth through two landmarks runs level between
 * them: its third point lies a little to the side of the first, along `sideways` (file coordinates).
 */
export function placedMeasures(draft: TicketDraft, known: readonly KnownLength[], sideways: Vec3): PlacedMeasure[] {
  return draft.measures.flatMap(({ name, kind, landmarks, role, taut, hairMm }) => {
    const points = landmarks.flatMap((landmark) => {
      const placed = draft.landmarks[landmark];
      return placed === undefined ? [] : [placed.point as Point];
    });
    if (points.length !== landmarks.length) return [];
    if (kind === 'girth' && points.length === 2) {
      const [a, b] = points;
      const depth = Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);
      const by = (ASIDE * depth) / Math.hypot(...sideways);
      points.splice(1, 0, [a[0] + by * sideways[0], a[1] + by * sideways[1], a[2] + by * sideways[2]]);
    }
    const value = known.find((one) => one.name === name && one.kind === kind);
    const isFound = landmarks.some((landmark) => draft.landmarks[landmark]?.origin === 'guess');
    const u = Math.hypot(value?.uMm ?? 0, isFound ? FOUND_U_MM : 0);
    const measured = value === undefined ? {} : { measured: value.mm, u };
    const used = kind === 'arc' ? points : points.slice(0, kind === 'span' ? 2 : 3);
    const ofArc = kind === 'arc' && taut !== undefined ? { taut } : {};
    const ofGirth = kind === 'girth' && hairMm !== undefined && hairMm > 0 ? { hairMm } : {};
    return [{ name, kind, points: used, role, ...ofArc, ...ofGirth, ...measured }];
  });
}

export function recipeOf(draft: TicketDraft, placed: readonly PlacedMeasure[]): Recipe {
  const used = placed.filter(({ role, measured }) => role !== 'leave' && measured !== undefined);
  const told = ({ name, measured, u, role }: PlacedMeasure) => ({
    name,
    measured: measured as number,
    ...(u === undefined ? {} : { u }),
    ...(role === 'hold' ? { hold: true } : {}),
  });
  const arcs = used
    .filter(({ kind }) => kind === 'arc')
    .map((one) => ({ ...told(one), along: one.points, ...(one.taut === undefined ? {} : { taut: one.taut }) }));
  return {
    trim: draft.trim,
    landmarks: Object.fromEntries(Object.entries(draft.landmarks).map(([name, { point }]) => [name, point])),
    spans: used
      .filter(({ kind }) => kind === 'span')
      .map((one) => ({ ...told(one), from: one.points[0], to: one.points[1] })),
    girths: used
      .filter(({ kind }) => kind === 'girth')
      .map((one) => ({
        ...told(one),
        through: one.points as unknown as [Point, Point, Point],
        ...(one.hairMm === undefined ? {} : { hairMm: one.hairMm }),
      })),
    ...(arcs.length > 0 ? { arcs } : {}),
    faces: draft.faces,
    keep: draft.keep,
  } as Recipe;
}
