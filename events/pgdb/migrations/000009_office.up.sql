-- A job's particulars can be changed at the desk, each change by the revision it
-- was made on. closed_seq is the last event that was seen when it was closed: what
-- is recorded after that is stored and shown as such.
ALTER TABLE job
    ADD COLUMN planned_first date,
    ADD COLUMN planned_last  date,
    ADD COLUMN closed_seq    bigint  NOT NULL DEFAULT 0,
    ADD COLUMN revision      integer NOT NULL DEFAULT 0,
    ADD CONSTRAINT job_planned CHECK (planned_first <= planned_last);

-- Who closed a job or opened it again, and why. A row is never changed.
CREATE TABLE job_closing (
    firm   uuid        NOT NULL,
    id     uuid        NOT NULL,
    job    uuid        NOT NULL,
    closed boolean     NOT NULL, -- or opened again
    at     timestamptz NOT NULL,
    person uuid,
    why    text        NOT NULL,
    seq    bigint      NOT NULL,
    CONSTRAINT job_closing_pkey PRIMARY KEY (firm, id),
    CONSTRAINT job_closing_job_fkey FOREIGN KEY (firm, job) REFERENCES job (firm, id)
);
CREATE INDEX job_closing_job ON job_closing (firm, job, at);

-- The small plan of a job's summary, as the server draws it.
ALTER TABLE job_summary ADD COLUMN small text NOT NULL DEFAULT '';

-- What was done on a job on one day of its site: derived from its log as the
-- summary is, and written with it.
CREATE TABLE diary (
    firm uuid  NOT NULL,
    job  uuid  NOT NULL,
    day  date  NOT NULL,
    body jsonb NOT NULL,
    CONSTRAINT diary_pkey PRIMARY KEY (firm, job, day),
    CONSTRAINT diary_body CHECK (jsonb_typeof(body) = 'object')
) WITH (fillfactor = 70);
CREATE INDEX diary_day ON diary (firm, day);

-- Who holds a link to a crew's calendar. Only the hash of its secret is kept.
CREATE TABLE calendar (
    firm        uuid        NOT NULL,
    id          uuid        NOT NULL,
    crew        uuid        NOT NULL,
    secret_hash bytea       NOT NULL,
    name        text        NOT NULL,
    created_at  timestamptz NOT NULL,
    revoked_at  timestamptz,
    CONSTRAINT calendar_pkey PRIMARY KEY (firm, id),
    CONSTRAINT calendar_hash UNIQUE (firm, secret_hash),
    CONSTRAINT calendar_crew_fkey FOREIGN KEY (firm, crew) REFERENCES crew (firm, id),
    CONSTRAINT calendar_hash_length CHECK (octet_length(secret_hash) = 32)
);

GRANT SELECT, INSERT ON job_closing TO relevel_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON diary TO relevel_app;
GRANT SELECT, INSERT, UPDATE ON calendar TO relevel_app;

ALTER TABLE job_closing ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE diary       ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE calendar    ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON job_closing TO relevel_owner USING (true);
CREATE POLICY owner_all ON diary       TO relevel_owner USING (true);
CREATE POLICY owner_all ON calendar    TO relevel_owner USING (true);

CREATE POLICY app_firm ON job_closing TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON diary       TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON calendar    TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
