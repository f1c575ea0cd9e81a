/** The cut face of a section: each closed line filled with hatching, all lines drawn with a firm stroke. */
import {
  BufferAttribute,
  BufferGeometry,
  Color,
  DoubleSide,
  Group,
  LineSegments,
  Matrix4,
  Mesh,
  ShaderMaterial,
  ShapeUtils,
  Vector2,
  Vector3,
} from 'three';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { TO_SRGB, type SharedUniforms } from './body-shader.ts';
import type { Body } from './body.ts';
import { cutLines, nested, sheetOf, type CutLine, type Sheet } from './section-outline.ts';
import type { Palette } from './palette.ts';
import type { Section, SectionLine, SectionPlane } from './view-types.ts';

/** Cut faces that lie on one another are drawn this far apart, mm. */
const LAYER_MM = 0.15;
/** More points than this in one line are thinned for the filling (not for the line). */
const FILL_POINTS = 4000;

function signedArea(points: Float64Array): number {
  let sum = 0;
  for (let k = 0, before = points.length - 2; k < points.length; before = k, k += 2) {
    sum += points[before] * points[k + 1] - points[k] * points[before + 1];
  }
  return sum / 2;
}

const toVectors = (loop: Float64Array, isForward: boolean): Vector2[] => {
  const stride = Math.max(1, Math.ceil(loop.length / 2 / FILL_POINTS));
  const points: Vector2[] = [];
  for (let k = 0; k < loop.length; k += 2 * stride) points.push(new Vector2(loop[k], loop[k + 1]));
  return signedArea(loop) > 0 === isForward ? points : points.reverse();
};

export class SectionFace {
  readonly group = new Group();
  #section: Section | undefined;
  readonly #fill: ShaderMaterial;
  readonly #line: ShaderMaterial;

