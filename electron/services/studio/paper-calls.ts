/** Calls for papers to print. */
import { done, type Outcome } from '../../../shared-types/outcome.ts';
import { capturePaper, fittingPaper, measurementPaper, printed, type Paper } from '../papers.ts';
import type { Handlers } from './session.ts';
import { byId } from '../by-id.ts';

async function written(paper: Outcome<Paper>): Promise<Outcome<{ fileName: string; bytes: Uint8Array<ArrayBuffer> }>> {
  if (!paper.ok) return paper;
  const { bytes, warnings } = await printed(paper.value);
  return done({ fileName: paper.value.fileName, bytes }, warnings);
}

export const paperCalls: Handlers<'paper.measures' | 'paper.capture' | 'paper.fitting'> = {
  'paper.measures': ({ wearerId, regions, paper }, { library }) => {
    if (wearerId === undefined) return written(done(measurementPaper(paper, regions)));
    const wearer = byId(library, 'wearers', wearerId, 'wearer');
    return wearer.ok ? written(done(measurementPaper(paper, regions, wearer.value.name))) : wearer;
  },
  'paper.capture': ({ paper }) => written(done(capturePaper(paper))),
  'paper.fitting': async ({ revisionId, paper }, { library, pool }, watch) =>
    written(await fittingPaper({ library, pool, watch }, revisionId, paper)),
};
