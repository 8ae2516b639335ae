-- What leads a device that knows of no firm yet to one: the hash of a code that
-- the office reads out. It is the one table whose key does not begin with the
-- firm; it holds nothing else of anybody, and a row lives for minutes.
CREATE TABLE pairing (
    code_hash  bytea       NOT NULL,
    firm       uuid        NOT NULL,
    expires_at timestamptz NOT NULL,
    CONSTRAINT pairing_pkey PRIMARY KEY (code_hash),
    CONSTRAINT pairing_firm_fkey FOREIGN KEY (firm) REFERENCES firm (firm),
    CONSTRAINT pairing_hash_length CHECK (octet_length(code_hash) = 32)
);

GRANT SELECT, INSERT, DELETE ON pairing TO relevel_app;

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
