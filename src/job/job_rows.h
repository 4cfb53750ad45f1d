/* Whether a job's rows make sense together. The tables' own rules do not tell: a file may have been
 * written by another program, or come from an export that was edited. */
#ifndef JOB_ROWS_H
#define JOB_ROWS_H

#include "job_file.h"

/* Times, numbers, hardware and older plans are such as this program writes; each entry has what its
 * kind tells, each finding follows from its readings (job_finding.h); withdrawn ones, too, which no
 * view of the job holds. false with JOB_UNFIT and the entry where not. */
bool job_rows_fit(struct job *job);

/* Each photo has the bytes that were recorded: their number and CRC-32. false with JOB_UNFIT. */
bool job_photos_fit(struct job *job);

#endif
