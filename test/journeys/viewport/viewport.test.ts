/**
 * The viewport in a real browser with real WebGL (in software): what is drawn, what is picked, what the hand does.
 * Checked against the closed form of the ellipsoid that is shown, never against an earlier picture of ours.
 */
import type { Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { browserPath } from '../../support/browser.ts';
import { openDesk, type Desk } from './desk-page.ts';

const WIDE = 640;
const HIGH = 480;
type Point = [number, number, number];
interface Picked {
  slot: string;
  point: Point;
  pointInMesh: Point;
  normal: Point;
  face: number;
  snapped: boolean;
}

/** Half axes of the ball that is shown, mm: x, y, z. */
const AXES: Point = [95, 75, 120];

/** 1 on the ellipsoid; the shown one is its faces, which lie a little inside. */
const onBall = ([x, y, z]: Point): number => (x / AXES[0]) ** 2 + (y / AXES[1]) ** 2 + (z / AXES[2]) ** 2;

describe.skipIf(browserPath() === undefined)('the viewport in a browser', () => {
  let desk: Desk;
  let page: Page;

  const run = async <T = void>(script: string): Promise<T> =>
    (await page.evaluate(`(async () => { ${script} })()`)) as T;
  const pickAt = (x: number, y: number, snap = false): Promise<Picked | null> =>
    run<Picked | null>(`return shown.pickAt(${x}, ${y}, ${snap}) ?? null`);
  const placeOf = (point: Point): Promise<{ x: number; y: number }> => run(`return shown.placeOf([${point.join()}])`);
  const coloursOf = async (...places: (readonly [number, number])[]): Promise<number[][]> => {
    const png = (await page.screenshot()).toString('base64');
    return await run<number[][]>(`return coloursOf('${png}', ${JSON.stringify(places)})`);
  };
  const fresh = async (before = ''): Promise<void> => {
    await run(`globalThis.shown?.dispose(); for (const k of ['picks','planes','marks','wipes','troubles']) heard[k].length = 0;
      globalThis.body = ball(40, [${AXES.join()}], 0); const v = open();
      v.setMesh('form', body, { material: 'clay' }); await pickable(); v.view('front'); v.frame(); ${before} await calm();`);
  };

  beforeAll(async () => {
    desk = await openDesk();
    page = await desk.open(WIDE, HIGH);
  });
  afterAll(async () => {
    await desk?.close();
  });

  it('draws clay on paper, and a still view draws no more', async () => {
    await fresh();
    const [middle, corner] = await coloursOf([WIDE / 2, HIGH / 2], [8, 8]);
    // clay: red over green over blue; paper: light and nearly grey
    expect(middle[0]).toBeGreaterThan(middle[1] + 15);
    expect(middle[1]).toBeGreaterThan(middle[2] + 8);
    expect(Math.min(...corner)).toBeGreaterThan(215);
    const before = await run<number>('return shown.stats().pictures');
    await page.waitForTimeout(400);
    expect(await run('return shown.stats().pictures')).toBe(before);
    expect(await run('return shown.stats().triangles')).toBe(4 * 40 * 39);
  });

  it('picks the point under the pointer, on the surface, with its face and normal', async () => {
    await fresh(`v.setPickMode('surface');`);
    await page.mouse.click(WIDE / 2 + 40, HIGH / 2 - 30);
    const [hit] = await run<Picked[]>('return heard.picks');
    // faces of 6 to 9 mm lie at most 0.5 % inside
    expect(onBall(hit.point)).toBeGreaterThan(0.99);
    expect(onBall(hit.point)).toBeLessThan(1.00001);
    const at = await placeOf(hit.point);
    expect(at.x).toBeCloseTo(WIDE / 2 + 40, 1);
    expect(at.y).toBeCloseTo(HIGH / 2 - 30, 1);
    // in front of the face one sees x, the wearer's left is at the right of the picture
    expect(hit.point[0]).toBeGreaterThan(0);
    expect(hit.point[1]).toBeGreaterThan(0);
    expect(hit.point[2]).toBeGreaterThan(0);
    const gradient = hit.point.map((c, k) => c / AXES[k] ** 2);
    const cosine = gradient.reduce((sum, c, k) => sum + c * hit.normal[k], 0) / Math.hypot(...gradient);
    expect(cosine).toBeGreaterThan(0.99);
    const corners = await run<Point[]>(
      `return [0, 1, 2].map((k) => Array.from(body.positions.subarray(body.triangles[${hit.face} * 3 + k] * 3).subarray(0, 3)))`,
    );
    const middle = [0, 1, 2].map((k) => corners.reduce((sum, corner) => sum + corner[k] / 3, 0)) as Point;
    expect(Math.hypot(...middle.map((c, k) => c - hit.point[k]))).toBeLessThan(8);
    expect(await pickAt(4, 4)).toBe(null);
  });

  it('picks a mesh that stands elsewhere, and says where that is in its own coordinates', async () => {
    await fresh(
      `v.setMesh('form', body, { matrix: [0, -1, 0, 30, 1, 0, 0, -20, 0, 0, 1, 10, 0, 0, 0, 1] }); v.frame();`,
    );
    const hit = (await pickAt(WIDE / 2, HIGH / 2)) as Picked;
    const [x, y, z] = hit.pointInMesh;
    expect(onBall(hit.pointInMesh)).toBeGreaterThan(0.99);
    [-y + 30, x - 20, z + 10].forEach((c, k) => expect(c).toBeCloseTo(hit.point[k], 3));
  });

  it('with Alt finds the tip nearby, to the spacing of the vertices', async () => {
    await fresh(
      `const nosed = ball(60, [${AXES.join()}], 22); v.setMesh('form', nosed, {}); await pickable(); v.view('front'); v.setPickMode('surface');`,
    );
    const tip = await placeOf([117, 0, 0]);
    await page.keyboard.down('Alt');
    await page.mouse.click(tip.x + 9, tip.y - 6);
    await page.keyboard.up('Alt');
    const [hit] = await run<Picked[]>('return heard.picks');
    expect(hit.snapped).toBe(true);
    expect(hit.point[0]).toBeCloseTo(117, 3);
    expect(Math.hypot(hit.point[1], hit.point[2])).toBeLessThan(0.01);
    // without it, the point under the pointer
    const plain = (await pickAt(tip.x + 9, tip.y - 6)) as Picked;
    expect(Math.hypot(plain.point[1], plain.point[2])).toBeGreaterThan(1);
  });

  it('shows a magnifier beside the pointer while picking, and none otherwise', async () => {
    await fresh(`v.setPickMode('surface');`);
    await page.mouse.move(WIDE / 2, HIGH / 2);
    const lens = page.locator('.ww-lens');
    await lens.waitFor({ state: 'visible' });
    const box = (await lens.boundingBox()) as { x: number; y: number; width: number; height: number };
    const [inLens] = await coloursOf([box.x + box.width / 2 + 20, box.y + box.height / 2 + 20]);
    expect(inLens[0]).toBeGreaterThan(inLens[2] + 20);
    await run(`shown.setPickMode('none')`);
    expect(await lens.isVisible()).toBe(false);
  });

  it('turns, shifts and zooms about the point under the pointer', async () => {
    await fresh();
    const [x, y] = [WIDE / 2 + 50, HIGH / 2 + 20];
    const pivot = ((await pickAt(x, y)) as Picked).point;
    await page.mouse.move(x, y);
    await page.mouse.wheel(0, -300);
    await run('await calm()');
    const near = await placeOf(pivot);
    expect(near.x).toBeCloseTo(x, 1);
    expect(near.y).toBeCloseTo(y, 1);
    const distance = await run<number>('return shown.getPose().distance');
    await page.mouse.down();
    await page.mouse.move(x + 60, y + 25, { steps: 4 });
    await page.mouse.up();
    await run('await calm()');
    const turned = await placeOf(pivot);
    expect(turned.x).toBeCloseTo(x, 1);
    expect(turned.y).toBeCloseTo(y, 1);
    expect(await run('return shown.getPose().distance')).toBeCloseTo(distance, 6);
    await page.mouse.move(x, y);
    await page.mouse.down({ button: 'right' });
    await page.mouse.move(x - 70, y + 30, { steps: 3 });
    await page.mouse.up({ button: 'right' });
    const shifted = await placeOf(pivot);
    // the pivot lies nearer than the target, so it moves a little more than the hand
    expect(shifted.x - x).toBeLessThan(-70);
    expect(shifted.x - x).toBeGreaterThan(-110);
    expect(shifted.y).toBeGreaterThan(y + 29);
  });

  it('obeys the keys', async () => {
    await fresh();
    await page.locator('.ww-view').focus();
    const pose = (): Promise<{ yaw: number; pitch: number; distance: number; target: Point }> =>
      run('return shown.getPose()');
    await page.keyboard.press('l');
    expect((await pose()).yaw).toBeCloseTo(Math.PI / 2, 9);
    // seen from the wearer's left, the face looks to the left of the picture
    const nose = await placeOf([95, 0, 0]);
    expect(nose.x).toBeLessThan(WIDE / 2 - 50);
    await page.keyboard.press('u');
    const fromBelow = await placeOf([95, 0, 0]);
    expect(fromBelow.y).toBeLessThan(HIGH / 2 - 50);
    await page.keyboard.press('q');
    const before = await pose();
    await page.keyboard.press('ArrowRight');
    await page.keyboard.press('ArrowUp');
    await page.keyboard.press('+');
    const after = await pose();
    expect(after.yaw).not.toBe(before.yaw);
    expect(after.pitch).toBeGreaterThan(before.pitch);
    expect(after.distance).toBeLessThan(before.distance);
    await page.keyboard.press('Shift+ArrowLeft');
    expect((await pose()).target).not.toEqual(after.target);
    await page.keyboard.press('Home');
    (await pose()).target.forEach((c) => expect(c).toBeCloseTo(0, 3));
  });

  it('without perspective, a point far away is as large as one nearby', async () => {
    await fresh(`v.setProjection('orthographic');`);
    const apart = async (x: number): Promise<number> => (await placeOf([x, 0, 50])).y - (await placeOf([x, 0, -50])).y;
    expect(await apart(90)).toBeCloseTo(await apart(-90), 6);
    expect(onBall(((await pickAt(WIDE / 2 + 30, HIGH / 2 + 30)) as Picked).point)).toBeGreaterThan(0.99);
    await run(`shown.setProjection('perspective')`);
    expect(Math.abs(await apart(90))).toBeGreaterThan(Math.abs(await apart(-90)) * 1.1);
  });

  it('opens a section: the cut is the ellipse it must be, and what lay before it is gone', async () => {
    await fresh(`v.view('left'); v.setSection({ point: [0, 0, 0], normal: [0, -1, 0] });`);
    const section = await run<{ lines: { slot: string; closed: boolean; points: Record<string, number> }[] }>(
      `const s = shown.getSection(); return { ...s, lines: s.lines.map((l) => ({ ...l, points: Array.from(l.points) })) }`,
    );
    expect(section.lines.map((line) => [line.slot, line.closed])).toEqual([['form', true]]);
    const points = Object.values(section.lines[0].points);
    let area = 0;
    for (let k = 0, b = points.length - 2; k < points.length; b = k, k += 2) {
      area += (points[b] * points[k + 1] - points[k] * points[b + 1]) / 2;
    }
    // π a c, less the segments between 80 corners
    expect(Math.abs(area) / (Math.PI * AXES[0] * AXES[2])).toBeGreaterThan(0.996);
    expect(Math.abs(area) / (Math.PI * AXES[0] * AXES[2])).toBeLessThan(1);
    const hit = (await pickAt(WIDE / 2, HIGH / 2)) as Picked;
    expect(hit.point[1]).toBeCloseTo(-AXES[1], 0);
    const hatched = await coloursOf(...Array.from({ length: 24 }, (_, k) => [WIDE / 2 + k, HIGH / 2] as const));
    const light = hatched.map((rgb) => rgb[0] + rgb[1] + rgb[2]);
    expect(Math.max(...light) - Math.min(...light)).toBeGreaterThan(40);
    await run('shown.setSection(undefined); await calm()');
    expect(((await pickAt(WIDE / 2, HIGH / 2)) as Picked).point[1]).toBeCloseTo(AXES[1], 0);
  });

  it('cuts a form within its liner: the form lies on top in the middle, the liner shows as a rim', async () => {
    await fresh(
      `v.setMesh('liner', ball(40, [${AXES.map((a) => a + 15).join()}], 0), { material: 'wall' }); v.view('left'); v.frame(); v.setSection({ point: [0, 0, 0], normal: [0, -1, 0] });`,
    );
    const rim = await placeOf([AXES[0] + 7, 0, 0]);
    const row = (x: number) => Array.from({ length: 9 }, (_, k) => [Math.round(x), HIGH / 2 - 4 + k] as const);
    const mean = (colours: number[][]): number[] => [0, 1, 2].map((k) => colours.reduce((s, c) => s + c[k] / 9, 0));
    const colours = await coloursOf(...row(WIDE / 2), ...row(rim.x));
    const [form, liner] = [mean(colours.slice(0, 9)), mean(colours.slice(9))];
    // clay is redder than foam is
    expect(form[0] / form[1]).toBeGreaterThan((liner[0] / liner[1]) * 1.1);
    expect(await run('return shown.getSection().lines.map((line) => line.slot).sort()')).toEqual(['form', 'liner']);
  });

  it.each([0, 1e6])(
    'turns a heavy mesh as its speed allows (slow from %d ms on), the whole when it rests',
    async (slow) => {
      await fresh();
      await run(`shown.dispose(); const v = open({ slowFrameMs: ${slow} }); v.setMesh('form', ball(112, [${AXES.join()}], 0), {});
      await pickable(); await calm(); v.view('left'); await calm(); v.view('front'); await calm();`);
      const triangles = 4 * 112 * 111;
      await page.locator('.ww-view').focus();
      await page.keyboard.press('ArrowLeft');
      await run('await calm()');
      const stats =
        await run<Record<'triangles' | 'movingTriangles' | 'drawnTriangles' | 'geometryBytes', number>>(
          'return shown.stats()',
        );
      expect(stats.triangles).toBe(triangles);
      expect(stats.movingTriangles).toBeGreaterThan(1000);
      if (slow === 0) expect(stats.movingTriangles).toBeLessThan(triangles / 2);
      else expect(stats.movingTriangles).toBe(triangles);
      expect(stats.drawnTriangles).toBe(triangles);
      // 20 bytes a vertex, 12 a face, and the tree
      expect(stats.geometryBytes).toBeGreaterThan(triangles * 22);
      expect(stats.geometryBytes).toBeLessThan(triangles * 60);
    },
  );

  it('picks by the keyboard in the middle of the picture', async () => {
    await fresh(`v.setPickMode('surface');`);
    await page.locator('.ww-view').focus();
    await page.keyboard.press('l');
    await page.locator('.ww-lens').waitFor({ state: 'visible' });
    await page.keyboard.press('Enter');
    const [hit] = await run<Picked[]>('return heard.picks');
    expect(hit.point[1]).toBeCloseTo(AXES[1], 0);
    expect(Math.hypot(hit.point[0], hit.point[2])).toBeLessThan(1);
  });

  it('wipes between before and after, by hand and by keys', async () => {
    await fresh(
      `v.setMesh('scan', ball(40, [${AXES.join()}], 0), { material: 'scan' }); await pickable(); v.setWipe(0.5, 'scan', 'form');`,
    );
    const [left, right] = await coloursOf([WIDE / 2 - 60, HIGH / 2 - 20], [WIDE / 2 + 60, HIGH / 2 - 20]);
    expect(right[0] - right[2]).toBeGreaterThan(left[0] - left[2] + 25);
    expect(((await pickAt(WIDE / 2 - 60, HIGH / 2)) as Picked).slot).toBe('scan');
    expect(((await pickAt(WIDE / 2 + 60, HIGH / 2)) as Picked).slot).toBe('form');
    const divider = page.getByRole('slider', { name: 'Before and after' });
    await divider.focus();
    await page.keyboard.press('End');
    expect(await divider.getAttribute('aria-valuenow')).toBe('100');
    expect(await run('return heard.wipes')).toEqual([1]);
    expect(((await pickAt(WIDE / 2 + 60, HIGH / 2)) as Picked).slot).toBe('scan');
    await run('shown.setWipe(0.5, "scan", "form"); await calm()');
    await page.mouse.move(WIDE / 2, HIGH / 2);
    await page.mouse.down();
    await page.mouse.move(WIDE / 4, HIGH / 2, { steps: 2 });
    await page.mouse.up();
    expect((await run<number[]>('return heard.wipes')).at(-1)).toBeCloseTo(0.25, 2);
  });

  it('greys what a trim takes away, and lets its plane be shifted and tilted', async () => {
    await fresh(`v.setPlanes([{ id: 'neck', point: [0, 0, -40], normal: [0, 0, 1], active: true }]);`);
    const above = await placeOf([80, 0, -20]);
    const below = await placeOf([75, 0, -65]);
    const [kept, gone] = await coloursOf([above.x - 30, above.y], [below.x - 30, below.y]);
    expect(kept[0] - kept[2]).toBeGreaterThan(25);
    expect(gone[0] - gone[2]).toBeLessThan(25);
    const handle = page.getByRole('button', { name: /^Shift the trim plane/ });
    const box = (await handle.boundingBox()) as { x: number; y: number; width: number; height: number };
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    await page.mouse.move(x, y);
    await page.mouse.down();
    await page.mouse.move(x, y - 40, { steps: 2 });
    await page.mouse.up();
    const shifted = (await run<{ id: string; point: Point; normal: Point }[]>('return heard.planes')).at(-1);
    expect(shifted?.id).toBe('neck');
    // the handle follows the hand: its new middle lies under the pointer
    const at = await placeOf([0, 0, shifted?.point[2] ?? 0]);
    expect(at.y).toBeCloseTo(y - 40, 0);
    await handle.focus();
    await page.keyboard.press('ArrowUp');
    expect((await run<{ point: Point }[]>('return heard.planes')).at(-1)?.point[2]).toBeCloseTo(-39, 9);
    await page.getByRole('button', { name: /^Tilt the trim plane sideways/ }).focus();
    await page.keyboard.press('Shift+ArrowUp');
    const tilted = (await run<{ normal: Point }[]>('return heard.planes')).at(-1)?.normal as Point;
    expect((Math.acos(tilted[2]) * 180) / Math.PI).toBeCloseTo(10, 6);
  });

  it('writes labels that can be read aloud and pressed; what lies behind is faint', async () => {
    await fresh(`
      v.setMarks([{ id: 'front', kind: 'landmark', label: 'nose', point: [95, 0, 0], selected: true },
        { id: 'back', kind: 'ghost', label: 'nape', point: [-95, 0, 0], uncertain: true }]);
      v.setSpans([{ id: 'breadth', label: 'breadth 150.0 mm', from: [0, 75, 0], to: [0, -75, 0], bad: true }]);
      v.setTapes([{ id: 'girth', label: 'girth 501 mm', points: Float64Array.from({ length: 180 }, (_, k) =>
        [80 * Math.cos(Math.floor(k / 3) * Math.PI / 30), 80 * Math.sin(Math.floor(k / 3) * Math.PI / 30), 40][k % 3]) }]);`);
    const list = page.getByRole('list', { name: 'Marks, spans and tapes' });
    const names = await list
      .getByRole('button')
      .evaluateAll((buttons) =>
        (buttons as unknown as { getAttribute(name: string): string | null }[]).map((b) =>
          b.getAttribute('aria-label'),
        ),
      );
    expect(names).toEqual([
      'nose, landmark',
      'nape, proposed landmark, uncertain',
      'breadth 150.0 mm, does not belong to the others',
      'girth 501 mm',
    ]);
    await list.getByRole('button', { name: 'nose, landmark' }).click();
    expect(await run('return heard.marks')).toEqual(['front']);
    expect(await list.getByRole('button', { name: /^nape/ }).getAttribute('data-behind')).toBe('yes');
    expect(await list.getByRole('button', { name: /^nose/ }).getAttribute('data-behind')).toBe('no');
    const boxes = await Promise.all((await list.getByRole('button').all()).map((button) => button.boundingBox()));
    // no label lies on another
    for (const a of boxes) {
      for (const b of boxes) {
        if (a === null || b === null || a === b) continue;
        expect(a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height).toBe(false);
      }
    }
    await run('shown.setMarks([]); shown.setSpans([]); shown.setTapes([]); await calm()');
    expect(await list.getByRole('button').count()).toBe(0);
  });

  it('paints a map in the colours of its legend', async () => {
    await fresh(`const mm = Float32Array.from({ length: body.positions.length / 3 }, (_, k) => body.positions[3 * k + 2] / 24);
      v.setScalars('form', mm, { minMm: -5, maxMm: 5, kind: 'deviation', contourMm: 20 });`);
    const legend = await run<{ stops: { valueMm: number; css: string }[] }>('return shown.getLegend()');
    for (const valueMm of [-2.5, 1.25, 2.5]) {
      const at = await placeOf([Math.sqrt(1 - ((valueMm * 24) / AXES[2]) ** 2) * AXES[0], 0, valueMm * 24]);
      const [[r, g, b]] = await coloursOf([Math.round(at.x), Math.round(at.y)]);
      const css = legend.stops.find((stop) => Math.abs(stop.valueMm - valueMm) < 1e-6)?.css ?? '';
      const [lr, lg, lb] = (css.match(/\d+/g) ?? []).map(Number);
      // light changes how bright it is, not which colour: the share of each channel stays
      const sum = r + g + b;
      const legendSum = lr + lg + lb;
      expect(r / sum).toBeCloseTo(lr / legendSum, 1);
      expect(b / sum).toBeCloseTo(lb / legendSum, 1);
      expect(Math.abs(sum / legendSum - 1)).toBeLessThan(0.3);
    }
    await run(`shown.setScalars('form', undefined); await calm()`);
    expect(await run('return shown.getLegend() ?? null')).toBe(null);
  });

  it('keeps a small picture of the view', async () => {
    await fresh();
    const [size, colours] = await run<[number[], number[][]]>(`const blob = await shown.snapshot(160, 120);
      const picture = await createImageBitmap(blob);
      return [[picture.width, picture.height], await coloursOf(blob, [[80, 60], [3, 3]])]`);
    expect(size).toEqual([160, 120]);
    expect(colours[0][0]).toBeGreaterThan(colours[0][2] + 30);
    expect(Math.min(...colours[1])).toBeGreaterThan(215);
    // the picture on screen is unharmed
    await run('await calm()');
    const [middle] = await coloursOf([WIDE / 2, HIGH / 2]);
    expect(middle[0]).toBeGreaterThan(middle[2] + 30);
  });

  it('changes to the slate board, and to another size of window', async () => {
    await fresh(`v.setTheme('dark');`);
    const [corner] = await coloursOf([8, 8]);
    expect(Math.max(...corner)).toBeLessThan(70);
    await page.setViewportSize({ width: 420, height: 560 });
    await run('shown.frame(); await calm()');
    expect(onBall(((await pickAt(210, 280)) as Picked).point)).toBeGreaterThan(0.99);
    const [left, middle] = await coloursOf([6, 280], [210, 280]);
    expect(Math.max(...left)).toBeLessThan(70);
    expect(middle[0]).toBeGreaterThan(100);
    await page.setViewportSize({ width: WIDE, height: HIGH });
  });

  it('says so when the graphics stop, and goes on when they are back', async () => {
    await fresh();
    await run(
      `globalThis.loss = document.querySelector('.ww-view canvas').getContext('webgl2').getExtension('WEBGL_lose_context'); loss.loseContext()`,
    );
    await page.getByRole('alert').waitFor({ state: 'visible' });
    expect(await page.getByRole('alert').textContent()).toContain('Nothing is lost');
    await run('shown.view("left"); loss.restoreContext()');
    await page.getByRole('alert').waitFor({ state: 'hidden' });
    await run('await calm()');
    const [middle] = await coloursOf([WIDE / 2, HIGH / 2]);
    expect(middle[0]).toBeGreaterThan(middle[2] + 30);
    desk.complaints.splice(
      0,
      desk.complaints.length,
      ...desk.complaints.filter((text) => !/context lost|context restored/i.test(text)),
    );
  });

  it('takes broken meshes without a fall, and everything away at the end', async () => {
    await fresh(`v.setMesh('empty', { positions: new Float64Array(0), triangles: new Uint32Array(0) });
      v.setMesh('broken', { positions: Float64Array.of(NaN, 0, 0, 1, NaN, 2, 3, 4, 5), triangles: Uint32Array.of(0, 1, 2, 2, 2, 2) });
      v.setScalars('none', new Float32Array(3), { minMm: 0, maxMm: 1, kind: 'ease' });
      v.setSection({ point: [0, 0, 0], normal: [0, 1, 0] }); v.getSection();`);
    expect(onBall(((await pickAt(WIDE / 2 + 25, HIGH / 2 + 10)) as Picked).point)).toBeGreaterThan(0.99);
    await run(`shown.dispose(); globalThis.shown = undefined; await new Promise((done) => setTimeout(done, 200))`);
    expect(await page.locator('#host > *').count()).toBe(0);
    // closing is no trouble to speak of
    expect(await run('return heard.troubles')).toEqual([]);
  });

  it('without WebGL says what to do, and its lists still work', async () => {
    const blind = await desk.open(
      WIDE,
      HIGH,
      `HTMLCanvasElement.prototype.getContext = function (kind) { return null; };`,
    );
    await blind.evaluate(`open().setMesh('form', ball(10, [95, 75, 120]));
      shown.setMarks([{ id: 'a', kind: 'landmark', label: 'nose', point: [95, 0, 0] }]); shown.view('left'); shown.frame();`);
    expect(await blind.getByRole('alert').textContent()).toContain('WebGL');
    expect(await blind.getByRole('button', { name: 'nose, landmark' }).count()).toBe(1);
    await blind.close();
    desk.complaints.splice(
      0,
      desk.complaints.length,
      ...desk.complaints.filter((text) => !/WebGL context/i.test(text)),
    );
  });

  it('made no page complain on the way', () => {
    expect(desk.complaints).toEqual([]);
  });
});
