/** The registry of the studio's threads: every verb, and the screens' own operations. */
import { OPERATIONS as VERBS } from '../index.ts';
import type { Operation } from '../operation.ts';
import { deviationOperation } from './deviation.ts';
import { fillPreviewOperation } from './fill-preview.ts';
import { companyPairOperation, easeMapOperation } from './fitting.ts';
import { formPicturesOperation } from './form-pictures.ts';
import { linerMapOperation } from './liner-map.ts';
import { linerPreviewOperation } from './liner-preview.ts';
import { padsPreviewOperation, patternPreviewOperation, piecesPreviewOperation } from './making-preview.ts';
import { intakeOperation, poseOperation, prepareOperation, proposeOperation } from './prepare.ts';
import { shellPreviewOperation } from './shell-preview.ts';
import { sizeOperation } from './size.ts';

export const OPERATIONS: readonly Operation[] = [
  ...VERBS,
  intakeOperation as unknown as Operation,
  prepareOperation as unknown as Operation,
  poseOperation as unknown as Operation,
  proposeOperation as unknown as Operation,
  sizeOperation as unknown as Operation,
  deviationOperation as unknown as Operation,
  easeMapOperation as unknown as Operation,
  companyPairOperation as unknown as Operation,
  formPicturesOperation as unknown as Operation,
  linerMapOperation as unknown as Operation,
  linerPreviewOperation as unknown as Operation,
  fillPreviewOperation as unknown as Operation,
  padsPreviewOperation as unknown as Operation,
  patternPreviewOperation as unknown as Operation,
  piecesPreviewOperation as unknown as Operation,
  shellPreviewOperation as unknown as Operation,
];
