import { describe, expect, it } from 'vitest';
import { decodeWire, encodeWire } from '../../shared-types/wire.ts';
import { seeded } from '../support/random.ts';

describe('wire', () => {
  const message = {
    id: 7,
    name: 'form.mesh',
    mesh: { positions: Float64Array.of(1, -2.5, 1e-300), triangles: Uint32Array.of(0, 1, 4294967295) },
    colours: Uint8Array.of(1, 2, 3),
    list: [Float32Array.of(0.5), 'text', null, { deep: Int32Array.of(-1) }],
    empty: new Uint16Array(0),
  };

  it('brings every array and value back as it was', () => {
    expect(decodeWire(encodeWire(message))).toEqual(message);
    expect(decodeWire(encodeWire(null))).toBeNull();
    expect(decodeWire(encodeWire('ümlaut'))).toBe('ümlaut');
  });

  it('reads from a buffer that starts anywhere', () => {
    const bytes = encodeWire(message);
    const shifted = new Uint8Array(bytes.length + 3);
    shifted.set(bytes, 3);
    expect(decodeWire(shifted.subarray(3))).toEqual(message);
    expect(decodeWire(Buffer.from(shifted.buffer, 3))).toEqual(message);
  });

  it('gives undefined, never a throw, for bytes cut short or changed', () => {
    const bytes = encodeWire(message);
    for (let length = 0; length < bytes.length - 8; length++)
      expect(decodeWire(bytes.subarray(0, length))).toBeUndefined();
    const seed = 4711;
    console.info(`seed ${seed}`);
    const random = seeded(seed);
    for (let round = 0; round < 3000; round++) {
      const broken = bytes.slice();
      for (let k = 0; k < 3; k++) broken[Math.floor(random() * broken.length)] = Math.floor(random() * 256);
      expect(() => decodeWire(broken)).not.toThrow();
    }
  });

  it('refuses arrays that lie about their length or kind', () => {
    const lie = (mark: object): Uint8Array => {
      const head = new TextEncoder().encode(JSON.stringify({ a: mark }));
      const bytes = new Uint8Array(((4 + head.length + 7) & ~7) + 16);
      new DataView(bytes.buffer).setUint32(0, head.length, true);
      bytes.set(head, 4);
      return bytes;
    };
    expect(decodeWire(lie({ $array: 0, type: 'f64', length: 2 }))).toEqual({ a: new Float64Array(2) });
    expect(decodeWire(lie({ $array: 0, type: 'f64', length: 3 }))).toBeUndefined();
    expect(decodeWire(lie({ $array: 0, type: 'f64', length: -1 }))).toBeUndefined();
    expect(decodeWire(lie({ $array: 0, type: 'constructor', length: 1 }))).toBeUndefined();
    expect(decodeWire(lie({ $array: 1, type: 'u8', length: 1 }))).toBeUndefined();
  });
});
