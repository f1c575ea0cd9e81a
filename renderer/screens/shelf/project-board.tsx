import { useState } from 'react';
import type { CallResult } from '../../../shared-types/contract.ts';
import { Button } from '../../controls/button.tsx';
import { Dialog } from '../../controls/dialog.tsx';
import { TextArea, TextField } from '../../controls/field.tsx';
import { dayText, some } from '../../controls/figure.tsx';
import { go } from '../../state/routes.ts';
import { useStudio } from '../../state/studio.ts';

type Projects = CallResult<'shelf.show'>['projects'];

export function ProjectBoard({ projects, isFiltered }: { readonly projects: Projects; readonly isFiltered: boolean }) {
  const [isAdding, setAdding] = useState(false);
  return (
    <section aria-label="Projects" className="projects">
      <div className="projects-head">
        <h2>Projects</h2>
        <Button onClick={() => setAdding(true)}>Begin a project</Button>
      </div>
      {projects.length === 0 ? (
        <p className="soft">
          {isFiltered ? 'No project of that name.' : 'A project gathers the wearers, forms and liners of one build.'}
        </p>
      ) : (
        <ul className="folders">
          {projects.map((project) => (
            <li key={project.id}>
              <a className="folder" href={`#/project/${project.id}`}>
                <span className="folder-name">{project.name}</span>
                <span className="soft small">
                  {project.forms === 0 ? 'No forms yet' : some(project.forms, 'form')} · since{' '}
                  {dayText(project.createdAt)}
                </span>
              </a>
            </li>
          ))}
        </ul>
      )}
      {isAdding ? <ProjectDialog onClose={() => setAdding(false)} /> : null}
    </section>
  );
}

function ProjectDialog({ onClose }: { readonly onClose: () => void }) {
  const studio = useStudio();
  const [name, setName] = useState('');
  const [note, setNote] = useState('');
  const add = async (): Promise<void> => {
    const added = await studio.ask('project.add', {
      name: name.trim(),
      ...(note.trim() === '' ? {} : { note: note.trim() }),
    });
    if (added === undefined) return;
    onClose();
    go({ at: 'project', id: added.id });
  };
  return (
    <Dialog
      title="Begin a project"
      onClose={onClose}
      action={{ label: 'Begin it', run: add, isReady: name.trim() !== '' }}
    >
      <TextField
        label="Name"
        hint="The build, the play, the commission."
        value={name}
        onChange={setName}
        maxLength={200}
        autoFocus
      />
      <TextArea label="Note" value={note} onChange={setNote} maxLength={20_000} />
    </Dialog>
  );
}
