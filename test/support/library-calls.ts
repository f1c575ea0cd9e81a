/** The command line on one library, called as it is called, and what it prints. */
import { vi } from 'vitest';
import { runLibrary } from '../../electron/hosts/cli/library.ts';
import { runOnLibrary } from '../../electron/hosts/cli/on-library.ts';

export interface Answer {
  readonly code: number;
  readonly figures: Record<string, unknown>;
  readonly told: string;
}

type Call = (verb: string, ...words: string[]) => Promise<Answer>;

/** Verbs on meshes, and those of the library itself. */
export function callsOn(path: string): { readonly onMesh: Call; readonly onShelf: Call } {
  const calling =
    (run: typeof runLibrary): Call =>
    async (verb, ...words) => {
      let [out, told] = ['', ''];
      const log = vi.spyOn(console, 'log').mockImplementation((text: string) => void (out += text));
      const error = vi.spyOn(console, 'error').mockImplementation((text: string) => void (told += `${text}\n`));
      try {
        const code = await run([...words, '--library', path, '--json'], verb);
        return { code, figures: JSON.parse(out) as Record<string, unknown>, told };
      } finally {
        log.mockRestore();
        error.mockRestore();
      }
    };
  return { onMesh: calling(runOnLibrary), onShelf: calling(runLibrary) };
}
