-- Records of what was applied. Rows are added and never changed: the triggers below refuse all else.
CREATE TABLE versions (
  version INTEGER PRIMARY KEY,
  since TEXT NOT NULL,
  written_by TEXT NOT NULL
) STRICT;
CREATE TABLE records (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  -- The record that this one completes, corrects or takes back. One only: two corrections of the same
  -- record would leave nobody to believe.
  follows INTEGER UNIQUE REFERENCES records (id) CHECK (follows < id),
  why TEXT,
  state TEXT NOT NULL CHECK (state IN ('draft', 'complete', 'taken back')),
  written TEXT NOT NULL,
  property TEXT NOT NULL CHECK (property <> ''),
  application TEXT NOT NULL,
  day TEXT NOT NULL CHECK (date(day) IS day),
  keep_until TEXT NOT NULL CHECK (date(keep_until) IS keep_until),
  document TEXT NOT NULL CHECK (json_valid(document)),
  CHECK ((follows IS NULL) = (why IS NULL))
) STRICT;
CREATE INDEX records_by_property ON records (property, day);
CREATE INDEX records_by_day ON records (day);
-- What went into the loads of a record, for sums and for finding a product.
CREATE TABLE puts (
  record INTEGER NOT NULL REFERENCES records (id),
  line INTEGER NOT NULL,
  load INTEGER NOT NULL,
  product TEXT NOT NULL,
  written TEXT,
  milliliters REAL CHECK (milliliters >= 0),
  grams REAL CHECK (grams >= 0),
  PRIMARY KEY (record, line)
) STRICT, WITHOUT ROWID;
CREATE INDEX puts_by_product ON puts (product);
CREATE TRIGGER records_are_not_changed BEFORE UPDATE ON records
BEGIN SELECT RAISE(ABORT, 'records are not changed; add one that corrects'); END;
CREATE TRIGGER records_are_not_removed BEFORE DELETE ON records
BEGIN SELECT RAISE(ABORT, 'records are not removed; add one that takes back'); END;
-- INSERT OR REPLACE removes without asking the trigger above.
CREATE TRIGGER records_are_not_replaced BEFORE INSERT ON records
WHEN EXISTS (SELECT 1 FROM records WHERE id = NEW.id OR follows = NEW.follows)
BEGIN SELECT RAISE(ABORT, 'records are not replaced; add one that corrects'); END;
CREATE TRIGGER puts_are_not_changed BEFORE UPDATE ON puts
BEGIN SELECT RAISE(ABORT, 'records are not changed; add one that corrects'); END;
CREATE TRIGGER puts_are_not_removed BEFORE DELETE ON puts
BEGIN SELECT RAISE(ABORT, 'records are not removed; add one that takes back'); END;
CREATE TRIGGER puts_are_of_the_last_record BEFORE INSERT ON puts
WHEN NEW.record <> (SELECT max(id) FROM records)
  OR EXISTS (SELECT 1 FROM puts WHERE record = NEW.record AND line = NEW.line)
BEGIN SELECT RAISE(ABORT, 'records are not changed; add one that corrects'); END;
CREATE TRIGGER versions_are_not_changed BEFORE UPDATE ON versions
BEGIN SELECT RAISE(ABORT, 'versions are not changed'); END;
CREATE TRIGGER versions_are_not_removed BEFORE DELETE ON versions
BEGIN SELECT RAISE(ABORT, 'versions are not removed'); END;
