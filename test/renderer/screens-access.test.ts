/** Rules of access, by axe-core (its rules for WCAG 2.0 to 2.2 A and AA), on every screen in both lights. */
import { afterAll, expect, test } from 'vitest';
import type { Foreseen } from '../../shared-types/calls/blocks.ts';
import type { SurveyChoice } from '../../shared-types/survey.ts';
import { foreseen, judgeSheet } from '../../electron/operations/block.ts';
import { fakeProgram, idOf, job } from './support/fake-program.ts';
import { closeBrowser, openScreens } from './support/open-screens.ts';
import { complaintsInBothLights } from '../support/access.ts';

afterAll(closeBrowser);

type Page = Awaited<ReturnType<typeof openScreens>>['page'];
type Stop = { readonly name: string; readonly hash: string; readonly go: (page: Page) => Promise<void> };
const heading = (name: string) => (page: Page) => page.getByRole('heading', { name, exact: true }).first().waitFor();

const STOPS: readonly Stop[] = [
  { name: 'shelf', hash: '#/', go: heading('The captain') },
  {
    name: 'jobs',
    hash: '#/',
    go: async (page) => {
      await heading('The captain')(page);
      await page.getByRole('button', { name: /^1 job/ }).click();
    },
  },
  {
    name: 'wearer',
    hash: `#/wearer/${idOf(1)}`,
    go: async (page) => {
      await heading('Measurement sheet')(page);
      await page.getByText('The 2 readings').click();
    },
  },
  {
    name: 'dialog',
    hash: `#/wearer/${idOf(1)}`,
    go: async (page) => {
      await page.getByRole('button', { name: 'Write down another length…' }).click();
      await page.getByRole('dialog').getByLabel('Reading', { exact: true }).fill('18 cubits');
    },
  },
  {
    name: 'a form without a scan',
    hash: `#/wearer/${idOf(1)}`,
    go: async (page) => {
      await page.getByRole('button', { name: 'Make one from the sheet…' }).click();
      const dialog = page.getByRole('dialog', { name: 'A form without a scan' });
      await dialog.getByText('It does not belong with the rest').waitFor();
      await dialog.getByRole('rowheader', { name: 'neck circumference' }).waitFor();
    },
  },
  {
    name: 'form',
    hash: `#/form/${idOf(9002)}`,
    go: async (page) => {
      await heading('How it was made')(page);
      await page.getByRole('button', { name: 'Section' }).click();
      await page.getByRole('button', { name: 'Distance from the scan' }).click();
      await page.getByRole('button', { name: 'Make a liner…' }).click();
      await page.getByLabel('Open it').check();
      await page.locator('.legend-bar').waitFor();
      await page.locator('.section-drawing').waitFor();
    },
  },
  {
    name: 'a form being filled',
    hash: `#/form/${idOf(9002)}`,
    go: async (page) => {
      await heading('What the scan missed')(page);
      await page.getByLabel('Crown').first().check();
      await page.getByRole('button', { name: 'Look at it' }).click();
      await page.getByText('Guessed, not scanned: crown').waitFor();
      await page.getByText('What was filled, against what it replaces').waitFor();
    },
  },
  {
    name: 'a pattern and its seams',
    hash: `#/form/${idOf(9002)}`,
    go: async (page) => {
      await page.getByRole('button', { name: 'Make something from it…' }).click();
      const dialog = page.getByRole('dialog', { name: 'Cut and print' });
      await dialog.getByText('More than the 5 % the sheet gives').waitFor();
      await dialog.getByRole('button', { name: 'Draw a seam' }).click();
      await dialog.getByRole('button', { name: 'Add a place by numbers' }).click();
      await dialog.getByLabel('Up', { exact: true }).waitFor();
    },
  },
  { name: 'liner', hash: `#/liner/${idOf(400)}`, go: heading('Asked for') },
  { name: 'project', hash: `#/project/${idOf(500)}`, go: heading('Liners') },
];

/** A sheet of which one reading does not belong. */
function foreseenOf(survey: SurveyChoice): Foreseen {
  const readings = [
    { name: 'head length', measured: 201 },
    { name: 'head breadth', measured: 155 },
    { name: 'head circumference', measured: 640 },
    { name: 'bizygomatic breadth', measured: 142 },
    { name: 'chest circumference', measured: 990 },
  ];
  const judged = judgeSheet({ readings }, survey, false);
  if (!judged.ok) throw new Error(judged.fault.code);
  const { outliers, orElse, notUsed, next } = judged.value;
  return {
    source: 'survey',
    measures: foreseen(judged.value),
    outliers: [...outliers],
    orElse: [...orElse],
    notUsed: [...notUsed],
    skinSpreadMm: { unread: 5, now: 4 },
    next: [...next],
  };
}

test('the rules can fail: a picture without words and grey on grey are found', async () => {
  const open = await openScreens(fakeProgram(), {});
  await heading('The captain')(open.page);
  await open.page.evaluate(
    `document.querySelector('main').insertAdjacentHTML('beforeend',
      '<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw="><p style="color:#999;background:#aaa">grey</p>')`,
  );
  const rules = (await complaintsInBothLights(open.page)).map((complaint) => complaint.split(': ', 2).join(': '));
  for (const rule of ['light: image-alt', 'light: color-contrast', 'dark: color-contrast']) {
    expect(rules).toContain(rule);
  }
  await open.close();
});

test('every screen by the rules in both lights', async () => {
  const program = fakeProgram();
  program.answer({
    'block.foresee': ({ survey }) => foreseenOf(survey),
    'job.list': () => ({ jobs: [job(1), job(2, { state: 'failed', sentence: 'The zip holds no mesh.' })] }),
  });
  const open = await openScreens(program);
  for (const { name, hash, go } of STOPS) {
    // From elsewhere, so that the page is fetched anew.
    await open.page.goto('about:blank');
    await open.page.goto(`${new URL(open.address).origin}/${hash}`);
    await go(open.page);
    expect(await complaintsInBothLights(open.page), name).toEqual([]);
  }
  expect(open.complaints).toEqual([]);
  await open.close();
});
