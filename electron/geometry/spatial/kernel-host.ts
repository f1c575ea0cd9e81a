/** The WebAssembly kernel (kernel/*.ts) as the host sees it, and whose memory it works in. */
import type { Mesh } from '../../../shared-types/mesh.ts';
import { KERNEL } from './kernel-bytes.ts';

/** An address or a number the kernel tells. */
interface Told {
  readonly value: number;
}

/** What kernel/index.ts exports, by its docstrings; flags are 0 or 1. */
export interface Kernel {
  readonly nearBounds: Told;
  readonly nearCorners: Told;
  readonly nearCounts: Told;
  readonly nearRights: Told;
  readonly hit: Told;
  readonly reserveNear: (nodeCount: number, faceCount: number) => number;
  readonly beginLayOut: (nodeCount: number, x: number, y: number, z: number, slackMm: number) => void;
  readonly layOutTo: (slot: number) => void;
  readonly nearest: (x: number, y: number, z: number, most: number) => number;

  readonly positions: Told;
  readonly triangles: Told;
  readonly rights: Told;
  readonly counts: Told;
  readonly faces: Told;
  readonly corners: Told;
  readonly shortBounds: Told;
  readonly shortBoxes: Told;
  readonly nodeCount: Told;
  readonly reserveTree: (vertexCount: number, faceCount: number) => number;
  readonly putBoxes: (from: number, to: number) => void;
  readonly beginSort: () => void;
  readonly sortBy: (digit: number) => number;
  readonly beginGrowth: () => void;
  readonly grow: (most: number) => number;
  readonly finish: () => void;
  readonly putShort: () => void;
  readonly putCorners: (from: number, to: number) => void;
  readonly takeTree: (nodeCount: number) => void;

  readonly pairs: Told;
  readonly marks: Told;
  readonly isOver: Told;
  readonly looked: Told;
  readonly reserveOverlaps: (faceCount: number) => number;
  readonly beginOverlaps: (onlyMarked: number) => void;
  readonly nextOverlaps: (most: number) => number;

  readonly windingBounds: Told;
  readonly windingCorners: Told;
  readonly windingCounts: Told;
  readonly windingRights: Told;
  readonly reserveWinding: (nodeCount: number, faceCount: number) => number;
  readonly beginWinding: (nodeCount: number, x: number, y: number, z: number, size: number) => void;
  readonly placeNodes: (most: number) => number;
  readonly sumNodes: (most: number) => number;
  readonly winding: (x: number, y: number, z: number) => number;
}

/** A kernel and its memory. Views are made anew after what takes room, which may move it. */
export interface KernelWithMemory {
  readonly kernel: Kernel;
  readonly memory: { readonly buffer: ArrayBuffer };
}

/** As of the standard WebAssembly interface; geometry is compiled without the libraries of a browser or of Node. */
declare const WebAssembly: {
  Module: new (bytes: Uint8Array) => object;
  Memory: new (size: { initial: number }) => { readonly buffer: ArrayBuffer };
  Instance: new (module: object, imports: object) => { readonly exports: unknown };
};

/** More memory than this is not kept between pieces of work. */
const KEPT_BYTES = 2 ** 26;
/** Faces between two looks for a stop while a tree is built. */
const STRIDE = 2 ** 16;

let compiled: object | undefined;
let kept: KernelWithMemory | undefined;

/** Bytes of a base64 text. */
function bytesOf(text: string): Uint8Array {
  const letters = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/';
  const ends = text.indexOf('=') < 0 ? text.length : text.indexOf('=');
  const bytes = new Uint8Array((ends * 3) >> 2);
  let bits = 0;
  for (let i = 0, at = 0; i < ends; i++) {
    bits = (bits << 6) | letters.indexOf(text[i]);
    if (i % 4 > 0) bytes[at++] = bits >> (6 - 2 * (i % 4));
  }
  return bytes;
}

/** A kernel with a memory of its own, or none where no more memories are to be had. */
export function spareKernel(): KernelWithMemory | undefined {
  try {
    return newKernel();
  } catch {
    return undefined;
  }
}

/** A kernel with a memory of its own. Throws a RangeError where no more memories are to be had (some hosts allow a hundred). */
function newKernel(): KernelWithMemory {
  compiled ??= new WebAssembly.Module(bytesOf(KERNEL));
  const memory = new WebAssembly.Memory({ initial: 1 });
  const kernel = new WebAssembly.Instance(compiled, { env: { memory } }).exports as Kernel;
  return { kernel, memory };
}

/** Do work with a kernel that is used for one piece of work after the other. */
export function withKernel<T>(work: (one: KernelWithMemory) => T): T {
  // What is at work is not here: work within work has its own.
  const one = kept ?? newKernel();
  kept = undefined;
  try {
    return work(one);
  } finally {
    if (one.memory.buffer.byteLength <= KEPT_BYTES) kept = one;
  }
}

/**
 * Write a mesh where the kernel builds trees, with room for one; vertices no face has may be left out, and without
 * overlaps vertices may be there more than once. Corners must be numbers of vertices: what reads files sees to that.
 */
export function putMesh(one: KernelWithMemory, { positions, triangles }: Mesh, hasOverlaps: boolean): void {
  const { kernel, memory } = one;
  const faceCount = triangles.length / 3;
  const vertexCount = Math.min(positions.length / 3, triangles.length);
  if (kernel.reserveTree(vertexCount, faceCount) === 0 || (hasOverlaps && kernel.reserveOverlaps(faceCount) === 0)) {
    throw new RangeError(`Memory does not suffice for a search tree over ${faceCount} faces.`);
  }
  const to = new Float64Array(memory.buffer, kernel.positions.value, vertexCount * 3);
  const corners = new Uint32Array(memory.buffer, kernel.triangles.value, triangles.length);
  if (positions.length / 3 <= triangles.length) {
    to.set(positions);
    corners.set(triangles);
    return;
  }
  // Few faces of many vertices.
  const numbers = hasOverlaps ? new Int32Array(positions.length / 3) : undefined;
  let count = 0;
  for (let h = 0; h < triangles.length; h++) {
    const v = triangles[h];
    const before = numbers === undefined ? 0 : numbers[v];
    corners[h] = before > 0 ? before - 1 : count;
    if (before > 0) continue;
    for (let k = 0; k < 3; k++) to[count * 3 + k] = positions[v * 3 + k];
    count++;
    if (numbers !== undefined) numbers[v] = count;
  }
}

/** Build a tree over the mesh that was put; `tick` is called every few milliseconds of work. */
export function growTree({ kernel }: KernelWithMemory, faceCount: number, tick: (() => void) | undefined): void {
  for (let from = 0; from < faceCount; from += STRIDE) {
    tick?.();
    kernel.putBoxes(from, Math.min(faceCount, from + STRIDE));
  }
  tick?.();
  kernel.beginSort();
  for (let digit = 0; kernel.sortBy(digit) !== 0; digit++) tick?.();
  kernel.beginGrowth();
  do tick?.();
  while (kernel.grow(STRIDE) !== 0);
  tick?.();
  kernel.finish();
}
