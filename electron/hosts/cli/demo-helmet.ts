/**
 * The demo's helmet: invented, larger than it need be, in a file without a unit. Tried on the captain, looked out of,
 * padded, gauged, cut to a print bed; with a library its fitting and all that was made are kept there too.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { z } from 'zod';
import type { Matrix4 } from '../../../shared-types/mesh.ts';
import type { fitFigures } from '../../../shared-types/operations/fit.ts';
import type { gaugeFigures } from '../../../shared-types/operations/gauge.ts';
import type { partFigures } from '../../../shared-types/operations/part.ts';
import type { padFigures } from '../../../shared-types/operations/pad.ts';
import type { sightFigures } from '../../../shared-types/operations/sight.ts';
import type { splitFigures } from '../../../shared-types/operations/split.ts';
import { multiply, scaling, transformMesh } from '../../geometry/mesh/transform.ts';
import { inventHelmet } from '../../invented/helmet.ts';
import type { MadeFile } from '../../operations/operation.ts';
import { keepDemoHelmet } from '../../services/demo-library.ts';
import { got, mm, save, saveMesh, type Bench } from './demo-bench.ts';

const HELMET_FILE = 'helmet.stl';
/** Its maker states the inner breadth; the file counts in something else. */
const MM_PER_UNIT = 25.4;
const STOCK = [
  { material: 'EVA (invented stock)', nominalMm: 6, measuredMm: 5.8, compression: 0.1 },
  { material: 'PU, open cell (invented stock)', nominalMm: 10, compression: 0.35 },
];
const BED_MM = [180, 180, 180];
const GAUGE_LEVEL_MM = 85;
/** How far it may be moved and tipped from the way it is worn: else it is only lifted off. */
const LIMITS = { limitTiltDegrees: 6, limitShiftMm: 12 };

interface Ended<F> {
  readonly figures: F;
  readonly made: readonly MadeFile[];
}

/** The helmet on the wearer `id`, whose form lies in the folder. */
export async function fitHelmet(bench: Bench, id: string): Promise<Record<string, unknown>> {
  const { folder, say } = bench;
  const helmet = inventHelmet({ chinMm: -45, browMm: 46, mmPerUnit: MM_PER_UNIT });
  saveMesh(folder, HELMET_FILE, helmet.mesh);
  const spans = [
    {
      name: 'inner breadth',
      from: helmet.breadthLeft,
      to: helmet.breadthRight,
      measured: helmet.innerBreadthMm,
      u: 0.5,
    },
  ];
  save(folder, 'helmet-known.json', `${JSON.stringify({ spans }, undefined, 1)}\n`);
  const form = `${id}-form.stl`;
  const run = async <F>(verb: string, input: string | readonly string[], parameters: unknown, output?: string) =>
    got(await bench.run(verb, input, parameters, output)) as unknown as Ended<F>;

  say(`A HELMET (invented) on ${id}`);
  const own = 'helmet-true.stl';
  const ready = await run<z.output<typeof partFigures>>('part', HELMET_FILE, { known: { spans } }, own);
  const { wall } = ready.figures;
  say(
    `  part    ${ready.figures.kind}, wall ${mm(wall?.usualMm ?? 0)} usually and ${mm(wall?.leastMm ?? 0)} at the least: ${own}`,
  );
  const start = { place: { matrix: [...scaling(MM_PER_UNIT)] }, known: { spans }, ...LIMITS };
  const wish = { foamMm: 6, compression: 0.1, leastMm: 1 };
  const placed = `${id}-helmet.stl`;
  const fit = (
    await run<z.output<typeof fitFigures>>(
      'fit',
      [HELMET_FILE, form],
      { ...start, ...wish, solve: 'place', donning: true },
      placed,
    )
  ).figures;
  say(`  size    1 file unit is ${fit.trueSize.mmPerUnit.toPrecision(5)} mm (known here: ${MM_PER_UNIT})`);
  for (const sentence of fit.sentences) say(`  fit     ${sentence}`);
  if (fit.donning !== null) say(`  off     ${fit.donning.sentence}`);

  const sight = (await run<z.output<typeof sightFigures>>('sight', [placed, form], {})).figures;
  const { left, right, up, down } = sight.limitsDeg;
  say(
    `  sight   clear to ${left.toFixed(0)}° left, ${right.toFixed(0)}° right, ${up.toFixed(0)}° up, ${down.toFixed(0)}° down (each about ${sight.limitUDeg.toFixed(0)}° more or less); ${(100 * sight.eitherShare).toFixed(0)} % of the natural field`,
  );
  say(
    `          ${sight.massG.toFixed(0)} g; no figure here stands for protection, and none says what may be breathed`,
  );

  const stock = { stock: STOCK };
  const pads = await run<z.output<typeof padFigures>>('pad', [placed, form], { stock }, `${id}-pads`);
  say(
    `  pad     ${pads.figures.pads.map((pad) => `${pad.name} ${pad.stack.map(({ nominalMm }) => nominalMm).join('+')} mm`).join(', ')}: ${id}-pads/`,
  );
  // Bands and pieces are cut from the part as it stands by itself.
  const bands = { levelsMm: [GAUGE_LEVEL_MM], words: id };
  const gauge = await run<z.output<typeof gaugeFigures>>('gauge', own, bands, `${id}-bands`);
  for (const band of gauge.figures.bands) {
    say(`  gauge   a band at ${mm(band.levelMm, 0)}, ${mm(band.insideMm ?? 0, 0)} round inside: ${id}-bands/`);
  }
  const bed = { bed: BED_MM };
  const split = await run<z.output<typeof splitFigures>>('split', own, bed, `${id}-pieces`);
  const pins = split.figures.seams.reduce((sum, seam) => sum + seam.pins.length, 0);
  say(
    `  split   ${split.figures.pieces.length} pieces for a bed of ${BED_MM.join(' x ')} mm, ${pins} pins, about ${split.figures.massG.toFixed(0)} g and ${split.figures.hours.toFixed(0)} h: ${id}-pieces/`,
  );
  say(
    `          together the pieces differ from the whole by ${Math.abs(split.figures.volumeDifferenceMm3).toFixed(2)} mm³ of ${(split.figures.wholeVolumeMm3 / 1000).toFixed(0)} cm³`,
  );
  say('');
  const on = bench.shelf?.forms.find(({ wearer }) => wearer === id);
  if (bench.shelf !== undefined && on !== undefined) {
    const bytes = new Uint8Array(readFileSync(join(folder, HELMET_FILE)));
    const { library, project } = bench.shelf;
    // On the shelf the part lies in true millimetres.
    const { mmPerUnit } = fit.trueSize;
    const placement = multiply(fit.placement as unknown as Matrix4, scaling(1 / mmPerUnit));
    const place = { matrix: [...placement] };
    const made = [
      { kind: 'pads' as const, parameters: { stock, place }, figures: pads.figures, files: pads.made },
      { kind: 'gauge' as const, parameters: bands, figures: gauge.figures, files: gauge.made },
      { kind: 'pieces' as const, parameters: bed, figures: split.figures, files: split.made },
    ];
    got(
      keepDemoHelmet(library, project, {
        formId: on.formId,
        fileName: HELMET_FILE,
        bytes,
        known: { spans },
        mesh: transformMesh(scaling(mmPerUnit), helmet.mesh),
        figures: ready.figures,
        placement,
        fit,
        sight,
        wish,
        made,
      }),
    );
  }
  return { file: HELMET_FILE, on: id, fit, sight, pads: pads.figures, gauge: gauge.figures, pieces: split.figures };
}
