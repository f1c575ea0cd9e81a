/**
 * Written and read back, and read by (and from) a general-purpose 3D library's own loaders and exporters: the outside
 * implementation here is three.js 0.187, examples/jsm.
 */
import { describe, expect, it } from 'vitest';
import { Mesh as ThreeMesh, BufferAttribute, BufferGeometry, Group, type Object3D } from 'three';
import { OBJExporter } from 'three/examples/jsm/exporters/OBJExporter.js';
import { PLYExporter } from 'three/examples/jsm/exporters/PLYExporter.js';
import { STLExporter } from 'three/examples/jsm/exporters/STLExporter.js';
import { GLTFLoader } from 'three/examples/jsm/loaders/GLTFLoader.js';
import { OBJLoader } from 'three/examples/jsm/loaders/OBJLoader.js';
import { PLYLoader } from 'three/examples/jsm/loaders/PLYLoader.js';
import { STLLoader } from 'three/examples/jsm/loaders/STLLoader.js';
import { writeMesh } from '../../electron/formats/index.ts';
import { invert, multiply, roundToSingle, transformMesh } from '../../electron/geometry/mesh/transform.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { seeded } from '../support/random.ts';
import { ellipsoid, torus } from '../support/solids.ts';
import { mustFail, mustRead, text } from './build-files.ts';

const away = (mesh: Mesh, by: number): Mesh => ({ ...mesh, positions: mesh.positions.map((x) => x + by) });
// The outside PLY exporter hands its result to a callback by this, and returns it as well.
(globalThis as { requestAnimationFrame?: unknown }).requestAnimationFrame ??= () => 0;

/** An odd-shaped head-sized body, and the same far from the origin, tiny, and coloured; all held in singles. */
const BODIES: Readonly<Record<string, Mesh>> = {
  ellipsoid: roundToSingle(ellipsoid(97.3, 76.1, 112.7, 3)),
  'far torus': roundToSingle(away(torus(60, 21, 24, 12), 1234.5)),
  tiny: roundToSingle({ ...torus(1, 0.3, 12, 8), positions: torus(1, 0.3, 12, 8).positions.map((x) => x * 1e-3) }),
  coloured: coloured(roundToSingle(torus(60, 21, 24, 12))),
};

function coloured(mesh: Mesh): Mesh {
  const random = seeded(3);
  return { ...mesh, colours: Uint8Array.from(mesh.positions, () => Math.floor(random() * 256)) };
}

function mustWrite(mesh: Mesh, name: string): { bytes: Uint8Array<ArrayBuffer>; toFile: readonly number[] } {
  const outcome = writeMesh(mesh, name);
  if (!outcome.ok) throw new Error(outcome.fault.code);
  return { ...outcome.value, bytes: new Uint8Array(outcome.value.bytes) };
}

/** Corner coordinates in face order: what a mesh is, whatever the numbering of its vertices. */
const soup = (mesh: Mesh): number[] =>
  Array.from(mesh.triangles).flatMap((v) => Array.from(mesh.positions.subarray(v * 3, v * 3 + 3)));

function soupOfThree(root: Object3D): number[] {
  const corners: number[] = [];
  root.updateMatrixWorld(true);
  root.traverse((node) => {
    if (!(node instanceof ThreeMesh)) return;
    const geometry = (node.geometry as BufferGeometry).clone().applyMatrix4(node.matrixWorld);
    const flat = geometry.index === null ? geometry : geometry.toNonIndexed();
    corners.push(...Array.from((flat.getAttribute('position') as BufferAttribute).array));
  });
  return corners;
}

const geometryOf = (mesh: Mesh): BufferGeometry => {
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(Float32Array.from(mesh.positions), 3));
  geometry.setIndex(new BufferAttribute(mesh.triangles.slice(), 1));
  return geometry;
};

const largestDifference = (a: readonly number[], b: readonly number[]): number => {
  expect(a.length).toBe(b.length);
  return a.reduce((most, x, i) => Math.max(most, Math.abs(x - b[i])), 0);
};

