/** Calls about what is thought over before something is made. */
import { PLAN_DRAFTS, type PLAN_CALLS, type Planned } from '../../../shared-types/calls/plans.ts';
import { done } from '../../../shared-types/outcome.ts';
import { keepPlan, planOf } from '../../store/making-records.ts';
import { allThere } from '../by-id.ts';
import { changed, type Handlers } from './session.ts';
import { quietly } from './shelf-calls.ts';
import { given } from '../given.ts';

export const planCalls: Handlers<keyof typeof PLAN_CALLS> = {
  'plan.show': ({ kind, subject }, { library }) => {
    const found = allThere(library, subject);
    if (!found.ok) return found;
    // A draft written by another version of the program, which this one cannot read, counts as none.
    const kept = PLAN_DRAFTS[kind].safeParse(planOf(library, kind, given(subject))?.draft);
    return done(kept.success ? { planned: { kind, draft: kept.data } as Planned } : {});
  },
  'plan.keep': ({ subject, label, planned }, session) => {
    const found = allThere(session.library, subject);
    if (!found.ok) return found;
    const { kind, draft } = planned;
    return changed(session, quietly(keepPlan(session.library, { kind, subject: given(subject), draft }, label)));
  },
};
