-- What a firm calls level enough, beside the published profiles. A row is never
-- changed: the newest of a name is the one in use, and jobs that were agreed by
-- an older one carry its limits themselves.
CREATE TABLE tolerance_profile (
    firm       uuid        NOT NULL,
    id         uuid        NOT NULL,
    name       text        NOT NULL,
    title      text        NOT NULL,
    source     text        NOT NULL DEFAULT '',
    limits     jsonb       NOT NULL,
    created_at timestamptz NOT NULL,
    CONSTRAINT tolerance_profile_pkey PRIMARY KEY (firm, id),
    CONSTRAINT tolerance_profile_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT tolerance_profile_limits CHECK (jsonb_typeof(limits) = 'array')
);

GRANT SELECT, INSERT ON tolerance_profile TO relevel_app;

ALTER TABLE tolerance_profile ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON tolerance_profile TO relevel_owner USING (true);

CREATE POLICY app_firm ON tolerance_profile TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
