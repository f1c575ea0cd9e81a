/** What the host calls, and the addresses it reads and writes at. */
export {
  bounds as nearBounds,
  corners as nearCorners,
  counts as nearCounts,
  hit,
  layOut,
  nearest,
  reserveNear,
  rights as nearRights,
} from './nearest';
export {
  corners,
  counts,
  faces,
  finish,
  grow,
  nodeCount,
  positions,
  putBoxes,
  putCorners,
  reserveTree,
  rights,
  shortBounds,
  shortBoxes,
  sort,
  takeTree,
  triangles,
} from './tree';
export { beginOverlaps, isOver, marks, nextOverlaps, pairs, reserveOverlaps } from './overlaps';
