/** The pictures of a form for its fitting sheet: drawn in a thread, numbered and captioned here. */
import { formPicturesSpecification, type FormPicture } from '../../shared-types/operations/desk-pictures.ts';
import { done, type Outcome } from '../../shared-types/outcome.ts';
import type { FormRevision } from '../../shared-types/records/form.ts';
import type { SheetPicture } from '../papers/fitting-sheet.ts';
import { formInput } from './make.ts';
import type { Making } from './making.ts';
import { encodePng } from './png.ts';

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

/** A form drawn from two sides with its lengths, in a thread of the pool. */
export async function picturesOf(
  { library, pool, watch }: Making,
  revision: FormRevision,
): Promise<Outcome<FormPicture[]>> {
  const form = formInput(library, revision.id);
  if (!form.ok) return form;
  const { recipe, steps } = revision;
  const drawn = await pool.run({ verb: 'form-pictures', inputs: [form.value], parameters: { recipe, steps } }, watch);
  return drawn.ok ? done(formPicturesSpecification.figures.parse(drawn.value.figures).pictures) : drawn;
}

/** The same on a sheet: `tags` are the numbers of the lengths in the table. */
export const onSheet = (
  pictures: readonly FormPicture[],
  standing: Standing,
  tags: ReadonlyMap<string, string>,
): SheetPicture[] =>
  pictures.map(({ grey, width, height, widthMm, heightMm, spans, tapes }, index) => ({
    png: encodePng(grey, width, height, 1),
    caption: standing.captions[index] ?? '',
    widthMm,
    heightMm,
    lengths: spans.map(({ name, from, to }) => ({ tag: tags.get(name) ?? '', from, to })),
    tapes: tapes.map(({ name, runs }) => ({ tag: tags.get(name) ?? '', runs })),
  }));
