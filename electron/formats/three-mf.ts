/**
 * 3MF in (core specification 1.4, and the paths of the production extension): a zip of XML. All build items with
 * their transforms and components become one mesh in mm. Materials, colours and slices are passed over. Where a body of
 * ours was moved to lie on the bed is not taken as its place: a form read again stands in its own frame.
 */
import { determinant3, IDENTITY, invert, multiply, scaling, transformMesh } from '../geometry/mesh/transform.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import { done, type Outcome } from '../../shared-types/outcome.ts';
import { QUIET_RUN, type RunContext } from '../../shared-types/progress.ts';
import { MM_PER_UNIT, type LengthUnit } from '../../shared-types/units.ts';
import { finish } from './finish.ts';
import { GrowingFloats, GrowingIndices } from './growing.ts';
import { Budget, join } from './join.ts';
import type { ReadMesh } from './read-mesh.ts';
import { atTheEdge, give } from './trouble.ts';
import { XmlTags, type Tag } from './xml-tags.ts';
import { archiveReader, listZip } from './zip.ts';

const UNITS: Readonly<Record<string, LengthUnit>> = {
  micron: 'micron',
  millimeter: 'millimetre',
  centimeter: 'centimetre',
  inch: 'inch',
  foot: 'foot',
  meter: 'metre',
};
const MODEL = /(^|\/)[^/]*\.model$/i;
/** Extensions that leave the bodies themselves as the core tells them. */
const HARMLESS_EXTENSION = /\/(production|material)\//;
/** What we write stands within the first few hundred bytes (three-mf-write.ts). */
const OURS = '<metadata name="Application">Wearwright</metadata>';
const HEAD_BYTES = 4096;
const MAX_DEPTH = 64,
  MAX_PLACED = 100_000;
const VERTEX_KEYS = ['x', 'y', 'z'],
  TRIANGLE_KEYS = ['v1', 'v2', 'v3'];

/** An object placed: by a build item, or as a component of another object. */
interface Placing {
  /** Part of the package; undefined for the part it stands in. */
  readonly path: string | undefined;
  readonly id: string;
  readonly matrix: Matrix4;
}

interface Body {
  mesh?: Mesh;
  readonly components: Placing[];
}

interface ModelPart {
  readonly bodies: ReadonlyMap<string, Body>;
  readonly items: readonly Placing[];
  readonly unit: LengthUnit;
  readonly groups: readonly string[];
  readonly isOurs: boolean;
}

export function isThreeMf(names: readonly string[]): boolean {
  return names.some((name) => MODEL.test(name));
}

