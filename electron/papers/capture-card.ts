/**
 * How to photograph a head so that a scan of use comes out, and a scale card to be in the pictures. The advice is common
 * practice among people who scan with a telephone, without one source; counts of pictures in published trials lie
 * between 15 and 62.
 */
import { measurePicture } from '../../shared-types/measures/pictures.ts';
import type { PaperDocument, PaperItem, PaperSize } from '../../shared-types/paper.ts';
import { FAINT, HAIRLINE_MM, PageFlow, rectangle, SMALL_MM, tapeItems, TEXT_MM } from './page-flow.ts';

/** Between the centres of the scale card's targets: along, and across, mm. */
const SCALE_CARD_MM = { along: 150, across: 100 } as const;

const PER_RING = 16;

const STEPS: readonly string[] = [
  'Hair under a tight cap, swimming cap or stocking: hair is neither seen nor measured truly. Spectacles, earrings and collars off.',
  'Tape over or powder what shines or is one plain colour, the cap too: a few strips of patterned tape in different directions give the pictures something to hold on to.',
  'Soft light from all sides: a bright overcast day in open shade, or several lamps against white walls. No flash, no sun on one side, no lamp that moves with you.',
  'The wearer sits upright, head against nothing, looks straight ahead at a mark on the wall, keeps eyes and mouth closed and breathes quietly. Nothing may change until the last picture.',
  'Fix one focus, one exposure and one zoom. Stay an arm’s length away and fill most of the frame; walk round the wearer, never turn the wearer.',
  `Take 50 or more pictures in three rings, each overlapping the last by two thirds: a level ring at the ears, a low ring looking up, a high ring looking down. About ${PER_RING} to a ring.`,
  'Then the places that a ring forgets: under the chin, behind and into both ears, the very top of the head, the nape.',
  'Have the scale card in many of the pictures where it does not move against the head: taped flat to stiff card and fixed to the cap or the chair’s head-rest.',
  'Before the wearer gets up, take at least one length by calliper and write it down: best is the whole measurement sheet. Two small stickers on the cap give a length that both calliper and scan find again.',
  'Look at the pictures at full size before you let the wearer go. Blurred ones are worse than none: delete them.',
];

const CAUTIONS: readonly string[] = [
  'Pictures and scans of a head are personal data. Ask first, write down that they agreed and on which day, and delete what is not needed.',
  'Powder, spray and tape near eyes, nose and mouth: only what is made for skin, eyes closed, and never over nose or mouth. Stop at any discomfort.',
  'Sitting still with eyes closed can make dizzy: a chair with arms, and somebody beside the wearer.',
];

const OTHERS: readonly string[] = [
  'An arm or a leg: rings round the limb from end to end, 40 pictures and more. It rests on its far end only, in the pose and with the muscles of the costume, so that nothing touches where the part will lie.',
  'A torso: a tight top with a pattern; the hands rest on two poles, arms away from the body; quiet, shallow breath.',
];

const RINGS = [
  { upMm: 20, reachMm: 22, words: 'high ring, looking down', count: 9 },
  { upMm: -1, reachMm: 30, words: 'level ring, at the ears', count: 11 },
  { upMm: -19, reachMm: 23, words: 'low ring, looking up', count: 9 },
] as const;
const RINGS_HEIGHT_MM = 54;
/** How much shorter a ring is seen upright than across, a little from above. */
const TILT = 0.2;
const BODY_GREY = 0.93;
const BODY_PEN_MM = 0.35;

/** `count` points on an ellipse from `from` through `sweep` radians. */
function ellipse(x: number, y: number, a: number, b: number, count: number, from = 0, sweep = 2 * Math.PI): number[] {
  return Array.from({ length: count }, (_, k) => from + (sweep * k) / count).flatMap((angle) => [
    x + a * Math.cos(angle),
    y + b * Math.sin(angle),
  ]);
}

