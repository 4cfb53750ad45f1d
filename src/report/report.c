/* What a report says, in order. How it looks is up to the writer. */
#include "report.h"

#include "arithmetic/direction.h"
#include "base/cautions.h"
#include "base/utc_clock.h"
#include "job/job_advice.h"
#include "job/job_compare.h"
#include "job/job_finding.h"
#include "job/job_linkage.h"
#include "job/job_reading.h"
#include "linkage/linkage_drawing.h"

#include <ctype.h>
#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

const unsigned char report_colour[REPORT_TONE_COUNT][3] = {
    [REPORT_INK] = {0x1C, 0x25, 0x2E},   [REPORT_QUIET] = {0x5B, 0x66, 0x70},
    [REPORT_GOOD] = {0x1B, 0x64, 0x3C},  [REPORT_BAD] = {0xA1, 0x2F, 0x1C},
    [REPORT_DOUBT] = {0x7D, 0x58, 0x00}, [REPORT_AGAIN] = {0x6B, 0x3A, 0x86},
};

static enum report_tone tone_of(enum job_state state)
{
    static const enum report_tone tones[JOB_STATE_COUNT] = {
        [JOB_WAITS] = REPORT_QUIET,       [JOB_OPEN] = REPORT_QUIET,
        [JOB_GOOD] = REPORT_GOOD,         [JOB_ADJUST] = REPORT_BAD,
        [JOB_CANNOT_TELL] = REPORT_DOUBT, [JOB_CHECK_AGAIN] = REPORT_AGAIN,
    };
    return tones[state];
}

/* Strings made for one part of the report, freed together when it is written. */
struct strings {
    char **held;
    size_t count;
    bool failed; /* a string is missing for lack of memory */
};

/* Takes the string; NULL, for lack of memory, reads as "" and fails the report. */
static const char *hold(struct strings *s, char *owned)
{
    char **grown = owned ? realloc(s->held, (s->count + 1) * sizeof *grown) : NULL;
    if (!grown) {
        free(owned);
        s->failed = true;
        return "";
    }
    s->held = grown;
    return s->held[s->count++] = owned;
}

__attribute__((format(printf, 2, 3))) static const char *make(struct strings *s, const char *format,
                                                              ...)
{
    char *text = NULL;
    va_list args;
    va_start(args, format);
    if (vasprintf(&text, format, args) < 0)
        text = NULL;
    va_end(args);
    return hold(s, text);
}

struct writing {
    struct job *job;
    struct report *r;
    struct job_view view;
    bool all_photos;
    bool failed;                   /* a string was missing */
    const struct job_event *event; /* whose photos are being written */
    int photo_count;               /* of that event */
};

static void release(struct writing *w, struct strings *s)
{
    while (s->count)
        free(s->held[--s->count]);
    free(s->held);
    w->failed = w->failed || s->failed;
    *s = (struct strings){0};
}

static const char *when(struct strings *s, const char *at)
{
    char text[UTC_SHOWN];
    return make(s, "%s", utc_shown(at, text));
}

/* ---- Cover -------------------------------------------------------------------------------- */

/* The state of the whole in a few words. */
static const char *overall(const struct job_view *view, enum report_tone *tone)
{
    int count[JOB_STATE_COUNT] = {0};
    for (int i = 0; i < view->plan.count; i++)
        count[view->standing[i].state]++;
    *tone = count[JOB_ADJUST]                     ? REPORT_BAD
            : count[JOB_CHECK_AGAIN]              ? REPORT_AGAIN
            : count[JOB_CANNOT_TELL]              ? REPORT_DOUBT
            : count[JOB_GOOD] == view->plan.count ? REPORT_GOOD
                                                  : REPORT_QUIET;
    static const char *const words[REPORT_TONE_COUNT] = {
        [REPORT_BAD] = "Needs adjusting",      [REPORT_AGAIN] = "Needs checking again",
        [REPORT_DOUBT] = "Not yet decided",    [REPORT_GOOD] = "Set-up complete",
        [REPORT_QUIET] = "Set-up in progress",
    };
    return words[*tone];
}

/* Whether the station has a part of its own under "Findings". */
static bool has_part(const struct writing *w, int i)
{
    return w->view.standing[i].latest >= 0 && w->view.plan.stations[i].kind != PLAN_CONFIRM;
}

