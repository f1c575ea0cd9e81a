/** One mesh as it is shown: its buffers, its look, its map of lengths, its stand-in for motion. */
import {
  Box3,
  BufferAttribute,
  BufferGeometry,
  Color,
  DataTexture,
  Group,
  LineSegments,
  Matrix4,
  Mesh as Drawn,
  Sphere,
  Vector3,
  type ShaderMaterial,
} from 'three';
import { bodyMaterial, lineMaterial, type BodyUniforms, type SharedUniforms } from './body-shader.ts';
import type { Groundwork } from './groundwork.ts';
import type { Palette } from './palette.ts';
import { legendOf, texelsOf } from './scale-colours.ts';
import { edgePairs, packedNormals } from './surface-normals.ts';
import type { Legend, Look, Scale, ViewMesh } from './view-types.ts';

export class Body {
  readonly slot: string;
  readonly mesh: ViewMesh;
  readonly group = new Group();
  readonly positions: Float32Array;
  readonly box = new Box3();
  look: Look = {};
  groundwork: Groundwork | undefined;
  legend: Legend | undefined;
  scale: Scale | undefined;
  readonly #whole = new BufferGeometry();
  #coarse: BufferGeometry | undefined;
  readonly #drawn: Drawn<BufferGeometry, ShaderMaterial>;
  readonly #uniforms: BodyUniforms;
  readonly #shared: SharedUniforms;
  #edges: LineSegments<BufferGeometry, ShaderMaterial> | undefined;
  #texture: DataTexture | undefined;
  readonly #origin: [number, number, number];
  /** Given to each geometry, so that none works it out for itself from numbers that may be none. */
  #sphere = new Sphere();

