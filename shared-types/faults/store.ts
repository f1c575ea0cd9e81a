/** Trouble with the library file. */
export const storeFaults = {
  'store.missing': (f: { path: string }) =>
    `There is no library ${f.path}; check the name and the folder, or make a new one there.`,
  'store.exists': (f: { path: string }) => `${f.path} is already there and is not replaced; choose another name.`,
  'store.foreign': (f: { path: string; looksLike: string }) =>
    `${f.path} is not a library of this program (it looks like ${f.looksLike}); it was not touched. Choose another file.`,
  'store.newer': (f: { path: string; version: number; ours: number }) =>
    `${f.path} was written by a newer version of this program (library version ${f.version}, this program knows up to ${f.ours}); it was not touched. Update the program.`,
  'store.damaged': (f: { path: string; reason: string }) =>
    `${f.path} is damaged (${f.reason}); it was left as it is. Copy it to a safe place, then restore the newest safety copy.`,
  'store.damaged-blob': (f: { sha256: string; reason: string }) =>
    `The stored data ${f.sha256.slice(0, 12)} no longer matches its checksum (${f.reason}); restore a safety copy, or add the scan again from its file.`,
  'store.read-only': (f: { path: string }) =>
    `${f.path} or its folder may not be written; the library needs both. Change the permissions or copy the library elsewhere.`,
  'store.full': (f: { path: string }) =>
    `The disk that holds ${f.path} is full; nothing of this change was kept. Free some space and do it again.`,
  'store.write-failed': (f: { path: string; reason: string }) =>
    `Writing to ${f.path} failed (${f.reason}); nothing of this change was kept. Check the disk and do it again.`,
  'store.busy': (f: { path: string; seconds: number }) =>
    `Another program has held ${f.path} for ${f.seconds} seconds; nothing was changed. Close it there or try again.`,
  'store.locked': (f: { path: string }) =>
    `${f.path} is locked with a passphrase; give it to open the library. Without it nobody can read the scans, this program's makers included.`,
  'store.lock-changed': (f: { path: string }) =>
    `The passphrase of ${f.path} was set, changed or taken off by another program just now; nothing was changed here. Open the library again.`,
  'store.wrong-passphrase': (f: { path: string }) =>
    `That is not the passphrase of ${f.path}; nothing was changed. If it is lost, the scans and names in it cannot be recovered; only a safety copy from before locking could help.`,
  'store.weak-passphrase': (f: { least: number }) =>
    `The passphrase is too short; use at least ${f.least} characters, such as four or five words.`,
  'store.already-locked': (_f: Record<never, never>) =>
    'The library already has a passphrase; take the old one off before setting another.',
  'store.not-locked': (f: { path: string }) => `${f.path} has no passphrase to change; lock it to set one.`,
  'store.no-record': (f: { kind: string; id: string }) =>
    `There is no ${f.kind} "${f.id}" in this library; list the shelf to see what there is.`,
  'store.not-one': (f: { kind: string; text: string; count: number }) =>
    `"${f.text}" fits ${f.count} ${f.kind}s; give more of the name, or the id.`,
  'store.bad-record': (f: { kind: string; field: string; reason: string }) =>
    `The ${f.kind} was not stored: ${f.field} ${f.reason}; correct it and try again.`,
  'store.unreadable-recipe': (f: { name: string; place: string; reason: string }) =>
    `The recipe kept with "${f.name}" cannot be read (${f.place}: ${f.reason}); make the form anew from its scan, or export its mesh and use that file.`,
  'store.in-use': (f: { kind: string; id: string }) =>
    `The ${f.kind} "${f.id}" is used by other records and was not changed; remove those first.`,
  'store.nothing-to-undo': (_f: Record<never, never>) => 'There is no change left to undo.',
  'store.nothing-to-redo': (_f: Record<never, never>) => 'There is no undone change left to redo.',
  'store.undo-conflict': (f: { label: string }) =>
    `"${f.label}" cannot be undone or redone, because what it changed has been changed since; nothing was altered.`,
  'store.copy-bad': (f: { path: string; reason: string }) =>
    `The safety copy ${f.path} is not whole (${f.reason}); it was not used. Choose another copy.`,
  'bundle.not-one': (f: { path: string; reason: string }) =>
    `${f.path} is not a bundle of this program (${f.reason}); nothing was imported.`,
  'bundle.newer': (f: { path: string }) =>
    `${f.path} was written by a newer version of this program and holds more than this one can read; nothing was imported. Update the program.`,
  'bundle.damaged': (f: { path: string; entry: string }) =>
    `In the bundle ${f.path} the entry "${f.entry}" does not match its checksum; nothing was imported. Ask for the bundle again.`,
  'csv.bad-row': (f: { line: number; reason: string }) =>
    `Line ${f.line} of the table was not understood (${f.reason}); nothing was imported. Correct that line.`,
} as const;
