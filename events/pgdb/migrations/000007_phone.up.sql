-- What is known of each device that records. seen and heard_at are derived from the
-- log and the quarantine, so there is no foreign key; report is what the device said
-- last of what is still on it.
CREATE TABLE phone (
    firm     uuid           NOT NULL,
    device   uuid           NOT NULL,
    seen     int8multirange NOT NULL DEFAULT '{}',
    heard_at timestamptz    NOT NULL,
    report   jsonb,
    CONSTRAINT phone_pkey PRIMARY KEY (firm, device),
    CONSTRAINT phone_report CHECK (jsonb_typeof(report) = 'object')
) WITH (fillfactor = 70);

-- Which device an access was given to, by the id that the device gave itself and
-- keeps when it is paired again. Programs have none.
ALTER TABLE api_token ADD COLUMN device uuid;

GRANT SELECT, INSERT, UPDATE ON phone TO relevel_app;

ALTER TABLE phone ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON phone TO relevel_owner USING (true);

CREATE POLICY app_firm ON phone TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
