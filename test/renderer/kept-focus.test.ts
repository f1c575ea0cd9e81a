/** Whoever works with keys keeps their place where a control takes itself away (WCAG 2.2, 2.4.3: focus order). */
import { afterAll, expect, test } from 'vitest';
import { fakeProgram, idOf } from './support/fake-program.ts';
import { closeBrowser, openScreens } from './support/open-screens.ts';

afterAll(closeBrowser);

test('a zone dropped by key leaves the focus in its part of the desk', async () => {
  const screens = await openScreens(fakeProgram(), { hash: `#/form/${idOf(9002)}` });
  const { page, complaints } = screens;
  await page.getByRole('button', { name: 'Make a liner…' }).click();
  for (const _ of [1, 2]) await page.getByRole('button', { name: 'Paint a zone' }).press('Enter');
  const focused = () =>
    page.evaluate<string>('document.activeElement.labels?.[0]?.textContent ?? document.activeElement.textContent');
  await page.getByRole('button', { name: 'Drop the zone zone 2' }).press('Enter');
  await expect.poll(focused).toBe('Paint on both sides alike');
  await page.getByRole('button', { name: 'Drop the zone zone 1' }).press('Space');
  await expect.poll(focused).toBe('Paint a zone');
  expect(complaints).toEqual([]);
  await screens.close();
});
