/** Where heights are told from, by the frame a body stands in (shared-types/frames.ts), in a maker's words. Pure. */
const FROM = {
  head: 'the notches of the ears',
  limb: 'the lower joint',
  torso: 'the foot of the neck',
} as const;

/** `region` as a form's recipe names it, or 'part'; a head where it names none. */
export const heightsFrom = (region: unknown): string =>
  region === 'part' ? 'the part’s own zero' : FROM[frameOf(region)];

export function frameOf(region: unknown): keyof typeof FROM {
  return region === 'limb' || region === 'torso' ? region : 'head';
}
