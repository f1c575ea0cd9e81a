/** A wearer's sheet and their forms in a real browser, with an invented program behind. */
import { readFile } from 'node:fs/promises';
import { afterAll, afterEach, expect, test } from 'vitest';
import type { CallResult } from '../../shared-types/contract.ts';
import { fault } from '../../shared-types/faults/index.ts';
import { failed } from '../../shared-types/outcome.ts';
import { fakeProgram, idOf, type FakeProgram } from './support/fake-program.ts';
import { closeBrowser, openScreens, type OpenScreens } from './support/open-screens.ts';

let open: OpenScreens | undefined;
const show = async (program: FakeProgram, hash: string) => {
  open = await openScreens(program, { hash });
  return open.page;
};
afterEach(async () => {
  await open?.close();
  open = undefined;
});
afterAll(closeBrowser);

/** A busy machine draws late. */
const SOON = { timeout: 15_000 };
const WEARER = `#/wearer/${idOf(1)}`;
const FORM = `#/form/${idOf(9002)}`;
const inputs = (program: FakeProgram, name: string): any[] =>
  program.calls.filter((call) => call.name === name).map(({ input }) => input);

test('readings are written as they are said, in inches or as a sum, by keyboard alone', async () => {
  const program = fakeProgram();
  const page = await show(program, WEARER);
  await page.getByLabel('Taken by').fill('Invented helper');
  const field = page.getByLabel('A reading of bizygomatic breadth');
  await field.fill('5 3/8"');
  await page.getByText('= 136.5 mm').waitFor();
  await field.press('Enter');
  await expect.poll(() => inputs(program, 'reading.add').length).toBe(1);
  // 5.375 in of 25.4 mm.
  expect(inputs(program, 'reading.add')[0].valueMm).toBeCloseTo(136.525, 9);
  expect(inputs(program, 'reading.add')[0]).toMatchObject({
    wearerId: idOf(1),
    name: 'bizygomatic breadth',
    kind: 'span',
    takenBy: 'Invented helper',
    instrument: 'spreading calliper',
  });
  // Written down, the field is empty again and still has the focus, for the next reading.
  await expect.poll(() => field.inputValue()).toBe('');
  await page.keyboard.type('130+6,4');
  await page.keyboard.press('Enter');
  await expect.poll(() => inputs(program, 'reading.add').length).toBe(2);
  expect(inputs(program, 'reading.add')[1].valueMm).toBeCloseTo(136.4, 9);
  expect(open?.complaints).toEqual([]);
});

test('how sure readings are is shown where one is written, and set for the library', async () => {
  const program = fakeProgram();
  const page = await show(program, WEARER);
  await page.getByRole('radio', { name: /^Leg and foot,/ }).check();
  // The stand-in library says 6 mm of tapes round a limb; the program's own is 4.
  await page.getByRole('button', { name: 'to ± 6.0 mm, or say otherwise… (calf circumference, right)' }).waitFor();
  await page.getByRole('button', { name: 'How sure…' }).click();
  const dialog = page.getByRole('dialog', { name: 'How sure readings are' });
  await dialog.getByText('The program’s own: 4.0 mm.').waitFor();
  const field = dialog.getByLabel('Head, straight, by calliper');
  await field.fill('200');
  expect(await dialog.getByRole('button', { name: 'Set it so' }).isDisabled()).toBe(true);
  await field.fill('2.5');
  await field.press('Enter');
  await dialog.waitFor({ state: 'detached' });
  expect(inputs(program, 'usual.set')).toEqual([{ usual: { headSpan: 2.5 } }]);
  await page.getByRole('button', { name: 'How sure…' }).click();
  await dialog.getByRole('button', { name: 'All as the program has them' }).click();
  await dialog.waitFor({ state: 'detached' });
  expect(inputs(program, 'usual.reset')).toHaveLength(1);
  expect(open?.complaints).toEqual([]);
});

test('what cannot be read is said, an unheard-of length is doubted, neither is written by mistake', async () => {
  const program = fakeProgram();
  const page = await show(program, WEARER);
  const field = page.getByLabel('A reading of head length');
  await field.fill('18 cubits');
  await field.press('Enter');
  await page.getByText('“cubits” is not a unit known here').waitFor();
  await field.fill('94.6');
  await page.getByText('nobody’s lay outside 168 mm to 225 mm').waitFor();
  await field.fill('');
  await field.press('Enter');
  expect(inputs(program, 'reading.add')).toEqual([]);
});

