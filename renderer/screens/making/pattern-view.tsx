/**
 * The flat pieces beside the body: one piece at a time, shaded by what the sheet must give there. Pointing at either
 * shows the same point on the other.
 */
import { useEffect, useMemo, useRef, useState, type PointerEvent } from 'react';
import type { Made } from '../../../shared-types/calls/makings.ts';
import { Button } from '../../controls/button.tsx';
import { FittingView } from '../../controls/fitting-view.tsx';
import { Remark } from '../../controls/paper.tsx';
import { Loading } from '../../controls/states.tsx';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import type { Viewport } from '../../viewport/viewport.ts';
import { bodyAt, boxOf, flatAt, readOnBody, type FlatPiece } from './on-body.ts';

/** Round the piece, and strain that is drawn darkest. */
const MARGIN_MM = 8;
const DARKEST_PERCENT = 6;

export function PatternView({ made }: { readonly made: Made }) {
  const studio = useStudio();
  const [pieces, setPieces] = useState<readonly FlatPiece[]>();
  const [isMissing, setMissing] = useState(false);
  const [chosen, setChosen] = useState(0);
  const fileId = made.files.find(({ name }) => name === 'on-body.json')?.id;
  useEffect(() => {
    if (fileId === undefined) {
      setMissing(true);
      return;
    }
    const stop = new AbortController();
    void studio.ask('making.file', { fileId }, { signal: stop.signal }).then((file) => {
      if (file === undefined || stop.signal.aborted) return;
      const read = readOnBody(file.bytes);
      setPieces(read);
      setMissing(read === undefined);
    });
    return () => stop.abort();
  }, [studio, fileId]);
  const piece = pieces?.[chosen];
  if (isMissing)
    return <Remark tone="plain">Its pages and files are listed beside; there is nothing to show flat.</Remark>;
  if (pieces === undefined || piece === undefined) return <Loading what="Fetching the pattern" />;
  return (
    <div className="pattern-view">
      <div className="pattern-pieces" role="group" aria-label="Pieces">
        {pieces.map((one, index) => (
          <Button key={one.number} tone="quiet" aria-pressed={index === chosen} onClick={() => setChosen(index)}>
            {one.number} {one.name}
          </Button>
        ))}
      </div>
      <FlatAndBody key={piece.number} made={made} piece={piece} />
    </div>
  );
}

function FlatAndBody({ made, piece }: { readonly made: Made; readonly piece: FlatPiece }) {
  const { formRevisionId } = made.making;
  const [view, setView] = useState<Viewport>();
  const [onFlat, setOnFlat] = useState<readonly [number, number]>();
  const [onBody, setOnBody] = useState<readonly [number, number, number]>();
  const host = useRef<HTMLDivElement>(null);
  const form = useAsked('form.mesh', formRevisionId === undefined ? undefined : { revisionId: formRevisionId }, {
    still: true,
  });
  const body = form.state === 'value' ? form.value : undefined;
  const patch = useMemo(
    () => ({ positions: Float32Array.from(piece.body), triangles: Uint32Array.from(piece.triangles) }),
    [piece],
  );
  useEffect(() => {
    if (body !== undefined) view?.setMesh('form', body, { material: 'clay' });
  }, [view, body]);
  useEffect(() => {
    view?.setMesh('piece', patch, { material: 'plain', edges: true });
    view?.setPickMode('surface');
  }, [view, patch]);
  useEffect(() => {
    view?.setMarks(
      onBody === undefined
        ? []
        : [{ id: 'here', kind: 'landmark', label: 'here', point: [onBody[0], onBody[1], onBody[2]] }],
    );
  }, [view, onBody]);
  const overBody = (event: PointerEvent): void => {
    const box = host.current?.getBoundingClientRect();
    if (view === undefined || box === undefined || event.buttons !== 0) return;
    const hit = view.pickAt(event.clientX - box.left, event.clientY - box.top);
    setOnFlat(hit?.slot === 'piece' ? flatAt(piece, hit.pointInMesh) : undefined);
  };
  return (
    <>
      <div className="pattern-body" ref={host} onPointerMove={overBody} onPointerLeave={() => setOnFlat(undefined)}>
        <FittingView label={`${piece.name} on the body`} onReady={setView} />
      </div>
      <FlatDrawing
        piece={piece}
        here={onFlat}
        onPoint={(x, y) => setOnBody(x === undefined || y === undefined ? undefined : bodyAt(piece, x, y))}
      />
    </>
  );
}

function FlatDrawing(props: {
  readonly piece: FlatPiece;
  readonly here: readonly [number, number] | undefined;
  readonly onPoint: (x?: number, y?: number) => void;
}) {
  const { piece, here, onPoint } = props;
  const [left, top, width, height] = useMemo(() => boxOf(piece, MARGIN_MM), [piece]);
  const svg = useRef<SVGSVGElement>(null);
  const over = (event: PointerEvent): void => {
    const matrix = svg.current?.getScreenCTM()?.inverse();
    if (matrix === undefined) return;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    onPoint(at.x, -at.y);
  };
  const faces = useMemo(() => shadedFaces(piece), [piece]);
  const most = Math.max(0, ...piece.givePercent);
  return (
    <figure className="pattern-flat">
      <svg
        ref={svg}
        viewBox={`${left} ${top} ${width} ${height}`}
        role="img"
        aria-label={`${piece.name}, laid flat: ${(width - 2 * MARGIN_MM).toFixed(0)} by ${(height - 2 * MARGIN_MM).toFixed(0)} mm; the sheet gives ${most.toFixed(1)} % at most`}
        onPointerMove={over}
        onPointerLeave={() => onPoint()}
      >
        {faces.map(({ d, opacity }) => (
          <path key={d} className="pattern-give" d={d} fillOpacity={opacity} />
        ))}
        <polygon className="pattern-cut" points={pairs(piece.outline)} />
        {here === undefined ? null : <circle className="pattern-here" cx={here[0]} cy={-here[1]} r={width / 80} />}
      </svg>
      <figcaption className="soft small">
        Point at the piece or at the body: the same point is shown on the other. The stronger the blue, the more the
        sheet must give: up to {most.toFixed(1)} %.
      </figcaption>
    </figure>
  );
}

/** Triangles of like strain in one path each: few elements for the page. */
function shadedFaces({ flat, triangles, givePercent }: FlatPiece): { d: string; opacity: number }[] {
  const paths = new Map<number, string[]>();
  for (let f = 0; f < triangles.length; f += 3) {
    const shade = Math.min(10, Math.round((10 * (givePercent[f / 3] ?? 0)) / DARKEST_PERCENT));
    const corners = [0, 1, 2].map((k) => {
      const v = triangles[f + k] ?? 0;
      return `${flat[2 * v] ?? 0} ${-(flat[2 * v + 1] ?? 0)}`;
    });
    const list = paths.get(shade) ?? [];
    list.push(`M${corners.join('L')}Z`);
    paths.set(shade, list);
  }
  return [...paths].map(([shade, list]) => ({ d: list.join(''), opacity: 0.08 + 0.07 * shade }));
}

const pairs = (points: readonly number[]): string =>
  points.map((value, i) => (i % 2 === 0 ? `${value}` : `,${-value} `)).join('');
