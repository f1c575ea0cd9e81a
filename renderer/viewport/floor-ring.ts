/**
 * What the body stands on: a chalk ring with a tick every ten degrees, longer ones at the quarters, an arrow head where
 * the face looks, and a soft shadow. It says which way is front without axes.
 */
import {
  BufferAttribute,
  BufferGeometry,
  CircleGeometry,
  Color,
  Group,
  LineSegments,
  Mesh,
  ShaderMaterial,
  type Box3,
} from 'three';
import { TO_SRGB } from './body-shader.ts';
import type { Palette } from './palette.ts';

export class FloorRing {
  readonly group = new Group();
  readonly #lines: LineSegments<BufferGeometry, ShaderMaterial>;
  readonly #shade: Mesh<CircleGeometry, ShaderMaterial>;

  constructor() {
    const points: number[] = [];
    const polar = (radius: number, degrees: number): void => {
      const angle = (degrees * Math.PI) / 180;
      points.push(radius * Math.cos(angle), radius * Math.sin(angle), 0);
    };
    for (let degrees = 0; degrees < 360; degrees += 2) {
      polar(1, degrees);
      polar(1, degrees + 2);
    }
    for (let degrees = 0; degrees < 360; degrees += 10) {
      polar(1, degrees);
      polar(degrees % 90 === 0 ? 1.1 : 1.04, degrees);
    }
    for (const [r1, d1, r2, d2] of [
      [1.1, 0, 1.05, 3],
      [1.1, 0, 1.05, -3],
      [1.05, 3, 1.05, -3],
    ]) {
      polar(r1, d1);
      polar(r2, d2);
    }
    const geometry = new BufferGeometry();
    geometry.setAttribute('position', new BufferAttribute(Float32Array.from(points), 3));
    const chalk = new ShaderMaterial({
      transparent: true,
      depthWrite: false,
      vertexShader: 'void main() { gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0); }',
      fragmentShader: `uniform vec3 chalk; ${TO_SRGB} void main() { gl_FragColor = vec4(toSrgb(chalk), 0.8); }`,
    });
    chalk.uniforms = { chalk: { value: new Color() } };
    this.#lines = new LineSegments(geometry, chalk);
    const shade = new ShaderMaterial({
      transparent: true,
      depthWrite: false,
      vertexShader:
        'varying vec2 vAt; void main() { vAt = position.xy; gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0); }',
      fragmentShader: `varying vec2 vAt; uniform vec3 shadow; uniform float depth; ${TO_SRGB}
        void main() { float r = length(vAt); gl_FragColor = vec4(toSrgb(shadow), depth * (1.0 - smoothstep(0.0, 0.82, r))); }`,
    });
    shade.uniforms = { shadow: { value: new Color() }, depth: { value: 0.34 } };
    this.#shade = new Mesh(new CircleGeometry(1, 48), shade);
    this.group.add(this.#shade, this.#lines);
    this.group.renderOrder = -1;
  }

  wear(palette: Palette): void {
    (this.#lines.material.uniforms['chalk'].value as Color).set(palette.chalk);
    (this.#shade.material.uniforms['shadow'].value as Color).set(palette.shadow);
  }

  /** Under what is shown, a little below it. */
  stand(bounds: Box3): void {
    this.group.visible = !bounds.isEmpty();
    if (bounds.isEmpty()) return;
    const radius = 0.5 * Math.hypot(bounds.max.x - bounds.min.x, bounds.max.y - bounds.min.y) + 12;
    const drop = 0.01 * (bounds.max.z - bounds.min.z) + 0.5;
    this.group.position.set((bounds.min.x + bounds.max.x) / 2, (bounds.min.y + bounds.max.y) / 2, bounds.min.z - drop);
    this.group.scale.set(radius, radius, 1);
  }

  dispose(): void {
    this.#lines.geometry.dispose();
    this.#lines.material.dispose();
    this.#shade.geometry.dispose();
    this.#shade.material.dispose();
  }
}
