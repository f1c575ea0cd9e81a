/**
 * 3MF (core specification 1.4): a zip of XML. Read: all build items with their transforms and components, in the
 * stated unit. Written: one closed body in millimetres that obeys the core rules (each edge shared by two faces
 * that run along it in opposite directions, positive volume, whole body in the positive octant by the item's
 * transform, so that the body's own coordinates stay those of the form).
 */
import { strToU8, zipSync } from 'fflate';
import { determinant3, IDENTITY, multiply, scaling, transformMesh } from '../geometry/mesh/transform.ts';
import { boundsOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { findTwins } from '../geometry/mesh/twins.ts';
import type { Matrix4, Mesh } from '../../shared-types/mesh.ts';
import { done, type Outcome } from '../../shared-types/outcome.ts';
import { QUIET_RUN, type RunContext } from '../../shared-types/progress.ts';
import { MM_PER_UNIT, type LengthUnit } from '../../shared-types/units.ts';
import { finish } from './finish.ts';
import { join } from './gltf.ts';
import { GrowingFloats, GrowingIndices } from './growing.ts';
import { shortest } from './obj.ts';
import type { ReadMesh } from './read-mesh.ts';
import { atTheEdge, give } from './trouble.ts';
import { inflateEntry, listZip } from './zip.ts';

const UNITS: Readonly<Record<string, LengthUnit>> = {
  micron: 'micron',
  millimeter: 'millimetre',
  centimeter: 'centimetre',
  inch: 'inch',
  foot: 'foot',
  meter: 'metre',
};
const MODEL = /(^|\/)[^/]*\.model$/i;
const MAX_DEPTH = 64,
  MAX_PLACED = 100_000;

interface Tag {
  readonly name: string;
  readonly attributes: ReadonlyMap<string, string>;
  /** 1 opens, -1 closes, 0 both. */
  readonly kind: 1 | -1 | 0;
}

interface Body {
  mesh?: Mesh;
  readonly components: { readonly id: string; readonly matrix: Matrix4 }[];
}

export function isThreeMf(names: readonly string[]): boolean {
  return names.some((name) => MODEL.test(name));
}

export function readThreeMf(bytes: Uint8Array, run: RunContext = QUIET_RUN): Outcome<ReadMesh> {
  return atTheEdge(() => {
    const entries = listZip(bytes).filter((entry) => MODEL.test(entry.name));
    const main = entries.find((entry) => /^\/?3D\/3dmodel\.model$/i.test(entry.name)) ?? entries[0];
    if (main === undefined) give('file.malformed', { reason: 'no model part' });
    return done(parseModel(inflateEntry(bytes, main), run));
  });
}

function parseModel(xml: Uint8Array, run: RunContext): ReadMesh {
  const bodies = new Map<string, Body>();
  const items: { id: string; matrix: Matrix4 }[] = [];
  const groups: string[] = [];
  let unit: LengthUnit = 'millimetre';
  let body: Body | undefined;
  let positions: GrowingFloats | undefined;
  let triangles: GrowingIndices | undefined;
  let seen = 0;
  let sawModel = false;
  for (const tag of tagsOf(xml)) {
    if ((++seen & 0x3fff) === 0) run.step('read', 0, 1);
    const get = (key: string): string => tag.attributes.get(key) ?? '';
    switch (tag.name) {
      case 'model':
        if (tag.kind !== -1) {
          sawModel = true;
          const stated = get('unit') || 'millimeter';
          const known = UNITS[stated];
          if (known === undefined) give('file.malformed', { reason: `the unit "${stated.slice(0, 24)}"` });
          unit = known;
        }
        break;
      case 'object':
        if (tag.kind === 1) {
          body = { components: [] };
          bodies.set(get('id'), body);
          if (get('name') !== '') groups.push(get('name').slice(0, 200));
        }
        break;
      case 'mesh':
        if (tag.kind === 1) {
          positions = new GrowingFloats(64);
          triangles = new GrowingIndices(64);
        } else if (body !== undefined && positions !== undefined && triangles !== undefined) {
          body.mesh = { positions: positions.take(), triangles: triangles.take() };
          const count = body.mesh.positions.length / 3;
          for (const vertex of body.mesh.triangles)
            if (vertex >= count) give('file.bad-index', { index: vertex, count });
        }
        break;
      case 'vertex':
        if (tag.kind !== -1) positions?.push3(real(get('x')), real(get('y')), real(get('z')));
        break;
      case 'triangle':
        if (tag.kind !== -1) triangles?.push3(index(get('v1')), index(get('v2')), index(get('v3')));
        break;
      case 'component':
        if (tag.kind !== -1) body?.components.push({ id: get('objectid'), matrix: transformOf(get('transform')) });
        break;
      case 'item':
        if (tag.kind !== -1) items.push({ id: get('objectid'), matrix: transformOf(get('transform')) });
        break;
    }
  }
  if (!sawModel) give('file.malformed', { reason: 'no model element' });
  const parts: Mesh[] = [];
  const place = (id: string, matrix: Matrix4, depth: number): void => {
    const found = bodies.get(id);
    if (found === undefined) give('file.malformed', { reason: `object ${id.slice(0, 12)} does not exist` });
    if (depth > MAX_DEPTH || parts.length > MAX_PLACED)
      give('file.malformed', { reason: 'its objects contain one another' });
    if (found.mesh !== undefined) parts.push(transformMesh(matrix, found.mesh));
    for (const part of found.components) place(part.id, multiply(matrix, part.matrix), depth + 1);
  };
  for (const item of items) place(item.id, item.matrix, 0);
  const toMm = scaling(MM_PER_UNIT[unit]);
  return { mesh: transformMesh(toMm, finish(join(parts))), format: '3mf', unit, fromFile: toMm, textures: [], groups };
}

function real(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) give('file.bad-number', { text: text.slice(0, 24) });
  return value;
}

