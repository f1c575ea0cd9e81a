/**
 * The desk on which a wearer's form and all that is made over it stand: draws, lets the hand move the view, picks.
 * No React inside; a screen mounts one on an element, tells it what to show and hears what was touched. Lengths are mm,
 * x forward, y to the wearer's left, z up. It works, without a picture but with its lists, where there is no WebGL.
 */
import { Box3, Vector3, WebGLRenderTarget, type BufferGeometry, type Mesh, type ShaderMaterial } from 'three';
import type { Vec3 } from '../../shared-types/mesh.ts';
import { MOST_TRIMS, sharedUniforms } from './body-shader.ts';
import { Body } from './body.ts';
import { FloorRing } from './floor-ring.ts';
import { GroundworkOffice } from './groundwork.ts';
import { Hand } from './hand.ts';
import { basisOf, lookAlong, type Pose } from './orbit.ts';
import { Overlay, svgElement } from './overlay.ts';
import { PALETTES, type Palette } from './palette.ts';
import { readPicture } from './picture.ts';
import { PlaneHandles } from './plane-handles.ts';
import { Pointing } from './pointing.ts';
import { SectionFace } from './section-face.ts';
import { FIELD_OF_VIEW, Stage } from './stage.ts';
import { Tapes } from './tapes.ts';
import { adoptStyle, wear } from './view-style.ts';
import type {
  Hit,
  Legend,
  Look,
  Mark,
  PickMode,
  Projection,
  Scale,
  Section,
  SectionPlane,
  SpanMark,
  Tape,
  Theme,
  TrimPlane,
  ViewMesh,
  ViewName,
  ViewStats,
} from './view-types.ts';
import { STANDARD_VIEWS } from './views.ts';
import { WipeDivider } from './wipe-divider.ts';

export type * from './view-types.ts';
export { STANDARD_VIEWS } from './views.ts';

export interface ViewportOptions {
  readonly theme: Theme;
  /** What the picture is called when read aloud. */
  readonly label?: string;
  readonly onPick?: (hit: Hit) => void;
  readonly onCamera?: (pose: Pose) => void;
  /** The active trim plane is being dragged; give it back through setPlanes. */
  readonly onPlane?: (id: string, point: Vec3, normal: Vec3) => void;
  /** A label (of a mark, span or tape) was pressed. */
  readonly onMark?: (id: string) => void;
  readonly onWipe?: (fraction: number) => void;
  /** While moving, stand-ins are drawn where a whole picture takes longer than this; 60 unless told. */
  readonly slowFrameMs?: number;
  /** A sentence to show, or undefined when it is over; it is shown over the picture as well. */
  readonly onTrouble?: (sentence: string | undefined) => void;
}

/** Faces of the stand-in that is drawn while a heavy mesh moves. */
const COARSE_FACES = 16_000;
const NO_PICTURE =
  'This browser cannot draw in three dimensions (WebGL 2 is switched off or missing), so there is no picture here. ' +
  'Switch on graphics acceleration in its settings, or open the studio in another browser; all figures and lists work as they are.';

export class Viewport {
  readonly #root = document.createElement('div');
  readonly #options: ViewportOptions;
  readonly #stage: Stage;
  readonly #shared = sharedUniforms();
  readonly #bodies = new Map<string, Body>();
  readonly #calledOff = new Map<string, () => void>();
  readonly #office = new GroundworkOffice();
  readonly #floor = new FloorRing();
  readonly #tapes = new Tapes();
  readonly #sectionFace: SectionFace;
  readonly #overlay: Overlay;
  readonly #handles: PlaneHandles;
  readonly #divider: WipeDivider;
  readonly #pointing: Pointing;
  readonly #hand: Hand;
  readonly #trouble = document.createElement('div');
  #palette: Palette;
  #section: SectionPlane | undefined;
  #isSectionStale = false;
  #wipe: { fraction: number; before: string; after: string } | undefined;
  #hasBeenFramed = false;

