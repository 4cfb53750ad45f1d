/* How much time and memory "armsquare measure" takes as a whole process, beside two peers on the
 * same photos in the same run: plain OpenCV, and a bare decode of the JPEG.
 *
 * usage: bench_measure ARMSQUARE PEER_OPENCV PEER_DECODE [--rounds N] [--limits] PHOTO...
 *
 * The programs take turns photo by photo, so that whatever else the machine does meets all of them
 * alike; the medians over all photos and rounds are compared. Then many photos are measured in one
 * process, on one processor and on all of them. --limits fails (exit 1) beyond what is promised. */
#include <errno.h>
#include <fcntl.h>
#include <sched.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#define PROGRAMS 3
#define PROMISED_OF_OPENCV 0.5 /* of the OpenCV peer's time, wall and processor */
#define PROMISED_MB 150.0
#define PROMISED_OF_PROCESSORS 0.9 /* times as many photos a second, per processor */

struct cost {
    double wall_s, cpu_s, peak_mb;
};

struct bench {
    const char *programs[PROGRAMS];
    int rounds;
    bool limits;
    char **photos;
    int photo_count;
};

static const char *const names[PROGRAMS] = {"armsquare measure", "OpenCV peer", "bare decode"};

/* ---- One process --------------------------------------------------------------------------- */

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static double seconds(struct timeval t)
{
    return (double)t.tv_sec + 1e-6 * (double)t.tv_usec;
}

/* In the child: silent, on the first `processors` of those allowed (0: all). */
static void become(char *const words[], int processors)
{
    cpu_set_t allowed, kept;
    CPU_ZERO(&kept);
    if (processors > 0 && sched_getaffinity(0, sizeof allowed, &allowed) == 0) {
        for (int i = 0; i < CPU_SETSIZE && CPU_COUNT(&kept) < processors; i++)
            if (CPU_ISSET(i, &allowed))
                CPU_SET(i, &kept);
        sched_setaffinity(0, sizeof kept, &kept);
    }
    int nowhere = open("/dev/null", O_WRONLY);
    dup2(nowhere, STDOUT_FILENO);
    dup2(nowhere, STDERR_FILENO);
    execv(words[0], words);
    _exit(127);
}

/* Runs words[0] to its end. 3 ("not measurable") is an answer too; anything else ends the bench. */
static struct cost run(char *const words[], int processors)
{
    struct rusage used;
    int status = 0;
    const double start = now_s();
    const pid_t child = fork();
    if (child == 0)
        become(words, processors);
    if (child < 0 || wait4(child, &status, 0, &used) != child) {
        perror("bench_measure");
        exit(EXIT_FAILURE);
    }
    const double wall_s = now_s() - start;
    if (!WIFEXITED(status) || (WEXITSTATUS(status) != 0 && WEXITSTATUS(status) != 3)) {
        fprintf(stderr, "bench_measure: %s failed on %s\n", words[0], words[1]);
        exit(EXIT_FAILURE);
    }
    return (struct cost){wall_s, seconds(used.ru_utime) + seconds(used.ru_stime),
                         (double)used.ru_maxrss / 1024};
}

static struct cost run_on_photo(const struct bench *bench, int program, char *photo)
{
    static char measure[] = "measure", no_picture[] = "--no-picture", json[] = "--json";
    char *const ours[] = {(char *)bench->programs[0], measure, no_picture, json, photo, NULL};
    char *const peer[] = {(char *)bench->programs[program], photo, NULL};
    return run(program == 0 ? ours : peer, 0);
}

/* ---- Medians ------------------------------------------------------------------------------- */

static int by_size(const void *a, const void *b)
{
    const double d = *(const double *)a - *(const double *)b;
    return (d > 0) - (d < 0);
}

static double wall(const struct cost *cost)
{
    return cost->wall_s;
}

static double cpu(const struct cost *cost)
{
    return cost->cpu_s;
}

/* Median of one number of each cost. values: room for count numbers. */
static double median(const struct cost *costs, int count, double (*number)(const struct cost *),
                     double *values)
{
    for (int i = 0; i < count; i++)
        values[i] = number(&costs[i]);
    qsort(values, (size_t)count, sizeof *values, by_size);
    return count % 2 ? values[count / 2] : (values[count / 2 - 1] + values[count / 2]) / 2;
}

static struct cost summary(const struct cost *costs, int count, double *values)
{
    struct cost all = {median(costs, count, wall, values), median(costs, count, cpu, values), 0};
    for (int i = 0; i < count; i++)
        all.peak_mb = costs[i].peak_mb > all.peak_mb ? costs[i].peak_mb : all.peak_mb;
    return all;
}

/* ---- The comparison ------------------------------------------------------------------------ */

