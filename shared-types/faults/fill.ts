/** Trouble with filling what a scan missed. */
export const fillFaults = {
  'fill.nothing': (f: { zones: string }) =>
    `No point of the form lies in the patch (${f.zones}); look where it is painted, and whether the form stands upright with its origin between the ears.`,
  'fill.too-little-seen': (f: { samples: number }) =>
    `The patch leaves too little of the head to go by (${f.samples} places, 60 are needed); make it smaller, or make a form from readings alone with block.`,
  'fill.not-a-head': (f: { reason: string }) =>
    `What is seen of this form is not of a head (${f.reason}); fill needs a head form in millimetres, upright, with its origin between the ears.`,
  'fill.cannot': (f: { names: string }) =>
    `These lengths cannot be taken on the filled form: ${f.names}; leave them out, or make the patch smaller.`,
  'fill.not-sound': (f: { crossings: number; openEdges: number }) =>
    `The filled form would not be sound (${f.crossings} crossings, ${f.openEdges} open edges); give the patch a plainer edge, keep it off folds as those of an ear, or mend the form first.`,
  'fill.no-replay': (f: { form: string }) =>
    `The form "${f.form}" was filled by a guess on another form, so it cannot be carried to a scan; make that other form again from the scan, and fill it anew.`,
} as const;
