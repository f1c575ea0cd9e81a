import type { Migration } from './index.ts';

/** Plans: what is thought over about a form, a liner, a part or a fitting before something is made of it. */
export const plans: Migration = {
  number: 7,
  name: 'plans',
  sql: `
    CREATE TABLE plans (
      id TEXT PRIMARY KEY NOT NULL,
      kind TEXT NOT NULL CHECK (kind IN ('liner', 'pads', 'pattern', 'pieces', 'gauge')),
      form_id TEXT REFERENCES forms (id),
      liner_id TEXT REFERENCES liners (id),
      part_id TEXT REFERENCES parts (id),
      fitting_id TEXT REFERENCES fittings (id),
      draft TEXT NOT NULL,
      created_at TEXT NOT NULL,
      CHECK ((form_id IS NOT NULL) + (liner_id IS NOT NULL) + (part_id IS NOT NULL) + (fitting_id IS NOT NULL) = 1)
    ) STRICT;
    CREATE UNIQUE INDEX plans_of_form ON plans (form_id, kind);
    CREATE UNIQUE INDEX plans_of_liner ON plans (liner_id, kind);
    CREATE UNIQUE INDEX plans_of_part ON plans (part_id, kind);
    CREATE UNIQUE INDEX plans_of_fitting ON plans (fitting_id, kind);
  `,
};