describe.each(Object.entries(BODIES))('%s', (_name, mesh) => {
  it.each(['obj', 'stl', 'ply', 'glb', '3mf'])('written as %s and read back, not one coordinate moves', (kind) => {
    const { bytes, toFile } = mustWrite(mesh, `a.${kind}`);
    const read = mustRead(bytes, `a.${kind}`);
    // `toFile`, then `fromFile`: a form keeps its frame, also where the format puts it beside the origin.
    const back = multiply(read.fromFile, toFile);
    expect(largestDifference([...back], [...multiply(toFile, invert(toFile))])).toBeLessThan(1e-12);
    expect(largestDifference(soup(read.mesh), soup(mesh))).toBe(0);
    if (kind !== 'stl') expect(Array.from(read.mesh.triangles)).toEqual(Array.from(mesh.triangles));
    if (kind === 'obj' || kind === 'ply' || kind === 'glb') expect(read.mesh.colours).toEqual(mesh.colours);
  });

  it('the same mesh gives the same bytes', () => {
    for (const kind of ['obj', 'stl', 'ply', 'glb', '3mf'])
      expect(Buffer.compare(mustWrite(mesh, `a.${kind}`).bytes, mustWrite(mesh, `a.${kind}`).bytes)).toBe(0);
  });

  it('the outside loaders see the same surface in our files', async () => {
    const obj = new OBJLoader().parse(new TextDecoder().decode(mustWrite(mesh, 'a.obj').bytes));
    expect(largestDifference(soupOfThree(obj), soup(mesh))).toBe(0);
    const stl = new ThreeMesh(new STLLoader().parse(mustWrite(mesh, 'a.stl').bytes.buffer));
    expect(largestDifference(soupOfThree(stl), soup(mesh))).toBe(0);
    const ply = new ThreeMesh(new PLYLoader().parse(mustWrite(mesh, 'a.ply').bytes.buffer));
    expect(largestDifference(soupOfThree(ply), soup(mesh))).toBe(0);
    const { bytes, toFile } = mustWrite(mesh, 'a.glb');
    const glb = await new GLTFLoader().parseAsync(bytes.buffer, '');
    // The loader holds singles in metres: 2^-24 of the largest coordinate, times a few roundings.
    const inMetres = soup(transformMesh(toFile, mesh));
    const largest = inMetres.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
    expect(largestDifference(soupOfThree(glb.scene), inMetres)).toBeLessThan(4 * 2 ** -24 * largest);
  });

  it('we see the same surface in the outside exporters’ files', () => {
    const object = new Group();
    object.add(new ThreeMesh(geometryOf(mesh)));
    object.updateMatrixWorld(true);
    const files: [string, Uint8Array][] = [
      ['a.obj', text(new OBJExporter().parse(object))],
      ['a.stl', new Uint8Array(new STLExporter().parse(object, { binary: true }).buffer as ArrayBuffer)],
      ['b.stl', text(new STLExporter().parse(object))],
      [
        'a.ply',
        new Uint8Array(new PLYExporter().parse(object, () => {}, { binary: true, littleEndian: true }) as ArrayBuffer),
      ],
      ['b.ply', new Uint8Array(new PLYExporter().parse(object, () => {}, { binary: true }) as ArrayBuffer)],
      ['c.ply', text(new PLYExporter().parse(object, () => {}, {}) as string)],
    ];
    for (const [name, bytes] of files)
      expect(largestDifference(soup(mustRead(bytes, name).mesh), soup(mesh)), name).toBe(0);
  });
});

it('coordinates that singles cannot hold come back whole from OBJ and PLY', () => {
  const random = seeded(5);
  const mesh: Mesh = {
    positions: Float64Array.from({ length: 300 }, () => (random() - 0.5) * 10 ** Math.floor(random() * 12 - 4)),
    triangles: Uint32Array.from({ length: 300 }, (_, i) => i % 100),
  };
  for (const kind of ['obj', 'ply'])
    expect(Array.from(mustRead(mustWrite(mesh, `a.${kind}`).bytes, `a.${kind}`).mesh.positions)).toEqual(
      Array.from(mesh.positions),
    );
});

it('a name that does not say what to write is a fault', () => {
  for (const name of ['a', 'a.', 'a.txt', 'a.gltf', 'stl']) {
    const outcome = writeMesh(BODIES['tiny'], name);
    expect(outcome.ok ? 'written' : outcome.fault.code).toBe('file.unknown-target');
  }
  expect(mustFail(text('hello'), 'hello').code).toBe('file.unknown-kind');
});
