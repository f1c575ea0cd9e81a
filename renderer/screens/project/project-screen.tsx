/** One build: whose forms it uses, and the liners made for it. */
import { useState } from 'react';
import { Button } from '../../controls/button.tsx';
import { dayText, some } from '../../controls/figure.tsx';
import { LinerItems } from '../../controls/liner-list.tsx';
import { TicketCard } from '../../controls/paper.tsx';
import { Boards, Stand } from '../../controls/stand.tsx';
import { AskedView, Empty } from '../../controls/states.tsx';
import { useAsked } from '../../state/use-asked.ts';
import { useTitle } from '../../state/use-title.ts';
import { FittingsCard } from '../fitting/fittings-card.tsx';
import { StockCard } from '../fitting/stock-card.tsx';
import { PartsCard } from '../fitting/parts-card.tsx';
import { UseFormDialog } from './use-form-dialog.tsx';
import type { CallResult } from '../../../shared-types/contract.ts';
import './project.css';

type Shown = CallResult<'project.show'>;

export function ProjectScreen({ id }: { readonly id: string }) {
  const asked = useAsked('project.show', { id });
  return (
    <AskedView asked={asked} loading="Fetching the project">
      {(shown) => <ProjectDesk shown={shown} />}
    </AskedView>
  );
}

function ProjectDesk({ shown }: { readonly shown: Shown }) {
  const { project, forms, liners } = shown;
  const [isAdding, setAdding] = useState(false);
  useTitle(project.name);
  return (
    <div className="page">
      <header className="page-head">
        <div>
          <h1>{project.name}</h1>
          <p className="soft">
            Begun on {dayText(project.createdAt)} · {some(forms.length, 'form')} · {some(liners.length, 'liner')}
          </p>
          {project.note === undefined ? null : <p className="page-note">{project.note}</p>}
        </div>
        <Button tone={forms.length === 0 ? 'main' : 'plain'} onClick={() => setAdding(true)}>
          Use a form here…
        </Button>
      </header>
      <section aria-label="Forms">
        {forms.length === 0 ? (
          <Empty title="No form is used here yet">
            <p>One form serves many projects; it is used here, not copied.</p>
          </Empty>
        ) : (
          <Boards>
            {forms.map(({ form, wearerName, revisionId }) => (
              <Stand
                key={form.id}
                name={form.name}
                href={revisionId === undefined ? `#/wearer/${form.wearerId}` : `#/form/${revisionId}`}
                revisionId={revisionId}
              >
                <p className="soft small">{wearerName}</p>
                {revisionId === undefined ? <p className="soft small">Not made yet</p> : null}
              </Stand>
            ))}
          </Boards>
        )}
      </section>
      <div className="project-papers">
        <PartsCard projectId={project.id} />
        <FittingsCard projectId={project.id} />
        <StockCard />
        <TicketCard title="Liners" kind="Made for this project">
          {liners.length === 0 ? (
            <p className="soft">None yet; a liner is made on its form.</p>
          ) : (
            <ul className="plain-list">
              <LinerItems
                liners={liners}
                noteOf={(liner) =>
                  `${forms.find(({ revisionId }) => revisionId === liner.formRevisionId)?.wearerName ?? 'an earlier making'} · `
                }
              />
            </ul>
          )}
        </TicketCard>
      </div>
      {isAdding ? <UseFormDialog shown={shown} onClose={() => setAdding(false)} /> : null}
    </div>
  );
}
