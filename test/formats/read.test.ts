/** What each reader makes of files whose contents are known, most of them written by hand here. */
import { strToU8, zipSync } from 'fflate';
import { describe, expect, it } from 'vitest';
import { readMesh } from '../../electron/formats/index.ts';
import { TextScanner } from '../../electron/formats/text-scanner.ts';
import { transformPoint } from '../../electron/geometry/mesh/transform.ts';
import { volumeOf } from '../../electron/geometry/mesh/quantities.ts';
import type { Mesh } from '../../shared-types/mesh.ts';
import { seeded } from '../support/random.ts';
import {
  CORNERS,
  FACES,
  glbBytes,
  glbOf,
  gltfOf,
  MESH_XML,
  modelXml,
  mustFail,
  mustRead,
  OBJ_TEXT,
  PLY_TEXT,
  plyBytes,
  soupOf,
  stlBytes,
  stlText,
  TETRAHEDRON,
  text,
  THREE_MF,
  threeMfBytes,
  type PlyValue,
} from './build-files.ts';

const codesOf = (bytes: Uint8Array, name: string): string[] => {
  const outcome = readMesh(bytes, name);
  return outcome.ok ? outcome.warnings.map((w) => w.code) : [outcome.fault.code];
};
const edges = (points: Float64Array, faces: Uint32Array): number[] =>
  Array.from(faces, (v, i) => {
    const w = faces[i % 3 === 2 ? i - 2 : i + 1];
    return Math.hypot(...[0, 1, 2].map((k) => points[v * 3 + k] - points[w * 3 + k]));
  });

/** Volume of the cone over the faces from the origin: area times height over three, signed by their winding. */
function coneVolume({ positions: p, triangles: t }: Mesh): number {
  let six = 0;
  for (let f = 0; f < t.length; f += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => t[f + k] * 3);
    six += p[a] * (p[b + 1] * p[c + 2] - p[b + 2] * p[c + 1]);
    six += p[a + 1] * (p[b + 2] * p[c] - p[b] * p[c + 2]);
    six += p[a + 2] * (p[b] * p[c + 1] - p[b + 1] * p[c]);
  }
  return six / 6;
}

describe('numbers', () => {
  // Outside: Number() of the language, which ECMA-262 (StringToNumber) requires to round correctly.
  it('reads decimals to the nearest double, as the language does', () => {
    const random = seeded(11);
    const words: string[] = ['0', '-0', '+5', '.5', '5.', '1e22', '1e23', '123456789012345e-22', '9007199254740993'];
    words.push('2.2250738585072011e-308', '1.7976931348623157E+308', '0.000001', '00012.50', '179.99999999999999');
    for (let i = 0; i < 20000; i++) {
      const value = (random() - 0.5) * 10 ** Math.floor(random() * 40 - 20);
      words.push(
        i % 3 === 0 ? value.toPrecision(1 + Math.floor(random() * 17)) : i % 3 === 1 ? String(value) : value.toFixed(6),
      );
    }
    for (const word of words) expect(new TextScanner(text(`${word} `)).number(), word).toBe(Number(word));
  });

  it('takes a point only as a point: a decimal comma is a fault with its line', () => {
    expect(mustFail(text('v 0 0 0\nv 1,5 0 0\n'), 'a.obj')).toMatchObject({
      code: 'file.bad-number',
      facts: { text: ',5' },
      where: { line: 2 },
    });
  });
});

