-- What each record was when it was written: SHA-256 (hex) over the seal before it and the record's columns.
-- Whoever changes a record past the triggers breaks its seal and all that follow.
CREATE TABLE seals (
  record INTEGER PRIMARY KEY REFERENCES records (id),
  sha256 TEXT NOT NULL CHECK (length(sha256) = 64)
) STRICT;
CREATE TRIGGER seals_are_not_changed BEFORE UPDATE ON seals
BEGIN SELECT RAISE(ABORT, 'seals are not changed'); END;
CREATE TRIGGER seals_are_not_removed BEFORE DELETE ON seals
BEGIN SELECT RAISE(ABORT, 'seals are not removed'); END;
CREATE TRIGGER seals_are_not_replaced BEFORE INSERT ON seals
WHEN EXISTS (SELECT 1 FROM seals WHERE record = NEW.record)
BEGIN SELECT RAISE(ABORT, 'seals are not replaced'); END;
