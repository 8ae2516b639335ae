-- What was signed of the logs: who changed what after a checkpoint left the server
-- does not come out with what is kept here. None of it refers to another table, as
-- nothing of the log does, and rows are only added.

-- The signed checkpoints of a job's log, by the number of its records. frontier is
-- the state of the tree at that size: the next checkpoint grows out of it, with the
-- leaves that came since and no others.
CREATE TABLE checkpoint (
    firm      uuid        NOT NULL,
    job       uuid        NOT NULL,
    size      bigint      NOT NULL,
    frontier  bytea       NOT NULL,
    note      bytea       NOT NULL,
    signed_at timestamptz NOT NULL,
    CONSTRAINT checkpoint_pkey PRIMARY KEY (firm, job, size),
    CONSTRAINT checkpoint_size CHECK (size > 0),
    CONSTRAINT checkpoint_frontier_length CHECK (octet_length(frontier) % 32 = 0)
);

-- Where a log no longer agreed with a checkpoint: size and root are what it had
-- then. The first finding about a checkpoint stays, later ones say the same.
CREATE TABLE checkpoint_fault (
    firm     uuid        NOT NULL,
    job      uuid        NOT NULL,
    held     bigint      NOT NULL,
    size     bigint      NOT NULL,
    root     bytea       NOT NULL,
    why      text        NOT NULL,
    found_at timestamptz NOT NULL,
    CONSTRAINT checkpoint_fault_pkey PRIMARY KEY (firm, job, held),
    CONSTRAINT checkpoint_fault_root_length CHECK (octet_length(root) = 32)
);

-- The firm's own log: a leaf for each checkpoint of a job that was the last of its
-- hour, over the exact bytes of its note.
CREATE TABLE firm_leaf (
    firm uuid   NOT NULL,
    seq  bigint NOT NULL,
    job  uuid   NOT NULL,
    size bigint NOT NULL,
    leaf bytea  NOT NULL,
    CONSTRAINT firm_leaf_pkey PRIMARY KEY (firm, seq),
    CONSTRAINT firm_leaf_of_key UNIQUE (firm, job, size),
    CONSTRAINT firm_leaf_seq CHECK (seq > 0),
    CONSTRAINT firm_leaf_length CHECK (octet_length(leaf) = 32)
);

CREATE TABLE firm_checkpoint (
    firm      uuid        NOT NULL,
    size      bigint      NOT NULL,
    frontier  bytea       NOT NULL,
    note      bytea       NOT NULL,
    signed_at timestamptz NOT NULL,
    CONSTRAINT firm_checkpoint_pkey PRIMARY KEY (firm, size),
    CONSTRAINT firm_checkpoint_size CHECK (size > 0),
    CONSTRAINT firm_checkpoint_frontier_length CHECK (octet_length(frontier) % 32 = 0)
);

-- The keys that sign, as anybody may have them; the secret halves are in no
-- database. They are the servers', of no firm.
CREATE TABLE public_key (
    verifier text        NOT NULL,
    from_at  timestamptz NOT NULL,
    until_at timestamptz,
    CONSTRAINT public_key_pkey PRIMARY KEY (verifier)
);

GRANT SELECT, INSERT ON checkpoint, checkpoint_fault, firm_leaf, firm_checkpoint, public_key TO relevel_app;
GRANT UPDATE (until_at) ON public_key TO relevel_app;

CREATE TRIGGER checkpoint_unchanged BEFORE UPDATE OR DELETE OR TRUNCATE ON checkpoint
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER checkpoint_fault_unchanged BEFORE UPDATE OR DELETE OR TRUNCATE ON checkpoint_fault
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER firm_leaf_unchanged BEFORE UPDATE OR DELETE OR TRUNCATE ON firm_leaf
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
CREATE TRIGGER firm_checkpoint_unchanged BEFORE UPDATE OR DELETE OR TRUNCATE ON firm_checkpoint
    FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
ALTER TABLE checkpoint       ENABLE ALWAYS TRIGGER checkpoint_unchanged;
ALTER TABLE checkpoint_fault ENABLE ALWAYS TRIGGER checkpoint_fault_unchanged;
ALTER TABLE firm_leaf        ENABLE ALWAYS TRIGGER firm_leaf_unchanged;
ALTER TABLE firm_checkpoint  ENABLE ALWAYS TRIGGER firm_checkpoint_unchanged;

ALTER TABLE checkpoint       ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE checkpoint_fault ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE firm_leaf        ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE firm_checkpoint  ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON checkpoint       TO relevel_owner USING (true);
CREATE POLICY owner_all ON checkpoint_fault TO relevel_owner USING (true);
CREATE POLICY owner_all ON firm_leaf        TO relevel_owner USING (true);
CREATE POLICY owner_all ON firm_checkpoint  TO relevel_owner USING (true);

CREATE POLICY app_firm ON checkpoint       TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON checkpoint_fault TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON firm_leaf        TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON firm_checkpoint  TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
