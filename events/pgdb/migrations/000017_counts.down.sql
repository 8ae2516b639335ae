-- The steps further down are closed while the log holds anything, so the first
-- step is too.
DO $$
BEGIN
    IF EXISTS (SELECT FROM event) OR EXISTS (SELECT FROM quarantine) THEN
        RAISE EXCEPTION 'the log holds events: restore a backup into another database instead'
            USING DETAIL = 'nothing was dropped: set schema_migrations to version 17, not dirty';
    END IF;
END
$$;
DROP POLICY worker_counts ON checkpoint_fault;
REVOKE SELECT (found_at) ON checkpoint_fault FROM relevel_worker;
DROP POLICY worker_counts ON quarantine;
REVOKE SELECT (at) ON quarantine FROM relevel_worker;
DROP POLICY worker_counts ON job_summary;
ALTER TABLE job_summary DROP COLUMN doubts;
DROP POLICY worker_counts ON phone;
ALTER TABLE phone DROP COLUMN lost, DROP COLUMN oldest_unsent_at;
DROP FUNCTION numbers_missing;
DROP POLICY worker_counts ON photo;
REVOKE SELECT (state, at) ON photo FROM relevel_worker;
DROP INDEX photo_unsafe;
ALTER TABLE photo DROP COLUMN damaged;
