/**
 * What we write as 3MF, held against the rules of the core specification 1.4 (as reported in reference-values.md
 * section 8) by a checker of its own that shares no code with reader or writer.
 */
import { strFromU8, unzipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { writeMesh } from '../../electron/formats/index.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { box, ellipsoid, torus } from '../support/solids.ts';
import { TETRAHEDRON } from './build-files.ts';

const UNITS = ['micron', 'millimeter', 'centimeter', 'inch', 'foot', 'meter'];
const METADATA =
  'Title Designer Description Copyright LicenseTerms Rating CreationDate ModificationDate Application'.split(' ');

/** Every rule that is broken, in words; an empty list when none is. */
function broken(archive: Uint8Array): string[] {
  const faults: string[] = [];
  const parts = unzipSync(archive);
  const part = (name: string): string => (parts[name] === undefined ? '' : strFromU8(parts[name]));
  if (
    !/Extension="model"\s+ContentType="application\/vnd\.ms-package\.3dmanufacturing-3dmodel\+xml"/.test(
      part('[Content_Types].xml'),
    )
  )
    faults.push('content type of the model part');
  const target =
    /Target="\/([^"]+)"[^>]*Type="http:\/\/schemas\.microsoft\.com\/3dmanufacturing\/2013\/01\/3dmodel"/.exec(
      part('_rels/.rels'),
    )?.[1];
  if (target === undefined) return [...faults, 'no relationship to a model part'];
  const xml = part(target);
  if (xml === '') return [...faults, 'the relationship points nowhere'];
  faults.push(...unbalanced(xml));
  const model = /<model\b([^>]*)>/.exec(xml)?.[1] ?? '';
  if (!model.includes('xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"')) faults.push('namespace');
  if (!UNITS.includes(/\bunit="(\w+)"/.exec(model)?.[1] ?? '')) faults.push('unit');
  const names = Array.from(xml.matchAll(/<metadata name="([^"]*)"/g), (m) => m[1]);
  if (names.some((name) => !METADATA.includes(name)) || new Set(names).size < names.length)
    faults.push('metadata names');
  const points = Array.from(xml.matchAll(/<vertex x="([^"]+)" y="([^"]+)" z="([^"]+)"\/>/g), (m) =>
    m.slice(1).map(Number),
  );
  const faces = Array.from(xml.matchAll(/<triangle v1="(\d+)" v2="(\d+)" v3="(\d+)"\/>/g), (m) =>
    m.slice(1).map(Number),
  );
  if (points.some((p) => !p.every(Number.isFinite))) faults.push('coordinates');
  if (faces.length < 4) faults.push('fewer than four triangles');
  const uses = new Map<string, number>();
  let six = 0;
  for (const face of faces) {
    if (new Set(face).size < 3) faults.push('a triangle with equal corners');
    if (face.some((v) => points[v] === undefined)) return [...faults, 'an index out of range'];
    face.forEach((v, k) => uses.set(`${v} ${face[(k + 1) % 3]}`, (uses.get(`${v} ${face[(k + 1) % 3]}`) ?? 0) + 1));
    const [a, b, c] = face.map((v) => points[v]);
    six += a[0] * (b[1] * c[2] - b[2] * c[1]) + a[1] * (b[2] * c[0] - b[0] * c[2]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
  }
  for (const [edge, count] of uses) {
    if (count !== 1 || uses.get(edge.split(' ').reverse().join(' ')) !== 1) {
      faults.push('an edge not shared by exactly two triangles in opposite directions');
      break;
    }
  }
  if (!(six > 0)) faults.push('volume not positive');
  const item = /<item objectid="1"(?: transform="([^"]+)")?\/>/.exec(xml);
  if (item === null) return [...faults, 'no build item'];
  const m = item[1]?.split(' ').map(Number) ?? [1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0];
  if (m.length !== 12 || !m.every(Number.isFinite)) faults.push('transform');
  for (const p of points)
    if ([0, 1, 2].some((k) => p[0] * m[k] + p[1] * m[3 + k] + p[2] * m[6 + k] + m[9 + k] < 0))
      return [...faults, 'outside the positive octant'];
  return faults;
}

function unbalanced(xml: string): string[] {
  const open: string[] = [];
  for (const [, closing, name, empty] of xml.matchAll(/<(\/?)([\w:]+)[^>]*?(\/?)>/g)) {
    if (closing === '/') {
      if (open.pop() !== name) return [`</${name}> closes something else`];
    } else if (empty === '') open.push(name);
  }
  return open.length === 0 ? [] : [`<${open.at(-1)}> stays open`];
}

const shifted = (mesh: Mesh, by: number): Mesh => ({ ...mesh, positions: mesh.positions.map((x) => x + by) });

function written(mesh: Mesh, name = 'part.3mf'): Uint8Array | string {
  const outcome = writeMesh(mesh, name);
  return outcome.ok ? outcome.value.bytes : outcome.fault.code;
}

describe('3MF as written', () => {
  it.each<[string, Mesh]>([
    ['a box about the origin', box(10, 20, 30)],
    ['doubles that singles cannot hold', ellipsoid(97.123456789, 76.1, 112.7, 3)],
    ['a torus far on the negative side', shifted(torus(60, 21, 24, 12), -5000.3)],
    ['a torus on the positive side', shifted(torus(60, 21, 24, 12), 700)],
  ])('keeps the rules: %s', (_name, mesh) => {
    const bytes = written(mesh);
    expect(bytes).toBeInstanceOf(Uint8Array);
    expect(broken(bytes as Uint8Array)).toEqual([]);
  });

  it('keeps the rules under a name that XML would trip over', () => {
    expect(broken(written(TETRAHEDRON, 'a<b>&"c\u0001\ud800.3mf') as Uint8Array)).toEqual([]);
  });

  it('refuses what the rules forbid', () => {
    const { positions, triangles } = box(1, 1, 1);
    expect(written({ positions, triangles: triangles.slice(3) })).toBe('write.not-solid');
    expect(written({ positions, triangles: triangles.toReversed() })).toBe('write.not-solid');
    expect(written({ positions, triangles: Uint32Array.from([...triangles, 0, 1, 1]) })).toBe('write.not-solid');
    expect(written({ positions, triangles: Uint32Array.from([...triangles, ...triangles]) })).toBe('write.not-solid');
    const oneTurned = triangles.slice();
    oneTurned.set([triangles[1], triangles[0]], 0);
    expect(written({ positions, triangles: oneTurned })).toBe('write.not-solid');
  });

  it('the checker itself can fail', () => {
    const good = unzipSync(written(box(1, 1, 1)) as Uint8Array);
    expect(broken(written(box(1, 1, 1)) as Uint8Array)).toEqual([]);
    const xml = strFromU8(good['3D/3dmodel.model']);
    const spoil = (from: RegExp | string, to: string): string => xml.replace(from, to);
    expect(unbalanced(spoil('</mesh>', '</mush>'))).toHaveLength(1);
    expect(unbalanced(spoil('</model>', ''))).toHaveLength(1);
  });
});
