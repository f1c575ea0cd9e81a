/** The kernel's memory is taken from its beginning on, once for each piece of work. */

const ALIGNED: u64 = 16;

/** What lies beyond has negative addresses on the host's side. */
const MOST: u64 = 0x7fffffff;

let end: u64 = 0;

/** Give up all that was taken. */
export function clear(): void {
  end = (<u64>__heap_base + ALIGNED - 1) & ~(ALIGNED - 1);
}

/** So many bytes; they may hold anything. */
export function take(count: i32, bytes: usize): usize {
  const at = <usize>end;
  end = (end + <u64>count * <u64>bytes + ALIGNED - 1) & ~(ALIGNED - 1);
  return at;
}

/** Make the memory as large as what was taken; false where there is not so much. */
export function reach(): bool {
  if (end > MOST) return false;
  const pages = <i32>((end + 0xffff) >> 16) - memory.size();
  return pages <= 0 || memory.grow(pages) >= 0;
}
