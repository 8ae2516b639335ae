-- What the desk decides about the quarantine, how a firm reads its lengths and
-- times, and the words of the books, to be searched.

-- What became of a thing that was kept apart, one row a decision, only added
-- to: the last one stands. n counts from 1, so that two desks who decide at
-- once do not both believe that they did. There is no foreign key to the
-- quarantine: nothing of the log hangs from another table.
CREATE TABLE quarantine_decision (
    firm    uuid        NOT NULL,
    digest  bytea       NOT NULL,
    n       integer     NOT NULL,
    what    text        NOT NULL,
    why     text        NOT NULL DEFAULT '',
    person  uuid,
    job     uuid,
    event   uuid,
    at      timestamptz NOT NULL,
    CONSTRAINT quarantine_decision_pkey PRIMARY KEY (firm, digest, n),
    CONSTRAINT quarantine_decision_n CHECK (n > 0),
    CONSTRAINT quarantine_decision_what CHECK (what IN ('accepted', 'corrected', 'set-aside', 'reopened'))
);

-- Where the firm's clock is: what a new job's zone starts with. '' is nowhere said.
ALTER TABLE firm ADD COLUMN zone text NOT NULL DEFAULT '';

-- One row for each event that says something in words. Derived from the log, and
-- made again from it.
CREATE TABLE book_text (
    firm   uuid        NOT NULL,
    job    uuid        NOT NULL,
    seq    bigint      NOT NULL,
    kind   text        NOT NULL,
    at     timestamptz NOT NULL,
    person uuid,
    points text        NOT NULL,
    words  text        NOT NULL,
    struck boolean     NOT NULL,
    CONSTRAINT book_text_pkey PRIMARY KEY (firm, job, seq)
);

-- Which of those rows has a word, without accents and in small letters, and the
-- stem that the text search of the database makes of it. No GIN index on a
-- tsvector: row security lets only leakproof operators use an index, which @@ is
-- not, so that every row of the firm would be tried. Words that are equal, or
-- lie between two, are leakproof, and so the firm comes first here too.
CREATE TABLE book_word (
    firm   uuid     NOT NULL,
    word   text     COLLATE "C" NOT NULL,
    job    uuid     NOT NULL,
    seq    bigint   NOT NULL,
    weight smallint NOT NULL,
    CONSTRAINT book_word_pkey PRIMARY KEY (firm, word, job, seq)
);
CREATE INDEX book_word_of ON book_word (firm, job, seq);

-- How far a job's book is in those two, and by which way of reading it.
CREATE TABLE book_read (
    firm    uuid    NOT NULL,
    job     uuid    NOT NULL,
    seq     bigint  NOT NULL,
    version integer NOT NULL,
    CONSTRAINT book_read_pkey PRIMARY KEY (firm, job)
) WITH (fillfactor = 70);

GRANT SELECT, INSERT ON quarantine_decision TO relevel_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON book_text, book_word, book_read TO relevel_app;
GRANT SELECT (firm, digest, n), DELETE ON quarantine_decision TO relevel_eraser;
GRANT SELECT (firm, job, seq), DELETE ON book_text, book_word TO relevel_eraser;

ALTER TABLE quarantine_decision ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE book_text           ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE book_word           ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;
ALTER TABLE book_read           ENABLE ROW LEVEL SECURITY, FORCE ROW LEVEL SECURITY;

CREATE POLICY owner_all ON quarantine_decision TO relevel_owner USING (true);
CREATE POLICY owner_all ON book_text           TO relevel_owner USING (true);
CREATE POLICY owner_all ON book_word           TO relevel_owner USING (true);
CREATE POLICY owner_all ON book_read           TO relevel_owner USING (true);

CREATE POLICY app_firm ON quarantine_decision TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON book_text           TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON book_word           TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY app_firm ON book_read           TO relevel_app USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

CREATE POLICY eraser_firm ON quarantine_decision TO relevel_eraser USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY eraser_firm ON book_text           TO relevel_eraser USING (firm = nullif(current_setting('app.firm', true), '')::uuid);
CREATE POLICY eraser_firm ON book_word           TO relevel_eraser USING (firm = nullif(current_setting('app.firm', true), '')::uuid);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