static void *need(void *memory)
{
    if (!memory) {
        fputs("bench_measure: out of memory\n", stderr);
        exit(EXIT_FAILURE);
    }
    return memory;
}

static void compare(const struct bench *bench, struct cost out[PROGRAMS])
{
    const int count = bench->rounds * bench->photo_count;
    struct cost *costs = need(calloc((size_t)count * PROGRAMS, sizeof *costs));
    double *values = need(calloc((size_t)count, sizeof *values));
    for (int i = 0; i < count; i++)
        for (int k = 0; k < PROGRAMS; k++)
            costs[k * count + i] = run_on_photo(bench, k, bench->photos[i % bench->photo_count]);
    for (int k = 0; k < PROGRAMS; k++)
        out[k] = summary(costs + k * count, count, values);
    free(values);
    free(costs);
}

static void print_comparison(const struct bench *bench, const struct cost all[PROGRAMS])
{
    printf("%d photos, %d rounds; medians, and the highest memory\n", bench->photo_count,
           bench->rounds);
    printf("%-20s %9s %9s %9s   %s\n", "", "wall ms", "cpu ms", "MB", "ours / theirs (wall, cpu)");
    for (int k = 0; k < PROGRAMS; k++) {
        printf("%-20s %9.1f %9.1f %9.1f", names[k], all[k].wall_s * 1e3, all[k].cpu_s * 1e3,
               all[k].peak_mb);
        if (k > 0)
            printf("   %.2f, %.2f", all[0].wall_s / all[k].wall_s, all[0].cpu_s / all[k].cpu_s);
        putchar('\n');
    }
}

/* ---- Many photos --------------------------------------------------------------------------- */

#define MANY 24

static double photos_per_second(const struct bench *bench, int processors)
{
    static char measure[] = "measure", no_picture[] = "--no-picture", json[] = "--json";
    char *words[MANY + 5] = {(char *)bench->programs[0], measure, no_picture, json};
    for (int i = 0; i < MANY; i++)
        words[4 + i] = bench->photos[i % bench->photo_count];
    double best = 0; /* the quietest of a few runs */
    for (int i = 0; i < 3; i++) {
        const double rate = MANY / run(words, processors).wall_s;
        best = rate > best ? rate : best;
    }
    return best;
}

/* Returns the gain per processor. */
static double compare_processors(const struct bench *bench)
{
    cpu_set_t set;
    const int n = sched_getaffinity(0, sizeof set, &set) == 0 ? CPU_COUNT(&set) : 1;
    const double one = photos_per_second(bench, 1), all = photos_per_second(bench, 0);
    printf("%d photos in one process: %.1f a second on one processor, %.1f on %d (%.2f times)\n",
           MANY, one, all, n, all / one);
    return all / one / n;
}

/* ---- Words --------------------------------------------------------------------------------- */

static int usage(void)
{
    fputs("usage: bench_measure ARMSQUARE PEER_OPENCV PEER_DECODE [--rounds N] [--limits] "
          "PHOTO...\n",
          stderr);
    return 2;
}

static bool read_words(struct bench *bench, int argc, char **argv)
{
    if (argc < PROGRAMS + 2)
        return false;
    for (int k = 0; k < PROGRAMS; k++)
        bench->programs[k] = argv[1 + k];
    int i = 1 + PROGRAMS;
    for (; i < argc && argv[i][0] == '-'; i++) {
        if (strcmp(argv[i], "--limits") == 0)
            bench->limits = true;
        else if (strcmp(argv[i], "--rounds") == 0 && i + 1 < argc)
            bench->rounds = (int)strtol(argv[++i], NULL, 10);
        else
            return false;
    }
    bench->photos = argv + i;
    bench->photo_count = argc - i;
    return bench->photo_count > 0 && bench->rounds > 0 && bench->rounds <= 1000;
}

int main(int argc, char **argv)
{
    struct bench bench = {.rounds = 5};
    if (!read_words(&bench, argc, argv))
        return usage();
    struct cost all[PROGRAMS];
    compare(&bench, all);
    print_comparison(&bench, all);
    const double gain = compare_processors(&bench);
    const bool kept = all[0].wall_s <= PROMISED_OF_OPENCV * all[1].wall_s &&
                      all[0].cpu_s <= PROMISED_OF_OPENCV * all[1].cpu_s &&
                      all[0].peak_mb <= PROMISED_MB && gain >= PROMISED_OF_PROCESSORS;
    printf("promised: at most %.2f of the OpenCV peer, at most %.0f MB, %.1f per processor: %s\n",
           PROMISED_OF_OPENCV, PROMISED_MB, PROMISED_OF_PROCESSORS, kept ? "kept" : "NOT KEPT");
    return bench.limits && !kept ? EXIT_FAILURE : EXIT_SUCCESS;
}
