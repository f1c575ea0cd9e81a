/** One build: whose forms it uses, and the liners made for it. */
import { dayText, some } from '../../controls/figure.tsx';
import { FormPicture } from '../../controls/form-picture.tsx';
import { HangTag, TicketCard } from '../../controls/paper.tsx';
import { AskedView, Empty } from '../../controls/states.tsx';
import { useAsked } from '../../state/use-asked.ts';
import { useTitle } from '../../state/use-title.ts';
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
  useTitle(project.name);
  return (
    <div className="project">
      <header>
        <h1>{project.name}</h1>
        <p className="soft">
          Begun on {dayText(project.createdAt)} · {some(forms.length, 'form')} · {some(liners.length, 'liner')}
        </p>
        {project.note === undefined ? null : <p className="project-note">{project.note}</p>}
      </header>
      <section aria-label="Forms">
        {forms.length === 0 ? (
          <Empty title="No form is used here yet">
            <p>Open a wearer’s sheet and choose “Use in a project” beside one of their forms.</p>
          </Empty>
        ) : (
          <ul className="project-board">
            {forms.map(({ form, wearerName, revisionId }) => (
              <li key={form.id}>
                <a
                  className="project-stand"
                  href={revisionId === undefined ? `#/wearer/${form.wearerId}` : `#/form/${revisionId}`}
                >
                  <span className="project-form">
                    <FormPicture revisionId={revisionId} label="" />
                  </span>
                  <span className="project-plank" aria-hidden="true" />
                  <HangTag>
                    <h2 className="project-name">{form.name}</h2>
                    <p className="soft small">{wearerName}</p>
                    {revisionId === undefined ? <p className="soft small">Not made yet</p> : null}
                  </HangTag>
                </a>
              </li>
            ))}
          </ul>
        )}
      </section>
      <TicketCard title="Liners" kind="Made for this project">
        {liners.length === 0 ? (
          <p className="soft">None yet; a liner is made on its form.</p>
        ) : (
          <ul className="plain-list">
            {liners.map((liner) => (
              <li key={liner.id}>
                <a href={`#/liner/${liner.id}`}>For {liner.foamMm} mm foam</a>{' '}
                <span className="soft small">{dayText(liner.createdAt)}</span>
              </li>
            ))}
          </ul>
        )}
      </TicketCard>
    </div>
  );
}
