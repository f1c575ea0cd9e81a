/** Help texts, made from the specifications. */
import type { OperationSpecification } from '../../../shared-types/operations/specification.ts';
import { commonFlags, flagsOf, type Flag } from './arguments.ts';

const WIDTH = 100;
const INDENT = '  ';
export const COMMAND = 'npm run --silent wearwright --';

/** Break a text at spaces to WIDTH, later lines under the first. */
function wrapped(text: string, column: number): string {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line !== '' && column + line.length + 1 + word.length > WIDTH) {
      lines.push(line);
      line = word;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  return [...lines, line].join(`\n${' '.repeat(column)}`);
}

export function overallHelp(verbs: readonly { readonly verb: string; readonly summary: string }[]): string {
  const column = Math.max(...verbs.map(({ verb }) => verb.length)) + 4;
  return [
    'Wearwright: from a rough scan and a few hand measurements to a true-size form, and what is built over it.',
    '',
    `${COMMAND} VERB FILES [flags]`,
    '',
    ...verbs.map(({ verb, summary }) => INDENT + verb.padEnd(column - 2) + wrapped(summary, column)),
    '',
    `${COMMAND} VERB --help tells the flags of one.`,
    'Meshes: OBJ, STL, PLY, GLB, glTF, 3MF, or a zip that holds one. Lengths are millimetres.',
    'Ends with 0 when done, 1 when it could not be done (one sentence says why), 2 when it was asked wrongly.',
  ].join('\n');
}

export function verbHelp(specification: OperationSpecification): string {
  const { verb, summary, inputs, makes, outOptional } = specification;
  const own = flagsOf(specification);
  const flags = [...own, ...commonFlags(makes, outOptional)];
  const spelled = (flag: Flag): string =>
    `${flag.flag === 'out' ? '-o, ' : ''}--${flag.flag}${flag.placeholder === '' ? '' : ` ${flag.placeholder}`}`;
  const column = Math.min(34, Math.max(...flags.map((flag) => spelled(flag).length)) + 4);
  const needed = own.filter((flag) => flag.required).map((flag) => `--${flag.flag} ${flag.placeholder}`);
  const line = [
    verb,
    ...inputs,
    ...(makes === 'nothing' || outOptional === true ? [] : [makes === 'mesh' ? '-o OUT' : '-o FOLDER']),
    ...needed,
  ].join(' ');
  return [
    wrapped(summary, 0),
    '',
    `${COMMAND} ${line}${own.some((flag) => !flag.required) ? ' [flags]' : ''}`,
    '',
    ...flags.map((flag) => {
      const left = INDENT + spelled(flag);
      const notes = [flag.kind === 'lists' ? 'may be repeated' : '', flag.range].filter((note) => note !== '');
      const text = wrapped(flag.help + (notes.length === 0 ? '' : ` (${notes.join('; ')})`), column);
      return left.length + 2 > column ? `${left}\n${' '.repeat(column)}${text}` : left.padEnd(column) + text;
    }),
  ].join('\n');
}
