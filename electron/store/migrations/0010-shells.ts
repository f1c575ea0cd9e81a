import type { Migration } from './index.ts';

/**
 * Solids made hollow are kept and thought over too. Checks cannot be changed: the tables of makings and plans are made
 * anew, and that of making files with them, because it refers to one of the two.
 */
export const shells: Migration = {
  number: 10,
  name: 'shells',
  sql: `
    CREATE TABLE makings_anew (
      id TEXT PRIMARY KEY NOT NULL,
      kind TEXT NOT NULL CHECK (kind IN ('pads', 'pattern', 'pieces', 'gauge', 'shell', 'paper')),
      name TEXT NOT NULL,
      project_id TEXT REFERENCES projects (id),
      fitting_id TEXT REFERENCES fittings (id),
      form_revision_id TEXT REFERENCES form_revisions (id),
      liner_id TEXT REFERENCES liners (id),
      part_id TEXT REFERENCES parts (id),
      parameters TEXT NOT NULL,
      figures TEXT NOT NULL,
      program_version TEXT NOT NULL,
      created_at TEXT NOT NULL
    ) STRICT;
    INSERT INTO makings_anew
      SELECT id, kind, name, project_id, fitting_id, form_revision_id, liner_id, part_id, parameters, figures,
        program_version, created_at
      FROM makings;
    CREATE TABLE making_files_anew (
      id TEXT PRIMARY KEY NOT NULL,
      making_id TEXT NOT NULL REFERENCES makings_anew (id),
      name TEXT NOT NULL,
      byte_count INTEGER NOT NULL CHECK (byte_count >= 0),
      sha256 TEXT NOT NULL REFERENCES blobs (sha256)
    ) STRICT;
    INSERT INTO making_files_anew SELECT id, making_id, name, byte_count, sha256 FROM making_files;
    DROP TABLE making_files;
    DROP TABLE makings;
    ALTER TABLE makings_anew RENAME TO makings;
    ALTER TABLE making_files_anew RENAME TO making_files;
    CREATE INDEX makings_of_project ON makings (project_id);
    CREATE INDEX makings_of_fitting ON makings (fitting_id);
    CREATE INDEX makings_of_form_revision ON makings (form_revision_id);
    CREATE INDEX makings_of_liner ON makings (liner_id);
    CREATE INDEX makings_of_part ON makings (part_id);
    CREATE INDEX making_files_of_making ON making_files (making_id);
    CREATE INDEX making_files_of_blob ON making_files (sha256);
    CREATE TABLE plans_anew (
      id TEXT PRIMARY KEY NOT NULL,
      kind TEXT NOT NULL CHECK (kind IN ('liner', 'pads', 'pattern', 'pieces', 'gauge', 'shell', 'fill')),
      form_id TEXT REFERENCES forms (id),
      liner_id TEXT REFERENCES liners (id),
      part_id TEXT REFERENCES parts (id),
      fitting_id TEXT REFERENCES fittings (id),
      draft TEXT NOT NULL,
      created_at TEXT NOT NULL,
      CHECK ((form_id IS NOT NULL) + (liner_id IS NOT NULL) + (part_id IS NOT NULL) + (fitting_id IS NOT NULL) = 1)
    ) STRICT;
    INSERT INTO plans_anew SELECT id, kind, form_id, liner_id, part_id, fitting_id, draft, created_at FROM plans;
    DROP TABLE plans;
    ALTER TABLE plans_anew RENAME TO plans;
    CREATE UNIQUE INDEX plans_of_form ON plans (form_id, kind);
    CREATE UNIQUE INDEX plans_of_liner ON plans (liner_id, kind);
    CREATE UNIQUE INDEX plans_of_part ON plans (part_id, kind);
    CREATE UNIQUE INDEX plans_of_fitting ON plans (fitting_id, kind);
  `,
};
