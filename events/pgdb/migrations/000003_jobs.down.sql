-- Without its jobs a log is of little use, so the way back is closed here already
-- while it holds anything.
DO $$
BEGIN
    IF EXISTS (SELECT FROM event) OR EXISTS (SELECT FROM quarantine) THEN
        RAISE EXCEPTION 'the log holds events: restore a backup into another database instead'
            USING DETAIL = 'nothing was dropped: set schema_migrations to version 3, not dirty';
    END IF;
END
$$;
DROP TABLE task, photo, job_summary, job;
