/** Papers asked for on the screens of a wearer and of a form, and handed out as files. */
import { readFileSync } from 'node:fs';
import { afterAll, expect, test } from 'vitest';
import type { Call } from '../../electron/services/conversation.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { failed } from '../../shared-types/outcome.ts';
import { fakeProgram, idOf } from './support/fake-program.ts';
import { closeBrowser, openScreens } from './support/open-screens.ts';

afterAll(closeBrowser);

test('a measurement sheet of the region and paper chosen goes out; the paper is remembered on the form’s screen', async () => {
  const program = fakeProgram();
  const bytes = new TextEncoder().encode('%PDF-invented');
  program.answer({ 'paper.measures': () => ({ fileName: 'measurements torso.pdf', bytes }) });
  const open = await openScreens(program, { hash: `#/wearer/${idOf(1)}` });
  const { page } = open;
  const card = page.locator('section', { has: page.getByRole('heading', { name: 'On paper' }) });
  await card.getByLabel('Measurement sheet of').selectOption('The whole body');
  await card.getByLabel('Paper').selectOption('on Letter');
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    card.getByRole('button', { name: 'Measurement sheet' }).click(),
  ]);
  expect(download.suggestedFilename()).toBe('measurements torso.pdf');
  expect(readFileSync(await download.path(), 'utf8')).toBe('%PDF-invented');
  expect(program.calls.filter(({ name }) => name === 'paper.measures').map(({ input }) => input)).toEqual([
    { wearerId: idOf(1), regions: ['head', 'arm', 'torso', 'leg'], paper: 'letter' },
  ]);

  await page.goto(`${open.address}#/form/${idOf(9002)}`);
  const other = page.locator('section', { has: page.getByRole('heading', { name: 'On paper' }) });
  expect(await other.getByLabel('Paper').inputValue()).toBe('letter');
  await Promise.all([page.waitForEvent('download'), other.getByRole('button', { name: 'Fitting sheet' }).click()]);
  expect(program.calls.at(-1)).toMatchObject({
    name: 'paper.fitting',
    input: { revisionId: idOf(9002), paper: 'letter' },
  });
  expect(open.complaints).toEqual([]);
  await open.close();
});

test('a paper that cannot be made says why, and the button can be pressed again', async () => {
  const program = fakeProgram();
  program.answer({ 'paper.capture': () => failed(fault('store.full', { path: 'shelf.wearwright' })) });
  const open = await openScreens(program, { hash: `#/wearer/${idOf(1)}` });
  const button = open.page.getByRole('button', { name: 'Capture card' });
  await button.click();
  await open.page.getByRole('alert').filter({ hasText: 'shelf.wearwright' }).waitFor();
  expect(await button.getAttribute('aria-busy')).toBeNull();
  await open.close();
});

test('a paper that takes long shows how far it is, and can be stopped', async () => {
  const program = fakeProgram();
  const slow: Call = async (name, input, watch) => {
    if (name !== 'paper.fitting') return program.call(name, input, watch);
    watch.progress(0.4, 'pictures');
    await new Promise<void>((settle) => watch.signal.addEventListener('abort', () => settle()));
    return failed(fault('job.cancelled', {}));
  };
  const open = await openScreens({ ...program, call: slow }, { hash: `#/form/${idOf(9002)}` });
  const { page } = open;
  await page.getByRole('button', { name: 'Fitting sheet' }).click();
  const tape = page.getByRole('progressbar', { name: 'Fitting sheet' });
  await tape.waitFor();
  await expect.poll(() => tape.getAttribute('aria-valuenow')).toBe('40');
  await page.getByRole('button', { name: 'Stop: Fitting sheet' }).click();
  await tape.waitFor({ state: 'detached' });
  expect(await page.getByRole('button', { name: 'Fitting sheet' }).getAttribute('aria-busy')).toBeNull();
  expect(open.complaints).toEqual([]);
  await open.close();
});
