/**
 * The bench on which bodies lie: draws meshes in millimetres, z up, on demand only (a still picture costs
 * nothing). No React inside; a screen mounts one and calls it. One body can carry a map of lengths, be cut by
 * a section plane, and show its edges; marks are landmarks and their labels are drawn by the screen, which asks
 * where a point is.
 */
import {
  AmbientLight,
  BufferAttribute,
  BufferGeometry,
  Color,
  DataTexture,
  DirectionalLight,
  DoubleSide,
  LineBasicMaterial,
  LineSegments,
  Mesh as Body,
  MeshStandardMaterial,
  OrthographicCamera,
  PerspectiveCamera,
  Plane as ClippingPlane,
  Scene,
  Vector3,
  WebGLRenderer,
  WireframeGeometry,
} from 'three';
import type { Mesh, Plane, Vec3 } from '../../shared-types/mesh.ts';
import { approach, basisOf, eyePoint, lookAlong, shift, turn, type Pose } from './orbit.ts';
import { scaleTexels } from './scale-colours.ts';

export interface BodyLook {
  /** CSS colour of the plain skin. */
  readonly skin: string;
  readonly opacity?: number;
  readonly edges?: boolean;
  /** Show the scan's own colours where it has them. */
  readonly ownColours?: boolean;
  /** Signed length per vertex, mm, drawn over ±`rangeMm` with a line every `stepMm`. */
  readonly map?: { readonly valuesMm: Float32Array; readonly rangeMm: number; readonly stepMm: number };
}

interface Shown {
  readonly body: Body<BufferGeometry, MeshStandardMaterial>;
  edges?: LineSegments;
  readonly mesh: Mesh;
}

const FIELD_OF_VIEW = 28;

export class Viewport {
  readonly #canvas: HTMLCanvasElement;
  readonly #renderer: WebGLRenderer;
  readonly #scene = new Scene();
  readonly #perspective = new PerspectiveCamera(FIELD_OF_VIEW, 1, 1, 1e5);
  readonly #parallel = new OrthographicCamera(-1, 1, 1, -1, -1e4, 1e4);
  readonly #key = new DirectionalLight(0xffffff, 2.2);
  readonly #shown = new Map<string, Shown>();
  readonly #texture: DataTexture;
  readonly #watchers = new Set<() => void>();
  readonly #resize: ResizeObserver;
  #pose: Pose = { target: [0, 0, 0], distance: 900, yaw: 0.6, pitch: 0.25 };
  #isParallel = false;
  #section: ClippingPlane | undefined;
  #frame = 0;

  constructor(canvas: HTMLCanvasElement) {
    this.#canvas = canvas;
    this.#renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    this.#renderer.localClippingEnabled = true;
    this.#texture = new DataTexture(scaleTexels(), 256, 1);
    this.#texture.needsUpdate = true;
    const fill = new DirectionalLight(0xffffff, 0.7);
    fill.position.set(-2, 1, -1);
    this.#scene.add(new AmbientLight(0xffffff, 0.9), this.#key, fill);
    this.#resize = new ResizeObserver(() => this.redraw());
    this.#resize.observe(canvas);
  }

  /** Show (or replace) the body of that name. */
  show(name: string, mesh: Mesh, look: BodyLook): void {
    const old = this.#shown.get(name);
    if (old !== undefined && old.mesh === mesh) {
      this.#dress(old, look);
    } else {
      this.hide(name);
      const geometry = new BufferGeometry();
      geometry.setAttribute('position', new BufferAttribute(Float32Array.from(mesh.positions), 3));
      geometry.setIndex(new BufferAttribute(mesh.triangles, 1));
      geometry.computeVertexNormals();
      geometry.computeBoundingSphere();
      if (mesh.colours !== undefined) {
        geometry.setAttribute('color', new BufferAttribute(mesh.colours, 3, true));
      }
      const material = new MeshStandardMaterial({ roughness: 0.85, metalness: 0, side: DoubleSide });
      const shown: Shown = { body: new Body(geometry, material), mesh };
      this.#scene.add(shown.body);
      this.#shown.set(name, shown);
      this.#dress(shown, look);
    }
    this.redraw();
  }

