/** Measuring tapes round the body: a band as wide as a tailor's, with a tick every millimetre, longer ones at 5 and 10. */
import { BufferAttribute, BufferGeometry, Color, DoubleSide, Group, Mesh, ShaderMaterial, Vector3 } from 'three';
import { TO_SRGB } from './body-shader.ts';
import type { Palette } from './palette.ts';
import type { Tape } from './view-types.ts';

const WIDE_MM = 9;

const VERTEX = /* glsl */ `
  attribute vec2 onTape; varying vec2 vOnTape;
  void main() {
    vOnTape = onTape;
    vec4 sight = modelViewMatrix * vec4(position, 1.0);
    // a band that stands upright would sink into a slope by half its width
    float nearer = ${(WIDE_MM / 2).toFixed(1)};
    if (isOrthographic) sight.z += nearer; else sight.xyz *= 1.0 - nearer / max(length(sight.xyz), 1.0);
    gl_Position = projectionMatrix * sight;
  }`;

const FRAGMENT = /* glsl */ `
  varying vec2 vOnTape; uniform vec3 cloth; uniform vec3 ink;
  ${TO_SRGB}
  float ticks(float every, float reach) {
    float along = vOnTape.x / every;
    float spread = fwidth(along);
    float line = 1.0 - smoothstep(0.5, 1.1, abs(fract(along + 0.5) - 0.5) / max(spread, 1e-6));
    return line * (1.0 - smoothstep(0.2, 0.4, spread)) * step(${(WIDE_MM / 2).toFixed(1)} - reach, vOnTape.y);
  }
  void main() {
    float edge = ${(WIDE_MM / 2).toFixed(1)} - abs(vOnTape.y);
    float mark = max(max(ticks(1.0, 2.2), ticks(5.0, 3.4)), ticks(10.0, 5.2));
    float rim = 1.0 - smoothstep(0.8, 1.8, edge / max(fwidth(vOnTape.y), 1e-6));
    vec3 colour = gl_FrontFacing ? cloth : cloth * 0.6;
    colour = mix(colour, ink, max(0.8 * mark, 0.7 * rim));
    gl_FragColor = vec4(toSrgb(colour), 1.0);
  }`;

/** The band's surface: two vertices a point, with their places along and across in mm. */
export function bandOf(points: Float64Array, closed: boolean): { positions: Float32Array; onTape: Float32Array } {
  let count = points.length / 3;
  const at = (k: number): Vector3 => new Vector3(points[k * 3], points[k * 3 + 1], points[k * 3 + 2]);
  if (closed && count > 2 && at(0).distanceTo(at(count - 1)) < 1e-6) count--;
  // Newell's normal: across the band, and which side is out
  const across = new Vector3();
  const middle = new Vector3();
  for (let k = 0; k < count; k++) {
    const p = at(k);
    const q = at((k + 1) % count);
    middle.addScaledVector(p, 1 / count);
    across.x += (p.y - q.y) * (p.z + q.z);
    across.y += (p.z - q.z) * (p.x + q.x);
    across.z += (p.x - q.x) * (p.y + q.y);
  }
  if (across.lengthSq() < 1e-9) across.set(0, 0, 1);
  across.normalize();
  // ticks start at the upper edge, wherever the tape began
  if (across.z < 0) across.negate();
  const total = closed ? count + 1 : count;
  const positions = new Float32Array(total * 6);
  const onTape = new Float32Array(total * 4);
  let along = 0;
  for (let k = 0; k < total; k++) {
    const p = at(k % count);
    if (k > 0) along += p.distanceTo(at((k - 1) % count));
    for (const [row, side] of [-1, 1].entries()) {
      p.clone()
        .addScaledVector(across, (side * WIDE_MM) / 2)
        .toArray(positions, (k * 2 + row) * 3);
      onTape[(k * 2 + row) * 2] = along;
      onTape[(k * 2 + row) * 2 + 1] = (side * WIDE_MM) / 2;
    }
  }
  return { positions, onTape };
}

export class Tapes {
  readonly group = new Group();
  readonly #material = new ShaderMaterial({ vertexShader: VERTEX, fragmentShader: FRAGMENT, side: DoubleSide });

  constructor() {
    this.#material.uniforms = { cloth: { value: new Color() }, ink: { value: new Color() } };
    this.group.renderOrder = 1;
  }

  wear(palette: Palette): void {
    (this.#material.uniforms['cloth'].value as Color).set(palette.tape);
    (this.#material.uniforms['ink'].value as Color).set(palette.tapeInk);
  }

  set(tapes: readonly Tape[]): void {
    for (const child of Array.from(this.group.children) as Mesh[]) {
      child.geometry.dispose();
      child.removeFromParent();
    }
    for (const { points, closed } of tapes) {
      if (points.length < 6 || !points.every(Number.isFinite)) continue;
      const band = bandOf(points, closed !== false);
      const geometry = new BufferGeometry();
      geometry.setAttribute('position', new BufferAttribute(band.positions, 3));
      geometry.setAttribute('onTape', new BufferAttribute(band.onTape, 2));
      const faces: number[] = [];
      for (let k = 0; k + 2 < band.positions.length / 3; k += 2) faces.push(k, k + 2, k + 1, k + 1, k + 2, k + 3);
      geometry.setIndex(faces);
      const mesh = new Mesh(geometry, this.#material);
      mesh.frustumCulled = false;
      this.group.add(mesh);
    }
  }

  dispose(): void {
    this.set([]);
    this.#material.dispose();
  }
}
