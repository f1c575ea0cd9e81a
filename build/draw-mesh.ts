/**
 * Draw a mesh to a PNG without a screen, so that a result can be looked at: `node build/draw-mesh.ts IN OUT.png
 * [--view front|left|right|back|top|below|three-quarter] [--size 900] [--edges]`. Form frame: x forward, y left, z up.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import type { Mesh } from '../shared-types/mesh.ts';
import { encodePng } from '../electron/services/png.ts';
import { boundsOf, faceNormals } from '../electron/geometry/mesh/quantities.ts';

const VIEWS: Record<string, readonly [number, number]> = {
  // azimuth from the front toward the wearer's left, elevation; degrees
  front: [0, 0],
  left: [90, 0],
  right: [-90, 0],
  back: [180, 0],
  top: [0, 89.9],
  below: [0, -89.9],
  'three-quarter': [35, 20],
};

/** 8-bit RGB pixels of the mesh, flat-shaded on paper white, parallel projection. */
export function drawMesh(mesh: Mesh, view = 'three-quarter', size = 900, edges = false): Uint8Array {
  const [azimuth, elevation] = (VIEWS[view] ?? VIEWS['three-quarter']).map((d) => (d * Math.PI) / 180);
  const ca = Math.cos(azimuth),
    sa = Math.sin(azimuth),
    ce = Math.cos(elevation),
    se = Math.sin(elevation);
  const eye = [ca * ce, sa * ce, se];
  const side = [-sa, ca, 0];
  const up = [-ca * se, -sa * se, ce];
  const { positions: p, triangles: t } = mesh;
  const screen = new Float64Array(p.length);
  for (let i = 0; i < p.length; i += 3) {
    for (let k = 0; k < 3; k++) {
      const axis = k === 0 ? side : k === 1 ? up : eye;
      screen[i + k] = p[i] * axis[0] + p[i + 1] * axis[1] + p[i + 2] * axis[2];
    }
  }
  const { min, max } = boundsOf(screen);
  const scale = (size * 0.92) / Math.max(max[0] - min[0], max[1] - min[1]);
  for (let i = 0; i < screen.length; i += 3) {
    screen[i] = size / 2 + (screen[i] - (min[0] + max[0]) / 2) * scale;
    screen[i + 1] = size / 2 - (screen[i + 1] - (min[1] + max[1]) / 2) * scale;
  }
  const pixels = new Uint8Array(size * size * 3).fill(245);
  const depth = new Float64Array(size * size).fill(-Infinity);
  const normals = faceNormals(mesh);
  for (let f = 0; f < t.length; f += 3) {
    const a = t[f] * 3,
      b = t[f + 1] * 3,
      c = t[f + 2] * 3;
    const n = [0, 1, 2].map((k) => normals[f + k]);
    const facing = n[0] * eye[0] + n[1] * eye[1] + n[2] * eye[2];
    const key =
      n[0] * (eye[0] + up[0] * 0.6 + side[0] * 0.5) +
      n[1] * (eye[1] + up[1] * 0.6 + side[1] * 0.5) +
      n[2] * (eye[2] + up[2] * 0.6 + side[2] * 0.5);
    const light = 60 + 150 * Math.max(0, key / 1.27);
    const tone = facing >= 0 ? [light, light * 0.95, light * 0.86] : [light * 0.5 + 110, 60, 50];
    const ax = screen[a],
      ay = screen[a + 1],
      bx = screen[b],
      by = screen[b + 1],
      cx = screen[c],
      cy = screen[c + 1];
    const area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
    if (area === 0) continue;
    const x0 = Math.max(0, Math.ceil(Math.min(ax, bx, cx) - 0.5)),
      x1 = Math.min(size - 1, Math.floor(Math.max(ax, bx, cx) + 0.5));
    const y0 = Math.max(0, Math.ceil(Math.min(ay, by, cy) - 0.5)),
      y1 = Math.min(size - 1, Math.floor(Math.max(ay, by, cy) + 0.5));
    for (let y = y0; y <= y1; y++) {
      for (let x = x0; x <= x1; x++) {
        const u = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / area;
        const v = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / area;
        if (u < 0 || v < 0 || u + v > 1) continue;
        const z = screen[a + 2] + u * (screen[b + 2] - screen[a + 2]) + v * (screen[c + 2] - screen[a + 2]);
        const at = y * size + x;
        if (z <= depth[at]) continue;
        depth[at] = z;
        const rim = edges && Math.min(u, v, 1 - u - v) * Math.sqrt(Math.abs(area)) < 0.8 ? 0.6 : 1;
        for (let k = 0; k < 3; k++) pixels[at * 3 + k] = Math.min(255, tone[k] * rim);
      }
    }
  }
  return pixels;
}

if (process.argv[1] === import.meta.filename) {
  const [input, output] = process.argv.slice(2);
  const option = (name: string): string | undefined => {
    const at = process.argv.indexOf(name);
    return at < 0 ? undefined : process.argv[at + 1];
  };
  const { readMesh } = await import('../electron/formats/index.ts');
  const outcome = readMesh(new Uint8Array(readFileSync(input)), input);
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.fault));
  const size = Number(option('--size') ?? 900);
  const pixels = drawMesh(outcome.value.mesh, option('--view'), size, process.argv.includes('--edges'));
  writeFileSync(output, encodePng(pixels, size, size, 3));
}
