/* "armsquare job demo": the invented club helicopter "Dunlin", from a bare file to the finished
 * report. Everything in it is made up, and the job, its report and its photos say so. */
#include "arithmetic/uncertainty.h"
#include "base/exit_status.h"
#include "base/message.h"
#include "job/job_demo_photo.h"
#include "job/job_finding.h"
#include "job/job_measure.h"
#include "job_command.h"
#include "measure/measure_options.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum act { CONFIRM, PHOTOS, NUMBERS, FIT, RECHECK, MARK, NOTE, UNDO };

/* A part of the helicopter. */
struct kit {
    enum demo_part part;
    int arms;
    double arm_mm;
    enum demo_finish finish;
};
/* A horn and, behind it, what stands parallel to it. */
static const struct kit cyclic[] = {{DEMO_HORN, 2, 21, DEMO_BLACK},
                                    {DEMO_CRANK, 2, 18, DEMO_SILVER}};
static const struct kit throttle[] = {{DEMO_HORN, 1, 21, DEMO_WHITE},
                                      {DEMO_CRANK, 2, 17, DEMO_SILVER}};
static const struct kit swashplate = {DEMO_PLATE, 2, 30, DEMO_SILVER};
static const struct kit tail_horn = {DEMO_HORN, 1, 20, DEMO_WHITE};
static const struct kit tail_crank = {DEMO_CRANK, 2, 17, DEMO_BLACK};

/* One thing that is done at the bench. */
struct step {
    enum act act;
    const char *station;   /* or the mark's name, or the note's text; RECHECK: why */
    double angles[3];      /* PHOTOS: where the arm truly points; NUMBERS: degrees or mm */
    const struct kit *kit; /* PHOTOS: what is before the card; both for PLAN_PARALLEL */
    const char *note;      /* FIT: the hardware, "name=value name=value" */
};

