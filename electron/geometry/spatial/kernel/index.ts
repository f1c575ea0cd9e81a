/** What the host calls, and the addresses it reads and writes at. */
export {
  beginLayOut,
  bounds as nearBounds,
  corners as nearCorners,
  counts as nearCounts,
  hit,
  layOutTo,
  nearest,
  reserveNear,
  rights as nearRights,
} from './nearest';
export {
  beginGrowth,
  beginSort,
  corners,
  counts,
  faces,
  finish,
  grow,
  nodeCount,
  positions,
  putBoxes,
  putCorners,
  putShort,
  reserveTree,
  rights,
  shortBounds,
  shortBoxes,
  sortBy,
  takeTree,
  triangles,
} from './tree';
export { beginOverlaps, isOver, looked, marks, nextOverlaps, pairs, reserveOverlaps } from './overlaps';
