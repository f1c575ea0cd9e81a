/** Rules of access on a page in a browser, by axe-core: its rules for WCAG 2.0 to 2.2 A and AA, and common practice. */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { Page } from 'playwright-core';

// Read here and run inside the page: the page's own rules allow no script from elsewhere.
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const ALL = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
/** Of these alone the answer depends on the light. */
const OF_COLOUR = ['color-contrast', 'link-in-text-block'];
/** What fades is judged once it stands; what turns for ever is not waited for. */
const STILL = `new Promise((settle) => requestAnimationFrame(() => requestAnimationFrame(settle))).then(() =>
  Promise.allSettled(document.getAnimations()
    .filter((one) => one.effect.getComputedTiming().endTime !== Infinity).map((one) => one.finished)))`;

interface Found {
  readonly id: string;
  readonly nodes: readonly { readonly html: string; readonly failureSummary: string }[];
}

/** Each complaint: its rule, the element and what is wrong. */
export async function complaintsOn(page: Page, rules: readonly string[] = ALL): Promise<string[]> {
  await page.evaluate(STILL);
  if (await page.evaluate('globalThis.axe === undefined')) await page.evaluate(axe);
  const found = (await page.evaluate(
    `axe.run(document, { runOnly: ${JSON.stringify(rules)} }).then((result) => result.violations)`,
  )) as Found[];
  return found.flatMap(({ id, nodes }) => nodes.map((node) => `${id}: ${node.html} ${node.failureSummary}`));
}

/** By every rule in the light theme, by those of colour in the dark one; the page is light again afterwards. */
export async function complaintsInBothLights(
  page: Page,
  also: (light: 'light' | 'dark') => Promise<void> = async () => {},
): Promise<string[]> {
  const complaints: string[] = [];
  for (const light of ['light', 'dark'] as const) {
    await page.emulateMedia({ colorScheme: light });
    const found = await complaintsOn(page, light === 'light' ? ALL : OF_COLOUR);
    complaints.push(...found.map((complaint) => `${light}: ${complaint}`));
    await also(light);
  }
  await page.emulateMedia({ colorScheme: 'light' });
  return complaints;
}
