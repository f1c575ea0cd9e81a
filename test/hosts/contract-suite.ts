/**
 * What the screens may ask, asked of a host as a page would ask it: every name of the contract with good input, with bad
 * input and with ids that are nobody's; a mesh of more than a megabyte; stopping; events. The same for every host.
 */
import { randomUUID } from 'node:crypto';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { CONTRACT, type CallInput, type CallName, type CallResult, type JobView } from '../../shared-types/contract.ts';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { HEAD_MEASURES } from '../../shared-types/measures/index.ts';
import type { Matrix4, Vec3 } from '../../shared-types/mesh.ts';
import type { Outcome } from '../../shared-types/outcome.ts';
import { writeMesh } from '../../electron/formats/index.ts';
import { transformMesh, transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { scanWearer, WEARERS, type InventedWearer } from '../../electron/invented/production.ts';
import { good } from '../store/support.ts';
import { sphere, torus } from '../support/solids.ts';

/** One page's way to the program. */
export interface Transport {
  readonly call: (name: string, input: unknown, watch?: { signal?: AbortSignal }) => Promise<Outcome<unknown>>;
  readonly upload: (fileName: string, bytes: Uint8Array<ArrayBuffer>) => Promise<Outcome<{ readonly upload: string }>>;
  /** Events heard so far. */
  readonly events: { name: string; value: unknown }[];
  /** Something that is no message of ours, where messages are carried. */
  garble?(message: unknown): void;
  close(): Promise<void>;
}

const HEAD_FACES = 4000;

/** A clean closed head of an invented wearer in metres, with the points and readings of its ticket. */
function inventHead() {
  const wearer = { ...(WEARERS[0] as InventedWearer), faces: 2000 };
  const { head, scan, recipe } = scanWearer(wearer);
  const { formToScan } = scan.truth;
  const bytes = good(writeMesh(transformMesh(formToScan, head.mesh(HEAD_FACES)), 'head.ply')).bytes;
  const landmarks = Object.fromEntries(
    Object.entries(head.landmarks).map(([name, point]) => [name, transformPoint(formToScan, point as Vec3)]),
  );
  return { bytes: new Uint8Array(bytes), landmarks, recipe };
}

/** Invented once for all hosts: it takes longer than asking. */
let head: ReturnType<typeof inventHead> | undefined;

const solidBall = (): Uint8Array<ArrayBuffer> => new Uint8Array(good(writeMesh(sphere(30, 2), 'ball.stl')).bytes);

/** A bowl about where a head is, much larger than one, in mm. */
function bigShell(): Uint8Array<ArrayBuffer> {
  const ball = sphere(170, 3);
  const upper = ball.triangles.filter((_, i) => {
    const f = 3 * Math.floor(i / 3);
    return [0, 1, 2].every((k) => (ball.positions[3 * (ball.triangles[f + k] ?? 0) + 2] ?? 0) > 0);
  });
  const moved = { triangles: upper, positions: ball.positions.map((x, i) => (i % 3 === 2 ? x + 10 : x)) };
  return new Uint8Array(good(writeMesh(moved, 'helmet.stl')).bytes);
}

const RING_MM = 90;
const TUBE_MM = 30;
const RING_FACES = 2 * 180 * 170;
/** A ring of 61,200 faces: 3 MB as a file, more than one as a mesh to look at. */
const ring = (): Uint8Array<ArrayBuffer> =>
  new Uint8Array(good(writeMesh(torus(RING_MM, TUBE_MM, 180, 170), 'ring.stl')).bytes);

export function contractSuite(host: string, open: () => Promise<Transport>): void {
  describe(`the contract, asked of ${host}`, () => {
    let page: Transport;
    const asked = new Set<string>();

    beforeAll(async () => {
      page = await open();
    });
    afterAll(() => page.close());

    /** Ask, and hold the answer to the contract's own schema. */
    async function ask<N extends CallName>(name: N, input: CallInput<N>): Promise<CallResult<N>> {
      asked.add(name);
      const outcome = await page.call(name, input);
      if (!outcome.ok) throw new Error(`${name}: ${faultSentence(outcome.fault)}`);
      return CONTRACT[name].output.parse(outcome.value) as CallResult<N>;
    }
    async function ended(jobId: string): Promise<JobView> {
      for (;;) {
        const job = (await ask('job.list', {})).jobs.find(({ id }) => id === jobId);
        if (job === undefined) throw new Error('the job is not on the board');
        if (job.state !== 'running') return job;
        await new Promise((settle) => setTimeout(settle, 20));
      }
    }
    async function done(jobId: string): Promise<JobView> {
      const job = await ended(jobId);
      expect(job.state, job.sentence).toBe('done');
      return job;
    }

    it('leads from a scan to a form and a liner, and answers every name it knows', async () => {
      const { bytes, landmarks, recipe } = (head ??= inventHead());
      expect(await ask('app.about', {})).toMatchObject({ locked: false, empty: true });
      await ask('library.unlock', { passphrase: 'it has none' });

      const { id: other } = await ask('wearer.add', { name: 'Somebody Invented', consentDate: '2026-01-02' });
      await ask('wearer.edit', { id: other, note: 'left-handed' });
      expect((await ask('history.show', {})).undo).toBeDefined();
      const { label } = await ask('history.undo', {});
      expect((await ask('history.redo', {})).label).toBe(label);
      expect((await ask('wearer.show', { id: other })).wearer.note).toBe('left-handed');
      expect((await ask('wearer.forgetPlan', { id: other })).name).toBe('Somebody Invented');
      await ask('wearer.forget', { id: other });

      const { upload } = await ask('scan.receive', { fileName: 'head.ply', bytes });
      const kept = await ask('scan.keep', { upload, fileName: 'head.ply', wearerName: 'Invented Captain' });
      const { wearerId, ticketId } = kept;
      const taken = [
        ...recipe.spans.map((span) => ({ ...span, kind: 'span' as const })),
        ...recipe.girths.map((girth) => ({ ...girth, kind: 'girth' as const })),
      ];
      for (const { kind, name, measured } of taken)
        await ask('reading.add', { wearerId, kind, name, valueMm: measured, instrument: 'calliper' });
      const slip = { wearerId, kind: 'span' as const, name: 'head breadth', valueMm: 999, instrument: 'calliper' };
      await ask('reading.withdraw', { wearerId, id: (await ask('reading.add', slip)).id });
      const { csv } = await ask('reading.export', { wearerId });
      expect(await ask('reading.import', { wearerId, csv })).toMatchObject({ added: 0 });
      expect((await ask('shelf.show', { text: 'captain' })).wearers.map(({ id }) => id)).toEqual([wearerId]);
      const { scans } = await ask('wearer.show', { id: wearerId });
      await ask('ticket.start', { scanId: scans[0]?.id ?? '' });

      await done((await ask('ticket.prepare', { id: ticketId })).jobId);
      const { ticket, prepared } = await ask('ticket.show', { id: ticketId });
      expect(prepared?.sound).toBe(true);
      await ask('ticket.propose', { id: ticketId });
      await ask('ticket.propose', { id: ticketId, region: 'arm', side: 'left' });
      const used = new Set(['orbitale-left', ...HEAD_MEASURES.flatMap((measure) => measure.landmarks)]);
      const placed = Object.entries(landmarks).filter(([name]) => used.has(name));
      const draft = {
        ...ticket.draft,
        faces: 1500,
        landmarks: Object.fromEntries(placed.map(([name, point]) => [name, { point, origin: 'hand' as const }])),
      };
      await ask('ticket.edit', { id: ticketId, label: 'place the landmarks', draft } as CallInput<'ticket.edit'>);
      expect((await ask('ticket.stand', { id: ticketId })).method).toBe('frankfurt');
      const size = await ask('ticket.size', { id: ticketId });
      expect(size.drawn.length).toBeGreaterThan(0);
      // The scan is in metres: a thousand millimetres to its unit, within what the invented readings scatter.
      expect((size.fit?.factor ?? 0) / 1000).toBeCloseTo(1, 1);
      const mended = await ask('ticket.mesh', { id: ticketId, which: 'mended' });
      expect(mended.triangles.length).toBe(3 * (prepared?.facesAfter ?? 0));

      const { revisionId = '' } = await done((await ask('ticket.make', { id: ticketId })).jobId);
      const { form, revision } = await ask('form.show', { revisionId });
      expect(revision.faceCount).toBeLessThanOrEqual(1500);
      expect((await ask('form.mesh', { revisionId })).triangles.length).toBe(3 * revision.faceCount);
      const deviation = await ask('form.deviation', { revisionId });
      expect(deviation.meanMm).toBeLessThan(deviation.maxMm);
      const { png } = await ask('form.picture', { revisionId, pixels: 64 });
      // PNG signature, RFC 2083 section 3.1.
      expect([...png.subarray(0, 8)]).toEqual([137, 80, 78, 71, 13, 10, 26, 10]);
      const stl = await ask('form.export', { revisionId, format: 'stl' });
      const hair = { zones: [{ region: 'crown' as const, growMm: 6, blendMm: 25 }] };
      const grown = await ask('form.allow', { revisionId, zones: hair, format: 'stl' });
      expect(grown.fileName).toMatch(/ with allowances\.stl$/);
      expect(grown.volumeMm3).toBeGreaterThan(grown.formVolumeMm3);
      expect(grown.zones.map(({ growMm }) => growMm)).toEqual([6]);
      // Binary STL: 80 bytes of head, a count, 50 bytes a face.
      expect(stl.bytes.length).toBe(84 + 50 * revision.faceCount);
      const { id: projectId } = await ask('project.add', { name: 'An invented play' });
      await ask('project.use', { projectId, formId: form.id });
      expect((await ask('project.show', { id: projectId })).forms).toHaveLength(1);
      const subject = { formId: form.id };
      expect((await ask('plan.show', { kind: 'gauge', subject })).planned).toBeUndefined();
      const planned = { kind: 'gauge' as const, draft: { levels: '0, 40', bandMm: 12, words: 'Ann' } };
      await ask('plan.keep', { subject, label: 'plan a band', planned });
      expect((await ask('plan.show', { kind: 'gauge', subject })).planned).toEqual(planned);
      const parameters = { foamMm: 10, toleranceMm: 1 };
      const preview = await ask('liner.preview', { revisionId, parameters });
      expect(preview.depthMm).toBeNull();
      expect(preview.foamVolumeMm3).toBeGreaterThan(0);
      const { linerId = '' } = await done((await ask('form.line', { revisionId, parameters, projectId })).jobId);
      expect((await ask('liner.show', { id: linerId })).mesh.positions.length).toBeGreaterThan(0);
      expect((await ask('liner.map', { id: linerId })).thicknessMm.some((mm) => Math.abs(mm - 10) < 0.5)).toBe(true);
      await ask('liner.export', { id: linerId, format: '3mf' });
      const foam = await ask('stock.add', { material: 'invented foam', nominalMm: 6, compression: 0.2 });
      await ask('stock.edit', { id: foam.id, measuredMm: 5.8 });
      expect((await ask('stock.list', {})).stock).toMatchObject([{ nominalMm: 6, measuredMm: 5.8 }]);
      await ask('stock.drop', { id: foam.id });
      await ask('usual.set', { usual: { headSpan: 2.5 } });
      expect((await ask('usual.show', {})).usual).toMatchObject({ headSpan: 2.5, headGirth: 3 });
      await ask('usual.reset', {});
      expect((await ask('usual.show', {})).usual.headSpan).toBe(1.5);
      const source = { linerId, projectId };
      const body = await ask('making.body', { kind: 'pieces', source });
      const bed = { bed: [3000, 3000, 3000] };
      const { pieces, triangles } = await ask('making.preview', { kind: 'pieces', source, parameters: bed });
      expect(pieces?.pieces).toMatchObject([{ faceFrom: 0, faceCount: triangles.length / 3, fits: true }]);
      expect(triangles.length).toBe(body.triangles.length);
      const level = { levelsMm: [60], bandMm: 10 };
      const { jobId: gauging } = await ask('making.start', { kind: 'gauge', name: 'Brow', source, parameters: level });
      const { makingId = '' } = await done(gauging);
      const { files } = await ask('making.show', { id: makingId });
      expect(files.map(({ name }) => name)).toEqual(['bands.3mf', 'band-01.stl']);
      expect((await ask('making.list', source)).made.map(({ making }) => making.id)).toEqual([makingId]);
      const { bytes: whole } = await ask('making.file', { fileId: files[0]?.id ?? '' });
      // A zip begins with PK, APPNOTE.TXT section 4.3.7.
      expect([...whole.subarray(0, 2)]).toEqual([0x50, 0x4b]);
      const band = await ask('making.mesh', { fileId: files[1]?.id ?? '' });
      expect(band.triangles.length).toBeGreaterThan(0);
      expect((await ask('making.files', { id: makingId })).fileName).toBe('Brow.zip');
      await ask('making.drop', { id: makingId });

      const helmet = good(await page.upload('helmet.stl', bigShell()));
      const { id: partId } = await ask('part.keep', { upload: helmet.upload, fileName: 'helmet.stl', name: 'Helmet' });
      await ask('part.edit', { id: partId, projectId });
      expect((await ask('part.list', {})).parts).toMatchObject([{ name: 'Helmet', ready: false, fittings: 0 }]);
      expect((await ask('part.mesh', { id: partId, which: 'file' })).triangles.length).toBeGreaterThan(0);
      expect((await ask('part.size', { id: partId, unit: 'mm' })).trueSize.mmPerUnit).toBe(1);
      await ask('part.mesh', { id: partId, which: 'ready' });
      const ball = good(await page.upload('ball.stl', solidBall()));
      const solid = await ask('part.keep', { upload: ball.upload, fileName: 'ball.stl', name: 'Ball' });
      await ask('part.size', { id: solid.id, unit: 'mm' });
      const hollow = { wallMm: 5, toleranceMm: 1, opening: { plane: [0, 0, -15, 0, 0, 1] } };
      const ofBall = { kind: 'shell' as const, source: { partId: solid.id }, parameters: hollow };
      expect((await ask('making.preview', ofBall)).shell?.reaches).toEqual([true]);
      const { makingId: shellId = '' } = await done((await ask('making.start', { ...ofBall, name: 'Cup' })).jobId);
      const cup = await ask('making.part', { id: shellId });
      expect((await ask('making.show', { id: shellId })).keptAs).toEqual({ id: cup.id, name: 'Ball, hollow' });
      expect((await ask('part.show', { id: cup.id })).madeBy).toEqual({ id: shellId, name: 'Cup', isOutdated: false });
      const fitting = await ask('fitting.start', { name: 'Helmet on the captain', formId: form.id, partId, projectId });
      const fresh = await ask('fitting.show', { id: fitting.id });
      expect(fresh.tried).toBeUndefined();
      const thin = { ...fresh.draft, foamMm: 3 };
      await ask('fitting.edit', { id: fitting.id, label: 'take 3 mm foam', draft: thin });
      await done((await ask('fitting.try', { id: fitting.id, sight: true })).jobId);
      const { tried } = await ask('fitting.show', { id: fitting.id });
      expect(tried?.outdated).toBe(false);
      const { partMm } = await ask('fitting.ease', { id: fitting.id });
      // The same gap, found at the vertices and over whole faces.
      expect(Math.min(...partMm)).toBeGreaterThanOrEqual((tried?.fit?.leastEaseMm ?? Infinity) - 0.01);
      expect((await ask('fitting.list', { projectId })).fittings).toHaveLength(1);
      expect((await ask('part.show', { id: partId })).fittings).toHaveLength(1);
      const company = { projectId, wish: { roomMm: 2 } };
      expect((await ask('company.show', company)).cells).toMatchObject([{ partId, formId: form.id }]);
      await done((await ask('company.run', company)).jobId);
      const [cell] = (await ask('company.show', company)).cells;
      expect(cell?.goesOn).toBe((cell?.leastEaseMm ?? -1) >= 2);
      expect((await ask('company.export', company)).csv).toContain('Helmet,Invented Captain');
      const papers = [
        await ask('paper.fitting', { revisionId, paper: 'letter' }),
        await ask('paper.measures', { wearerId }),
        await ask('paper.capture', {}),
      ];
      // How a PDF begins, ISO 32000-1 section 7.5.2.
      for (const { bytes: pdf } of papers) expect(new TextDecoder().decode(pdf.subarray(0, 5))).toBe('%PDF-');

      const survey = 'either' as const;
      const { measures } = await ask('block.foresee', { wearerId, survey });
      expect(measures.some(({ role }) => role === 'given') && measures.some(({ role }) => role === 'guessed')).toBe(
        true,
      );
      const blocking = (await ask('block.make', { wearerId, name: 'By measures', survey })).jobId;
      await ask('job.stop', { id: blocking });
      const filling = { revisionId, patch: { zones: [{ region: 'crown' as const }] }, blendMm: 20, survey };
      const filled = await ask('fill.preview', filling);
      expect(filled.movedMm.length).toBe(filled.positions.length / 3);
      expect(filled.figures.kept.movedMaxMm).toBe(0);
      await ask('job.stop', { id: (await ask('fill.make', { ...filling, name: 'Filled' })).jobId });

      const demo = (await ask('demo.make', {})).jobId;
      await ask('job.stop', { id: demo });
      expect((await ended(demo)).state).toBe('stopped');
      const { jobId: again } = await ask('job.again', { id: demo });
      await ask('job.stop', { id: again });
      await ended(again);
      await ask('job.dismiss', { id: again });
      expect((await ask('job.list', {})).jobs.some(({ id }) => id === again)).toBe(false);

      expect([...asked].toSorted()).toEqual(Object.keys(CONTRACT).toSorted());
      const states = page.events
        .filter(({ name }) => name === 'jobs')
        .flatMap(({ value }) =>
          (value as { jobs: JobView[] }).jobs.filter((job) => job.ticketId === ticketId && job.kind === 'make'),
        )
        .map(({ state }) => state);
      expect([states[0], states.at(-1)]).toEqual(['running', 'done']);
      expect(page.events).toContainEqual({ name: 'changed', value: { what: 'ticket', id: ticketId } });
    });

    it('refuses what the contract does not allow, each with a sentence that names the call', async () => {
      for (const name of Object.keys(CONTRACT)) {
        const outcome = await page.call(name, 'not an object');
        expect(outcome.ok, name).toBe(false);
        if (!outcome.ok)
          expect(faultSentence(outcome.fault)).toMatch(new RegExp(`^${name.replace('.', '\\.')}: .{10}`));
      }
      for (const name of ['', 'toString', '__proto__', 'constructor', 'app.About', 'x'.repeat(10_000)]) {
        const outcome = await page.call(name, {});
        expect(outcome).toMatchObject({ ok: false, fault: { code: 'job.usage' } });
      }
    });

    it('has nothing under an id that is nobody’s, and says so', async () => {
      const nobody = randomUUID();
      const fields = { id: nobody, wearerId: nobody, scanId: nobody, formId: nobody, projectId: nobody };
      const more = {
        fileId: nobody,
        source: { linerId: nobody },
        subject: { linerId: nobody },
        planned: { kind: 'gauge', draft: { levels: '', words: '' } },
        partId: nobody,
        wish: { roomMm: 1 },
        revisionId: nobody,
        upload: 'nothing',
        fileName: 'a.obj',
        which: 'scan',
        format: 'stl',
        pixels: 64,
      };
      const rest = { label: 'a', kind: 'span', name: 'a', valueMm: 1, instrument: 'a', parameters: {}, csv: '' };
      // These are about no record, make one, or leave what is not there alone.
      const exempt =
        /^(app|library|history|shelf|demo|usual)\.|\.list$|\.add$|\.receive$|^job\.(stop|dismiss)$|^paper\.capture$|^reading\.export$/;
      for (const name of Object.keys(CONTRACT).filter((one) => !exempt.test(one))) {
        const outcome = await page.call(name, { ...fields, ...more, ...rest });
        expect(outcome.ok, name).toBe(false);
        if (!outcome.ok) expect(outcome.fault.code, name).not.toBe('job.internal');
      }
    });

    it('carries a scan of megabytes up and its mesh down, exactly', async () => {
      const { upload } = good(await page.upload('ring.stl', ring()));
      const asked = { upload, fileName: 'ring.stl', wearerName: 'Ring', region: 'leg', side: 'left' } as const;
      const { ticketId } = await ask('scan.keep', asked);
      const { ticket } = await ask('ticket.show', { id: ticketId });
      const again = await ask('ticket.start', { scanId: ticket.scanId });
      for (const { draft } of [ticket, (await ask('ticket.show', again)).ticket]) {
        expect(draft).toMatchObject({ region: 'leg', side: 'left' });
        expect(draft.measures.map(({ name }) => name)).toContain('calf circumference, left');
      }
      // A handle serves once.
      expect(await page.call('scan.keep', { upload, fileName: 'ring.stl' })).toMatchObject({ ok: false });

      // Asked for and given up: the call ends, and the next one is not the worse for it.
      const stop = new AbortController();
      setTimeout(() => stop.abort(), 60);
      const stopped = await page.call('ticket.mesh', { id: ticketId, which: 'mended' }, { signal: stop.signal });
      expect(stopped).toMatchObject({ ok: false, fault: { code: 'job.cancelled' } });

      const mesh = await ask('ticket.mesh', { id: ticketId, which: 'scan' });
      expect(mesh.triangles.length).toBe(3 * RING_FACES);
      // Euler: a closed surface of genus 1 has half as many vertices as faces.
      expect(mesh.positions.length).toBe((3 * RING_FACES) / 2);
      expect(farthestFromRing(mesh.positions, mesh.toFile)).toBeLessThan(1e-4);
    });

    it('drops what is no message and goes on', async () => {
      if (page.garble === undefined) return;
      for (const message of [null, 7, [], {}, { kind: 'call', id: 'a', name: 'app.about' }, { kind: 'stop' }])
        page.garble(message);
      expect((await ask('app.about', {})).empty).toBe(false);
    });
  });
}

/**
 * Largest miss of a vertex, in file coordinates, from the circle's tube. The file holds single precision and the view
 * again: 120 mm round to 4e-6 mm a coordinate, so 1e-4 is far outside what carrying may cost and inside any damage.
 */
function farthestFromRing(positions: Float32Array, toFile: readonly number[]): number {
  let worst = 0;
  for (let i = 0; i < positions.length; i += 3) {
    const [x, y, z] = transformPoint(
      toFile as unknown as Matrix4,
      [...positions.subarray(i, i + 3)] as unknown as Vec3,
    );
    worst = Math.max(worst, Math.abs(Math.hypot(Math.hypot(x, y) - RING_MM, z) - TUBE_MM));
  }
  return worst;
}
