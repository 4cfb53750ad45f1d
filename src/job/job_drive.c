#include "job_drive.h"

#include "base/text_end.h"
#include "plan_drive.h"
#include "result/order.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool job_has_one_link(const struct job_view *view, int station)
{
    return plan_drive(&view->plan, station) == PLAN_DRIVE_LINK;
}

/* The titles of the stations that set what moves this one: "\"A\" and \"B\"". */
static void write_set_at(FILE *to, const struct plan *plan, int station)
{
    const struct plan_station *s = &plan->stations[station];
    int left = 0, said = 0;
    for (int i = 0; i < s->rests_on_count; i++)
        left += plan_is_set_at(plan, station, s->rests_on[i]);
    for (int i = 0; i < s->rests_on_count; i++)
        if (plan_is_set_at(plan, station, s->rests_on[i])) {
            left--;
            fprintf(to, "%s\"%s\"",
                    !said++ ? ""
                    : left  ? ", "
                            : " and ",
                    plan->stations[s->rests_on[i]].title);
        }
}

/* Each horn may lie off square by its own tolerance, so both good ones may lie twice that apart. */
static void write_splines(FILE *to, const struct plan *plan, int station)
{
    fputs(" Both arms are servos' horns on splines, and no link turns them: together they may lie "
          "as far apart as ",
          to);
    write_set_at(to, plan, station);
    fputs(" allow. Measure them again there, and bring them nearer to square by tooth or "
          "sub-trim; where they are good as they are, allow less in the plan, and they say how. "
          "Then measure again what rests on a horn that was moved.",
          to);
}

/* Whether the links are to be equal at all stations that set them. */
static bool are_equal(const struct plan *plan, int station)
{
    const struct plan_station *s = &plan->stations[station];
    bool equal = true;
    for (int i = 0; i < s->rests_on_count; i++)
        if (plan_is_set_at(plan, station, s->rests_on[i]))
            equal &= plan->stations[s->rests_on[i]].target == 0;
    return equal;
}

static void write_pair(FILE *to, const struct plan *plan, int station)
{
    bool level = plan->stations[station].kind == PLAN_LEVEL;
    fputs(" Turn no single link for that: their lengths are set by ", to);
    write_set_at(to, plan, station);
    fputs(", which would have to be done again.", to);
    if (level)
        fputs(" Links of the right lengths from horns that stand alike hold it level by "
              "themselves, so look for the cause elsewhere: whether the balls sit equally far out "
              "on every horn, whether the servos sit alike, whether what it was measured against "
              "stands true. Where the maker's drawing asks for other lengths, enter their "
              "difference as the target there in the plan.",
              to);
    else
        fprintf(to,
                " %s, so look for the cause elsewhere: whether the balls sit equally far out on "
                "both parts, whether either link binds, whether the arms that were measured are "
                "those with the balls. Then measure the links again, ball to ball.",
                are_equal(plan, station)
                    ? "Equal links between equal arms hold both arms parallel by themselves"
                    : "Links of the right lengths hold the arm by themselves");
}

/* A ball x mm from the middle, as seen in the photo, moves by x times the slope, wherever the
 * others are: a plate is a plane. One link alone would tilt it about the other balls. */
static void write_several(FILE *to, double off_deg)
{
    fprintf(to,
            " Several links carry it, and one alone would tilt it about the balls of the others: "
            "move each ball by that for every 10 mm that it lies from the middle, seen in the same "
            "way: right of it %s, left of it %s.",
            off_deg > 0 ? "down" : "up", off_deg > 0 ? "up" : "down");
}

/* What is asked, where it is no order to turn one link. */
static char *has_to_come(const struct plan_station *s, double off, double expanded,
                         enum job_script script)
{
    char *amount = job_value_words(s->kind, off < 0 ? -off : off, expanded, false, script);
    char *text = NULL;
    if (amount && asprintf(&text, "%s has to come %s %s as seen in the photo.",
                           s->kind == PLAN_PARALLEL ? "The second arm" : "The arm", amount,
                           order_cure(off)) < 0)
        text = NULL;
    free(amount);
    return text;
}

char *job_drive_words(const struct job_view *view, int station, enum job_script script)
{
    const struct job_standing *at = &view->standing[station];
    const struct job_event *e = &view->events[at->latest];
    const struct plan_station *s = &view->plan.stations[station];
    enum plan_drive drive = plan_drive(&view->plan, station);
    bool set_elsewhere = drive == PLAN_DRIVE_SPLINES || drive == PLAN_DRIVE_PAIR;
    double expanded = e->coverage * e->u;
    char *text = NULL;
    size_t size = 0;
    char *order = set_elsewhere && s->kind != PLAN_LEVEL
                      ? has_to_come(s, at->off, expanded, script)
                      : job_sentence(job_cure_words(s, at->off, expanded, script));
    FILE *to = order ? open_memstream(&text, &size) : NULL;
    if (to) {
        fputs(order, to);
        if (drive == PLAN_DRIVE_SPLINES)
            write_splines(to, &view->plan, station);
        else if (drive == PLAN_DRIVE_PAIR)
            write_pair(to, &view->plan, station);
        else if (drive == PLAN_DRIVE_SEVERAL)
            write_several(to, at->off);
    }
    free(order);
    return text_end(to, &text);
}
