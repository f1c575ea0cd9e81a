/**
 * A paper as PDF (ISO 32000-1): true to size, with its letters embedded, text that can be selected and read aloud, and
 * the wish that viewers print it unscaled. The same paper gives the same bytes.
 */
import { createHash } from 'node:crypto';
import PDFDocument from 'pdfkit';
import { PT_PER_MM } from '../../shared-types/units.ts';
import type { PaperDocument, PaperItem, PaperStyle } from '../../shared-types/paper.ts';
import { lettersMissing, LINE_FACTOR, linesOf, plain, styleOf, textWidthMm, typefacePath } from './typeface.ts';

type Pdf = PDFKit.PDFDocument;
/** What of the library is not in its types. */
interface Inner {
  info: Record<string, string>;
  endMetadata: () => void;
  readonly _root: { readonly data: { readonly ViewerPreferences: { readonly data: Record<string, unknown> } } };
}

const GREY_STEPS = 255;
const greyOf = (grey: number): [number, number, number] => {
  const step = Math.round(Math.min(1, Math.max(0, grey)) * GREY_STEPS);
  return [step, step, step];
};

function drawLine(pdf: Pdf, item: Extract<PaperItem, { kind: 'line' }>): void {
  const { points, penMm, dashMm, fillGrey } = item;
  if (points.length < 4 || (penMm === 0 && fillGrey === undefined)) return;
  pdf.moveTo(points[0], points[1]);
  for (let k = 2; k < points.length; k += 2) pdf.lineTo(points[k], points[k + 1]);
  if (item.closed === true) pdf.closePath();
  if (penMm > 0) {
    pdf
      .lineWidth(penMm)
      .lineJoin('round')
      .lineCap(dashMm === undefined ? 'round' : 'butt');
    if (dashMm === undefined) pdf.undash();
    else {
      const [on, off = on] = dashMm;
      pdf.dash(on, { space: off });
    }
    pdf.strokeColor(greyOf(item.grey ?? 0));
  }
  if (fillGrey === undefined) pdf.stroke();
  else if (penMm === 0) pdf.fill(greyOf(fillGrey));
  else pdf.fillAndStroke(greyOf(fillGrey), greyOf(item.grey ?? 0));
}

function drawText(pdf: Pdf, item: Extract<PaperItem, { kind: 'text' }>): void {
  const { at, sizeMm, style = 'regular', align = 'left', turnDeg, wrapMm } = item;
  const lines = wrapMm === undefined ? [plain(item.text)] : linesOf(item.text, wrapMm, sizeMm, style);
  pdf.save();
  if (turnDeg !== undefined) pdf.rotate(turnDeg, { origin: [at[0], at[1]] });
  pdf.fontSize(sizeMm).fillColor(greyOf(item.grey ?? 0));
  for (const [index, line] of lines.entries()) {
    const back = align === 'left' ? 0 : textWidthMm(line, sizeMm, style) * (align === 'middle' ? 0.5 : 1);
    const y = at[1] + index * sizeMm * LINE_FACTOR;
    pdf.font(typefacePath(styleOf(line, style)));
    pdf.text(line, at[0] - back, y, { lineBreak: false, baseline: 'alphabetic' });
  }
  pdf.restore();
}

function drawPicture(pdf: Pdf, { png, at, widthMm, heightMm }: Extract<PaperItem, { kind: 'picture' }>): void {
  // A view of Node's own kind on the same bytes: only that is taken for a file rather than for its name.
  const bytes = Buffer.from(png.buffer, png.byteOffset, png.byteLength);
  pdf.image(bytes as unknown as ArrayBuffer, at[0], at[1], { width: widthMm, height: heightMm });
}

/** The text as it is set, in one line, with its style. */
function settingOf(text: string, style: PaperStyle | undefined): [string, PaperStyle] {
  const line = plain(text.replaceAll('\n', ' '));
  return [line, styleOf(line, style)];
}

/** Letters that would print as empty boxes, each once: scripts from outside Europe. O(letters). */
export function missingLetters({ pages }: PaperDocument): string {
  const texts = pages.flatMap(({ items }) => items).filter((item) => item.kind === 'text');
  return [...new Set(texts.flatMap(({ text, style }) => lettersMissing(...settingOf(text, style))))].join('');
}

/** Everything that makes one paper differ from another, as a short text. */
function fingerprint(paper: PaperDocument): string {
  const bare = (_key: string, value: unknown): unknown =>
    value instanceof Uint8Array ? createHash('sha256').update(value).digest('hex') : value;
  return createHash('sha256').update(JSON.stringify(paper, bare)).digest('hex');
}

/**
 * The file's bytes. Sizes are the paper's own to 1e-6 point; text is NFC. Letters that the typeface lacks (it has every
 * script of Europe) print as an empty box. Lines count as ornament for readers who listen, pictures by their words.
 * O(items and letters).
 */
export async function writePdf(paper: PaperDocument): Promise<Uint8Array<ArrayBuffer>> {
  const pdf = new PDFDocument({
    autoFirstPage: false,
    pdfVersion: '1.7',
    tagged: true,
    displayTitle: true,
    lang: paper.language ?? 'en',
    font: typefacePath('regular'),
    // The file's id is made of these; then they go, so that no reader is told a date that is none.
    info: { Keywords: fingerprint(paper), CreationDate: new Date(0) },
  });
  const inner = pdf as unknown as Inner;
  inner.info = { Title: paper.title, Producer: 'Wearwright', Creator: 'Wearwright' };
  // The copy of these facts as XML, which is optional, would have to hold the date.
  inner.endMetadata = () => undefined;
  Object.assign(inner._root.data.ViewerPreferences.data, { PrintScaling: 'None', PickTrayByPDFSize: true });

  const chunks: Uint8Array[] = [];
  const whole = new Promise<void>((settle, fail) => pdf.on('end', settle).on('error', fail));
  pdf.on('data', (chunk: Uint8Array) => void chunks.push(chunk));
  const body = pdf.struct('Document');
  pdf.addStructure(body);
  let titled = false;
  for (const page of paper.pages) {
    pdf.addPage({ size: [page.widthMm * PT_PER_MM, page.heightMm * PT_PER_MM], margin: 0 });
    pdf.scale(PT_PER_MM);
    for (const item of page.items) {
      if (item.kind === 'line') {
        pdf.markContent('Artifact', { type: 'Layout' });
        drawLine(pdf, item);
        pdf.endMarkedContent();
      } else if (item.kind === 'picture') {
        body.add(pdf.struct('Figure', { alt: item.words }, () => drawPicture(pdf, item)));
      } else {
        const heading: string = item.style !== 'title' ? 'P' : titled ? 'H2' : 'H1';
        titled ||= heading === 'H1';
        body.add(pdf.struct(heading, {}, () => drawText(pdf, item)));
      }
    }
  }
  body.end();
  pdf.end();
  await whole;
  return new Uint8Array(Buffer.concat(chunks));
}

/** Named papers as files, each under its name. */
export const writePdfs = (
  papers: readonly { readonly name: string; readonly document: PaperDocument }[],
): Promise<{ name: string; bytes: Uint8Array<ArrayBuffer> }[]> =>
  Promise.all(papers.map(async ({ name, document }) => ({ name, bytes: await writePdf(document) })));
