import type { Migration } from './index.ts';

/** At most one row: how the passphrase becomes a key, and the library's own key wrapped by it. */
export const lock: Migration = {
  number: 4,
  name: 'lock',
  sql: `
    CREATE TABLE lock (
      only INTEGER PRIMARY KEY CHECK (only = 1),
      salt BLOB NOT NULL CHECK (length(salt) = 16),
      cost INTEGER NOT NULL,
      block_size INTEGER NOT NULL,
      parallel INTEGER NOT NULL,
      wrapped_key BLOB NOT NULL
    ) STRICT;
  `,
};
