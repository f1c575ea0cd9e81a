/** Trouble with reading and writing files. Facts are plain data; sentences say what is wrong and what to do. */
export const fileFaults = {
  'file.missing': (f: { path: string }) => `There is no file ${f.path}; check the name and the folder.`,
  'file.unreadable': (f: { path: string; reason: string }) =>
    `${f.path} cannot be opened (${f.reason}); check that you may read it and that it is not in use.`,
  'file.unwritable': (f: { path: string; reason: string }) =>
    `${f.path} cannot be written (${f.reason}); choose another folder or free some space.`,
  'file.too-large': (f: { path: string; gib: number }) =>
    `${f.path} is ${f.gib} GiB, and meshes over 2 GiB are not read; export the scan with fewer faces.`,
  'file.own-input': (f: { path: string }) =>
    `${f.path} is also the file being read, and a scan is never overwritten; give the result another name.`,
  'file.empty': (_f: Record<never, never>) => 'The file is empty; export it again.',
  'file.unknown-kind': (f: { looksLike: string }) =>
    `This is not a mesh this program reads (it looks like ${f.looksLike}); give it an OBJ, STL, PLY, GLB, glTF or 3MF file, or a zip that holds one.`,
  'file.unknown-target': (f: { name: string }) =>
    `${f.name} does not say what kind of file to write; end the name in .stl, .obj, .ply, .glb or .3mf.`,
  'file.truncated': (f: { what: string }) =>
    `The file ends in the middle of ${f.what}; it was probably cut short while copying, so copy or export it again.`,
  'file.count-lies': (f: { what: string; claimed: number; possible: number }) =>
    `The file says it holds ${f.claimed} ${f.what}, but has room for only ${f.possible}; it is damaged, so export it again.`,
  'file.bad-number': (f: { text: string }) => `"${f.text}" stands where a number belongs; export the file again.`,
  'file.not-finite': (f: { vertex: number }) =>
    `Vertex ${f.vertex} has a coordinate that is not a number; delete that vertex or export the file again.`,
  'file.bad-index': (f: { index: number; count: number }) =>
    `A face names vertex ${f.index}, but there are only ${f.count} vertices; the file is damaged, so export it again.`,
  'file.malformed': (f: { reason: string }) =>
    `The file is not built as its kind requires (${f.reason}); export it again.`,
  'file.unsupported': (f: { what: string; remedy: string }) =>
    `The file uses ${f.what}, which is not read here; ${f.remedy}.`,
  'archive.no-mesh': (f: { entries: number }) =>
    `${f.entries === 1 ? 'What this zip holds is no mesh' : `None of the ${f.entries} entries in this zip is a mesh`}; put an OBJ, STL, PLY, GLB, glTF or 3MF file into it.`,
  'archive.unsafe-name': (f: { entry: string }) =>
    `The zip has an entry named "${f.entry}", which points outside the archive; nothing was unpacked. Pack it again with plain names.`,
  'archive.too-large': (f: { entry: string; limitMib: number }) =>
    `The entry "${f.entry}" unpacks to more than ${f.limitMib} MiB or far more than a mesh ever would; nothing was kept. Send the mesh unpacked.`,
  'archive.encrypted': (f: { entry: string }) =>
    `The entry "${f.entry}" is locked with a password; unpack it yourself and give the mesh inside.`,
  'write.not-solid': (f: { reason: string }) =>
    `This surface cannot be written as 3MF, whose bodies must be closed and turned outward (${f.reason}); mend it first or write an STL.`,
} as const;