static const struct step steps[] = {
    {CONFIRM, "drive-safe", {0}, NULL, "blades in the box, motor unplugged"},
    {CONFIRM, "neutral-settings", {0}, NULL, ""},
    {CONFIRM, "servo-directions", {0}, NULL, "right servo reversed"},
    {FIT, "horn-left", {0}, NULL, "teeth=25 arms=2 horn-arm-mm=13.5"},
    /* 12 of 25 teeth are 172.8 degrees: arm B comes from 277.1 to 89.9 */
    {PHOTOS, "horn-left", {97.1}, cyclic, "as found"},
    {PHOTOS, "horn-left", {89.9}, cyclic, "12 teeth counter-clockwise, other arm"},
    {NUMBERS, "links-left", {41.32, 41.30}, NULL, ""},
    {NUMBERS, "crank-left", {90.1, 90.2}, NULL, "protractor"},
    {FIT, "horn-right", {0}, NULL, "teeth=25 arms=2 horn-arm-mm=13.5"},
    {PHOTOS, "horn-right", {90.18}, cyclic, ""},
    {NUMBERS, "links-right", {41.58, 41.30}, NULL, "as found"},
    {NUMBERS, "links-right", {41.34, 41.30}, NULL, "half a turn in on the first link"},
    {NUMBERS, "crank-right", {89.9, 89.8}, NULL, "protractor"},
    {FIT, "horn-rear", {0}, NULL, "teeth=25 arms=2 horn-arm-mm=13.5"},
    {PHOTOS, "horn-rear", {92.6}, cyclic, "wrong photo: taken before the horn was moved"},
    {UNDO, "", {0}, NULL, ""},
    {PHOTOS, "horn-rear", {90.05}, cyclic, ""},
    {NUMBERS, "links-rear", {41.31, 41.33}, NULL, ""},
    {NUMBERS, "crank-rear", {90.0, 90.1}, NULL, "protractor"},
    {NUMBERS, "plate-level", {0}, NULL, "protractor"},
    {NUMBERS, "plate-centred", {52.1, 127.7, 90.0}, NULL, "protractor"},
    {CONFIRM, "cyclic-binding", {0}, NULL, ""},
    {FIT,
     "tail-horn",
     {0},
     NULL,
     "teeth=23 arms=1 horn-arm-mm=12 base-mm=48 crank-arm-mm=14 link-mm=48.04"},
    {PHOTOS, "tail-horn", {90.15}, &tail_horn, ""},
    {PHOTOS, "front-crank", {89.86}, &tail_crank, ""},
    {PHOTOS, "rear-crank", {90.2}, &tail_crank, ""},
    {PHOTOS, "rear-crank-centred", {58.2, 122.4, 90.1}, &tail_crank, ""},
    {CONFIRM, "tail-binding", {0}, NULL, ""},
    {PHOTOS, "throttle-horn", {90.3}, throttle, ""},
    {NUMBERS, "throttle-parallel", {90.3, 90.0}, NULL, "protractor"},
    {NUMBERS, "throttle-idle", {55.6}, NULL, "protractor"},
    {NUMBERS, "throttle-full", {124.5}, NULL, "protractor"},
    {CONFIRM, "throttle-binding", {0}, NULL, ""},
    {MARK, "before the hard landing", {0}, NULL, ""},
    {NOTE, "Hard landing on the tail. Rear servo replaced.", {0}, NULL, ""},
    {RECHECK, "hard landing on the tail", {0}, NULL, ""},
    {FIT, "horn-rear", {0}, NULL, "part=replacement"},
    {CONFIRM, "drive-safe", {0}, NULL, "blades in the box again"},
    {CONFIRM, "neutral-settings", {0}, NULL, "nothing was ordered here"},
    {CONFIRM, "servo-directions", {0}, NULL, "new rear servo runs the same way"},
    {PHOTOS, "horn-left", {89.95}, cyclic, ""},
    {NUMBERS, "links-left", {41.31, 41.30}, NULL, ""},
    {PHOTOS, "crank-left", {90.1, 90.16}, cyclic, ""},
    {PHOTOS, "horn-right", {90.12}, cyclic, ""},
    {NUMBERS, "links-right", {41.33, 41.30}, NULL, ""},
    {PHOTOS, "crank-right", {89.92, 89.86}, cyclic, ""},
    /* one of 25 teeth is 14.4 degrees */
    {PHOTOS, "horn-rear", {104.3}, cyclic, "new servo"},
    {PHOTOS, "horn-rear", {89.9}, cyclic, "one tooth clockwise"},
    {NUMBERS, "links-rear", {41.32, 41.33}, NULL, ""},
    {PHOTOS, "crank-rear", {89.92, 89.99}, cyclic, ""},
    {PHOTOS, "plate-level", {-0.03}, &swashplate, ""},
    {PHOTOS, "plate-centred", {52.1, 127.7, 89.96}, &cyclic[1], ""},
    {CONFIRM, "cyclic-binding", {0}, NULL, ""},
    {PHOTOS, "tail-horn", {90.12}, &tail_horn, ""},
    {PHOTOS, "front-crank", {90.08}, &tail_crank, ""},
    {PHOTOS, "rear-crank", {91.4}, &tail_crank, "pushrod bent"},
    {PHOTOS, "rear-crank", {90.02}, &tail_crank, "new pushrod"},
    {PHOTOS, "rear-crank-centred", {58.4, 122.0, 90.25}, &tail_crank, ""},
    {CONFIRM, "tail-binding", {0}, NULL, ""},
    {PHOTOS, "throttle-horn", {90.25}, throttle, ""},
    {PHOTOS, "throttle-parallel", {90.28, 90.02}, throttle, ""},
    {PHOTOS, "throttle-idle", {55.6}, &throttle[1], ""},
    {PHOTOS, "throttle-full", {124.5}, &throttle[1], ""},
    {CONFIRM, "throttle-binding", {0}, NULL, ""},
};
#define STEP_COUNT ((int)(sizeof steps / sizeof *steps))

struct demo {
    const char *folder;
    struct job *job;
    struct job_signature by;
    int step;
    /* what is there only because of the demonstration, to be removed when it cannot be finished */
    bool made_folder, made_photo_folder, made_job;
    char *photos[STEP_COUNT * JOB_MAX_PHOTOS]; /* owned */
    int photo_count;
};

/* The clock of the story: a spring Saturday, some minutes for each step. */
static void set_clock(struct demo *d)
{
    time_t now = 1773478800 + (time_t)d->step * 420 + (d->step * d->step % 7) * 60;
    d->by = (struct job_signature){.who = "Robin"};
    (void)utc_text(now, d->by.at); /* of a year that it can write */
}

static char *path_in(const char *folder, const char *name)
{
    char *path = NULL;
    return asprintf(&path, "%s/%s", folder, name) < 0 ? NULL : path;
}

/* ---- Steps -------------------------------------------------------------------------------- */

