-- Printed accounts of jobs: who asked for which, how far it is, and where its file
-- lies. A pack is made from the record up to a number and from a basis (names, words,
-- the layout); the same is not made twice.
CREATE TABLE pack (
    firm     uuid        NOT NULL,
    id       uuid        NOT NULL,
    job      uuid        NOT NULL,
    paper    text        NOT NULL,
    up_to    bigint      NOT NULL,
    basis    bytea       NOT NULL,
    asked_at timestamptz NOT NULL,
    page     integer     NOT NULL DEFAULT 0,
    pages    integer     NOT NULL DEFAULT 0,
    made_at  timestamptz,
    file     bytea,
    bytes    bigint      NOT NULL DEFAULT 0,
    failed   text        NOT NULL DEFAULT '',
    CONSTRAINT pack_pkey PRIMARY KEY (firm, id),
    CONSTRAINT pack_once UNIQUE (firm, job, paper, up_to, basis),
    CONSTRAINT pack_job_fkey FOREIGN KEY (firm, job) REFERENCES job (firm, id),
    CONSTRAINT pack_file CHECK ((made_at IS NULL) = (file IS NULL))
) WITH (fillfactor = 70);

GRANT SELECT, INSERT, UPDATE, DELETE ON pack TO relevel_app;

ALTER TABLE pack ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON pack TO relevel_owner USING (true);
CREATE POLICY app_firm  ON pack TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