  constructor(slot: string, mesh: ViewMesh, shared: SharedUniforms) {
    this.slot = slot;
    this.mesh = mesh;
    this.#shared = shared;
    this.#origin = [0, 0, 0];
    this.positions = mesh.positions instanceof Float32Array ? mesh.positions : this.#aroundOrigin(mesh.positions);
    this.#whole.setAttribute('position', new BufferAttribute(this.positions, 3));
    this.#whole.setAttribute('normal', new BufferAttribute(packedNormals(this.positions, mesh.triangles), 4, true));
    this.#whole.setIndex(new BufferAttribute(mesh.triangles, 1));
    boundsOf(this.positions, this.box);
    if (!this.box.isEmpty()) this.#sphere = this.box.getBoundingSphere(new Sphere());
    this.#whole.boundingSphere = this.#sphere;
    if (mesh.colours !== undefined) {
      const tints = new Uint8Array((mesh.colours.length / 3) * 4);
      for (let from = 0, to = 0; from < mesh.colours.length; from += 3, to += 4) {
        tints[to] = mesh.colours[from];
        tints[to + 1] = mesh.colours[from + 1];
        tints[to + 2] = mesh.colours[from + 2];
      }
      this.#whole.setAttribute('tint', new BufferAttribute(tints, 4, true));
    }
    const material = bodyMaterial(shared);
    this.#uniforms = material.uniforms as BodyUniforms;
    this.#drawn = new Drawn(this.#whole, material);
    this.#drawn.frustumCulled = false;
    this.group.add(this.#drawn);
    this.group.matrixAutoUpdate = false;
  }

  /** Doubles far from zero keep their fine places as offsets from the middle. */
  #aroundOrigin(positions: Float64Array): Float32Array {
    const box = boundsOf(positions, new Box3());
    if (!box.isEmpty()) box.getCenter(new Vector3()).toArray(this.#origin);
    const [x, y, z] = this.#origin;
    const near = new Float32Array(positions.length);
    for (let at = 0; at < positions.length; at += 3) {
      near[at] = positions[at] - x;
      near[at + 1] = positions[at + 1] - y;
      near[at + 2] = positions[at + 2] - z;
    }
    return near;
  }

  get faceCount(): number {
    return this.mesh.triangles.length / 3;
  }

  get isShown(): boolean {
    return this.look.visible !== false;
  }

  get skin(): Color {
    return this.#uniforms.skin.value;
  }

  get isGlass(): boolean {
    return this.look.material === 'glass' || (this.look.opacity ?? 1) < 1;
  }

  /** From the numbers in `positions` to the view. */
  get matrix(): Matrix4 {
    return this.group.matrix;
  }

  /** From the view to the mesh's own coordinates. */
  toMesh(): Matrix4 {
    return new Matrix4().makeTranslation(...this.#origin).multiply(this.matrix.clone().invert());
  }

  get bytes(): number {
    let sum = this.groundwork?.bytes ?? 0;
    for (const geometry of [this.#whole, this.#edges?.geometry]) {
      if (geometry === undefined) continue;
      if (geometry === this.#whole) {
        for (const attribute of Object.values(geometry.attributes)) sum += attribute.array.byteLength;
      }
      sum += geometry.index?.array.byteLength ?? 0;
    }
    return sum;
  }

  dress(look: Look, palette: Palette): void {
    this.look = look;
    this.group.visible = this.isShown;
    const matrix = new Matrix4();
    if (look.matrix !== undefined) {
      matrix.set(...(look.matrix as unknown as Parameters<Matrix4['set']>));
    }
    this.group.matrix.copy(matrix.multiply(new Matrix4().makeTranslation(...this.#origin)));
    this.group.matrixWorldNeedsUpdate = true;
    const { material } = this.#drawn;
    const kind = look.material ?? 'clay';
    const ownColours = look.colours === true && this.mesh.colours !== undefined;
    const defines: Record<string, string> = {};
    if (ownColours) defines['OWN_COLOURS'] = '';
    if (this.scale !== undefined) defines['LENGTHS'] = '';
    if (Object.keys(defines).join() !== Object.keys(material.defines ?? {}).join()) {
      material.defines = defines;
      material.needsUpdate = true;
    }
    this.#uniforms.skin.value = new Color(palette.skins[kind]);
    this.#uniforms.glass.value = kind === 'glass' ? 1 : 0;
    this.#uniforms.opacity.value = look.opacity ?? 1;
    material.transparent = this.isGlass;
    material.depthWrite = !this.isGlass;
    this.#drawn.renderOrder = this.isGlass ? 2 : 0;
    if (look.edges === true && this.#edges === undefined) {
      const geometry = new BufferGeometry();
      geometry.setAttribute('position', this.#whole.getAttribute('position'));
      geometry.setIndex(new BufferAttribute(edgePairs(this.mesh.triangles), 1));
      this.#edges = new LineSegments(geometry, lineMaterial(this.#shared, 0.28, 0.15));
      geometry.boundingSphere = this.#sphere;
      this.#edges.frustumCulled = false;
      this.#edges.renderOrder = 1;
      this.group.add(this.#edges);
    }
    if (this.#edges !== undefined) {
      this.#edges.visible = look.edges === true;
      (this.#edges.material.uniforms['skin'].value as Color).set(palette.ink);
    }
  }

  /** -1: only left of the wipe, 1: only right of it, 0: everywhere. */
  set wipeSide(side: number) {
    this.#uniforms.wipeSide.value = side;
    if (this.#edges !== undefined) this.#edges.material.uniforms['wipeSide'].value = side;
  }

  get wipeSide(): number {
    return this.#uniforms.wipeSide.value;
  }

  set isTrimmed(yes: boolean) {
    this.#uniforms.trimmed.value = yes ? 1 : 0;
  }

  setLengths(valuesMm: Float32Array | undefined, scale: Scale | undefined): void {
    this.#texture?.dispose();
    this.#texture = undefined;
    this.scale = undefined;
    this.legend = undefined;
    if (valuesMm === undefined || scale === undefined) {
      this.#whole.deleteAttribute('lengthMm');
      this.#coarse?.deleteAttribute('lengthMm');
      return;
    }
    const attribute = new BufferAttribute(valuesMm, 1);
    this.#whole.setAttribute('lengthMm', attribute);
    this.#coarse?.setAttribute('lengthMm', attribute);
    this.scale = scale;
    this.legend = legendOf(this.slot, valuesMm, scale);
    this.#texture = new DataTexture(texelsOf(scale), 256, 1);
    this.#texture.needsUpdate = true;
    this.#uniforms.scaleColours.value = this.#texture;
    this.#uniforms.scale.value = { x: scale.minMm, y: scale.maxMm, z: this.legend.contourMm };
    this.#uniforms.pinch.value = scale.kind === 'ease' ? 1 : 0;
  }

  receive(groundwork: Groundwork): void {
    this.groundwork = groundwork;
    if (groundwork.coarse === undefined) return;
    this.#coarse = new BufferGeometry();
    for (const [name, attribute] of Object.entries(this.#whole.attributes)) this.#coarse.setAttribute(name, attribute);
    this.#coarse.setIndex(new BufferAttribute(groundwork.coarse, 1));
    this.#coarse.boundingSphere = this.#sphere;
  }

  get canBeCoarse(): boolean {
    return this.#coarse !== undefined;
  }

  /** Answers with the faces that will be drawn. */
  choose(isCoarse: boolean): number {
    const coarse = isCoarse ? this.#coarse : undefined;
    this.#drawn.geometry = coarse ?? this.#whole;
    if (this.#edges !== undefined) this.#edges.visible = this.look.edges === true && coarse === undefined;
    return this.isShown ? (this.#drawn.geometry.index?.count ?? 0) / 3 : 0;
  }

  /** Draws only these faces (for the magnifier), until undone. */
  lend(faces: Uint32Array): () => void {
    const part = new BufferGeometry();
    for (const [name, attribute] of Object.entries(this.#whole.attributes)) part.setAttribute(name, attribute);
    part.setIndex(new BufferAttribute(faces, 1));
    part.boundingSphere = this.#sphere;
    const before = this.#drawn.geometry;
    this.#drawn.geometry = part;
    return () => {
      this.#drawn.geometry = before;
      // only the list of faces is this geometry's own; the vertices stay with the whole
      part.attributes = {};
      part.dispose();
    };
  }

  /** Lets go of what the graphics hold; it is made again when it is next drawn. */
  release(): void {
    this.#edges?.geometry.dispose();
    this.#edges?.material.dispose();
    this.#coarse?.dispose();
    this.#whole.dispose();
    this.#drawn.material.dispose();
    this.#texture?.dispose();
  }

  dispose(): void {
    this.group.removeFromParent();
    this.release();
  }
}

/** Of the vertices whose three numbers are numbers. */
function boundsOf(positions: Float32Array | Float64Array, box: Box3): Box3 {
  const { min, max } = box.makeEmpty();
  for (let at = 0; at + 2 < positions.length; at += 3) {
    const x = positions[at],
      y = positions[at + 1],
      z = positions[at + 2];
    // one sum is none if any of the three is
    if (!Number.isFinite(x + y + z)) continue;
    if (x < min.x) min.x = x;
    if (x > max.x) max.x = x;
    if (y < min.y) min.y = y;
    if (y > max.y) max.y = y;
    if (z < min.z) min.z = z;
    if (z > max.z) max.z = z;
  }
  return box;
}
