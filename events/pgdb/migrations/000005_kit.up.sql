-- What a firm lifts with and how it goes about it. A row is never changed: the
-- newest of a name, or of a firm, is the one in use. What a job was done with
-- stands in its own events.
CREATE TABLE jack (
    firm       uuid        NOT NULL,
    id         uuid        NOT NULL,
    name       text        NOT NULL,
    body       jsonb       NOT NULL,
    created_at timestamptz NOT NULL,
    CONSTRAINT jack_pkey PRIMARY KEY (firm, id),
    CONSTRAINT jack_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT jack_body CHECK (jsonb_typeof(body) = 'object')
);

CREATE TABLE laser (
    firm       uuid        NOT NULL,
    id         uuid        NOT NULL,
    name       text        NOT NULL,
    body       jsonb       NOT NULL,
    created_at timestamptz NOT NULL,
    CONSTRAINT laser_pkey PRIMARY KEY (firm, id),
    CONSTRAINT laser_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT laser_body CHECK (jsonb_typeof(body) = 'object')
);

CREATE TABLE practice (
    firm       uuid        NOT NULL,
    id         uuid        NOT NULL,
    body       jsonb       NOT NULL,
    created_at timestamptz NOT NULL,
    CONSTRAINT practice_pkey PRIMARY KEY (firm, id),
    CONSTRAINT practice_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT practice_body CHECK (jsonb_typeof(body) = 'object')
);

GRANT SELECT, INSERT ON jack, laser, practice TO relevel_app;

ALTER TABLE jack ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE laser ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE practice ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON jack TO relevel_owner USING (true);
CREATE POLICY owner_all ON laser TO relevel_owner USING (true);
CREATE POLICY owner_all ON practice TO relevel_owner USING (true);

CREATE POLICY app_firm ON jack TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON laser TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON practice TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