describe('OBJ', () => {
  it('reads vertices, faces, groups and where the pictures are named', () => {
    const read = mustRead(text(`# made here\nmtllib head.mtl\no head\ng skin\nusemtl a\ns 1\n${OBJ_TEXT}`), 'a.obj');
    expect(Array.from(read.mesh.positions)).toEqual(CORNERS);
    expect(Array.from(read.mesh.triangles)).toEqual(FACES);
    expect(read.groups).toEqual(['head', 'skin']);
    expect(read.textures).toEqual(['head.mtl']);
    expect(read.unit).toBeUndefined();
  });

  it('reads negative indices, texture and normal indices, polygons, CRLF, tabs, continued lines, comments behind', () => {
    const square = 'v 0 0 0\r\nv 4 0 0\r\nv 4 1 0\r\nv 0 1 0\r\nvt 0 0\r\nvn 0 0 1\r\n';
    const read = mustRead(text(`${square}f\t-4/1/1 -3//1 \\\r\n -2/1 -1 # a quad\r\n`), 'a.obj');
    expect(read.mesh.triangles.length).toBe(6);
    expect(
      coneVolume({ ...read.mesh, positions: read.mesh.positions.map((x, i) => (i % 3 === 2 ? 3 : x)) }),
    ).toBeCloseTo(4, 12);
  });

  it('cuts a quad along its shorter diagonal', () => {
    // A kite: corner 1 to 3 measures 1, corner 2 to 4 measures 10.
    const read = mustRead(text('v 0 0.5 0\nv 5 0 0\nv 0 -0.5 0\nv -5 0 0\nf 1 2 3 4\n'), 'a.obj');
    expect(Math.max(...edges(read.mesh.positions, read.mesh.triangles))).toBeLessThan(5.1);
  });

  it('cuts a hollow polygon without leaving it, in any of the three planes and both directions', () => {
    // An L of area 3, by the shoelace formula.
    const ell = [0, 0, 2, 0, 2, 1, 1, 1, 1, 2, 0, 2];
    for (let axis = 0; axis < 3; axis++) {
      for (const turned of [false, true]) {
        const rows: string[] = [];
        for (let i = 0; i < 12; i += 2) {
          const point = [0, 0, 0];
          point[(axis + 1) % 3] = ell[i];
          point[(axis + 2) % 3] = ell[i + 1];
          point[axis] = 1;
          rows.push(`v ${point.join(' ')}`);
        }
        const order = turned ? '6 5 4 3 2 1' : '1 2 3 4 5 6';
        const { mesh } = mustRead(text(`${rows.join('\n')}\nf ${order}\n`), 'a.obj');
        expect(mesh.triangles.length).toBe(12);
        // Cone from the origin over a face at height 1: a third of its area, positive when it faces away.
        expect(coneVolume(mesh)).toBeCloseTo(turned ? -1 : 1, 12);
      }
    }
  });

  it('keeps vertex colours', () => {
    const { mesh } = mustRead(text('v 0 0 0 1 0 0.5\nv 1 0 0 0 1 0\nv 0 1 0 0 0 1\nf 1 2 3\n'), 'a.obj');
    expect(Array.from(mesh.colours ?? [])).toEqual([255, 0, 128, 0, 255, 0, 0, 0, 255]);
  });

  it('passes a byte-order mark over and keeps the vertex behind it', () => {
    const bytes = new Uint8Array([0xef, 0xbb, 0xbf, ...text(OBJ_TEXT)]);
    expect(Array.from(mustRead(bytes, 'a.obj').mesh.positions)).toEqual(CORNERS);
  });
});

describe('STL', () => {
  it('reads both kinds, told apart by size and not by the word', () => {
    const binary = stlBytes(soupOf(TETRAHEDRON));
    binary.set(text('solid looks like text'));
    for (const bytes of [binary, text(stlText(TETRAHEDRON))]) {
      const read = mustRead(bytes, 'a.stl');
      expect(read.mesh.positions.length / 3).toBe(4);
      expect(volumeOf(read.mesh)).toBeCloseTo(1, 12);
    }
  });

  it('warns of bytes behind the last triangle', () => {
    const binary = stlBytes(soupOf(TETRAHEDRON));
    expect(codesOf(new Uint8Array([...binary, 1, 2, 3]), 'a.stl')).toEqual(['stl.extra-bytes']);
  });
});

