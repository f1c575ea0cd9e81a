/** A mesh shaded without a screen: parallel, each pixel by what lies nearest to the eye. */
import type { Mesh, Vec3 } from '../../../shared-types/mesh.ts';
import { boundsOf, vertexNormals } from '../mesh/quantities.ts';

/** Unit vectors in the mesh's frame: to the right on the picture, up on it, and toward the eye. */
export interface View {
  readonly side: Vec3;
  readonly up: Vec3;
  readonly eye: Vec3;
}

/** Seen from `azimuthDeg` (0 in front, 90 the wearer's left) and so many degrees above level; x forward, z up. */
export function viewFrom(azimuthDeg: number, elevationDeg: number): View {
  const [a, e] = [(azimuthDeg * Math.PI) / 180, (elevationDeg * Math.PI) / 180];
  const [ca, sa, ce, se] = [Math.cos(a), Math.sin(a), Math.cos(e), Math.sin(e)];
  return { side: [-sa, ca, 0], up: [-ca * se, -sa * se, ce], eye: [ca * ce, sa * ce, se] };
}

export interface Shaded {
  readonly width: number;
  readonly height: number;
  /** Depth toward the eye, mm; -Infinity where nothing is. Row by row from the upper left. */
  readonly depth: Float64Array;
  /** Light, 0 to 1, as far as it is covered. */
  readonly light: Float32Array;
  /** Mesh coordinates to pixels. */
  readonly toPixel: (point: Vec3) => [number, number];
}

/** Corners of faces between two ticks: some milliseconds of drawing. */
const FACES_PER_TICK = 3 * 256;
/** How much of the light comes from everywhere. */
const AMBIENT = 0.34;

/** How far the point at `at` lies along an axis. */
export const along = (p: ArrayLike<number>, at: number, axis: Vec3): number =>
  p[at] * axis[0] + p[at + 1] * axis[1] + p[at + 2] * axis[2];

export interface PictureSize {
  /** Pixels. */
  readonly width: number;
  readonly height: number;
  /** Without it the mesh is as large as `fill` of the picture allows, 1 unless told. */
  readonly mmPerPixel?: number;
  readonly fill?: number;
  /** It stands on the picture's lower edge instead of hanging in its middle. */
  readonly standing?: boolean;
}

/** The mesh in the middle of a picture, lit from above the eye's left shoulder. O(faces + pixels). */
export function shadeMesh(mesh: Mesh, view: View, size: PictureSize, tick: () => void = () => undefined): Shaded {
  const { width, height, fill = 1 } = size;
  const { side, up, eye } = view;
  const lamp = [0, 1, 2].map((k) => 0.55 * eye[k] + 0.65 * up[k] - 0.5 * side[k]) as unknown as Vec3;
  const { positions: p, triangles: t } = mesh;
  const normals = vertexNormals(mesh);
  const screen = new Float64Array(p.length);
  const tone = new Float64Array(p.length / 3);
  for (let i = 0; i < p.length; i += 3) {
    screen[i] = along(p, i, side);
    screen[i + 1] = along(p, i, up);
    screen[i + 2] = along(p, i, eye);
    tone[i / 3] = AMBIENT + (1 - AMBIENT) * Math.max(0, along(normals, i, lamp));
  }
  tick();
  const { min, max } = boundsOf(screen);
  const fitting = fill * Math.min(width / (max[0] - min[0]), height / (max[1] - min[1]));
  const scale = size.mmPerPixel === undefined ? fitting : 1 / size.mmPerPixel;
  const middleX = (min[0] + max[0]) / 2;
  const middleY = size.standing === true ? min[1] + (height * fill) / 2 / scale : (min[1] + max[1]) / 2;
  const place = (x: number, y: number): [number, number] => [
    width / 2 + (x - middleX) * scale,
    height / 2 - (y - middleY) * scale,
  ];
  for (let i = 0; i < screen.length; i += 3) [screen[i], screen[i + 1]] = place(screen[i], screen[i + 1]);
  tick();
  const depth = new Float64Array(width * height).fill(-Infinity);
  const light = new Float32Array(width * height);
  const shaded = { width, height, depth, light };
  for (let f = 0; f < t.length; f += 3) {
    if (f % FACES_PER_TICK === 0) tick();
    drawFace(t[f], t[f + 1], t[f + 2], screen, tone, shaded);
  }
  return { ...shaded, toPixel: (point) => place(along(point, 0, side), along(point, 0, up)) };
}

function drawFace(
  a: number,
  b: number,
  c: number,
  screen: Float64Array,
  tone: Float64Array,
  { width, height, depth, light }: Omit<Shaded, 'toPixel'>,
): void {
  const [ax, ay, bx, by] = [screen[a * 3], screen[a * 3 + 1], screen[b * 3], screen[b * 3 + 1]];
  const [cx, cy] = [screen[c * 3], screen[c * 3 + 1]];
  const area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
  if (area === 0) return;
  const [x0, x1] = [
    Math.max(0, Math.ceil(Math.min(ax, bx, cx))),
    Math.min(width - 1, Math.floor(Math.max(ax, bx, cx))),
  ];
  const [y0, y1] = [
    Math.max(0, Math.ceil(Math.min(ay, by, cy))),
    Math.min(height - 1, Math.floor(Math.max(ay, by, cy))),
  ];
  for (let y = y0; y <= y1; y++) {
    for (let x = x0; x <= x1; x++) {
      const u = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / area;
      const v = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / area;
      if (u < 0 || v < 0 || u + v > 1) continue;
      const w = 1 - u - v;
      const z = w * screen[a * 3 + 2] + u * screen[b * 3 + 2] + v * screen[c * 3 + 2];
      const at = y * width + x;
      if (z <= depth[at]) continue;
      depth[at] = z;
      light[at] = w * tone[a] + u * tone[b] + v * tone[c];
    }
  }
}
