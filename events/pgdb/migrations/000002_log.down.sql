-- Going back would drop the record of what happened, which nothing may do. It
-- is possible only while the log is empty.
DO $$
BEGIN
    IF EXISTS (SELECT FROM event) OR EXISTS (SELECT FROM quarantine) THEN
        RAISE EXCEPTION 'the log holds events: restore a backup into another database instead'
            USING DETAIL = 'nothing was dropped: set schema_migrations to version 2, not dirty';
    END IF;
END
$$;
DROP TABLE event_bytes, event, head, quarantine;
DROP FUNCTION refuse_change, refuse_unless_eraser;