describe('PLY', () => {
  const header = (encoding: string): string =>
    [
      'ply',
      `format ${encoding} 1.0`,
      'comment written here',
      'element camera 1',
      'property short id',
      'property list uchar float focal',
      'element vertex 4',
      'property double x',
      'property uchar red',
      'property double y',
      'property uchar green',
      'property double z',
      'property uchar blue',
      'property float confidence',
      'element face 4',
      'property uchar flags',
      'property list ushort uint vertex_index',
      'property list uchar short rest',
      'end_header',
      '',
    ].join('\n');
  const values: PlyValue[] = [
    ['short', -7],
    ['uchar', 2],
    ['float', 1.5],
    ['float', 2.5],
  ];
  for (let v = 0; v < 4; v++) {
    for (let k = 0; k < 3; k++) values.push(['double', CORNERS[v * 3 + k]], ['uchar', 10 * v + k]);
    values.push(['float', 0.25]);
  }
  for (let f = 0; f < 12; f += 3) {
    values.push(['uchar', 1], ['ushort', 3]);
    for (let k = 0; k < 3; k++) values.push(['uint', FACES[f + k]]);
    values.push(['uchar', 1], ['short', -1]);
  }

  it.each(['binary_little_endian', 'binary_big_endian', 'ascii'])(
    'reads %s with elements and properties it does not know',
    (encoding) => {
      const bytes =
        encoding === 'ascii'
          ? text(header(encoding) + values.map(([, value]) => value).join(' '))
          : plyBytes(header(encoding), values, encoding === 'binary_little_endian');
      const { mesh } = mustRead(bytes, 'a.ply');
      expect(Array.from(mesh.positions)).toEqual(CORNERS);
      expect(Array.from(mesh.triangles)).toEqual(FACES);
      expect(Array.from(mesh.colours ?? [])).toEqual([0, 1, 2, 10, 11, 12, 20, 21, 22, 30, 31, 32]);
    },
  );

  it('reads CRLF headers', () => {
    expect(mustRead(text(PLY_TEXT.replaceAll('\n', '\r\n')), 'a.ply').mesh.triangles.length).toBe(12);
  });
});

describe('glTF', () => {
  // Khronos glTF 2.0, section 3.4: metres, +Y up, front +Z, left +X. Ours: mm, x forward, y left, z up.
  it('comes in millimetres, turned upright', () => {
    const read = mustRead(glbOf(), 'a.glb');
    expect(Array.from(read.mesh.positions)).toEqual([0, 0, 0, 0, 1000, 0, 0, 0, 2000, 3000, 0, 0]);
    expect(volumeOf(read.mesh)).toBeCloseTo(1e9, 0);
    expect(read.unit).toBe('metre');
    expect(transformPoint(read.fromFile, [0, 2, 0])).toEqual([0, 0, 2000]);
    expect(read.groups).toEqual(['tip']);
  });

  it('applies the transforms of nodes, nested, also mirroring ones', () => {
    const bytes = glbOf((json) => {
      json.nodes = [
        // A quarter turn about y: front (+z) goes to the left (+x).
        { children: [1], translation: [10, 0, 0], rotation: [0, Math.SQRT1_2, 0, Math.SQRT1_2] },
        { mesh: 0, matrix: [-2, 0, 0, 0, 0, 2, 0, 0, 0, 0, 2, 0, 0, 0, 0, 1] },
      ];
    });
    const { mesh } = mustRead(bytes, 'a.glb');
    // Corner (0,0,3) m: doubled to z 6, turned to x 6, moved to x 16: 16 m to the left.
    const corner = mesh.positions.subarray(9);
    expect(corner[0]).toBeCloseTo(0, 8);
    expect(corner[1]).toBeCloseTo(16000, 8);
    expect(corner[2]).toBeCloseTo(0, 8);
    expect(volumeOf(mesh)).toBeCloseTo(8e9, 0);
  });

  it('reads strips and fans', () => {
    for (const [mode, order] of [
      [5, [0, 1, 2, 3]],
      [6, [0, 1, 3, 2]],
    ] as const) {
      const binary = new Uint8Array(48 + 8);
      new Float32Array(binary.buffer, 0, 12).set([0, 0, 0, 1, 0, 0, 0, 1, 0, 1, 1, 0]);
      new Uint16Array(binary.buffer, 48, 4).set(order);
      const { json } = gltfOf((j) => {
        j.meshes[0].primitives[0].mode = mode;
        j.accessors[1].count = 4;
        j.bufferViews[1].byteLength = 8;
      });
      const { mesh } = mustRead(glbBytes(json, binary), 'a.glb');
      expect(mesh.triangles.length).toBe(6);
      // Raised by 3000 mm along our +x (the file's front), the unit square's cone holds a third of 1e6 · 3000.
      const raised = { ...mesh, positions: mesh.positions.map((x, i) => (i % 3 === 0 ? x + 3000 : x)) };
      expect(coneVolume(raised)).toBeCloseTo(1e9, 0);
    }
  });

  it('reads sparse accessors, embedded buffers, quantised and interleaved positions', () => {
    const { json, binary } = gltfOf((j) => {
      j.accessors[0].sparse = {
        count: 1,
        indices: { bufferView: 2, componentType: 5121 },
        values: { bufferView: 3 },
      };
      j.bufferViews.push({ buffer: 0, byteOffset: 72, byteLength: 1 }, { buffer: 0, byteOffset: 76, byteLength: 12 });
    });
    const longer = new Uint8Array(88);
    longer.set(binary);
    longer[72] = 3;
    new Float32Array(longer.buffer, 76, 3).set([0, 0, 5]);
    json['buffers'] = [
      { byteLength: 88, uri: `data:application/octet-stream;base64,${Buffer.from(longer).toString('base64')}` },
    ];
    const { mesh } = mustRead(text(JSON.stringify(json)), 'a.gltf');
    expect(mesh.positions[9]).toBe(5000);

    const shorts = new Uint8Array(32 + 24);
    const view = new DataView(shorts.buffer);
    CORNERS.forEach((x, i) => view.setInt16(Math.floor(i / 3) * 8 + (i % 3) * 2, x * 100, true));
    new Uint16Array(shorts.buffer, 32, 12).set(FACES);
    const quantised = gltfOf((j) => {
      j.extensionsRequired = ['KHR_mesh_quantization'];
      j.accessors[0] = { bufferView: 0, componentType: 5122, count: 4, type: 'VEC3' };
      j.bufferViews = [
        { buffer: 0, byteOffset: 0, byteLength: 32, byteStride: 8 },
        { buffer: 0, byteOffset: 32, byteLength: 24 },
      ];
      j.nodes[0].scale = [0.01, 0.01, 0.01];
    });
    expect(mustRead(glbBytes(quantised.json, shorts), 'a.glb').mesh.positions[9]).toBeCloseTo(3000, 9);
  });

  it('finds the buffer beside it in a zip', () => {
    const { json, binary } = gltfOf((j) => (j.buffers[0].uri = './head.bin'));
    const bytes = zipSync({ 'scan/head.gltf': strToU8(JSON.stringify(json)), 'scan/head.bin': binary });
    expect(mustRead(bytes, 'a.zip').mesh.triangles.length).toBe(12);
    expect(mustFail(text(JSON.stringify(json)), 'a.gltf')).toMatchObject({ code: 'file.unsupported' });
  });
});

