-- How often what guards a secret was tried, over all servers: names, addresses and
-- codes. A row is a hash of what is tried and when it is as good as never tried. It
-- names nobody and leads nowhere, and lives for minutes.
CREATE TABLE attempt (
    of_hash bytea       NOT NULL,
    over_at timestamptz NOT NULL,
    CONSTRAINT attempt_pkey PRIMARY KEY (of_hash),
    CONSTRAINT attempt_hash_length CHECK (octet_length(of_hash) = 32)
) WITH (fillfactor = 50);

GRANT SELECT, INSERT, UPDATE, DELETE ON attempt TO relevel_app;

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