static void set_next(struct writing *w, struct strings *s, struct report_cover *cover)
{
    int next = job_next(&w->view.plan, w->view.standing);
    cover->next = next < 0 ? "" : w->view.plan.stations[next].title;
    cover->next_say = hold(s, job_next_words(w->job, &w->view, next, JOB_PAGE));
    cover->next_tone = next < 0 ? REPORT_GOOD : tone_of(w->view.standing[next].state);
    cover->next_station = next >= 0 && has_part(w, next) ? next + 1 : 0;
}

/* Who began it, and who made the last entry and when. */
static int cover_facts(struct writing *w, struct strings *s, struct report_pair *facts)
{
    struct job_log_row row;
    const char *began = "", *ended = "", *who = "";
    int count = 0;
    struct job_log *log = job_log_open(w->job, NULL);
    while (log && job_log_next(log, &row)) {
        if (!*began)
            began = hold(s, strdup(row.at));
        if (row.id == w->view.newest) {
            ended = hold(s, strdup(row.at));
            who = hold(s, strdup(row.who));
        }
    }
    job_log_close(log);
    facts[count++] = (struct report_pair){"Plan", w->view.plan.name};
    facts[count++] = (struct report_pair){"Begun", when(s, began)};
    facts[count++] = (struct report_pair){"State of", when(s, ended)};
    facts[count++] = (struct report_pair){"Last entry by", who};
    return count;
}

static void write_cover(struct writing *w)
{
    static const char *const cautions[] = {CAUTION_FULL_POWER, CAUTION_FULL_HANDS,
                                           CAUTION_FULL_RULES};
    struct strings s = {0};
    struct report_pair facts[8];
    struct report_cover cover = {.title = "Set-up record", .model = w->view.model, .facts = facts};
    enum report_tone *marks = calloc((size_t)w->view.plan.count + 1, sizeof *marks);
    for (int i = 0; marks && i < w->view.plan.count; i++)
        marks[cover.mark_count++] = tone_of(w->view.standing[i].state);
    s.failed = !marks;
    cover.marks = marks;
    cover.fact_count = cover_facts(w, &s, facts);
    set_next(w, &s, &cover);
    cover.state = overall(&w->view, &cover.tone);
    cover.detail = hold(&s, job_count_words(&w->view));
    cover.banner =
        w->view.invented ? "Demonstration. Model, findings and photos are invented." : "";
    w->r->cover(w->r, &cover);
    w->r->section(w->r, "Before power is applied", "");
    w->r->list(w->r, cautions, (int)(sizeof cautions / sizeof *cautions));
    free(marks);
    release(w, &s);
}

/* ---- The table of stations ---------------------------------------------------------------- */

static const struct report_table stations_table = {
    "stations",
    "Stations",
    {"No.", "Station", "Found", "Asked", "State"},
    {8, 68, 34, 42, 22},
    {false, false, false, false, false},
    5,
    4,
    1,
};

/* What to do now, and why where it was done before; "" where there is nothing to do. */
static const char *action_words(struct writing *w, struct strings *s, int i)
{
    enum job_state state = w->view.standing[i].state;
    const char *action = hold(s, job_advice_words(w->job, &w->view, i, JOB_PAGE));
    const char *why = hold(s, job_why_words(w->job, &w->view, i, JOB_PAGE));
    if (state == JOB_OPEN && !*action)
        return w->view.plan.stations[i].kind == PLAN_CONFIRM ? "Look and confirm." : "Measure.";
    return *why ? make(s, "%s %s", action, why) : action;
}

static void write_station_row(struct writing *w, int i)
{
    struct strings s = {0};
    const struct plan_station *station = &w->view.plan.stations[i];
    enum job_state state = w->view.standing[i].state;
    const char *cells[] = {
        make(&s, "%d", i + 1), station->title, hold(&s, job_found_words(&w->view, i, JOB_PAGE)),
        station->kind != PLAN_CONFIRM ? hold(&s, job_asked_words(station, JOB_PAGE)) : "",
        job_state_words(state)};
    struct report_row row = {cells, tone_of(state), action_words(w, &s, i),
                             has_part(w, i) ? i + 1 : 0};
    w->r->row(w->r, &row);
    release(w, &s);
}

