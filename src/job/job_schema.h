/* The tables of a job file, version by version. */
#ifndef JOB_SCHEMA_H
#define JOB_SCHEMA_H

/* The newest version. */
int job_schema_version(void);
/* SQL that turns version into version + 1; 0 is an empty database. NULL past the newest. */
const char *job_schema_step(int version);

#endif
