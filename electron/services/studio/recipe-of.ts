/** From a ticket's decisions and the wearer's sheet to the recipe that makes the form. */
import type { KnownLength } from '../../../shared-types/contract.ts';
import { foundLandmarkUMm, REGIONS } from '../../../shared-types/measures/index.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import type { LevelPlace, Recipe } from '../../../shared-types/recipe.ts';
import { levelPlaceOf, type TicketDraft, type TicketMeasure } from '../../../shared-types/records/ticket.ts';

type Point = [number, number, number];

export interface PlacedMeasure {
  readonly name: string;
  readonly kind: TicketMeasure['kind'];
  /** Two for a span, three of its plane for a girth, an arc's in turn; none for a level. */
  readonly points: readonly Point[];
  /** Of a girth told by a height or as an extreme. */
  readonly level?: LevelPlace;
  readonly taut?: boolean;
  readonly hairMm?: number;
  readonly role: TicketMeasure['role'];
  readonly measured?: number;
  readonly u?: number;
}

/** Share of a girth's depth by which its third point lies beside its first: the plane is level, left to right. */
const ASIDE = 0.02;

/** What keeps a girth through two landmarks level, in file coordinates: the wearer's left, or the way up the body. */
export type Level = { readonly sideways: Vec3 } | { readonly up: Vec3 };

/** The way up a limb or torso by its landmarks, in file coordinates; undefined for a head, or until they are placed. */
export function upOf(draft: TicketDraft): Level | undefined {
  const { axis } = REGIONS[draft.region ?? 'head'];
  if (axis === undefined) return undefined;
  const middle = (names: readonly string[]): Vec3 | undefined => {
    const points = names.flatMap((name) => draft.landmarks[name]?.point ?? []);
    if (points.length < 3 * names.length) return undefined;
    return [0, 1, 2].map((k) => points.reduce((sum, x, at) => sum + (at % 3 === k ? x : 0), 0) / names.length) as never;
  };
  const [low, high] = [middle(axis.lower), middle(axis.upper)];
  if (low === undefined || high === undefined) return undefined;
  return { up: [high[0] - low[0], high[1] - low[1], high[2] - low[2]] };
}

/** The third direction of a level girth's plane that holds the first direction `ahead`. */
function asideOf(level: Level, ahead: Vec3): Vec3 {
  if ('sideways' in level) return level.sideways;
  const { up } = level;
  return [
    up[1] * ahead[2] - up[2] * ahead[1],
    up[2] * ahead[0] - up[0] * ahead[2],
    up[0] * ahead[1] - up[1] * ahead[0],
  ];
}

/**
 * The measures whose landmarks are placed, with the wearer's values. A girth through two landmarks runs level between
 * them: its third point lies a little to the side of the first.
 */
export function placedMeasures(draft: TicketDraft, known: readonly KnownLength[], level: Level): PlacedMeasure[] {
  return draft.measures.flatMap((measure) => {
    const { name, kind, landmarks, role, taut, hairMm } = measure;
    const place = levelPlaceOf(measure);
    const points = landmarks.flatMap((landmark) => {
      const placed = draft.landmarks[landmark];
      return placed === undefined ? [] : [placed.point as Point];
    });
    if (points.length !== landmarks.length) return [];
    // Between a landmark and itself lies nothing, as while the other is still to be chosen.
    if (place !== undefined && 'most' in place && place.between[0] === place.between[1]) return [];
    if (kind === 'girth' && place === undefined && points.length === 2) {
      const [a, b] = points;
      const ahead: Vec3 = [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
      const depth = Math.hypot(...ahead);
      const sideways = asideOf(level, ahead);
      const by = (ASIDE * depth) / Math.hypot(...sideways);
      points.splice(1, 0, [a[0] + by * sideways[0], a[1] + by * sideways[1], a[2] + by * sideways[2]]);
    }
    const value = known.find((one) => one.name === name && one.kind === kind);
    // Where it is thickest or thinnest hardly hangs on where the stretch ends.
    const isFound =
      !(place !== undefined && 'most' in place) &&
      landmarks.some((landmark) => draft.landmarks[landmark]?.origin === 'guess');
    const u = Math.hypot(value?.uMm ?? 0, isFound ? foundLandmarkUMm(draft.region) : 0);
    const measured = value === undefined ? {} : { measured: value.mm, u };
    const used = kind === 'arc' ? points : points.slice(0, kind === 'span' ? 2 : 3);
    // A tape is held at its ends and drawn tight, unless it was laid on the skin on purpose.
    const ofArc = kind === 'arc' ? { taut: taut !== false } : {};
    const ofGirth = kind === 'girth' && hairMm !== undefined && hairMm > 0 ? { hairMm } : {};
    const where = place === undefined ? { points: used } : { points: [], level: place };
    return [{ name, kind, ...where, role, ...ofArc, ...ofGirth, ...measured }];
  });
}

export function recipeOf(draft: TicketDraft, placed: readonly PlacedMeasure[]): Recipe {
  const used = placed.filter(({ role, measured }) => role !== 'leave' && measured !== undefined);
  const told = ({ name, measured, u, role, hairMm }: PlacedMeasure) => ({
    name,
    measured: measured as number,
    ...(u === undefined ? {} : { u }),
    ...(role === 'hold' ? { hold: true } : {}),
    ...(hairMm === undefined ? {} : { hairMm }),
  });
  const arcs = used
    .filter(({ kind }) => kind === 'arc')
    .map((one) => ({ ...told(one), along: one.points, ...(one.taut === undefined ? {} : { taut: one.taut }) }));
  const levels = used.flatMap((one) => (one.level === undefined ? [] : [{ ...told(one), ...one.level }]));
  const { standing } = REGIONS[draft.region ?? 'head'];
  return {
    ...(standing === 'head' ? {} : { region: standing }),
    trim: draft.trim,
    landmarks: Object.fromEntries(Object.entries(draft.landmarks).map(([name, { point }]) => [name, point])),
    spans: used
      .filter(({ kind }) => kind === 'span')
      .map((one) => ({ ...told(one), from: one.points[0], to: one.points[1] })),
    girths: used
      .filter(({ kind, level }) => kind === 'girth' && level === undefined)
      .map((one) => ({ ...told(one), through: one.points as unknown as [Point, Point, Point] })),
    ...(arcs.length > 0 ? { arcs } : {}),
    ...(levels.length > 0 ? { levels } : {}),
    faces: draft.faces,
    keep: draft.keep,
  } as Recipe;
}
