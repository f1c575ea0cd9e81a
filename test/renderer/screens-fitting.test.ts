/** The screens of parts, fittings and makings in every state they can be in, by keys and by the rules of access. */
import { afterAll, expect, test } from 'vitest';
import { fittingDraftSchema } from '../../shared-types/calls/fittings.ts';
import type { Fitting, Making } from '../../shared-types/records/making.ts';
import type { Part } from '../../shared-types/records/project.ts';
import { fakeProgram, idOf, noRecord, type FakeProgram } from './support/fake-program.ts';
import { closeBrowser, openScreens } from './support/open-screens.ts';
import { complaintsInBothLights } from '../support/access.ts';

const DAY = '2026-11-20T10:00:00.000Z';
const PART = idOf(700);
const FITTING = idOf(710);
const MAKING = idOf(720);
const SHELL = idOf(730);
const PROJECT = idOf(500);

afterAll(closeBrowser);

type Page = Awaited<ReturnType<typeof openScreens>>['page'];

const part: Part = {
  id: PART,
  name: 'Helmet of the night watch with a crest and a name that is far too long for its ticket (invented)',
  fileName: 'helmet.stl',
  originalSha256: 'c'.repeat(64),
  createdAt: DAY,
};
const fitting: Fitting = {
  id: FITTING,
  formId: idOf(300),
  partId: PART,
  name: 'Helmet on the captain',
  draft: {},
  createdAt: DAY,
};
const making: Making = {
  id: MAKING,
  kind: 'gauge',
  name: 'Gauge bands: The captain',
  formRevisionId: idOf(9002),
  parameters: {},
  figures: {},
  programVersion: '0.1.0',
  createdAt: DAY,
};

/** A part made hollow, which has got another size since. */
const hollow: Making = {
  ...making,
  id: SHELL,
  kind: 'shell',
  name: 'A hollow shell: Helmet of the night watch',
  formRevisionId: undefined,
  partId: PART,
  parameters: { wallMm: 3 },
  figures: {
    faces: 50_000,
    vertices: 25_000,
    wallMinMm: 2.93,
    wallMinAt: [0, 70, 20],
    wallMaxMm: 8.4,
    wallMaxAt: [90, 0, 20],
    wallMeanMm: 3.02,
    wallSamples: 120_000,
    maxAbsErrorMm: 0.09,
    meanAbsErrorMm: 0.01,
    p99AbsErrorMm: 0.04,
    samples: 90_000,
    missingMaxMm: 0.1,
    missingSamples: 50_000,
    missingAt: null,
    missingGapMm: null,
    watertight: true,
    selfIntersections: 0,
    volumeMm3: 4e5,
    hollowMm3: 3e6,
    areaMm2: 3e5,
    hollows: 2,
    filled: 1,
    filledMm3: 900,
    openings: [
      {
        kind: 'curve',
        rimLengthMm: 400,
        leastWidthMm: 110,
        mostWidthMm: 140,
        areaMm2: 12_000,
        rimAreaMm2: 1200,
        rimMm: 3,
        offLineMm: 0.02,
      },
    ],
  },
};

/** A part of known size, a fitting that was never tried, and a making whose files are papers only. */
function program(): FakeProgram {
  const made = fakeProgram();
  const { id, name, fileName, createdAt } = part;
  const mesh = () => {
    const { positions, triangles, toFile } = (made.answers['form.mesh'] as () => any)();
    return { positions, triangles, toFile };
  };
  made.answer({
    'part.list': () => ({ parts: [{ id, name, fileName, createdAt, projectId: PROJECT, ready: false, fittings: 1 }] }),
    'part.show': () => ({ part: { ...part, madeSha256: 'd'.repeat(64) }, fittings: [fitting] }),
    'part.mesh': mesh,
    'fitting.list': () => ({ fittings: [shown()] }),
    'fitting.show': shown,
    'company.show': () => ({
      forms: [
        { id: idOf(300), name: 'Head', wearerName: 'The captain', revisionId: idOf(9002) },
        { id: idOf(301), name: 'Head', wearerName: 'The understudy', revisionId: idOf(9003) },
        { id: idOf(302), name: 'Head', wearerName: 'Old Hobb', revisionId: idOf(9004) },
      ],
      parts: [
        { id: PART, name },
        { id: idOf(701), name: 'Visor' },
      ],
      cells: [
        cell(PART, 300, { leastEaseMm: 9.1, goesOn: true, scale: 1 }),
        cell(PART, 301, { leastEaseMm: 7.2, goesOn: true, scale: 1 }),
        cell(PART, 302, { leastEaseMm: -3.5, goesOn: false, scale: 1.083 }),
        cell(idOf(701), 300, { leastEaseMm: 1, goesOn: false }),
        cell(idOf(701), 301, { sentence: 'The part has no face near the body.' }),
        { partId: idOf(701), formId: idOf(302) },
      ],
    }),
    'making.mesh': () => {
      const { positions, triangles } = mesh();
      return { positions, triangles };
    },
    'making.show': ({ id: asked }: { id: string }) => ({
      making: asked === SHELL ? hollow : making,
      ...(asked === SHELL ? { outdated: 'part' } : {}),
      files:
        asked === SHELL
          ? [{ id: idOf(731), makingId: SHELL, name: 'shell.stl', byteCount: 9000, sha256: 'f'.repeat(64) }]
          : [{ id: idOf(721), makingId: MAKING, name: 'bands.pdf', byteCount: 9000, sha256: 'e'.repeat(64) }],
    }),
  });
  return made;
}

