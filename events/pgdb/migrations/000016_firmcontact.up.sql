-- Whom an owner rings about a job, and writes to. '' is nowhere said. Whoever may
-- read and change a firm may read and change these.
ALTER TABLE firm ADD COLUMN phone text NOT NULL DEFAULT '', ADD COLUMN mail text NOT NULL DEFAULT '';

-- Last, so that a migration which is still marked as unfinished is one that
-- was rolled back whole.
UPDATE schema_migrations SET dirty = false;
