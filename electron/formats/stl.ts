/**
 * STL, both kinds. Told apart by size (84 + 50 n bytes is binary, whatever the first word says). No unit, no
 * shared vertices: corners with equal coordinates are welded.
 */
import { IDENTITY } from '../geometry/mesh/transform.ts';
import { faceNormals } from '../geometry/mesh/quantities.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { done, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { QUIET_RUN, type RunContext } from '../../shared-types/progress.ts';
import { finish } from './finish.ts';
import { GrowingFloats } from './growing.ts';
import type { ReadMesh } from './read-mesh.ts';
import { TextScanner } from './text-scanner.ts';
import { atTheEdge, give } from './trouble.ts';
import { weldSoup } from './weld-soup.ts';

const HEADER = 84;
const RECORD = 50;

export function isBinaryStl(bytes: Uint8Array): boolean {
  if (bytes.length < HEADER) return false;
  const count = new DataView(bytes.buffer, bytes.byteOffset).getUint32(80, true);
  return HEADER + RECORD * count === bytes.length;
}

export function readStl(bytes: Uint8Array, run: RunContext = QUIET_RUN): Outcome<ReadMesh> {
  return atTheEdge(() => {
    const warnings: Warning[] = [];
    const text = !isBinaryStl(bytes) && looksLikeText(bytes);
    const corners = text ? readText(bytes, run) : readBinary(bytes, run, warnings);
    for (let i = 0; i < corners.length; i++) {
      if (!Number.isFinite(corners[i])) {
        const corner = Math.floor(i / 3);
        const byte = HEADER + RECORD * Math.floor(corner / 3) + 12 * ((corner % 3) + 1);
        give('file.not-finite', { vertex: corner + 1 }, text ? { face: Math.floor(corner / 3) + 1 } : { byte });
      }
    }
    const mesh = finish(weldSoup(corners, run));
    return done({ mesh, format: 'stl' as const, fromFile: IDENTITY, textures: [], groups: [] }, warnings);
  });
}

/** "solid" and then a facet or the end, with no byte that text would not have. */
function looksLikeText(bytes: Uint8Array): boolean {
  const head = new TextDecoder('latin1').decode(bytes.subarray(0, 1024));
  return /^\s*solid\b/i.test(head) && !head.includes('\0') && (/\bfacet\b/i.test(head) || /\bendsolid\b/i.test(head));
}

function readBinary(bytes: Uint8Array, run: RunContext, warnings: Warning[]): Float64Array {
  if (bytes.length < HEADER) give('file.truncated', { what: 'its header' }, { byte: bytes.length });
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const claimed = view.getUint32(80, true);
  const possible = Math.floor((bytes.length - HEADER) / RECORD);
  if (claimed > possible) {
    // A cut file keeps whole records up to the cut; a lying count has nothing to do with the length.
    give('file.count-lies', { what: 'triangles', claimed, possible }, { byte: 80 });
  }
  if (HEADER + RECORD * claimed < bytes.length) {
    warnings.push({
      code: 'stl.extra-bytes',
      sentence: `${bytes.length - HEADER - RECORD * claimed} bytes after the last triangle were passed over.`,
    });
  }
  const corners = new Float64Array(claimed * 9);
  for (let f = 0; f < claimed; f++) {
    if ((f & 0xffff) === 0) run.step('read', f, 2 * claimed);
    const at = HEADER + RECORD * f + 12;
    for (let k = 0; k < 9; k++) corners[f * 9 + k] = view.getFloat32(at + 4 * k, true);
  }
  return corners;
}

function readText(bytes: Uint8Array, run: RunContext): Float64Array {
  const s = new TextScanner(bytes);
  const corners = new GrowingFloats(bytes.length / 10);
  let ended = false;
  let words = 0;
  while (!s.atEnd) {
    s.skipSpace();
    if (s.atEnd) break;
    if ((++words & 0x3fff) === 0) run.step('read', s.at, 2 * bytes.length);
    if (s.take('vertex')) {
      s.skipBlanks();
      const x = s.number();
      s.skipBlanks();
      const y = s.number();
      s.skipBlanks();
      corners.push3(x, y, s.number());
    } else if (s.take('facet')) {
      s.nextLine();
    } else if (s.take('endloop')) {
      if (corners.length % 9 !== 0)
        give('file.malformed', { reason: 'a facet without three corners' }, { line: s.line });
    } else if (s.take('solid')) {
      ended = false;
      s.nextLine();
    } else if (s.take('endsolid')) {
      ended = true;
      s.nextLine();
    } else if (!(s.take('outer') || s.take('loop') || s.take('endfacet'))) {
      const word = s.word();
      if (s.atEnd) give('file.truncated', { what: 'a word' }, { line: s.line });
      give('file.malformed', { reason: `the word "${word.slice(0, 24)}"` }, { line: s.line });
    }
  }
  if (corners.length % 9 !== 0) give('file.truncated', { what: 'a facet' }, { line: s.line });
  if (!ended) give('file.truncated', { what: 'the body ("endsolid" is missing)' }, { line: s.line });
  return corners.take();
}

/** Binary STL; coordinates become single precision. */
export function writeStl(mesh: Mesh): Uint8Array {
  const { positions: p, triangles: t } = mesh;
  const count = t.length / 3;
  const bytes = new Uint8Array(HEADER + RECORD * count);
  bytes.set(new TextEncoder().encode('Wearwright, lengths in millimetres'));
  const view = new DataView(bytes.buffer);
  view.setUint32(80, count, true);
  const normals = faceNormals(mesh);
  for (let f = 0; f < count; f++) {
    const at = HEADER + RECORD * f;
    for (let k = 0; k < 3; k++) view.setFloat32(at + 4 * k, normals[f * 3 + k], true);
    for (let corner = 0; corner < 3; corner++) {
      for (let k = 0; k < 3; k++) view.setFloat32(at + 12 + 12 * corner + 4 * k, p[t[f * 3 + corner] * 3 + k], true);
    }
  }
  return bytes;
}