/** Three rings round a head, from the side and from above. */
function ringsPicture(x: number, y: number, widthMm: number): PaperItem[] {
  const [x0, y0] = [x + widthMm * 0.27, y + 26];
  const half = (upMm: number, reachMm: number, from: number): PaperItem => ({
    kind: 'line',
    points: ellipse(x0, y0 - upMm, reachMm, TILT * reachMm, 24, from, Math.PI),
    penMm: HAIRLINE_MM,
    dashMm: [1.2, 1.2],
    grey: 0.4,
  });
  const items: PaperItem[] = [
    // What lies behind the head first.
    ...RINGS.map(({ upMm, reachMm }) => half(upMm, reachMm, Math.PI)),
    ...headFromSide(x0, y0),
  ];
  for (const { upMm, reachMm, words, count } of RINGS) {
    items.push(half(upMm, reachMm, 0));
    for (let k = 0; k < count; k++) {
      const angle = (Math.PI * k) / (count - 1);
      const [px, py] = [x0 + reachMm * Math.cos(angle), y0 - upMm + TILT * reachMm * Math.sin(angle)];
      items.push(cameraItem(px, py, Math.atan2(y0 - py, x0 - px)));
    }
    items.push({ kind: 'text', text: words, at: [x0 + reachMm + 4, y0 - upMm + 1], sizeMm: SMALL_MM });
  }
  const [x1, y1] = [x + widthMm * 0.8, y + 25];
  const nose = [x1 - 1.6, y1 + 9.8, x1, y1 + 12.4, x1 + 1.6, y1 + 9.8];
  items.push(
    { kind: 'line', points: ellipse(x1, y1, 8, 10, 48), closed: true, penMm: BODY_PEN_MM, fillGrey: BODY_GREY },
    { kind: 'line', points: nose, penMm: BODY_PEN_MM },
  );
  for (let k = 0; k < PER_RING; k++) {
    const angle = (2 * Math.PI * k) / PER_RING;
    items.push(cameraItem(x1 + 23 * Math.cos(angle), y1 + 23 * Math.sin(angle), angle + Math.PI));
  }
  const words = `one ring from above: ${PER_RING} pictures`;
  items.push({ kind: 'text', text: words, at: [x1, y + RINGS_HEIGHT_MM - 1], sizeMm: SMALL_MM, align: 'middle' });
  return items;
}

/** The head of the measurement sheet's pictures, its middle at `x`, `y`. */
function headFromSide(x: number, y: number): PaperItem[] {
  const [scale, middleX, middleY] = [0.27, 54, 46];
  const outline = measurePicture('head length')?.outline ?? [];
  return outline.map((points, index) => ({
    kind: 'line',
    points: points.map((value, k) => (k % 2 === 0 ? x + (value - middleX) * scale : y + (value - middleY) * scale)),
    penMm: BODY_PEN_MM,
    ...(index === 0 ? { fillGrey: BODY_GREY } : {}),
  }));
}

/** A small wedge that looks along `angle`. */
function cameraItem(x: number, y: number, angle: number): PaperItem {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const turned = (along: number, across: number): [number, number] => [
    x + along * c - across * s,
    y + along * s + across * c,
  ];
  const wedge = [turned(1.7, 1.3), turned(-0.4, 0.4), turned(-0.4, -0.4), turned(1.7, -1.3)].flat();
  return { kind: 'line', points: wedge, closed: true, penMm: 0.2, fillGrey: 0.2 };
}

/** A round target whose centre is where four quarters meet: found by eye, calliper and picture alike. */
function targetItems(x: number, y: number): PaperItem[] {
  const radius = 9;
  const quarter = (from: number): number[] => [
    x,
    y,
    ...Array.from({ length: 17 }, (_, k) => from + (Math.PI / 2) * (k / 16)).flatMap((angle) => [
      x + radius * Math.cos(angle),
      y + radius * Math.sin(angle),
    ]),
  ];
  const ring = Array.from({ length: 64 }, (_, k) => (2 * Math.PI * k) / 64).flatMap((angle) => [
    x + radius * Math.cos(angle),
    y + radius * Math.sin(angle),
  ]);
  return [
    { kind: 'line', points: quarter(0), closed: true, penMm: 0, fillGrey: 0 },
    { kind: 'line', points: quarter(Math.PI), closed: true, penMm: 0, fillGrey: 0 },
    { kind: 'line', points: ring, closed: true, penMm: 0.3 },
  ];
}

