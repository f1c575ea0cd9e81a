/** A half-drawn body in chalk with a tape, a calliper or a landmark's cross on it. */
import type { MeasurePicture } from '../../shared-types/measures/pictures.ts';
import './body-picture.css';

const pathOf = (lines: MeasurePicture['mark']): string =>
  lines
    .map((flat) => flat.map((value, at) => `${at === 0 ? 'M' : at % 2 === 0 ? 'L' : ''}${value}`).join(' '))
    .join(' ');

/** Hidden from readers: the words beside it say the same. */
export function BodyPicture({ picture }: { readonly picture: MeasurePicture }) {
  return (
    <svg className="body-picture" viewBox="-2 -2 104 104" aria-hidden="true">
      <path className="body-picture-outline" d={pathOf(picture.outline)} />
      <path className="body-picture-mark" d={pathOf(picture.mark)} />
    </svg>
  );
}
