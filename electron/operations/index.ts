/**
 * The registry: one line per operation. The command line, the job pool, the studio and the tests know
 * an operation because it stands here.
 */
import { allowOperation } from './allow.ts';
import { blockOperation } from './block.ts';
import { carryOperation } from './carry.ts';
import { compareOperation } from './compare.ts';
import { fillOperation } from './fill.ts';
import { fitOperation } from './fit.ts';
import { formOperation } from './form.ts';
import { gaugeOperation } from './gauge.ts';
import { healthOperation } from './health.ts';
import { lightenOperation } from './lighten.ts';
import { lineOperation } from './line.ts';
import { measureOperation } from './measure.ts';
import { mendOperation } from './mend.ts';
import type { Operation } from './operation.ts';
import { shellOperation } from './shell.ts';
import { sightOperation } from './sight.ts';
import { splitOperation } from './split.ts';
import { padOperation } from './pad.ts';
import { patternOperation } from './pattern.ts';
import { partOperation } from './part.ts';
import { standOperation } from './stand.ts';
import { trimOperation } from './trim.ts';
import { trueOperation } from './true.ts';

export const OPERATIONS: readonly Operation[] = [
  healthOperation as unknown as Operation,
  mendOperation as unknown as Operation,
  trimOperation as unknown as Operation,
  standOperation as unknown as Operation,
  trueOperation as unknown as Operation,
  measureOperation as unknown as Operation,
  lightenOperation as unknown as Operation,
  formOperation as unknown as Operation,
  lineOperation as unknown as Operation,
  shellOperation as unknown as Operation,
  padOperation as unknown as Operation,
  patternOperation as unknown as Operation,
  partOperation as unknown as Operation,
  fitOperation as unknown as Operation,
  carryOperation as unknown as Operation,
  blockOperation as unknown as Operation,
  compareOperation as unknown as Operation,
  allowOperation as unknown as Operation,
  fillOperation as unknown as Operation,
  sightOperation as unknown as Operation,
  splitOperation as unknown as Operation,
  gaugeOperation as unknown as Operation,
];

export function findOperation(verb: string): Operation | undefined {
  return OPERATIONS.find((operation) => operation.specification.verb === verb);
}