function index(text: string): number {
  if (!/^\s*\d{1,10}\s*$/.test(text)) give('file.bad-number', { text: text.slice(0, 24) });
  return Number(text);
}

/** 12 numbers m00..m32, rows of a matrix that acts on row vectors; ours acts on columns. */
function transformOf(text: string): Matrix4 {
  if (text === '') return IDENTITY;
  const m = text.trim().split(/\s+/).map(real);
  if (m.length !== 12) give('file.malformed', { reason: `a transform of ${m.length} numbers` });
  const matrix = [m[0], m[3], m[6], m[9], m[1], m[4], m[7], m[10], m[2], m[5], m[8], m[11], 0, 0, 0, 1];
  if (determinant3(matrix) === 0) give('file.malformed', { reason: 'a transform that flattens the body' });
  return matrix;
}

/**
 * The tags of an XML text, one at a time, names without prefix. No entities are defined (a DOCTYPE is refused), so
 * nothing can expand; text between tags is of no interest here.
 */
function* tagsOf(xml: Uint8Array): Generator<Tag> {
  const LESS = 60,
    MORE = 62;
  const decoder = new TextDecoder();
  let at = 0;
  for (;;) {
    while (at < xml.length && xml[at] !== LESS) at++;
    if (at >= xml.length) return;
    const start = at + 1;
    if (xml[start] === 33 && xml[start + 1] === 45) {
      const end = find(xml, '-->', start);
      if (end < 0) give('file.truncated', { what: 'a comment' }, { byte: start });
      at = end + 3;
      continue;
    }
    if (xml[start] === 33)
      give('file.unsupported', { what: 'an XML document type', remedy: 'export the model again' }, { byte: start });
    let end = start;
    let quote = 0;
    while (end < xml.length && (quote !== 0 || xml[end] !== MORE)) {
      if (quote !== 0) {
        if (xml[end] === quote) quote = 0;
      } else if (xml[end] === 34 || xml[end] === 39) quote = xml[end];
      end++;
    }
    if (end >= xml.length) give('file.truncated', { what: 'a tag' }, { byte: start });
    at = end + 1;
    if (xml[start] === 63) continue;
    const text = decoder.decode(xml.subarray(start, end));
    const closing = text.startsWith('/');
    const name = /^\/?(?:[\w.-]+:)?([\w.-]+)/.exec(text)?.[1];
    if (name === undefined) give('file.malformed', { reason: 'a tag without a name' }, { byte: start });
    const attributes = new Map<string, string>();
    if (!closing)
      for (const m of text.matchAll(/([\w.:-]+)\s*=\s*(?:"([^"]*)"|'([^']*)')/g))
        attributes.set(m[1], m[2] ?? m[3] ?? '');
    yield { name, attributes, kind: closing ? -1 : text.endsWith('/') ? 0 : 1 };
  }
}

function find(bytes: Uint8Array, word: string, from: number): number {
  for (let at = from; at + word.length <= bytes.length; at++) {
    let k = 0;
    while (k < word.length && bytes[at + k] === word.charCodeAt(k)) k++;
    if (k === word.length) return at;
  }
  return -1;
}

/** Write one closed body. A surface the format would not allow is a fault that says why. */
export function writeThreeMf(mesh: Mesh, title: string): Outcome<Uint8Array> {
  return atTheEdge(() => {
    const twins = findTwins(mesh.triangles, mesh.positions.length / 3);
    if (twins.openEdges > 0) give('write.not-solid', { reason: `${twins.openEdges} open edges` });
    if (twins.nonManifoldEdges > 0)
      give('write.not-solid', { reason: `${twins.nonManifoldEdges} edges with more than two faces` });
    if (twins.flippedEdges > 0)
      give('write.not-solid', { reason: `${twins.flippedEdges} edges whose faces disagree about outside` });
    if (!(volumeOf(mesh) > 0)) give('write.not-solid', { reason: 'it is turned inside out' });
    const p = mesh.positions;
    const t = mesh.triangles;
    const { min } = boundsOf(p);
    const rows: string[] = [
      '<?xml version="1.0" encoding="UTF-8"?>',
      '<model unit="millimeter" xml:lang="en" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">',
      `<metadata name="Title">${escapeXml(title)}</metadata><metadata name="Application">Wearwright</metadata>`,
      `<resources><object id="1" type="model" name="${escapeXml(title)}"><mesh><vertices>`,
    ];
    for (let i = 0; i < p.length; i += 3)
      rows.push(`<vertex x="${shortest(p[i])}" y="${shortest(p[i + 1])}" z="${shortest(p[i + 2])}"/>`);
    rows.push('</vertices><triangles>');
    for (let f = 0; f < t.length; f += 3) rows.push(`<triangle v1="${t[f]}" v2="${t[f + 1]}" v3="${t[f + 2]}"/>`);
    const shift = min.map((x) => shortest(Math.fround(-x + 0)));
    rows.push(
      `</triangles></mesh></object></resources><build><item objectid="1" transform="1 0 0 0 1 0 0 0 1 ${shift.join(' ')}"/></build></model>`,
    );
    const files = {
      '[Content_Types].xml': strToU8(
        '<?xml version="1.0" encoding="UTF-8"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">' +
          '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>' +
          '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>',
      ),
      '_rels/.rels': strToU8(
        '<?xml version="1.0" encoding="UTF-8"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">' +
          '<Relationship Target="/3D/3dmodel.model" Id="rel0" Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>',
      ),
      '3D/3dmodel.model': strToU8(rows.join('\n')),
    };
    // A fixed date: the same body gives the same bytes.
    return done(zipSync(files, { level: 6, mtime: new Date(1980, 0, 1) }));
  });
}

function escapeXml(text: string): string {
  return text.replace(/[<>&"']/g, (c) => `&#${c.charCodeAt(0)};`).replace(/[^\x20-\x7e\u00a0-\uffff]/g, ' ');
}
