import type { Prepared } from '../../../shared-types/contract.ts';
import { Figure, bytesText, countText, some } from '../../controls/figure.tsx';
import { Remark } from '../../controls/paper.tsx';

export function IntakeStep({ prepared }: { readonly prepared: Prepared }) {
  const { fileName, byteCount, sha256, facesBefore, piecesBefore, openEdgesBefore, selfIntersectionsBefore } = prepared;
  return (
    <>
      <p className="step-words">
        <strong>{fileName}</strong> ({bytesText(byteCount)}) is kept byte for byte; its checksum begins{' '}
        <code>{sha256.slice(0, 12)}</code>. Nothing below changes it.
      </p>
      <dl className="figures">
        <Figure label="Faces" value={countText(facesBefore)} note={some(piecesBefore, 'separate piece')} />
        <Figure label="Open edges" value={countText(openEdgesBefore)} note="cracks, holes, the open bottom" />
        <Figure label="Faces cutting one another" value={countText(selfIntersectionsBefore)} note="pairs" />
      </dl>
      <Remark tone="plain">
        Unit: {prepared.unitSentence}. Only a guess, used for the view until your measurements give the true size.
      </Remark>
    </>
  );
}
