/**
 * The geometry kernel: electron/geometry/spatial/kernel/*.ts, which is AssemblyScript, compiled to WebAssembly and kept as
 * text in kernel-bytes.ts beside it, so that whoever runs the program needs no compiler. `npm run kernel` compiles; the
 * checks compile too and compare.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { createMemoryStream, main } from 'assemblyscript/asc';

const root = join(import.meta.dirname, '..');
const SOURCE = 'electron/geometry/spatial/kernel/index.ts';
const BYTES = 'electron/geometry/spatial/kernel-bytes.ts';
const WORDS = ['-O3', '--runtime', 'stub', '--noAssert', '--enable', 'simd', '--importMemory', '--initialMemory', '1'];
const LINE = 110;

/** The text of kernel-bytes.ts, or what the compiler complains of. */
export async function kernelText(): Promise<{ readonly text: string } | { readonly trouble: string }> {
  let binary: Uint8Array | undefined;
  const complaints = createMemoryStream();
  const { error } = await main([SOURCE, ...WORDS, '--outFile', 'kernel.wasm', '--baseDir', root], {
    readFile: (name, base) => {
      try {
        return readFileSync(join(base, name), 'utf8');
      } catch {
        return null;
      }
    },
    writeFile: (_name, contents) => {
      if (typeof contents !== 'string') binary = contents;
    },
    listFiles: () => [],
    stderr: complaints,
  });
  if (error !== null || binary === undefined) return { trouble: `${complaints.toString()}${error?.message ?? ''}` };
  const lines =
    Buffer.from(binary)
      .toString('base64')
      .match(new RegExp(`.{1,${LINE}}`, 'g')) ?? [];
  return {
    text: [
      '/** Made by `npm run kernel` from kernel/*.ts (AssemblyScript); base64. Change those, not this. */',
      'export const KERNEL =',
      `${lines.map((line) => `  '${line}'`).join(' +\n')};`,
      '',
    ].join('\n'),
  };
}

/** A complaint where the bytes kept are not those of the sources. */
export async function checkKernel(): Promise<string | undefined> {
  const made = await kernelText();
  if ('trouble' in made) return made.trouble;
  return made.text === readFileSync(join(root, BYTES), 'utf8')
    ? undefined
    : `${BYTES} is not what its sources compile to; run npm run kernel`;
}

if (import.meta.main) {
  const made = await kernelText();
  if ('trouble' in made) {
    console.error(made.trouble);
    process.exitCode = 1;
  } else {
    writeFileSync(join(root, BYTES), made.text);
    console.log(`${BYTES} written.`);
  }
}
