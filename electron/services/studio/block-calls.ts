/** Calls about forms made from readings alone. */
import type { BLOCK_CALLS } from '../../../shared-types/calls/blocks.ts';
import { done } from '../../../shared-types/outcome.ts';
import { SURVEY_SOURCE } from '../../../shared-types/survey.ts';
import { foreseen, judgeSheet } from '../../operations/block.ts';
import * as records from '../../store/records.ts';
import { makeBlockedForm, readingSheetOf } from '../block-form.ts';
import { changed, type Handlers } from './session.ts';
import { byId } from '../by-id.ts';

export const blockCalls: Handlers<keyof typeof BLOCK_CALLS> = {
  'block.foresee': ({ wearerId, survey }, { library }) => {
    const wearer = byId(library, 'wearers', wearerId, 'wearer');
    if (!wearer.ok) return wearer;
    const judged = judgeSheet(readingSheetOf(library, wearerId), survey, false);
    if (!judged.ok) return judged;
    const { outliers, orElse, notUsed, next, spreads } = judged.value;
    return done({
      source: SURVEY_SOURCE,
      measures: foreseen(judged.value),
      outliers: [...outliers],
      orElse: [...orElse],
      notUsed: [...notUsed],
      skinSpreadMm: { unread: spreads[0].skinSpreadMm, now: spreads[spreads.length - 1].skinSpreadMm },
      next: [...next],
    });
  },
  'block.make': ({ wearerId, name, survey }, session) => {
    const wearer = byId(session.library, 'wearers', wearerId, 'wearer');
    if (!wearer.ok) return wearer;
    const again = records
      .allOf(session.library, 'forms', 'WHERE wearer_id = ?', wearerId)
      .find((form) => form.name === name);
    const jobId = session.jobs.start({
      kind: 'make',
      title: `Making the form ${name}`,
      wearerId,
      work: async (watch) => {
        const { library, pool } = session;
        const wanted = { wearerId, name, survey, ...(again === undefined ? {} : { formId: again.id }) };
        const made = changed(session, await makeBlockedForm({ library, pool, watch }, wanted));
        return made.ok ? done({ revisionId: made.value.revision.id }, made.warnings) : made;
      },
    });
    return done({ jobId });
  },
};
