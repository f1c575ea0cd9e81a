/** How far one surface lies from another, mm, sampled both ways. */
export interface Deviation {
  readonly maxMm: number;
  readonly p99Mm: number;
  readonly meanMm: number;
  readonly rmsMm: number;
  /** Points measured, both ways together. */
  readonly samples: number;
}
