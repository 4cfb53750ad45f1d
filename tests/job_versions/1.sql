PRAGMA foreign_keys=OFF;
BEGIN TRANSACTION;
CREATE TABLE model (
  id INTEGER PRIMARY KEY CHECK (id = 1),
  name TEXT NOT NULL,
  plan_name TEXT NOT NULL,
  plan_about TEXT NOT NULL,
  invented INTEGER NOT NULL DEFAULT 0 CHECK (invented IN (0, 1))
) STRICT;
INSERT INTO model VALUES(1,'Old model','Old plan','',0);
CREATE TABLE station (
  id INTEGER PRIMARY KEY,
  place INTEGER UNIQUE,
  key TEXT NOT NULL UNIQUE,
  kind TEXT NOT NULL,
  title TEXT NOT NULL,
  part TEXT NOT NULL,
  doing TEXT NOT NULL,
  target REAL NOT NULL,
  tolerance REAL NOT NULL
) STRICT;
INSERT INTO station VALUES(1,0,'safe','confirm','Safe','Model','',0.0,0.0);
INSERT INTO station VALUES(2,1,'horn','square','Horn','Model','',0.0,0.5);
INSERT INTO station VALUES(3,2,'crank','parallel','Crank','Model','',0.0,0.5);
CREATE TABLE rests_on (
  station_id INTEGER NOT NULL REFERENCES station(id),
  on_id INTEGER NOT NULL REFERENCES station(id),
  PRIMARY KEY (station_id, on_id)
) STRICT, WITHOUT ROWID;
INSERT INTO rests_on VALUES(2,1);
INSERT INTO rests_on VALUES(3,2);
CREATE TABLE fact (
  station_id INTEGER NOT NULL REFERENCES station(id),
  name TEXT NOT NULL,
  value TEXT NOT NULL,
  PRIMARY KEY (station_id, name)
) STRICT, WITHOUT ROWID;
INSERT INTO fact VALUES(2,'teeth','25');
CREATE TABLE entry (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  act INTEGER NOT NULL,
  at TEXT NOT NULL,
  who TEXT NOT NULL,
  kind TEXT NOT NULL,
  station_id INTEGER REFERENCES station(id),
  note TEXT NOT NULL,
  withdrawn_by INTEGER REFERENCES entry(id)
) STRICT;
INSERT INTO entry VALUES(1,1,'2026-01-01T00:00:00Z','anna','created',NULL,'',NULL);
INSERT INTO entry VALUES(2,2,'2026-01-01T00:00:00Z','anna','confirmed',1,'',NULL);
INSERT INTO entry VALUES(3,3,'2026-01-01T00:00:00Z','anna','measured',2,'',NULL);
INSERT INTO entry VALUES(4,4,'2026-01-01T00:00:00Z','anna','measured',3,'',NULL);
CREATE TABLE measurement (
  entry_id INTEGER PRIMARY KEY REFERENCES entry(id),
  value REAL NOT NULL,
  u REAL NOT NULL CHECK (u >= 0),
  coverage REAL NOT NULL CHECK (coverage > 0),
  sure INTEGER NOT NULL CHECK (sure IN (0, 1)),
  method TEXT NOT NULL,
  message TEXT NOT NULL
) STRICT;
INSERT INTO measurement VALUES(3,0.25,0.10000000000000000555,2.0,1,'by eye','');
INSERT INTO measurement VALUES(4,0.10000000000000000555,0.10000000000000000555,2.0,1,'by eye','');
CREATE TABLE reading (
  entry_id INTEGER NOT NULL REFERENCES measurement(entry_id),
  place INTEGER NOT NULL,
  role TEXT NOT NULL,
  value REAL NOT NULL,
  u REAL NOT NULL,
  record TEXT NOT NULL,
  PRIMARY KEY (entry_id, place)
) STRICT, WITHOUT ROWID;
INSERT INTO reading VALUES(3,0,'arm',90.249999999999999996,0.10000000000000000555,'');
INSERT INTO reading VALUES(4,0,'first arm',0.2,0.06,'');
INSERT INTO reading VALUES(4,1,'second arm',0.3,0.08,'');
CREATE TABLE budget (
  entry_id INTEGER NOT NULL REFERENCES measurement(entry_id),
  place INTEGER NOT NULL,
  term TEXT NOT NULL,
  u REAL NOT NULL,
  type TEXT NOT NULL CHECK (type IN ('A', 'B')),
  PRIMARY KEY (entry_id, place)
) STRICT, WITHOUT ROWID;
CREATE TABLE confirmation (
  entry_id INTEGER PRIMARY KEY REFERENCES entry(id),
  holds INTEGER NOT NULL CHECK (holds IN (0, 1))
) STRICT;
INSERT INTO confirmation VALUES(2,1);
CREATE TABLE refit (
  entry_id INTEGER PRIMARY KEY REFERENCES entry(id),
  name TEXT NOT NULL,
  before TEXT NOT NULL,
  after TEXT NOT NULL
) STRICT;
CREATE TABLE replanned (
  entry_id INTEGER PRIMARY KEY REFERENCES entry(id),
  before TEXT NOT NULL,
  after TEXT NOT NULL
) STRICT;
CREATE TABLE photo (
  id INTEGER PRIMARY KEY,
  entry_id INTEGER NOT NULL REFERENCES measurement(entry_id),
  place INTEGER NOT NULL,
  role TEXT NOT NULL CHECK (role IN ('taken', 'annotated')),
  name TEXT NOT NULL,
  media TEXT NOT NULL,
  size INTEGER NOT NULL,
  crc32 INTEGER NOT NULL,
  UNIQUE (entry_id, place, role)
) STRICT;
INSERT INTO photo VALUES(1,3,0,'taken','old.jpg','image/jpeg',4,284174951);
CREATE TABLE photo_bytes (
  photo_id INTEGER PRIMARY KEY REFERENCES photo(id),
  bytes BLOB NOT NULL
) STRICT;
INSERT INTO photo_bytes VALUES(1,X'ffd8ffd9');
DELETE FROM sqlite_sequence;
INSERT INTO sqlite_sequence VALUES('entry',4);
CREATE INDEX entry_station ON entry(station_id);
CREATE INDEX entry_act ON entry(act);
COMMIT;
PRAGMA application_id = 1095977570; PRAGMA user_version = 1;
