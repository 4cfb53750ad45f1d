#include "job_arms.h"

#include "arithmetic/direction.h"
#include "arithmetic/station.h"
#include "base/clean_text.h"
#include "base/exit_status.h"
#include "measure/photo_arms.h"
#include "result/order.h"
#include "result/verdict.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- By name ------------------------------------------------------------------------------ */

/* The which-th name of "A,C"; the last one when there are fewer. */
static void arm_name(const char *named, int which, char name[8])
{
    const char *comma;
    for (int i = 0; i < which && (comma = strchr(named, ',')); i++)
        named = comma + 1;
    snprintf(name, 8, "%.*s", text_cut(named, strcspn(named, ",")), named);
    name[text_cut(name, 8)] = '\0';
}

static int take_named(const struct job_arms_question *q, int arm[JOB_MAX_READINGS])
{
    char name[8];
    for (int i = 0; i < q->readings; i++) {
        const struct vision_result *seen = q->results[i];
        arm_name(q->named, i, name);
        arm[i] = photo_arms_find(seen, name);
        if (arm[i] < 0)
            return photo_arms_missing(q->paths[i], seen->arms[0].name,
                                      seen->arms[seen->arm_count - 1].name, name, false);
    }
    return EXIT_DONE;
}

/* ---- By what is asked --------------------------------------------------------------------- */

/* The one arm of a station that has one reading. */
static int arm_asked(const struct plan_station *station, const struct vision_result *seen)
{
    struct verdict_asked asked = verdict_square;
    if (station->kind == PLAN_ANGLE) {
        asked.have_target = true;
        asked.target_deg = station->target;
    }
    return verdict_arm(seen->arms, seen->arm_count, &asked);
}

/* One arm of each photo. */
static int take_pair(const struct job_arms_question *q, int arm[JOB_MAX_READINGS])
{
    double off_deg[VISION_MAX_ARMS * VISION_MAX_ARMS];
    const struct vision_result *first = q->results[0], *second = q->results[1];
    for (int i = 0; i < first->arm_count; i++)
        for (int j = 0; j < second->arm_count; j++) {
            struct quantity one = {first->arms[i].angle_deg, 0},
                            other = {second->arms[j].angle_deg, 0};
            off_deg[i * second->arm_count + j] = station_parallel(other, one, 0).value;
        }
    int at = order_first(off_deg, first->arm_count * second->arm_count);
    arm[0] = at / second->arm_count;
    arm[1] = at % second->arm_count;
    return EXIT_DONE;
}

/* Nothing in a model turns so far from neutral: an arm that lies further away is another one. */
#define MOST_TURN_DEG 90.0

/* The arm that from_deg can have turned to; -1 when two of them can be it. */
static int turned_to(const struct vision_result *seen, double from_deg)
{
    int found = 0;
    double nearest = INFINITY, next = INFINITY;
    for (int i = 0; i < seen->arm_count; i++) {
        double turn = fabs(direction_turn(seen->arms[i].angle_deg - from_deg));
        if (turn < nearest) {
            next = nearest;
            nearest = turn;
            found = i;
        } else if (turn < next) {
            next = turn;
        }
    }
    return next < MOST_TURN_DEG ? -1 : found;
}

static int take_turned(const struct job_arms_question *q, int arm[JOB_MAX_READINGS])
{
    int neutral = q->readings - 1;
    arm[neutral] = 0;
    for (int i = 0; i < neutral; i++) {
        const struct vision_result *seen = q->results[i];
        arm[i] = turned_to(seen, q->results[neutral]->arms[0].angle_deg);
        if (arm[i] >= 0)
            continue;
        char sentence[320];
        snprintf(sentence, sizeof sentence,
                 "this photo shows the arms %s to %s, and which of them is the neutral photo's arm "
                 "%s cannot be told. Name the same arm in each photo, for example --arms %s,%s,%s.",
                 seen->arms[0].name, seen->arms[seen->arm_count - 1].name,
                 q->results[neutral]->arms[0].name, seen->arms[0].name, seen->arms[1].name,
                 q->results[neutral]->arms[0].name);
        return photo_arms_refuse(q->paths[i], seen, sentence);
    }
    return EXIT_DONE;
}

static int take_asked(const struct job_arms_question *q, int arm[JOB_MAX_READINGS])
{
    switch (q->station->kind) {
    case PLAN_PARALLEL:
        return take_pair(q, arm);
    case PLAN_CENTRED:
        return take_turned(q, arm);
    default:
        arm[0] = arm_asked(q->station, q->results[0]);
        return EXIT_DONE;
    }
}

/* ---- In words ----------------------------------------------------------------------------- */

static bool shows_others(const struct job_arms_question *q)
{
    for (int i = 0; i < q->readings; i++)
        if (q->results[i]->arm_count > 1)
            return true;
    return false;
}

static void say_taken(const struct job_arms_question *q, const int arm[JOB_MAX_READINGS],
                      char *said)
{
    size_t at = 0;
    for (int i = 0; i < q->readings && at < JOB_ARMS_SAID; i++) {
        const struct vision_result *seen = q->results[i];
        const char *slash = strrchr(q->paths[i], '/');
        char *name = clean_text(slash ? slash + 1 : q->paths[i]);
        at += (size_t)snprintf(said + at, JOB_ARMS_SAID - at, "%s arm %s",
                               i ? "," : "Measured:", seen->arms[arm[i]].name);
        if (seen->arm_count > 1 && at < JOB_ARMS_SAID)
            at += (size_t)snprintf(said + at, JOB_ARMS_SAID - at, " of %s to %s",
                                   seen->arms[0].name, seen->arms[seen->arm_count - 1].name);
        if (q->readings > 1 && at < JOB_ARMS_SAID)
            at += (size_t)snprintf(said + at, JOB_ARMS_SAID - at, " in %.*s",
                                   name ? text_cut(name, 80) : 5, name ? name : "photo");
        free(name);
    }
    if (at < JOB_ARMS_SAID)
        snprintf(said + at, JOB_ARMS_SAID - at, ".");
    said[text_cut(said, JOB_ARMS_SAID)] = '\0';
}

int job_arms_choose(const struct job_arms_question *q, int arm[JOB_MAX_READINGS], char *said)
{
    said[0] = '\0';
    if (q->named)
        return take_named(q, arm);
    memset(arm, 0, JOB_MAX_READINGS * sizeof *arm);
    if (q->stickers)
        return EXIT_DONE;
    int status = take_asked(q, arm);
    if (status == EXIT_DONE && shows_others(q))
        say_taken(q, arm, said);
    return status;
}