  hide(name: string): void {
    const shown = this.#shown.get(name);
    if (shown === undefined) return;
    this.#scene.remove(shown.body);
    shown.body.geometry.dispose();
    shown.body.material.dispose();
    if (shown.edges !== undefined) {
      this.#scene.remove(shown.edges);
      shown.edges.geometry.dispose();
    }
    this.#shown.delete(name);
    this.redraw();
  }

  #dress(shown: Shown, look: BodyLook): void {
    const { material, geometry } = shown.body;
    const colours = look.ownColours === true && shown.mesh.colours !== undefined;
    material.color = new Color(colours ? '#ffffff' : look.skin);
    material.vertexColors = colours;
    material.opacity = look.opacity ?? 1;
    material.transparent = material.opacity < 1;
    material.depthWrite = material.opacity === 1;
    const map = look.map;
    if (map !== undefined) geometry.setAttribute('lengthMm', new BufferAttribute(map.valuesMm, 1));
    material.onBeforeCompile = (shader) => {
      if (map === undefined) return;
      shader.uniforms['scaleColours'] = { value: this.#texture };
      shader.uniforms['rangeMm'] = { value: map.rangeMm };
      shader.uniforms['stepMm'] = { value: map.stepMm };
      shader.vertexShader = shader.vertexShader
        .replace('#include <common>', '#include <common>\nattribute float lengthMm;\nvarying float vLengthMm;')
        .replace('#include <begin_vertex>', '#include <begin_vertex>\nvLengthMm = lengthMm;');
      shader.fragmentShader = shader.fragmentShader
        .replace(
          '#include <common>',
          '#include <common>\nvarying float vLengthMm;\nuniform sampler2D scaleColours;\nuniform float rangeMm;\nuniform float stepMm;',
        )
        .replace(
          '#include <color_fragment>',
          `float at = clamp(vLengthMm / (2.0 * rangeMm) + 0.5, 0.002, 0.998);
           vec3 tone = texture2D(scaleColours, vec2(at, 0.5)).rgb;
           float along = vLengthMm / stepMm;
           float width = fwidth(along);
           float line = width > 0.5 ? 0.0 : 1.0 - smoothstep(0.0, 1.2, abs(fract(along + 0.5) - 0.5) / max(width, 1e-6));
           diffuseColor.rgb = pow(mix(tone, vec3(0.1), 0.55 * line), vec3(2.2));`,
        );
    };
    material.customProgramCacheKey = () => (map === undefined ? 'plain' : 'map');
    material.needsUpdate = true;
    material.clippingPlanes = this.#section === undefined ? [] : [this.#section];
    if (look.edges === true && shown.edges === undefined) {
      shown.edges = new LineSegments(
        new WireframeGeometry(geometry),
        new LineBasicMaterial({ color: '#2b2a27', transparent: true, opacity: 0.22 }),
      );
      this.#scene.add(shown.edges);
    }
    if (shown.edges !== undefined) shown.edges.visible = look.edges === true;
  }

  /** Cut all bodies: what lies on the side away from the normal is not drawn. */
  cut(plane: Plane | undefined): void {
    this.#section =
      plane === undefined
        ? undefined
        : new ClippingPlane().setFromNormalAndCoplanarPoint(
            new Vector3(...plane.normal).normalize(),
            new Vector3(...plane.point),
          );
    for (const { body } of this.#shown.values()) {
      body.material.clippingPlanes = this.#section === undefined ? [] : [this.#section];
    }
    this.redraw();
  }

