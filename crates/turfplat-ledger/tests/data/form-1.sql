-- A ledger in form 1, as the first release to keep one wrote it: .dump of the command sqlite3, and the two
-- numbers of its header, which a dump leaves out. All in it is invented.
PRAGMA application_id = 1414548551;
PRAGMA user_version = 1;
PRAGMA foreign_keys=OFF;
BEGIN TRANSACTION;
CREATE TABLE versions (
  version INTEGER PRIMARY KEY,
  since TEXT NOT NULL,
  written_by TEXT NOT NULL
) STRICT;
INSERT INTO versions VALUES(1,'2026-11-30T00:02:26.964931988Z','turfplat 0.1.0');
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
INSERT INTO records VALUES(1,NULL,NULL,'draft','2026-05-04T15:00:00Z','14-alder-lane','June','2026-05-04','2028-05-04','{"property":"14-alder-lane","application":"June","date":"2026-05-04","started":null,"ended":null,"places":[],"hired":false,"site":"turf","location":"14 Alder Lane","customer":null,"applicator":{"name":"B. Example","license":null,"uncertified":null,"company":null,"company_address":null},"purpose":null,"method":null,"weather":{"temperature":null,"wind":null,"wind_from":null},"incidents":null,"products":[{"id":"growth-regulator","name":"growth regulator","registration":"00000-000","lots":[]},{"id":"iron","name":"iron","registration":"00000-000","lots":[]}],"loads":[{"batch":null,"load":null,"started":null,"ended":null,"water":null,"spray_volume":null,"products":[{"product":"growth-regulator","amount":{"written":"2.4 fl oz","milliliters":70.97647094999999},"planned":null},{"product":"iron","amount":{"written":"100 g","grams":100.0},"planned":null}],"done":[{"zone":"Front lawn","area":{"written":"4,000 sq ft","square_meters":371.61216},"planned":null}]}],"note":"first of the year","plan":null}');
INSERT INTO records VALUES(2,NULL,NULL,'complete','2026-05-04T17:30:00Z','3-birch-court','June','2026-05-04','2028-05-04','{"property":"3-birch-court","application":"June","date":"2026-05-04","started":null,"ended":null,"places":[],"hired":false,"site":"turf","location":"14 Alder Lane","customer":null,"applicator":{"name":"B. Example","license":"X-0001","uncertified":null,"company":null,"company_address":null},"purpose":null,"method":null,"weather":{"temperature":null,"wind":null,"wind_from":null},"incidents":null,"products":[{"id":"growth-regulator","name":"growth regulator","registration":"00000-000","lots":[]},{"id":"iron","name":"iron","registration":"00000-000","lots":[]}],"loads":[{"batch":null,"load":null,"started":null,"ended":null,"water":null,"spray_volume":null,"products":[{"product":"growth-regulator","amount":{"written":"1.5 fl oz","milliliters":44.36029434375},"planned":null},{"product":"iron","amount":{"written":"100 g","grams":100.0},"planned":null}],"done":[{"zone":"Front lawn","area":{"written":"4,000 sq ft","square_meters":371.61216},"planned":null}]}],"note":"","plan":null}');
INSERT INTO records VALUES(3,1,'completed','complete','2026-05-05T12:00:00Z','14-alder-lane','June','2026-05-04','2028-05-04','{"property":"14-alder-lane","application":"June","date":"2026-05-04","started":null,"ended":null,"places":[],"hired":false,"site":"turf","location":"14 Alder Lane","customer":null,"applicator":{"name":"B. Example","license":"X-0001","uncertified":null,"company":null,"company_address":null},"purpose":null,"method":null,"weather":{"temperature":null,"wind":null,"wind_from":null},"incidents":null,"products":[{"id":"growth-regulator","name":"growth regulator","registration":"00000-000","lots":[]},{"id":"iron","name":"iron","registration":"00000-000","lots":[]}],"loads":[{"batch":null,"load":null,"started":null,"ended":null,"water":null,"spray_volume":null,"products":[{"product":"growth-regulator","amount":{"written":"2.4 fl oz","milliliters":70.97647094999999},"planned":null},{"product":"iron","amount":{"written":"100 g","grams":100.0},"planned":null}],"done":[{"zone":"Front lawn","area":{"written":"4,000 sq ft","square_meters":371.61216},"planned":null}]}],"note":"first of the year","plan":null}');
INSERT INTO records VALUES(4,2,'the cup was read wrong','complete','2026-05-06T12:00:00Z','3-birch-court','June','2026-05-04','2028-05-04','{"property":"3-birch-court","application":"June","date":"2026-05-04","started":null,"ended":null,"places":[],"hired":false,"site":"turf","location":"14 Alder Lane","customer":null,"applicator":{"name":"B. Example","license":"X-0001","uncertified":null,"company":null,"company_address":null},"purpose":null,"method":null,"weather":{"temperature":null,"wind":null,"wind_from":null},"incidents":null,"products":[{"id":"growth-regulator","name":"growth regulator","registration":"00000-000","lots":[]},{"id":"iron","name":"iron","registration":"00000-000","lots":[]}],"loads":[{"batch":null,"load":null,"started":null,"ended":null,"water":null,"spray_volume":null,"products":[{"product":"growth-regulator","amount":{"written":"1.25 fl oz","milliliters":36.966911953125},"planned":null},{"product":"iron","amount":{"written":"100 g","grams":100.0},"planned":null}],"done":[{"zone":"Front lawn","area":{"written":"4,000 sq ft","square_meters":371.61216},"planned":null}]}],"note":"","plan":null}');
INSERT INTO records VALUES(5,NULL,NULL,'complete','2026-05-11T12:00:00Z','3-birch-court','June','2026-05-11','2028-05-11','{"property":"3-birch-court","application":"June","date":"2026-05-11","started":null,"ended":null,"places":[],"hired":false,"site":"turf","location":"14 Alder Lane","customer":null,"applicator":{"name":"B. Example","license":"X-0001","uncertified":null,"company":null,"company_address":null},"purpose":null,"method":null,"weather":{"temperature":null,"wind":null,"wind_from":null},"incidents":null,"products":[{"id":"growth-regulator","name":"growth regulator","registration":"00000-000","lots":[]},{"id":"iron","name":"iron","registration":"00000-000","lots":[]}],"loads":[{"batch":null,"load":null,"started":null,"ended":null,"water":null,"spray_volume":null,"products":[{"product":"growth-regulator","amount":{"written":"1 fl oz","milliliters":29.5735295625},"planned":null},{"product":"iron","amount":{"written":"100 g","grams":100.0},"planned":null}],"done":[{"zone":"Front lawn","area":{"written":"4,000 sq ft","square_meters":371.61216},"planned":null}]}],"note":"","plan":null}');
INSERT INTO records VALUES(6,5,'written twice','taken back','2026-05-11T12:01:00Z','3-birch-court','June','2026-05-11','2028-05-11','{"property":"3-birch-court","application":"June","date":"2026-05-11","started":null,"ended":null,"places":[],"hired":false,"site":"turf","location":"14 Alder Lane","customer":null,"applicator":{"name":"B. Example","license":"X-0001","uncertified":null,"company":null,"company_address":null},"purpose":null,"method":null,"weather":{"temperature":null,"wind":null,"wind_from":null},"incidents":null,"products":[{"id":"growth-regulator","name":"growth regulator","registration":"00000-000","lots":[]},{"id":"iron","name":"iron","registration":"00000-000","lots":[]}],"loads":[{"batch":null,"load":null,"started":null,"ended":null,"water":null,"spray_volume":null,"products":[{"product":"growth-regulator","amount":{"written":"1 fl oz","milliliters":29.5735295625},"planned":null},{"product":"iron","amount":{"written":"100 g","grams":100.0},"planned":null}],"done":[{"zone":"Front lawn","area":{"written":"4,000 sq ft","square_meters":371.61216},"planned":null}]}],"note":"","plan":null}');
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
INSERT INTO puts VALUES(1,1,1,'growth-regulator','2.4 fl oz',70.976470949999992399,NULL);
INSERT INTO puts VALUES(1,2,1,'iron','100 g',NULL,100.0);
INSERT INTO puts VALUES(2,1,1,'growth-regulator','1.5 fl oz',44.360294343749998801,NULL);
INSERT INTO puts VALUES(2,2,1,'iron','100 g',NULL,100.0);
INSERT INTO puts VALUES(3,1,1,'growth-regulator','2.4 fl oz',70.976470949999992399,NULL);
INSERT INTO puts VALUES(3,2,1,'iron','100 g',NULL,100.0);
INSERT INTO puts VALUES(4,1,1,'growth-regulator','1.25 fl oz',36.966911953124999001,NULL);
INSERT INTO puts VALUES(4,2,1,'iron','100 g',NULL,100.0);
INSERT INTO puts VALUES(5,1,1,'growth-regulator','1 fl oz',29.573529562499999202,NULL);
INSERT INTO puts VALUES(5,2,1,'iron','100 g',NULL,100.0);
INSERT INTO puts VALUES(6,1,1,'growth-regulator','1 fl oz',29.573529562499999202,NULL);
INSERT INTO puts VALUES(6,2,1,'iron','100 g',NULL,100.0);
DELETE FROM sqlite_sequence;
INSERT INTO sqlite_sequence VALUES('records',6);
CREATE INDEX records_by_property ON records (property, day);
CREATE INDEX records_by_day ON records (day);
CREATE INDEX puts_by_product ON puts (product);
CREATE TRIGGER records_are_not_changed BEFORE UPDATE ON records
BEGIN SELECT RAISE(ABORT, 'records are not changed; add one that corrects'); END;
CREATE TRIGGER records_are_not_removed BEFORE DELETE ON records
BEGIN SELECT RAISE(ABORT, 'records are not removed; add one that takes back'); END;
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
COMMIT;
