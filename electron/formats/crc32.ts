/** CRC-32 as in ISO 3309 and zip (reflected polynomial 0xEDB88320), four bytes at a time; some 1 GB/s. */
const TABLES = ((): Uint32Array[] => {
  const first = new Uint32Array(256);
  for (let n = 0; n < 256; n++) {
    let c = n;
    for (let bit = 0; bit < 8; bit++) c = c & 1 ? (c >>> 1) ^ 0xedb88320 : c >>> 1;
    first[n] = c;
  }
  const tables = [first];
  for (let k = 1; k < 4; k++)
    tables.push(first.map((_, n) => first[tables[k - 1][n] & 255] ^ (tables[k - 1][n] >>> 8)));
  return tables;
})();

export function crc32(bytes: Uint8Array): number {
  const [t0, t1, t2, t3] = TABLES;
  let crc = -1;
  let at = 0;
  for (const end = bytes.length - 3; at < end; at += 4) {
    crc ^= bytes[at] | (bytes[at + 1] << 8) | (bytes[at + 2] << 16) | (bytes[at + 3] << 24);
    crc = t3[crc & 255] ^ t2[(crc >>> 8) & 255] ^ t1[(crc >>> 16) & 255] ^ t0[crc >>> 24];
  }
  for (; at < bytes.length; at++) crc = t0[(crc ^ bytes[at]) & 255] ^ (crc >>> 8);
  return (crc ^ -1) >>> 0;
}
