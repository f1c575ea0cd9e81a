/**
 * The registry: one line per operation. The command line, the job pool, the studio and the tests know
 * an operation because it stands here.
 */
import { lightenOperation } from './lighten.ts';
import { lineOperation } from './line.ts';
import type { Operation } from './operation.ts';

export const OPERATIONS: readonly Operation[] = [
  lightenOperation as unknown as Operation,
  lineOperation as unknown as Operation,
];

export function findOperation(verb: string): Operation | undefined {
  return OPERATIONS.find((operation) => operation.specification.verb === verb);
}
