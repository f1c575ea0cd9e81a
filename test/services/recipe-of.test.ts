/** From what a ticket says to what is measured: arcs and hair go the whole way, on a ball where everything is known. */
import { describe, expect, it } from 'vitest';
import { drawnTapesOf } from '../../electron/geometry/measure/drawn-tapes.ts';
import { sizeOperation } from '../../electron/operations/desk/size.ts';
import { formOperation } from '../../electron/operations/form.ts';
import { runOperation } from '../../electron/operations/operation.ts';
import { IDENTITY } from '../../electron/geometry/mesh/transform.ts';
import { formPictures } from '../../electron/geometry/picture/form-pictures.ts';
import { placedMeasures, recipeOf } from '../../electron/services/studio/recipe-of.ts';
import { isMadeAsDecided } from '../../renderer/screens/ticket/made-as-decided.ts';
import type { KnownLength } from '../../shared-types/contract.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { recipeSchema } from '../../shared-types/recipe.ts';
import { ticketMeasureSchema, type TicketDraft, type TicketMeasure } from '../../shared-types/records/ticket.ts';
import { sphere } from '../support/solids.ts';

const R = 90;
const HAIR_MM = 5;
const landmark = (x: number, y: number, z: number) => ({
  point: [x, y, z] as [number, number, number],
  origin: 'hand' as const,
});
const measure = (name: string, kind: TicketMeasure['kind'], landmarks: string[], more = {}): TicketMeasure => ({
  name,
  kind,
  landmarks,
  role: 'use',
  ...more,
});
const draft: TicketDraft = {
  keep: 'largest',
  trim: [],
  landmarks: {
    front: landmark(R, 0, 0),
    back: landmark(-R, 0, 0),
    left: landmark(0, R, 0),
    right: landmark(0, -R, 0),
    top: landmark(0, 0, R),
  },
  measures: [
    measure('breadth', 'span', ['left', 'right']),
    measure('over the top', 'arc', ['left', 'top', 'right']),
    measure('along the side', 'arc', ['front', 'left'], { taut: false }),
    measure('round', 'girth', ['front', 'back'], { hairMm: HAIR_MM }),
    measure('not placed', 'arc', ['front', 'nowhere']),
  ],
  faces: 2000,
};
const read = (name: string, kind: TicketMeasure['kind'], mm: number): KnownLength => ({
  name,
  kind,
  mm,
  uMm: 1,
  count: 1,
});
const known = [
  read('breadth', 'span', 2 * R),
  read('over the top', 'arc', Math.PI * R),
  read('along the side', 'arc', (Math.PI / 2) * R),
  read('round', 'girth', 2 * Math.PI * (R + HAIR_MM)),
];
const placed = placedMeasures(draft, known, { sideways: [0, 1, 0] });
const ball = { mesh: sphere(R, 5), name: 'ball', fromFile: IDENTITY };

describe('a measure of a ticket', () => {
  it('is a girth where it lies at a level, has two landmarks where a height does not do, and two different ones', () => {
    const level = { aboveMm: 10 };
    const isTaken = (...given: Parameters<typeof measure>) => ticketMeasureSchema.safeParse(measure(...given)).success;
    expect(isTaken('round', 'girth', ['top'], { level })).toBe(true);
    expect(isTaken('breadth', 'span', ['top'], { level })).toBe(false);
    expect(isTaken('breadth', 'span', ['top'])).toBe(false);
    expect(isTaken('round', 'girth', ['top'], { level: { most: 'thickest' } })).toBe(false);
    const itself = measure('round', 'girth', ['top', 'top'], { level: { most: 'thickest' } });
    expect(placedMeasures({ ...draft, measures: [itself] }, known, { sideways: [0, 1, 0] })).toEqual([]);
  });
});