/* The path belongs to d. */
static const char *draw_photo(struct demo *d, const struct step *s, const struct kit *kit,
                              int which)
{
    char name[96];
    int at = d->step * 3 + which;
    struct demo_scene scene = {
        .part = kit->part,
        .arms = kit->arms,
        .arm_deg = s->angles[which],
        .arm_mm = kit->arm_mm,
        .height_mm = 7 + at % 4,
        .finish = kit->finish,
        .tilt_deg = 3 + at * 5 % 11,
        .tilt_toward_deg = at * 67 % 360,
        .roll_deg = at * 29 % 31 - 15,
        .seed = (uint32_t)(at + 1),
    };
    snprintf(name, sizeof name, "photos/%02d-%s%s.jpg", d->step + 1, s->station,
             which == 0   ? ""
             : which == 1 ? "-second"
                          : "-third");
    char *path = path_in(d->folder, name);
    if (path && job_demo_photo(&scene, path))
        return d->photos[d->photo_count++] = path;
    fail_trouble("%s cannot be written: %s.", name, strerror(errno));
    free(path);
    return NULL;
}

static int do_photos(struct demo *d, const struct step *s, const struct plan_station *station)
{
    const char *photos[JOB_MAX_PHOTOS];
    struct measure_words_given given = measure_options_start();
    given.lens = MEASURE_LENS_NONE; /* drawn photos have no lens */
    struct job_measured measured;
    int count = job_roles_of(station->kind).most, status = EXIT_DONE;
    for (int i = 0; i < count && status == EXIT_DONE; i++) {
        const struct kit *kit = &s->kit[station->kind == PLAN_PARALLEL ? i : 0];
        photos[i] = draw_photo(d, s, kit, i);
        status = photos[i] ? EXIT_DONE : EXIT_TROUBLE;
    }
    struct job_measure_question question = {station, photos, count, &given, NULL, NULL};
    if (status == EXIT_DONE)
        status = job_measure_photos(&question, &measured);
    if (status == EXIT_DONE) {
        job_record_finding(d->job, &d->by, s->station, &measured.finding, s->note);
        job_measure_clear(&measured);
    }
    return status;
}

static int do_numbers(struct demo *d, const struct step *s, const struct plan_station *station)
{
    struct job_roles roles = job_roles_of(station->kind);
    bool pair = station->kind == PLAN_PAIR;
    struct job_reading readings[JOB_MAX_READINGS];
    struct job_finding finding = {.coverage = uncertainty_normal_coverage(),
                                  .sure = true,
                                  .method = pair ? "calipers" : "by eye",
                                  .message = "",
                                  .readings = readings,
                                  .reading_count = roles.most};
    for (int i = 0; i < roles.most; i++)
        readings[i] = (struct job_reading){roles.name[i], s->angles[i], pair ? 0.01 : 0.1, ""};
    job_finding_from_readings(station, readings, roles.most, &finding);
    job_record_finding(d->job, &d->by, s->station, &finding, s->note);
    return EXIT_DONE;
}

/* Hardware given as words "name=value name=value". */
static int do_fit(struct demo *d, const struct step *s)
{
    struct plan_fact facts[8];
    int count = 0;
    char *words = strdup(s->note), *rest = words, *word;
    while (words && count < 8 && (word = strsep(&rest, " "))) {
        char *equals = strchr(word, '=');
        *equals = '\0';
        facts[count++] = (struct plan_fact){word, equals + 1};
    }
    if (words)
        job_record_facts(d->job, &d->by, s->station, facts, count, "");
    free(words);
    return words ? EXIT_DONE : fail_trouble("there is not enough memory.");
}

static int do_measure(struct demo *d, const struct step *s)
{
    struct job_view view;
    int status = EXIT_TROUBLE;
    if (!job_view_load(d->job, 0, &view))
        return status;
    const struct plan_station *station = &view.plan.stations[plan_find(&view.plan, s->station)];
    status = s->act == PHOTOS ? do_photos(d, s, station) : do_numbers(d, s, station);
    job_view_clear(&view);
    return status;
}

static int do_step(struct demo *d, const struct step *s)
{
    int64_t undo;
    int marked;
    set_clock(d);
    switch (s->act) {
    case CONFIRM:
        job_record_confirmation(d->job, &d->by, s->station, true, s->note);
        return EXIT_DONE;
    case PHOTOS:
    case NUMBERS:
        return do_measure(d, s);
    case FIT:
        return do_fit(d, s);
    case RECHECK:
        job_record_recheck(d->job, &d->by, NULL, 0, s->station, &marked);
        return EXIT_DONE;
    case MARK:
        job_record_mark(d->job, &d->by, s->station, s->note);
        return EXIT_DONE;
    case NOTE:
        job_record_note(d->job, &d->by, NULL, s->station);
        return EXIT_DONE;
    case UNDO:
        job_undo(d->job, &d->by, &undo);
        return EXIT_DONE;
    }
    return EXIT_TROUBLE;
}

