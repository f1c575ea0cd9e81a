import { describe, expect, it } from 'vitest';
import { checkFile, checkLayers, importsOf } from '../../build/layer-check.ts';
import { checkLiterals } from '../../build/literal-check.ts';
import { join } from 'node:path';

const root = join(import.meta.dirname, '../..');

describe('layers', () => {
  it('finds every way of importing', () => {
    const text = [
      "import type { A } from './a.ts';",
      "export { b } from './b.ts';",
      "import './c.ts';",
      "const d = await import('./d.ts');",
      "import {\n  e,\n} from 'e';",
      "// import './not.ts'",
      "/* import './neither.ts'; */",
    ].join('\n');
    expect(importsOf(text)).toEqual(['./a.ts', './b.ts', './c.ts', './d.ts', 'e']);
  });

  it.each([
    ['electron/geometry/mesh/x.ts', "import { readFileSync } from 'node:fs';", 'may not import node:fs'],
    ['electron/geometry/mesh/x.ts', "import { readMesh } from '../../formats/index.ts';", 'electron/formats/index.ts'],
    ['electron/geometry/mesh/x.ts', 'const now = Date.now();', 'geometry is pure'],
    ['electron/operations/x.ts', "import { open } from '../store/connection.ts';", 'electron/store/connection.ts'],
    ['electron/store/x.ts', "import { weld } from '../geometry/mend/weld.ts';", 'electron/geometry/mend/weld.ts'],
    ['electron/services/x.ts', "import { app } from 'electron';", 'may not import electron'],
    ['electron/hosts/cli/x.ts', "import { app } from 'electron';", 'may not import electron'],
    ['electron/hosts/cli/x.ts', "import { start } from '../loopback/server.ts';", 'electron/hosts/loopback/server.ts'],
    ['renderer/screens/x.tsx', "import * as three from 'three';", 'may not import three'],
    ['shared-types/x.ts', "import { z } from '../electron/jobs/pool.ts';", 'electron/jobs/pool.ts'],
  ])('refuses in %s: %s', (path, text, complaint) => {
    expect(checkFile(path, text)).toEqual([expect.stringContaining(complaint)]);
  });

  it('says what is allowed instead', () => {
    expect(checkFile('electron/formats/x.ts', "import '../jobs/pool.ts';")[0]).toBe(
      'electron/formats/x.ts: electron/formats may not import electron/jobs/pool.ts; allowed: shared-types, electron/geometry',
    );
  });

  it.each([
    ['electron/hosts/shell/main.ts', "import { app } from 'electron';"],
    ['electron/formats/x.ts', "import { mesh } from '../geometry/mesh/compact.ts';"],
    [
      'electron/geometry/mesh/x.ts',
      "import { y } from './y.ts'; import type { Mesh } from '../../../shared-types/mesh.ts';",
    ],
    ['test/x.test.ts', "import { anything } from 'anywhere';"],
  ])('lets pass in %s: %s', (path, text) => {
    expect(checkFile(path, text)).toEqual([]);
  });

  it('hold in the whole house', () => {
    expect(checkLayers(root)).toEqual([]);
  });
});

describe('small numbers in geometry', () => {
  const path = 'electron/geometry/mesh/x.ts';

  it('are refused without a name', () => {
    expect(checkLiterals(path, 'if (length < 1e-6) return;')).toEqual([expect.stringContaining('1e-6')]);
    expect(checkLiterals(path, 'const near = 0.001 * size;')).toHaveLength(1);
  });

  it('are welcome as named constants, in comments, in other folders, and when not small', () => {
    expect(checkLiterals(path, '/** Why. */\nexport const NEAR_MM =\n  1e-6;\n// 0.001\nconst half = 0.5;')).toEqual(
      [],
    );
    expect(checkLiterals('electron/formats/x.ts', 'const x = 1e-9;')).toEqual([]);
    expect(checkLiterals(path, 'const index = v1 + x.e5 + 0 + 0.01;')).toEqual([]);
  });
});
