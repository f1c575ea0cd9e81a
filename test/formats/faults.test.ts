/** Each trouble with a file: what makes it, and the sentence a person reads. */
import { strToU8, zipSync } from 'fflate';
import { deflateRawSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { readMesh, writeMesh } from '../../electron/formats/index.ts';
import { inflateEntry, listZip } from '../../electron/formats/zip.ts';
import { FAULT_CODES, fault, faultSentence, type Fault } from '../../shared-types/faults/index.ts';
import {
  glbOf,
  glbBytes,
  gltfOf,
  MESH_XML,
  modelXml,
  mustFail,
  OBJ_TEXT,
  PLY_TEXT,
  soupOf,
  stlBytes,
  stlText,
  TETRAHEDRON,
  text,
  threeMfBytes,
} from './build-files.ts';

const seen = new Set<string>();
const say = (trouble: Fault): string => {
  seen.add(trouble.code);
  return faultSentence(trouble);
};
const sentence = (bytes: Uint8Array, name: string): string => say(mustFail(bytes, name));

/** A zip whose one entry's directory record is changed: `at` counts from the start of the record. */
function spoiltZip(
  contents: Uint8Array,
  change: (view: DataView, record: number) => void,
  level: 0 | 6 = 6,
): Uint8Array {
  const bytes = zipSync({ 'a.obj': contents }, { level });
  const view = new DataView(bytes.buffer, bytes.byteOffset);
  let record = bytes.length - 22;
  while (view.getUint32(record, true) !== 0x02014b50) record--;
  change(view, record);
  return bytes;
}

describe('sentences of the readers', () => {
  it.each<[string, Uint8Array, string, string]>([
    ['empty', new Uint8Array(0), 'a.obj', 'The file is empty; export it again.'],
    [
      'JPEG',
      new Uint8Array([0xff, 0xd8, 0xff, 0xe0, 0, 16, 74, 70, 73, 70, 0]),
      'a.obj',
      'byte 0: This is not a mesh this program reads (it looks like a JPEG picture); give it an OBJ, STL, PLY, GLB, glTF or 3MF file, or a zip that holds one.',
    ],
    ['PNG', new Uint8Array([0x89, 80, 78, 71, 13, 10, 26, 10, 0, 0, 0, 13]), 'a.stl', 'looks like a PNG picture'],
    ['PDF', text('%PDF-1.7\n%âãÏÓ\n'), 'a.ply', 'looks like a PDF document'],
    ['web page', text('<!DOCTYPE html><html><body>v 1 2 3</body></html>'), 'a.obj', 'looks like a web page'],
    ['plain text', text('Dear wearer,\nplease find the scan attached.\n'), 'a.txt', 'looks like text'],
    ['gzip', new Uint8Array([0x1f, 0x8b, 8, 0, 0, 0, 0, 0]), 'a.obj', 'looks like a gzip archive'],
    ['film', new Uint8Array([0, 0, 0, 24, ...text('ftypheic')]), 'a.glb', 'looks like a film or a phone picture'],
    [
      'UTF-16',
      new Uint8Array([0xff, 0xfe, ...Array.from(text(OBJ_TEXT)).flatMap((c) => [c, 0])]),
      'a.obj',
      'looks like text in a 16-bit encoding',
    ],
    ['NUL bytes', new Uint8Array(500), 'a.obj', 'looks like data of an unknown kind'],
    [
      'OBJ cut in a number',
      text('v 0 0 0\nv 1 0\n'),
      'a.obj',
      'line 2: "(nothing)" stands where a number belongs; export the file again.',
    ],
    [
      'OBJ NaN',
      text('v 0 0 0\nv 1 nan 0\n'),
      'a.obj',
      'line 2: Vertex 2 has a coordinate that is not a number; delete that vertex or export the file again.',
    ],
    ['OBJ infinite', text('v 0 0 0\nv 1 -inf 0\n'), 'a.obj', 'line 2: Vertex 2'],
    ['OBJ too large a number', text('v 0 0 0\nv 1 1e999 0\n'), 'a.obj', 'line 2: Vertex 2'],
    ['OBJ odd number', text('v 1.#IND 0 0\n'), 'a.obj', 'line 1: "#IND" stands'],
    ['OBJ long number', text(`v 1.${'1'.repeat(5000)} 0 0\n`), 'a.obj', 'line 1: "1.1111'],
    [
      'OBJ index',
      text('v 0 0 0\nv 1 0 0\nv 0 1 0\n\nf 1 2 4\n'),
      'a.obj',
      'line 5: A face names vertex 4, but there are only 3 vertices; the file is damaged, so export it again.',
    ],
    ['OBJ index zero', text('v 0 0 0\nf 0 0 0\n'), 'a.obj', 'line 2: A face names vertex 0'],
    ['OBJ index back too far', text('v 0 0 0\nf -1 -2 -1\n'), 'a.obj', 'line 2: A face names vertex -2'],
    [
      'OBJ two corners',
      text('v 0 0 0\nv 1 0 0\nf 1 2\n'),
      'a.obj',
      'line 3: The file is not built as its kind requires (a face with 2 corners); export it again.',
    ],
    [
      'OBJ no faces',
      text('v 0 0 0\nv 1 0 0\nv 0 1 0\n'),
      'a.obj',
      'This mesh has no faces with an area, so there is no surface to work on; export the scan as a mesh rather than as points or lines.',
    ],
    [
      'STL count lies',
      stlBytes(soupOf(TETRAHEDRON), 4_000_000_000),
      'a.stl',
      'byte 80: The file says it holds 4000000000 triangles, but has room for only 4; it is damaged, so export it again.',
    ],
    ['STL cut', stlBytes(soupOf(TETRAHEDRON)).slice(0, 200), 'a.stl', 'has room for only 2'],
    [
      'STL header only',
      new Uint8Array(40),
      'a.stl',
      'byte 40: The file ends in the middle of its header; it was probably cut short while copying, so copy or export it again.',
    ],
    ['STL NaN', stlBytes([0, 0, 0, 1, 0, 0, 0, NaN, 0]), 'a.stl', 'byte 120: Vertex 3 has'],
    ['STL no triangles', stlBytes([]), 'a.stl', 'This mesh has no faces'],
    ['STL text cut', text(stlText(TETRAHEDRON).slice(0, 150)), 'a.stl', 'The file ends in the middle of'],
    [
      'STL text without an end',
      text(stlText(TETRAHEDRON).replace('endsolid test', '')),
      'a.stl',
      '"endsolid" is missing',
    ],
    [
      'STL text word',
      text(stlText(TETRAHEDRON).replace('outer loop', 'inner loop')),
      'a.stl',
      'line 3: The file is not built as its kind requires (the word "inner")',
    ],
    [
      'PLY 4 GB',
      text(PLY_TEXT.replace('vertex 4', 'vertex 4294967295')),
      'a.ply',
      'The file says it holds 4294967295 "vertex" elements, but has room for only',
    ],
    [
      'PLY count lies a little',
      text(PLY_TEXT.replace('face 4', 'face 5')),
      'a.ply',
      'ends in the middle of the list of numbers',
    ],
    ['PLY header cut', text(PLY_TEXT.slice(0, 60)), 'a.ply', '("end_header" is missing)'],
    [
      'PLY encoding',
      text(PLY_TEXT.replace('ascii', 'utf8')),
      'a.ply',
      'line 2: The file is not built as its kind requires (the encoding "utf8")',
    ],
    ['PLY count no number', text(PLY_TEXT.replace('vertex 4', 'vertex many')), 'a.ply', 'line 3: "many" stands where'],
    [
      'PLY type',
      text(PLY_TEXT.replace('property float x', 'property quad x')),
      'a.ply',
      'line 4: The file is not built as its kind requires (the property "quad x")',
    ],
    [
      'PLY index',
      text(PLY_TEXT.replace('3 0 2 1', '3 0 2 7')),
      'a.ply',
      'line 14: A face names vertex 7, but there are only 4',
    ],
    [
      'PLY points',
      text(PLY_TEXT.replace(/element face 4\n.*\n/, '').replace(/(3 \d \d \d\n)+/, '')),
      'a.ply',
      'This mesh has no faces',
    ],
    ['GLB cut', glbOf().slice(0, 400), 'a.glb', 'byte 400: The file ends in the middle of the binary body'],
    [
      'GLB version',
      glbOf().map((b, i) => (i === 4 ? 1 : b)),
      'a.glb',
      'byte 4: The file uses GLB version 1, which is not read here; export it as version 2.',
    ],
    ['glTF JSON', text('{"asset": '), 'a.gltf', 'its description is not JSON'],
    [
      'glTF compressed',
      glbOf((j) => (j.extensionsRequired = ['KHR_draco_mesh_compression'])),
      'a.glb',
      'The file uses the extension KHR_draco_mesh_compression, which is not read here; export the scan without compression or extensions.',
    ],
    ['glTF loop', glbOf((j) => (j.nodes[0].children = [0])), 'a.glb', 'node 0 is reached twice'],
    [
      'glTF accessor too long',
      glbOf((j) => (j.accessors[0].count = 40)),
      'a.glb',
      'The file says it holds 40 accessor rows, but has room for only 12',
    ],
    [
      'glTF accessor a little too long',
      glbOf((j) => (j.accessors[0].count = 5)),
      'a.glb',
      'ends in the middle of its buffer',
    ],
    [
      'glTF view past the buffer',
      glbOf((j) => (j.bufferViews[0].byteOffset = 4e9)),
      'a.glb',
      'ends in the middle of its buffer',
    ],
    [
      'glTF no accessor',
      glbOf((j) => (j.meshes[0].primitives[0].attributes.POSITION = 9)),
      'a.glb',
      'accessor 9 does not exist',
    ],
    [
      '3MF DOCTYPE',
      threeMfBytes(`<!DOCTYPE m [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>${modelXml('', '')}`),
      'a.3mf',
      'byte 1: The file uses an XML document type, which is not read here; export the model again.',
    ],
    [
      '3MF loop',
      threeMfBytes(
        modelXml('<object id="1"><components><component objectid="1"/></components></object>', '<item objectid="1"/>'),
      ),
      'a.3mf',
      'its objects contain one another',
    ],
    ['3MF missing object', threeMfBytes(modelXml('', '<item objectid="5"/>')), 'a.3mf', 'object "5" does not exist'],
    ['3MF unit', threeMfBytes(modelXml('', '', 'unit="furlong"')), 'a.3mf', 'the unit "furlong"'],
    [
      '3MF index',
      threeMfBytes(modelXml(`<object id="1">${MESH_XML.replace('v3="3"', 'v3="8"')}</object>`, '<item objectid="1"/>')),
      'a.3mf',
      'face 2: A face names vertex 8, but there are only 4',
    ],
    [
      '3MF number',
      threeMfBytes(modelXml(`<object id="1">${MESH_XML.replace('x="1"', 'x="one"')}</object>`, '<item objectid="1"/>')),
      'a.3mf',
      '"one" stands where a number belongs',
    ],
    [
      '3MF text cut',
      threeMfBytes(modelXml(`<object id="1">${MESH_XML}</object>`, '').slice(0, 400)),
      'a.3mf',
      'ends in the middle of',
    ],
    [
      '3MF extension',
      threeMfBytes(modelXml('', '', 'requiredextensions="b" xmlns:b="http://example.org/beams/"')),
      'a.3mf',
      'the extension http://example.org/beams/',
    ],
    [
      '3MF flat transform',
      threeMfBytes(
        modelXml(`<object id="1">${MESH_XML}</object>`, '<item objectid="1" transform="1 0 0 0 1 0 0 0 0 0 0 0"/>'),
      ),
      'a.3mf',
      'a transform that flattens the body',
    ],
    [
      '3MF nothing to build',
      threeMfBytes(modelXml(`<object id="1">${MESH_XML}</object>`, '')),
      'a.3mf',
      'This mesh has no faces',
    ],
    [
      'zip without a mesh',
      zipSync({ 'a.jpg': strToU8('x'), 'b.txt': strToU8('y') }),
      'a.zip',
      'None of the 2 entries in this zip is a mesh; put an OBJ, STL, PLY, GLB, glTF or 3MF file into it.',
    ],
    [
      'zip in a zip',
      zipSync({ 'a.obj': zipSync({ 'b.obj': strToU8(OBJ_TEXT) }) }),
      'a.zip',
      'The file uses a zip inside a zip',
    ],
    [
      'zip upward',
      zipSync({ '../a.obj': strToU8(OBJ_TEXT) }),
      'a.zip',
      'The zip has an entry named "../a.obj", which points outside the archive; nothing was unpacked. Pack it again with plain names.',
    ],
    ['zip absolute', zipSync({ '/etc/a.obj': strToU8(OBJ_TEXT) }), 'a.zip', 'points outside the archive'],
    ['zip drive', zipSync({ 'C:\\a.obj': strToU8(OBJ_TEXT) }), 'a.zip', 'points outside the archive'],
    ['zip backslash', zipSync({ 'a\\..\\..\\a.obj': strToU8(OBJ_TEXT) }), 'a.zip', 'points outside the archive'],
    ['zip cut', zipSync({ 'a.obj': strToU8(OBJ_TEXT) }).slice(0, -8), 'a.zip', 'its directory is missing'],
    [
      'zip locked',
      spoiltZip(text(OBJ_TEXT), (v, r) => v.setUint16(r + 8, 1, true)),
      'a.zip',
      'The entry "a.obj" is locked with a password; unpack it yourself and give the mesh inside.',
    ],
    [
      'zip method',
      spoiltZip(text(OBJ_TEXT), (v, r) => v.setUint16(r + 10, 14, true)),
      'a.zip',
      'zip packing method 14',
    ],
    [
      'zip large form',
      spoiltZip(text(OBJ_TEXT), (v, r) => v.setUint32(r + 24, 0xffffffff, true)),
      'a.zip',
      'the large-archive form of zip',
    ],
    [
      'zip checksum',
      spoiltZip(text(OBJ_TEXT), (v, r) => v.setUint32(r + 16, 12345, true)),
      'a.zip',
      'the entry "a.obj" is damaged',
    ],
    [
      'fault inside a zip',
      zipSync({ 'a.obj': strToU8('v 0 0 0\nf 1 2 3\n') }),
      'a.zip',
      'a.obj, line 2: A face names vertex 2',
    ],
  ])('%s', (_name, bytes, name, words) => {
    expect(sentence(bytes, name)).toContain(words);
  });

  it('a bomb is refused by what it claims, and, when it lies, while it inflates', () => {
    const unpacked = 300 << 20;
    const packed = deflateRawSync(new Uint8Array(unpacked), { level: 9 });
    expect(packed.length).toBeLessThan(400_000);
    const bomb = (claimed: number): Uint8Array =>
      spoiltZip(
        packed,
        (view, record) => {
          view.setUint16(8, 8, true);
          view.setUint16(record + 10, 8, true);
          view.setUint32(record + 24, claimed, true);
        },
        0,
      );
    const words =
      'The entry "a.obj" unpacks to more than 1024 MiB or far more than a mesh ever would; nothing was kept. Send the mesh unpacked.';
    expect(sentence(bomb(unpacked), 'a.zip')).toContain(words);
    const lying = bomb(1000);
    const before = process.memoryUsage().arrayBuffers;
    expect(sentence(lying, 'a.zip')).toContain(words);
    // 200 times the packed size may be kept, and as much again is being unpacked.
    expect(process.memoryUsage().arrayBuffers - before).toBeLessThan(2.2 * 200 * packed.length);
    const small = zipSync({ 'a.obj': text(OBJ_TEXT) });
    expect(inflateEntry(small, listZip(small)[0])).toEqual(text(OBJ_TEXT));
  });

  it('small files that place parts without end are refused before the memory is taken', () => {
    // Twenty levels, each placing the one below twice, would be a million bodies.
    let objects = `<object id="0">${MESH_XML}</object>`;
    for (let level = 1; level <= 20; level++)
      objects += `<object id="${level}"><components><component objectid="${level - 1}"/><component objectid="${level - 1}"/></components></object>`;
    expect(sentence(threeMfBytes(modelXml(objects, '<item objectid="20"/>')), 'a.3mf')).toContain(
      'contain one another',
    );
    // 3000 primitives, all of one accessor of 30,000 rows.
    const binary = new Uint8Array(360_000);
    const { json } = gltfOf((j) => {
      j.accessors = [{ bufferView: 0, componentType: 5126, count: 30_000, type: 'VEC3' }];
      j.bufferViews = [{ buffer: 0, byteLength: 360_000 }];
      j.buffers = [{ byteLength: 360_000 }];
      j.meshes[0].primitives = Array.from({ length: 3000 }, () => ({ attributes: { POSITION: 0 } }));
    });
    expect(sentence(glbBytes(json, binary), 'a.glb')).toContain('parts repeated to more faces than fit in memory');
  });

  it('descriptions of the wrong shape are faults, not crashes', () => {
    for (const odd of [null, [], 5, 'x', { toString: 1, valueOf: 1 }, [null], [[]], -1, 1.5]) {
      for (const key of [
        'scene',
        'scenes',
        'nodes',
        'meshes',
        'accessors',
        'bufferViews',
        'buffers',
        'images',
        'extensionsRequired',
      ])
        readMesh(
          glbOf((j) => (j[key] = odd)),
          'a.glb',
        );
      readMesh(
        glbOf((j) => (j.nodes[0] = { mesh: odd, children: odd, rotation: odd })),
        'a.glb',
      );
      readMesh(
        glbOf((j) => (j.meshes[0].primitives = odd)),
        'a.glb',
      );
      readMesh(
        glbOf((j) => (j.meshes[0].primitives[0] = { attributes: odd, indices: odd, mode: odd })),
        'a.glb',
      );
      readMesh(
        glbOf((j) => (j.accessors[0].sparse = { count: 1, indices: odd, values: odd })),
        'a.glb',
      );
      readMesh(
        glbOf((j) => (j.buffers[0].uri = odd)),
        'a.glb',
      );
      readMesh(
        glbOf((j) => (j.images = [{ uri: odd }])),
        'a.glb',
      );
    }
    const deep = `{"nodes":${'['.repeat(200_000)}${']'.repeat(200_000)}}`;
    expect(sentence(text(deep), 'a.gltf')).toContain('This mesh has no faces');
  });
});

describe('sentences of the writers and of the command line', () => {
  it('say what and what to do', () => {
    const open = { positions: TETRAHEDRON.positions, triangles: TETRAHEDRON.triangles.slice(3) };
    const outcome = writeMesh(open, 'a.3mf');
    expect(outcome.ok ? '' : say(outcome.fault)).toBe(
      'This surface cannot be written as 3MF, whose bodies must be closed and turned outward (3 open edges); mend it first or write an STL.',
    );
    const nowhere = writeMesh(TETRAHEDRON, 'form');
    expect(nowhere.ok ? '' : say(nowhere.fault)).toContain(
      'form does not say what kind of file to write; end the name in',
    );
    expect(say(fault('file.missing', { path: 'a.obj' }))).toBe(
      'There is no file a.obj; check the name and the folder.',
    );
    expect(say(fault('file.unreadable', { path: 'a.obj', reason: 'no permission' }))).toContain(
      'a.obj cannot be opened (no permission)',
    );
    expect(say(fault('file.unwritable', { path: 'a.obj', reason: 'disk full' }))).toContain(
      'a.obj cannot be written (disk full)',
    );
    expect(say(fault('file.too-large', { path: 'a.obj', gib: 3 }))).toContain(
      'a.obj is 3 GiB, and meshes over 2 GiB are not read',
    );
    expect(say(fault('file.own-input', { path: 'a.obj' }))).toContain('a.obj is also the file being read');
  });

  it('every code of this family was said above', () => {
    const family = FAULT_CODES.filter((code) => /^(file|archive|write)\./.test(code));
    expect(family.filter((code) => !seen.has(code))).toEqual([]);
  });
});
