/**
 * 3MF out (core specification 1.4): closed bodies in millimetres, each with its name. Every edge is shared by two faces that run along
 * it in opposite directions, the volume is positive, and the item's transform puts the body into the positive octant,
 * so that its own coordinates stay those of the form; several bodies lie in a row.
 */
import { strToU8, zipSync } from 'fflate';
import { translation } from '../geometry/mesh/transform.ts';
import { boundsOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { findTwins } from '../geometry/mesh/twins.ts';
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import type { WrittenMesh } from './read-mesh.ts';
import { give } from './trouble.ts';

/** Write one closed body. A surface the format would not allow is a fault that says why. */
export function writeThreeMf(mesh: Mesh, title: string): WrittenMesh {
  // Whole millimetres, so that adding them rounds nothing below zero.
  const shift = boundsOf(mesh.positions).min.map((x) => -Math.floor(x) + 0) as unknown as Vec3;
  return { bytes: pack([{ name: title, mesh, shift }], title), toFile: translation(shift) };
}

/** Room left between bodies that lie in a row, mm. */
const BETWEEN_MM = 10;

/** Write several closed bodies into one file, in a row along x. */
export function writeThreeMfSet(
  bodies: readonly { readonly name: string; readonly mesh: Mesh }[],
  title: string,
): Uint8Array<ArrayBuffer> {
  let along = 0;
  const placed = bodies.map(({ name, mesh }) => {
    const { min, max } = boundsOf(mesh.positions);
    const shift: Vec3 = [along - Math.floor(min[0]), -Math.floor(min[1]) + 0, -Math.floor(min[2]) + 0];
    along += Math.ceil(max[0] - Math.floor(min[0])) + BETWEEN_MM;
    return { name, mesh, shift };
  });
  return pack(placed, title);
}

interface Placed {
  readonly name: string;
  readonly mesh: Mesh;
  readonly shift: Vec3;
}

function proveSolid({ positions: p, triangles: t }: Mesh): void {
  for (let f = 0; f < t.length; f += 3) {
    if (t[f] === t[f + 1] || t[f + 1] === t[f + 2] || t[f + 2] === t[f])
      give('write.not-solid', { reason: `face ${f / 3 + 1} names one corner twice` });
  }
  const twins = findTwins(t, p.length / 3);
  if (twins.openEdges > 0) give('write.not-solid', { reason: `${twins.openEdges} open edges` });
  if (twins.nonManifoldEdges > 0)
    give('write.not-solid', { reason: `${twins.nonManifoldEdges} edges with more than two faces` });
  if (twins.flippedEdges > 0)
    give('write.not-solid', { reason: `${twins.flippedEdges} edges whose faces disagree about outside` });
  if (!(volumeOf({ positions: p, triangles: t }) > 0)) give('write.not-solid', { reason: 'it is turned inside out' });
}

function pack(bodies: readonly Placed[], title: string): Uint8Array<ArrayBuffer> {
  const rows: string[] = [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<model unit="millimeter" xml:lang="en" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">',
    `<metadata name="Title">${escapeXml(title)}</metadata><metadata name="Application">Wearwright</metadata>`,
    '<resources>',
  ];
  for (const [number, { name, mesh }] of bodies.entries()) {
    proveSolid(mesh);
    const { positions: p, triangles: t } = mesh;
    rows.push(`<object id="${number + 1}" type="model" name="${escapeXml(name)}"><mesh><vertices>`);
    for (let i = 0; i < p.length; i += 3) rows.push(`<vertex x="${p[i]}" y="${p[i + 1]}" z="${p[i + 2]}"/>`);
    rows.push('</vertices><triangles>');
    for (let f = 0; f < t.length; f += 3) rows.push(`<triangle v1="${t[f]}" v2="${t[f + 1]}" v3="${t[f + 2]}"/>`);
    rows.push('</triangles></mesh></object>');
  }
  const items = bodies.map(
    ({ shift }, number) => `<item objectid="${number + 1}" transform="1 0 0 0 1 0 0 0 1 ${shift.join(' ')}"/>`,
  );
  rows.push(`</resources><build>${items.join('')}</build></model>`);
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
  return zipSync(files, { level: 6, mtime: new Date(1980, 0, 1) });
}

function escapeXml(text: string): string {
  return text
    .replace(/[<>&"']/g, (c) => `&#${c.charCodeAt(0)};`)
    .replace(/[^\x20-\x7e\u00a0-\ud7ff\ue000-\ufffd]/g, ' ');
}