test('a reading is corrected, withdrawn, and that taken back', async () => {
  const program = fakeProgram();
  const page = await show(program, WEARER);
  await page.getByText('The 2 readings').click();
  await page.getByRole('button', { name: 'Correct…' }).first().click();
  const dialog = page.getByRole('dialog', { name: 'Correct a reading of head length' });
  await dialog.getByLabel('Reading', { exact: true }).fill('195.1');
  await dialog.getByLabel('Reading', { exact: true }).press('Enter');
  await dialog.waitFor({ state: 'detached' });
  expect(inputs(program, 'reading.add')[0]).toMatchObject({ valueMm: 195.1, replacesId: idOf(7001) });
  await page.getByRole('button', { name: 'Withdraw' }).nth(1).click();
  await page.getByRole('region', { name: 'Notes' }).getByRole('button', { name: 'Undo' }).click();
  await expect.poll(() => inputs(program, 'history.undo').length).toBe(1);
  expect(inputs(program, 'reading.withdraw')).toEqual([{ wearerId: idOf(1), id: idOf(7002) }]);
});

test('a limb is measured side by side with the other, and a reading can have an uncertainty of its own', async () => {
  const program = fakeProgram();
  const page = await show(program, WEARER);
  await page.getByText('Hat 57 cm, US 7 1/4, UK 7 1/8, about M').waitFor();
  await page.getByText('technical error of measurement, from 2 readings of 1 length').waitFor();
  await page.getByRole('radio', { name: 'Hand and forearm, 0 lengths taken of 20' }).check();
  await page.getByRole('radio', { name: 'Left' }).check();
  await page.getByLabel('A reading of wrist circumference, left').fill('172');
  await page.getByRole('button', { name: 'Write down wrist circumference, left' }).click();
  await page.getByRole('button', { name: 'say otherwise… (hand breadth, left)' }).click();
  const dialog = page.getByRole('dialog', { name: 'A reading of hand breadth, left' });
  await dialog.getByText('Left empty, 1.5 mm').waitFor();
  await dialog.getByLabel('Reading', { exact: true }).fill('86.5');
  await dialog.getByLabel('How sure').fill('0.4');
  await dialog.getByRole('button', { name: 'Write it down' }).click();
  await dialog.waitFor({ state: 'detached' });
  // Left empty, the reading states none: what it is worth stays for the library to say.
  expect(inputs(program, 'reading.add')[0].uncertaintyMm).toBeUndefined();
  expect(inputs(program, 'reading.add')).toMatchObject([
    { kind: 'girth', name: 'wrist circumference, left', valueMm: 172, instrument: 'tape' },
    { kind: 'span', name: 'hand breadth, left', valueMm: 86.5, uncertaintyMm: 0.4, instrument: 'sliding calliper' },
  ]);
});

test('readings go out as a table and come in as one', async () => {
  const program = fakeProgram();
  const page = await show(program, WEARER);
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save as a table' }).click(),
  ]);
  expect(download.suggestedFilename()).toBe('The captain readings.csv');
  expect(await readFile((await download.path()) ?? '', 'utf8')).toContain('head length,194.6');
  await page
    .getByLabel('Table of readings')
    .setInputFiles({ name: 'r.csv', mimeType: 'text/csv', buffer: Buffer.from('kind,name,valueMm\n') });
  await page.getByText('3 readings written on the sheet. Already on the sheet: 1.').waitFor();
});

test('a wearer is forgotten only after the plan was shown and their name written', async () => {
  const program = fakeProgram();
  const page = await show(program, WEARER);
  await page.getByRole('button', { name: 'Forget them…' }).click();
  const dialog = page.getByRole('dialog', { name: 'Forget The captain?' });
  await dialog.getByText('5 readings').waitFor();
  await dialog.getByText('library-2026-11-19.copy').waitFor();
  const name = dialog.getByLabel('Write their name');
  await name.fill('the captain');
  await name.press('Enter');
  expect(inputs(program, 'wearer.forget')).toEqual([]);
  await name.fill('The captain');
  await dialog.getByRole('button', { name: 'Forget for good' }).click();
  await page.getByRole('heading', { name: 'The shelf' }).waitFor();
  expect(inputs(program, 'wearer.forget')).toEqual([{ id: idOf(1) }]);
});

test('Esc closes a dialog and the focus is back where it was', async () => {
  const page = await show(fakeProgram(), WEARER);
  const button = page.getByRole('button', { name: 'Change name or note' });
  await button.focus();
  await page.keyboard.press('Enter');
  await page.getByRole('dialog', { name: 'Name and note' }).waitFor();
  await page.keyboard.press('Escape');
  await page.getByRole('dialog').waitFor({ state: 'detached' });
  expect(await page.evaluate('document.activeElement.textContent')).toBe('Change name or note');
});

test('a wearer who is not there is said so', async () => {
  const program = fakeProgram();
  program.answer({ 'wearer.show': () => failed(fault('store.no-record', { kind: 'wearer', id: idOf(1) })) });
  const page = await show(program, WEARER);
  await page.getByRole('heading', { name: 'That did not work' }).waitFor();
});

