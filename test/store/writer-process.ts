/**
 * A program at work on a library, to be killed or starved by the tests: adds wearers with scans and readings, and
 * prints the id of each wearer once everything about it is confirmed. Arguments: library, name, count.
 */
import { writeSync } from 'node:fs';
import { faultSentence } from '../../shared-types/faults/index.ts';
import { openLibrary } from '../../electron/store/connection.ts';
import { addReadings, addScan, addWearer } from '../../electron/store/records.ts';

const [path = '', name = '', count = '0'] = process.argv.slice(2);
const opened = openLibrary(path);
function stop(sentence: string): never {
  writeSync(2, `${sentence}\n`);
  process.exit(1);
}
if (!opened.ok) stop(faultSentence(opened.fault));
const library = opened.value;
for (let index = 0; index < Number(count); index++) {
  const wearer = addWearer(library, { name: `${name} ${index}` });
  if (!wearer.ok) stop(faultSentence(wearer.fault));
  const bytes = Buffer.alloc(20_000, `${name}${index} `);
  for (let at = 0; at < bytes.length; at += 3) bytes[at] = (at * 7919 + index * 104_729) >>> 3;
  const scan = addScan(library, { wearerId: wearer.value.id, fileName: 's.obj', bytes });
  if (!scan.ok) stop(faultSentence(scan.fault));
  const reading = addReadings(library, wearer.value.id, [{ kind: 'span', name: 'breadth', valueMm: 100 + index / 7 }]);
  if (!reading.ok) stop(faultSentence(reading.fault));
  writeSync(1, `${wearer.value.id}\n`);
}
