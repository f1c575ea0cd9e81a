/** Typed arrays that grow by half when full: parsers do not know their counts beforehand and trust no header. */
export class GrowingFloats {
  data: Float64Array;
  length = 0;
  constructor(capacity: number) {
    this.data = new Float64Array(Math.max(12, capacity));
  }
  push3(a: number, b: number, c: number): void {
    if (this.length + 3 > this.data.length) {
      const next = new Float64Array(Math.ceil(this.data.length * 1.5));
      next.set(this.data);
      this.data = next;
    }
    this.data[this.length++] = a;
    this.data[this.length++] = b;
    this.data[this.length++] = c;
  }
  take(): Float64Array {
    return this.data.slice(0, this.length);
  }
}

export class GrowingIndices {
  data: Uint32Array;
  length = 0;
  constructor(capacity: number) {
    this.data = new Uint32Array(Math.max(12, capacity));
  }
  push3(a: number, b: number, c: number): void {
    if (this.length + 3 > this.data.length) {
      const next = new Uint32Array(Math.ceil(this.data.length * 1.5));
      next.set(this.data);
      this.data = next;
    }
    this.data[this.length++] = a;
    this.data[this.length++] = b;
    this.data[this.length++] = c;
  }
  take(): Uint32Array {
    return this.data.slice(0, this.length);
  }
}
