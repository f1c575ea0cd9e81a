/**
 * Files that lie: cut at every byte, or with bytes turned, moved, doubled and taken out, thousands of times from a
 * printed seed. Whatever comes in, a reader answers with a mesh that holds together or with one sentence; it does not
 * throw, and takes no memory that the file's own length cannot back.
 */
import { strToU8, zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { readMesh, writeMesh } from '../../electron/formats/index.ts';
import { roundToSingle } from '../../electron/geometry/mesh/transform.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { seeded } from '../support/random.ts';
import { torus } from '../support/solids.ts';
import { glbOf, gltfOf, MESH_XML, modelXml, PLY_TEXT, stlText, text, threeMfBytes } from './build-files.ts';

const SEED = Number(process.env['FUZZ_SEED'] ?? 20_260);
const MUTATIONS = Number(process.env['FUZZ_COUNT'] ?? 3000);

const body = roundToSingle(torus(60, 21, 8, 5));
const small = { ...body, colours: new Uint8Array(body.positions.length).fill(7) };
const written = (name: string): Uint8Array => {
  const outcome = writeMesh(small, name);
  if (!outcome.ok) throw new Error(outcome.fault.code);
  return outcome.value.bytes;
};
const gltfText = (): Uint8Array => {
  const { json, binary } = gltfOf();
  json['buffers'][0].uri = `data:application/octet-stream;base64,${Buffer.from(binary).toString('base64')}`;
  return text(JSON.stringify(json));
};
const MODEL = modelXml(
  `<object id="1">${MESH_XML}</object><object id="2"><components><component objectid="1" transform="1 0 0 0 1 0 0 0 1 5 0 0"/></components></object>`,
  '<item objectid="2"/><item objectid="1"/>',
);
const OBJ = `mtllib a.mtl\ng one\n${Array.from({ length: 12 }, (_, i) => `v ${i % 3} ${i % 4}.5 -${i}e-1\nvt 0 0\n`).join('')}f 1/1 2/2 3/3 4/4\nf -1 -2 -3 -4 -5\nf 7//1 8//1 9//1\n`;

interface Kind {
  readonly name: string;
  readonly bytes: Uint8Array;
  /** Wraps mutated bytes, so that what is inside an archive is reached behind its checksum. */
  readonly wrap?: (bytes: Uint8Array) => Uint8Array;
}
const KINDS: readonly Kind[] = [
  { name: 'a.obj', bytes: text(OBJ) },
  { name: 'binary.stl', bytes: written('a.stl') },
  { name: 'text.stl', bytes: text(stlText({ ...small, triangles: small.triangles.slice(0, 30) })) },
  { name: 'binary.ply', bytes: written('a.ply') },
  { name: 'text.ply', bytes: text(PLY_TEXT) },
  { name: 'a.glb', bytes: written('a.glb') },
  { name: 'small.glb', bytes: glbOf() },
  { name: 'a.gltf', bytes: gltfText() },
  { name: 'a.3mf', bytes: written('a.3mf') },
  { name: 'model.3mf', bytes: text(MODEL), wrap: (bytes) => threeMfBytes(new TextDecoder('latin1').decode(bytes)) },
  { name: 'a.zip', bytes: zipSync({ 'a.obj': strToU8(OBJ), 'a.mtl': strToU8('map_Kd a.jpg\n') }) },
  { name: 'inside.zip', bytes: text(OBJ), wrap: (bytes) => zipSync({ 'a.obj': bytes }, { level: 1 }) },
];

/** Read, and check whatever came back. True when it was a mesh. */
function isAnswered(bytes: Uint8Array, name: string): boolean {
  const outcome = readMesh(bytes, name);
  if (!outcome.ok) {
    const said = faultSentence(outcome.fault);
    if (said.length > 600 || /undefined|NaN|\[object/.test(said.replace(/"[^"]*"/g, '')))
      throw new Error(`said: ${said}`);
    return false;
  }
  const { positions, triangles, colours } = outcome.value.mesh;
  const count = positions.length / 3;
  if (!Number.isInteger(count) || triangles.length === 0 || triangles.length % 3 !== 0)
    throw new Error('ragged arrays');
  for (const vertex of triangles) if (vertex >= count) throw new Error('index out of range');
  for (const x of positions) if (!Number.isFinite(x)) throw new Error('a coordinate is not finite');
  if (colours !== undefined && colours.length !== positions.length) throw new Error('ragged colours');
  return true;
}

const INTERESTING = [
  '4294967295',
  '-1',
  '1e999',
  'nan',
  '<',
  '"',
  '{',
  '\0',
  ' ',
  '\n',
  '999999999999999999999',
  '0',
].map(text);

function mutate(bytes: Uint8Array, random: () => number): Uint8Array {
  let out: Uint8Array = bytes.slice();
  const pick = (below: number): number => Math.floor(random() * below);
  for (let times = 1 + pick(4); times > 0 && out.length > 0; times--) {
    const at = pick(out.length);
    const length = 1 + pick(Math.min(24, out.length - at));
    switch (pick(8)) {
      case 0:
        out[at] ^= 1 << pick(8);
        break;
      case 1:
        out[at] = pick(256);
        break;
      case 2: // four bytes of a count or an offset
        for (let k = 0; k < 4 && at + k < out.length; k++) out[at + k] = random() < 0.7 ? 255 : pick(256);
        break;
      case 3: // taken out
        out = Uint8Array.from([...out.subarray(0, at), ...out.subarray(at + length)]);
        break;
      case 4: // doubled
        out = Uint8Array.from([...out.subarray(0, at + length), ...out.subarray(at)]);
        break;
      case 5: // put in
        out = Uint8Array.from([...out.subarray(0, at), ...INTERESTING[pick(INTERESTING.length)], ...out.subarray(at)]);
        break;
      case 6: // put over
        out.set(INTERESTING[pick(INTERESTING.length)].subarray(0, out.length - at), at);
        break;
      case 7:
        if (random() < 0.3) out = out.slice(0, at);
        else out.copyWithin(at, pick(out.length), Math.min(out.length, pick(out.length) + length));
        break;
    }
  }
  return out;
}

describe.each(KINDS)('$name', ({ name, bytes, wrap = (same) => same }) => {
  it('is read when nothing is wrong with it', () => {
    expect(isAnswered(wrap(bytes), name)).toBe(true);
  });

  it('cut at any byte, is answered', () => {
    let read = 0;
    for (let length = 0; length < bytes.length; length++) if (isAnswered(wrap(bytes.slice(0, length)), name)) read++;
    // Text of an OBJ is whole again after each face, and that of an STL may lack the name behind "endsolid"; of
    // everything else at most a last line end or two may go unnoticed.
    const mayLackTail = name === 'a.obj' || name === 'inside.zip' ? bytes.length : name === 'text.stl' ? 6 : 2;
    expect(read).toBeLessThanOrEqual(mayLackTail);
  });

  it(`mutated ${MUTATIONS} times from seed ${SEED}, is answered`, () => {
    const random = seeded(SEED);
    let read = 0;
    const before = process.memoryUsage.rss();
    for (let i = 0; i < MUTATIONS; i++) {
      const spoilt = mutate(bytes, random);
      try {
        if (isAnswered(wrap(spoilt), name)) read++;
      } catch (error) {
        throw new Error(
          `seed ${SEED}, mutation ${i} of ${name}: ${Buffer.from(spoilt).toString('base64').slice(0, 4000)}`,
          { cause: error },
        );
      }
    }
    expect(read).toBeLessThan(MUTATIONS);
    expect(process.memoryUsage.rss() - before).toBeLessThan(700e6);
  });
});
