import type { CallResult } from '../../../shared-types/contract.ts';

export type Wearing = CallResult<'wearer.show'>;