/* ---- The whole ---------------------------------------------------------------------------- */

static bool demo_plan(struct plan *plan)
{
    static const char *const names[] = {"tail-pushrod", "throttle"};
    struct plan_trouble trouble;
    bool good = plan_read(plan_ready_made("swashplate-bellcranks"), plan, &trouble);
    for (size_t i = 0; good && i < sizeof names / sizeof *names; i++) {
        struct plan more;
        good = plan_read(plan_ready_made(names[i]), &more, &trouble) &&
               plan_append(plan, &more, &trouble);
        plan_clear(&more);
    }
    char *name = good ? strdup("Swashplate through bellcranks, tail by pushrod, throttle") : NULL;
    if (name) {
        free(plan->name);
        plan->name = name;
    }
    return name != NULL;
}

static int make_job(struct demo *d, const char *path)
{
    struct plan plan = {0};
    struct job *job;
    set_clock(d);
    if (!demo_plan(&plan)) {
        plan_clear(&plan);
        return fail_trouble("there is not enough memory.");
    }
    enum job_result result = job_create(path, &job);
    if (result == JOB_OK) {
        job_fill(job, &d->by, "Dunlin", true, &plan);
        result = job_publish(job);
        d->made_job = result == JOB_OK;
    }
    plan_clear(&plan);
    if (result == JOB_OK)
        result = job_open(path, JOB_WRITE, &d->job);
    return result == JOB_OK ? EXIT_DONE : job_say(result, path, "");
}

/* made tells whether the folder is new. */
static bool make_folder(const char *path, bool *made)
{
    *made = mkdir(path, 0777) == 0;
    return *made || errno == EEXIST;
}

static int make_folders(struct demo *d)
{
    char *photos = path_in(d->folder, "photos");
    bool good = photos && make_folder(d->folder, &d->made_folder) &&
                make_folder(photos, &d->made_photo_folder);
    free(photos);
    return good ? EXIT_DONE : fail_unmade(d->folder, errno, "");
}

/* Half a demonstration is of no use, and would stand in the way of the next one. */
static void take_back(const struct demo *d, const char *job)
{
    char *photos = path_in(d->folder, "photos");
    for (int i = 0; i < d->photo_count; i++)
        unlink(d->photos[i]);
    if (d->made_job)
        unlink(job);
    if (photos && d->made_photo_folder)
        rmdir(photos);
    if (d->made_folder)
        rmdir(d->folder);
    free(photos);
}

static int write_reports(const struct demo *d, const char *job)
{
    static const char *const names[] = {"dunlin.html", "dunlin.pdf"};
    int status = EXIT_DONE;
    for (int i = 0; i < 2 && status == EXIT_DONE; i++) {
        char *path = path_in(d->folder, names[i]);
        struct job_words_given given = {
            .words = {job}, .count = 1, .output = path, .since = "before the hard landing"};
        status = path ? job_command_report(&given) : fail_trouble("there is not enough memory.");
        free(path);
    }
    return status;
}

int job_command_demo(const struct job_words_given *given)
{
    struct demo d = {.folder = given->words[0]};
    int status = make_folders(&d);
    char *path = path_in(d.folder, "dunlin.job");
    if (!path)
        return fail_trouble("there is not enough memory.");
    if (status == EXIT_DONE)
        status = make_job(&d, path);
    for (; status == EXIT_DONE && d.step < STEP_COUNT; d.step++) {
        if (d.step % 5 == 0)
            fprintf(stderr, "armsquare: step %d of %d\n", d.step + 1, STEP_COUNT);
        status = do_step(&d, &steps[d.step]);
        if (job_trouble(d.job) != JOB_OK)
            break;
    }
    int closing = d.job ? job_command_close(d.job) : EXIT_DONE;
    status = status != EXIT_DONE ? status : closing;
    if (status != EXIT_DONE)
        take_back(&d, path);
    for (int i = 0; i < d.photo_count; i++)
        free(d.photos[i]);
    if (status == EXIT_DONE) {
        printf("%s: the invented job of the club helicopter \"Dunlin\".\n", path);
        status = write_reports(&d, path);
    }
    free(path);
    return status;
}
