import { useState } from 'react';
import { Dialog } from '../../controls/dialog.tsx';
import { CheckField } from '../../controls/field.tsx';
import { LengthField } from '../../controls/length-field.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';

const FOAM_MM = 8;
const BRIDGE_MM = 12;
const WALL_MM = 3;
/** Under the notches of the ears: about the jaw. */
const OPEN_BELOW_MM = 90;

export function LinerDialog({ revisionId, onClose }: { readonly revisionId: string; readonly onClose: () => void }) {
  const studio = useStudio();
  const { unit } = useStore(studio.settings);
  const [foamMm, setFoamMm] = useState<number | undefined>(FOAM_MM);
  const [hasBridge, setBridge] = useState(false);
  const [bridgeMm, setBridgeMm] = useState<number | undefined>(BRIDGE_MM);
  const [hasWall, setWall] = useState(false);
  const [wallMm, setWallMm] = useState<number | undefined>(WALL_MM);
  const [isOpenBelow, setOpenBelow] = useState(false);
  const [belowMm, setBelowMm] = useState<number | undefined>(OPEN_BELOW_MM);
  const isReady =
    foamMm !== undefined &&
    !(hasBridge && bridgeMm === undefined) &&
    !(hasWall && wallMm === undefined) &&
    !(isOpenBelow && belowMm === undefined);
  const make = async (): Promise<void> => {
    if (!isReady) return;
    const started = await studio.ask('form.line', {
      revisionId,
      parameters: {
        foamMm,
        ...(hasBridge ? { bridgeMm } : {}),
        ...(hasWall ? { wallMm } : {}),
        // What the normal points away from is cut off.
        ...(isOpenBelow && belowMm !== undefined ? { opening: { plane: [0, 0, -belowMm, 0, 0, 1] } } : {}),
      },
    });
    if (started === undefined) return;
    studio.notes.add({
      tone: 'plain',
      text: 'The liner is being made; it will be listed here, and Jobs shows how far it is.',
    });
    onClose();
  };
  return (
    <Dialog title="Make a liner" onClose={onClose} action={{ label: 'Make it', run: make, isReady }}>
      <LengthField
        label="Foam thickness"
        hint="As it is when worn, pressed together. Every point of the liner lies this far from the form."
        unit={unit}
        valueMm={FOAM_MM}
        leastMm={0.5}
        mostMm={60}
        autoFocus
        onRead={setFoamMm}
      />
      <CheckField
        label="Bridge the hollows"
        hint="No foam goes into the folds of the ears: hollows a ball of this radius cannot enter are spanned."
        checked={hasBridge}
        onChange={setBridge}
      />
      {hasBridge ? (
        <LengthField
          label="Radius of the ball"
          unit={unit}
          valueMm={BRIDGE_MM}
          leastMm={1}
          mostMm={60}
          onRead={setBridgeMm}
        />
      ) : null}
      <CheckField
        label="Give it a wall"
        hint="Then it is a printable shell with this liner as its inner side; without, a padded body, solid."
        checked={hasWall}
        onChange={setWall}
      />
      {hasWall ? (
        <LengthField label="Wall" unit={unit} valueMm={WALL_MM} leastMm={0.4} mostMm={30} onRead={setWallMm} />
      ) : null}
      <CheckField
        label="Open it below a level"
        hint="Cut off flat, so that a head can get in."
        checked={isOpenBelow}
        onChange={setOpenBelow}
      />
      {isOpenBelow ? (
        <LengthField
          label="Below the notches of the ears by"
          unit={unit}
          valueMm={OPEN_BELOW_MM}
          mostMm={1000}
          onRead={setBelowMm}
        />
      ) : null}
    </Dialog>
  );
}