describe('a mesh that lies on a map', () => {
  // A cube of 100 a thousand kilometres off: singles there are 64 apart (IEEE 754, 24 bits: 10^9 / 2^24).
  const FAR = 1e9;
  const corners = [0, 1, 2, 3, 4, 5, 6, 7].map((i) => [i & 1, (i >> 1) & 1, i >> 2].map((bit) => FAR + 100 * bit));
  const quads = ['1 3 4 2', '5 6 8 7', '1 2 6 5', '3 7 8 4', '1 5 7 3', '2 4 8 6'];
  const bytes = text([...corners.map((c) => `v ${c.join(' ')}`), ...quads.map((q) => `f ${q}`)].join('\n'));

  it('is brought to its origin, and the way there is told', () => {
    const outcome = readMesh(bytes, 'far.obj');
    if (!outcome.ok) throw new Error(outcome.fault.code);
    expect(outcome.warnings.map(({ code }) => code)).toEqual(['file.far-off']);
    const { mesh, fromFile } = outcome.value;
    expect(Array.from(mesh.positions, Math.abs)).toEqual(Array.from({ length: 24 }, () => 50));
    expect(transformPoint(fromFile, [FAR, FAR, FAR + 100])).toEqual([-50, -50, 50]);
    // In single precision, as it is written, it stays the cube of 100.
    expect(volumeOf({ ...mesh, positions: Float64Array.from(Float32Array.from(mesh.positions)) })).toBe(1e6);
  });
});

