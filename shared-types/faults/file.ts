/** Trouble with reading and writing files. Facts are plain data; sentences say what to do. */
export const fileFaults = {
  'file.missing': (f: { path: string }) => `There is no file ${f.path}; check the name and the folder.`,
  'file.unreadable': (f: { path: string; reason: string }) =>
    `${f.path} cannot be opened (${f.reason}); check that you may read it and that it is not in use.`,
  'file.unwritable': (f: { path: string; reason: string }) =>
    `${f.path} cannot be written (${f.reason}); choose another folder or free some space.`,
} as const;
