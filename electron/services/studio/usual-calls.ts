/** Calls about how sure readings are where nobody said. */
import type { USUAL_CALLS } from '../../../shared-types/calls/usual.ts';
import { done, type Outcome } from '../../../shared-types/outcome.ts';
import { resetUsual, setUsual, usualUncertainty } from '../../store/usual-records.ts';
import { changed, type Handlers } from './session.ts';

const quietly = (outcome: Outcome<void>): Outcome<Record<never, never>> => (outcome.ok ? done({}) : outcome);

export const usualCalls: Handlers<keyof typeof USUAL_CALLS> = {
  'usual.show': (_given, { library }) => done({ usual: { ...usualUncertainty(library) } }),
  'usual.set': ({ usual }, session) => changed(session, quietly(setUsual(session.library, usual))),
  'usual.reset': (_given, session) => changed(session, quietly(resetUsual(session.library))),
};
