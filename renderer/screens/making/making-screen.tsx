/** What was made at one time: looked at, with its figures, and saved file by file or all at once. */
import { useMemo, useState } from 'react';
import type { Made } from '../../../shared-types/calls/makings.ts';
import { saveBytes } from '../../client/download.ts';
import { Button } from '../../controls/button.tsx';
import { bytesText, dayText, Figure, Length } from '../../controls/figure.tsx';
import { Remark, TicketCard } from '../../controls/paper.tsx';
import { AskedView } from '../../controls/states.tsx';
import { go } from '../../state/routes.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import { useTitle } from '../../state/use-title.ts';
import {
  gaugeOf,
  hoursText,
  padsOf,
  OUTDATED,
  patternOf,
  shellOf,
  splitOf,
  type GaugeFigures,
  type PadFigures,
  type SplitFigures,
} from './making-words.ts';
import { BandsView } from './bands-view.tsx';
import { PatternView } from './pattern-view.tsx';
import { PiecesView } from './pieces-view.tsx';
import { ShellTable, ShellUses, ShellView } from './shell-view.tsx';
import '../form/form.css';
import './making.css';

export function MakingScreen({ id }: { readonly id: string }) {
  const asked = useAsked('making.show', { id });
  return (
    <AskedView asked={asked} loading="Fetching what was made">
      {(made) => <MakingDesk made={made} />}
    </AskedView>
  );
}

function MakingDesk({ made }: { readonly made: Made }) {
  const { making } = made;
  const studio = useStudio();
  const [chosen, setChosen] = useState<number>();
  const split = splitOf(making);
  const gauge = useMemo(() => gaugeOf(making), [making]);
  const pattern = patternOf(making);
  const pads = padsOf(making);
  const shell = shellOf(making);
  const hasFlat = making.kind === 'pattern' || making.kind === 'pads';
  useTitle(making.name);
  const drop = async (): Promise<void> => {
    const gone = await studio.ask('making.drop', { id: making.id });
    if (gone !== undefined) go(sourcePlace(made));
  };
  const place = sourcePlace(made);
  return (
    <div className="form-desk">
      <div className="form-view">
        {split === undefined ? null : <PiecesView made={made} split={split} chosen={chosen} onChoose={setChosen} />}
        {hasFlat ? <PatternView made={made} /> : null}
        {shell === undefined ? null : <ShellView made={made} shell={shell} />}
        {split === undefined && shell === undefined && !hasFlat ? <BandsView made={made} gauge={gauge} /> : null}
      </div>
      <div className="form-papers">
        <TicketCard
          level={1}
          className="stacked"
          title={making.name}
          kind={
            <>
              {dayText(making.createdAt)} · program {making.programVersion}
              {place.at === 'shelf' ? null : (
                <>
                  {' '}
                  · <a href={`#/${place.at}/${place.id}`}>what it was made from</a>
                </>
              )}
            </>
          }
          stub={
            <div className="button-row">
              <SaveAll made={made} />
              <Button tone="quiet" onClick={() => void drop()}>
                Throw away
              </Button>
            </div>
          }
        >
          {made.outdated === undefined ? null : <Remark tone="doubt">{OUTDATED[made.outdated]}</Remark>}
          {shell === undefined ? null : <ShellTable shell={shell} wallMm={making.parameters['wallMm']} />}
          {split === undefined ? null : <SplitTable split={split} chosen={chosen} onChoose={setChosen} />}
          {gauge === undefined ? null : <GaugeTable gauge={gauge} />}
          {pads === undefined ? null : <PadTable pads={pads} />}
          {pattern === undefined ? null : (
            <dl className="figures">
              <Figure
                label="Strain"
                value={`${Math.max(...pattern.pieces.map((piece) => piece.strainMaxPercent)).toFixed(1)} % at most`}
                note={
                  pattern.pieces.every((piece) => piece.withinStretch)
                    ? 'within what the sheet gives'
                    : 'more than the sheet gives: cut a seam of your own'
                }
                tone={pattern.pieces.every((piece) => piece.withinStretch) ? 'plain' : 'doubt'}
              />
              {pattern.pieces.map((piece) => (
                <Figure
                  key={piece.number}
                  label={`${piece.number} ${piece.name}`}
                  value={
                    <>
                      <Length mm={piece.widthMm} /> by <Length mm={piece.heightMm} />
                    </>
                  }
                  note={`cut ${piece.count}${piece.darts > 0 ? `, ${piece.darts} darts` : ''}`}
                />
              ))}
            </dl>
          )}
        </TicketCard>
        {making.kind === 'shell' ? <ShellUses made={made} /> : null}
        <FileList made={made} />
        <Remark tone="plain">{CAUTIONS[making.kind]}</Remark>
      </div>
    </div>
  );
}

