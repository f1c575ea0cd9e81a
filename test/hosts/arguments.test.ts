import { describe, expect, it } from 'vitest';
import { z } from 'zod';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { described, type OperationSpecification } from '../../shared-types/operations/specification.ts';
import { nearest, parseArguments, troubleWithParameters, type Parsed } from '../../electron/hosts/cli/arguments.ts';
import { overallHelp, verbHelp } from '../../electron/hosts/cli/help.ts';
import { figuresText, nameAndUnit, plainNumber } from '../../electron/hosts/cli/print.ts';

const carve: OperationSpecification = {
  verb: 'carve',
  summary: 'Made up for this test.',
  inputs: ['MESH'],
  makes: 'mesh',
  parameters: z.object({
    depthMm: described(z.number().min(0.5).max(60), { help: 'How deep.', unit: 'mm', flag: 'depth' }),
    rounds: described(z.number().int().positive().default(3), { help: 'How often.', unit: 'rounds' }),
    grain: described(z.enum(['fine', 'coarse']).optional(), { help: 'How fine.' }),
    keepEdges: described(z.boolean().default(false), { help: 'Whether edges stay.' }),
    along: described(z.tuple([z.number(), z.number(), z.number()]).optional(), {
      help: 'Which way.',
      placeholder: 'x,y,z',
    }),
    planes: described(z.array(z.array(z.number()).length(6)).optional(), {
      help: 'Planes.',
      flag: 'plane',
      repeatable: true,
    }),
    marks: described(
      z
        .union([
          z.array(z.object({ at: z.number() })),
          z.object({ marks: z.array(z.object({ at: z.number('expected a number') })) }),
        ])
        .optional(),
      { help: 'Marks.', jsonFile: true },
    ),
  }),
  figures: z.object({}),
};

const parse = (line: string): Parsed => {
  const outcome = parseArguments(carve, line.split(' '));
  if (!outcome.ok) throw new Error(faultSentence(outcome.fault));
  return outcome.value;
};
const complaint = (line: string): string => {
  const outcome = parseArguments(carve, line.split(' '));
  if (outcome.ok) {
    const checked = troubleWithParameters(carve, outcome.value.parameters, outcome.value.jsonFiles);
    if (checked.ok) throw new Error('nothing to complain about');
    return faultSentence(checked.fault);
  }
  expect(outcome.fault.code).toBe('job.usage');
  return faultSentence(outcome.fault);
};

describe('words on the command line', () => {
  it('become parameters by the schema', () => {
    const parsed = parse(
      'a.stl -o b.3mf --depth 2.5 --rounds=4 --grain fine --keep-edges --along -1,0,2e-3 --plane 0,0,-5,0,0,1 --plane -1,2,3,4,5,6 --marks m.json --json',
    );
    expect(parsed).toEqual({
      extra: new Map(),
      inputs: ['a.stl'],
      out: 'b.3mf',
      json: true,
      progress: false,
      help: false,
      parameters: {
        depthMm: 2.5,
        rounds: 4,
        grain: 'fine',
        keepEdges: true,
        along: [-1, 0, 0.002],
        planes: [
          [0, 0, -5, 0, 0, 1],
          [-1, 2, 3, 4, 5, 6],
        ],
      },
      jsonFiles: new Map([['marks', 'm.json']]),
    });
  });

  it('may name files that look like flags, after two dashes', () => {
    expect(parse('-o b.stl --depth 1 -- --odd.stl').inputs).toEqual(['--odd.stl']);
  });

  it('need nothing more when help is asked', () => {
    expect(parse('--help').help).toBe(true);
    expect(parse('-h --json').help).toBe(true);
  });

  it.each([
    ['a.stl -o b.stl', 'carve: it needs --depth MM: how deep.'],
    ['a.stl --depth 2', 'carve: it needs -o FILE: where the result goes: .stl, .obj, .ply, .glb or .3mf.'],
    ['-o b.stl --depth 2', 'carve: give a mesh file (MESH).'],
    ['a.stl c.stl -o b.stl --depth 2', 'carve: "c.stl" is one file too many; it takes MESH, and results go after -o.'],
    ['a.stl -o b.stl --dpeth 2', 'carve: there is no --dpeth; did you mean --depth?'],
    ['a.stl -o b.stl --xyzzy 2', 'carve: there is no --xyzzy'],
    ['a.stl -x b.stl --depth 2', 'carve: there is no -x; flags begin with two dashes.'],
    ['a.stl -o b.stl --depth two', 'carve: --depth takes a number; "two" is not that.'],
    ['a.stl -o b.stl --depth 1mm', 'carve: --depth takes a number; "1mm" is not that.'],
    ['a.stl -o b.stl --depth Infinity', 'carve: --depth takes a number; "Infinity" is not that.'],
    ['a.stl -o b.stl --depth', 'carve: --depth needs MM after it.'],
    ['a.stl -o b.stl --depth --json', 'carve: --depth needs MM after it.'],
    ['a.stl -o b.stl --depth 2 --depth 3', 'carve: --depth is given twice.'],
    ['a.stl -o b.stl --depth 2 --json=yes', 'carve: --json takes no value.'],
    ['a.stl -o b.stl --depth 2 --grain rough', 'carve: --grain takes fine or coarse; "rough" is not that.'],
    [
      'a.stl -o b.stl --depth 2 --along 1,2,x',
      'carve: --along takes numbers with commas between (x,y,z); "1,2,x" is not that.',
    ],
    ['a.stl -o b.stl --depth 100', 'carve: --depth takes 0.5 to 60 mm; 100 is not.'],
    ['a.stl -o b.stl --depth 0', 'carve: --depth takes 0.5 to 60 mm; 0 is not.'],
  ])('%s', (line, sentence) => {
    expect(complaint(line)).toBe(sentence);
  });

  it('have the place in a JSON file named, in the shape that fits best', () => {
    const outcome = troubleWithParameters(
      carve,
      { depthMm: 1, marks: { marks: [{ at: 1 }, { at: 'x' }] } },
      new Map([['marks', 'm.json']]),
    );
    expect(outcome.ok ? '' : faultSentence(outcome.fault)).toBe(
      'carve: --marks m.json, at marks[1].at: expected a number.',
    );
  });

  it('are matched by nearness only when near', () => {
    expect(nearest('lighen', ['line', 'lighten', 'fit'])).toBe('lighten');
    expect(nearest('tolerence', ['tolerance', 'foam'])).toBe('tolerance');
    expect(nearest('tol', ['tolerance', 'foam'])).toBe('tolerance');
    expect(nearest('zebra', ['line', 'lighten', 'fit'])).toBeUndefined();
  });
});

