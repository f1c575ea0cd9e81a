/** The shelf and what stands around it, in a real browser over the real transport, with an invented program behind. */
import type { WebSocketRoute } from 'playwright-core';
import { afterAll, afterEach, expect, test } from 'vitest';
import { fault } from '../../shared-types/faults/index.ts';
import { failed } from '../../shared-types/outcome.ts';
import { fakeProgram, idOf, job, wearerCard, type FakeProgram } from './support/fake-program.ts';
import { closeBrowser, openScreens, type OpenScreens } from './support/open-screens.ts';

let open: OpenScreens | undefined;
const show = async (program: FakeProgram, options: Parameters<typeof openScreens>[1] = {}) => {
  open = await openScreens(program, options);
  return open.page;
};
afterEach(async () => {
  await open?.close();
  open = undefined;
});
afterAll(closeBrowser);

/** Runs in the page, whose types are not those of the tests. */
const DROP = `
  const data = new DataTransfer();
  data.items.add(new File(['solid head'], 'new head.stl'));
  for (const name of ['dragover', 'drop'])
    window.dispatchEvent(new DragEvent(name, { dataTransfer: data, bubbles: true, cancelable: true }));
`;

test('wearers stand on the shelf with their pictures and sizes, and are found by name', async () => {
  const page = await show(fakeProgram());
  await page.getByRole('heading', { name: 'The captain' }).waitFor();
  expect(await page.locator('.stand').count()).toBe(9);
  await page.locator('.stand img').first().waitFor();
  expect(await page.locator('.stand').first().innerText()).toContain('574 mm');
  await page.getByRole('searchbox', { name: 'Find a wearer or project' }).fill('tinder');
  await page.getByText('1 wearer of 9').waitFor();
  expect(await page.locator('.stand').count()).toBe(1);
  await page.getByRole('searchbox').fill('zzz');
  await page.getByRole('heading', { name: 'Nobody of that name' }).waitFor();
  await page.getByRole('button', { name: 'Show everybody' }).click();
  await page.getByRole('link', { name: 'The understudy' }).click();
  await page.waitForURL(`**/#/wearer/${idOf(2)}`);
  expect(open?.complaints).toEqual([]);
});

test('an empty library offers three ways to begin; the invented production shows how far it is and can be stopped', async () => {
  const program = fakeProgram();
  program.answer({ 'shelf.show': () => ({ wearers: [], projects: [] }) });
  const page = await show(program);
  await page.getByRole('button', { name: 'Make the invented production' }).click();
  program.emit('jobs', { jobs: [job(1, { kind: 'demo', title: 'Inventing', fraction: 0.3 })] });
  const tape = page.getByRole('main').getByRole('progressbar', { name: 'Inventing' });
  await tape.waitFor();
  expect(await tape.getAttribute('aria-valuenow')).toBe('30');
  await page.getByRole('button', { name: 'Stop: Inventing' }).click();
  await expect.poll(() => program.calls.some((call) => call.name === 'job.stop')).toBe(true);
  program.emit('jobs', { jobs: [job(1, { kind: 'demo', title: 'Inventing', state: 'done', fraction: 1 })] });
  await page.getByText('Done: Inventing.').waitFor();
});

test('a scan dropped anywhere is kept under a new wearer with their consent, and its ticket opens', async () => {
  const program = fakeProgram();
  const page = await show(program);
  await page.getByRole('heading', { name: 'The shelf' }).waitFor();
  await page.evaluate(DROP);
  const dialog = page.getByRole('dialog', { name: 'Whose scan is it?' });
  await dialog.getByText('new head.stl').waitFor();
  await dialog.getByLabel('Name', { exact: true }).fill('the captain ');
  await dialog.getByText('Somebody of that name is on the shelf already.').waitFor();
  await dialog.getByLabel('Name', { exact: true }).fill('Nell Invented');
  await dialog.getByLabel('They agreed').check();
  await dialog.getByLabel('To what').fill('One helmet.');
  await dialog.getByRole('button', { name: 'Keep the scan' }).click();
  await page.waitForURL(`**/#/ticket/${idOf(200)}`);
  const added = program.calls.find((call) => call.name === 'wearer.add')?.input;
  expect(added).toMatchObject({ name: 'Nell Invented', consentNote: 'One helmet.' });
  expect(added.consentDate).toMatch(/^\d{4}-\d\d-\d\d$/);
  const kept = program.calls.find((call) => call.name === 'scan.keep')?.input;
  expect(kept).toEqual({ upload: 'upload-1', fileName: 'new head.stl', wearerId: idOf(1), region: 'head' });
});

