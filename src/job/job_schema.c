#include "job_schema.h"

#include <stddef.h>

/* Steps are never edited once released: a job file of any age runs through all that it lacks.
 *
 * entry is the log: whatever happens adds rows and none is ever removed. act groups the rows of
 * one command; undo sets withdrawn_by on them. Numbers come from AUTOINCREMENT so that a row's
 * number is its place in time for ever. The bytes of photos stand in a table of their own so that
 * reading the log never touches them. */
static const char *const steps[] = {
    /* 0 to 1 */
    "CREATE TABLE model (\n"
    "  id INTEGER PRIMARY KEY CHECK (id = 1),\n"
    "  name TEXT NOT NULL,\n"
    "  plan_name TEXT NOT NULL,\n"
    "  plan_about TEXT NOT NULL,\n"
    "  invented INTEGER NOT NULL DEFAULT 0 CHECK (invented IN (0, 1))\n"
    ") STRICT;\n"
    "CREATE TABLE station (\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  place INTEGER UNIQUE,\n" /* NULL: no longer in the plan */
    "  key TEXT NOT NULL UNIQUE,\n"
    "  kind TEXT NOT NULL,\n"
    "  title TEXT NOT NULL,\n"
    "  part TEXT NOT NULL,\n"
    "  doing TEXT NOT NULL,\n"
    "  target REAL NOT NULL,\n"
    "  tolerance REAL NOT NULL\n"
    ") STRICT;\n"
    "CREATE TABLE rests_on (\n"
    "  station_id INTEGER NOT NULL REFERENCES station(id),\n"
    "  on_id INTEGER NOT NULL REFERENCES station(id),\n"
    "  PRIMARY KEY (station_id, on_id)\n"
    ") STRICT, WITHOUT ROWID;\n"
    "CREATE TABLE fact (\n"
    "  station_id INTEGER NOT NULL REFERENCES station(id),\n"
    "  name TEXT NOT NULL,\n"
    "  value TEXT NOT NULL,\n"
    "  PRIMARY KEY (station_id, name)\n"
    ") STRICT, WITHOUT ROWID;\n"
    "CREATE TABLE entry (\n"
    "  id INTEGER PRIMARY KEY AUTOINCREMENT,\n"
    "  act INTEGER NOT NULL,\n"
    "  at TEXT NOT NULL,\n"
    "  who TEXT NOT NULL,\n"
    "  kind TEXT NOT NULL,\n"
    "  station_id INTEGER REFERENCES station(id),\n"
    "  note TEXT NOT NULL,\n"
    "  withdrawn_by INTEGER REFERENCES entry(id)\n"
    ") STRICT;\n"
    "CREATE INDEX entry_station ON entry(station_id);\n"
    "CREATE INDEX entry_act ON entry(act);\n"
    "CREATE TABLE measurement (\n"
    "  entry_id INTEGER PRIMARY KEY REFERENCES entry(id),\n"
    "  value REAL NOT NULL,\n"
    "  u REAL NOT NULL CHECK (u >= 0),\n"
    "  coverage REAL NOT NULL CHECK (coverage > 0),\n"
    "  sure INTEGER NOT NULL CHECK (sure IN (0, 1)),\n"
    "  method TEXT NOT NULL,\n"
    "  message TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE TABLE reading (\n"
    "  entry_id INTEGER NOT NULL REFERENCES measurement(entry_id),\n"
    "  place INTEGER NOT NULL,\n"
    "  role TEXT NOT NULL,\n"
    "  value REAL NOT NULL,\n"
    "  u REAL NOT NULL,\n"
    "  record TEXT NOT NULL,\n" /* the photo's measurement as JSON; '' when read by eye */
    "  PRIMARY KEY (entry_id, place)\n"
    ") STRICT, WITHOUT ROWID;\n"
    "CREATE TABLE budget (\n"
    "  entry_id INTEGER NOT NULL REFERENCES measurement(entry_id),\n"
    "  place INTEGER NOT NULL,\n"
    "  term TEXT NOT NULL,\n"
    "  u REAL NOT NULL,\n"
    "  type TEXT NOT NULL CHECK (type IN ('A', 'B')),\n"
    "  PRIMARY KEY (entry_id, place)\n"
    ") STRICT, WITHOUT ROWID;\n"
    "CREATE TABLE confirmation (\n"
    "  entry_id INTEGER PRIMARY KEY REFERENCES entry(id),\n"
    "  holds INTEGER NOT NULL CHECK (holds IN (0, 1))\n"
    ") STRICT;\n"
    "CREATE TABLE refit (\n"
    "  entry_id INTEGER PRIMARY KEY REFERENCES entry(id),\n"
    "  name TEXT NOT NULL,\n"
    "  before TEXT NOT NULL,\n" /* '': there was none */
    "  after TEXT NOT NULL\n"   /* '': there is none now */
    ") STRICT;\n"
    "CREATE TABLE replanned (\n"
    "  entry_id INTEGER PRIMARY KEY REFERENCES entry(id),\n"
    "  before TEXT NOT NULL,\n"
    "  after TEXT NOT NULL\n"
    ") STRICT;\n"
    "CREATE TABLE photo (\n"
    "  id INTEGER PRIMARY KEY,\n"
    "  entry_id INTEGER NOT NULL REFERENCES measurement(entry_id),\n"
    "  place INTEGER NOT NULL,\n" /* the reading it belongs to */
    "  role TEXT NOT NULL CHECK (role IN ('taken', 'annotated')),\n"
    "  name TEXT NOT NULL,\n" /* the file's own name where it came from */
    "  media TEXT NOT NULL,\n"
    "  size INTEGER NOT NULL,\n"
    "  crc32 INTEGER NOT NULL,\n"
    "  UNIQUE (entry_id, place, role)\n"
    ") STRICT;\n"
    "CREATE TABLE photo_bytes (\n"
    "  photo_id INTEGER PRIMARY KEY REFERENCES photo(id),\n"
    "  bytes BLOB NOT NULL\n"
    ") STRICT;\n",
    /* 1 to 2: states of a job by name, to compare with later */
    "CREATE TABLE mark (\n"
    "  entry_id INTEGER PRIMARY KEY REFERENCES entry(id),\n"
    "  name TEXT NOT NULL\n" /* among marks not withdrawn, unique */
    ") STRICT;\n",
    /* 2 to 3: entries of the kind "recheck". The tables stay as they are; but a program that does
     * not know them would call good what somebody wants to have checked. */
    "",
};

int job_schema_version(void)
{
    return (int)(sizeof steps / sizeof *steps);
}

const char *job_schema_step(int version)
{
    return version >= 0 && version < job_schema_version() ? steps[version] : NULL;
}
