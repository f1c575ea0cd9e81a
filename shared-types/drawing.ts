/** A flat drawing to cut by: millimetres, x to the right, y up, from the lower left corner of the sheet. */
export type DrawingLayer = 'cut' | 'seam' | 'notch' | 'grain' | 'text' | 'sheet';

export type DrawingShape =
  | {
      readonly kind: 'path';
      readonly layer: DrawingLayer;
      /** xy pairs. */
      readonly points: readonly number[];
      readonly closed: boolean;
    }
  | {
      readonly kind: 'text';
      readonly layer: DrawingLayer;
      readonly text: string;
      /** Middle of the base line. */
      readonly at: readonly [number, number];
      /** How far under `at` it stands, whichever way the drawing is turned. */
      readonly belowMm?: number;
      readonly sizeMm: number;
    };

export interface Drawing {
  readonly title: string;
  readonly widthMm: number;
  readonly heightMm: number;
  readonly shapes: readonly DrawingShape[];
}