/** The usual cautions; local rules and licensed practice come first. */
const CAUTIONS: Readonly<Record<Made['making']['kind'], string>> = {
  pieces:
    'Print in a room that is aired; sand only with extraction or a fitting dust mask; resin and glue as their sheets say. A printed prop is no protective equipment.',
  shell:
    'A printed shell is no protective equipment: it breaks in sharp pieces. Break the edges of its openings, and see that it comes off quickly and leaves mouth, nose and sight free. Resin and glue as their sheets say, in a room that is aired.',
  gauge: 'Break sharp edges before a band goes over a head or a limb, and never leave a rigid ring on.',
  pattern:
    'Air the room for contact adhesive and heat, keep flames away, and let foam air out before it is worn. Local rules come first.',
  pads: 'Foam burns and adhesive fumes: air the room. Pads never cover nose, mouth or the way out.',
  paper: 'Print at 100 %, not fitted to the page, and check the square with a rule.',
};

function sourcePlace({ making }: Made) {
  if (making.linerId !== undefined) return { at: 'liner', id: making.linerId } as const;
  if (making.formRevisionId !== undefined) return { at: 'form', id: making.formRevisionId } as const;
  if (making.fittingId !== undefined) return { at: 'fitting', id: making.fittingId } as const;
  if (making.partId !== undefined) return { at: 'part', id: making.partId } as const;
  if (making.projectId !== undefined) return { at: 'project', id: making.projectId } as const;
  return { at: 'shelf' } as const;
}

function SaveAll({ made }: { readonly made: Made }) {
  const studio = useStudio();
  const save = async (): Promise<void> => {
    const file = await studio.ask('making.files', { id: made.making.id });
    if (file !== undefined) saveBytes(file.fileName, file.bytes, 'application/zip');
  };
  return (
    <Button tone="main" onClick={() => void save()}>
      Save all files
    </Button>
  );
}

function FileList({ made }: { readonly made: Made }) {
  const studio = useStudio();
  const save = async (fileId: string): Promise<void> => {
    const file = await studio.ask('making.file', { fileId });
    if (file !== undefined) saveBytes(file.fileName, file.bytes, 'application/octet-stream');
  };
  return (
    <TicketCard title="Files">
      <ul className="plain-list making-files">
        {made.files.map((file) => (
          <li key={file.id}>
            <Button tone="quiet" onClick={() => void save(file.id)}>
              {file.name}
            </Button>
            <span className="soft small numbers">{bytesText(file.byteCount)}</span>
          </li>
        ))}
      </ul>
    </TicketCard>
  );
}

