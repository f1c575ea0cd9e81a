/**
 * Every trouble the program expects, as data: a code from a closed list, the facts, where it is.
 * The sentence a person reads is made here and nowhere else: what is wrong, where, what to do.
 * One file per family; each family is a table from code to sentence, so a code without a sentence
 * does not type-check.
 */
import { blockFaults } from './block.ts';
import { fillFaults } from './fill.ts';
import { fileFaults } from './file.ts';
import { meshFaults } from './mesh.ts';
import { readingFaults } from './reading.ts';
import { jobFaults } from './job.ts';
import { storeFaults } from './store.ts';
import { fittingFaults } from './fitting.ts';

const sentences = {
  ...fileFaults,
  ...meshFaults,
  ...readingFaults,
  ...jobFaults,
  ...storeFaults,
  ...fittingFaults,
  ...blockFaults,
  ...fillFaults,
} as const;

export type FaultCode = keyof typeof sentences;
export type FaultFacts<C extends FaultCode> = Parameters<(typeof sentences)[C]>[0];

/** Where the trouble is; whichever of these is known. */
export interface FaultPlace {
  readonly file?: string;
  readonly line?: number;
  readonly byte?: number;
  readonly face?: number;
  readonly landmark?: string;
}

export interface Fault {
  readonly code: FaultCode;
  readonly facts: Readonly<Record<string, string | number | readonly (string | number)[]>>;
  readonly where?: FaultPlace;
}

export function fault<C extends FaultCode>(code: C, facts: FaultFacts<C>, where?: FaultPlace): Fault {
  return where === undefined ? { code, facts } : { code, facts, where };
}

function placeWords(where: FaultPlace | undefined): string {
  if (where === undefined) return '';
  const words: string[] = [];
  if (where.file !== undefined) words.push(where.file);
  if (where.line !== undefined) words.push(`line ${where.line}`);
  if (where.byte !== undefined) words.push(`byte ${where.byte}`);
  if (where.face !== undefined) words.push(`face ${where.face}`);
  if (where.landmark !== undefined) words.push(`landmark ${where.landmark}`);
  return words.length === 0 ? '' : `${words.join(', ')}: `;
}

/** The one sentence (or two short ones) for a person. Pure; the same in every host. */
export function faultSentence(trouble: Fault): string {
  const say = sentences[trouble.code] as (facts: Fault['facts']) => string;
  return placeWords(trouble.where) + say(trouble.facts);
}

export const FAULT_CODES = Object.keys(sentences) as readonly FaultCode[];