static void write_stations_table(struct writing *w)
{
    const char *part = "";
    w->r->section(
        w->r, "Stations",
        "In the order of the work. Found is how far it lies from what is asked, or the angle "
        "itself where an angle is asked: +\u00A0is counter-clockwise, \u2212\u00A0clockwise, as "
        "seen in the "
        "photo; of links, + is the first one longer. The number behind ± says how well that is "
        "known: 19 times in 20 the truth lies no further away.");
    w->r->table(w->r, &stations_table);
    for (int i = 0; i < w->view.plan.count; i++) {
        if (strcmp(part, w->view.plan.stations[i].part) != 0)
            w->r->band(w->r, w->view.plan.stations[i].part);
        part = w->view.plan.stations[i].part;
        write_station_row(w, i);
    }
    w->r->table_end(w->r);
}

/* ---- Comparison --------------------------------------------------------------------------- */

static const struct report_table comparison_table = {
    "compared",
    "What moved",
    {"Station", "Then", "Found since", "Moved", "Now", "Verdict"},
    {43.5, 17.5, 21, 33.5, 17.5, 41},
    {false, true, true, true, true, false},
    6,
    5,
    -1,
};

static enum report_tone tone_of_change(enum job_change change)
{
    static const enum report_tone tones[JOB_CHANGE_COUNT] = {
        [JOB_UNTOUCHED] = REPORT_QUIET, [JOB_SAME] = REPORT_QUIET,    [JOB_MAY_HAVE] = REPORT_DOUBT,
        [JOB_MOVED] = REPORT_DOUBT,     [JOB_MOVED_FAR] = REPORT_BAD, [JOB_NEW] = REPORT_QUIET,
        [JOB_GONE] = REPORT_QUIET,      [JOB_HOLDS] = REPORT_GOOD,    [JOB_TURNED] = REPORT_BAD,
        [JOB_UNSURE] = REPORT_DOUBT,    [JOB_AGAINST] = REPORT_DOUBT, [JOB_REPLACED] = REPORT_QUIET,
        [JOB_SET_ANEW] = REPORT_DOUBT,
    };
    return tones[change];
}

static void write_comparison_row(struct writing *w, const struct job_comparison_row *row)
{
    struct strings s = {0};
    const char *cells[] = {row->title,
                           hold(&s, job_then_words(row, JOB_PAGE)),
                           hold(&s, job_since_words(row, JOB_PAGE)),
                           hold(&s, job_row_moved_words(row, JOB_PAGE)),
                           hold(&s, job_now_words(row, JOB_PAGE)),
                           job_change_words(row->change, false, 1)};
    w->r->row(w->r, &(struct report_row){cells, tone_of_change(row->change), "", 0});
    release(w, &s);
}

/* Stations of which nothing new is known. */
static void write_untouched(struct writing *w, const struct job_comparison *c)
{
    const char **titles = calloc((size_t)c->count + 1, sizeof *titles);
    int count = 0;
    if (!titles) {
        w->failed = true;
        return;
    }
    for (int i = 0; i < c->count; i++)
        if (c->rows[i].change == JOB_UNTOUCHED)
            titles[count++] = c->rows[i].title;
    if (count)
        w->r->names(w->r, "Not done again since", titles, count);
    free(titles);
}

/* In one table, what moved most first; what was not done again is left to the names below it. */
static void write_compared(struct writing *w, const struct job_comparison *c)
{
    int count = 0;
    for (int o = 0; o < JOB_CHANGE_COUNT; o++)
        for (int i = 0; i < c->count; i++) {
            enum job_change change = c->rows[i].change;
            if (change != job_change_order[o] || change == JOB_UNTOUCHED)
                continue;
            if (!count++)
                w->r->table(w->r, &comparison_table);
            write_comparison_row(w, &c->rows[i]);
        }
    if (count)
        w->r->table_end(w->r);
}

/* What there is to see, before it has to be looked for. */
static void write_counts(struct writing *w, const struct job_comparison *c)
{
    struct strings s = {0};
    const char *items[JOB_CHANGE_COUNT];
    int items_count = 0;
    for (int o = 0; o < JOB_CHANGE_COUNT; o++) {
        int count = job_comparison_count(c, job_change_order[o]);
        if (o == 0 || count)
            items[items_count++] =
                make(&s, "%d %s", count, job_change_words(job_change_order[o], false, count));
    }
    w->r->list(w->r, items, items_count);
    release(w, &s);
}

