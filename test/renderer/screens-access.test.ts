/** Rules of access, by axe-core (its rules for WCAG 2.0 to 2.2 A and AA), on every screen in both lights. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { afterAll, expect, test } from 'vitest';
import type { Foreseen } from '../../shared-types/calls/blocks.ts';
import type { SurveyChoice } from '../../shared-types/survey.ts';
import { foreseen, judgeSheet } from '../../electron/operations/block.ts';
import { fakeProgram, idOf, job } from './support/fake-program.ts';
import { closeBrowser, openScreens } from './support/open-screens.ts';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const TAGS = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

interface Found {
  readonly id: string;
  readonly help: string;
  readonly nodes: readonly { readonly html: string; readonly failureSummary: string }[];
}

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

async function complaintsOn(page: Page): Promise<string[]> {
  await page.evaluate(axe);
  const found = (await page.evaluate(
    `axe.run(document, { runOnly: ${JSON.stringify(TAGS)} }).then((result) => result.violations)`,
  )) as Found[];
  return found.flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.html} ${node.failureSummary}`));
}

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
  const rules = (await complaintsOn(open.page)).map((complaint) => complaint.split(':')[0]);
  expect(rules).toContain('image-alt');
  expect(rules).toContain('color-contrast');
  await open.close();
});

test.each([
  { light: 'paper', dark: false },
  { light: 'slate', dark: true },
])('every screen by the rules, on $light', async ({ dark }) => {
  const program = fakeProgram();
  program.answer({
    'block.foresee': ({ survey }) => foreseenOf(survey),
    'job.list': () => ({ jobs: [job(1), job(2, { state: 'failed', sentence: 'The zip holds no mesh.' })] }),
  });
  const open = await openScreens(program, { dark });
  for (const { name, hash, go } of STOPS) {
    await open.page.goto(`${new URL(open.address).origin}/${hash}`);
    await open.page.reload();
    await go(open.page);
    expect(await complaintsOn(open.page), name).toEqual([]);
  }
  expect(open.complaints).toEqual([]);
  await open.close();
});
