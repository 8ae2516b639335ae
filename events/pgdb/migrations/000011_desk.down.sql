-- Decisions are facts of their own, so this step is closed while there are any.
-- The words of the books are made again.
DO $$
BEGIN
    IF EXISTS (SELECT FROM event) OR EXISTS (SELECT FROM quarantine) THEN
        RAISE EXCEPTION 'the log holds events: restore a backup into another database instead'
            USING DETAIL = 'nothing was dropped: set schema_migrations to version 11, not dirty';
    END IF;
END
$$;
DROP TABLE book_read, book_word, book_text;
ALTER TABLE firm DROP COLUMN zone;
DROP TABLE quarantine_decision;