static void write_comparison(struct writing *w, const struct job_comparison *c)
{
    struct strings title = {0};
    w->r->section(
        w->r, make(&title, "Compared with \"%s\"", c->name),
        "Behind ± stands the uncertainty of both findings together. What moved by less cannot be "
        "told from not having moved. What was found first since then tells how it had moved, "
        "whatever was made of it by now; where something that it rests on was set or replaced "
        "before that, nobody knows.");
    write_counts(w, c);
    write_compared(w, c);
    write_untouched(w, c);
    release(w, &title);
}

/* ---- One station -------------------------------------------------------------------------- */

/* Readings and budget as one line each, gathered while they stream past. */
struct gathered {
    struct strings *s;
    enum plan_kind kind;
    double coverage;
    const char *readings, *budget;
};

static const char *reading_words(struct strings *s, enum plan_kind kind,
                                 const struct job_reading_row *row, double coverage)
{
    double expanded = job_reading_expanded(kind, row, coverage);
    return hold(s, job_reading_words(kind, row->value, expanded, JOB_PAGE));
}

/* "first arm (C)": with the arm's name where its photo shows others. A sticker's direction is not
 * its crank's: only its changes tell anything. */
static const char *role_words(struct strings *s, enum plan_kind kind,
                              const struct job_reading_row *row)
{
    struct vision_result result = {.of_stickers = false};
    const struct vision_arm *arm = kind == PLAN_PAIR ? NULL : job_reading_arm(row, &result);
    if (result.of_stickers)
        return make(s, "%s (as the sticker was glued)", row->role);
    if (!arm || result.arm_count < 2 || !*arm->name)
        return row->role;
    return strcmp(row->role, "arm") == 0 ? make(s, "arm %s", arm->name)
                                         : make(s, "%s (%s)", row->role, arm->name);
}

static bool gather_reading(void *context, const struct job_reading_row *row)
{
    struct gathered *g = context;
    g->readings =
        make(g->s, "%s%s%s %s", g->readings, *g->readings ? "; " : "",
             role_words(g->s, g->kind, row), reading_words(g->s, g->kind, row, g->coverage));
    return !g->s->failed;
}

/* A finding from several readings has one line for each, with what the reading told. */
static bool is_of_reading(const struct gathered *g, const char *term)
{
    struct job_roles roles = job_roles_of(g->kind);
    for (int i = 0; i < roles.most; i++)
        if (roles.most > 1 && strcmp(roles.name[i], term) == 0)
            return true;
    return false;
}

#define LEAST_SHARE 0.005 /* less shows as nothing */

static bool gather_budget(void *context, const struct job_budget_line *line)
{
    struct gathered *g = context;
    double share = g->coverage * line->u;
    if (share < LEAST_SHARE || is_of_reading(g, line->term))
        return true;
    g->budget = make(g->s, "%s%s%s %.2f%s", g->budget, *g->budget ? ", " : "", line->term, share,
                     g->kind == PLAN_PAIR ? "\u202Fmm" : "°");
    return !g->s->failed;
}

/* What the figures of one measurement's photos are worded from. */
struct captions {
    struct strings *s;
    const struct plan_station *station;
    const struct job_event *event;
    int photo, photo_count; /* the photo that is meant, of how many */
    const char *key;
};

/* The last reading is the one that is judged, as in the picture (job_measure.c). */
static bool add_to_key(void *context, const struct job_reading_row *row)
{
    struct captions *c = context;
    struct job_roles roles = job_roles_of(c->station->kind);
    int own = c->photo_count == roles.most ? row->place : 0;
    bool judged = row->place == roles.most - 1;
    if (own != c->photo)
        return true;
    const char *figure = judged ? hold(c->s, job_off_words(c->station, c->event, JOB_PAGE))
                                : reading_words(c->s, c->station->kind, row, c->event->coverage);
    c->key = make(c->s, "%s%s%s%s%s", c->key, *c->key ? "; " : "", roles.most > 1 ? row->role : "",
                  roles.most > 1 ? ": " : "", figure);
    return !c->s->failed;
}

