import type { Migration } from './index.ts';

/** A fill is thought over too: the plans' table is made anew, since a check cannot be changed. */
export const fillPlans: Migration = {
  number: 9,
  name: 'fill-plans',
  sql: `
    CREATE TABLE plans_anew (
      id TEXT PRIMARY KEY NOT NULL,
      kind TEXT NOT NULL CHECK (kind IN ('liner', 'pads', 'pattern', 'pieces', 'gauge', 'fill')),
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