const cell = (partId: string, form: number, found: object) => ({
  partId,
  formId: idOf(form),
  trialId: idOf(800 + form),
  ...found,
});

function shown() {
  return {
    fitting,
    draft: fittingDraftSchema.parse(fitting.draft),
    formName: 'Head',
    wearerName: 'The captain',
    wearerId: idOf(1),
    revisionId: idOf(9002),
    partName: part.name,
  };
}

const PLACES = {
  project: `#/project/${PROJECT}`,
  part: `#/part/${PART}`,
  fitting: `#/fitting/${FITTING}`,
  company: `#/company/${PROJECT}`,
  making: `#/making/${MAKING}`,
  shell: `#/making/${SHELL}`,
};

async function goTo(page: Page, address: string, place: keyof typeof PLACES): Promise<void> {
  // From elsewhere, so that the page is fetched anew.
  await page.goto('about:blank');
  await page.goto(`${new URL(address).origin}/${PLACES[place]}`);
}

/** What on the page is wider than the room it has. */
const cutOff = (page: Page) => page.evaluate<number>('document.documentElement.scrollWidth - innerWidth');

const STOPS: readonly { name: string; place: keyof typeof PLACES; go: (page: Page) => Promise<unknown> }[] = [
  { name: 'project', place: 'project', go: (page) => page.getByText('Size not known').waitFor() },
  {
    name: 'a foam',
    place: 'project',
    go: async (page) => {
      await page.getByRole('button', { name: 'Add a foam…' }).click();
      const dialog = page.getByRole('dialog', { name: 'A foam in stock' });
      await dialog.getByLabel('Gives under wear, %').fill('120');
      await dialog.getByText('Write a share from 0 to 95.').waitFor();
    },
  },
  {
    name: 'part',
    place: 'part',
    go: async (page) => {
      await page.getByRole('button', { name: 'Try it on…' }).click();
      await page.getByRole('dialog').getByText('The understudy').waitFor();
    },
  },
  {
    name: 'a solid made hollow',
    place: 'part',
    go: async (page) => {
      await page.getByRole('button', { name: 'Make something from it…' }).click();
      const dialog = page.getByRole('dialog');
      await dialog.getByRole('radio', { name: 'A hollow shell' }).check({ force: true });
      await dialog.getByText('The hollow is shut').waitFor();
      await dialog.getByRole('button', { name: 'Level' }).click();
      await dialog.getByText('It opens nothing where it lies').waitFor();
      await dialog.getByRole('button', { name: 'Draw a line' }).click();
      await dialog.getByRole('button', { name: 'Add a place by numbers' }).click();
      await dialog.getByLabel('Forward', { exact: true }).waitFor();
    },
  },
  {
    name: 'a shell',
    place: 'shell',
    go: async (page) => {
      await page.getByText('2.93 mm', { exact: true }).waitFor();
      await page.getByText('Outdated: the part it was made from').waitFor();
      await page.getByRole('button', { name: 'Section', exact: true }).click();
      await page.getByText('the part’s own zero').waitFor();
    },
  },
  { name: 'fitting', place: 'fitting', go: (page) => page.getByText('Not tried on yet.').waitFor() },
  ...(['Pads of foam', 'Pieces to print', 'Gauge bands'] as const).map((kind) => ({
    name: kind,
    place: 'fitting' as const,
    go: async (page: Page) => {
      await page.getByRole('button', { name: 'Make something from it…' }).click();
      const dialog = page.getByRole('dialog');
      await dialog.getByRole('radio', { name: kind }).check({ force: true });
      if (kind === 'Pads of foam') {
        await dialog.getByRole('button', { name: 'Draw a pad' }).click();
        await dialog.getByRole('button', { name: 'Add a place by numbers' }).click();
        await dialog.getByLabel('Forward', { exact: true }).waitFor();
      } else if (kind === 'Pieces to print') {
        await dialog.getByText('1 of 1 pieces does not fit the bed.').waitFor();
        await dialog.getByRole('button', { name: 'Left from right' }).click();
        await dialog.getByLabel('Left at').waitFor();
      }
    },
  })),
  {
    name: 'a patch that counts',
    place: 'fitting',
    go: async (page) => {
      await page.getByRole('button', { name: 'Count only this patch' }).click();
      await page.getByLabel('Width of the brush on the part').waitFor();
    },
  },
  { name: 'company', place: 'company', go: (page) => page.getByText('at 108.3 % it would').waitFor() },
  { name: 'making', place: 'making', go: (page) => page.getByText('Nothing to look at').waitFor() },
];

