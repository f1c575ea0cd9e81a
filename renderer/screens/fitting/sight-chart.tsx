/** What both eyes see, as a chart of directions: the middle is straight ahead, each ring is thirty degrees farther out. */
import type { SightFigures } from '../../../shared-types/operations/sight.ts';

const RADIUS = 100;
const MOST_DEG = 110;
const RINGS_DEG = [30, 60, 90];
const DEGREE = Math.PI / 180;

/** The wearer's left is drawn at the left: as they see it. */
function outline(degrees: readonly number[]): string {
  const points = degrees.map((out, index) => {
    const round = (index * 360) / degrees.length;
    const r = (RADIUS * out) / MOST_DEG;
    return `${(-r * Math.cos(round * DEGREE)).toFixed(2)},${(-r * Math.sin(round * DEGREE)).toFixed(2)}`;
  });
  return `M${points.join('L')}Z`;
}

export function SightChart({ sight }: { readonly sight: SightFigures }) {
  const { left, right, limitsDeg } = sight;
  const words = `Clear to ${limitsDeg.left.toFixed(0)}° left, ${limitsDeg.right.toFixed(0)}° right, ${limitsDeg.up.toFixed(0)}° up and ${limitsDeg.down.toFixed(0)}° down; ${(100 * sight.eitherShare).toFixed(0)} % of the natural field.`;
  return (
    <figure className="sight-chart">
      <svg viewBox="-132 -108 264 212" role="img" aria-label={words}>
        <path className="sight-natural" d={outline(left.naturalDeg)} />
        <path className="sight-natural" d={outline(right.naturalDeg)} />
        <path className="sight-clear sight-left" d={outline(left.clearDeg)} />
        <path className="sight-clear sight-right" d={outline(right.clearDeg)} />
        {RINGS_DEG.map((ring) => (
          <g key={ring}>
            <circle className="sight-ring" r={(RADIUS * ring) / MOST_DEG} />
            <text className="sight-degrees" x={2} y={-(RADIUS * ring) / MOST_DEG - 2}>
              {ring}°
            </text>
          </g>
        ))}
        <line className="sight-ring" x1={-RADIUS} x2={RADIUS} y1={0} y2={0} />
        <line className="sight-ring" y1={-RADIUS} y2={RADIUS} x1={0} x2={0} />
        <text className="sight-degrees" x={-130} y={2.5}>
          left
        </text>
        <text className="sight-degrees" x={130} y={2.5} textAnchor="end">
          right
        </text>
      </svg>
      <figcaption className="soft small">
        As the wearer sees it, head still, eyes straight ahead. Pale: the natural field. Solid line: what the part
        leaves the left eye; broken line: the right.
      </figcaption>
    </figure>
  );
}
