-- The steps further down are closed while the log holds anything, so the first
-- step is too.
DO $$
BEGIN
    IF EXISTS (SELECT FROM event) OR EXISTS (SELECT FROM quarantine) THEN
        RAISE EXCEPTION 'the log holds events: restore a backup into another database instead'
            USING DETAIL = 'nothing was dropped: set schema_migrations to version 18, not dirty';
    END IF;
END
$$;
-- The table of lasers is the fifth step's.
