import { fault } from '../../shared-types/faults/index.ts';
import { gaugeSpecification } from '../../shared-types/operations/gauge.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { done, failed, type Warning } from '../../shared-types/outcome.ts';
import { writeBodies } from '../formats/index.ts';
import { examine, HEALTH_PHASE } from '../geometry/mend/health.ts';
import { boundsOf, volumeOf } from '../geometry/mesh/quantities.ts';
import { roundToSingle, transformMesh, translation } from '../geometry/mesh/transform.ts';
import { gaugeBand } from '../geometry/pieces/gauge-band.ts';
import { estimatePrint } from '../geometry/pieces/print-estimate.ts';
import { isSound } from '../geometry/pieces/split-solid.ts';
import { troubleOfForm } from './line.ts';
import type { MadeFile, Operation } from './operation.ts';
import { asStl } from './split.ts';

export const gaugeOperation: Operation<typeof gaugeSpecification> = {
  specification: gaugeSpecification,
  phases: { cut: 0.7, [HEALTH_PHASE]: 0.3 },
  run: ([input], parameters, run) => {
    const trouble = troubleOfForm(input.mesh, 'gauge');
    if (trouble !== undefined) return failed(trouble);
    // Levels are given in the file's own coordinates.
    const { fromFile } = input;
    const shell = roundToSingle(input.mesh);
    const warnings: Warning[] = [];
    const bodies: { name: string; mesh: Mesh }[] = [];
    const files: MadeFile[] = [];
    const bands = [];
    for (const [index, levelMm] of parameters.levelsMm.entries()) {
      const here = fromFile[10] * levelMm + fromFile[11];
      const tick = (): void => run.step('cut', index, parameters.levelsMm.length);
      tick();
      const words = `${parameters.words} ${levelMm >= 0 ? '+' : ''}${levelMm}`.trim();
      const raised = gaugeBand(shell, here, parameters.bandMm, words, tick);
      if (raised === undefined) {
        const { min, max } = boundsOf(shell.positions);
        const lowest = (min[2] - fromFile[11]) / fromFile[10];
        const highest = (max[2] - fromFile[11]) / fromFile[10];
        const reason = `gauge: at ${levelMm} mm a band of ${parameters.bandMm} mm finds no shell through its whole height; the shell stands from ${lowest.toFixed(0)} to ${highest.toFixed(0)} mm.`;
        return failed(fault('job.usage', { reason }));
      }
      let band = raised;
      let mesh = onTheBed(band.mesh);
      if (!isSound(examine(mesh, run))) {
        const plain = gaugeBand(shell, here, parameters.bandMm, '', tick);
        if (plain === undefined) throw new Error('a band came and went');
        band = { ...plain, written: false };
        mesh = onTheBed(band.mesh);
        const health = examine(mesh, run);
        if (!isSound(health)) {
          const reason = `the band at ${levelMm} mm has ${health.selfIntersections} self-intersections`;
          return failed(fault('mesh.not-sound', { reason, verb: 'printing' }));
        }
      }
      if (band.form === 'bow') {
        const sentence = `At ${levelMm} mm the shell is open, so the band is a bow; its length is told as a tape lies round it, across the opening.`;
        warnings.push({ code: 'gauge.open', sentence });
      }
      if (band.form === 'disc') {
        const sentence = `At ${levelMm} mm the body is solid, so the band is a disc; make a shell first: a liner with a wall.`;
        warnings.push({ code: 'gauge.solid', sentence });
      }
      if (!band.written) {
        const sentence = `The words do not go onto the band at ${levelMm} mm; make it higher, or the words shorter.`;
        warnings.push({ code: 'gauge.unwritten', sentence });
      }
      if (band.missing.length > 0) {
        const sentence = `There are no raised letters for ${[...new Set(band.missing)].join(' ')}; they were left out.`;
        warnings.push({ code: 'gauge.letters', sentence });
      }
      const name = `band-${String(index + 1).padStart(2, '0')}.stl`;
      const file = asStl(mesh, name);
      if (!file.ok) return file;
      files.push(file.value);
      bodies.push({ name: words, mesh });
      const { massG, hours } = estimatePrint(mesh, { ...parameters, infill: parameters.infillPercent / 100 });
      bands.push({
        levelMm,
        file: name,
        words: band.written ? words : '',
        insideMm: band.form === 'ring' ? band.insideMm : null,
        outsideMm: band.outsideMm,
        faces: mesh.triangles.length / 3,
        volumeMm3: volumeOf(mesh),
        massG,
        hours,
      });
    }
    const all = writeBodies(bodies, 'gauge bands');
    if (!all.ok) return all;
    return done({ files: [{ name: 'bands.3mf', bytes: all.value }, ...files], figures: { bands } }, warnings);
  },
};

function onTheBed(mesh: Mesh): Mesh {
  const { min, max } = boundsOf(mesh.positions);
  return roundToSingle(transformMesh(translation([-(min[0] + max[0]) / 2, -(min[1] + max[1]) / 2, -min[2]]), mesh));
}
