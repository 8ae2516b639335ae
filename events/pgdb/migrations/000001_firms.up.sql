-- Firms, their people and devices, and how each device proves whose it is.
--
-- The rules every table here follows: the firm comes first in every primary,
-- unique and foreign key; row security is on and forced; a policy names the
-- role it is for. app.firm is set for one transaction at a time, and after
-- that reads as '' in the same session, hence nullif.
--
-- The roles (relevel_owner, _app, _worker, _eraser, _backup) belong to the
-- whole server and are made before the first migration.

GRANT USAGE ON SCHEMA public TO relevel_app, relevel_worker, relevel_eraser, relevel_backup;
ALTER DEFAULT PRIVILEGES IN SCHEMA public GRANT SELECT ON TABLES TO relevel_backup;
GRANT SELECT ON schema_migrations TO relevel_app, relevel_backup;

CREATE TABLE firm (
    firm         uuid        NOT NULL,
    name         text        NOT NULL,
    words_region text        NOT NULL DEFAULT 'AU',
    units        text        NOT NULL DEFAULT 'mm',
    created_at   timestamptz NOT NULL,
    CONSTRAINT firm_pkey PRIMARY KEY (firm),
    CONSTRAINT firm_words_region CHECK (words_region IN ('AU', 'NZ', 'UK', 'IE', 'US', 'CA')),
    CONSTRAINT firm_units CHECK (units IN ('mm', 'in', 'ft'))
);

-- What identifies somebody is kept here and nowhere in events, so that it can
-- be erased: events name people by id.
CREATE TABLE person (
    firm       uuid        NOT NULL,
    id         uuid        NOT NULL,
    name       text        NOT NULL,
    role       text        NOT NULL,
    created_at timestamptz NOT NULL,
    CONSTRAINT person_pkey PRIMARY KEY (firm, id),
    CONSTRAINT person_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT person_role CHECK (role IN ('office', 'site-lead', 'crew-hand'))
);

CREATE TABLE crew (
    firm uuid NOT NULL,
    id   uuid NOT NULL,
    name text NOT NULL,
    CONSTRAINT crew_pkey PRIMARY KEY (firm, id),
    CONSTRAINT crew_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm)
);

CREATE TABLE device (
    firm       uuid        NOT NULL,
    id         uuid        NOT NULL,
    name       text        NOT NULL DEFAULT '',
    person     uuid,
    created_at timestamptz NOT NULL,
    CONSTRAINT device_pkey PRIMARY KEY (firm, id),
    CONSTRAINT device_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT device_person_fkey FOREIGN KEY (firm, person) REFERENCES person (firm, id)
);

-- A token reads rl_<firm>_<secret>: the firm is known before the look-up. Only
-- the SHA-256 of the secret is kept; it is 256 random bits, so a plain digest
-- cannot be guessed back.
CREATE TABLE api_token (
    firm         uuid        NOT NULL,
    id           uuid        NOT NULL,
    token_hash   bytea       NOT NULL,
    name         text        NOT NULL,
    created_at   timestamptz NOT NULL,
    last_used_at timestamptz,
    revoked_at   timestamptz,
    CONSTRAINT api_token_pkey PRIMARY KEY (firm, id),
    CONSTRAINT api_token_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT api_token_hash_key UNIQUE (firm, token_hash),
    CONSTRAINT api_token_hash_length CHECK (octet_length(token_hash) = 32)
);

GRANT SELECT, INSERT, UPDATE ON firm, device, api_token TO relevel_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON person, crew TO relevel_app;

ALTER TABLE firm      ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE person    ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE crew      ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE device    ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE api_token ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

-- The owner's policy lets migrations fill columns: under FORCE an owner
-- without one silently updates no rows.
CREATE POLICY owner_all ON firm      TO relevel_owner USING (true);
CREATE POLICY owner_all ON person    TO relevel_owner USING (true);
CREATE POLICY owner_all ON crew      TO relevel_owner USING (true);
CREATE POLICY owner_all ON device    TO relevel_owner USING (true);
CREATE POLICY owner_all ON api_token TO relevel_owner USING (true);

CREATE POLICY app_firm ON firm      TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON person    TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON crew      TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON device    TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON api_token TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