  constructor(shared: SharedUniforms) {
    const vertexShader = `uniform float nearer; void main() {
      vec4 sight = modelViewMatrix * vec4(position, 1.0);
      if (isOrthographic) sight.z += nearer; else sight.xyz *= 1.0 - nearer / max(length(sight.xyz), 1.0);
      gl_Position = projectionMatrix * sight; }`;
    this.#fill = new ShaderMaterial({
      side: DoubleSide,
      vertexShader,
      fragmentShader: `uniform vec3 own; uniform float pixel; uniform vec3 inkColour; ${TO_SRGB}
        void main() {
          float stripe = smoothstep(0.72, 0.82, fract((gl_FragCoord.x + gl_FragCoord.y) / (9.0 * pixel)));
          gl_FragColor = vec4(toSrgb(mix(own, mix(own, inkColour, 0.6), stripe)), 1.0);
        }`,
    });
    this.#fill.uniforms = { ...shared, own: { value: new Color() }, nearer: { value: 0 } };
    this.#line = new ShaderMaterial({
      depthTest: true,
      vertexShader: `void main() {
        vec4 sight = modelViewMatrix * vec4(position, 1.0);
        if (isOrthographic) sight.z += 0.6; else sight.xyz *= 1.0 - 0.6 / max(length(sight.xyz), 1.0);
        gl_Position = projectionMatrix * sight; }`,
      fragmentShader: `uniform vec3 ink; ${TO_SRGB} void main() { gl_FragColor = vec4(toSrgb(ink), 1.0); }`,
    });
    this.#line.uniforms = { ink: { value: new Color() } };
  }

  get section(): Section | undefined {
    return this.#section;
  }

  wear(palette: Palette): void {
    (this.#line.uniforms['ink'].value as Color).set(palette.ink);
  }

  cut(plane: SectionPlane | undefined, bodies: Iterable<Body>): void {
    this.#clear();
    this.#section = undefined;
    if (plane === undefined) return;
    const sheet = sheetOf(plane.point, plane.normal);
    const cuts = Array.from(bodies)
      .filter((body) => body.isShown && body.look.isSign !== true)
      .map((body) => {
        const own = cutLines(body.positions, body.mesh.triangles, inBody(sheet, body.matrix));
        return { body, lines: onSheet(own, sheet, body.matrix) };
      });
    this.#section = {
      ...sheet,
      lines: cuts.flatMap(({ body, lines }) => lines.map((line): SectionLine => ({ slot: body.slot, ...line }))),
    };
    // a form within its liner is cut on the same plane: the smaller lies on top
    const size = (lines: readonly CutLine[]): number =>
      Math.max(0, ...lines.map(({ points }) => Math.abs(signedArea(points))));
    cuts.sort((a, b) => size(b.lines) - size(a.lines));
    for (const [depth, { body, lines }] of cuts.entries()) this.#show(lines, sheet, body, depth * LAYER_MM);
  }

  #show(lines: readonly CutLine[], sheet: Sheet, body: Body, nearerMm: number): void {
    const place = (x: number, y: number, into: number[]): void => {
      for (let k = 0; k < 3; k++) into.push(sheet.origin[k] + x * sheet.right[k] + y * sheet.up[k]);
    };
    const strokes: number[] = [];
    for (const { points, closed } of lines) {
      for (let k = 0; k + 2 < points.length; k += 2) {
        place(points[k], points[k + 1], strokes);
        place(points[k + 2], points[k + 3], strokes);
      }
      if (closed) {
        place(points[points.length - 2], points[points.length - 1], strokes);
        place(points[0], points[1], strokes);
      }
    }
    const geometry = new BufferGeometry();
    geometry.setAttribute('position', new BufferAttribute(Float32Array.from(strokes), 3));
    const drawing = new LineSegments(geometry, this.#line);
    drawing.frustumCulled = false;
    drawing.renderOrder = 3;
    this.group.add(drawing);
    if (body.isGlass) return;
    const loops = lines.filter((line) => line.closed && line.points.length >= 6).map((line) => line.points);
    const corners: number[] = [];
    const faces: number[] = [];
    for (const { outline, holes } of nested(loops)) {
      const contour = toVectors(outline, true);
      const inner = holes.map((hole) => toVectors(hole, false));
      const base = corners.length / 3;
      for (const face of ShapeUtils.triangulateShape(contour, inner)) faces.push(...face.map((at) => at + base));
      for (const point of [contour, ...inner].flat()) place(point.x, point.y, corners);
    }
    const filled = new BufferGeometry();
    filled.setAttribute('position', new BufferAttribute(Float32Array.from(corners), 3));
    filled.setIndex(faces);
    const face = new Mesh(filled, this.#fill);
    face.frustumCulled = false;
    face.onBeforeRender = () => {
      (this.#fill.uniforms['own'].value as Color).copy(body.skin).multiplyScalar(0.62);
      this.#fill.uniforms['nearer'].value = nearerMm;
      this.#fill.uniformsNeedUpdate = true;
    };
    this.group.add(face);
  }

  #clear(): void {
    for (const child of Array.from(this.group.children) as Mesh[]) {
      child.geometry.dispose();
      child.removeFromParent();
    }
  }

  dispose(): void {
    this.#clear();
    this.#fill.dispose();
    this.#line.dispose();
  }
}

/** The sheet in a body's own coordinates; its axes are made of length one again, which `onSheet` puts right. */
function inBody(sheet: Sheet, matrix: Matrix4): Sheet {
  const back = matrix.clone().invert();
  const turn = (axis: Vec3): Vec3 => new Vector3(...axis).transformDirection(back).toArray();
  const right = turn(sheet.right);
  // the normal of a cut stays square to it only through both axes, not by turning it as a direction
  const across = new Vector3(...right).cross(new Vector3(...turn(sheet.up))).normalize();
  return {
    origin: new Vector3(...sheet.origin).applyMatrix4(back).toArray(),
    right,
    up: across.cross(new Vector3(...right)).toArray(),
  };
}

function onSheet(lines: readonly CutLine[], sheet: Sheet, matrix: Matrix4): CutLine[] {
  const inner = inBody(sheet, matrix);
  const right = new Vector3(...sheet.right);
  const up = new Vector3(...sheet.up);
  const origin = new Vector3(...sheet.origin);
  return lines.map(({ closed, points }) => {
    const placed = new Float64Array(points.length);
    const at = new Vector3();
    for (let k = 0; k < points.length; k += 2) {
      at.set(...inner.origin)
        .addScaledVector(new Vector3(...inner.right), points[k])
        .addScaledVector(new Vector3(...inner.up), points[k + 1])
        .applyMatrix4(matrix)
        .sub(origin);
      placed[k] = at.dot(right);
      placed[k + 1] = at.dot(up);
    }
    return { closed, points: placed };
  });
}
