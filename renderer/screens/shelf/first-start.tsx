/** An empty library: three ways to begin, and what the work is. */
import { useState } from 'react';
import { Button } from '../../controls/button.tsx';
import { TicketCard } from '../../controls/paper.tsx';
import { ProgressTape } from '../../controls/progress-tape.tsx';
import { isUnderWay } from '../../state/job-news.ts';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useScanChooser } from '../../controls/mesh-chooser.tsx';
import { WearerDialog } from './wearer-dialog.tsx';

export function FirstStart() {
  const studio = useStudio();
  const jobs = useStore(studio.jobs);
  const [chooser, chooseScan] = useScanChooser();
  const [isAdding, setAdding] = useState(false);
  const demo = jobs.find((job) => job.kind === 'demo' && isUnderWay(job));
  return (
    <div className="first">
      {chooser}
      <div className="first-head">
        <h1>An empty shelf</h1>
        <p>
          Wearwright turns a phone scan and a few lengths taken by hand into a true-size form of a head, a limb or a
          torso, light enough for any modelling program; makes the liners that go over it; and tries helmets,
          breastplates and gauntlets on. Everything stays on this computer.
        </p>
      </div>
      <div className="first-ways">
        <TicketCard title="I have a scan" kind="Drop it anywhere on this window">
          <p>
            OBJ, STL, PLY, GLB, glTF or 3MF, or a zip with one of them, as the phone gave it. Three decisions make it a
            form: where to cut, where the landmarks lie, what was measured.
          </p>
          <div className="button-row">
            <Button tone="main" onClick={chooseScan}>
              Choose a scan file…
            </Button>
          </div>
        </TicketCard>
        <TicketCard title="I want to see how it goes" kind="An invented production">
          <p>
            Two invented wearers come to the shelf: scans with all the flaws of a phone’s, readings with their scatter
            (one of them misread), one form made and one ticket left open to try.
          </p>
          {demo === undefined ? (
            <div className="button-row">
              <Button onClick={() => void studio.ask('demo.make', {})}>Make the invented production</Button>
            </div>
          ) : (
            <ProgressTape
              title={demo.title}
              phase={demo.phase}
              fraction={demo.fraction}
              startedAt={demo.startedAt}
              onStop={() => void studio.ask('job.stop', { id: demo.id })}
            />
          )}
        </TicketCard>
        <TicketCard title="I have only measurements" kind="A wearer far away">
          <p>Begin their sheet with the lengths they send. A scan can be added to it whenever there is one.</p>
          <div className="button-row">
            <Button onClick={() => setAdding(true)}>Add a wearer</Button>
          </div>
        </TicketCard>
      </div>
      {isAdding ? <WearerDialog onClose={() => setAdding(false)} /> : null}
    </div>
  );
}
