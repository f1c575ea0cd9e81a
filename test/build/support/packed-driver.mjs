// Runs inside the packed program's folder, with the stand-in for electron beside it: asks what a page would ask and
// prints one JSON object. It shows that the bundle is whole and that its threads start from the unpacked folder.
import { readFileSync } from 'node:fs';
import { app, BrowserWindow, dialog, ipcRenderer, sendUp } from 'electron';

await import('./main.js');
const answers = new Map();
ipcRenderer.on('wearwright:down', (_event, message) => {
  if (message.kind === 'done' || message.kind === 'fault') answers.get(message.id)?.(message);
});
let count = 0;
function ask(name, input = {}) {
  const id = ++count;
  return new Promise((settle, refuse) => {
    answers.set(id, (message) =>
      message.kind === 'done' ? settle(message.value) : refuse(new Error(`${name}: ${JSON.stringify(message.fault)}`)),
    );
    sendUp('wearwright:up', { kind: 'call', id, name, input });
  });
}
async function until(found) {
  for (;;) {
    const { jobs } = await ask('job.list');
    const job = jobs.find(found);
    if (job !== undefined) return job;
    await new Promise((settle) => setTimeout(settle, 50));
  }
}

// The window comes when the library is open.
while (BrowserWindow.all.length === 0) {
  if (app.quits > 0) throw new Error(JSON.stringify(dialog.asked));
  await new Promise((settle) => setTimeout(settle, 20));
}
const about = await ask('app.about');
const bytes = new Uint8Array(readFileSync(process.argv[2]));
const { upload } = await ask('scan.receive', { fileName: 'block.stl', bytes });
const { ticketId } = await ask('scan.keep', { upload, fileName: 'block.stl', wearerName: 'Nobody' });
const { jobId } = await ask('ticket.prepare', { id: ticketId });
const prepared = await until((job) => job.id === jobId && !['waiting', 'running'].includes(job.state));
const { prepared: figures } = await ask('ticket.show', { id: ticketId });
// A second start of the program hands its files over and ends.
const opened = new Promise((settle) => {
  ipcRenderer.on('wearwright:down', (_event, message) => message.name === 'opened' && settle(message.value));
});
app.emit('second-instance', {}, ['wearwright', process.argv[2]], process.cwd());
const { fileName, byteCount } = await opened;
// A paper needs the typeface that lies unpacked.
const card = await ask('paper.capture');
const paper = Buffer.from(card.bytes.subarray(0, 5)).toString();
// Enough of the invented production to see that its own thread starts.
const demo = await ask('demo.make');
const invented = await until(
  (job) => job.id === demo.jobId && (job.fraction > 0.05 || !['waiting', 'running'].includes(job.state)),
);
await ask('job.stop', { id: demo.jobId });
await until((job) => job.id === demo.jobId && job.state === 'stopped');
console.log(JSON.stringify({ about, prepared, figures, invented, opened: { fileName, byteCount }, paper }));
app.quit();
