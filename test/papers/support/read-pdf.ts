/**
 * A PDF read and drawn by another implementation than the one that wrote it: pdf.js, with its own interpreter of the
 * page's operators.
 */
import { createCanvas } from '@napi-rs/canvas';
import { getDocument, OPS } from 'pdfjs-dist/legacy/build/pdf.mjs';

export interface ReadText {
  readonly text: string;
  /** Left end of the base line, mm from the page's upper left corner. */
  readonly at: readonly [number, number];
  /** The text's own matrix: a b c d of ISO 32000-1, 9.4.4. */
  readonly turn: readonly [number, number, number, number];
  readonly widthMm: number;
}

export interface ReadPage {
  readonly sizePt: readonly [number, number];
  readonly texts: readonly ReadText[];
  /** All text, words parted by single blanks. */
  readonly whole: string;
  /** Letters drawn as the box that stands for none: the file gives that glyph no meaning but zero. */
  readonly missing: number;
  /** Words of pictures, for who cannot see them. */
  readonly pictures: readonly string[];
}

const MM_PER_PT = 25.4 / 72;

async function open(bytes: Uint8Array) {
  // pdf.js takes the bytes away from who gives them.
  return getDocument({ data: bytes.slice(), useSystemFonts: false, verbosity: 0 }).promise;
}

export async function readPdf(bytes: Uint8Array) {
  const pdf = await open(bytes);
  const pages: ReadPage[] = [];
  for (let number = 1; number <= pdf.numPages; number++) {
    const page = await pdf.getPage(number);
    const { width, height } = page.getViewport({ scale: 1 });
    const content = await page.getTextContent();
    const texts = content.items.flatMap((item): ReadText[] => {
      if (!('str' in item) || item.str.trim() === '') return [];
      const [a, b, c, d, e, f] = item.transform as number[];
      const at = [e * MM_PER_PT, (height - f) * MM_PER_PT] as const;
      return [{ text: item.str, at, turn: [a, b, c, d], widthMm: item.width * MM_PER_PT }];
    });
    const operators = await page.getOperatorList();
    let missing = 0;
    for (const [index, op] of operators.fnArray.entries()) {
      if (op !== OPS.showText) continue;
      const glyphs = operators.argsArray[index][0] as readonly ({ unicode: string } | number)[];
      missing += glyphs.filter((glyph) => typeof glyph === 'object' && glyph.unicode === '\u0000').length;
    }
    const pictures: string[] = [];
    const visit = (node: unknown): void => {
      const { role, alt, children = [] } = node as { role?: string; alt?: string; children?: unknown[] };
      if (role === 'Figure') pictures.push(alt ?? '');
      children.forEach(visit);
    };
    visit(await page.getStructTree());
    const whole = texts
      .map(({ text }) => text)
      .join(' ')
      .replace(/\s+/g, ' ');
    pages.push({ sizePt: [width, height], texts, whole, missing, pictures });
  }
  const { info } = (await pdf.getMetadata()) as { info: Record<string, unknown> };
  const preferences = Object.fromEntries((await pdf.getViewerPreferences()) as unknown as Map<string, unknown>);
  return { pages, info, preferences, fingerprint: pdf.fingerprints[0] };
}

export interface Drawn {
  readonly width: number;
  readonly height: number;
  /** RGBA. */
  readonly pixels: Uint8ClampedArray;
  /** 0 black to 255 white, at mm from the upper left corner. */
  readonly greyAt: (xMm: number, yMm: number) => number;
  readonly pixelsPerMm: number;
}

/** One page drawn; 254 dots to the inch unless told, which is ten to the mm. */
export async function drawPage(bytes: Uint8Array, number: number, pixelsPerMm = 10): Promise<Drawn> {
  const page = await (await open(bytes)).getPage(number);
  const viewport = page.getViewport({ scale: pixelsPerMm * MM_PER_PT });
  const [width, height] = [Math.round(viewport.width), Math.round(viewport.height)];
  const canvas = createCanvas(width, height);
  const canvasContext = canvas.getContext('2d') as never;
  await page.render({ canvasContext, viewport, canvas: null }).promise;
  const pixels = canvas.getContext('2d').getImageData(0, 0, width, height).data;
  const greyAt = (xMm: number, yMm: number): number =>
    pixels[4 * (Math.round(yMm * pixelsPerMm - 0.5) * width + Math.round(xMm * pixelsPerMm - 0.5))] as number;
  return { width, height, pixels, greyAt, pixelsPerMm };
}

/** Where along a row (or column) of the page the ink begins and ends, mm, at pixel edges. */
export function inkAlong(
  drawn: Drawn,
  way: 'row' | 'column',
  atMm: number,
  from: number,
  to: number,
): [number, number] {
  const { pixelsPerMm, greyAt } = drawn;
  let [first, last] = [Infinity, -Infinity];
  for (let step = Math.round(from * pixelsPerMm); step < Math.round(to * pixelsPerMm); step++) {
    const along = (step + 0.5) / pixelsPerMm;
    if ((way === 'row' ? greyAt(along, atMm) : greyAt(atMm, along)) > 127) continue;
    first = Math.min(first, step / pixelsPerMm);
    last = Math.max(last, (step + 1) / pixelsPerMm);
  }
  return [first, last];
}
