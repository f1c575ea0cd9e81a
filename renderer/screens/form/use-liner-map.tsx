/** Maps on the inner side of a finished liner: the foam under it, and what the foam must give on the way in. */
import { useEffect, useMemo, useState, type ReactNode } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import { faultSentence } from '../../../shared-types/faults/index.ts';
import { linerTold } from '../../../shared-types/liner-words.ts';
import { figureNumber } from '../../../shared-types/step-evidence.ts';
import { Button } from '../../controls/button.tsx';
import { LegendCard } from '../../controls/fitting-view.tsx';
import { Remark } from '../../controls/paper.tsx';
import { useAsked } from '../../state/use-asked.ts';
import type { Legend, Viewport } from '../../viewport/viewport.ts';

type MapName = 'thickness' | 'way';

const MAPS: Readonly<Record<MapName, { button: string; title: string; low: string; high: string }>> = {
  thickness: { button: 'Foam thickness', title: 'From the form, on the inner side', low: 'thin', high: 'thick' },
  way: { button: 'What it must give', title: 'Room on the way in', low: 'the foam must give so much', high: 'passes' },
};
/** Ends of a map at least so far apart, mm, and the shares of places that may lie beyond. */
const LEAST_RANGE_MM = 0.2;
const BEYOND = 0.001;
/** Where it was asked to stand far off the body in places. */
const FAR_OFF = 0.1;
/** Shallower is the liner's own tolerance, mm. */
const LEAST_DEPTH_MM = 0.2;

export function useLinerMap(
  view: Viewport | undefined,
  { liner, mesh }: CallResult<'liner.show'>,
  isGlass: boolean,
): { readonly isOn: boolean; readonly buttons: ReactNode; readonly legend: ReactNode } {
  const [on, setOn] = useState<MapName>();
  const [legend, setLegend] = useState<Legend>();
  const asked = useAsked('liner.map', on === undefined ? undefined : { id: liner.id }, { still: true });
  const found = on !== undefined && asked.state === 'value' ? asked.value : undefined;
  const values = useMemo(() => {
    if (found === undefined) return undefined;
    if (on === 'thickness') return found.thicknessMm;
    return found.depthMm?.map((depth) => (depth < LEAST_DEPTH_MM ? NaN : -depth));
  }, [found, on]);

  useEffect(() => {
    if (view === undefined) return;
    if (found === undefined || values === undefined) {
      setLegend(undefined);
      view.setMesh('liner', mesh, { material: isGlass ? 'glass' : 'wall' });
      return;
    }
    const inner = innerFaces(mesh, found.thicknessMm, liner.parameters['wallMm'] !== undefined);
    view.setMesh('liner', { positions: mesh.positions, triangles: inner }, { material: 'wall' });
    const [low, high] = endsOf(values, wantedMm(liner.parameters));
    const [least, most] = on === 'way' ? [low, 0] : [low, high];
    // Where the foam is as thick all over a line would only follow the faces.
    const lines = on === 'way' ? {} : { contourMm: 0 };
    const scale = { minMm: Math.min(least, most - LEAST_RANGE_MM), maxMm: most, kind: 'ease', ...lines } as const;
    view.setScalars('liner', values, scale);
    setLegend(view.getLegend('liner'));
    return () => view.setScalars('liner', undefined);
  }, [view, mesh, isGlass, found, values, on, liner]);

  const names = (Object.keys(MAPS) as MapName[]).filter(
    (name) => name !== 'way' || liner.parameters['donning'] !== undefined,
  );
  return {
    isOn: on !== undefined,
    buttons: names.map((name) => (
      <Button key={name} tone="quiet" aria-pressed={on === name} onClick={() => setOn(on === name ? undefined : name)}>
        {MAPS[name].button}
      </Button>
    )),
    legend:
      on === undefined ? null : asked.state === 'fault' ? (
        <div className="legend" role="status">
          <Remark tone="trouble">{faultSentence(asked.fault)}</Remark>
        </div>
      ) : legend === undefined ? (
        <div className="legend" role="status">
          <p>Measuring the liner against the form…</p>
        </div>
      ) : (
        <LegendCard legend={legend} title={MAPS[on].title} low={MAPS[on].low} high={MAPS[on].high} />
      ),
  };
}

/** The faces of the inner side, seen from outside: a shell's are turned over. */
function innerFaces(
  { triangles }: CallResult<'liner.show'>['mesh'],
  thicknessMm: Float32Array,
  isShell: boolean,
): Uint32Array<ArrayBuffer> {
  const kept: number[] = [];
  for (let h = 0; h < triangles.length; h += 3) {
    const [a, b, c] = triangles.subarray(h, h + 3);
    if (Number.isNaN(thicknessMm[a] + thicknessMm[b] + thicknessMm[c])) continue;
    kept.push(a, isShell ? c : b, isShell ? b : c);
  }
  return Uint32Array.from(kept);
}

/** The thickest foam asked for, where the liner was asked to stand farther off in places; else all of it is of interest. */
function wantedMm(asked: Readonly<Record<string, unknown>>): number | undefined {
  if (asked['keepOut'] === undefined && asked['clear'] !== true) return undefined;
  const zones = linerTold({ zones: asked['zones'] }).map(({ mm }) => mm ?? 0);
  return Math.max(figureNumber(asked, 'foamMm') ?? 0, ...zones);
}

/** Lengths that hold nearly all places, or most of them and what was wanted. */
function endsOf(values: Float32Array, wanted: number | undefined): [number, number] {
  const sorted = values.filter((value) => !Number.isNaN(value)).sort();
  const at = (share: number): number => sorted[Math.round(share * (sorted.length - 1))] ?? 0;
  return [at(BEYOND), wanted === undefined ? at(1 - BEYOND) : Math.max(wanted, at(1 - FAR_OFF))];
}
