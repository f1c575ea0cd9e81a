import type { Migration } from './index.ts';

/** Tickets: what has been decided about a scan before, and between, the makings of its form. */
export const tickets: Migration = {
  number: 5,
  name: 'tickets',
  sql: `
    CREATE TABLE tickets (
      id TEXT PRIMARY KEY NOT NULL,
      wearer_id TEXT NOT NULL REFERENCES wearers (id),
      scan_id TEXT NOT NULL REFERENCES scans (id),
      form_id TEXT REFERENCES forms (id),
      name TEXT NOT NULL,
      draft TEXT NOT NULL,
      created_at TEXT NOT NULL
    ) STRICT;
    CREATE INDEX tickets_of_wearer ON tickets (wearer_id);
    CREATE INDEX tickets_of_scan ON tickets (scan_id);
    CREATE INDEX tickets_of_form ON tickets (form_id);
  `,
};
