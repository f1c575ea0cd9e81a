/**
 * The order in which test files start: folders that hold long files first, so that no long one is left to the end with
 * the other workers idle. Where no run has been remembered (continuous integration) nothing else is known of a file; its
 * size breaks ties.
 */
import { statSync } from 'node:fs';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Folders of test/, those of the longest files first; all others come after them. */
const LONG = ['journeys', 'operations', 'services', 'outside', 'geometry/fit', 'geometry/offset', 'papers', 'hosts'];

export class LongestFirst extends BaseSequencer {
  override sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const rank = ({ moduleId }: TestSpecification): number => {
      const at = LONG.findIndex((folder) => moduleId.includes(`/test/${folder}/`));
      return at < 0 ? LONG.length : at;
    };
    const size = ({ moduleId }: TestSpecification): number => statSync(moduleId).size;
    return Promise.resolve(files.toSorted((a, b) => rank(a) - rank(b) || size(b) - size(a)));
  }
}