describe('a ticket with arcs and hair', () => {
  it('gives every placed measure, arcs taut unless laid', () => {
    expect(placed.map(({ name, taut, hairMm }) => ({ name, taut, hairMm }))).toEqual([
      { name: 'breadth', taut: undefined, hairMm: undefined },
      { name: 'over the top', taut: true, hairMm: undefined },
      { name: 'along the side', taut: false, hairMm: undefined },
      { name: 'round', taut: undefined, hairMm: HAIR_MM },
    ]);
  });

  it('sizes the scan with all of them, draws each, and tells what leaving one out would do', () => {
    const outcome = runOperation(sizeOperation, [ball], { measures: placed, toView: [...IDENTITY] });
    if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
    const { fit, drawn, without } = outcome.value.figures;
    expect(fit?.factor).toBeCloseTo(1, 3);
    expect(fit?.residuals.map(({ kind, role }) => `${kind} ${role}`)).toEqual([
      'span used',
      'arc used',
      'arc used',
      'girth used',
    ]);
    for (const residual of fit?.residuals ?? []) expect(Math.abs(residual.residualMm)).toBeLessThan(0.3);
    expect(drawn.map(({ kind }) => kind)).toEqual(['span', 'arc', 'arc', 'girth']);
    // an arc is drawn along the ball
    const arc = drawn[1].points;
    for (let i = 0; i < arc.length; i += 3)
      expect(Math.abs(Math.hypot(arc[i], arc[i + 1], arc[i + 2]) - R)).toBeLessThan(0.2);
    expect(without).toHaveLength(4);
  });

  it('becomes a recipe that makes the form with the same readings', () => {
    const recipe = recipeOf(draft, placed);
    expect(recipeSchema.parse(recipe)).toMatchObject({
      arcs: [{ taut: true }, { taut: false }],
      girths: [{ hairMm: HAIR_MM }],
    });
    const made = runOperation(formOperation, [ball], { recipe: { ...recipe, landmarks: {} } });
    if (!made.ok) throw new Error(faultSentence(made.fault));
    expect(made.value.figures.checks.map(({ name }) => name)).toEqual([
      'breadth',
      'round',
      'over the top',
      'along the side',
    ]);
    for (const check of made.value.figures.checks) expect(check.agrees).toBe(true);
    expect(made.value.figures.checks[1].measuredMm).toBeCloseTo(2 * Math.PI * R, 6);
  });
});

describe('whether the form is as the ticket says', () => {
  // The recipe as it comes back from the library, through JSON.
  const recipe = JSON.parse(JSON.stringify(recipeOf(draft, placed)));
  const isMade = (decided: TicketDraft, now = known): boolean =>
    isMadeAsDecided({ revision: { recipe }, known: now } as never, decided);
  const other = (at: number, by: Partial<TicketMeasure>): TicketDraft => ({
    ...draft,
    measures: draft.measures.map((one, k) => (k === at ? { ...one, ...by } : one)),
  });

  it('is told by every decision: places, roles, tapes, levels, and what was read', () => {
    expect(isMade(draft)).toBe(true);
    expect(isMade({ ...draft, faces: 2001 })).toBe(false);
    expect(isMade(other(0, { role: 'hold' }))).toBe(false);
    expect(isMade(other(1, { taut: false }))).toBe(false);
    expect(isMade(other(3, { hairMm: 2 }))).toBe(false);
    expect(isMade(other(3, { landmarks: ['front'], level: { aboveMm: 10 } }))).toBe(false);
    expect(isMade(other(4, { role: 'leave' }))).toBe(true);
    expect(
      isMade(
        draft,
        known.map((one, at) => (at === 0 ? { ...one, mm: one.mm + 1 } : one)),
      ),
    ).toBe(false);
  });
});

describe('arcs on the pictures of a fitting sheet', () => {
  const steps = [{ verb: 'form', parameters: {}, figures: { matrix: [...IDENTITY] } }];
  const tapes = drawnTapesOf({ recipe: { arcs: recipeOf(draft, placed).arcs ?? [] }, steps }, ball.mesh);

  it('lie on the body and stay open', () => {
    expect(tapes.map(({ name, isClosed }) => `${name} ${isClosed}`)).toEqual([
      'over the top false',
      'along the side false',
    ]);
    for (const { tape } of tapes) {
      for (let i = 0; i < tape.length; i += 3) {
        expect(Math.abs(Math.hypot(tape[i], tape[i + 1], tape[i + 2]) - R)).toBeLessThan(0.2);
      }
    }
  });

  it('are drawn where they are seen, each in one open stretch', () => {
    const [front, left] = formPictures(ball.mesh, { spans: [], tapes });
    const runsOf = ({ tapes: drawn }: typeof front, at: number) => drawn[at].runs;
    const extent = (run: readonly number[], axis: 0 | 1): number => {
      const along = run.filter((_, at) => at % 2 === axis);
      return Math.max(...along) - Math.min(...along);
    };
    // Left, top, right, from the wearer's left: upright from the middle to the top, the other half hidden.
    const [over] = runsOf(left, 0);
    expect(extent(over, 1)).toBeGreaterThan(0.95 * R);
    expect(extent(over, 1)).toBeLessThan(1.05 * R);
    expect(extent(over, 0)).toBeLessThan(1);
    // A quarter of the level circle, from front and from left alike: one radius wide, and it does not close.
    for (const view of [front, left]) {
      const [along] = runsOf(view, 1);
      expect(extent(along, 1)).toBeLessThan(1);
      expect(extent(along, 0)).toBeGreaterThan(0.85 * R);
      expect(Math.abs(along[0] - (along.at(-2) ?? 0))).toBeGreaterThan(0.85 * R);
    }
  });
});
