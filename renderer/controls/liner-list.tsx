/** Liners one under the other, each with what tells it from the others. */
import type { ReactNode } from 'react';
import { linerWords } from '../../shared-types/liner-words.ts';
import type { CallResult } from '../../shared-types/contract.ts';
import { useStore } from '../state/store.ts';
import { useStudio } from '../state/studio.ts';
import { momentText, Length } from './figure.tsx';
import { lengthText } from './parse-length.ts';

type Liner = CallResult<'wearer.show'>['liners'][number];

/** `noteOf`: what stands before the day. */
export function LinerItems(props: {
  readonly liners: readonly Liner[];
  readonly noteOf?: (liner: Liner) => ReactNode;
}) {
  const { unit } = useStore(useStudio().settings);
  return props.liners.map((liner) => (
    <li key={liner.id}>
      <a href={`#/liner/${liner.id}`}>
        Liner for <Length mm={liner.foamMm} /> foam
      </a>{' '}
      <span className="soft small">
        {props.noteOf?.(liner)}
        {momentText(liner.createdAt)}
        <br />
        {linerWords(liner.told, (mm) => lengthText(mm, unit))}
      </span>
    </li>
  ));
}
