import type { Migration } from './index.ts';

/** Fittings: what is decided about one body and one part; makings: what came of it, with its files. The stock of foam. */
export const fittingsAndMakings: Migration = {
  number: 6,
  name: 'fittings-and-makings',
  sql: `
    ALTER TABLE scans ADD COLUMN kind TEXT CHECK (kind IN ('mesh', 'sheet'));
    ALTER TABLE parts ADD COLUMN recipe TEXT;
    ALTER TABLE parts ADD COLUMN figures TEXT;
    ALTER TABLE parts ADD COLUMN made_sha256 TEXT REFERENCES blobs (sha256);
    CREATE INDEX parts_of_made_blob ON parts (made_sha256);
    CREATE TABLE stock (
      id TEXT PRIMARY KEY NOT NULL,
      material TEXT NOT NULL,
      nominal_mm REAL NOT NULL CHECK (nominal_mm > 0),
      measured_mm REAL CHECK (measured_mm > 0),
      compression REAL NOT NULL CHECK (compression >= 0 AND compression < 1),
      sheet_width_mm REAL CHECK (sheet_width_mm > 0),
      sheet_height_mm REAL CHECK (sheet_height_mm > 0),
      note TEXT,
      created_at TEXT NOT NULL
    ) STRICT;
    CREATE TABLE fittings (
      id TEXT PRIMARY KEY NOT NULL,
      project_id TEXT REFERENCES projects (id),
      form_id TEXT NOT NULL REFERENCES forms (id),
      part_id TEXT REFERENCES parts (id),
      name TEXT NOT NULL,
      draft TEXT NOT NULL,
      created_at TEXT NOT NULL
    ) STRICT;
    CREATE INDEX fittings_of_project ON fittings (project_id);
    CREATE INDEX fittings_of_form ON fittings (form_id);
    CREATE INDEX fittings_of_part ON fittings (part_id);
    CREATE TABLE makings (
      id TEXT PRIMARY KEY NOT NULL,
      kind TEXT NOT NULL CHECK (kind IN ('pads', 'pattern', 'pieces', 'gauge', 'paper')),
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
    CREATE INDEX makings_of_project ON makings (project_id);
    CREATE INDEX makings_of_fitting ON makings (fitting_id);
    CREATE INDEX makings_of_form_revision ON makings (form_revision_id);
    CREATE INDEX makings_of_liner ON makings (liner_id);
    CREATE INDEX makings_of_part ON makings (part_id);
    CREATE TABLE making_files (
      id TEXT PRIMARY KEY NOT NULL,
      making_id TEXT NOT NULL REFERENCES makings (id),
      name TEXT NOT NULL,
      byte_count INTEGER NOT NULL CHECK (byte_count >= 0),
      sha256 TEXT NOT NULL REFERENCES blobs (sha256)
    ) STRICT;
    CREATE INDEX making_files_of_making ON making_files (making_id);
    CREATE INDEX making_files_of_blob ON making_files (sha256);
  `,
};