test('every one by the rules of access in both lights, and nothing cut off', async () => {
  const open = await openScreens(program());
  for (const { name, place, go } of STOPS) {
    await goTo(open.page, open.address, place);
    await go(open.page);
    // What is still being laid out is judged once it stands.
    await open.page.waitForTimeout(400);
    expect(await complaintsInBothLights(open.page), name).toEqual([]);
    expect(await cutOff(open.page), name).toBeLessThanOrEqual(0);
  }
  expect(open.complaints).toEqual([]);
  await open.close();
});

test('every button, field and link is reached by the Tab key, and dialogs close on Esc with the focus given back', async () => {
  const open = await openScreens(program(), {});
  const { page } = open;
  for (const place of ['project', 'part', 'fitting', 'company', 'making', 'shell'] as const) {
    await goTo(page, open.address, place);
    await page.locator('.ticket-card').first().waitFor();
    await page.waitForTimeout(400);
    // One of a group of choices is a stop; the arrow keys lead to the others. Pictures repeat the link beside them.
    const left = await page.evaluate<string[]>(`[...document.querySelectorAll(
        'main a[href], main button:not(:disabled), main input:not([type=radio]), main select')]
      .filter((one) => one.offsetParent !== null && one.tabIndex < 0 && one.dataset.purpose === undefined && one.closest('[aria-hidden=true]') === null)
      .map((one) => one.outerHTML.slice(0, 90))`);
    expect(left, place).toEqual([]);
  }
  for (const [place, button] of [
    ['project', 'Add a foam…'],
    ['part', 'Try it on…'],
    ['fitting', 'Make something from it…'],
  ] as const) {
    await goTo(page, open.address, place);
    const opener = page.getByRole('button', { name: button });
    await opener.focus();
    await page.keyboard.press('Enter');
    await page.getByRole('dialog').waitFor();
    await page.keyboard.press('Escape');
    await page.getByRole('dialog').waitFor({ state: 'detached' });
    await expect
      .poll(() => page.evaluate<string>('document.activeElement?.textContent'), { message: place })
      .toBe(button);
  }
  expect(open.complaints).toEqual([]);
  await open.close();
});

test('what is not there, or not yet, is said in a sentence', async () => {
  const made = program();
  const open = await openScreens(made, {});
  const { page } = open;
  made.answer({
    'part.list': () => ({ parts: [] }),
    'fitting.list': () => ({ fittings: [] }),
    'stock.list': () => ({ stock: [] }),
    'company.show': () => ({ forms: [], parts: [], cells: [] }),
  });
  await goTo(page, open.address, 'project');
  await page.getByText('None yet. A helmet, a visor, a breastplate').waitFor();
  await page.getByText('None yet; a fitting begins on a part.').waitFor();
  await page.getByText('None written down yet.').waitFor();
  await goTo(page, open.address, 'company');
  await page.getByText('The table needs a form and a part in this project.').waitFor();
  await goTo(page, open.address, 'fitting');
  await page.getByRole('button', { name: 'Make something from it…' }).click();
  await page.getByText('Try the part on first').waitFor();
  await page.getByText('There is no foam in the stock yet').waitFor();
  expect(await page.getByRole('button', { name: 'Make it' }).isDisabled()).toBe(true);

  made.answer({
    'part.show': () => noRecord(),
    'fitting.show': () => noRecord(),
    'company.show': () => noRecord(),
    'making.show': () => noRecord(),
    'part.list': () => noRecord(),
  });
  for (const place of ['project', 'part', 'fitting', 'company', 'making'] as const) {
    await goTo(page, open.address, place);
    await page.getByRole('button', { name: /again/i }).first().waitFor();
  }
  await open.close();
});

test('whoever steps in must wear all that the other wears; one who wears nothing is told of', async () => {
  const open = await openScreens(program(), { hash: PLACES.company });
  const { page } = open;
  const wearers = () => page.locator('tbody th').allTextContents();
  await page.getByLabel('Who can step in for').selectOption({ label: 'The captain' });
  expect(await wearers()).toEqual(['The captain', 'The understudy']);
  await page.getByLabel('Who can step in for').selectOption({ label: 'Old Hobb' });
  await page.getByText('nothing here goes on the one to be replaced').waitFor();
  expect(await wearers()).toHaveLength(3);
  await page.getByLabel('Only who can wear something').check();
  expect(await wearers()).toEqual(['The captain', 'The understudy']);
  expect(open.complaints).toEqual([]);
  await open.close();
});
