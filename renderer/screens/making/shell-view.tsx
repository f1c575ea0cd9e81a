/** A solid made hollow: looked at and into, how thick its wall came out and where, and what becomes of it. */
import { useEffect, useState } from 'react';
import type { Made } from '../../../shared-types/calls/makings.ts';
import type { Vec3 } from '../../../shared-types/mesh.ts';
import { Button } from '../../controls/button.tsx';
import { countText, Figure, Length, some } from '../../controls/figure.tsx';
import { FittingView } from '../../controls/fitting-view.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';
import { lengthText } from '../../controls/parse-length.ts';
import { SectionSheet } from '../../controls/section-sheet.tsx';
import { go } from '../../state/routes.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import type { Viewport } from '../../viewport/viewport.ts';
import type { ShellFigures } from './making-words.ts';

export function ShellView({ made, shell }: { readonly made: Made; readonly shell: ShellFigures }) {
  const { unit } = useStore(useStudio().settings);
  const [view, setView] = useState<Viewport>();
  const [isCut, setCut] = useState(false);
  const [isGlass, setGlass] = useState(false);
  const fileId = made.files.find(({ name }) => name.endsWith('.stl'))?.id;
  const asked = useAsked('making.mesh', fileId === undefined ? undefined : { fileId }, { still: true });
  const mesh = asked.state === 'value' ? asked.value : undefined;
  useEffect(() => {
    view?.setMesh('shell', mesh, { material: isGlass ? 'glass' : 'wall' });
  }, [view, mesh, isGlass]);
  useEffect(() => {
    if (mesh !== undefined) view?.frame();
  }, [view, mesh]);
  useEffect(() => {
    const { wallMinMm, wallMinAt, wallMaxMm, wallMaxAt } = shell;
    view?.setMarks([
      {
        id: 'thinnest',
        kind: 'landmark',
        label: `thinnest, ${lengthText(wallMinMm, unit, 2)}`,
        point: placeOf(wallMinAt),
      },
      {
        id: 'thickest',
        kind: 'landmark',
        label: `thickest, ${lengthText(wallMaxMm, unit, 2)}`,
        point: placeOf(wallMaxAt),
      },
    ]);
    return () => view?.setMarks([]);
  }, [view, shell, unit]);
  return (
    <FittingView
      label={`${made.making.name}, as it is printed`}
      onReady={setView}
      tools={
        <>
          <Button tone="quiet" aria-pressed={isCut} onClick={() => setCut(!isCut)}>
            Section
          </Button>
          <Button tone="quiet" aria-pressed={isGlass} onClick={() => setGlass(!isGlass)}>
            See through it
          </Button>
        </>
      }
    >
      {isCut && mesh !== undefined ? (
        <SectionSheet view={view} positions={mesh.positions} shown={0} region="part" />
      ) : null}
    </FittingView>
  );
}

/** A wall thinner by more, and a rim farther off its line, are doubts, mm; the verb tells them too. */
const THINNER_MM = 0.3;
const MOST_STRAY_MM = 1;

const placeOf = ([x, y, z]: readonly number[]): Vec3 => [x, y, z];

export function ShellTable({ shell, wallMm }: { readonly shell: ShellFigures; readonly wallMm: unknown }) {
  const { hollows, filled, openings } = shell;
  return (
    <>
      <Remark tone="good">A sound solid: closed, and nowhere cutting itself.</Remark>
      {openings.length === 0 ? (
        <Remark tone="doubt">The hollow is shut: liquid resin or powder would stay in it.</Remark>
      ) : null}
      <dl className="figures">
        <Figure
          label="Wall at its thinnest"
          value={<Length mm={shell.wallMinMm} digits={2} />}
          tone={typeof wallMm === 'number' && shell.wallMinMm < wallMm - THINNER_MM ? 'doubt' : 'plain'}
          note={
            typeof wallMm === 'number' ? `asked for: ${wallMm} mm; ${countText(shell.wallSamples)} samples` : undefined
          }
        />
        <Figure
          label="On average"
          value={<Length mm={shell.wallMeanMm} digits={2} />}
          note={`${shell.wallMaxMm.toFixed(1)} mm at its thickest, where the solid was too thin to be hollow or comes to a point`}
        />
        <Figure
          label="Inner side off by"
          value={`${shell.meanAbsErrorMm.toFixed(3)} mm`}
          note={`on average; ${shell.maxAbsErrorMm.toFixed(2)} mm at most, in ${countText(shell.samples)} samples`}
        />
        <Figure
          label="Material"
          value={`${(shell.volumeMm3 / 1000).toFixed(0)} cm³`}
          note={`${(shell.hollowMm3 / 1000).toFixed(0)} cm³ hollow before it was opened${filled > 0 ? `; ${some(filled, 'hollow')} that no opening reaches left full` : ''}${hollows > 1 ? `, in ${hollows} hollows apart from one another` : ''}`}
        />
        {openings.map((opening, number) => (
          <Figure
            key={number}
            label={`Opening ${number + 1}, ${opening.kind === 'plane' ? 'flat' : 'drawn'}`}
            value={
              <>
                <Length mm={opening.leastWidthMm} digits={0} /> by <Length mm={opening.mostWidthMm} digits={0} />
              </>
            }
            note={`inside; ${opening.rimLengthMm.toFixed(0)} mm round${opening.rimMm === null ? '' : `, rim ${opening.rimMm.toFixed(1)} mm wide`}${opening.offLineMm === null ? '' : `, at most ${opening.offLineMm.toFixed(2)} mm off its line`}`}
            tone={(opening.offLineMm ?? 0) > MOST_STRAY_MM ? 'doubt' : 'plain'}
          />
        ))}
        <Figure label="Faces" value={countText(shell.faces)} />
      </dl>
    </>
  );
}

/** The way on: as a part it is tried on, padded, and cut into pieces. */
export function ShellUses({ made }: { readonly made: Made }) {
  const studio = useStudio();
  const [isBusy, setBusy] = useState(false);
  const { keptAs } = made;
  const keep = async (): Promise<void> => {
    setBusy(true);
    const kept = await studio.ask('making.part', { id: made.making.id });
    setBusy(false);
    if (kept !== undefined) go({ at: 'part', id: kept.id });
  };
  return (
    <TicketCard
      title="What becomes of it"
      className="stacked"
      stub={
        keptAs === undefined ? (
          <Button tone="main" busy={isBusy} onClick={() => void keep()}>
            Keep it as a part
          </Button>
        ) : undefined
      }
    >
      {keptAs === undefined ? (
        <p>As a part it can be tried on, padded, cut into pieces for the print bed, and tried by gauge bands.</p>
      ) : (
        <p>
          It is the part <a href={`#/part/${keptAs.id}`}>{keptAs.name}</a>: try it on, pad it, or cut it into pieces
          there.
        </p>
      )}
    </TicketCard>
  );
}
