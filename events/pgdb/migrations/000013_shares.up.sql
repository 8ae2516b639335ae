-- The links by which owners see what was done at their house, and in which browsers
-- they are open now.

-- Of the secret of a link only its SHA-256 is kept: it is 256 random bits. up_to is
-- the last record of the job that is seen; null where the share goes on with the job.
CREATE TABLE share (
    firm        uuid        NOT NULL,
    id          uuid        NOT NULL,
    job         uuid        NOT NULL,
    secret_hash bytea       NOT NULL,
    name        text        NOT NULL,
    up_to       bigint,
    made_by     uuid,
    created_at  timestamptz NOT NULL,
    expires_at  timestamptz NOT NULL,
    revoked_at  timestamptz,
    opened      integer     NOT NULL DEFAULT 0,
    opened_at   timestamptz,
    CONSTRAINT share_pkey PRIMARY KEY (firm, id),
    CONSTRAINT share_hash UNIQUE (firm, secret_hash),
    CONSTRAINT share_job_fkey FOREIGN KEY (firm, job) REFERENCES job (firm, id),
    CONSTRAINT share_up_to CHECK (up_to > 0),
    CONSTRAINT share_hash_length CHECK (octet_length(secret_hash) = 32)
) WITH (fillfactor = 70);
CREATE INDEX share_job ON share (firm, job, created_at);

-- A browser in which a share was opened. Rows go when their time is over.
CREATE TABLE share_visit (
    firm       uuid        NOT NULL,
    share      uuid        NOT NULL,
    visit_hash bytea       NOT NULL,
    began_at   timestamptz NOT NULL,
    expires_at timestamptz NOT NULL,
    CONSTRAINT share_visit_pkey PRIMARY KEY (firm, share, visit_hash),
    CONSTRAINT share_visit_share_fkey FOREIGN KEY (firm, share) REFERENCES share (firm, id),
    CONSTRAINT share_visit_hash_length CHECK (octet_length(visit_hash) = 32)
);

GRANT SELECT, INSERT, UPDATE ON share TO relevel_app;
GRANT SELECT, INSERT, DELETE ON share_visit TO relevel_app;

ALTER TABLE share       ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE share_visit ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON share       TO relevel_owner USING (true);
CREATE POLICY owner_all ON share_visit TO relevel_owner USING (true);

CREATE POLICY app_firm ON share       TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON share_visit TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
