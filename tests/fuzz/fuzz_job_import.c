/* Fuzz target: any bytes as the job.json of an export. A job that was made of it can be shown,
 * reported and undone to its beginning. */
#include "commands/job_command.h"
#include "job/job_export.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MAX_INPUT 65536 /* a job of a few stations */

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static char folder[] = "/tmp/armsquare-fuzz-XXXXXX", json[64], job_file[64], report[64];

static void clean_up(void)
{
    unlink(json);
    unlink(job_file);
    unlink(report);
    rmdir(folder);
}

static void set_up(void)
{
    if (*json)
        return;
    if (!mkdtemp(folder) || !freopen("/dev/null", "w", stdout) ||
        !freopen("/dev/null", "w", stderr))
        abort();
    snprintf(json, sizeof json, "%s/job.json", folder);
    snprintf(job_file, sizeof job_file, "%s/a.job", folder);
    snprintf(report, sizeof report, "%s/a.html", folder);
    atexit(clean_up);
}

static void show(void)
{
    struct job_words_given given = {.words = {job_file}, .count = 1, .output = report, .all = true};
    if (job_command_status(&given) || job_command_history(&given) || job_command_report(&given))
        abort();
    given.json = true;
    if (job_command_status(&given))
        abort();
}

static void undo_all(void)
{
    struct job *job;
    struct job_signature by = job_sign("fuzz");
    int64_t undo;
    if (job_open(job_file, JOB_WRITE, &job) != JOB_OK)
        abort();
    while (job_undo(job, &by, &undo)) {
    }
    /* An older plan may ask for another kind of a station that was measured since. */
    if (job_trouble(job) != JOB_NOTHING_LEFT && job_trouble(job) != JOB_KIND_CHANGED)
        abort();
    job_close(job);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char detail[256] = "";
    if (size > MAX_INPUT)
        return 0;
    set_up();
    FILE *to = fopen(json, "wb");
    if (!to || fwrite(data, 1, size, to) != size || fclose(to) != 0)
        abort();
    enum job_result result = job_import(folder, job_file, detail, sizeof detail);
    if (result == JOB_OK) {
        show();
        undo_all();
        show();
        unlink(job_file);
    } else if (result != JOB_NEWER && (result != JOB_BAD_EXPORT || !*detail)) {
        abort();
    }
    return 0;
}