describe('3MF', () => {
  it('comes in millimetres from each unit the core specification names', () => {
    // 3MF core 1.4, section 3.4: micron, millimeter, centimeter, inch, foot, meter.
    const lengths = { micron: 0.003, millimeter: 3, centimeter: 30, inch: 76.2, foot: 914.4, meter: 3000 };
    for (const [unit, mm] of Object.entries(lengths)) {
      const model = modelXml(`<object id="1">${MESH_XML}</object>`, '<item objectid="1"/>', `unit="${unit}"`);
      expect(mustRead(threeMfBytes(model), 'a.3mf').mesh.positions[11]).toBeCloseTo(mm, 9);
    }
    expect(mustRead(THREE_MF, 'a.3mf').unit).toBe('millimetre');
  });

  it('places items and components by their transforms', () => {
    // Row-major m00..m32 for row vectors (core 1.4, section 3.3): x -> y, y -> -x, then moved by (10, 20, 30).
    const turn = '0 1 0 -1 0 0 0 0 1 10 20 30';
    const model = modelXml(
      `<object id="1">${MESH_XML}</object><object id="2"><components><component objectid="1"/><component objectid="1" transform="1 0 0 0 1 0 0 0 1 5 0 0"/></components></object>`,
      `<item objectid="2" transform="${turn}"/>`,
    );
    const { mesh } = mustRead(threeMfBytes(model), 'a.3mf');
    expect(mesh.triangles.length).toBe(24);
    // Corner (1,0,0) -> (0,1,0)+(10,20,30); of the second, (6,0,0) -> (0,6,0)+(10,20,30).
    expect(Array.from(mesh.positions.subarray(3, 6))).toEqual([10, 21, 30]);
    expect(Array.from(mesh.positions.subarray(15, 18))).toEqual([10, 26, 30]);
  });

  it('follows the production extension into another part', () => {
    const model = modelXml(
      '<object id="9"><components><component objectid="1" p:path="/3D/Objects/a.model"/></components></object>',
      '<item objectid="9"/>',
      'unit="millimeter" requiredextensions="p" xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06"',
    );
    const bytes = threeMfBytes(model, {
      '3D/Objects/a.model': strToU8(modelXml(`<object id="1">${MESH_XML}</object>`, '')),
    });
    expect(Array.from(mustRead(bytes, 'a.3mf').mesh.positions)).toEqual(CORNERS);
  });

  it('reads rows in any order of attributes, quotes and spacing, and prefixed names', () => {
    const odd = MESH_XML.replace('<vertex x="1" y="0" z="0"/>', "<vertex\n z='0'  y='0.0' x='1e0' />")
      .replace('<triangle v1="0" v2="2" v3="1"/>', '<triangle v3="1" v1="0" pid="4" v2="2"></triangle>')
      .replace('<vertex x="0" y="2" z="0"/>', '<!-- <vertex x="7"/> --><m:vertex x=" 0" y="+2" z=".0"/>');
    const { mesh } = mustRead(
      threeMfBytes(modelXml(`<object id="1">${odd}</object>`, '<item objectid="1"/>')),
      'a.3mf',
    );
    expect(Array.from(mesh.positions)).toEqual(CORNERS);
    expect(Array.from(mesh.triangles)).toEqual(FACES);
  });
});

describe('zip', () => {
  it('reads the largest mesh, and names the pictures its materials name', () => {
    const bytes = zipSync({
      'scan/head.obj': strToU8(`mtllib head.mtl\n${OBJ_TEXT}`),
      'scan/head.mtl': strToU8('newmtl a\nKd 1 1 1\nmap_Kd -clamp on skin colour.jpg\n'),
      'scan/skin colour.jpg': new Uint8Array([0xff, 0xd8, 0xff]),
      'small.obj': strToU8('v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n'),
      '__MACOSX/scan/._head.obj': new Uint8Array(5000),
    });
    const read = mustRead(bytes, 'a.zip');
    expect(read.mesh.triangles.length).toBe(12);
    expect(read.textures).toEqual(['skin colour.jpg']);
    expect(codesOf(bytes, 'a.zip')).toEqual(['archive.several-meshes']);
  });

  it('reads a 3MF in a zip', () => {
    expect(mustRead(zipSync({ 'a.3mf': THREE_MF }), 'a.zip').format).toBe('3mf');
  });
});

describe('names', () => {
  it.each([
    ['obj', text(OBJ_TEXT), 'a.stl', 'obj'],
    ['stl text', text(stlText(TETRAHEDRON)), 'a.ply', 'stl'],
    ['stl', stlBytes(soupOf(TETRAHEDRON)), 'a.obj', 'stl'],
    ['ply', text(PLY_TEXT), 'a.glb', 'ply'],
    ['glb', glbOf(), 'a.3mf', 'gltf'],
    ['3mf', THREE_MF, 'a.obj', '3mf'],
  ] as const)(
    'what a file is, its contents say; a name that differs is a warning (%s)',
    (_what, bytes, name, format) => {
      const outcome = readMesh(bytes, name);
      expect(outcome.ok && outcome.value.format).toBe(format);
      expect(codesOf(bytes, name)).toEqual(['file.name-differs']);
    },
  );
});
