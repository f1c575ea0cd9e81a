/** Telling the body from what else the camera saw: floating bits, furniture, the wall behind. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { keepFaces } from '../mesh/compact.ts';
import { nextHalfedge, OPEN } from '../mesh/twins.ts';
import type { Oriented } from './manifold.ts';

export interface DroppedPiece {
  readonly faces: number;
  /** Widest extent. */
  readonly width: number;
  readonly area: number;
  /** From the middle of what was kept to the middle of this. */
  readonly distance: number;
}

interface Piece {
  faces: number;
  area: number;
  /** Enclosed, were its borders closed toward their middle; signed. */
  volume: number;
  readonly sum: number[];
  readonly low: number[];
  readonly high: number[];
}

/** A piece with less area than this share of the largest is dust, whatever was asked. */
const DUST_SHARE = 0.002;
/** Volume over area^1.5 below which a piece is a sheet that encloses nothing (a sphere has 0.094). */
const SHEET_BULK = 1e-4;

function isBody(piece: Piece, largestArea: number): boolean {
  return piece.area >= DUST_SHARE * largestArea && Math.abs(piece.volume) >= SHEET_BULK * piece.area ** 1.5;
}

/**
 * Keep the body, or all pieces but dust, and turn each piece outward. The body is the piece that encloses most: a
 * wall or a floor is larger in area but encloses nothing. `rank` takes the piece that encloses next most, and so on, where the first proved
 * to be no body. O(faces).
 */
export function choosePieces(
  oriented: Oriented,
  keep: 'largest' | 'all',
  rank = 0,
): { mesh: Mesh; dropped: DroppedPiece[]; turnedOver: number } {
  const { mesh, twin, pieceOfFace, pieces } = oriented;
  const list = describe(mesh, twin, pieceOfFace, pieces);
  const best =
    rank === 0
      ? list.reduce((top, piece, i) => (Math.abs(piece.volume) > Math.abs(list[top].volume) ? i : top), 0)
      : [...list.keys()].sort((a, b) => Math.abs(list[b].volume) - Math.abs(list[a].volume))[
          Math.min(rank, pieces - 1)
        ];
  const largest = list.reduce((most, piece) => Math.max(most, piece.area), 0);
  const kept = list.map((piece, i) => i === best || (keep === 'all' && isBody(piece, largest)));
  const triangles = mesh.triangles.slice();
  let turnedOver = 0;
  list.forEach((piece, i) => {
    if (kept[i] && piece.volume < 0) turnedOver++;
  });
  if (turnedOver > 0) {
    for (let face = 0; face < pieceOfFace.length; face++) {
      if (!kept[pieceOfFace[face]] || list[pieceOfFace[face]].volume >= 0) continue;
      const swap = triangles[face * 3 + 1];
      triangles[face * 3 + 1] = triangles[face * 3 + 2];
      triangles[face * 3 + 2] = swap;
    }
  }
  const middle = (piece: Piece): number[] => piece.low.map((x, k) => (x + piece.high[k]) / 2);
  const centre = middle(list[best]);
  const dropped = list
    .filter((_, i) => !kept[i])
    .map((piece) => ({
      faces: piece.faces,
      width: Math.max(...piece.high.map((x, k) => x - piece.low[k])),
      area: piece.area,
      distance: Math.hypot(...middle(piece).map((x, k) => x - centre[k])),
    }))
    .sort((a, b) => b.area - a.area);
  const chosen = keepFaces(
    { ...mesh, triangles },
    Uint8Array.from(pieceOfFace, (piece) => (kept[piece] ? 1 : 0)),
  );
  return { mesh: chosen, dropped, turnedOver };
}

function describe(mesh: Mesh, twin: Int32Array, pieceOfFace: Uint32Array, pieces: number): Piece[] {
  const { positions: p, triangles: t } = mesh;
  const list: Piece[] = Array.from({ length: pieces }, () => ({
    faces: 0,
    area: 0,
    volume: 0,
    sum: [0, 0, 0, 0],
    low: [Infinity, Infinity, Infinity],
    high: [-Infinity, -Infinity, -Infinity],
  }));
  // Volume is taken about the middle of the borders: a head open at the neck is closed toward its neck.
  for (let h = 0; h < t.length; h++) {
    const piece = list[pieceOfFace[(h / 3) | 0]];
    for (let k = 0; k < 3; k++) {
      const x = p[t[h] * 3 + k];
      if (x < piece.low[k]) piece.low[k] = x;
      if (x > piece.high[k]) piece.high[k] = x;
    }
    if (twin[h] !== OPEN) continue;
    const a = t[h] * 3,
      b = t[nextHalfedge(h)] * 3;
    const length = Math.hypot(p[a] - p[b], p[a + 1] - p[b + 1], p[a + 2] - p[b + 2]);
    for (let k = 0; k < 3; k++) piece.sum[k] += (length * (p[a + k] + p[b + k])) / 2;
    piece.sum[3] += length;
  }
  for (let face = 0; face < pieceOfFace.length; face++) {
    const piece = list[pieceOfFace[face]];
    const o = piece.sum[3] > 0 ? piece.sum.map((x) => x / piece.sum[3]) : piece.low;
    const [a, b, c] = [t[face * 3] * 3, t[face * 3 + 1] * 3, t[face * 3 + 2] * 3];
    const ax = p[a] - o[0],
      ay = p[a + 1] - o[1],
      az = p[a + 2] - o[2];
    const bx = p[b] - o[0],
      by = p[b + 1] - o[1],
      bz = p[b + 2] - o[2];
    const cx = p[c] - o[0],
      cy = p[c + 1] - o[1],
      cz = p[c + 2] - o[2];
    piece.volume += (ax * (by * cz - bz * cy) + ay * (bz * cx - bx * cz) + az * (bx * cy - by * cx)) / 6;
    const ux = bx - ax,
      uy = by - ay,
      uz = bz - az,
      vx = cx - ax,
      vy = cy - ay,
      vz = cz - az;
    piece.area += Math.hypot(uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx) / 2;
    piece.faces++;
  }
  return list;
}
