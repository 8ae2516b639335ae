-- Addresses that a firm wants told of what happens, how far each was told, and how
-- its last deliveries went.

-- The secret signs what is sent, so it is kept as it is and not as a hash.
CREATE TABLE hook (
    firm       uuid        NOT NULL,
    id         uuid        NOT NULL,
    name       text        NOT NULL,
    url        text        NOT NULL,
    secret     text        NOT NULL,
    happenings text[]      NOT NULL,
    created_at timestamptz NOT NULL,
    paused_at  timestamptz,
    failing_at timestamptz,
    failing    text        NOT NULL DEFAULT '',
    CONSTRAINT hook_pkey PRIMARY KEY (firm, id),
    CONSTRAINT hook_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT hook_happenings CHECK (cardinality(happenings) > 0)
);

-- How far a hook was told of one subject: of a job by the number of its log. This,
-- and not the queue of tasks, says what is still to be told.
CREATE TABLE hook_told (
    firm    uuid   NOT NULL,
    hook    uuid   NOT NULL,
    subject text   NOT NULL,
    seq     bigint NOT NULL,
    CONSTRAINT hook_told_pkey PRIMARY KEY (firm, hook, subject),
    CONSTRAINT hook_told_hook_fkey FOREIGN KEY (firm, hook) REFERENCES hook (firm, id)
) WITH (fillfactor = 70);

-- The last attempts of each hook, for people to look at.
CREATE TABLE hook_delivery (
    firm      uuid        NOT NULL,
    id        uuid        NOT NULL,
    hook      uuid        NOT NULL,
    delivery  uuid        NOT NULL, -- the same for every attempt at one happening
    subject   text        NOT NULL,
    seq       bigint      NOT NULL,
    happening text        NOT NULL,
    at        timestamptz NOT NULL,
    status    integer     NOT NULL, -- 0 where there was no answer
    took_ms   bigint      NOT NULL,
    reason    text        NOT NULL,
    CONSTRAINT hook_delivery_pkey PRIMARY KEY (firm, id),
    CONSTRAINT hook_delivery_hook_fkey FOREIGN KEY (firm, hook) REFERENCES hook (firm, id)
);
CREATE INDEX hook_delivery_newest ON hook_delivery (firm, hook, at DESC, id DESC);

GRANT SELECT, INSERT, UPDATE, DELETE ON hook, hook_told TO relevel_app;
GRANT SELECT, INSERT, DELETE ON hook_delivery TO relevel_app;

ALTER TABLE hook          ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE hook_told     ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE hook_delivery ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON hook          TO relevel_owner USING (true);
CREATE POLICY owner_all ON hook_told     TO relevel_owner USING (true);
CREATE POLICY owner_all ON hook_delivery TO relevel_owner USING (true);

CREATE POLICY app_firm ON hook          TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON hook_told     TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON hook_delivery TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