/* What the picture says of its photo: "First arm: 90.1° ± 0.2°". */
static const char *photo_key(struct writing *w, struct strings *s, int photo)
{
    struct captions c = {.s = s,
                         .station = &w->view.plan.stations[w->event->station],
                         .event = w->event,
                         .photo = photo,
                         .photo_count = w->photo_count,
                         .key = w->event->sure ? "" : "unsure"};
    job_readings(w->job, w->event->entry, add_to_key, &c);
    char *key = strdup(c.key);
    if (key)
        key[0] = (char)toupper((unsigned char)key[0]);
    return hold(s, key);
}

/* A tick in a picture that counts no longer must not be taken for today's. */
static void set_stamp(const struct writing *w, struct report_picture *picture)
{
    const struct job_standing *standing = &w->view.standing[w->event->station];
    bool newest = w->event == &w->view.events[standing->latest];
    picture->stamp = !newest                              ? "earlier"
                     : standing->state == JOB_CHECK_AGAIN ? "out of date"
                                                          : NULL;
    picture->stamp_tone = newest ? REPORT_AGAIN : REPORT_QUIET;
}

static bool write_photo(void *context, const struct job_photo_row *row)
{
    struct writing *w = context;
    struct strings s = {0};
    struct report_picture picture = {0};
    if (strcmp(row->role, "annotated") != 0)
        return true;
    if (w->r->wants_pictures && !report_picture_load(w->job, row, &picture))
        picture.jpeg = NULL;
    bool shown = picture.jpeg || !w->r->wants_pictures;
    /* The name of the photo as it was taken: the picture's adds to it. */
    int length = (int)strlen(row->name), added = (int)strlen(".armsquare.png");
    picture.key = photo_key(w, &s, row->place);
    picture.caption =
        make(&s, "%.*s, entry %lld%s", length > added ? length - added : length, row->name,
             (long long)w->event->entry, shown ? "" : " (the picture cannot be shown)");
    set_stamp(w, &picture);
    w->r->picture(w->r, &picture);
    free(picture.jpeg);
    release(w, &s);
    return job_trouble(w->job) == JOB_OK;
}

/* The mechanism at a station whose hardware describes one: horn, link and crank. */
struct mechanism {
    struct linkage linkage;
    struct linkage_result result;
    struct linkage_sheet sheet;
    struct drawing drawing;
};

static bool mechanism_make(const struct writing *w, int i, struct mechanism *m)
{
    struct linkage_fault fault;
    char name[sizeof m->linkage.name];
    snprintf(name, sizeof name, "Linkage at station %d", i + 1);
    if (!job_linkage_make(&w->view.plan.stations[i], name, &m->linkage) ||
        linkage_analyse(&m->linkage, &m->result, &fault) != LINKAGE_OK)
        return false;
    m->sheet = (struct linkage_sheet){&m->linkage, &m->result, true};
    m->drawing = linkage_drawing(&m->sheet);
    return true;
}

static const char *throw_words(struct strings *s, double deg)
{
    return make(s, "%.1f° %s", fabs(deg), direction_way(deg));
}

/* How the crank would stand by the lengths entered; "" where the link is not among them, or all is
 * well to the digit shown. They come without a ±, so nothing is ordered on them: the station's own
 * measurement counts. */
static const char *by_the_lengths(struct strings *s, const struct mechanism *m)
{
    const struct linkage_stage_result *result = &m->result.stages[0];
    if (!m->linkage.stages[0].given[LINKAGE_LINK] || fabs(result->off.value) < 0.05)
        return "";
    return make(
        s,
        " With these lengths the crank would stand %s of square at neutral. Where that does "
        "not agree with what was measured, one of them is not as entered; what was measured "
        "counts.",
        throw_words(s, result->off.value));
}

/* Its figures as text: on a phone the drawing is too small to read. */
static void write_mechanism(struct writing *w, const struct mechanism *m)
{
    struct strings s = {0};
    const struct linkage_ready_stage *stage = &m->result.ready.stages[0];
    const struct linkage_stage_result *result = &m->result.stages[0];
    bool given = m->linkage.stages[0].given[LINKAGE_LINK];
    struct report_drawing drawing = {
        .width_mm = m->drawing.width_mm,
        .height_mm = m->drawing.height_mm,
        .draw = m->drawing.draw,
        .subject = m->drawing.subject,
        .alt = make(&s, "%s: neutral and both ends, to scale", m->linkage.name),
        .caption =
            make(&s,
                 "%s, drawn from the lengths entered: horn %g mm, crank arm %g mm, axis to "
                 "axis %g mm, link %s%.2f mm. For a servo that turns %.0f° each way (assumed, "
                 "not measured) the crank turns %s and %s from neutral.%s",
                 m->linkage.name, stage->horn_mm, stage->arm_mm, stage->base_mm,
                 given ? "" : "as square asks, ", stage->link_mm, m->linkage.high_deg,
                 throw_words(&s, result->low.value), throw_words(&s, result->high.value),
                 by_the_lengths(&s, m))};
    w->r->drawing(w->r, &drawing);
    release(w, &s);
}

