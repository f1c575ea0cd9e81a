/**
 * Every text on every ground it may lie on, light and dark: contrast by WCAG 2.2, success criteria 1.4.3 (text, 4.5 to
 * 1) and 1.4.11 (edges of controls, marks and focus, 3 to 1); relative luminance as defined there, from sRGB.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';

const css = readFileSync(join(import.meta.dirname, '..', '..', 'renderer', 'theme', 'tokens.css'), 'utf8');
const PAIR = /--([a-z-]+):\s*light-dark\(\s*(#[0-9a-f]{6})\s*,\s*(#[0-9a-f]{6})\s*\)/g;
const colours = new Map([...css.matchAll(PAIR)].map(([, name, light, dark]) => [name, { light, dark }]));

function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map((at) => {
    const c = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(a: string, b: string, theme: 'light' | 'dark'): number {
  const [one, other] = [a, b].map((name) => {
    const found = colours.get(name);
    if (found === undefined) throw new Error(`no colour ${name}`);
    return luminance(found[theme]);
  });
  return (Math.max(one, other) + 0.05) / (Math.min(one, other) + 0.05);
}

test('the arithmetic is that of the standard: black on white is 21 to 1, #777777 on white 4.48 to 1', () => {
  expect((luminance('#ffffff') + 0.05) / (luminance('#000000') + 0.05)).toBeCloseTo(21, 9);
  expect((luminance('#ffffff') + 0.05) / (luminance('#777777') + 0.05)).toBeCloseTo(4.48, 2);
});

const PAPERS = ['desk', 'ground', 'paper', 'paper-sunk'];
const TEXT: [string, string[]][] = [
  ['ink', [...PAPERS, 'chalk-wash', 'ochre-wash', 'rust-wash', 'moss-wash']],
  ['ink-soft', [...PAPERS, 'chalk-wash']],
  ['chalk', [...PAPERS, 'chalk-wash']],
  ['chalk-strong', [...PAPERS, 'chalk-wash']],
  ['on-chalk', ['chalk', 'chalk-strong']],
  ['tape-ink', ['tape', 'tape-light']],
  ['rust', [...PAPERS, 'rust-wash']],
  ['moss', [...PAPERS, 'moss-wash']],
  ['ochre', [...PAPERS, 'ochre-wash']],
];

describe.each(['light', 'dark'] as const)('%s', (theme) => {
  test.each(TEXT.flatMap(([text, grounds]) => grounds.map((ground) => [text, ground])))(
    '%s on %s is at least 4.5 to 1',
    (text, ground) => {
      expect(contrast(text, ground, theme)).toBeGreaterThanOrEqual(4.5);
    },
  );

  test.each(PAPERS)('edges of fields and the focus ring on %s are at least 3 to 1', (ground) => {
    expect(contrast('line-strong', ground, theme)).toBeGreaterThanOrEqual(3);
    expect(contrast('chalk', ground, theme)).toBeGreaterThanOrEqual(3);
  });
});

test('the table holds every colour named here, and no colour is defined but for both', () => {
  expect(colours.size).toBeGreaterThan(20);
  expect(css.match(/#[0-9a-f]{3,8}/g)?.length).toBe(2 * colours.size);
});
