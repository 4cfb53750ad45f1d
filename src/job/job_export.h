/* A job as plain files, and back: a folder with job.json (all of it), stations.csv and
 * measurements.csv (for a spreadsheet) and photos/. Exporting what was imported gives the same
 * data files to the byte. */
#ifndef JOB_EXPORT_H
#define JOB_EXPORT_H

#include "job_store.h"

/* Writes the folder, which must not exist or be empty; it appears whole or not at all. */
bool job_export(struct job *job, const char *folder);

/* Makes the job file at path from an exported folder; JOB_EXISTS when there is one. detail (size
 * at least 256) says what is wrong for JOB_BAD_EXPORT. The CSV files are not read. */
enum job_result job_import(const char *folder, const char *path, char *detail, size_t size);

#endif
