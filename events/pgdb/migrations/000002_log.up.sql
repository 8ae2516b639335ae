-- The log. Its tables refer to no other table: a log must be able to take what
-- a device recorded whatever became of the rows around it, and a foreign key
-- to a job's row would have every append lock that row.

-- One narrow row per job, rewritten by every append. Half of each page stays
-- free, so that the rewriting stays on the page and out of the index.
CREATE TABLE head (
    firm     uuid   NOT NULL,
    job      uuid   NOT NULL,
    seq      bigint NOT NULL DEFAULT 0,
    root     bytea  NOT NULL,
    frontier bytea  NOT NULL DEFAULT ''::bytea,
    CONSTRAINT head_pkey PRIMARY KEY (firm, job),
    CONSTRAINT head_seq CHECK (seq >= 0),
    CONSTRAINT head_root_length CHECK (octet_length(root) = 32),
    CONSTRAINT head_frontier_length CHECK (octet_length(frontier) % 32 = 0)
) WITH (fillfactor = 50);

-- Never changed by anybody. leaf is what the job's tree holds for the event; it
-- binds the bytes through a salted commitment, so it may stay when the bytes are
-- erased. The two keys share no more than their first column: with (firm, job,
-- id) a planner without statistics, as on a new database, may take either for a
-- look-up by (firm, job), and read a whole job for one event.
CREATE TABLE event (
    firm        uuid        NOT NULL,
    job         uuid        NOT NULL,
    seq         bigint      NOT NULL,
    id          uuid        NOT NULL,
    kind        text        NOT NULL,
    v           integer     NOT NULL,
    recorded_at timestamptz NOT NULL,
    leaf        bytea       NOT NULL,
    CONSTRAINT event_pkey PRIMARY KEY (firm, job, seq),
    CONSTRAINT event_id_key UNIQUE (firm, id, job),
    CONSTRAINT event_seq CHECK (seq > 0),
    CONSTRAINT event_leaf_length CHECK (octet_length(leaf) = 32)
);

-- The exact bytes a device sent, which is what the leaf commits to. body is
-- derived, for queries by hand: jsonb reorders and drops duplicate keys, and
-- it is NULL where jsonb refuses what JSON allows (\u0000 for one). There is no
-- foreign key to event: both rows come from one statement and only this one can
-- go, and the check cost as much as the insert.
CREATE TABLE event_bytes (
    firm  uuid   NOT NULL,
    job   uuid   NOT NULL,
    seq   bigint NOT NULL,
    salt  bytea  NOT NULL,
    bytes bytea  NOT NULL,
    body  jsonb,
    CONSTRAINT event_bytes_pkey PRIMARY KEY (firm, job, seq),
    CONSTRAINT event_bytes_salt_length CHECK (octet_length(salt) = 16)
);

-- What has no place in a log, for the office to look at. The digest is over
-- job, reason and bytes and lives and goes with the bytes beside it.
CREATE TABLE quarantine (
    firm       uuid        NOT NULL,
    digest     bytea       NOT NULL,
    job        uuid        NOT NULL,
    event_id   uuid,
    device     uuid,
    device_seq bigint      NOT NULL DEFAULT 0,
    at         timestamptz NOT NULL,
    reason     text        NOT NULL,
    bytes      bytea       NOT NULL,
    CONSTRAINT quarantine_pkey PRIMARY KEY (firm, digest),
    CONSTRAINT quarantine_digest_length CHECK (octet_length(digest) = 32)
);
CREATE INDEX quarantine_newest ON quarantine (firm, at DESC);

-- Grants are the first fence.
GRANT SELECT, INSERT ON event, event_bytes, quarantine TO relevel_app;
GRANT SELECT, INSERT ON head TO relevel_app;
GRANT UPDATE (seq, root, frontier) ON head TO relevel_app;
GRANT SELECT (firm, job, seq) ON head TO relevel_worker;
GRANT SELECT (firm, job, seq), DELETE ON event_bytes TO relevel_eraser;
GRANT SELECT (firm, digest, job, event_id), DELETE ON quarantine TO relevel_eraser;

-- Triggers are the second: they hold the owner, and a superuser, too. ALWAYS
-- keeps them on under session_replication_role = replica.
CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION 'rows of % are never changed: % refused', TG_TABLE_NAME, TG_OP
        USING ERRCODE = 'insufficient_privilege';
END
$$;

CREATE FUNCTION refuse_unless_eraser() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    IF current_user <> 'relevel_eraser' THEN
        RAISE EXCEPTION 'rows of % are removed by the role relevel_eraser only: % refused', TG_TABLE_NAME, TG_OP
            USING ERRCODE = 'insufficient_privilege';
    END IF;
    RETURN NULL;
END
$$;

CREATE TRIGGER event_unchanged BEFORE UPDATE OR DELETE OR TRUNCATE ON event
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER event_bytes_unchanged BEFORE UPDATE OR TRUNCATE ON event_bytes
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER event_bytes_erased BEFORE DELETE ON event_bytes
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_unless_eraser();
ALTER TABLE event       ENABLE ALWAYS TRIGGER event_unchanged;
ALTER TABLE event_bytes ENABLE ALWAYS TRIGGER event_bytes_unchanged;
ALTER TABLE event_bytes ENABLE ALWAYS TRIGGER event_bytes_erased;

ALTER TABLE head        ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE event       ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE event_bytes ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE quarantine  ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON head        TO relevel_owner USING (true);
CREATE POLICY owner_all ON event       TO relevel_owner USING (true);
CREATE POLICY owner_all ON event_bytes TO relevel_owner USING (true);
CREATE POLICY owner_all ON quarantine  TO relevel_owner USING (true);

CREATE POLICY app_firm ON head        TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON event       TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON event_bytes TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON quarantine  TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

CREATE POLICY eraser_firm ON event_bytes TO relevel_eraser USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY eraser_firm ON quarantine  TO relevel_eraser USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- The worker looks over all firms for what is due: ids and numbers, no content.
CREATE POLICY worker_all ON head FOR SELECT TO relevel_worker USING (true);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
