/**
 * Files to meshes and back. What a file is, is decided by its contents; its name only breaks ties and is warned
 * about when it says something else.
 */
import { boundsOf } from '../geometry/mesh/quantities.ts';
import { IDENTITY, multiply, transformMesh, translation } from '../geometry/mesh/transform.ts';
import { countText } from '../../shared-types/counts.ts';
import type { Mesh, Vec3 } from '../../shared-types/mesh.ts';
import { done, type Outcome, type Warning } from '../../shared-types/outcome.ts';
import { QUIET_RUN, type RunContext } from '../../shared-types/progress.ts';
import { isGlb, readGltf } from './gltf.ts';
import { TO_GLTF, writeGlb } from './gltf-write.ts';
import { readObj, writeObj } from './obj.ts';
import { readPly, writePly } from './ply.ts';
import type { FormatId, ReadMesh, WrittenMesh } from './read-mesh.ts';
import { isBinaryStl, readStl, writeStl } from './stl.ts';
import { isThreeMf, readThreeMf } from './three-mf.ts';
import { writeThreeMf, writeThreeMfSet } from './three-mf-write.ts';
import { atTheEdge, give } from './trouble.ts';
import { archiveReader, isZip, listZip, type ZipEntry } from './zip.ts';

export type { FormatId, ReadMesh, WrittenMesh } from './read-mesh.ts';

/** Endings a mesh file may have. */
export const MESH_EXTENSIONS: Readonly<Record<string, FormatId>> = {
  obj: 'obj',
  stl: 'stl',
  ply: 'ply',
  glb: 'gltf',
  gltf: 'gltf',
  '3mf': '3mf',
};

const extensionOf = (name: string): string => /\.([a-z0-9]+)$/i.exec(name)?.[1]?.toLowerCase() ?? '';

/** Read a mesh, or a zip that holds one. Never throws on bad input; memory is bounded by the file's own size. */
export function readMesh(bytes: Uint8Array, fileName: string, run: RunContext = QUIET_RUN): Outcome<ReadMesh> {
  return atTheEdge(() => {
    if (bytes.length === 0) give('file.empty', {});
    if (isZip(bytes)) {
      const entries = listZip(bytes).filter((entry) => !entry.name.endsWith('/'));
      if (isThreeMf(entries.map((entry) => entry.name))) return near(named(readThreeMf(bytes, run), '3mf', fileName));
      return near(readFromZip(bytes, entries, run));
    }
    return near(readPlain(bytes, fileName, run, () => undefined));
  });
}

/** A mesh this many times as far from its origin as it is large loses a ten thousandth of itself in single precision. */
const FAR_OFF = 1000;

/** A mesh far from its origin, as one that lies on a map, brought there: what is written and proven is in single precision. */
function near(outcome: Outcome<ReadMesh>): Outcome<ReadMesh> {
  if (!outcome.ok) return outcome;
  const { mesh, fromFile } = outcome.value;
  const { min, max } = boundsOf(mesh.positions);
  const size = Math.max(...max.map((x, k) => x - min[k]));
  const away = Math.max(...max.map((x, k) => Math.max(Math.abs(x), Math.abs(min[k]))));
  if (!(away > FAR_OFF * size) || size === 0) return outcome;
  const moved = translation(min.map((x, k) => -(x + max[k]) / 2) as unknown as Vec3);
  const warning: Warning = {
    code: 'file.far-off',
    sentence: `The mesh lies ${countText(Number((away / size).toPrecision(1)))} times as far from its origin as it is large, where its points would be rounded; it was moved to its origin.`,
  };
  const value = { ...outcome.value, mesh: transformMesh(moved, mesh), fromFile: multiply(moved, fromFile) };
  return done(value, [...outcome.warnings, warning]);
}

function readPlain(
  given: Uint8Array,
  fileName: string,
  run: RunContext,
  companion: (name: string) => Uint8Array | undefined,
): Outcome<ReadMesh> {
  const marked = given[0] === 0xef && given[1] === 0xbb && given[2] === 0xbf && !isBinaryStl(given);
  const bytes = marked ? given.subarray(3) : given;
  const format = sniff(bytes, fileName);
  switch (format) {
    case 'stl':
      return named(readStl(bytes, run), format, fileName);
    case 'ply':
      return named(readPly(bytes, run), format, fileName);
    case 'gltf':
      return named(readGltf(bytes, run, companion), format, fileName);
    case '3mf':
      return named(readThreeMf(bytes, run), format, fileName);
    case 'obj':
      return named(readObj(bytes, run), format, fileName);
  }
}

function named(outcome: Outcome<ReadMesh>, format: FormatId, fileName: string): Outcome<ReadMesh> {
  const extension = extensionOf(fileName);
  if (!outcome.ok || extension === '' || extension === 'zip' || MESH_EXTENSIONS[extension] === format) return outcome;
  const warning: Warning = {
    code: 'file.name-differs',
    sentence: `The name ends in .${extension}, but the contents are ${format.toUpperCase()}; it was read as that.`,
  };
  return done(outcome.value, [...outcome.warnings, warning]);
}

