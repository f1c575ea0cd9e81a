/**
 * How far a length on the scan lies from the reading, once the others gave the size, against how far it may: a rule with
 * the allowed stretch marked. Below 0 where the scan has less, as on the form's page and on paper.
 */

const HALF = 46;

export function ResidualBar(props: { readonly offMm: number; readonly uMm: number; readonly isBad: boolean }) {
  const { offMm, uMm, isBad } = props;
  // Two standard uncertainties fill half of either side; beyond three times that the mark stays at the end.
  const perMm = HALF / 2 / Math.max(2 * uMm, Number.EPSILON);
  const at = Math.max(-HALF, Math.min(HALF, offMm * perMm));
  const band = HALF / 2;
  const shown = Math.abs(offMm).toFixed(1);
  const text = `${shown === '0.0' ? '' : offMm > 0 ? '+' : '−'}${shown} mm`;
  return (
    <span className={`residual${isBad ? ' residual-bad' : ''}`}>
      <svg viewBox={`${-HALF - 4} 0 ${2 * HALF + 8} 16`} aria-hidden="true">
        <rect className="residual-band" x={-band} y="4" width={2 * band} height="8" />
        <path className="residual-rule" d={`M ${-HALF} 8 H ${HALF} M 0 3 V 13`} />
        <path className="residual-mark" d={`M ${at} 2 l 3 4 v 6 h -6 v -6 z`} />
      </svg>
      <span className="numbers small">
        {text}
        <span className="only-heard">
          , {Math.abs(offMm) <= 2 * uMm ? 'within' : 'beyond'} twice its uncertainty of {uMm.toFixed(1)} mm
        </span>
      </span>
    </span>
  );
}
