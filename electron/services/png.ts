/** PNG (ISO/IEC 15948) of 8-bit pixels, without filters: for small pictures drawn without a screen. */
import { crc32, deflateSync } from 'node:zlib';

/** Colour type of the header by bytes per pixel: grey, grey with alpha, or RGB. */
const COLOUR_TYPE = { 1: 0, 2: 4, 3: 2 } as const;

/** The file's bytes; `pixels` row by row from the upper left, `channels` bytes each. O(pixels). */
export function encodePng(
  pixels: Uint8Array,
  width: number,
  height: number,
  channels: keyof typeof COLOUR_TYPE,
): Uint8Array<ArrayBuffer> {
  const rowBytes = width * channels;
  // Each row begins with the number of its filter: 0, none.
  const rows = new Uint8Array(height * (rowBytes + 1));
  for (let y = 0; y < height; y++) {
    rows.set(pixels.subarray(y * rowBytes, (y + 1) * rowBytes), y * (rowBytes + 1) + 1);
  }
  const chunk = (name: string, body: Uint8Array): Buffer => {
    const out = Buffer.alloc(12 + body.length);
    out.writeUInt32BE(body.length, 0);
    out.write(name, 4, 'latin1');
    out.set(body, 8);
    out.writeUInt32BE(crc32(out.subarray(4, 8 + body.length)), 8 + body.length);
    return out;
  };
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, COLOUR_TYPE[channels], 0, 0, 0], 8);
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  const body = chunk('IDAT', deflateSync(rows));
  return new Uint8Array(Buffer.concat([signature, chunk('IHDR', head), body, chunk('IEND', new Uint8Array(0))]));
}
