/**
 * Wavefront OBJ: `v`, `f`, `g`, `o`, `usemtl`, `mtllib`; texture coordinates and normals are passed over.
 * Indices count from 1, negative ones back from the last vertex; faces may be polygons; `v x y z r g b` carries
 * colours. No unit. Own byte parser: 1M faces in about 0.4 s where a string parser takes 3 s.
 */
import { IDENTITY } from '../geometry/mesh/transform.ts';
import { done, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { QUIET_RUN, type RunContext } from '../../shared-types/progress.ts';
import { finish } from './finish.ts';
import { GrowingFloats, GrowingIndices } from './growing.ts';
import { pushPolygon } from './polygon.ts';
import type { ReadMesh } from './read-mesh.ts';
import { TextScanner } from './text-scanner.ts';
import { atTheEdge, give } from './trouble.ts';

const V = 118,
  F = 102,
  G = 103,
  O = 111,
  M = 109,
  U = 117,
  HASH = 35,
  SLASH = 47;
const MAX_CORNERS = 1 << 16;

export function readObj(bytes: Uint8Array, run: RunContext = QUIET_RUN): Outcome<ReadMesh> {
  return atTheEdge(() => {
    const s = new TextScanner(bytes);
    const positions = new GrowingFloats(bytes.length / 24);
    const triangles = new GrowingIndices(bytes.length / 14);
    let colours: GrowingFloats | undefined;
    const groups: string[] = [];
    const libraries: string[] = [];
    const loop = new Uint32Array(MAX_CORNERS);
    const warnings: Warning[] = [];
    let skippedLines = 0;
    let lines = 0;
    while (!s.atEnd) {
      if ((++lines & 0x3fff) === 0) run.step('read', s.at, bytes.length);
      s.skipBlanks();
      const c = bytes[s.at];
      const d = s.at + 1 < s.end ? bytes[s.at + 1] : 10;
      const blankNext = d === 32 || d === 9;
      if (c === V && blankNext) {
        s.at++;
        s.skipBlanks();
        const x = s.number();
        s.skipBlanks();
        const y = s.number();
        s.skipBlanks();
        const z = s.number();
        if (!(Number.isFinite(x) && Number.isFinite(y) && Number.isFinite(z))) {
          give('file.not-finite', { vertex: positions.length / 3 + 1 }, { line: s.line });
        }
        s.skipBlanks();
        if (!s.atLineEnd && bytes[s.at] !== HASH) colours = readColour(s, positions, colours);
        else if (colours !== undefined) colours.push3(0.5, 0.5, 0.5);
        positions.push3(x, y, z);
      } else if (c === F && blankNext) {
        s.at++;
        const count = readFace(s, loop, positions.length / 3);
        pushPolygon(positions.data, loop, count, triangles);
      } else if ((c === G || c === O) && blankNext) {
        s.at++;
        const name = s.rest();
        if (name !== '' && groups.length < 10_000) groups.push(name);
      } else if (c === M && startsWith(bytes, s.at, 'mtllib')) {
        s.at += 6;
        libraries.push(s.rest());
      } else if (!(s.atLineEnd || c === HASH || c === V || c === U || isKnown(bytes, s.at))) {
        skippedLines++;
      }
      s.nextLine();
    }
    if (skippedLines > 0) {
      warnings.push({
        code: 'obj.skipped-lines',
        sentence: `${skippedLines} lines say something other than vertices and faces and were passed over.`,
      });
    }
    const parts: Mesh = { positions: positions.take(), triangles: triangles.take() };
    const mesh = colours === undefined ? parts : { ...parts, colours: Uint8Array.from(colours.take(), toByte) };
    return done(
      { mesh: finish(mesh), format: 'obj' as const, fromFile: IDENTITY, textures: libraries, groups },
      warnings,
    );
  });
}

const toByte = (c: number): number => Math.max(0, Math.min(255, Math.round(c * 255)));

function startsWith(bytes: Uint8Array, at: number, word: string): boolean {
  for (let k = 0; k < word.length; k++) if (bytes[at + k] !== word.charCodeAt(k)) return false;
  return true;
}

/** Statements that are passed over without a word: smoothing, lines, points, free-form surfaces' attributes. */
function isKnown(bytes: Uint8Array, at: number): boolean {
  const next = bytes[at + 1];
  const alone = next === 32 || next === 9 || next === 10 || next === 13;
  return (
    (alone && (bytes[at] === 115 || bytes[at] === 108 || bytes[at] === 112 || bytes[at] === G || bytes[at] === O)) ||
    startsWith(bytes, at, 'usemtl')
  );
}

function readColour(
  s: TextScanner,
  positions: GrowingFloats,
  colours: GrowingFloats | undefined,
): GrowingFloats | undefined {
  const r = s.number();
  s.skipBlanks();
  // One number more is a weight (w), three are a colour.
  if (s.atLineEnd) {
    colours?.push3(0.5, 0.5, 0.5);
    return colours;
  }
  const g = s.number();
  s.skipBlanks();
  const b = s.number();
  let list = colours;
  if (list === undefined) {
    list = new GrowingFloats(positions.data.length);
    for (let i = 0; i < positions.length; i += 3) list.push3(0.5, 0.5, 0.5);
  }
  list.push3(r, g, b);
  return list;
}

function readFace(s: TextScanner, loop: Uint32Array, vertexCount: number): number {
  let count = 0;
  for (;;) {
    s.skipBlanks();
    if (s.atLineEnd || s.bytes[s.at] === HASH) break;
    const index = s.integer();
    const vertex = index < 0 ? vertexCount + index : index - 1;
    if (vertex < 0 || vertex >= vertexCount) give('file.bad-index', { index, count: vertexCount }, { line: s.line });
    if (count >= MAX_CORNERS) give('file.malformed', { reason: 'a face with over 65,536 corners' }, { line: s.line });
    loop[count++] = vertex;
    // "/vt/vn" is passed over.
    while (
      s.at < s.end &&
      (s.bytes[s.at] === SLASH || s.bytes[s.at] === 45 || (s.bytes[s.at] >= 48 && s.bytes[s.at] <= 57))
    )
      s.at++;
    if (!s.atLineEnd && s.bytes[s.at] > 32 && s.bytes[s.at] !== 92) s.badNumber();
  }
  if (count < 3) give('file.malformed', { reason: `a face with ${count} corners` }, { line: s.line });
  return count;
}

/**
 * OBJ text of a mesh, lengths as they are. Each coordinate is the shortest decimal that reads back to the very same
 * double: fewer digits would do for a reader that keeps singles, but one that keeps doubles would then see another
 * surface than the one proven sound.
 */
export function writeObj(mesh: Mesh): Uint8Array {
  const { positions: p, triangles: t, colours } = mesh;
  const lines: string[] = ['# lengths in millimetres'];
  for (let i = 0; i < p.length; i += 3) {
    const colour =
      colours === undefined ? '' : ` ${[0, 1, 2].map((k) => +(colours[i + k] / 255).toFixed(4)).join(' ')}`;
    lines.push(`v ${p[i]} ${p[i + 1]} ${p[i + 2]}${colour}`);
  }
  for (let f = 0; f < t.length; f += 3) lines.push(`f ${t[f] + 1} ${t[f + 1] + 1} ${t[f + 2] + 1}`);
  lines.push('');
  return new TextEncoder().encode(lines.join('\n'));
}