static void write_bar(struct writing *w, int i)
{
    struct strings s = {0};
    const struct plan_station *station = &w->view.plan.stations[i];
    const struct job_standing *standing = &w->view.standing[i];
    const struct job_event *e = &w->view.events[standing->latest];
    struct report_bar bar = {standing->off, e->coverage * e->u, station->tolerance,
                             station->kind == PLAN_PAIR ? "\u202Fmm" : "°",
                             tone_of(standing->state)};
    const char *off = hold(
        &s, job_sure_words(job_deviation_words(station, bar.off, bar.expanded, JOB_PAGE), e->sure));
    const char *tolerance =
        hold(&s, job_given_words(station->kind, station->tolerance, false, JOB_PAGE));
    struct report_drawing drawing = {REPORT_BAR_WIDTH_MM,
                                     REPORT_BAR_HEIGHT_MM,
                                     report_bar_draw,
                                     &bar,
                                     make(&s, "%s off, tolerance %s", off, tolerance),
                                     ""};
    w->r->drawing(w->r, &drawing);
    release(w, &s);
}

/* Who, when and how; of the log only one entry is wanted. */
static int entry_pairs(struct writing *w, struct strings *s, const char *key, int64_t entry,
                       struct report_pair *pairs)
{
    struct job_log_row row;
    int count = 0;
    struct job_log *log = job_log_open(w->job, key);
    while (log && job_log_next(log, &row)) {
        if (row.id != entry)
            continue;
        pairs[count++] =
            (struct report_pair){"Done", make(s, "%s by %s%s%s", when(s, row.at), row.who,
                                              *row.method ? ", " : "", row.method)};
        if (*row.note)
            pairs[count++] = (struct report_pair){"Note", hold(s, strdup(row.note))};
        if (*row.message)
            pairs[count++] = (struct report_pair){"Remark", hold(s, strdup(row.message))};
    }
    job_log_close(log);
    return count;
}

/* What was found, who did it, and what the finding is made of. */
static int finding_pairs(struct writing *w, struct strings *s, int i, struct report_pair *pairs)
{
    const struct plan_station *station = &w->view.plan.stations[i];
    const struct job_event *e = &w->view.events[w->view.standing[i].latest];
    struct gathered g = {s, station->kind, e->coverage, "", ""};
    const char *off = hold(s, job_lies_words(&w->view, i, JOB_PAGE));
    int count = 0;
    if (station->kind == PLAN_ANGLE)
        off = make(s, "%s: %s", hold(s, job_found_words(&w->view, i, JOB_PAGE)),
                   hold(s, job_off_words(station, e, JOB_PAGE)));
    pairs[count++] = (struct report_pair){"Found", off};
    pairs[count++] = (struct report_pair){"Asked", hold(s, job_asked_words(station, JOB_PAGE))};
    count += entry_pairs(w, s, station->key, e->entry, &pairs[count]);
    job_readings(w->job, e->entry, gather_reading, &g);
    job_budget(w->job, e->entry, gather_budget, &g);
    if (*g.readings)
        pairs[count++] = (struct report_pair){"Readings", g.readings};
    if (*g.budget)
        pairs[count++] = (struct report_pair){"± is from", g.budget};
    const char *linkage = hold(s, job_linkage_fault(station));
    if (*linkage)
        pairs[count++] = (struct report_pair){"Linkage", linkage};
    return count;
}

/* Is this a measurement of the station whose photos are shown? */
static bool shows_photos(const struct writing *w, int i, const struct job_event *event)
{
    int64_t newest = w->view.events[w->view.standing[i].latest].entry;
    return event->station == i && event->kind == JOB_MEASURED &&
           (event->entry == newest || w->all_photos);
}

static bool count_photo(void *context, const struct job_photo_row *row)
{
    *(int *)context += strcmp(row->role, "annotated") == 0;
    return true;
}

