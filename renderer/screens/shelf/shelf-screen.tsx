/** The shelf: wearers stand on boards, each with a hang-tag; below them the projects. */
import { useMemo, useState } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import { Button } from '../../controls/button.tsx';
import { ChoiceField, TextField } from '../../controls/field.tsx';
import { some } from '../../controls/figure.tsx';
import { Boards } from '../../controls/stand.tsx';
import { AskedView, Empty } from '../../controls/states.tsx';
import { useStore } from '../../state/store.ts';
import { useStudio } from '../../state/studio.ts';
import { useAsked } from '../../state/use-asked.ts';
import { useTitle } from '../../state/use-title.ts';
import { FirstStart } from './first-start.tsx';
import { ProjectBoard } from './project-board.tsx';
import { useScanChooser } from '../../controls/mesh-chooser.tsx';
import { WearerStand } from './wearer-stand.tsx';
import { WearerDialog } from './wearer-dialog.tsx';
import './shelf.css';

type Shelf = CallResult<'shelf.show'>;
type Order = 'lately' | 'name';

export function ShelfScreen() {
  const shelf = useAsked('shelf.show', {});
  useTitle('');
  return (
    <AskedView asked={shelf} loading="Looking along the shelf">
      {(value) => (value.wearers.length + value.projects.length === 0 ? <FirstStart /> : <FullShelf shelf={value} />)}
    </AskedView>
  );
}

function FullShelf({ shelf }: { readonly shelf: Shelf }) {
  const studio = useStudio();
  const { unit } = useStore(studio.settings);
  const [text, setText] = useState('');
  const [order, setOrder] = useState<Order>('lately');
  const [isAdding, setAdding] = useState(false);
  const [chooser, chooseScan] = useScanChooser();
  const wanted = text.trim().toLocaleLowerCase();
  const shown = useMemo(() => {
    const found = shelf.wearers.filter((wearer) => wearer.name.toLocaleLowerCase().includes(wanted));
    return found.sort((a, b) =>
      order === 'name' ? a.name.localeCompare(b.name) : b.lastSeen.localeCompare(a.lastSeen),
    );
  }, [shelf.wearers, wanted, order]);
  const projects = shelf.projects.filter((project) => project.name.toLocaleLowerCase().includes(wanted));
  return (
    <div className="shelf">
      {chooser}
      <div className="shelf-head">
        <h1>The shelf</h1>
        <div className="shelf-tools">
          <TextField
            label="Find a wearer or project"
            isLabelHidden
            type="search"
            placeholder="Find a name"
            value={text}
            onChange={setText}
          />
          <ChoiceField
            label="Order"
            isLabelHidden
            value={order}
            onChange={setOrder}
            options={[
              { value: 'lately', label: 'Lately seen' },
              { value: 'name', label: 'By name' },
            ]}
          />
          <Button onClick={() => setAdding(true)}>Add a wearer</Button>
          <Button tone="main" onClick={chooseScan}>
            Bring a scan…
          </Button>
        </div>
      </div>
      <section aria-label="Wearers">
        <p className="soft shelf-count" role="status">
          {wanted === ''
            ? some(shelf.wearers.length, 'wearer')
            : `${some(shown.length, 'wearer')} of ${shelf.wearers.length}, ${some(projects.length, 'project')}`}
        </p>
        {shown.length === 0 ? (
          <Empty
            title={wanted === '' ? 'Nobody stands here yet' : 'Nobody of that name'}
            actions={wanted === '' ? undefined : <Button onClick={() => setText('')}>Show everybody</Button>}
          >
            {wanted === '' ? <p>Drop a scan anywhere on this window, or add a wearer without one.</p> : null}
          </Empty>
        ) : (
          <Boards>
            {shown.map((wearer) => (
              <WearerStand key={wearer.id} wearer={wearer} unit={unit} />
            ))}
          </Boards>
        )}
      </section>
      <ProjectBoard projects={projects} isFiltered={wanted !== ''} />
      {isAdding ? <WearerDialog onClose={() => setAdding(false)} /> : null}
    </div>
  );
}
