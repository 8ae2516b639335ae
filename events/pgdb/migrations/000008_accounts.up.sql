-- How people sign in, what keeps them signed in, and the trail of it.

-- Who left opens nothing; their row stays, because events name them.
ALTER TABLE person ADD COLUMN left_at timestamptz;

-- What a token opens, and in whose name it speaks. What phones were given so far
-- opens what phones ask for.
ALTER TABLE api_token ADD COLUMN scope text NOT NULL DEFAULT 'everything';
ALTER TABLE api_token ADD COLUMN person uuid;
ALTER TABLE api_token ADD CONSTRAINT api_token_scope CHECK (scope IN ('phone', 'read', 'everything'));
ALTER TABLE api_token ADD CONSTRAINT api_token_person_fkey FOREIGN KEY (firm, person) REFERENCES person (firm, id);
UPDATE api_token SET scope = 'phone' WHERE device IS NOT NULL;

-- What leads a sign-in name to firms, before any is known: a hash of the name, and
-- the salt of its passwords, one for all firms, so that a sign-in takes as long
-- whether the name leads to none, one or several.
CREATE TABLE sign_in (
    name_hash bytea NOT NULL,
    firm      uuid  NOT NULL,
    salt      bytea NOT NULL,
    CONSTRAINT sign_in_pkey PRIMARY KEY (name_hash, firm),
    CONSTRAINT sign_in_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT sign_in_hash_length CHECK (octet_length(name_hash) = 32),
    CONSTRAINT sign_in_salt_length CHECK (octet_length(salt) = 16)
);

-- What a browser was asked to have signed by a passkey, whose owner is not known
-- yet. A row is taken once and lives for minutes; body names nobody.
CREATE TABLE challenge (
    challenge_hash bytea       NOT NULL,
    body           jsonb       NOT NULL,
    expires_at     timestamptz NOT NULL,
    CONSTRAINT challenge_pkey PRIMARY KEY (challenge_hash),
    CONSTRAINT challenge_hash_length CHECK (octet_length(challenge_hash) = 32)
);

-- The name is an e-mail address: it is kept here alone and goes with the row.
CREATE TABLE account (
    firm       uuid        NOT NULL,
    person     uuid        NOT NULL,
    name       text        NOT NULL,
    name_hash  bytea       NOT NULL,
    password   text        NOT NULL DEFAULT '',
    created_at timestamptz NOT NULL,
    CONSTRAINT account_pkey PRIMARY KEY (firm, person),
    CONSTRAINT account_person_fkey FOREIGN KEY (firm, person) REFERENCES person (firm, id),
    CONSTRAINT account_name_key UNIQUE (firm, name_hash)
);

CREATE TABLE passkey (
    firm       uuid        NOT NULL,
    id         uuid        NOT NULL,
    person     uuid        NOT NULL,
    name       text        NOT NULL,
    credential jsonb       NOT NULL,
    created_at timestamptz NOT NULL,
    used_at    timestamptz,
    CONSTRAINT passkey_pkey PRIMARY KEY (firm, id),
    CONSTRAINT passkey_account_fkey FOREIGN KEY (firm, person) REFERENCES account (firm, person)
);
CREATE INDEX passkey_person ON passkey (firm, person);

-- One-time links. Of a secret only its SHA-256 is kept: it is 256 random bits.
CREATE TABLE invitation (
    firm        uuid        NOT NULL,
    id          uuid        NOT NULL,
    secret_hash bytea       NOT NULL,
    purpose     text        NOT NULL,
    person      uuid,
    made_by     uuid,
    created_at  timestamptz NOT NULL,
    expires_at  timestamptz NOT NULL,
    closed_at   timestamptz,
    CONSTRAINT invitation_pkey PRIMARY KEY (firm, id),
    CONSTRAINT invitation_hash_key UNIQUE (firm, secret_hash),
    CONSTRAINT invitation_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT invitation_person_fkey FOREIGN KEY (firm, person) REFERENCES person (firm, id),
    CONSTRAINT invitation_purpose CHECK (purpose IN ('first', 'invited', 'reset')),
    CONSTRAINT invitation_of CHECK ((person IS NULL) = (purpose = 'first')),
    CONSTRAINT invitation_hash_length CHECK (octet_length(secret_hash) = 32)
);

-- A browser that is signed in, by a person or by a token. Rows stay when a session
-- is over: a browser on which somebody signed in before is no stranger to them.
CREATE TABLE session (
    firm         uuid        NOT NULL,
    id           uuid        NOT NULL,
    secret_hash  bytea       NOT NULL,
    person       uuid,
    token        uuid,
    browser_hash bytea       NOT NULL,
    agent        text        NOT NULL DEFAULT '',
    created_at   timestamptz NOT NULL,
    seen_at      timestamptz NOT NULL,
    expires_at   timestamptz NOT NULL,
    ended_at     timestamptz,
    CONSTRAINT session_pkey PRIMARY KEY (firm, id),
    CONSTRAINT session_hash_key UNIQUE (firm, secret_hash),
    CONSTRAINT session_person_fkey FOREIGN KEY (firm, person) REFERENCES person (firm, id),
    CONSTRAINT session_token_fkey FOREIGN KEY (firm, token) REFERENCES api_token (firm, id),
    CONSTRAINT session_of CHECK (person IS NOT NULL OR token IS NOT NULL),
    CONSTRAINT session_hash_length CHECK (octet_length(secret_hash) = 32)
);
CREATE INDEX session_person ON session (firm, person, browser_hash);

-- Who came and who saw what. It refers to no other table: it outlives all of them.
CREATE TABLE trail (
    firm    uuid        NOT NULL,
    id      uuid        NOT NULL,
    at      timestamptz NOT NULL,
    what    text        NOT NULL,
    by      uuid,
    token   uuid,
    about   uuid,
    job     uuid,
    detail  text        NOT NULL DEFAULT '',
    address text        NOT NULL DEFAULT '',
    CONSTRAINT trail_pkey PRIMARY KEY (firm, id)
);
CREATE INDEX trail_newest ON trail (firm, at DESC, id DESC);

CREATE TRIGGER trail_unchanged BEFORE UPDATE OR TRUNCATE ON trail
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER trail_erased BEFORE DELETE ON trail
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_unless_eraser();
ALTER TABLE trail ENABLE ALWAYS TRIGGER trail_unchanged;
ALTER TABLE trail ENABLE ALWAYS TRIGGER trail_erased;

GRANT SELECT, INSERT, DELETE ON sign_in, challenge TO relevel_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON account, passkey TO relevel_app;
GRANT SELECT, INSERT, UPDATE ON invitation, session TO relevel_app;
GRANT SELECT, INSERT ON trail TO relevel_app;
GRANT SELECT (firm, at), DELETE ON trail TO relevel_eraser;

ALTER TABLE account    ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE passkey    ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE invitation ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE session    ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE trail      ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON account    TO relevel_owner USING (true);
CREATE POLICY owner_all ON passkey    TO relevel_owner USING (true);
CREATE POLICY owner_all ON invitation TO relevel_owner USING (true);
CREATE POLICY owner_all ON session    TO relevel_owner USING (true);
CREATE POLICY owner_all ON trail      TO relevel_owner USING (true);

CREATE POLICY app_firm ON account    TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON passkey    TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON invitation TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON session    TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON trail      TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

CREATE POLICY eraser_firm ON trail TO relevel_eraser USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