export function readThreeMf(bytes: Uint8Array, run: RunContext = QUIET_RUN): Outcome<ReadMesh> {
  return atTheEdge(() => {
    const entries = listZip(bytes).filter((entry) => MODEL.test(entry.name));
    const main = entries.find((entry) => /^\/?3D\/3dmodel\.model$/i.test(entry.name)) ?? entries[0];
    if (main === undefined) give('file.malformed', { reason: 'no model part' });
    const inflate = archiveReader(bytes, run);
    const parsed = new Map<string, ModelPart>();
    const partAt = (path: string): ModelPart => {
      const key = path.replace(/^\//, '').toLowerCase();
      let part = parsed.get(key);
      if (part === undefined) {
        const entry = entries.find((candidate) => candidate.name.replace(/^\//, '').toLowerCase() === key);
        if (entry === undefined) give('file.malformed', { reason: `there is no part "${path.slice(0, 80)}"` });
        part = parsePart(inflate(entry), run);
        parsed.set(key, part);
      }
      return part;
    };
    return done(assemble(main.name, partAt, run));
  });
}

function assemble(mainPath: string, partAt: (path: string) => ModelPart, run: RunContext): ReadMesh {
  const main = partAt(mainPath);
  const parts: Mesh[] = [];
  const budget = new Budget(run);
  const toMm = scaling(MM_PER_UNIT[main.unit]);
  let placed = 0;
  const place = (placing: Placing, from: string, parent: Matrix4, depth: number): void => {
    const path = placing.path ?? from;
    const body = partAt(path).bodies.get(placing.id);
    if (body === undefined) give('file.malformed', { reason: `object "${placing.id.slice(0, 12)}" does not exist` });
    if (depth > MAX_DEPTH || ++placed > MAX_PLACED)
      give('file.malformed', { reason: 'its objects contain one another' });
    const matrix = multiply(parent, placing.matrix);
    if (body.mesh !== undefined) {
      budget.take(body.mesh.positions.length + body.mesh.triangles.length);
      parts.push(transformMesh(matrix, body.mesh));
    }
    for (const component of body.components) place(component, path, matrix, depth + 1);
  };
  const onBed = shiftOf(main);
  for (const item of main.items) place(onBed === undefined ? item : { ...item, matrix: IDENTITY }, mainPath, toMm, 0);
  return {
    mesh: finish(join(parts)),
    format: '3mf',
    unit: main.unit,
    fromFile: onBed === undefined ? toMm : multiply(toMm, invert(onBed)),
    textures: [],
    groups: main.groups,
  };
}

/** How far the one body of a file of ours was shifted to lie on the bed; undefined for any other file. */
function shiftOf({ isOurs, items }: ModelPart): Matrix4 | undefined {
  if (!isOurs || items.length !== 1) return undefined;
  const [{ matrix }] = items;
  return matrix.every((x, i) => i % 4 === 3 || x === IDENTITY[i]) ? matrix : undefined;
}

/** One model part: its objects and build items, in its own numbers. */
function parsePart(xml: Uint8Array, run: RunContext): ModelPart {
  const tags = new XmlTags(xml);
  const bodies = new Map<string, Body>();
  const items: Placing[] = [];
  const groups: string[] = [];
  let unit: LengthUnit = 'millimetre';
  let body: Body | undefined;
  let opened = false;
  let closed = false;
  for (let seen = 0; ; seen++) {
    if ((seen & 0x3ff) === 0) run.step('read', tags.at, xml.length);
    const tag = tags.next();
    if (tag === undefined) break;
    const get = (key: string): string => tag.attributes.get(key) ?? '';
    switch (tag.name) {
      case 'model':
        if (tag.kind !== 1) closed = true;
        if (tag.kind === -1) break;
        opened = true;
        unit = unitOf(get('unit'));
        checkExtensions(tag);
        break;
      case 'object':
        if (tag.kind !== 1) break;
        body = { components: [] };
        bodies.set(get('id'), body);
        if (get('name') !== '') groups.push(get('name').slice(0, 200));
        break;
      case 'mesh':
        if (tag.kind === 1 && body !== undefined) body.mesh = parseMesh(tags, xml.length, run);
        break;
      case 'component':
        if (tag.kind !== -1) body?.components.push(placingOf(tag));
        break;
      case 'item':
        if (tag.kind !== -1) items.push(placingOf(tag));
        break;
    }
  }
  if (!opened) give('file.malformed', { reason: 'no model element' });
  if (!closed) give('file.truncated', { what: 'the model ("</model>" is missing)' }, { byte: xml.length });
  const isOurs = new TextDecoder().decode(xml.subarray(0, HEAD_BYTES)).includes(OURS);
  return { bodies, items, unit, groups, isOurs };
}

/** The rows between `<mesh>` and `</mesh>`. */
function parseMesh(tags: XmlTags, length: number, run: RunContext): Mesh {
  const positions = new GrowingFloats(64);
  const triangles = new GrowingIndices(64);
  const row = new Float64Array(3);
  for (let seen = 0; ; seen++) {
    if ((seen & 0x3fff) === 0) run.step('read', tags.at, length);
    const at = tags.at;
    if (tags.row('vertex', VERTEX_KEYS, row)) {
      for (const x of row)
        if (!Number.isFinite(x)) give('file.not-finite', { vertex: positions.length / 3 + 1 }, { byte: at });
      positions.push3(row[0], row[1], row[2]);
      continue;
    }
    if (tags.row('triangle', TRIANGLE_KEYS, row)) {
      pushTriangle(row, triangles, at);
      continue;
    }
    const tag = tags.next();
    if (tag === undefined) give('file.truncated', { what: 'a mesh' }, { byte: length });
    if (tag.name === 'mesh' && tag.kind === -1) break;
    const get = (key: string): number => real(tag.attributes.get(key) ?? '', at);
    if (tag.name === 'vertex' && tag.kind !== -1) positions.push3(get('x'), get('y'), get('z'));
    if (tag.name === 'triangle' && tag.kind !== -1) {
      TRIANGLE_KEYS.forEach((key, k) => (row[k] = get(key)));
      pushTriangle(row, triangles, at);
    }
  }
  const mesh = { positions: positions.take(), triangles: triangles.take() };
  const count = mesh.positions.length / 3;
  for (let i = 0; i < mesh.triangles.length; i++) {
    if (mesh.triangles[i] >= count)
      give('file.bad-index', { index: mesh.triangles[i], count }, { face: Math.floor(i / 3) + 1 });
  }
  return mesh;
}

function pushTriangle(row: Float64Array, triangles: GrowingIndices, byte: number): void {
  for (const v of row)
    if (!(Number.isInteger(v) && v >= 0 && v < 2 ** 31)) give('file.bad-number', { text: String(v) }, { byte });
  triangles.push3(row[0], row[1], row[2]);
}

function unitOf(stated: string): LengthUnit {
  const known = UNITS[stated === '' ? 'millimeter' : stated];
  if (known === undefined) give('file.malformed', { reason: `the unit "${stated.slice(0, 24)}"` });
  return known;
}

/** A required extension may change what the bodies are; only those that do not are let through. */
function checkExtensions(tag: Tag): void {
  for (const prefix of (tag.attributes.get('requiredextensions') ?? '').split(/\s+/)) {
    if (prefix === '') continue;
    const namespace = tag.attributes.get(`xmlns:${prefix}`) ?? prefix;
    if (!HARMLESS_EXTENSION.test(namespace))
      give('file.unsupported', {
        what: `the extension ${namespace.slice(0, 80)}`,
        remedy: 'export the model without it, or as STL',
      });
  }
}

function placingOf(tag: Tag): Placing {
  let path: string | undefined;
  for (const [key, value] of tag.attributes) if (/^([\w.-]+:)path$/.test(key)) path = value;
  return {
    path,
    id: tag.attributes.get('objectid') ?? '',
    matrix: transformOf(tag.attributes.get('transform') ?? ''),
  };
}

function real(text: string, byte?: number): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value))
    give('file.bad-number', { text: text.slice(0, 24) }, byte === undefined ? undefined : { byte });
  return value;
}

/** 12 numbers m00..m32, rows of a matrix that acts on row vectors; ours acts on columns. */
function transformOf(text: string): Matrix4 {
  if (text === '') return IDENTITY;
  const m = text
    .trim()
    .split(/\s+/)
    .map((word) => real(word));
  if (m.length !== 12) give('file.malformed', { reason: `a transform of ${m.length} numbers` });
  const matrix = [m[0], m[3], m[6], m[9], m[1], m[4], m[7], m[10], m[2], m[5], m[8], m[11], 0, 0, 0, 1];
  if (determinant3(matrix) === 0) give('file.malformed', { reason: 'a transform that flattens the body' });
  return matrix;
}
