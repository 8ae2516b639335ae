-- The fifth step made no table of lasers at first. A database that took it then gets
-- the table here, as every other has it; nothing happens to those.
CREATE TABLE IF NOT EXISTS laser (
    firm       uuid        NOT NULL,
    id         uuid        NOT NULL,
    name       text        NOT NULL,
    body       jsonb       NOT NULL,
    created_at timestamptz NOT NULL,
    CONSTRAINT laser_pkey PRIMARY KEY (firm, id),
    CONSTRAINT laser_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT laser_body CHECK (jsonb_typeof(body) = 'object')
);

GRANT SELECT, INSERT ON laser TO relevel_app;

ALTER TABLE laser ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

DROP POLICY IF EXISTS owner_all ON laser;
DROP POLICY IF EXISTS app_firm ON laser;
CREATE POLICY owner_all ON laser TO relevel_owner USING (true);
CREATE POLICY app_firm ON laser TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