test('a form shows its evidence, its checks and its map, and goes out as a file', async () => {
  const program = fakeProgram();
  const page = await show(program, FORM);
  await page.getByText('3 holes filled, the largest 214 mm round').waitFor();
  await page.getByText('The reading of face length does not belong to the others.').waitFor();
  expect(await page.getByRole('row', { name: /head circumference/ }).innerText()).toContain('does not agree');
  await page.getByRole('button', { name: 'Distance from the scan' }).click();
  await page.getByText('0.19 mm on average, 0.30 mm at most').waitFor();
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: 'Save the file' }).click(),
  ]);
  expect(download.suggestedFilename()).toBe('The captain, head.3mf');
  expect(new Uint8Array(await readFile((await download.path()) ?? ''))).toEqual(new Uint8Array([1, 2, 3]));
});

test('a form is used in a project, from the project', async () => {
  const program = fakeProgram();
  const page = await show(program, `#/project/${idOf(500)}`);
  await page.getByRole('button', { name: 'Use a form here…' }).click();
  const dialog = page.getByRole('dialog', { name: /^Use a form in/ });
  await dialog.getByRole('radio', { name: 'The captain' }).check();
  await dialog.getByText('Every form of theirs is used here already.').waitFor();
  const shown = { ...program.answers['wearer.show']?.({ id: idOf(1) }) } as CallResult<'wearer.show'>;
  const form = { ...shown.forms[0]?.form, id: idOf(333), name: 'Hand' } as CallResult<'form.show'>['form'];
  program.answer({ 'wearer.show': () => ({ ...shown, forms: [{ form, revisions: [] }] }) });
  await dialog.getByRole('radio', { name: 'The understudy' }).check();
  await dialog.getByText('Hand').waitFor();
  await dialog.getByRole('button', { name: 'Use it here' }).click();
  await dialog.waitFor({ state: 'detached' });
  expect(inputs(program, 'project.use')).toEqual([{ projectId: idOf(500), formId: idOf(333) }]);
});

test('a section is moved by keyboard and drawn flat with its sizes', async () => {
  const program = fakeProgram();
  const page = await show(program, FORM);
  await page.getByRole('button', { name: 'Section' }).click();
  const place = page.getByRole('slider', { name: 'Place of the section' });
  await place.waitFor();
  const figures = page.locator('.section-sheet').getByRole('status');
  await expect.poll(() => figures.innerText(), SOON).toMatch(/^Form \d+\.\d mm wide, \d+\.\d mm deep, \d+ mm round/);
  const before = await figures.innerText();
  expect(await place.getAttribute('aria-valuetext')).toBe('60 mm above the notches of the ears');
  await place.focus();
  for (let step = 0; step < 30; step++) await page.keyboard.press('ArrowRight');
  expect(await place.getAttribute('aria-valuetext')).toBe('90 mm above the notches of the ears');
  await expect.poll(() => figures.innerText(), SOON).not.toBe(before);
  await page.getByRole('radio', { name: 'Lengthwise' }).check();
  await expect.poll(() => figures.innerText(), SOON).toMatch(/mm deep, \d+\.\d mm high$/);
  expect(open?.complaints).toEqual([]);
});

test('a liner is asked for with the lengths that were written, opened where its sheet lies', async () => {
  const program = fakeProgram();
  const page = await show(program, FORM);
  await page.getByRole('button', { name: 'Make a liner…' }).click();
  await page.getByRole('heading', { name: 'Make a liner' }).waitFor();
  await page.getByLabel('Foam thickness').fill('1/2 in');
  await page.getByText('= 12.7 mm').waitFor();
  await page.getByLabel('Bridge the hollows').uncheck();
  await page.getByLabel('Give it a wall').check();
  await page.getByLabel('Wall', { exact: true }).fill('300');
  await page.getByText('At most 30 mm.').waitFor();
  await page.getByRole('button', { name: 'Make it' }).click({ force: true });
  expect(inputs(program, 'form.line')).toEqual([]);
  await page.getByLabel('Wall', { exact: true }).fill('2.4');
  await page.getByLabel('Open it').check();
  const below = page.getByLabel('Below the notches of the ears by');
  await below.fill('70+5');
  await below.press('Tab');
  // The sheet in the view, by keyboard: one millimetre along its normal, which points up.
  await page.getByRole('button', { name: /^Shift the trim plane/ }).press('ArrowUp');
  await expect.poll(() => below.inputValue(), SOON).toMatch(/^7[46]$/);
  await page.getByRole('button', { name: 'Make it' }).click();
  await page.getByRole('heading', { name: 'Liners' }).waitFor();
  const [{ revisionId, parameters }] = inputs(program, 'form.line');
  expect(revisionId).toBe(idOf(9002));
  expect(parameters.foamMm).toBeCloseTo(12.7, 9);
  expect(parameters.wallMm).toBe(2.4);
  expect(parameters.bridgeMm).toBeUndefined();
  expect(parameters.opening.plane.slice(3)).toEqual([0, 0, 1]);
  expect(Math.abs(parameters.opening.plane[2] + 75)).toBeCloseTo(1, 6);
});
