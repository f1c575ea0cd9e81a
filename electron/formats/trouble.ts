/**
 * Inside a reader, trouble is thrown as a Fault wrapped in `Trouble` and caught at the reader's edge: a parser
 * is thirty small functions deep, and each would otherwise have to hand the fault up. Nothing else is caught.
 */
import {
  fault,
  type Fault,
  type FaultCode,
  type FaultFacts,
  type FaultPlace,
} from '../../shared-types/faults/index.ts';
import { failed, type Outcome } from '../../shared-types/outcome.ts';

export class Trouble extends Error {
  readonly fault: Fault;
  constructor(trouble: Fault) {
    super(trouble.code);
    this.fault = trouble;
  }
}

export function give<C extends FaultCode>(code: C, facts: FaultFacts<C>, where?: FaultPlace): never {
  throw new Trouble(fault(code, facts, where));
}

/** Run a reader or writer; trouble becomes a failed outcome. */
export function atTheEdge<T>(work: () => Outcome<T>): Outcome<T> {
  try {
    return work();
  } catch (error) {
    if (error instanceof Trouble) return failed(error.fault);
    throw error;
  }
}