  constructor(host: HTMLElement, options: ViewportOptions) {
    this.#options = options;
    this.#palette = PALETTES[options.theme];
    adoptStyle();
    const root = this.#root;
    root.className = 'ww-view';
    root.tabIndex = 0;
    root.setAttribute('role', 'group');
    root.setAttribute('aria-roledescription', 'fitting view');
    root.setAttribute('aria-label', options.label ?? 'View of the form');
    root.setAttribute(
      'aria-description',
      'Arrow keys turn, with shift they move the view; plus and minus come nearer and go back; Home shows everything; ' +
        'f, b, l, r, a, u, q: front, back, left, right, above, under, three-quarter.',
    );
    host.append(root);
    this.#stage = new Stage(root, {
      prepare: (isCoarse) => this.#prepare(isCoarse),
      follow: () => this.#follow(),
      trouble: (sentence) => this.#tell(sentence),
      release: () => this.#release(),
    });
    if (options.slowFrameMs !== undefined) this.#stage.slowMs = options.slowFrameMs;
    this.#sectionFace = new SectionFace(this.#shared);
    this.#stage.scene.add(this.#floor.group, this.#tapes.group, this.#sectionFace.group);
    const furniture = [this.#floor.group, this.#tapes.group];
    this.#pointing = new Pointing({
      stage: this.#stage,
      bodies: this.#bodies,
      furniture,
      palette: () => this.#palette,
      wipeAt: () => (this.#wipe === undefined ? undefined : this.#wipe.fraction * this.#stage.width),
      section: () => (this.#section === undefined ? undefined : this.#shared.section.value),
      prepare: () => this.#prepare(false),
      picked: (hit) => options.onPick?.(hit),
    });
    this.#overlay = new Overlay((id) => options.onMark?.(id));
    this.#handles = new PlaneHandles(this.#stage, (id, point, normal) => options.onPlane?.(id, point, normal));
    this.#divider = new WipeDivider((fraction) => this.#moveWipe(fraction));
    const planes = svgElement('g', {});
    planes.append(this.#handles.drawing);
    const under = svgElement('svg', { 'aria-hidden': 'true' });
    under.append(planes);
    this.#trouble.className = 'ww-trouble';
    this.#trouble.setAttribute('role', 'alert');
    this.#trouble.hidden = true;
    root.append(this.#stage.canvas, under, this.#overlay.svg, this.#overlay.list, this.#handles.layer);
    root.append(this.#divider.element, this.#pointing.lens.canvas, this.#trouble);
    this.#hand = new Hand(root, this.#stage, {
      under: (x, y) => this.#pointing.hitAt(x, y)?.point,
      click: (x, y, isSnapping) => this.#pointing.click(x, y, isSnapping),
      hover: (x, y, isSnapping) => this.#pointing.hovered(x, y, isSnapping),
      leave: () => this.#pointing.leave(),
      move: (pose) => this.#move(pose),
      view: (name) => this.view(name),
      frame: () => this.frame(),
      toggleProjection: () =>
        this.setProjection(this.#stage.projection === 'perspective' ? 'orthographic' : 'perspective'),
    });
    this.setTheme(options.theme);
    if (this.#stage.renderer === undefined) this.#tell(NO_PICTURE);
  }

  /** Show a mesh in a slot ('scan', 'form', 'liner', 'part'...), or empty the slot. The first one shown is framed. */
  setMesh(slot: string, mesh: ViewMesh | undefined, look: Look = {}): void {
    const old = this.#bodies.get(slot);
    if (old !== undefined && mesh !== undefined && isSame(old.mesh, mesh)) {
      old.dress(look, this.#palette);
    } else {
      this.#calledOff.get(slot)?.();
      this.#calledOff.delete(slot);
      old?.dispose();
      this.#bodies.delete(slot);
      if (mesh !== undefined) this.#add(slot, mesh, look);
    }
    this.#contentsChanged();
  }

  #add(slot: string, mesh: ViewMesh, look: Look): void {
    const body = new Body(slot, mesh, this.#shared);
    body.dress(look, this.#palette);
    this.#bodies.set(slot, body);
    this.#stage.scene.add(body.group);
    const order = { positions: body.positions, triangles: mesh.triangles, coarseFaces: COARSE_FACES };
    this.#calledOff.set(
      slot,
      this.#office.order(order, (groundwork) => {
        this.#calledOff.delete(slot);
        body.receive(groundwork);
        this.#stage.request();
        this.#pointing.becameReady();
      }),
    );
    this.#stage.buffersChanged();
  }

  #contentsChanged(): void {
    const bounds = this.#stage.bounds.makeEmpty();
    const box = new Box3();
    for (const body of this.#bodies.values()) {
      if (body.isShown && !body.box.isEmpty()) bounds.union(box.copy(body.box).applyMatrix4(body.matrix));
    }
    this.#floor.stand(bounds);
    this.#isSectionStale = true;
    if (!this.#hasBeenFramed && !bounds.isEmpty()) {
      this.#hasBeenFramed = true;
      this.frame();
    }
    this.#applyWipe();
  }

  /** Paint a map of lengths on a mesh; NaN where there is none. */
  setScalars(slot: string, perVertexMm: Float32Array | undefined, scale?: Scale): void {
    const body = this.#bodies.get(slot);
    if (body === undefined) return;
    body.setLengths(perVertexMm, scale);
    body.dress(body.look, this.#palette);
    this.#stage.buffersChanged();
  }

  /** What to draw beside a map; of the first slot that has one, unless named. */
  getLegend(slot?: string): Legend | undefined {
    if (slot !== undefined) return this.#bodies.get(slot)?.legend;
    return Array.from(this.#bodies.values()).find((body) => body.legend !== undefined && body.isShown)?.legend;
  }

  setMarks(marks: readonly Mark[]): void {
    this.#overlay.setMarks(marks);
    this.#stage.request();
  }

  setSpans(spans: readonly SpanMark[]): void {
    this.#overlay.setSpans(spans);
    this.#stage.request();
  }

  setTapes(tapes: readonly Tape[]): void {
    this.#tapes.set(tapes);
    this.#overlay.setTapes(tapes);
    this.#stage.buffersChanged();
  }

  /** Trim planes; what goes is hatched, on the named slots or on all. At most six are hatched. */
  setPlanes(planes: readonly TrimPlane[], slots?: readonly string[]): void {
    this.#handles.set(planes);
    const { trims, trimCount } = this.#shared;
    trimCount.value = Math.min(planes.length, MOST_TRIMS);
    for (let k = 0; k < trimCount.value; k++) asVector(planes[k], trims.value[k]);
    for (const body of this.#bodies.values()) body.isTrimmed = slots === undefined || slots.includes(body.slot);
    this.#stage.request();
  }

  /** Open the view along a plane, or close it again. */
  setSection(plane: SectionPlane | undefined): void {
    this.#section = plane;
    this.#isSectionStale = true;
    this.#shared.hasSection.value = plane === undefined ? 0 : 1;
    if (plane !== undefined) asVector(plane, this.#shared.section.value);
    this.#stage.request();
  }

  /** The lines of the cut on its own sheet, for the drawing beside. */
  getSection(): Section | undefined {
    this.#cut();
    return this.#sectionFace.section;
  }

  #cut(): void {
    if (!this.#isSectionStale) return;
    this.#isSectionStale = false;
    this.#sectionFace.cut(this.#section, this.#bodies.values());
  }

  /** Before on the left of a line, after on its right; undefined ends it. */
  setWipe(fraction: number | undefined, before = '', after = ''): void {
    this.#wipe = fraction === undefined ? undefined : { fraction, before, after };
    this.#applyWipe();
  }

  #moveWipe(fraction: number): void {
    if (this.#wipe === undefined) return;
    this.#wipe.fraction = fraction;
    this.#options.onWipe?.(fraction);
    this.#applyWipe();
  }

  #applyWipe(): void {
    const wipe = this.#wipe;
    for (const body of this.#bodies.values()) {
      body.wipeSide = wipe === undefined ? 0 : body.slot === wipe.before ? -1 : body.slot === wipe.after ? 1 : 0;
    }
    this.#divider.show(wipe?.fraction, wipe?.before ?? '', wipe?.after ?? '');
    this.#stage.request();
  }

  /** In 'surface' a magnifier follows the pointer and a click picks; with Alt held, the highest point nearby. */
  setPickMode(mode: PickMode): void {
    this.#pointing.mode = mode;
    this.#root.dataset['picking'] = mode === 'none' ? 'no' : 'yes';
    if (mode === 'surface') this.#root.setAttribute('aria-keyshortcuts', 'Enter');
    else this.#root.removeAttribute('aria-keyshortcuts');
  }

  view(name: ViewName): void {
    const found = STANDARD_VIEWS.find((view) => view.name === name);
    if (found !== undefined) this.#move(lookAlong(this.#stage.pose, found.eye), false);
  }

  /** Come to where everything shown fits. */
  frame(): void {
    const { bounds, pose, width, height } = this.#stage;
    if (bounds.isEmpty()) return;
    this.#hasBeenFramed = true;
    const { eye, right, up } = basisOf(pose);
    const centre = bounds.getCenter(new Vector3());
    const half = bounds.getSize(new Vector3()).multiplyScalar(0.5);
    const reach = (axis: Vec3): number =>
      Math.abs(axis[0]) * half.x + Math.abs(axis[1]) * half.y + Math.abs(axis[2]) * half.z;
    const tangent = Math.tan((FIELD_OF_VIEW * Math.PI) / 360);
    const fit = Math.max(reach(up) / tangent, reach(right) / (tangent * (width / height)));
    this.#move({ ...pose, target: centre.toArray(), distance: fit * 1.1 + 0.4 * reach(eye) }, false);
  }

  setProjection(projection: Projection): void {
    this.#stage.projection = projection;
    this.#stage.request();
  }

  setTheme(theme: Theme): void {
    this.#palette = PALETTES[theme];
    const palette = this.#palette;
    wear(this.#root, palette);
    this.#floor.wear(palette);
    this.#tapes.wear(palette);
    this.#sectionFace.wear(palette);
    this.#shared.cutColour.value.set(palette.cut);
    this.#shared.groundColour.value.set(palette.ground);
    this.#shared.inkColour.value.set(palette.ink);
    for (const body of this.#bodies.values()) body.dress(body.look, palette);
    this.#stage.request();
  }

  getPose(): Pose {
    return { ...this.#stage.pose };
  }

  setPose(pose: Pose): void {
    this.#hasBeenFramed = true;
    this.#move(pose, false);
  }

  /** Where a point is in the picture, CSS pixels from its upper left. */
  placeOf(point: Vec3): { x: number; y: number } {
    const { x, y } = this.#stage.place(point);
    return { x, y };
  }

  /** What is drawn under a place of the picture (CSS pixels), or undefined; needs the search trees (`stats().isPickable`). */
  pickAt(x: number, y: number, snap = false): Hit | undefined {
    return this.#pointing.hitAt(x, y, snap);
  }

  /** A PNG of the present view, bodies and tapes without labels. */
  async snapshot(width: number, height: number): Promise<Blob> {
    const { renderer } = this.#stage;
    const canvas = document.createElement('canvas');
    canvas.width = width;
    canvas.height = height;
    const brush = canvas.getContext('2d');
    if (brush === null) throw new Error('no 2D canvas');
    brush.fillStyle = this.#palette.ground;
    brush.fillRect(0, 0, width, height);
    if (renderer !== undefined && !renderer.getContext().isContextLost()) {
      const target = new WebGLRenderTarget(width, height, { samples: 4 });
      this.#prepare(false);
      this.#shared.pixel.value = 1;
      this.#shared.wipeAt.value = (this.#wipe?.fraction ?? 0) * width;
      renderer.setRenderTarget(target);
      renderer.clear();
      this.#stage.drawWith(this.#stage.cameraFor(width, height));
      brush.putImageData(readPicture(renderer, target, this.#palette.ground), 0, 0);
      renderer.setRenderTarget(null);
      target.dispose();
      this.#stage.request();
    }
    return await new Promise((resolve, reject) =>
      canvas.toBlob((blob) => (blob === null ? reject(new Error('no picture')) : resolve(blob)), 'image/png'),
    );
  }

  stats(): ViewStats & { readonly pictures: number } {
    const bodies = Array.from(this.#bodies.values());
    const shown = bodies.filter((body) => body.isShown);
    return {
      frameMs: this.#stage.frameMs,
      movingFrameMs: this.#stage.movingFrameMs,
      movingTriangles: this.#stage.movingTriangles,
      triangles: shown.reduce((sum, body) => sum + body.faceCount, 0),
      drawnTriangles: this.#stage.drawnTriangles,
      geometryBytes: bodies.reduce((sum, body) => sum + body.bytes, 0),
      isPickable: shown.every((body) => body.look.pickable === false || body.groundwork !== undefined),
      pictures: this.#stage.pictures,
    };
  }

  #release(): void {
    for (const body of this.#bodies.values()) body.release();
    this.#pointing.lens.release();
    for (const part of [this.#floor.group, this.#tapes.group, this.#sectionFace.group]) {
      part.traverse((object) => {
        const { geometry, material } = object as Partial<Mesh<BufferGeometry, ShaderMaterial>>;
        geometry?.dispose();
        material?.dispose();
      });
    }
  }

  dispose(): void {
    this.#hand.dispose();
    this.#office.dispose();
    for (const body of this.#bodies.values()) body.dispose();
    this.#bodies.clear();
    this.#floor.dispose();
    this.#tapes.dispose();
    this.#sectionFace.dispose();
    this.#pointing.dispose();
    this.#stage.dispose();
    this.#root.remove();
  }

  #move(pose: Pose, isMoving = true): void {
    this.#stage.pose = pose;
    this.#stage.request(isMoving);
    this.#options.onCamera?.(pose);
  }

  #prepare(isCoarse: boolean): number {
    this.#cut();
    const pixel = this.#stage.renderer?.getPixelRatio() ?? 1;
    this.#shared.pixel.value = pixel;
    this.#shared.wipeAt.value = (this.#wipe?.fraction ?? 0) * this.#stage.width * pixel;
    this.#shared.coarse.value = isCoarse ? 1 : 0;
    let faces = 0;
    for (const body of this.#bodies.values()) faces += body.choose(isCoarse);
    return faces;
  }

  #follow(): void {
    const { bounds } = this.#stage;
    const centre = bounds.isEmpty() ? this.#stage.pose.target : bounds.getCenter(new Vector3()).toArray();
    this.#overlay.follow(this.#stage, centre, (point) => this.#pointing.isBehind(point));
    this.#handles.follow(bounds);
  }

  #tell(sentence: string | undefined): void {
    this.#trouble.hidden = sentence === undefined;
    this.#trouble.textContent = sentence ?? '';
    this.#options.onTrouble?.(sentence);
  }
}

function isSame(a: ViewMesh, b: ViewMesh): boolean {
  return a.positions === b.positions && a.triangles === b.triangles && a.colours === b.colours;
}

function asVector(plane: SectionPlane, into: { set(x: number, y: number, z: number, w: number): unknown }): void {
  const normal = new Vector3(...plane.normal).normalize();
  into.set(normal.x, normal.y, normal.z, -normal.dot(new Vector3(...plane.point)));
}
