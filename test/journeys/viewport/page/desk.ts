/** The page of the viewport's own journey: one viewport on the whole window, and what the test may call. */
import { Viewport, type Hit, type ViewportOptions } from '../../../../renderer/viewport/viewport.ts';

export interface Heard {
  picks: Hit[];
  planes: { id: string; point: readonly number[]; normal: readonly number[] }[];
  marks: string[];
  wipes: number[];
  troubles: (string | undefined)[];
  cameras: number;
}

const heard: Heard = { picks: [], planes: [], marks: [], wipes: [], troubles: [], cameras: 0 };

/** A ball of `rings` × 2·`rings` cells, flattened by the axes, with a nose in front if asked. */
function ball(rings: number, axes: readonly [number, number, number], noseMm = 0) {
  const columns = 2 * rings;
  const positions = new Float64Array((columns * (rings - 1) + 2) * 3);
  const place = (vertex: number, polar: number, around: number): void => {
    const x = Math.sin(polar) * Math.cos(around);
    const y = Math.sin(polar) * Math.sin(around);
    const z = Math.cos(polar);
    const bump = x > 0 ? noseMm * Math.exp(-(y * y + z * z) * 60) : 0;
    positions.set([axes[0] * x + bump, axes[1] * y, axes[2] * z], vertex * 3);
  };
  const at = (row: number, column: number): number => 1 + row * columns + (column % columns);
  const faces: number[] = [];
  place(0, 0, 0);
  for (let row = 0; row < rings - 1; row++) {
    for (let column = 0; column < columns; column++) {
      place(at(row, column), (Math.PI * (row + 1)) / rings, (2 * Math.PI * column) / columns);
    }
  }
  const south = positions.length / 3 - 1;
  place(south, Math.PI, 0);
  for (let column = 0; column < columns; column++) {
    faces.push(0, at(0, column), at(0, column + 1));
    for (let row = 0; row < rings - 2; row++) {
      const [a, b, c, d] = [at(row, column), at(row + 1, column), at(row + 1, column + 1), at(row, column + 1)];
      faces.push(a, b, c, a, c, d);
    }
    faces.push(south, at(rings - 2, column + 1), at(rings - 2, column));
  }
  return { positions, triangles: Uint32Array.from(faces) };
}

function open(options: Partial<ViewportOptions> = {}): Viewport {
  const host = document.getElementById('host') as HTMLElement;
  const viewport = new Viewport(host, {
    theme: 'light',
    onPick: (hit) => heard.picks.push(hit),
    onPlane: (id, point, normal) => heard.planes.push({ id, point, normal }),
    onMark: (id) => heard.marks.push(id),
    onWipe: (fraction) => heard.wipes.push(fraction),
    onTrouble: (sentence) => heard.troubles.push(sentence),
    onCamera: () => heard.cameras++,
    ...options,
  });
  Object.assign(globalThis, { shown: viewport });
  return viewport;
}

/** Until the last picture is drawn and nothing more is on its way. */
async function calm(): Promise<void> {
  const { shown } = globalThis as unknown as { shown: Viewport };
  let last = -1;
  let since = performance.now();
  for (;;) {
    await new Promise((done) => setTimeout(done, 40));
    const { pictures } = shown.stats();
    if (pictures !== last) since = performance.now();
    else if (performance.now() - since > 160) return;
    last = pictures;
  }
}

async function pickable(): Promise<void> {
  const { shown } = globalThis as unknown as { shown: Viewport };
  while (!shown.stats().isPickable) await new Promise((done) => setTimeout(done, 20));
}

/** The colours of a PNG at the given pixels. */
async function coloursOf(png: Blob | string, places: readonly (readonly [number, number])[]): Promise<number[][]> {
  const blob = typeof png === 'string' ? await (await fetch(`data:image/png;base64,${png}`)).blob() : png;
  const picture = await createImageBitmap(blob);
  const canvas = document.createElement('canvas');
  canvas.width = picture.width;
  canvas.height = picture.height;
  const brush = canvas.getContext('2d', { willReadFrequently: true }) as CanvasRenderingContext2D;
  brush.drawImage(picture, 0, 0);
  return places.map(([x, y]) => Array.from(brush.getImageData(x, y, 1, 1).data).slice(0, 3));
}

Object.assign(globalThis, { open, ball, heard, calm, pickable, coloursOf });