function SplitTable(props: {
  readonly split: SplitFigures;
  readonly chosen: number | undefined;
  readonly onChoose: (piece: number) => void;
}) {
  const { split, chosen, onChoose } = props;
  const pins = split.seams.reduce((sum, seam) => sum + seam.pins.length, 0);
  return (
    <>
      {split.pieces.every(({ fits }) => fits) ? (
        <Remark tone="good">Every piece is a sound solid and fits the bed.</Remark>
      ) : (
        <Remark tone="trouble">Not every piece fits the bed.</Remark>
      )}
      <div className="table-room">
        <table className="making-table">
          <thead>
            <tr>
              <th scope="col">No.</th>
              <th scope="col">On the bed, mm</th>
              <th scope="col">Mass</th>
              <th scope="col">Time</th>
            </tr>
          </thead>
          <tbody>
            {split.pieces.map((piece) => (
              <tr key={piece.number} className={piece.number === chosen ? 'chosen' : undefined}>
                <th scope="row">
                  <Button tone="quiet" aria-pressed={piece.number === chosen} onClick={() => onChoose(piece.number)}>
                    {piece.number}
                  </Button>
                </th>
                <td className="numbers">{piece.sizeMm.map((mm) => mm.toFixed(0)).join(' × ')}</td>
                <td className="numbers">{piece.massG.toFixed(0)} g</td>
                <td className="numbers">{hoursText(piece.hours)}</td>
              </tr>
            ))}
          </tbody>
          <tfoot>
            <tr>
              <th scope="row">All</th>
              <td />
              <td className="numbers">{split.massG.toFixed(0)} g</td>
              <td className="numbers">{hoursText(split.hours)}</td>
            </tr>
          </tfoot>
        </table>
      </div>
      <p className="soft small">{split.assumptions.words}</p>
      <dl className="figures">
        <Figure
          label="Pins"
          value={String(pins)}
          note={`holes ${split.holeDiameterMm.toFixed(2)} mm wide, in ${split.seams.length} seams`}
        />
        <Figure
          label="Kept whole"
          value={`${(split.wholeVolumeMm3 / 1000).toFixed(1)} cm³`}
          note={`the pieces differ from it by ${Math.abs(split.volumeDifferenceMm3).toFixed(2)} mm³ before holes`}
        />
      </dl>
    </>
  );
}

function GaugeTable({ gauge }: { readonly gauge: GaugeFigures }) {
  return (
    <div className="table-room">
      <table className="making-table">
        <thead>
          <tr>
            <th scope="col">Height</th>
            <th scope="col">Words</th>
            <th scope="col">Way round inside</th>
            <th scope="col">Time</th>
          </tr>
        </thead>
        <tbody>
          {gauge.bands.map((band) => (
            <tr key={band.file}>
              <th scope="row" className="numbers">
                <Length mm={band.levelMm} />
              </th>
              <td>{band.words === '' ? 'none' : band.words}</td>
              <td>{band.insideMm === null ? 'not closed' : <Length mm={band.insideMm} />}</td>
              <td className="numbers">{hoursText(band.hours)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

/** Each pad with its foam from the body outward, and how hard it presses by the assumptions below. */
function PadTable({ pads }: { readonly pads: PadFigures }) {
  return (
    <>
      <div className="table-room">
        <table className="making-table">
          <thead>
            <tr>
              <th scope="col">Pad</th>
              <th scope="col">Room, mm</th>
              <th scope="col">Foam, mm</th>
              <th scope="col">Touches</th>
              <th scope="col">Presses</th>
            </tr>
          </thead>
          <tbody>
            {pads.pads.map((pad) => (
              <tr key={pad.name}>
                <th scope="row">{pad.name}</th>
                <td className="numbers">
                  {pad.gap.p10Mm.toFixed(0)} to {pad.gap.p90Mm.toFixed(0)}
                </td>
                <td className="numbers making-sum">
                  {pad.stack.map(({ thicknessMm }) => thicknessMm.toFixed(1)).join(' + ')}
                </td>
                <td className="numbers">{pad.contactPercent.toFixed(0)} %</td>
                <td className="numbers">
                  {pad.pressureKPa === null ? 'not known' : `${pad.pressureKPa.toFixed(1)} kPa`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      {pads.doubts.map((doubt) => (
        <Remark key={doubt} tone="doubt">
          {doubt}
        </Remark>
      ))}
      <h2 className="making-part">To buy</h2>
      <ul className="plain-list line-list">
        {pads.shopping.map((line) => (
          <li key={`${line.material} ${line.nominalMm}`}>
            <span>
              {line.sheets} of {line.material}, {line.nominalMm} mm, {line.sheetWidthMm} × {line.sheetHeightMm} mm
            </span>{' '}
            <span className="soft small">used to {line.usePercent.toFixed(0)} %</span>
          </li>
        ))}
      </ul>
      {pads.assumptions.map((line) => (
        <p key={line} className="soft small">
          {line}
        </p>
      ))}
    </>
  );
}
