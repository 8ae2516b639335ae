-- Jobs as the office lists them, what is derived from their logs, the photos
-- their events vouch for, and work that is due.

CREATE TABLE job (
    firm       uuid        NOT NULL,
    id         uuid        NOT NULL,
    name       text        NOT NULL,
    place      text        NOT NULL DEFAULT '',
    crew       uuid,
    zone       text        NOT NULL DEFAULT 'UTC', -- IANA time zone of the site
    created_at timestamptz NOT NULL,
    closed_at  timestamptz,
    CONSTRAINT job_pkey PRIMARY KEY (firm, id),
    CONSTRAINT job_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT job_crew_fkey FOREIGN KEY (firm, crew) REFERENCES crew (firm, id)
);

-- A cache of the fold for pages over many jobs. Never evidence: it can be
-- dropped and rebuilt from the log, and a row behind its head says so by seq.
CREATE TABLE job_summary (
    firm         uuid        NOT NULL,
    job          uuid        NOT NULL,
    seq          bigint      NOT NULL,
    fold_version integer     NOT NULL,
    body         jsonb       NOT NULL,
    updated_at   timestamptz NOT NULL,
    CONSTRAINT job_summary_pkey PRIMARY KEY (firm, job)
) WITH (fillfactor = 70);

-- A photo or sound, named by the SHA-256 of its bytes. received: they arrived
-- whole; stored: the object store took them; durable: read back and hashed
-- again, or synced to disk. at is when that state was reached or last checked,
-- reason why it fell back.
CREATE TABLE photo (
    firm       uuid        NOT NULL,
    sha256     bytea       NOT NULL,
    type       text        NOT NULL,
    bytes      bigint      NOT NULL,
    media_type text        NOT NULL,
    state      text        NOT NULL,
    at         timestamptz NOT NULL,
    reason     text        NOT NULL DEFAULT '',
    width      integer,
    height     integer,
    CONSTRAINT photo_pkey PRIMARY KEY (firm, sha256),
    CONSTRAINT photo_sha256_length CHECK (octet_length(sha256) = 32),
    CONSTRAINT photo_bytes CHECK (bytes > 0),
    CONSTRAINT photo_type CHECK (type IN ('photo', 'sound')),
    CONSTRAINT photo_state CHECK (state IN ('received', 'stored', 'durable'))
);
CREATE INDEX photo_waiting ON photo (firm, state, at);

-- Work that is due: a hint, since all of it can be found again from the log.
-- ref says what about, in ids; nothing a person wrote.
CREATE TABLE task (
    firm        uuid        NOT NULL,
    id          uuid        NOT NULL,
    kind        text        NOT NULL,
    ref         text        NOT NULL,
    due_at      timestamptz NOT NULL,
    attempts    integer     NOT NULL DEFAULT 0,
    lease_until timestamptz,
    last_error  text        NOT NULL DEFAULT '',
    dead        boolean     NOT NULL DEFAULT false,
    CONSTRAINT task_pkey PRIMARY KEY (firm, id),
    CONSTRAINT task_once UNIQUE (firm, kind, ref)
);
-- For the worker, which looks over all firms for what is due first.
CREATE INDEX task_due ON task (due_at) WHERE NOT dead;

GRANT SELECT, INSERT, UPDATE ON job, photo TO relevel_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON job_summary, task TO relevel_app;
GRANT SELECT, UPDATE, DELETE ON task TO relevel_worker;

ALTER TABLE job         ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE job_summary ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE photo       ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE task        ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON job         TO relevel_owner USING (true);
CREATE POLICY owner_all ON job_summary TO relevel_owner USING (true);
CREATE POLICY owner_all ON photo       TO relevel_owner USING (true);
CREATE POLICY owner_all ON task        TO relevel_owner USING (true);

CREATE POLICY app_firm ON job         TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON job_summary TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON photo       TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON task        TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

CREATE POLICY worker_all ON task TO relevel_worker USING (true);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