/** What kind of mesh file the bytes are. Faults with what they look like instead. */
function sniff(bytes: Uint8Array, fileName: string): FormatId {
  // Not by TextDecoder, whose "latin1" is windows-1252 and turns 0x80-0x9f into something else.
  const head = String.fromCharCode(...bytes.subarray(0, 4096));
  if (/^ply\s/.test(head)) return 'ply';
  if (isGlb(bytes)) return 'gltf';
  if (isBinaryStl(bytes)) return 'stl';
  const foreign = foreignKind(head);
  if (foreign !== undefined) give('file.unknown-kind', { looksLike: foreign }, { byte: 0 });
  if (/^\s*(\xef\xbb\xbf)?\s*\{/.test(head)) return 'gltf';
  if (/^\s*solid\b/i.test(head)) return 'stl';
  const extension = extensionOf(fileName);
  const binary = head.includes('\0');
  if (!binary && /^\s*v\s+[-+.\d]/m.test(head)) return 'obj';
  if (extension === 'stl') return 'stl';
  if (!binary && (extension === 'obj' || /^\s*(#|v\s|vn\s|vt\s|mtllib\s|o\s|g\s)/m.test(head))) return 'obj';
  return give('file.unknown-kind', { looksLike: binary ? 'data of an unknown kind' : 'text' }, { byte: 0 });
}

function foreignKind(head: string): string | undefined {
  if (head.startsWith('\xff\xd8\xff')) return 'a JPEG picture';
  if (head.startsWith('\x89PNG')) return 'a PNG picture';
  if (/^....ftyp/s.test(head)) return 'a film or a phone picture';
  if (head.startsWith('GIF8')) return 'a GIF picture';
  if (head.startsWith('%PDF')) return 'a PDF document';
  if (head.startsWith('PK\x03\x04') || head.startsWith('PK\x05\x06')) return 'a zip inside a zip';
  if (head.startsWith('\x1f\x8b')) return 'a gzip archive';
  if (head.startsWith("7z\xbc\xaf'") || head.startsWith('Rar!')) return 'an archive other than zip';
  if (/^\s*<(!doctype html|html)/i.test(head)) return 'a web page';
  if (/^\xff\xfe|^\xfe\xff/.test(head)) return 'text in a 16-bit encoding';
  return undefined;
}

function readFromZip(bytes: Uint8Array, entries: readonly ZipEntry[], run: RunContext): Outcome<ReadMesh> {
  const isMesh = (entry: ZipEntry): boolean =>
    MESH_EXTENSIONS[extensionOf(entry.name)] !== undefined && !/(^|\/)(__MACOSX\/|\.)/.test(entry.name);
  const meshes = entries.filter(isMesh).sort((a, b) => b.claimedSize - a.claimedSize || (a.name < b.name ? -1 : 1));
  const chosen = meshes[0];
  if (chosen === undefined) return give('archive.no-mesh', { entries: entries.length });
  const inflate = archiveReader(bytes, run);
  const folder = chosen.name.slice(0, chosen.name.lastIndexOf('/') + 1);
  const companion = (name: string): Uint8Array | undefined => {
    const beside = entries.find((entry) => entry.name === folder + name.replace(/^\.\//, ''));
    return beside === undefined ? undefined : inflate(beside);
  };
  const contents = inflate(chosen);
  const inner = isZip(contents) ? listZip(contents).map((entry) => entry.name) : undefined;
  if (inner !== undefined && !isThreeMf(inner))
    give('file.unsupported', { what: 'a zip inside a zip', remedy: 'unpack the outer one first' });
  const outcome =
    inner === undefined
      ? readPlain(contents, chosen.name, run, companion)
      : named(readThreeMf(contents, run), '3mf', chosen.name);
  if (!outcome.ok)
    return { ok: false, fault: { ...outcome.fault, where: { file: chosen.name, ...outcome.fault.where } } };
  const warnings = [...outcome.warnings];
  if (meshes.length > 1) {
    warnings.push({
      code: 'archive.several-meshes',
      sentence: `The zip holds ${meshes.length} meshes; the largest, ${chosen.name}, was read.`,
    });
  }
  const textures =
    outcome.value.format === 'obj' ? texturesOf(outcome.value.textures, companion) : outcome.value.textures;
  return done({ ...outcome.value, textures }, warnings);
}

const MOST_LIBRARIES = 32;

/** The pictures that the material files beside an OBJ name. */
function texturesOf(libraries: readonly string[], companion: (name: string) => Uint8Array | undefined): string[] {
  return [...new Set(libraries)].slice(0, MOST_LIBRARIES).flatMap((library) => {
    const bytes = companion(library);
    if (bytes === undefined) return [];
    const text = new TextDecoder().decode(bytes.subarray(0, 1 << 20));
    return Array.from(text.matchAll(/^\s*map_\w+\s+(?:-\S+\s+\S+\s+)*(.+?)\s*$/gm), (m) => m[1]);
  });
}

/** Bytes of a mesh (mm, z up) in the format that the file name's ending chooses. */
export function writeMesh(mesh: Mesh, fileName: string): Outcome<WrittenMesh> {
  return atTheEdge(() => {
    if (mesh.triangles.length === 0) give('mesh.no-faces', {});
    switch (MESH_EXTENSIONS[extensionOf(fileName)]) {
      case 'obj':
        return done({ bytes: writeObj(mesh), toFile: IDENTITY });
      case 'stl':
        return done({ bytes: writeStl(mesh), toFile: IDENTITY });
      case 'ply':
        return done({ bytes: writePly(mesh), toFile: IDENTITY });
      case 'gltf':
        if (extensionOf(fileName) === 'gltf') give('file.unknown-target', { name: fileName });
        return done({ bytes: writeGlb(mesh), toFile: TO_GLTF });
      case '3mf': {
        const title = fileName.replace(/^.*[\\/]/, '').replace(/\.[^.]*$/, '');
        return done(writeThreeMf(mesh, title));
      }
      default:
        return give('file.unknown-target', { name: fileName });
    }
  });
}

/** Several closed bodies with their names in one 3MF. */
export function writeBodies(
  bodies: readonly { readonly name: string; readonly mesh: Mesh }[],
  title: string,
): Outcome<Uint8Array<ArrayBuffer>> {
  return atTheEdge(() => done(writeThreeMfSet(bodies, title)));
}
