import type { Migration } from './index.ts';

export const formsAndProjects: Migration = {
  number: 2,
  name: 'forms-and-projects',
  sql: `
    CREATE TABLE forms (
      id TEXT PRIMARY KEY NOT NULL,
      wearer_id TEXT NOT NULL REFERENCES wearers (id),
      name TEXT NOT NULL,
      created_at TEXT NOT NULL
    ) STRICT;
    CREATE INDEX forms_of_wearer ON forms (wearer_id);
    CREATE TABLE form_revisions (
      id TEXT PRIMARY KEY NOT NULL,
      form_id TEXT NOT NULL REFERENCES forms (id),
      revision INTEGER NOT NULL CHECK (revision >= 1),
      scan_id TEXT NOT NULL REFERENCES scans (id),
      recipe TEXT NOT NULL,
      steps TEXT NOT NULL,
      program_version TEXT NOT NULL,
      mesh_sha256 TEXT NOT NULL REFERENCES blobs (sha256),
      face_count INTEGER NOT NULL CHECK (face_count > 0),
      created_at TEXT NOT NULL,
      UNIQUE (form_id, revision)
    ) STRICT;
    CREATE INDEX form_revisions_of_scan ON form_revisions (scan_id);
    CREATE INDEX form_revisions_of_blob ON form_revisions (mesh_sha256);
    CREATE TABLE projects (
      id TEXT PRIMARY KEY NOT NULL,
      name TEXT NOT NULL,
      note TEXT,
      created_at TEXT NOT NULL
    ) STRICT;
    CREATE TABLE project_forms (
      id TEXT PRIMARY KEY NOT NULL,
      project_id TEXT NOT NULL REFERENCES projects (id),
      form_id TEXT NOT NULL REFERENCES forms (id),
      UNIQUE (project_id, form_id)
    ) STRICT;
    CREATE INDEX project_forms_of_form ON project_forms (form_id);
    CREATE TABLE parts (
      id TEXT PRIMARY KEY NOT NULL,
      project_id TEXT REFERENCES projects (id),
      name TEXT NOT NULL,
      file_name TEXT NOT NULL,
      original_sha256 TEXT NOT NULL REFERENCES blobs (sha256),
      known_name TEXT,
      known_mm REAL CHECK (known_mm > 0),
      created_at TEXT NOT NULL
    ) STRICT;
    CREATE INDEX parts_of_blob ON parts (original_sha256);
    CREATE TABLE trials (
      id TEXT PRIMARY KEY NOT NULL,
      part_id TEXT NOT NULL REFERENCES parts (id),
      form_revision_id TEXT NOT NULL REFERENCES form_revisions (id),
      placement TEXT NOT NULL,
      figures TEXT NOT NULL,
      created_at TEXT NOT NULL
    ) STRICT;
    CREATE INDEX trials_of_form_revision ON trials (form_revision_id);
    CREATE TABLE liners (
      id TEXT PRIMARY KEY NOT NULL,
      form_revision_id TEXT NOT NULL REFERENCES form_revisions (id),
      project_id TEXT REFERENCES projects (id),
      parameters TEXT NOT NULL,
      figures TEXT NOT NULL,
      foam_mm REAL NOT NULL CHECK (foam_mm > 0),
      program_version TEXT NOT NULL,
      mesh_sha256 TEXT NOT NULL REFERENCES blobs (sha256),
      created_at TEXT NOT NULL
    ) STRICT;
    CREATE INDEX liners_of_form_revision ON liners (form_revision_id);
    CREATE INDEX liners_of_blob ON liners (mesh_sha256);
  `,
};
