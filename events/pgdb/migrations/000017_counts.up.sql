-- What whoever watches over the servers may count over all firms. The worker reads
-- these columns and no others, of those rows alone that something is the matter with:
-- numbers, states and times; no id, and nothing a person wrote.

-- damaged is a photo that was lost from the store after it was kept: reason says how,
-- with the digest, which is not the worker's to read.
ALTER TABLE photo ADD COLUMN damaged boolean NOT NULL GENERATED ALWAYS AS (state = 'received' AND reason <> '') STORED;
CREATE INDEX photo_unsafe ON photo (state, at) WHERE state <> 'durable';
GRANT SELECT (state, at, damaged) ON photo TO relevel_worker;
CREATE POLICY worker_counts ON photo FOR SELECT TO relevel_worker USING (state <> 'durable');

-- How many numbers are missing from 1 to the highest of a set.
CREATE FUNCTION numbers_missing(seen int8multirange) RETURNS bigint LANGUAGE sql IMMUTABLE PARALLEL SAFE
RETURN coalesce((
    SELECT sum(upper(run) - lower(run)) FROM unnest(int8multirange(int8range(1, upper(seen))) - seen) AS run), 0)::bigint;

-- What a phone has not sent, since when, as it said itself; NULL where it has sent all,
-- and of one whose access was revoked. There is no index: with one on what changes with
-- every report, rows could not be rewritten on their page.
ALTER TABLE phone
    ADD COLUMN lost bigint NOT NULL GENERATED ALWAYS AS (numbers_missing(seen)) STORED,
    ADD COLUMN oldest_unsent_at timestamptz;
UPDATE phone SET oldest_unsent_at = (report->>'oldest_unsent_at')::timestamptz WHERE (report->>'unsent')::bigint > 0;
GRANT SELECT (lost, oldest_unsent_at) ON phone TO relevel_worker;
CREATE POLICY worker_counts ON phone FOR SELECT TO relevel_worker USING (lost > 0 OR oldest_unsent_at IS NOT NULL);

-- How many places and datums of a job are in doubt.
ALTER TABLE job_summary ADD COLUMN doubts integer NOT NULL
    GENERATED ALWAYS AS (CASE jsonb_typeof(body->'doubts') WHEN 'array' THEN jsonb_array_length(body->'doubts') ELSE 0 END) STORED;
CREATE INDEX job_summary_doubts ON job_summary (doubts) WHERE doubts > 0;
GRANT SELECT (doubts) ON job_summary TO relevel_worker;
CREATE POLICY worker_counts ON job_summary FOR SELECT TO relevel_worker USING (doubts > 0);

GRANT SELECT (at) ON quarantine TO relevel_worker;
CREATE POLICY worker_counts ON quarantine FOR SELECT TO relevel_worker USING (true);
GRANT SELECT (found_at) ON checkpoint_fault TO relevel_worker;
CREATE POLICY worker_counts ON checkpoint_fault FOR SELECT TO relevel_worker USING (true);

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
