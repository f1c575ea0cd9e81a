/** Cautions printed with patterns and pads: usual ones, no licence and no rule of any place. */
export const FOAM_CAUTIONS: readonly string[] = [
  'Cut foam on a mat with a sharp blade, in several light passes, away from the hand that holds it.',
  'Contact adhesives and their thinners give off vapours that burn easily and harm whoever breathes them: follow their label and safety sheet, work in moving air away from flames and hot tools, and let glued parts air out before they are worn.',
  'Warm foam only until it bends: overheated foam gives off harmful fumes and can catch fire. A heat gun stays hot long after it is switched off.',
  'Sanding and grinding make fine dust: use extraction and a mask fit for it.',
  'Nothing may press on the eyes, ears, nose, throat or temples, or keep the wearer from seeing, hearing, breathing or taking the part off quickly. Try it for ten minutes before it is worn for an hour.',
  'A costume part is not protective equipment. Where local rules or a licensed trade say otherwise, they hold.',
];