test('a scan the program was opened with asks whose it is', async () => {
  const program = fakeProgram();
  const page = await show(program);
  await page.getByRole('heading', { name: 'The captain' }).waitFor();
  program.emit('opened', { upload: 'upload-7', fileName: 'opened.zip', byteCount: 12_000_000 });
  const dialog = page.getByRole('dialog', { name: 'Whose scan is it?' });
  await dialog.getByText('12.0 MB').waitFor();
  await dialog.getByRole('radio', { name: 'Somebody on the shelf' }).check();
  await dialog.getByText('The understudy').click();
  await dialog.getByLabel('This is a scan of').selectOption('Leg and foot, left');
  await dialog.getByRole('button', { name: 'Keep the scan' }).click();
  await page.waitForURL(`**/#/ticket/${idOf(200)}`);
  const kept = program.calls.find((call) => call.name === 'scan.keep')?.input;
  expect(kept).toEqual({
    upload: 'upload-7',
    fileName: 'opened.zip',
    wearerId: idOf(2),
    region: 'leg',
    side: 'left',
  });
});

test('undo by key and by hand, redo, and neither while writing', async () => {
  const program = fakeProgram();
  const page = await show(program);
  await page.getByRole('button', { name: 'Undo: Reading of head length' }).waitFor();
  const search = page.getByRole('searchbox');
  await search.fill('x');
  await search.press('Control+z');
  await search.blur();
  // In quick succession: the second waits for the first.
  await page.keyboard.press('Control+z');
  await page.keyboard.press('Control+Shift+z');
  await page.getByText('Taken back: Reading of head length').waitFor();
  await page.getByText('Done again: Reading of head length').waitFor();
  expect(program.calls.filter((call) => call.name === 'history.undo')).toHaveLength(1);
});

test('a fault is said in its one sentence and can be tried again', async () => {
  const program = fakeProgram();
  const good = program.answers['shelf.show'];
  program.answer({ 'shelf.show': () => failed(fault('job.out-of-memory', {})) });
  const page = await show(program);
  await page.getByRole('alert').getByText('The work needs more memory than there is').waitFor();
  if (good !== undefined) program.answer({ 'shelf.show': good });
  await page.getByRole('button', { name: 'Try again' }).click();
  await page.getByRole('heading', { name: 'The captain' }).waitFor();
});

test('a screen that breaks says so, loses nothing and lets one go on', async () => {
  const program = fakeProgram();
  // As no program of ours would answer: past the contract.
  program.answer({ 'wearer.show': () => ({ ok: true, value: {}, warnings: [] }) as never });
  const page = await show(program, { hash: `#/wearer/${idOf(1)}` });
  await page.getByRole('alert').getByText('That is a mistake in the program, not yours.').waitFor();
  await page.getByRole('button', { name: 'Go to the shelf' }).click();
  await page.getByRole('heading', { name: 'The captain' }).waitFor();
});

test('a locked library asks for its passphrase and says when it is wrong', async () => {
  const program = fakeProgram();
  let locked = true;
  program.answer({
    'app.about': () => ({ version: '0.1.0', libraryPath: '/x', locked, empty: false }),
    'library.unlock': ({ passphrase }) => {
      if (passphrase !== 'right') return failed(fault('job.usage', { reason: 'That is not the passphrase.' }));
      locked = false;
      return {};
    },
    'history.show': () => (locked ? {} : { undo: 'a reading' }),
  });
  const page = await show(program);
  await page.getByLabel('Passphrase').fill('wrong');
  await page.keyboard.press('Enter');
  await page.getByText('That is not the passphrase.').waitFor();
  await page.getByLabel('Passphrase').fill('right');
  await page.getByRole('button', { name: 'Open the library' }).click();
  await page.getByRole('heading', { name: 'The captain' }).waitFor();
  await page.getByRole('button', { name: 'Undo: a reading' }).waitFor();
});

test('a lost connection is said, what is shown stays, and all is up to date when it is back', async () => {
  const program = fakeProgram();
  const sockets: WebSocketRoute[] = [];
  let isDown = false;
  const page = await show(program, {
    before: (opened) =>
      opened.routeWebSocket(/\/socket$/, (socket) => {
        if (isDown) return void socket.close();
        sockets.push(socket);
        socket.connectToServer();
      }),
  });
  await page.getByRole('heading', { name: 'The captain' }).waitFor();
  isDown = true;
  await sockets[0]?.close();
  await page.getByRole('alert').getByText('The connection to the program is lost').waitFor();
  await page.getByRole('heading', { name: 'The captain' }).waitFor();
  // Meanwhile another page renamed somebody.
  program.answer({ 'shelf.show': () => ({ wearers: [wearerCard(1, 'The admiral')], projects: [] }) });
  isDown = false;
  await page.getByRole('heading', { name: 'The admiral' }).waitFor();
  expect(await page.getByText('The connection to the program is lost').count()).toBe(0);
});

test('light and dark follow the computer, can be chosen, and are remembered over a reload', async () => {
  const page = await show(fakeProgram(), { dark: true });
  await page.getByRole('heading', { name: 'The shelf' }).waitFor();
  const ground = (): Promise<string> => page.evaluate('getComputedStyle(document.body).backgroundColor');
  const dark = await ground();
  await page.getByRole('button', { name: 'View' }).click();
  await page.getByRole('radio', { name: 'Paper' }).check();
  const light = await ground();
  expect(light).not.toBe(dark);
  await page.reload();
  await page.getByRole('heading', { name: 'The shelf' }).waitFor();
  expect(await ground()).toBe(light);
});
