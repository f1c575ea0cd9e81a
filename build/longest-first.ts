/**
 * The order in which test files start: folders that hold long files first, so that no long one is left to the end with
 * the other workers idle, and by turns files that drive a browser and files that compute, so that browsers seldom compete.
 * Where no run has been remembered (continuous integration) nothing else is known of a file; its size breaks ties.
 */
import { statSync } from 'node:fs';
import { BaseSequencer, type TestSpecification } from 'vitest/node';

/** Folders of test/, those of the longest files first; all others come after them. */
const BROWSING = ['journeys', 'renderer'];
const COMPUTING = ['operations', 'services', 'store', 'geometry', 'outside', 'hosts'];

function sorted(files: readonly TestSpecification[], folders: readonly string[]): TestSpecification[] {
  const rank = ({ moduleId }: TestSpecification): number => {
    const at = folders.findIndex((folder) => moduleId.includes(`/test/${folder}/`));
    return at < 0 ? folders.length : at;
  };
  const size = ({ moduleId }: TestSpecification): number => statSync(moduleId).size;
  return files.toSorted((a, b) => rank(a) - rank(b) || size(b) - size(a));
}

export class LongestFirst extends BaseSequencer {
  override sort(files: TestSpecification[]): Promise<TestSpecification[]> {
    const isBrowsing = ({ moduleId }: TestSpecification): boolean =>
      BROWSING.some((folder) => moduleId.includes(`/test/${folder}/`));
    const browsing = sorted(files.filter(isBrowsing), BROWSING);
    const computing = sorted(
      files.filter((file) => !isBrowsing(file)),
      COMPUTING,
    );
    const turns = Math.max(browsing.length, computing.length);
    return Promise.resolve(
      Array.from({ length: turns }, (_, i) => [browsing[i], computing[i]])
        .flat()
        .filter(Boolean),
    );
  }
}
