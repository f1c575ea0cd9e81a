/** Counts, sizes and days in words. Pure. */

/** 9 498: a thin gap at the thousands. */
export const countText = (count: number): string => count.toLocaleString('en-GB').replaceAll(',', ' ');

/** "1 scan", "3 scans". */
export function some(count: number, one: string, many = `${one}s`): string {
  return `${countText(count)} ${count === 1 ? one : many}`;
}

export function bytesText(bytes: number): string {
  const mega = bytes / 1e6;
  if (mega >= 100) return `${mega.toFixed(0)} MB`;
  if (mega >= 1) return `${mega.toFixed(1)} MB`;
  return `${Math.max(1, Math.round(bytes / 1000))} kB`;
}

/** "25 November 2026". */
export function dayText(moment: string): string {
  const date = new Date(moment);
  return date.toLocaleDateString('en-GB', { day: 'numeric', month: 'long', year: 'numeric' });
}

/** "25 November 2026, 14:05", by this machine's clock. */
export function momentText(moment: string): string {
  const time = new Date(moment).toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });
  return `${dayText(moment)}, ${time}`;
}
