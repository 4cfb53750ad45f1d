/* Inside export and import only: which columns of which tables travel, in which order. */
#ifndef JOB_TABLES_H
#define JOB_TABLES_H

#define JOB_EXPORT_FORMAT "armsquare job export"
#define JOB_TABLE_MAX_COLUMNS 10

struct job_table {
    const char *name;
    const char *columns[JOB_TABLE_MAX_COLUMNS]; /* NULL ends it */
    const char *order;
    int since; /* version of the tables that brought it */
};

/* In an order in which rows can be put back; NULL past the end. */
const struct job_table *job_table_at(int index);

/* "photos/00007-taken.jpg": where a photo stands in an export. Buffer of at least 48 bytes. */
void job_photo_file(char *buffer, long long id, const char *role, const char *media);

#endif