function scaleCard(flow: PageFlow): void {
  const { along, across } = SCALE_CARD_MM;
  const x = (flow.widthMm - along) / 2;
  const y = flow.y + 16;
  flow.place({
    kind: 'line',
    points: rectangle(x - 14, y - 14, along + 28, across + 28),
    closed: true,
    penMm: HAIRLINE_MM,
    dashMm: [2, 2],
  });
  const corners = [
    { name: 'A', at: [x, y] },
    { name: 'B', at: [x + along, y] },
    { name: 'C', at: [x + along, y + across] },
    { name: 'D', at: [x, y + across] },
  ] as const;
  for (const { name, at } of corners) {
    flow.place(...targetItems(at[0], at[1]));
    const inward = at[0] === x ? 13 : -13;
    flow.place({
      kind: 'text',
      text: name,
      at: [at[0] + inward, at[1] + 2.2],
      sizeMm: 6,
      style: 'bold',
      align: 'middle',
    });
  }
  const ruled = along - 40;
  flow.place(...tapeItems(x + 20, y, ruled, 1.5));
  for (let mm = 0; mm <= ruled; mm += 10) {
    flow.place({ kind: 'text', text: `${mm}`, at: [x + 20 + mm, y + 4], sizeMm: 2.6, align: 'middle' });
  }
  flow.place(...patternItems(x + 20, y + 18, ruled, across - 42));
  flow.place({
    kind: 'text',
    text: `A to B and D to C ${along} mm · A to D and B to C ${across} mm · A to C and B to D ${Math.hypot(along, across).toFixed(2)} mm`,
    at: [x + along / 2, y + across - 12],
    sizeMm: SMALL_MM,
    align: 'middle',
  });
  flow.place({
    kind: 'text',
    text: 'Centre to centre, as meant. What the printer made of it: write below.',
    at: [x + along / 2, y + across - 7.5],
    sizeMm: SMALL_MM,
    grey: FAINT,
    align: 'middle',
  });
  flow.y = y + across + 18;
}

/** Shapes that do not repeat, so that pictures can be matched on the card: a fixed irregular field. */
function patternItems(x: number, y: number, widthMm: number, heightMm: number): PaperItem[] {
  const items: PaperItem[] = [
    { kind: 'line', points: rectangle(x, y, widthMm, heightMm), closed: true, penMm: HAIRLINE_MM, grey: 0.6 },
  ];
  // Multiples of the golden ratio and of the plastic number fill a field evenly without repeating.
  const [a, b, c] = [0.7548776662466927, 0.5698402909980532, 0.6180339887498949];
  for (let k = 1; k <= 90; k++) {
    const size = 0.8 + 2.2 * ((k * c) % 1);
    const px = x + size + 1 + ((k * a) % 1) * (widthMm - 2 * size - 2);
    const py = y + size + 1 + ((k * b) % 1) * (heightMm - 2 * size - 2);
    const sides = 3 + (k % 4);
    const turn = k * c * Math.PI;
    const points = Array.from({ length: sides }, (_, n) => turn + (2 * Math.PI * n) / sides).flatMap((angle) => [
      px + size * Math.cos(angle),
      py + size * Math.sin(angle),
    ]);
    items.push({ kind: 'line', points, closed: true, penMm: 0, fillGrey: k % 3 === 0 ? 0.55 : 0 });
  }
  return items;
}

/** Two pages: how to take the pictures, and the scale card. */
export function captureCard(size: PaperSize): PaperDocument {
  const flow = new PageFlow('How to take the pictures', size, 'Capture card');
  flow.head('How to take the pictures', 'For a scan of a head by a telephone or camera. Two people, twenty minutes.');
  flow.place(...ringsPicture(flow.left, flow.y, flow.innerMm));
  flow.space(RINGS_HEIGHT_MM + 4);
  flow.list(STEPS, true);
  flow.heading('Other parts of the body');
  flow.list(OTHERS);
  flow.heading('Take care');
  flow.list(CAUTIONS);

  flow.newPage();
  flow.head('Scale card', 'Cut along the dashes, stick it flat to stiff card, keep it flat.');
  scaleCard(flow);
  flow.heading('Check it before it is trusted', 40);
  flow.paragraph(
    'Paper and printers stretch. Take these six lengths by calliper, centre to centre, and write down what they are. The two ways across the corners must agree with one another within 0.5 mm; otherwise the printer is crooked: try another. On the scan, enter the length that you read, not the one that was meant, as a span between the same two centres.',
  );
  flow.space(3);
  const lengths = ['A–B', 'D–C', 'A–D', 'B–C', 'A–C', 'B–D'];
  const boxMm = flow.innerMm / lengths.length;
  for (const [index, name] of lengths.entries()) {
    const x = flow.left + index * boxMm;
    flow.place({ kind: 'line', points: rectangle(x, flow.y, boxMm - 3, 13), closed: true, penMm: HAIRLINE_MM });
    flow.place({ kind: 'text', text: name, at: [x + 1.5, flow.y + 4], sizeMm: SMALL_MM, style: 'bold' });
    flow.place({
      kind: 'text',
      text: 'mm',
      at: [x + boxMm - 4.5, flow.y + 11],
      sizeMm: SMALL_MM,
      grey: FAINT,
      align: 'right',
    });
  }
  flow.space(13 + TEXT_MM);
  return flow.finish();
}