static int count_photos(struct writing *w, int i)
{
    int count = 0;
    for (int e = 0; e < w->view.event_count; e++)
        if (shows_photos(w, i, &w->view.events[e]))
            job_photos(w->job, w->view.events[e].entry, count_photo, &count);
    return count;
}

static void write_photos(struct writing *w, int i)
{
    for (int e = 0; e < w->view.event_count; e++) {
        w->event = &w->view.events[e];
        w->photo_count = 0;
        if (!shows_photos(w, i, w->event))
            continue;
        job_photos(w->job, w->event->entry, count_photo, &w->photo_count);
        job_photos(w->job, w->event->entry, write_photo, w);
    }
}

static void write_station(struct writing *w, int i)
{
    struct strings s = {0};
    struct report_pair pairs[10];
    struct mechanism mechanism;
    const struct plan_station *station = &w->view.plan.stations[i];
    const struct job_standing *standing = &w->view.standing[i];
    if (!has_part(w, i))
        return;
    bool draws = mechanism_make(w, i, &mechanism);
    struct report_station part = {.number = i + 1,
                                  .title = station->title,
                                  .state = job_state_words(standing->state),
                                  .tone = tone_of(standing->state),
                                  .action = action_words(w, &s, i),
                                  .pairs = pairs,
                                  .pair_count = finding_pairs(w, &s, i, pairs),
                                  .pictures = count_photos(w, i),
                                  .drawing_mm = draws ? mechanism.drawing.height_mm : 0};
    w->r->station(w->r, &part);
    write_bar(w, i);
    write_photos(w, i);
    if (draws)
        write_mechanism(w, &mechanism);
    w->r->station_end(w->r);
    release(w, &s);
}

static void write_findings(struct writing *w)
{
    bool any = false;
    for (int i = 0; i < w->view.plan.count; i++)
        any |= has_part(w, i);
    if (!any)
        return; /* what explains a ruler would stand above none */
    w->r->section(
        w->r, "Findings",
        "Directions are as seen in the photo. The ruler shows the finding, as far as its ± "
        "reaches, against the tolerance. Dark green: good beyond doubt. Light green: "
        "within tolerance, but not beyond doubt.");
    for (int i = 0; i < w->view.plan.count && job_trouble(w->job) == JOB_OK; i++)
        write_station(w, i);
}

/* ---- Hardware, history, method ------------------------------------------------------------ */

static const char *fact_words(struct strings *s, const char *value, const char *unit)
{
    return !*value ? "none" : *unit ? make(s, "%s %s", value, unit) : value;
}

static void write_fact(struct writing *w, const char *title, const struct plan_fact *fact)
{
    struct strings s = {0};
    const char *unit, *label = plan_fact_label(fact->name, &unit);
    const char *cells[] = {title, label, fact_words(&s, fact->value, unit)};
    w->r->row(w->r, &(struct report_row){cells, REPORT_INK, "", 0});
    release(w, &s);
}

static void write_hardware(struct writing *w)
{
    static const struct report_table table = {"hardware",
                                              "Hardware",
                                              {"Station", "Hardware", "Value"},
                                              {74, 60, 40},
                                              {false, false, false},
                                              3,
                                              -1,
                                              -1};
    bool any = false;
    for (int i = 0; i < w->view.plan.count; i++)
        any |= w->view.plan.stations[i].fact_count > 0;
    w->r->section(w->r, "Hardware", any ? "" : "None is entered.");
    if (!any)
        return;
    w->r->table(w->r, &table);
    for (int i = 0; i < w->view.plan.count; i++) {
        const struct plan_station *station = &w->view.plan.stations[i];
        for (int f = 0; f < station->fact_count; f++)
            write_fact(w, f ? "" : station->title, &station->facts[f]);
    }
    w->r->table_end(w->r);
}

static const char *refit_words(struct strings *s, const struct job_log_row *row)
{
    const char *unit, *label = plan_fact_label(row->fact, &unit);
    return make(s, "%s: %s → %s", label, fact_words(s, row->before, unit),
                fact_words(s, row->after, unit));
}

static const char *withdrawn_words(struct strings *s, const struct job_log_row *row)
{
    return *row->note
               ? make(s, "%s (withdrawn by entry %lld)", row->note, (long long)row->withdrawn_by)
               : make(s, "withdrawn by entry %lld", (long long)row->withdrawn_by);
}