  /** Frame everything shown, from a standard view's direction or the present one. */
  frame(eye?: Vec3): void {
    const centre = new Vector3();
    let radius = 0;
    const spheres = [...this.#shown.values()].map(({ body }) => body.geometry.boundingSphere);
    for (const sphere of spheres) if (sphere !== null) centre.addScaledVector(sphere.center, 1 / spheres.length);
    for (const sphere of spheres) {
      if (sphere !== null) radius = Math.max(radius, centre.distanceTo(sphere.center) + sphere.radius);
    }
    if (eye !== undefined) this.#pose = lookAlong(this.#pose, eye);
    const { clientWidth, clientHeight } = this.#canvas;
    const narrow = Math.min(1, clientWidth / Math.max(1, clientHeight));
    this.#pose.target = [centre.x, centre.y, centre.z];
    this.#pose.distance = ((radius || 100) * 1.05) / Math.sin((FIELD_OF_VIEW * Math.PI) / 360) / narrow;
    this.redraw();
  }

  set parallel(on: boolean) {
    this.#isParallel = on;
    this.redraw();
  }

  get parallel(): boolean {
    return this.#isParallel;
  }

  /** Where the surface is under a point of the canvas (CSS pixels), or undefined. */
  pick(x: number, y: number): { name: string; point: Vec3 } | undefined {
    const ray = this.#rayAt(x, y);
    let best: { name: string; point: Vec3; t: number } | undefined;
    for (const [name, { mesh, body }] of this.#shown) {
      if (!body.visible) continue;
      const t = firstHit(mesh, ray.from, ray.along, this.#section);
      if (t !== undefined && (best === undefined || t < best.t)) {
        best = { name, t, point: [0, 1, 2].map((k) => ray.from[k] + t * ray.along[k]) as unknown as Vec3 };
      }
    }
    return best;
  }

  /** CSS pixels of a point in mm, and whether it is in front of the viewer. */
  where(point: Vec3): { x: number; y: number } {
    const at = new Vector3(...point).project(this.#camera());
    return { x: ((at.x + 1) / 2) * this.#canvas.clientWidth, y: ((1 - at.y) / 2) * this.#canvas.clientHeight };
  }

  /** Turn about the point under (x, y), or about the target where there is none. */
  turnBy(dxPixels: number, dyPixels: number, pivot?: Vec3): void {
    this.#pose = turn(this.#pose, -dxPixels * 0.008, dyPixels * 0.008, pivot ?? this.#pose.target);
    this.redraw();
  }

  shiftBy(dxPixels: number, dyPixels: number): void {
    const mm = this.#mmPerPixel();
    this.#pose = shift(this.#pose, dxPixels * mm, -dyPixels * mm);
    this.redraw();
  }

  approachBy(factor: number, pivot?: Vec3): void {
    this.#pose = approach(this.#pose, factor, pivot ?? this.#pose.target);
    this.redraw();
  }

  /** Called after every redraw, for marks drawn over the canvas. */
  watch(watcher: () => void): () => void {
    this.#watchers.add(watcher);
    return () => this.#watchers.delete(watcher);
  }

  redraw(): void {
    if (this.#frame !== 0) return;
    this.#frame = requestAnimationFrame(() => {
      this.#frame = 0;
      this.#draw();
    });
  }

  dispose(): void {
    cancelAnimationFrame(this.#frame);
    this.#resize.disconnect();
    for (const name of Array.from(this.#shown.keys())) this.hide(name);
    cancelAnimationFrame(this.#frame);
    this.#texture.dispose();
    this.#renderer.dispose();
  }

  #mmPerPixel(): number {
    return (
      (2 * this.#pose.distance * Math.tan((FIELD_OF_VIEW * Math.PI) / 360)) / Math.max(1, this.#canvas.clientHeight)
    );
  }

  #camera(): PerspectiveCamera | OrthographicCamera {
    const { clientWidth: w, clientHeight: h } = this.#canvas;
    const basis = basisOf(this.#pose);
    const camera = this.#isParallel ? this.#parallel : this.#perspective;
    if (camera instanceof PerspectiveCamera) {
      camera.aspect = w / Math.max(1, h);
      camera.near = Math.max(1, this.#pose.distance / 50);
      camera.far = this.#pose.distance * 20;
    } else {
      const half = this.#pose.distance * Math.tan((FIELD_OF_VIEW * Math.PI) / 360);
      camera.left = (-half * w) / Math.max(1, h);
      camera.right = (half * w) / Math.max(1, h);
      camera.top = half;
      camera.bottom = -half;
    }
    camera.up.set(...basis.up);
    camera.position.set(...eyePoint(this.#pose));
    camera.lookAt(new Vector3(...this.#pose.target));
    camera.updateProjectionMatrix();
    camera.updateMatrixWorld(true);
    return camera;
  }

  #rayAt(x: number, y: number): { from: Vec3; along: Vec3 } {
    const camera = this.#camera();
    const nx = (x / this.#canvas.clientWidth) * 2 - 1;
    const ny = 1 - (y / this.#canvas.clientHeight) * 2;
    const near = new Vector3(nx, ny, -1).unproject(camera);
    const far = new Vector3(nx, ny, 1).unproject(camera);
    const along = far.sub(near).normalize();
    return { from: [near.x, near.y, near.z], along: [along.x, along.y, along.z] };
  }

  #draw(): void {
    const { clientWidth: w, clientHeight: h } = this.#canvas;
    if (w === 0 || h === 0) return;
    this.#renderer.setPixelRatio(Math.min(2, window.devicePixelRatio));
    this.#renderer.setSize(w, h, false);
    const camera = this.#camera();
    const { eye, up, right } = basisOf(this.#pose);
    this.#key.position.set(
      ...(eye.map((e, k) => e + 0.8 * up[k] + 0.5 * right[k]) as unknown as [number, number, number]),
    );
    this.#renderer.render(this.#scene, camera);
    for (const watcher of this.#watchers) watcher();
  }
}

/** Nearest drawn hit of a ray with a mesh, by testing every face: a click, not a stroke. O(faces). */
function firstHit(mesh: Mesh, from: Vec3, along: Vec3, section: ClippingPlane | undefined): number | undefined {
  const { positions: p, triangles: t } = mesh;
  let best = Infinity;
  for (let f = 0; f < t.length; f += 3) {
    const a = t[f] * 3,
      b = t[f + 1] * 3,
      c = t[f + 2] * 3;
    const ux = p[b] - p[a],
      uy = p[b + 1] - p[a + 1],
      uz = p[b + 2] - p[a + 2];
    const vx = p[c] - p[a],
      vy = p[c + 1] - p[a + 1],
      vz = p[c + 2] - p[a + 2];
    const hx = along[1] * vz - along[2] * vy,
      hy = along[2] * vx - along[0] * vz,
      hz = along[0] * vy - along[1] * vx;
    const det = ux * hx + uy * hy + uz * hz;
    if (det === 0) continue;
    const sx = from[0] - p[a],
      sy = from[1] - p[a + 1],
      sz = from[2] - p[a + 2];
    const u = (sx * hx + sy * hy + sz * hz) / det;
    if (u < 0 || u > 1) continue;
    const qx = sy * uz - sz * uy,
      qy = sz * ux - sx * uz,
      qz = sx * uy - sy * ux;
    const v = (along[0] * qx + along[1] * qy + along[2] * qz) / det;
    if (v < 0 || u + v > 1) continue;
    const distance = (vx * qx + vy * qy + vz * qz) / det;
    if (distance <= 0 || distance >= best) continue;
    if (section !== undefined) {
      const at = new Vector3(
        from[0] + distance * along[0],
        from[1] + distance * along[1],
        from[2] + distance * along[2],
      );
      if (section.distanceToPoint(at) < 0) continue;
    }
    best = distance;
  }
  return best === Infinity ? undefined : best;
}
