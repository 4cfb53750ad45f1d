/* Writes the job.json of a small job with one of everything but photos, for fuzz_job_import to
 * start from. */
#include "job/job_export.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static const char plan_text[] = "plan: small\n[safe]\ntitle: Safe\nkind: confirm\n"
                                "[horn]\ntitle: Horn\nkind: square\nrests on: safe\n"
                                "hardware: teeth = 25; arms = 4\n"
                                "[pair]\ntitle: Pair\nkind: link pair\nrests on: horn\n"
                                "hardware: thread = M2\n";

static bool record(struct job *job, const struct job_signature *by, const struct plan *plan)
{
    struct plan_fact facts[] = {{"horn-arm-mm", "13.5"}, {"teeth", "24"}};
    struct job_reading angle = {"arm", 93.5, 0.05, ""},
                       lengths[2] = {{"first", 41.4, 0.02, ""}, {"second", 41.2, 0.02, ""}};
    struct job_budget_line budget = {"edge noise", 0.05, 'A'};
    struct job_finding off = {.value = 3.5,
                              .u = 0.05,
                              .coverage = 2,
                              .sure = true,
                              .method = "by eye",
                              .message = "",
                              .readings = &angle,
                              .reading_count = 1,
                              .budget = &budget,
                              .budget_count = 1};
    struct job_finding good = off, pair = off;
    good.value = 0.1;
    pair.value = 0.2;
    pair.readings = lengths;
    pair.reading_count = 2;
    return job_record_confirmation(job, by, "safe", true, "blades off") &&
           job_record_finding(job, by, "horn", &off, "") &&
           job_record_finding(job, by, "horn", &good, "again") &&
           job_record_finding(job, by, "pair", &pair, "") &&
           job_record_facts(job, by, "horn", facts, 2, "") &&
           job_record_mark(job, by, "first", "") && job_record_note(job, by, NULL, "a note") &&
           job_record_plan(job, by, plan, "") &&
           job_record_confirmation(job, by, "safe", true, "another servo") &&
           job_record_finding(job, by, "horn", &off, "");
}

int main(int argc, char **argv)
{
    char file[600], out[600], from[700], to[700];
    struct plan plan;
    struct plan_trouble trouble;
    struct job *job;
    struct job_signature by = job_sign("maker");
    if (argc != 2 || !plan_read(plan_text, &plan, &trouble))
        return 2;
    snprintf(file, sizeof file, "%s/.%d.job", argv[1], (int)getpid());
    snprintf(out, sizeof out, "%s/.%d", argv[1], (int)getpid());
    snprintf(from, sizeof from, "%s/job.json", out);
    snprintf(to, sizeof to, "%s/job.json", argv[1]);
    bool good = job_create(file, &job) == JOB_OK && job_fill(job, &by, "Test model", true, &plan) &&
                job_publish(job) == JOB_OK && job_open(file, JOB_WRITE, &job) == JOB_OK &&
                record(job, &by, &plan) && job_export(job, out) && rename(from, to) == 0;
    plan_clear(&plan);
    job_close(job);
    unlink(file);
    for (const char *const *left =
             (const char *const[]){"stations.csv", "measurements.csv", "photos", "", NULL};
         *left; left++) {
        snprintf(from, sizeof from, "%s/%s", out, *left);
        remove(from);
    }
    return good ? 0 : 1;
}