static const char *history_what(struct strings *s, const struct job_log_row *row)
{
    enum plan_kind kind = PLAN_SQUARE;
    const char *what = row->kind;
    if (strcmp(row->kind, "measured") == 0 && plan_kind_by_word(row->station_kind, &kind))
        what = hold(
            s, job_sure_words(job_against_words(job_number_words(kind, row->value,
                                                                 row->coverage * row->u, JOB_PAGE),
                                                kind, row->reference),
                              row->sure));
    else if (strcmp(row->kind, "confirmed") == 0)
        what = row->holds ? "confirmed" : "does not hold";
    else if (strcmp(row->kind, "hardware") == 0)
        what = refit_words(s, row);
    else if (strcmp(row->kind, "recheck") == 0)
        what = "to be checked again";
    else if (strcmp(row->kind, "mark") == 0)
        what = make(s, "marked as \"%s\"", row->mark);
    else if (row->withdraws)
        what = make(s, "undo of entry %lld", (long long)row->withdraws);
    return what;
}

static void write_history(struct writing *w)
{
    static const struct report_table table = {"history",
                                              "History",
                                              {"Entry", "When", "Who", "Station", "What", "Note"},
                                              {12, 36, 16, 42, 34, 34},
                                              {false, false, false, false, false, false},
                                              6,
                                              -1,
                                              -1};
    struct job_log_row row;
    w->r->section(w->r, "History",
                  "Everything that was recorded, oldest first. Withdrawn entries stay.");
    w->r->table(w->r, &table);
    struct job_log *log = job_log_open(w->job, NULL);
    while (log && job_log_next(log, &row)) {
        struct strings s = {0};
        const char *note = row.withdrawn_by ? withdrawn_words(&s, &row) : row.note;
        const char *cells[] = {make(&s, "%lld", (long long)row.id),
                               when(&s, row.at),
                               row.who,
                               row.title,
                               history_what(&s, &row),
                               note};
        w->r->row(w->r,
                  &(struct report_row){cells, row.withdrawn_by ? REPORT_QUIET : REPORT_INK, "", 0});
        release(w, &s);
    }
    job_log_close(log);
    w->r->table_end(w->r);
}

static void write_method(struct writing *w)
{
    static const char *const method[] = {
        "Photo: a printed card lies behind the part, parallel to the plane in which the arm turns. "
        "The card's markers give the plane; mapped through it, every plane parallel to the card "
        "keeps its angles whatever the view. Arm and reference are fitted to their edges.",
        "By eye or with calipers: the value and its standard uncertainty are as entered.",
        "Behind ± stands U, the expanded uncertainty for 95 % coverage, from the budget of each "
        "finding after JCGM 100: U = k u, k from Student's t for the effective degrees of freedom, "
        "1.96 where u was entered. What a ± is from is told as each cause's share of U; the shares "
        "add as squares. Edge noise, card plane, reference line and marker corners are told by the "
        "scatter in the photo (type A), the others by what is known of cameras, cards and parts "
        "(type B).",
        "Good: the deviation lies within the tolerance less its ±. Adjust: outside the tolerance "
        "and its ±. Cannot tell: in between (ISO 14253-1). Decided before rounding.",
        "Check again: a station that this one rests on was measured anew and moved by more than "
        "its tolerance and its ±, was found not to hold, or got other hardware; or somebody asked "
        "for it, as "
        "after a "
        "hard landing.",
    };
    w->r->section(w->r, "How it was measured", "");
    w->r->list(w->r, method, (int)(sizeof method / sizeof *method));
}

bool report_write(struct job *job, struct report *r, bool all_photos,
                  const struct job_comparison *against)
{
    struct writing w = {.job = job, .r = r, .all_photos = all_photos};
    bool good = job_begin_reading(job) && job_view_load(job, 0, &w.view);
    if (good) {
        write_cover(&w);
        write_stations_table(&w);
        if (against)
            write_comparison(&w, against);
        write_findings(&w);
        write_hardware(&w);
        write_history(&w);
        write_method(&w);
        job_view_clear(&w.view);
    }
    good = job_end(job, good) && good;
    good = r->close(r) && good && job_trouble(job) == JOB_OK;
    if (good && w.failed)
        errno = ENOMEM;
    return good && !w.failed;
}
