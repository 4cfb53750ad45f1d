/* Benchmark of a large job: 200 stations, 2,000 photos. Prints the status time (best of ten whole
 * processes) and the peak memory of both reports, for 200 photos and for 2,000, so that growth
 * shows. usage: bench_job ARMSQUARE [FOLDER] */
#include "job/job_demo_photo.h"
#include "job/job_store.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define STATIONS 200

static void stop(const char *what)
{
    fprintf(stderr, "bench_job: %s\n", what);
    exit(1);
}

static struct plan make_plan(void)
{
    char *text = NULL;
    size_t size = 0;
    struct plan plan;
    struct plan_trouble trouble;
    FILE *to = open_memstream(&text, &size);
    fputs("plan: large\n[safe]\ntitle: Safe\nkind: confirm\n", to);
    for (int i = 1; i < STATIONS; i++)
        fprintf(to, "[s%d]\ntitle: Station %d\npart: Part %d\nkind: square\nrests on: %s%d\n", i, i,
                i / 10, i % 10 == 1 ? "safe, s" : "s", i > 1 ? i - 1 : 1);
    fclose(to);
    /* the first one cannot rest on itself */
    char *own = strstr(text, "rests on: safe, s1\n");
    memset(own + strlen("rests on: safe"), ' ', strlen(", s1"));
    if (!plan_read(text, &plan, &trouble))
        stop(trouble.text);
    free(text);
    return plan;
}

/* photos in all, spread over the stations: repeated measurements with one photo each. */
static void make_job(const char *path, const char *photo, int photos)
{
    struct plan plan = make_plan();
    struct job *job;
    struct job_signature by = job_sign("bench");
    if (job_create(path, &job) != JOB_OK || !job_fill(job, &by, "Large", true, &plan) ||
        job_publish(job) != JOB_OK || job_open(path, JOB_WRITE, &job) != JOB_OK)
        stop("the job cannot be made");
    if (!job_record_confirmation(job, &by, "safe", true, ""))
        stop("safe");
    for (int i = 0; i < photos; i++) {
        char key[16];
        int station = 1 + i % (STATIONS - 1);
        struct job_reading reading = {"arm", 0.1, 0.05, "{}"};
        struct job_photo kept[2] = {{0, "taken", "a.jpg", "image/jpeg", photo, NULL, 0},
                                    {0, "annotated", "a.jpg", "image/jpeg", photo, NULL, 0}};
        struct job_finding finding = {0.1,      0.05, 2,    true, "photo", "",
                                      &reading, 1,    NULL, 0,    kept,    2};
        snprintf(key, sizeof key, "s%d", station);
        if (!job_record_finding(job, &by, key, &finding, ""))
            stop(job_trouble_detail(job));
    }
    job_close(job);
    plan_clear(&plan);
}

/* Runs the program; answers seconds and peak memory. */
static double run(char *const words[], long *peak_kib)
{
    struct timespec start, end;
    struct rusage usage;
    int status;
    clock_gettime(CLOCK_MONOTONIC, &start);
    pid_t child = fork();
    if (child == 0) {
        int null = open("/dev/null", O_WRONLY);
        dup2(null, 1);
        execv(words[0], words);
        _exit(127);
    }
    if (wait4(child, &status, 0, &usage) != child || !WIFEXITED(status) || WEXITSTATUS(status))
        stop("the program failed");
    clock_gettime(CLOCK_MONOTONIC, &end);
    *peak_kib = usage.ru_maxrss;
    return (double)(end.tv_sec - start.tv_sec) + (double)(end.tv_nsec - start.tv_nsec) / 1e9;
}

int main(int argc, char **argv)
{
    if (argc < 2)
        stop("usage: bench_job ARMSQUARE [FOLDER]");
    char folder[256], photo[300], file[300], report[300];
    snprintf(folder, sizeof folder, "%s/bench-job-XXXXXX", argc > 2 ? argv[2] : "/tmp");
    if (!mkdtemp(folder))
        stop("no folder");
    snprintf(photo, sizeof photo, "%s/a.jpg", folder);
    struct demo_scene scene = {4, 1, 20, 8, DEMO_BLACK, 8, 30, 5, 3, DEMO_HORN};
    if (!job_demo_photo(&scene, photo))
        stop("no photo");
    for (int photos = 200; photos <= 2000; photos *= 10) {
        long peak;
        double best = 1e9;
        snprintf(file, sizeof file, "%s/%d.job", folder, photos);
        make_job(file, photo, photos);
        char *status[] = {argv[1], "job", "status", file, NULL};
        for (int i = 0; i < 10; i++) {
            double took = run(status, &peak);
            best = took < best ? took : best;
        }
        printf("%4d photos: status %.1f ms, %ld KiB\n", photos, best * 1000, peak);
        for (int pdf = 0; pdf < 2; pdf++) {
            snprintf(report, sizeof report, "%s/report.%s", folder, pdf ? "pdf" : "html");
            char *words[] = {argv[1], "job", "report", file, "-o", report, "--all", NULL};
            double took = run(words, &peak);
            printf("%4d photos: report.%-4s %.1f s, peak %ld KiB\n", photos, pdf ? "pdf" : "html",
                   took, peak);
            unlink(report);
        }
        unlink(file);
    }
    unlink(photo);
    return rmdir(folder);
}