describe('help', () => {
  it('tells each flag with what it takes, its range and its default', () => {
    const help = verbHelp(carve);
    expect(help).toContain('carve MESH -o OUT --depth MM [flags]');
    expect(help).toMatch(/--depth MM +How deep\. \(0\.5 to 60 mm\)/);
    expect(help).toMatch(/--rounds N +How often\. \(over 0 rounds; 3 unless given\)/);
    expect(help).toMatch(/--grain fine\|coarse +How fine\./);
    expect(help).toMatch(/--keep-edges +Whether edges stay\./);
    expect(help).toMatch(/--plane .* Planes\. \(may be repeated\)/);
    for (const line of help.split('\n')) expect(line.length).toBeLessThanOrEqual(100);
  });

  it('lists the verbs', () => {
    expect(overallHelp([carve])).toMatch(/^ {2}carve {2}Made up for this test\.$/m);
  });
});

describe('figures for a person', () => {
  it('take their unit from their name', () => {
    expect(nameAndUnit('maxDeviationMm')).toEqual(['max deviation', 'mm']);
    expect(nameAndUnit('areaMm2')).toEqual(['area', 'mm²']);
    expect(nameAndUnit('faces')).toEqual(['faces', '']);
  });

  it.each([
    [0, '0'],
    [9999, '9,999'],
    [1234567.891, '1,234,567.9'],
    [123.456, '123.46'],
    [8.0004, '8'],
    [0.03517, '0.0352'],
    [0.000012, '1.2e-5'],
    [-42.5, '-42.5'],
  ])('%f reads %s', (value, text) => {
    expect(plainNumber(value)).toBe(text);
  });

  it('stand in lines, nested and listed', () => {
    const text = figuresText({
      faces: 9500,
      watertight: true,
      volumeMm3: 4_390_000,
      health: { areaMm2: 120, note: null },
      residuals: [{ name: 'head breadth', residualMm: 0.25 }],
      outliers: [],
      usualMm: { headSpan: 1.5, pickDeg: 2 },
    });
    expect(text.split('\n').map((line) => line.replace(/ {2,}/g, '  '))).toEqual([
      'faces  9,500',
      'watertight  yes',
      'volume  4,390 cm³',
      'health',
      '  area  120 mm²',
      '  note  none',
      'residuals  1',
      '  head breadth  residual 0.25 mm',
      'outliers  none',
      'usual',
      '  head span  1.5 mm',
      '  pick  2°',
    ]);
  });

  it('never call a length mm while the unit of the file is a guess', () => {
    const text = figuresText({ areaMm2: 0.12, unitGuess: { unit: 'metre', mmPerUnit: 1000, reason: 'small' } });
    expect(text).toMatch(/area +0\.12 file unit²/);
    expect(figuresText({ areaMm2: 12, unitGuess: { unit: 'millimetre', mmPerUnit: 1 } })).toMatch(/area +12 mm²/);
  });
});
